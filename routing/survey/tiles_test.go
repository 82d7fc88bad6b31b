package survey

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"wideberth/exposure"
	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
	"wideberth/routing/survey/homes"
	"wideberth/routing/survey/sketch"
)

// A part of a map has the field of the whole, edge by edge, where a margin lies about it.

// marginM is the margin at which that holds.
const marginM = 7000.0

// coreAbout is a core of so many metres a side, and the box with a margin, cut with the
// bounds of the whole map.
func coreAbout(x *osmdata.Extract, lon, lat, sideM, marginM float64) (core, block sketch.Degrees) {
	box := func(halfM float64) sketch.Degrees {
		f := plane.NewFrame(lon, lat)
		w, s := f.Inverse(plane.Point{X: -halfM, Y: -halfM})
		e, n := f.Inverse(plane.Point{X: halfM, Y: halfM})
		return sketch.Degrees{w, s, e, n}
	}
	b := box(sideM/2 + marginM)
	return box(sideM / 2), sketch.Degrees{max(b[0], x.West), max(b[1], x.South), min(b[2], x.East), min(b[3], x.North)}
}

// edgeName is what an edge is called in every part of a map.
type edgeName struct {
	way, tail, head int64
	nth             int // of those that are called the same
}

func edgeNames(g *network.Graph) map[edgeName]int32 {
	out := map[edgeName]int32{}
	for e := range int32(g.EdgeCount()) {
		tail, head := g.Ends(e)
		n := edgeName{g.Parts[g.PartAt[e]].Street, g.VertexNode[tail], g.VertexNode[head], 0}
		for {
			if _, taken := out[n]; !taken {
				break
			}
			n.nth++
		}
		out[n] = e
	}
	return out
}

// seam is how far a part lies from the whole.
type seam struct {
	edges, unmatched int
	room, sight      int // edges that differ
	marks, place     int
	near             int                        // bins more than two steps apart
	level            int                        // edges more than 0.2 dB apart
	touches          int                        // edges whose sources differ
	roadside, soft   int                        // edges that differ
	flows            [exposure.PatternCount]int // edges more than 0.7 % and a party a week apart
	worst            [exposure.PatternCount]float64
	sums             [exposure.PatternCount][2]float64 // passes times metres, in the whole and in the part
}

// compared compares the edges of a core.
func compared(whole, part *network.Graph, w, p *exposure.Field, at *plane.Earth, core sketch.Degrees) (s seam) {
	names := edgeNames(whole)
	for name, e := range edgeNames(part) {
		tail, _ := part.Ends(e)
		if !core.Holds(at.Degrees(part.Vertex[tail])) {
			continue
		}
		s.edges++
		f, ok := names[name]
		if !ok {
			s.unmatched++
			continue
		}
		s.add(w, p, f, e, float64(whole.LengthM[f]))
	}
	return s
}

func (s *seam) add(w, p *exposure.Field, f, e int32, longM float64) {
	count := func(n *int, differs bool) {
		if differs {
			*n++
		}
	}
	near := func(a, b float32) bool { return math.Abs(float64(a-b)) <= .1+5e-3*math.Abs(float64(a)) }
	sides := func(a, b exposure.Side) bool {
		return near(a.LowM, b.LowM) && near(a.LeastM, b.LeastM) && a.Default == b.Default
	}
	count(&s.room, !sides(w.Left[f], p.Left[e]) || !sides(w.Right[f], p.Right[e]))
	count(&s.sight, !near(w.SightFwdM[f], p.SightFwdM[e]) || !near(w.SightBackM[f], p.SightBackM[e]))
	count(&s.marks, w.Marks[f] != p.Marks[e])
	count(&s.place, w.Place[f] != p.Place[e])
	count(&s.level, math.Abs(float64(w.LevelDB[f]-p.LevelDB[e])) > .2)
	count(&s.touches, w.TouchAt[f+1]-w.TouchAt[f] != p.TouchAt[e+1]-p.TouchAt[e])
	count(&s.roadside, !sameRoadside(w, p, f, e))
	count(&s.soft, math.Abs(float64(w.SoftShare[f]-p.SoftShare[e])) > .005)
	for k := range w.OwnPerDay {
		for _, workingM := range [...]float64{15, 40, 80} {
			u, v := reacted(&w.Near[k][f], workingM), reacted(&p.Near[k][e], workingM)
			count(&s.near, math.Abs(u-v) > max(u, v)*(math.Exp2(2./12)-1)+leastRatePerS)
		}
		u, v := float64(w.OwnPerDay[k][f]), float64(p.OwnPerDay[k][e])
		s.sums[k][0] += u * longM
		s.sums[k][1] += v * longM
		if off := math.Abs(u-v) - 1./7; off > .007*max(u, v) {
			s.flows[k]++
			s.worst[k] = max(s.worst[k], off/max(u, v))
		}
	}
}

