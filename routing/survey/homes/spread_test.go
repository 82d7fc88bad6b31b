package homes

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/survey/sketch"
)

// drawMap is a map of random streets, some of them bent, and random buildings.
func drawMap(t *rapid.T) *sketch.Map {
	k := sketch.New()
	coord := func(what string, most int) float64 { return float64(20 * rapid.IntRange(0, most/20).Draw(t, what)) }
	for range rapid.IntRange(1, 7).Draw(t, "streets") {
		a := plane.Point{X: coord("x", 1400), Y: coord("y", 1400)}
		line := plane.Polyline{a}
		for range rapid.IntRange(1, 3).Draw(t, "bends") {
			b := plane.Point{X: coord("x", 1400), Y: coord("y", 1400)}
			if b.DistanceM(line[len(line)-1]) > 1 {
				line = append(line, b)
			}
		}
		if len(line) < 2 {
			continue
		}
		s := k.Street(rapid.SampledFrom([]osmdata.Class{osmdata.Residential, osmdata.LivingStreet, osmdata.Unclassified, osmdata.Tertiary, osmdata.Primary, osmdata.Footway, osmdata.Motorway}).Draw(t, "class"), line)
		if rapid.IntRange(0, 4).Draw(t, "pavement") == 0 {
			s.Flags |= osmdata.FlagPavement
		}
	}
	for range rapid.IntRange(0, 40).Draw(t, "buildings") {
		use := rapid.SampledFrom([]string{"house", "terrace", "apartments", "yes", "garage"}).Draw(t, "use")
		k.X.Buildings = append(k.X.Buildings, osmdata.Building{Use: use, Levels: float32(rapid.IntRange(0, 6).Draw(t, "levels")),
			Area: sketch.Footprint(coord("bx", 1400)+3, coord("by", 1400)+4, rapid.Float64Range(4, 40).Draw(t, "side"))})
	}
	return k
}

// weights are the shares of a street's length that count as lined with homes, by class.
var weights = map[osmdata.Class]float64{osmdata.Residential: 1, osmdata.LivingStreet: 1, osmdata.Unclassified: 0.3, osmdata.Tertiary: 0.2}

// TestStreetsThatAreLived: homes stand along small streets, not along what is only a part
// of one; buildings front anything from a main road to a pedestrian street.
func TestStreetsThatAreLived(t *testing.T) {
	for c := range osmdata.ClassCount {
		s := &osmdata.Street{Class: c}
		if got := streetWeight(s); got != weights[c] {
			t.Errorf("class %d counts %g, want %g", c, got, weights[c])
		}
		if got, want := fronted(s), c >= osmdata.Primary && c <= osmdata.Pedestrian; got != want {
			t.Errorf("class %d is fronted: %t, want %t", c, got, want)
		}
	}
	for name, f := range map[string]struct {
		flag            osmdata.StreetFlags
		lived, frontage bool
	}{
		"pavement": {osmdata.FlagPavement, false, false}, "crossing": {osmdata.FlagCrossing, false, false}, "ramp": {osmdata.FlagLink, false, false},
		"tunnel": {osmdata.FlagTunnel, false, false}, "driveway": {osmdata.FlagDriveway, false, false}, "bridge": {osmdata.FlagBridge, false, true},
		"edge of a square": {osmdata.FlagAreaEdge, true, false}, "one way": {osmdata.FlagOneWay, true, true}, "lit": {osmdata.FlagLit | osmdata.FlagLitKnown, true, true},
		"with a pavement": {osmdata.FlagSidewalk, true, true},
	} {
		s := &osmdata.Street{Class: osmdata.Residential, Flags: f.flag}
		if got := streetWeight(s) > 0; got != f.lived {
			t.Errorf("%s: homes along it %t, want %t", name, got, f.lived)
		}
		if got := fronted(s); got != f.frontage {
			t.Errorf("%s: buildings at it %t, want %t", name, got, f.frontage)
		}
	}
}

