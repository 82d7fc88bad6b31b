package reach_test

import (
	"fmt"
	"math"
	"slices"
	"sync"
	"testing"
	"time"

	"wideberth/exposure/hours"
	"wideberth/osmdata/plane"
	"wideberth/routing/reach"
	"wideberth/routing/snapshot"
	"wideberth/routing/snapshot/maptest"
)

// quarter is a drawn part of a town in which each way has one thing that a limit or a
// rule of the ground asks about:
//
//	    0        150        300        450        600       700
//	300 +---------+----------+----------+----------+          far row, grass, unlit
//	    |                    |                     |
//	150 +---------+----------+----------+----------+----------+ High Row, unlit
//	  drive     steps      earth    fast road    aisle     passage
//	  0 +---------+----------+----------+----------+----------+ Oak Lane, lit
//	              |
//	-80           yard with a drive of its own that leads nowhere else
//
// A playground lies at (75, 75); a wide road crosses the far row at x = 525; a house
// stands over the passage.
func drawQuarter() *maptest.Drawing {
	d := &maptest.Drawing{}
	d.Way("highway=residential;name=Oak Lane;lit=yes;surface=asphalt", 0, 0, 150, 0, 225, 0, 300, 0, 450, 0, 600, 0, 700, 0, 760, 0)
	d.Way("highway=residential;name=High Row;lit=no;surface=asphalt", 0, 150, 150, 150, 300, 150, 375, 150, 450, 150, 600, 150, 700, 150, 760, 150)
	d.Way("highway=service;service=driveway;surface=asphalt;lit=yes", 0, 0, 0, 150)
	d.Way("highway=steps;lit=yes", 150, 0, 150, 150)
	d.Way("highway=path;surface=ground;lit=yes", 300, 0, 300, 150)
	d.Way("highway=tertiary;maxspeed=80;sidewalk=no;foot=yes;lit=yes;name=Long Chase", 450, -200, 450, 0, 450, 150, 450, 300, 450, 400)
	d.Way("highway=service;service=parking_aisle;lit=yes;surface=asphalt", 600, 0, 600, 150)
	d.Way("highway=footway;tunnel=building_passage;lit=yes", 700, 0, 700, 150)
	d.Way("highway=path;surface=grass;lit=no", 0, 150, 0, 300, 150, 300, 300, 300, 375, 300, 450, 300, 525, 300, 600, 300, 600, 150)
	d.Way("highway=footway;lit=no", 300, 150, 300, 300)
	d.Way("highway=service;service=driveway", 150, 0, 150, -80)
	d.Way("highway=service;lit=yes", 300, 0, 300, -90, 225, -90, 225, 0)
	d.Way("building=yes", 690, 10, 710, 10, 710, 140, 690, 140, 690, 10)
	d.Way("highway=primary;lanes=4;sidewalk=both;lit=yes", 525, 240, 525, 300, 525, 360)
	d.Way("leisure=playground;name=The Swings", 60, 60, 90, 60, 90, 90, 60, 90, 60, 60)
	return d
}

var quarterLand = sync.OnceValues(func() (*reach.Land, *snapshot.Snapshot) {
	s := drawQuarter().Map(fatal{})
	land, err := reach.NewLand(s, nil)
	if err != nil {
		panic(err)
	}
	return land, s
})

// fatal lets the quarter be made once, outside any one test.
type fatal struct{ testing.TB }

func (fatal) Helper()           {}
func (fatal) Fatal(args ...any) { panic(args) }

func quarter(t testing.TB) (*reach.Land, *snapshot.Snapshot) {
	t.Helper()
	return quarterLand()
}

// at is a clock time on a working day in winter, on the clock of the land.
func at(land *reach.Land, hour, minute int) time.Time {
	return time.Date(2026, 11, 25, hour, minute, 0, 0, land.Clock.Loc)
}

