package survey

import (
	"math"
	"slices"
	"testing"

	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/survey/homes"
	"wideberth/routing/survey/sketch"
	"wideberth/routing/survey/trips"
)

// drive assigns the motor traffic of a sketch.
func drive(t testing.TB, k *sketch.Map) *traffic {
	t.Helper()
	return driveBy(t, k, 0)
}

// driveBy is drive with a seed.
func driveBy(t testing.TB, k *sketch.Map, seed uint64) *traffic {
	t.Helper()
	g, err := drivable(&k.X)
	if err != nil {
		t.Fatal(err)
	}
	tr, err := newTraffic(t.Context(), &k.X, g, homes.Find(&k.X, 2, nil), seed, 1)
	if err != nil {
		t.Fatal(err)
	}
	return tr
}

// on is the traffic on a street.
func (t *traffic) on(tb testing.TB, s *osmdata.Street) float64 {
	tb.Helper()
	for e := range int32(t.g.EdgeCount()) {
		for _, p := range t.g.Parts[t.g.PartAt[e]:t.g.PartAt[e+1]] {
			if p.Street == s.ID {
				return t.aadt[e]
			}
		}
	}
	tb.Fatalf("nothing is driven on street %d", s.ID)
	return 0
}

// estate is a tertiary road with a through street and a cul-de-sac of one class.
func estate() (k *sketch.Map, main, through, dead *osmdata.Street) {
	k = sketch.New()
	k.Street(osmdata.Tertiary, sketch.Line(0, 0, 1000, 0))
	k.Street(osmdata.Tertiary, sketch.Line(1000, 0, 2000, 0))
	k.Street(osmdata.Tertiary, sketch.Line(-900, 0, 0, 0))
	k.Street(osmdata.Residential, sketch.Line(0, 0, 0, 500))
	k.Street(osmdata.Residential, sketch.Line(0, 500, 1000, 500))
	for i := range 6 { // homes behind, that drive out through the street
		x := 1000 + 100*float64(i)
		k.Street(osmdata.Residential, sketch.Line(x, 500, x+100, 500))
		k.Street(osmdata.Residential, sketch.Line(x+100, 500, x+100, 700))
	}
	k.Street(osmdata.Residential, sketch.Line(1000, 0, 1000, 500))
	k.Street(osmdata.Residential, sketch.Line(1000, 0, 1000, -200))
	return k, &k.X.Streets[0], &k.X.Streets[len(k.X.Streets)-2], &k.X.Streets[len(k.X.Streets)-1]
}

// Streets of one class differ by what they serve.
func TestCatchment(t *testing.T) {
	k, main, through, dead := estate()
	tr := drive(t, k)
	if a, b := tr.on(t, through), tr.on(t, dead); a < 4*b {
		t.Errorf("the way out of the estate carries %g, the cul-de-sac %g", a, b)
	}
	own := classAADT(osmdata.Tertiary, tr.homes.DwellingsPerKM2(plane.Point{X: 500}))
	if q := tr.on(t, main); q < tertiaryOwn*own || q > tertiaryMost*own {
		t.Errorf("the tertiary road carries %g, its class %g", q, own)
	}
	// 200 m of street, 10 homes, half of them at the far end: 40 trips and the floor.
	if q := tr.on(t, dead); q > vehicleTrips*10+throughAADT[osmdata.Residential]+junctionFloor || q < vehicleTrips*5 {
		t.Errorf("a cul-de-sac of ten homes carries %g", q)
	}
	if tr.lost != 0 {
		t.Errorf("lost %g trips", tr.lost)
	}
}

// violations counts junctions with an arm beyond the others.
func (t *traffic) violations() (n int) {
	for v := range int32(len(t.g.Vertex)) {
		if e, _ := t.overloaded(v); e >= 0 {
			n++
		}
	}
	return n
}