// TestPiecesOfStreets: pieces are no longer than 50 m, lie on their street in order, and
// hold together what its length says, fifty a kilometre.
func TestPiecesOfStreets(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k := drawMap(t)
		sum, last := map[int32]float64{}, map[int32]float64{}
		for _, p := range streetPieces(&k.X) {
			s := &k.X.Streets[p.street]
			if d := s.Line.At(p.alongM).DistanceM(p.at); d > 1e-9 || p.alongM <= last[p.street] || p.alongM > s.Line.LengthM() {
				t.Fatalf("a piece at %g m after %g, %g m off its street", p.alongM, last[p.street], d)
			}
			if most := 0.050 * 50 * streetWeight(s); p.houses > most+1e-9 || p.houses <= 0 || p.flats != 0 {
				t.Fatalf("a piece of %g houses and %g flats, at most %g", p.houses, p.flats, most)
			}
			last[p.street] = p.alongM
			sum[p.street] += p.houses
		}
		for i := range k.X.Streets {
			s := &k.X.Streets[i]
			want := weights[s.Class] * s.Line.LengthM() / 1000 * 50
			if s.Flags&osmdata.FlagPavement != 0 {
				want = 0
			}
			if !about(sum[int32(i)], want, 1e-9) {
				t.Fatalf("street %d of %.0f m has %g homes, want %g", i, s.Line.LengthM(), sum[int32(i)], want)
			}
		}
	})
}

// TestHomesBySquareSlowly: in each square the homes are those of its buildings or those
// along its streets, never both, by a count that is made anew; a building's homes lie on
// the nearest street that buildings front, within 100 m, or are told as lost.
func TestHomesBySquareSlowly(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k := drawMap(t)
		h := Find(&k.X, 2, nil)
		buildings, km := map[plane.Square]float64{}, map[plane.Square]float64{}
		for i := range k.X.Buildings {
			if a, b := dwellings(&k.X.Buildings[i]); a+b > 0 {
				buildings[h.Tile(k.X.Buildings[i].Area.Centroid())]++
			}
		}
		along := 0.0
		pieces := streetPieces(&k.X)
		for _, p := range pieces {
			km[h.Tile(p.at)] += p.houses / 50
		}
		mapped := func(s plane.Square) bool { return buildings[s] > 0 && buildings[s] >= 10*km[s] }
		for _, p := range pieces {
			if !mapped(h.Tile(p.at)) {
				along += p.houses
			}
		}
		built, lost := 0.0, 0.0
		for i := range k.X.Buildings {
			b := &k.X.Buildings[i]
			at := b.Area.Centroid()
			houses, flats := dwellings(b)
			if got := h.Mapped(at); houses+flats > 0 && got != mapped(h.Tile(at)) {
				t.Fatalf("%v is in a square of %g buildings and %g km, mapped: %t", at, buildings[h.Tile(at)], km[h.Tile(at)], got)
			}
			if !mapped(h.Tile(at)) {
				continue
			}
			least := math.Inf(1)
			for j := range k.X.Streets {
				if s := &k.X.Streets[j]; fronted(s) {
					_, _, d := s.Line.Nearest(at)
					least = min(least, d)
				}
			}
			if least <= 100 {
				built += houses + flats
			} else {
				lost += houses + flats
			}
		}
		var gotAlong, gotBuilt float64
		for i := range h.list {
			hm := &h.list[i]
			if d := k.X.Streets[hm.street].Line.At(hm.alongM).DistanceM(hm.at); d > 1e-6 {
				t.Fatalf("a home lies %g m off its street", d)
			}
			if i < h.fromStreet {
				gotAlong += hm.houses + hm.flats
			} else {
				gotBuilt += hm.houses + hm.flats
			}
		}
		if !about(gotAlong, along, 1e-9) || !about(gotBuilt, built, 1e-9) || !about(h.Lost, lost, 1e-9) {
			t.Fatalf("%g homes along streets, %g in buildings and %g lost, want %g, %g and %g", gotAlong, gotBuilt, h.Lost, along, built, lost)
		}
		totals := map[string]float64{}
		h.Count(totals)
		if totals["people that settlements say"] != 0 || totals["dwellings to fit the people"] != 0 {
			t.Fatalf("%v of no settlement", totals)
		}
	})
}