// around is all of the quarter, from a place of the drawing.
func around(t testing.TB, land *reach.Land, s *snapshot.Snapshot, x, y float64) *reach.Reach {
	t.Helper()
	place, err := land.Place(maptest.On(s, x, y))
	if err != nil {
		t.Fatal(err)
	}
	r, err := land.Around(place, nil, 6000)
	if err != nil {
		t.Fatal(err)
	}
	if len(r.Edges) != s.Graph.EdgeCount() {
		t.Fatalf("%d of %d edges in reach", len(r.Edges), s.Graph.EdgeCount())
	}
	return r
}

// The ways of the quarter by a point on them.
var ways = map[string]plane.Point{
	"lane w": {X: 75}, "lane m": {X: 190}, "lane e": {X: 525}, "row w": {X: 75, Y: 150}, "row m": {X: 225, Y: 150},
	"drive": {Y: 75}, "steps": {X: 150, Y: 75}, "earth": {X: 300, Y: 75}, "fast": {X: 450, Y: 75}, "aisle": {X: 600, Y: 75},
	"passage": {X: 700, Y: 75}, "grass w": {X: 75, Y: 300}, "grass e": {X: 490, Y: 300}, "wide": {X: 525, Y: 340}, "foot": {X: 300, Y: 225},
	"own drive": {X: 150, Y: -40}, "service": {X: 262, Y: -90},
}

// told lists the ways of the quarter whose edges a test holds of.
func told(t testing.TB, s *snapshot.Snapshot, holds func(e int32) bool) (names []string) {
	t.Helper()
	for name, p := range ways {
		if holds(maptest.EdgeAt(t, s, p.X, p.Y)) {
			names = append(names, name)
		}
	}
	slices.Sort(names)
	return names
}

// barredWays lists the ways that a search is kept off.
func barredWays(t testing.TB, s *snapshot.Snapshot, r *reach.Reach, barred []bool) []string {
	t.Helper()
	return told(t, s, func(e int32) bool {
		for a, p := range r.Piece {
			if p.Edge == e && barred != nil && barred[a] {
				return true
			}
		}
		return false
	})
}

func same(t testing.TB, what string, got, want []string) {
	t.Helper()
	slices.Sort(want)
	if !slices.Equal(got, want) {
		t.Errorf("%s: %q, want %q", what, got, want)
	}
}

// TestGroundOfTheQuarter: which sorts of ground there are at which hour. Aisles count
// while cars come and go: from seven to nine in the evening on working days, from nine to
// six on Sundays and holidays, and the fast road whenever enough vehicles pass.
func TestGroundOfTheQuarter(t *testing.T) {
	land, s := quarter(t)
	sort := func(name string, when time.Time) reach.Ground {
		p := ways[name]
		return land.GroundAt(maptest.EdgeAt(t, s, p.X, p.Y), land.Clock.At(when))
	}
	day := func(d, hour, minute int) time.Time { return time.Date(2026, 11, d, hour, minute, 0, 0, land.Clock.Loc) }
	noon := day(25, 12, 0)
	for name, want := range map[string]reach.Ground{
		"lane w": 0, "row m": 0, "steps": 0, "earth": 0, "service": 0,
		"drive": reach.Private, "own drive": reach.Private, "passage": reach.Private, "aisle": reach.Aisles, "fast": reach.FastRoads,
	} {
		if got := sort(name, noon); got != want {
			t.Errorf("%s is ground of the sorts %04b at noon, want %04b", name, got, want)
		}
	}
	for _, c := range []struct {
		when time.Time
		busy bool
	}{
		{day(25, 6, 59), false}, {day(25, 7, 0), true}, {day(25, 20, 59), true}, {day(25, 21, 0), false}, // a Wednesday
		{day(28, 8, 0), true}, {day(28, 20, 0), true}, // a Saturday
		{day(29, 8, 59), false}, {day(29, 9, 0), true}, {day(29, 17, 59), true}, {day(29, 18, 0), false}, // a Sunday
		{time.Date(2026, 12, 25, 8, 0, 0, 0, land.Clock.Loc), false}, {time.Date(2026, 12, 25, 10, 0, 0, 0, land.Clock.Loc), true}, // a holiday on a Friday
	} {
		if got := sort("aisle", c.when) == reach.Aisles; got != c.busy {
			t.Errorf("on %s cars come and go in the aisles: %v", c.when.Format("Mon 2 Jan 15:04"), got)
		}
	}
	// The carriageway of the fast road is in use exactly while 30 vehicles an hour pass.
	e := maptest.EdgeAt(t, s, 450, 75)
	used, quiet := 0, 0
	for h := range 24 {
		when := day(25, h, 30)
		most := 0.0
		for _, st := range s.Field.Roadside.Of(e) {
			most = max(most, st.PerHour(land.Clock.At(when)))
		}
		if got := sort("fast", when) == reach.FastRoads; got != (most >= 30) {
			t.Errorf("at %d:30 %.0f vehicles an hour pass, in use: %v", h, most, got)
		} else if got {
			used++
		} else {
			quiet++
		}
	}
	if used == 0 || quiet == 0 {
		t.Errorf("in use for %d hours, quiet for %d: too much alike", used, quiet)
	}
}