// sameRoadside tells whether two edges have the same traffic beside them on the same shares
// of their lengths, and the same to walk on.
func sameRoadside(w, p *exposure.Field, f, e int32) bool {
	a, b := w.Roadside.Of(f), p.Roadside.Of(e)
	if len(a) != len(b) || w.Roadside.WideOf(f) != p.Roadside.WideOf(e) {
		return false
	}
	for i := range a {
		x, y := a[i], b[i]
		if math.Abs(float64(x.Share-y.Share)) > .005 || math.Abs(float64(x.AADT-y.AADT)) > 1+.007*float64(x.AADT) {
			return false
		}
		x.Share, x.AADT = y.Share, y.AADT
		if x != y {
			return false
		}
	}
	return true
}

// leastRatePerS is a rate of reactions that tells nothing: the fields hold rates as if a
// day's passed in an hour, so that this is one in a hundred hours of walking at noon.
const leastRatePerS = 3e-5

// reacted is the rate at which a dog with such a working distance, and half of it as its
// reaction distance, reacts to what is nearby: as the bins hold it, so that what passes
// at the distance where two of them meet may be in either.
func reacted(bins *[exposure.BinCount]exposure.Bin, workingM float64) (sum float64) {
	need := exposure.Need{WorkingM: workingM, ReactionM: workingM / 2}
	for b := range bins {
		sum += bins[b].RatePerS() * need.P(bins[b].DistM(b))
	}
	return sum
}

func (s *seam) String() string {
	out := fmt.Sprintf("%d edges, %d unmatched, room %d, sight %d, marks %d, places %d, nearby %d, levels %d, sources %d, roadside %d, soft %d", s.edges, s.unmatched, s.room, s.sight, s.marks, s.place, s.near, s.level, s.touches, s.roadside, s.soft)
	for k, n := range s.flows {
		if n > 0 {
			out += fmt.Sprintf("; %s %d (worst %.1f %%, sum %+.2f %%)", exposure.Pattern(k), n, 100*s.worst[k], 100*(s.sums[k][1]/s.sums[k][0]-1))
		}
	}
	return out
}

// partSurveyed is the field of the block of a core, surveyed with what its parts know of
// the whole.
func partSurveyed(t *testing.T, x *osmdata.Extract, whole *Whole, core, block sketch.Degrees, country string) (*osmdata.Extract, *network.Graph, *exposure.Field) {
	t.Helper()
	part := sketch.Part(x, block)
	g, _, err := network.Build(part.Streets, part.Barred, network.Options{Frame: part.Frame})
	if err != nil {
		t.Fatal(err)
	}
	f, err := Survey(context.Background(), part, g, Options{Workers: 2, Country: country, Whole: whole, Core: core.Holds})
	if err != nil {
		t.Fatal(err)
	}
	return part, g, f
}

// longValley is a strip of streets, long and narrow so that it is soon surveyed: blocks
// of several sizes and classes, houses, shops, schools, stops and a park, in a settlement
// that says more people than its streets have homes for.
func longValley(longM float64) *sketch.Map {
	rng := rand.New(rand.NewPCG(11, 5))
	k := sketch.New()
	k.X.Frame = plane.NewFrame(-7, 47.3)
	rows := []float64{0, 220, 430, 700}
	var columns []float64
	for x := -longM / 2; x <= longM/2; x += 150 + 20*float64(rng.IntN(8)) {
		columns = append(columns, x)
	}
	corners := make([][4]plane.Point, len(columns)) // askew, so that nothing is decided by rounding
	for i, x := range columns {
		for j, y := range rows {
			corners[i][j] = plane.Point{X: x + 14*rng.Float64(), Y: y + 14*rng.Float64()}
		}
	}
	for i, x := range columns {
		for j, at := range corners[i] {
			class := osmdata.Residential
			if j == 1 {
				class = osmdata.Tertiary
			}
			if i > 0 {
				before := corners[i-1][j]
				k.Street(class, plane.Polyline{before, before.Add(at).Mul(.5).Add(plane.Point{Y: 9}), at})
			}
			if i%5 == 2 {
				class = osmdata.Secondary
			}
			if j > 0 {
				k.Street(class, plane.Polyline{corners[i][j-1], at})
			}
		}
		switch y := rows[rng.IntN(4)] + 15; rng.IntN(5) {
		case 0:
			sketch.Place(k, "shop", x+20, y)
		case 1:
			sketch.Place(k, "bus_stop", x+40, y)
		case 2:
			k.House(x+30, y, 12)
		case 3:
			k.House(x+30, y, 20)
			if i%4 == 0 {
				sketch.Place(k, "school", x+60, y)
			}
		}
	}
	ring := plane.Ring(sketch.Line(-longM, -200, longM, -200, longM, 900, -longM, 900))
	k.X.Features = append(k.X.Features, osmdata.Feature{OSM: "relation/7", As: exposure.Settlement, Areas: []plane.Polygon{{Outer: ring}},
		Tags: map[string]string{"population": fmt.Sprint(int(1.2 * longM))}})
	k.X.West, k.X.South = k.X.Frame.Inverse(plane.Point{X: -longM, Y: -900})
	k.X.East, k.X.North = k.X.Frame.Inverse(plane.Point{X: longM, Y: 2000})
	return k
}