func TestJunctionsAreSettled(t *testing.T) {
	k := sketch.SmallTown(10)
	k.Street(osmdata.Secondary, sketch.Line(-200, -100, 1300, -100))
	k.Street(osmdata.Tertiary, sketch.Line(600, -100, 600, -50))
	tr := drive(t, k)
	if n := tr.violations(); n > 0 {
		t.Errorf("%d junctions are not settled", n)
	}
	before := append([]float64(nil), tr.aadt...)
	tr.settle()
	for e := range before {
		if tr.aadt[e] != before[e] {
			t.Fatalf("settling again changes edge %d from %g to %g", e, before[e], tr.aadt[e])
		}
	}
	if err := tr.assign(t.Context(), 1); err != nil {
		t.Fatal(err)
	}
	for e := range before {
		if before[e] > tr.aadt[e]+1e-9 {
			t.Fatalf("settling raised edge %d", e)
		}
	}
}

// A main road that the map's border cuts is no dead end; a short stub of the same
// class inside is capped by what it serves.
func TestOpenEnds(t *testing.T) {
	k := sketch.New()
	k.Street(osmdata.Primary, sketch.Line(0, 0, 3000, 0))
	k.Street(osmdata.Residential, sketch.Line(3000, 0, 3000, 300))
	k.Street(osmdata.Primary, sketch.Line(3000, 0, 5000, 0))
	tr := drive(t, k)
	if q := tr.on(t, &k.X.Streets[0]); q != 5200 {
		t.Errorf("the cut primary road carries %g", q)
	}
	k = sketch.New()
	k.Street(osmdata.Residential, sketch.Line(0, 0, 500, 0))
	k.Street(osmdata.Residential, sketch.Line(500, 0, 500, 500))
	k.Street(osmdata.Residential, sketch.Line(500, 0, 900, 0)).Flags |= osmdata.FlagOpenEnd
	tr = drive(t, k)
	if len(tr.aadt) != 3 {
		t.Fatalf("%d edges", len(tr.aadt))
	}
	for _, s := range k.X.Streets {
		if q := tr.on(t, &s); q > throughAADT[osmdata.Residential]+vehicleTrips*100 {
			t.Errorf("street %d carries %g", s.ID, q)
		}
	}
}

func TestClassValues(t *testing.T) {
	for _, c := range []struct {
		name  string
		class osmdata.Class
		flags osmdata.StreetFlags
		lanes float32
		want  float64
	}{
		{"motorway carriageway", osmdata.Motorway, osmdata.FlagOneWay, 0, 11500},
		{"motorway carriageway, two lanes as usual", osmdata.Motorway, osmdata.FlagOneWay, 2, 11500},
		{"motorway carriageway, four lanes", osmdata.Motorway, osmdata.FlagOneWay, 4, 23000},
		{"primary", osmdata.Primary, 0, 2, 5200},
		{"primary, ten lanes tagged", osmdata.Primary, 0, 10, 13000},
		{"primary ramp", osmdata.Primary, osmdata.FlagOneWay | osmdata.FlagLink, 0, 520},
		{"secondary, one lane", osmdata.Secondary, 0, 1, 2220},
	} {
		k := sketch.New()
		s := k.Street(c.class, sketch.Line(0, 0, 900, 0))
		s.Flags, s.Lanes = c.flags, c.lanes
		tr := drive(t, k)
		if got := tr.byClass(0); !about(got, c.want, 1e-9) {
			t.Errorf("%s: %g, want %g", c.name, got, c.want)
		}
	}
}