// TestKeptOff: what a search keeps off for each sort of ground, at noon, by night and
// where the walk spans both, and which sorts it says that there are.
func TestKeptOff(t *testing.T) {
	land, s := quarter(t)
	r := around(t, land, s, 220, 0)
	dog := maptest.Kessa()
	sums := r.SumsFor(&dog)
	for _, c := range []struct {
		what  string
		off   reach.Ground
		limit reach.Limits
		from  time.Time
		forS  float64
		want  []string
		there reach.Ground
	}{
		{"nothing", 0, reach.Limits{}, at(land, 12, 0), 600, nil, 0},
		{"private", reach.Private, reach.Limits{}, at(land, 12, 0), 600, []string{"drive", "own drive", "passage"}, reach.Private},
		{"aisles at noon", reach.Aisles, reach.Limits{}, at(land, 12, 0), 600, []string{"aisle"}, reach.Aisles},
		{"aisles by night", reach.Aisles, reach.Limits{}, at(land, 3, 0), 600, nil, 0},
		{"aisles, beginning before seven", reach.Aisles, reach.Limits{}, at(land, 6, 55), 1200, []string{"aisle"}, reach.Aisles},
		{"fast roads at noon", reach.FastRoads, reach.Limits{}, at(land, 12, 0), 600, []string{"fast"}, reach.FastRoads},
		{"fast roads by night", reach.FastRoads, reach.Limits{}, at(land, 3, 0), 600, nil, 0},
		{"all at noon", reach.KeptOff | reach.FastRoads | reach.Precincts, reach.Limits{}, at(land, 12, 0), 600, []string{"aisle", "drive", "fast", "own drive", "passage"}, reach.KeptOff | reach.FastRoads},
		{"all, any ground allowed", reach.KeptOff | reach.FastRoads | reach.Precincts, reach.Limits{AnyGround: true}, at(land, 12, 0), 600, []string{"fast"}, reach.FastRoads},
	} {
		prices := r.Price(sums, &dog, c.from, nil, c.forS)
		c.limit.InsideReaction = true
		barred, _, there := r.BarsAnd(c.off, &c.limit, reach.Asker{From: maptest.On(s, 220, 0), Dog: &dog}, prices)
		same(t, c.what, barredWays(t, s, r, barred), c.want)
		if there != c.there {
			t.Errorf("%s: the sorts %04b are said to be there, want %04b", c.what, there, c.there)
		}
	}
}

// yardOf is a drawn quarter with a way of its own at 375, 225.
func yardOf(t *testing.T, d *maptest.Drawing) (*reach.Land, *snapshot.Snapshot, int32) {
	t.Helper()
	s := d.Map(t)
	land, err := reach.NewLand(s, nil)
	if err != nil {
		t.Fatal(err)
	}
	return land, s, maptest.EdgeAt(t, s, 375, 225)
}