// The middle of a long valley, where people ride short ways, cut out with its margin, has the field of the valley; with
// hardly any margin, or held against the people of its settlement alone, it has not.
func TestPartOfAValley(t *testing.T) {
	k := longValley(12000)
	g := k.Net(t)
	f, err := Survey(context.Background(), &k.X, g, Options{Workers: 2, Country: "JP"})
	if err != nil {
		t.Fatal(err)
	}
	whole := Gather([]*Share{ShareOf(&k.X, "JP", nil)})
	for _, c := range []struct {
		name    string
		marginM float64
		whole   *Whole
		same    bool
	}{{"with its margin", 4500, whole, true}, {"with too little", 600, whole, false}, {"by itself", 4500, nil, false}} {
		lon, lat := k.X.Frame.Inverse(plane.Point{X: 300, Y: 300})
		core, block := coreAbout(&k.X, lon, lat, 1500, c.marginM)
		part, h, p := partSurveyed(t, &k.X, c.whole, core, block, "JP")
		s := compared(g, h, f, p, plane.NewEarth(part.Frame), core)
		t.Logf("%s: %s", c.name, s.String())
		flows := 0
		for _, n := range s.flows {
			flows += n
		}
		if s.edges < 30 || s.unmatched+s.sight+s.place+s.touches > 0 {
			t.Errorf("%s: %s", c.name, s.String())
		}
		if c.same && flows+s.room+s.near+s.marks+s.level+s.roadside+s.soft > 0 {
			t.Errorf("%s: %s", c.name, s.String())
		}
		if !c.same && flows < s.edges/2 {
			t.Errorf("%s the part is as the whole, so that nothing was shown: %s", c.name, s.String())
		}
	}
}

// What parts of a map tell of it comes to what the whole tells by itself.
func TestSharesComeToTheWhole(t *testing.T) {
	k := longValley(6000)
	want := Gather([]*Share{ShareOf(&k.X, "JP", nil)})
	var shares []*Share
	lon, _ := k.X.Frame.Inverse(plane.Point{X: 120})
	for _, half := range []sketch.Degrees{{-180, -90, lon, 90}, {lon, -90, 180, 90}} {
		shares = append(shares, ShareOf(&k.X, "JP", half.Holds))
	}
	got := Gather(shares)
	a, b := want.Homes, got.Homes
	if len(a.Settlements) != 1 || len(b.Settlements) != 1 || !about(b.Settlements[0].Factor, a.Settlements[0].Factor, 1e-9) || a.Settlements[0].Factor < 1.1 {
		t.Errorf("whole %+v, of its halves %+v", a, b)
	}
	said, housed, added := a.Totals()
	said2, housed2, added2 := b.Totals()
	if said == 0 || !about(said2, said, 1e-9) || !about(housed2, housed, 1e-9) || !about(added2, added, 1e-9) || !about(perimeter(b), perimeter(a), 1e-6) {
		t.Errorf("whole %+v, of its halves %+v", a, b)
	}
	var none *Whole
	if none.homes() != nil || len(Gather(nil).Homes.Settlements) != 0 {
		t.Error("of nothing something is known")
	}
}