// TestDensitySlowly: dwellings over the land of the five by five squares about a place,
// squares without a street left out; asked twice it is the same.
func TestDensitySlowly(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k := drawMap(t)
		h := Find(&k.X, 2, nil)
		land := map[plane.Square]bool{}
		for i := range k.X.Streets {
			s := &k.X.Streets[i]
			if s.Class < osmdata.Motorway || s.Class > osmdata.Service {
				continue
			}
			for from, length := 0.0, s.Line.LengthM(); from < length; from += 100 {
				land[h.Tile(s.Line.At(min(length, from+50)))] = true
			}
		}
		p := plane.Point{X: rapid.Float64Range(-800, 2200).Draw(t, "px"), Y: rapid.Float64Range(-800, 2200).Draw(t, "py")}
		block := map[plane.Square]bool{}
		for _, s := range h.Earth.Around(h.Tile(p), 500, 5) {
			block[s] = true
		}
		if len(block) != 25 || !block[h.Tile(p)] {
			t.Fatalf("a block of %d squares", len(block))
		}
		homes, squares := 0.0, 0.0
		for i := range h.list {
			if at := h.Tile(h.list[i].at); block[at] && land[at] {
				homes += h.list[i].houses + h.list[i].flats
			}
		}
		for s := range land {
			if block[s] {
				squares++
			}
		}
		want := 0.0
		if squares > 0 {
			want = homes / (0.25 * squares)
		}
		for range 2 {
			if got := h.DwellingsPerKM2(p); !about(got, want, 1e-9) {
				t.Fatalf("%g dwellings a km2, want %g over %g squares", got, want, squares)
			}
		}
		at := make([]plane.Point, len(h.list))
		quantity := make([]float64, len(h.list))
		for i := range h.list {
			at[i], quantity[i] = h.list[i].at, h.list[i].houses+h.list[i].flats
		}
		spread := h.Spread(at, quantity)
		if sum, km2 := spread.Block(p); !about(sum, homes, 1e-9) || !about(km2, 0.25*squares, 1e-9) {
			t.Fatalf("spread: %g on %g km2, want %g on %g", sum, km2, homes, 0.25*squares)
		}
		if got := spread.PerM2(p); !about(got, want/1e6, 1e-9) {
			t.Fatalf("spread: %g a m2, want %g", got, want/1e6)
		}
		empty := h.Spread(nil, nil)
		if got := empty.PerM2(p); got != 0 || len(empty.By) != 0 {
			t.Fatalf("nothing spread is %g a m2", got)
		}
		empty.Add(p, 3)
		if sum, _ := empty.Block(p); land[h.Tile(p)] != (sum == 3) {
			t.Fatalf("3 added on land %t are %g", land[h.Tile(p)], sum)
		}
	})
}

// TestPlacesOnTheNetwork: a place along a way is found on an edge, at the same point of
// the ground, whichever way round the edge runs and whatever was joined to it.
func TestPlacesOnTheNetwork(t *testing.T) {
	for seed := range uint64(4) {
		k := sketch.Suburb(5, seed)
		for i := range k.X.Streets { // half of them drawn the other way
			if s := &k.X.Streets[i]; i%2 == 1 {
				for a, b := 0, len(s.Line)-1; a < b; a, b = a+1, b-1 {
					s.Line[a], s.Line[b], s.Nodes[a], s.Nodes[b] = s.Line[b], s.Line[a], s.Nodes[b], s.Nodes[a]
				}
			}
		}
		g := k.Net(t)
		l := newLocator(g)
		for i := range k.X.Streets {
			s := &k.X.Streets[i]
			for at := 0.5; at < s.Line.LengthM(); at += 13 {
				edge, on, ok := l.find(s.ID, at)
				if !ok {
					t.Fatalf("seed %d: way %d at %g m is on no edge", seed, s.ID, at)
				}
				if d := g.EdgeLine(edge).At(on).DistanceM(s.Line.At(at)); d > 0.6 {
					t.Fatalf("seed %d: way %d at %g m is found %.2f m off", seed, s.ID, at, d)
				}
			}
			if _, _, ok := l.find(s.ID, s.Line.LengthM()+2); ok {
				t.Errorf("seed %d: way %d is found 2 m behind its end", seed, s.ID)
			}
		}
		if _, _, ok := l.find(99_999, 1); ok {
			t.Error("a way that there is not is found")
		}
	}
}

// TestSettledWithoutLoss: the network has all dwellings of the list, but for those it is
// said to have lost; houses stay houses, and none is below nothing.
func TestSettledWithoutLoss(t *testing.T) {
	for n := 2; n < 7; n++ {
		t.Run(fmt.Sprint(n, " blocks"), func(t *testing.T) {
			k := sketch.Suburb(n, uint64(n))
			for i := range 30 {
				use := []string{"house", "apartments", "terrace"}[i%3]
				k.X.Buildings = append(k.X.Buildings, osmdata.Building{Use: use, Area: sketch.Footprint(float64(17*i), float64(11*i), 12)})
			}
			h := Find(&k.X, 2.2, nil)
			c := h.Settle(&k.X, k.Net(t))
			var houses, flats, gotHouses, gotFlats float64
			for i := range h.list {
				houses, flats = houses+h.list[i].houses, flats+h.list[i].flats
			}
			for v := range c.Houses {
				if c.Houses[v] < 0 || c.Flats[v] < 0 || c.Total(int32(v)) != c.Houses[v]+c.Flats[v] {
					t.Fatalf("%g houses and %g flats at %d", c.Houses[v], c.Flats[v], v)
				}
				gotHouses, gotFlats = gotHouses+c.Houses[v], gotFlats+c.Flats[v]
			}
			if !about(gotHouses+gotFlats+c.Lost, houses+flats, 1e-9) || c.Lost != 0 || !about(gotFlats, flats, 1e-9) {
				t.Errorf("%g houses, %g flats and %g lost of %g and %g", gotHouses, gotFlats, c.Lost, houses, flats)
			}
		})
	}
}