// Traffic brought to another graph of the same streets is the same there.
func TestCarry(t *testing.T) {
	k := sketch.SmallTown(7)
	k.Street(osmdata.Secondary, sketch.Line(-200, -100, 1300, -100))
	k.Street(osmdata.Path, sketch.Line(300, 300, 360, 420)) // cuts nothing on the motor graph
	tr := drive(t, k)
	cars, heavies := tr.carry(tr.g)
	for e, q := range tr.aadt {
		if !about(float64(cars[e]+heavies[e]), q, 1e-5) {
			t.Errorf("edge %d: %g cars and %g heavies of %g", e, cars[e], heavies[e], q)
		}
	}
	walk := k.Net(t)
	cars, heavies = tr.carry(walk)
	var onWalk, onMotor float64
	for e := range cars {
		onWalk += float64(cars[e]+heavies[e]) * float64(walk.LengthM[e])
		if walk.Class[e] == osmdata.Path && cars[e] != 0 {
			t.Errorf("%g cars on a path", cars[e])
		}
	}
	for e, q := range tr.aadt {
		onMotor += q * float64(tr.g.LengthM[e])
	}
	if !about(onWalk, onMotor, 1e-4) {
		t.Errorf("%g vehicle metres on the walkable network, %g driven", onWalk, onMotor)
	}
}

func TestNothingDriven(t *testing.T) {
	k := sketch.New()
	k.Street(osmdata.Path, sketch.Line(0, 0, 900, 0))
	if tr := drive(t, k); tr != nil {
		t.Errorf("traffic on paths: %+v", tr)
	}
}

// The three rows of the table hold exactly, traffic rises with the density of homes
// and with the class, and nothing lies outside the ends.
func TestClassValuesByDensity(t *testing.T) {
	for _, row := range classRows {
		for c := osmdata.Motorway; c <= osmdata.Tertiary; c++ {
			if got, want := classAADT(c, row.dwellingsPerKM2), row.aadt[c-osmdata.Motorway]; !about(got, want, 1e-9) {
				t.Errorf("class %d at %g: %g, want %g", c, row.dwellingsPerKM2, got, want)
			}
		}
	}
	for c := osmdata.Motorway; c <= osmdata.Tertiary; c++ {
		last := 0.0
		for d := 0.0; d < 9000; d = d*1.2 + 1 {
			q := classAADT(c, d)
			if q < last || c > osmdata.Motorway && q > classAADT(c-1, d) {
				t.Errorf("class %d at %g dwellings a km2: %g after %g", c, d, q, last)
			}
			last = q
		}
	}
	if q := classAADT(osmdata.Residential, 500); q != 0 {
		t.Errorf("a residential street has the class value %g", q)
	}
}

// Homes along a tertiary road between two secondary ones leave by both: nowhere
// does its traffic fall to nothing.
func TestWatershed(t *testing.T) {
	k := sketch.New()
	k.Street(osmdata.Secondary, sketch.Line(0, -2000, 0, 0, 0, 2000))
	k.Street(osmdata.Secondary, sketch.Line(3000, -2000, 3000, 0, 3000, 2000))
	for i := range 12 {
		x := 250 * float64(i)
		k.Street(osmdata.Tertiary, sketch.Line(x, 0, x+250, 0))
		k.Street(osmdata.Residential, sketch.Line(x+250, 0, x+250, 400))
		k.Street(osmdata.Residential, sketch.Line(x+250, 0, x+250, -400))
	}
	for s := range uint64(3) {
		tr := driveBy(t, k, s)
		least, most := math.Inf(1), 0.0
		for e, q := range tr.aadt {
			if tr.g.Class[e] == osmdata.Tertiary {
				least, most = min(least, q), max(most, q)
			}
		}
		if least < most/2 {
			t.Errorf("seed %d: %.0f to %.0f vehicles a day along one road", s, least, most)
		}
	}
}

// Every exit has each part of the range of delays once.
func TestExitsHaveEachDelayOnce(t *testing.T) {
	for key := range int64(20) {
		order := trips.Shuffled(key, exitDraws, 0)
		slices.Sort(order)
		for i, x := range order {
			if x != i {
				t.Fatalf("exit %d: %v", key, order)
			}
		}
	}
	if slices.Equal(trips.Shuffled(1, exitDraws, 0), trips.Shuffled(2, exitDraws, 0)) || slices.Equal(trips.Shuffled(1, exitDraws, 0), trips.Shuffled(1, exitDraws, 1)) {
		t.Error("exits or seeds draw alike")
	}
}