// What a part of a map is told of the whole is what it would make of all of it, comes and
// goes as text, and does not grow with what lies elsewhere.
func TestPartOfTheWhole(t *testing.T) {
	k := longValley(9000)
	far := homes.Settlement{OSM: "relation/9", AreaM2: 1e6, People: 5000, Persons: 2, Area: []homes.Line{{{20, 50}, {20.01, 50}, {20, 50.01}}}, Outer: []bool{true}}
	share, border := ShareOf(&k.X, "JP", nil), ShareOf(&k.X, "JP", nil)
	border.Homes.Settlements = append(border.Homes.Settlements, far)
	all := Gather([]*Share{border})
	if len(all.Homes.Settlements) != 2 || len(all.About(nil).Homes.Settlements) != 0 {
		t.Fatalf("%d settlements in all, %d about nothing", len(all.Homes.Settlements), len(all.About(nil).Homes.Settlements))
	}
	lon, lat := k.X.Frame.Inverse(plane.Point{X: 300, Y: 300})
	core, block := coreAbout(&k.X, lon, lat, 1500, 1500)
	part := sketch.Part(&k.X, block)
	told := all.About(ShareOf(part, "JP", core.Holds))
	text, err := json.Marshal(told)
	if err != nil {
		t.Fatal(err)
	}
	alone, err := json.Marshal(Gather([]*Share{share}).About(ShareOf(part, "JP", core.Holds)))
	if err != nil || string(alone) != string(text) {
		t.Errorf("with a town elsewhere the part is told\n%s, without\n%s", text, alone)
	}
	var back Whole
	if err := json.Unmarshal(text, &back); err != nil {
		t.Fatal(err)
	}
	a, b := homes.Find(part, 2.2, all.Homes), homes.Find(part, 2.2, back.Homes)
	total := [2]float64{}
	for i, h := range []*homes.Homes{a, b} {
		_, total[i] = h.Spread(nil, nil).Block(plane.Point{})
		c := map[string]float64{}
		h.Count(c)
		total[i] += h.DwellingsPerKM2(plane.Point{X: 100, Y: 200}) + c["people at homes there"]
	}
	if total[0] != total[1] || total[0] == 0 {
		t.Errorf("told of all %g, of its part %g", total[0], total[1])
	}
}

func perimeter(w *homes.Whole) float64 {
	f := plane.NewFrame(w.Border[0][0], w.Border[0][1])
	var hull plane.Hull
	for _, p := range w.Border {
		hull = append(hull, f.Forward(p[0], p[1]))
	}
	return hull.PerimeterM()
}

// A country is the whole map's where boundaries, or nearly all addresses, name one.
func TestCountryOfTheWhole(t *testing.T) {
	for _, c := range []struct {
		shares []*Share
		want   string
	}{
		{[]*Share{{Borders: osmdata.Countries{"DE": 2}}, {Borders: osmdata.Countries{"DE": 1}, Countries: osmdata.Countries{"PL": 900}}}, "DE"},
		{[]*Share{{Borders: osmdata.Countries{"DE": 2}}, {Borders: osmdata.Countries{"PL": 1}}}, ""},
		{[]*Share{{Countries: osmdata.Countries{"US": 995}}, {Countries: osmdata.Countries{"CA": 5}}}, "US"},
		{[]*Share{{Countries: osmdata.Countries{"US": 95}}, {Countries: osmdata.Countries{"CA": 5}}}, ""},
		{nil, ""},
	} {
		c.shares = append(c.shares, &Share{Homes: homes.Share{}})
		if got := Gather(c.shares).Country; got != c.want {
			t.Errorf("%v: %q, want %q", c.shares, got, c.want)
		}
	}
}

// Six parts of a state, dense and rural, at its border and within, each in a frame of its
// own.
func TestPartsOfAState(t *testing.T) {
	x, g := sketch.State(t, "delaware-latest.osm.pbf")
	f, err := Survey(context.Background(), x, g, Options{Workers: 2, Country: "US"})
	if err != nil {
		t.Fatal(err)
	}
	whole := Gather([]*Share{ShareOf(x, "US", nil)})
	for _, c := range []struct {
		name     string
		lat, lon float64
	}{
		{"a city", 39.745, -75.555}, {"suburbs at the border", 39.66, -75.72}, {"a town", 39.158, -75.524},
		{"fields", 38.80, -75.50}, {"fields at the border", 38.95, -75.62}, {"the coast", 38.70, -75.13},
	} {
		core, block := coreAbout(x, c.lon, c.lat, 8000, marginM)
		part, h, p := partSurveyed(t, x, whole, core, block, "US")
		s := compared(g, h, f, p, plane.NewEarth(part.Frame), core)
		t.Logf("%-22s %s", c.name, s.String())
		// What is decided by a line that just grazes something, or by two ways of the same cost, is
		// decided by rounding.
		if few := 1 + s.edges/1000; s.edges < 100 || s.unmatched+s.place+s.marks+s.soft > 0 || max(s.room, s.sight, s.near, s.level, s.touches, s.roadside) > few {
			t.Errorf("%s: %s", c.name, s.String())
		}
		for k, n := range s.flows {
			if float64(n) > 1+.005*float64(s.edges) || math.Abs(s.sums[k][1]-s.sums[k][0]) > .002*s.sums[k][0] {
				t.Errorf("%s: %s", c.name, s.String())
			}
		}
	}
}