// TestPrecinctIsKeptOffAwayFromHome: the mark of a precinct bars where it is asked for.
func TestPrecinctIsKeptOffAwayFromHome(t *testing.T) {
	d := drawQuarter()
	d.Way("amenity=school;name=Low School", 310, 160, 590, 160, 590, 290, 310, 290, 310, 160)
	d.Way("highway=service", 375, 150, 375, 300)
	land, s, e := yardOf(t, d)
	if got := land.GroundAt(e, land.Clock.At(at(land, 12, 0))); got != reach.Precincts {
		t.Fatalf("a way on the ground of a school is of the sorts %04b", got)
	}
	r := around(t, land, s, 220, 0)
	dog := maptest.Kessa()
	prices := r.Price(r.SumsFor(&dog), &dog, at(land, 3, 0), nil, 600)
	by := reach.Asker{From: maptest.On(s, 220, 0), Dog: &dog}
	has := func(off reach.Ground, l reach.Limits) bool {
		l.InsideReaction = true
		barred, _, there := r.BarsAnd(off, &l, by, prices)
		for a, p := range r.Piece {
			if p.Edge == e && barred != nil && barred[a] {
				return there&reach.Precincts != 0
			}
		}
		return false
	}
	if !has(reach.Precincts, reach.Limits{}) || has(reach.KeptOff, reach.Limits{}) || has(reach.Precincts, reach.Limits{AnyGround: true}) {
		t.Errorf("kept off away from home %v, at home %v, any ground allowed %v; want true, false, false",
			has(reach.Precincts, reach.Limits{}), has(reach.KeptOff, reach.Limits{}), has(reach.Precincts, reach.Limits{AnyGround: true}))
	}
}

// TestLoadingYardIsAnAisle: along a warehouse one walks as between parked cars, by its
// hours.
func TestLoadingYardIsAnAisle(t *testing.T) {
	d := drawQuarter()
	d.Way("building=warehouse", 385, 165, 470, 165, 470, 290, 385, 290, 385, 165)
	d.Way("highway=service", 375, 150, 375, 300)
	land, _, e := yardOf(t, d)
	for hour, want := range map[int]reach.Ground{12: reach.Aisles, 3: 0} {
		if got := land.GroundAt(e, land.Clock.At(at(land, hour, 0))); got != want {
			t.Errorf("at %d a loading yard is of the sorts %04b, want %04b", hour, got, want)
		}
	}
}

// TestOwnDriveStaysOpen: who starts on a drive may walk it, the whole of it, and no other
// drive; who starts on the street before it may not.
func TestOwnDriveStaysOpen(t *testing.T) {
	land, s := quarter(t)
	dog := maptest.Kessa()
	for _, c := range []struct {
		x, y float64
		want []string
	}{
		{150, -50, []string{"drive", "passage"}},
		{150, -80, []string{"drive", "passage"}},
		{150, -10, []string{"drive", "passage"}},
		{0, 75, []string{"own drive", "passage"}},
		{150, 0, []string{"drive", "own drive", "passage"}},
		{220, 0, []string{"drive", "own drive", "passage"}},
	} {
		r := around(t, land, s, c.x, c.y)
		prices := r.Price(r.SumsFor(&dog), &dog, at(land, 3, 0), nil, 600)
		barred, _ := r.Bars(&reach.Limits{InsideReaction: true}, reach.Asker{From: maptest.On(s, c.x, c.y), Dog: &dog}, prices)
		same(t, fmt.Sprintf("from (%g, %g)", c.x, c.y), barredWays(t, s, r, barred), c.want)
	}
}

// TestServiceShare: a service road counts as such by its share beside no grass.
func TestServiceShare(t *testing.T) {
	land, s := quarter(t)
	for name, p := range ways {
		e := maptest.EdgeAt(t, s, p.X, p.Y)
		want := 0.0
		if name == "service" || name == "drive" || name == "own drive" || name == "aisle" {
			want = 1 - float64(s.Field.SoftShare[e])
		}
		if got := land.ServiceShare(e); math.Abs(got-want) > 1e-9 {
			t.Errorf("%s counts as service road by %.2f, want %.2f", name, got, want)
		}
	}
	if m := land.Clock.At(at(land, 12, 0)); m.Light() != hours.Daylight {
		t.Fatal("noon in November is not light")
	}
}