// TestPopulationTags: figures as people write them, within what a settlement can have.
func TestPopulationTags(t *testing.T) {
	for text, want := range map[string]float64{"12345": 12345, "12,345": 12345, "12 345": 12345, "12'345": 12345, "1e4": 10000, "100": 100, "50000000": 5e7} {
		if n, ok := peopleOf(text); !ok || n != want {
			t.Errorf("%q: %g, %t", text, n, ok)
		}
	}
	for _, text := range []string{"", "99", "50000001", "-500", "about 500", "NaN", "Inf", "12.345.678"} {
		if n, ok := peopleOf(text); ok {
			t.Errorf("%q is taken as %g", text, n)
		}
	}
}

// TestDiscOfASettlement: one without a boundary reaches as far as a disc of 2,000 people a
// km2, and three tenths farther; the map has it if nine tenths lie within its hull.
func TestDiscOfASettlement(t *testing.T) {
	for _, c := range []struct {
		people string
		x, y   float64
		taken  bool
	}{{"1300", 600, 600, true}, {"1300", 600, 100, false}, {"1300", 3000, 600, false}, {"90000", 600, 600, false}, {"100", 600, 600, true}} {
		k := grid12()
		live(k, c.people, c.x, c.y, 0)
		list := gathered(ShareOf(&k.X, 2, nil)).Settlements
		if (len(list) == 1) != c.taken {
			t.Errorf("%s people at %g, %g: %d settlements", c.people, c.x, c.y, len(list))
			continue
		}
		if !c.taken {
			continue
		}
		n, _ := peopleOf(c.people)
		s := list[0].shape(k.X.Frame)
		reach := 1.3 * math.Sqrt(n/2000*1e6/math.Pi)
		for turn := 0.0; turn < 6; turn += 0.5 {
			sin, cos := math.Sincos(turn)
			in, out := s.at.Add(plane.Point{X: cos, Y: sin}.Mul(0.999*reach)), s.at.Add(plane.Point{X: cos, Y: sin}.Mul(1.001*reach))
			if !s.holds(in) || s.holds(out) || !s.box().Contains(in) {
				t.Errorf("%s people: the disc does not end at %.0f m", c.people, reach)
			}
		}
	}
	small := shape{reachM: 100}
	if small.liesIn(nil) || small.liesIn(plane.Hull{{}, {X: 1e5}}) {
		t.Error("a map without ground has a settlement")
	}
}

// TestPeopleAndHomesAgree: after scaling, the people housed are those that are said, where
// the bounds let it; what was added is told, and no home is below nothing.
func TestPeopleAndHomesAgree(t *testing.T) {
	plain := Find(&grid12().X, 2, nil).inside(0, 0, 1200, 1200)
	for i, said := range []float64{200, 700, 1150, 1401, 1680, 1900, 2017, 2600, 4100, 6800, 9000} {
		persons := 1.5 + 0.5*float64(i%4)
		k := grid12()
		live(k, fmt.Sprintf("%.0f", said), -10, -10, 1220)
		h := Find(&k.X, persons, nil)
		got := h.inside(0, 0, 1200, 1200)
		want := said / persons
		factor := min(4, max(0.5, want/plain))
		if want <= 1.2*plain && 1.2*want >= plain {
			factor = 1
		}
		if !about(got, factor*plain, 1e-6) {
			t.Errorf("%.0f people, %g to a home: %g homes, want %g of %g", said, persons, got, factor*plain, plain)
		}
		totals := map[string]float64{}
		h.Count(totals)
		if totals["people that settlements say"] != said || !about(totals["people at homes there"], got*persons, 1e-6) || !about(totals["dwellings to fit the people"]+plain, got, 1e-6) {
			t.Errorf("%v of %g homes", totals, got)
		}
	}
}

// gathered is what shares come to.
func gathered(shares ...Share) *Whole {
	g := &Gatherer{}
	for i := range shares {
		g.Add(&shares[i])
	}
	return g.Whole()
}
