package reach_test

import (
	"encoding/base64"
	"encoding/binary"
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"strconv"
	"strings"
	"testing"

	"wideberth/exposure"
	"wideberth/exposure/hours"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
	"wideberth/routing/reach"
	"wideberth/routing/snapshot"
	"wideberth/routing/snapshot/maptest"
)

// TestPlaceOnTheLand: a place is put on the nearest way; how far it lies off the map, or
// off any way, is told in metres.
func TestPlaceOnTheLand(t *testing.T) {
	land, s := quarter(t)
	b := s.Bounds
	at, err := land.Place(maptest.On(s, 190, 12))
	if err != nil || math.Abs(at.DistM-12) > 0.1 || at.At.DistanceM(maptest.On(s, 190, 0)) > 0.1 {
		t.Errorf("12 m off the lane: %+v, %v", at, err)
	}
	for _, c := range []struct {
		p    plane.Point
		want reach.Reason
		m    float64
	}{
		{plane.Point{X: b.Max.X + network.SnapLimitM + 50, Y: 0}, reach.OffTheMap, 50},
		{plane.Point{X: 0, Y: b.Min.Y - network.SnapLimitM - 7}, reach.OffTheMap, 7},
		// beside the east end of the lane, on the map's border grown by the limit
		{maptest.On(s, 760+250, 150+250), reach.NoStreetNear, math.Hypot(250, 250)},
	} {
		_, err := land.Place(c.p)
		var none *reach.Infeasible
		if !errors.As(err, &none) || none.Reason != c.want || math.Abs(none.Short-c.m) > 0.5 || none.Unit != "m" || none.Field != "from" {
			t.Errorf("%v: %+v, want %s by %.1f m", c.p, err, c.want, c.m)
		}
	}
	if _, err := land.Place(maptest.On(s, 760+299, 75+75)); err != nil {
		t.Errorf("299 m off the row's end: %v", err)
	}
}

// TestExchangedNumbers: who gives longitude before latitude is asked about it, where that
// leads onto the map; nobody else is.
func TestExchangedNumbers(t *testing.T) {
	land := town(t)
	f := land.Snap.Frame
	text := land.Exchanged(f.Lon0, f.Lat0)
	if !strings.Contains(text, "latitude "+plain(f.Lat0)) || !strings.Contains(text, "longitude "+plain(f.Lon0)) {
		t.Errorf("exchanged: %q", text)
	}
	for _, c := range [][2]float64{{f.Lat0, f.Lon0}, {f.Lat0 + 3, f.Lon0}, {0, 0}, {f.Lon0 + 1, f.Lat0}, {-f.Lat0, f.Lon0}, {1000, 1000}, {f.Lon0 + 90, f.Lat0}} {
		if text := land.Exchanged(c[0], c[1]); text != "" {
			t.Errorf("%v: %q", c, text)
		}
	}
}

func plain(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }

// TestCountedLand: a count on a street changes the flows there and nowhere in the land it
// was made from; the counts of the map come first, and levels are never bound twice.
func TestCountedLand(t *testing.T) {
	land := town(t)
	g := land.Snap.Graph
	busiest, most := int32(0), 0.0
	for e := range int32(g.EdgeCount()) {
		if q := land.Snap.Field.PerDay(exposure.DogWalks, e); q > most {
			busiest, most = e, q
		}
	}
	middle := g.EdgeLine(busiest).At(float64(g.LengthM[busiest]) / 2)
	lon, lat := land.Snap.Frame.Inverse(middle)
	n := 60.0
	count := exposure.Count{Lat: lat, Lon: lon, Start: at(land, 7, 0), Minutes: 120, Dogs: &n}
	counted, report, err := land.Counted([]exposure.Count{count})
	if err != nil || len(report.Lines) != 1 {
		t.Fatalf("%v, %+v", err, report)
	}
	if line := report.Lines[0]; line.Of != exposure.Dogs || line.Counted != 60 || !(line.Predicted < line.Bound && line.Bound <= 66) {
		t.Errorf("it says %+v", line)
	}
	before, after := land.Snap.Field.PerDay(exposure.DogWalks, busiest), counted.Snap.Field.PerDay(exposure.DogWalks, busiest)
	if after <= before || !counted.Snap.Field.Counted(busiest, exposure.Dogs) || counted.Snap.Field.Counted(busiest, exposure.Traffic) {
		t.Errorf("%.0f dogs a day became %.0f", before, after)
	}
	if land.Snap.Field.Bound() || land.Snap.Field.PerDay(exposure.DogWalks, busiest) != before {
		t.Error("the land that it was made from is changed")
	}
	if counted.Router != land.Router || &counted.ArcM[0] != &land.ArcM[0] {
		t.Error("it shares nothing with the land that it was made from")
	}
	if m := counted.CountMap(); m.Field.Bound() || m.Graph != g || m.Clock != land.Clock {
		t.Error("counts are held against levels that counts have made")
	}
	// The same count again: both stand, and the levels follow from the map as predicted.
	snap := *counted.Snap
	snap.Counts = []exposure.Count{count}
	with, err := reach.NewLand(&snap, nil)
	if err != nil {
		t.Fatal(err)
	}
	if got := with.Snap.Field.PerDay(exposure.DogWalks, busiest); math.Abs(got-after) > 1e-6*after {
		t.Errorf("a map that was imported with the count has %.2f a day, one that was told it %.2f", got, after)
	}
	two, report, err := with.Counted([]exposure.Count{count})
	if err != nil || len(report.Lines) != 2 || len(snap.Counts) != 1 {
		t.Fatalf("%v, %+v", err, report)
	}
	for _, line := range report.Lines {
		if math.Abs(line.Bound-60) > 6 {
			t.Errorf("two counts of 60 that agree make %.1f dogs of it", line.Bound)
		}
	}
	if got := two.Snap.Field.PerDay(exposure.DogWalks, busiest); got <= before {
		t.Errorf("two counts make %.2f a day, the map %.2f", got, before)
	}
	if none, report, err := with.Counted(nil); err != nil || len(report.Lines) != 1 || math.Abs(none.Snap.Field.PerDay(exposure.DogWalks, busiest)-after) > 1e-6*after {
		t.Errorf("no further counts: %+v, %v", report, err)
	}
}

// TestNewLand: a map of a zone that nobody knows is refused; without a calendar that of
// the country is taken.
func TestNewLand(t *testing.T) {
	_, s := quarter(t)
	bad := *s
	bad.Zone = "Nowhere/At_All"
	if _, err := reach.NewLand(&bad, nil); err == nil {
		t.Error("a zone that is none is taken")
	}
	own := hours.DefaultCalendar()
	land, err := reach.NewLand(s, own)
	if err != nil || land.Clock.Calendar != own || land.Clock.Lat != s.Frame.Lat0 || land.Clock.Lon != s.Frame.Lon0 || land.Clock.Country != s.Country {
		t.Errorf("the clock is %+v, %v", land.Clock, err)
	}
	for a, e := range s.Graph.ArcEdge {
		if land.ArcM[a] != s.Graph.LengthM[e] {
			t.Fatalf("arc %d is %g m long, its edge %g m", a, land.ArcM[a], s.Graph.LengthM[e])
		}
	}
	land.CountSearch()
	land.CountSearch()
	counted, _, err := land.Counted(nil)
	if err != nil {
		t.Fatal(err)
	}
	counted.CountSearch()
	if land.Searches() != 3 || counted.Searches() != 3 {
		t.Errorf("%d and %d searches, want 3", land.Searches(), counted.Searches())
	}
}

// TestSlopesInAReach: where the map has heights, times are those of level ground times the
// factor of the direction, and as much farther is in reach as the swiftest slope allows.
func TestSlopesInAReach(t *testing.T) {
	_, flat := quarter(t)
	s := *flat
	n := s.Graph.EdgeCount()
	s.Slopes = &snapshot.Slopes{Along: make([]float32, n), Against: make([]float32, n), Steepest: make([]float32, n)}
	for e := range n {
		s.Slopes.Along[e], s.Slopes.Against[e], s.Slopes.Steepest[e] = 1.2, 0.95, 0.02
	}
	steps := maptest.EdgeAt(t, &s, 150, 75)
	s.Slopes.Steepest[steps] = 0.3
	land, err := reach.NewLand(&s, nil)
	if err != nil {
		t.Fatal(err)
	}
	r := around(t, land, &s, 190, 0)
	for a, got := range r.TimesS(1.25) {
		want := r.Piece[a].LengthM / 1.25 * 1.2
		if r.Piece[a].Against() {
			want = r.Piece[a].LengthM / 1.25 * 0.95
		}
		if math.Abs(float64(got-want)) > 1e-3 {
			t.Fatalf("arc %d takes %g s, want %g s", a, got, want)
		}
	}
	dog := maptest.Kessa()
	prices := r.Price(r.SumsFor(&dog), &dog, at(land, 12, 0), nil, 60)
	by := reach.Asker{From: maptest.On(&s, 190, 0), Dog: &dog}
	barred, worst := r.Bars(&reach.Limits{MaxSlope: 0.1, AnyGround: true, InsideReaction: true}, by, prices)
	same(t, "steeper than 0.1", barredWays(t, &s, r, barred), []string{"steps"})
	if worst.What != reach.LimitSlope {
		t.Errorf("%q is named", worst.What)
	}
	// Tobler's walker is swiftest on a slope of -0.05 (Tobler 1993), exp(3.5 * 0.05) times as
	// swift as on level ground.
	from, err := land.Place(maptest.On(&s, 190, 0))
	if err != nil {
		t.Fatal(err)
	}
	level, err := reach.NewLand(flat, nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, budget := range []float64{150, 400, 700, 1100} {
		hilly, err := land.Around(from, nil, budget)
		if err != nil {
			t.Fatal(err)
		}
		plain, err := level.Around(from, nil, budget*math.Exp(3.5*0.05))
		if err != nil {
			t.Fatal(err)
		}
		if !slices.Equal(hilly.Edges, plain.Edges) {
			t.Errorf("with slopes %d edges are in reach of %g m, on level ground %d of as much more", len(hilly.Edges), budget, len(plain.Edges))
		}
	}
}

// TestWithinABox: all ways with a part in a box, and nothing else, without a start.
func TestWithinABox(t *testing.T) {
	land := town(t)
	g := land.Snap.Graph
	rng := rand.New(rand.NewPCG(3, 9))
	for range 10 {
		mid := g.Vertex[rng.IntN(len(g.Vertex))]
		box := plane.Box{Min: mid, Max: mid}.Grown(20 + 200*rng.Float64())
		r := land.Within(box)
		if r.Door != -1 || r.Goal != -1 {
			t.Errorf("door %d and goal %d", r.Door, r.Goal)
		}
		sound(t, r)
		for e := range int32(g.EdgeCount()) {
			line := g.EdgeLine(e)
			inside := false
			for m := 0.0; m <= line.LengthM(); m += 0.5 {
				inside = inside || box.Contains(line.At(m))
			}
			_, has := slices.BinarySearch(r.Edges, e)
			if inside && !has || has && !box.Grown(1).Contains(nearestTo(line, box)) {
				t.Errorf("edge %d inside %v, there %v", e, inside, has)
			}
		}
	}
}

// nearestTo is the point of a line that is nearest to a box.
func nearestTo(line plane.Polyline, box plane.Box) (best plane.Point) {
	least := math.Inf(1)
	for m := 0.0; m <= line.LengthM(); m += 0.5 {
		if d := box.DistanceM(line.At(m)); d < least {
			best, least = line.At(m), d
		}
	}
	return best
}

// TestPlacesOnOneEdge: door and goal on one edge, in either order, cut it into three; near
// a junction a place is the junction.
func TestPlacesOnOneEdge(t *testing.T) {
	land, s := quarter(t)
	put := func(x, y float64) network.Place {
		at, err := land.Place(maptest.On(s, x, y))
		if err != nil {
			t.Fatal(err)
		}
		return at
	}
	for _, c := range []struct {
		fromX, toX float64
		pieces     int  // of the steps
		door, goal bool // a vertex of its own
	}{
		{40, 90, 3, true, true}, {90, 40, 3, true, true}, {40, 149, 2, true, false}, {1, 90, 2, false, true}, {1.9, 148.1, 1, false, false}, {2.2, 147.8, 3, true, true},
		{40, 40, 3, true, true}, {40, 40.0004, 3, true, true},
	} {
		from, to := put(150, c.fromX), put(150, c.toX)
		r, err := land.Around(from, &to, 1500)
		if err != nil {
			t.Fatal(err)
		}
		sound(t, r)
		pieces := 0
		for a := range r.Piece {
			if r.Piece[a].Edge == from.Edge {
				pieces++ // both ways
			}
		}
		if pieces /= 2; pieces != c.pieces || r.Home[r.Door] < 0 != c.door || r.Home[r.Goal] < 0 != c.goal {
			t.Errorf("from %g to %g m: %d pieces, vertices of their own %v and %v", c.fromX, c.toX, pieces, r.Home[r.Door] < 0, r.Home[r.Goal] < 0)
		}
	}
}

// TestBadCourses: what was cut off, lies about its edge, its ends or its direction, or is
// far too long is refused.
func TestBadCourses(t *testing.T) {
	land := town(t)
	g := land.Snap.Graph
	text := func(numbers ...int64) string { // steps are signed, the rest is not
		var b []byte
		for i, n := range numbers {
			if i == 0 {
				b = binary.AppendVarint(b, n)
			} else {
				b = binary.AppendUvarint(b, uint64(n))
			}
		}
		return base64.RawURLEncoding.EncodeToString(b)
	}
	cmOf := func(e int32) int64 { return int64(math.Round(100 * float64(g.LengthM[e]))) }
	for what, bad := range map[string]string{
		"no such edge":             text(int64(g.EdgeCount()), 0),
		"an edge below 0":          text(-1, 0),
		"no flags":                 text(3),
		"flags that nobody knows":  text(3, 4),
		"one end":                  text(3, 2, 10),
		"no ends":                  text(3, 2),
		"beyond the end":           text(3, 2, 0, cmOf(3)+3),
		"with and against":         text(3, 3, 10, 200),
		"against and with":         text(3, 2, 200, 10),
		"padding":                  text(3, 0) + "=",
		"other letters":            "AA+/",
		"a number that never ends": base64.RawURLEncoding.EncodeToString([]byte{0x80, 0x80}),
	} {
		if c, err := land.UnmarshalCourse(bad); !errors.Is(err, reach.ErrNoCourse) {
			t.Errorf("%s is read as %v, %v", what, c, err)
		}
	}
	for what, good := range map[string]string{
		"nothing": "", "the last edge": text(int64(g.EdgeCount()-1), 0), "to the end": text(3, 2, 0, cmOf(3)), "no metres": text(3, 2, 100, 100), "no metres, against": text(3, 3, 100, 100),
	} {
		if _, err := land.UnmarshalCourse(good); err != nil {
			t.Errorf("%s: %v", what, err)
		}
	}
	long := make(reach.Course, 10_000)
	for i := range long {
		long[i] = reach.Directed{Edge: 3, ToM: g.LengthM[3]}
	}
	if c, err := land.UnmarshalCourse(land.MarshalCourse(long)); err != nil || len(c) != 10_000 {
		t.Errorf("ten thousand pieces: %d, %v", len(c), err)
	}
	if _, err := land.UnmarshalCourse(land.MarshalCourse(slices.Concat(long, long[:1]))); !errors.Is(err, reach.ErrNoCourse) {
		t.Errorf("one piece more: %v", err)
	}
}

// TestCourseComesBack: courses drawn by chance come back to the centimetre, and whole
// edges to the last bit, in less than eight letters a piece where they are whole.
func TestCourseComesBack(t *testing.T) {
	r := townAround(t, 2500)
	rng := rand.New(rand.NewPCG(5, 5))
	for range 20 {
		course := r.Course(strolled(t, r, rng, 12))
		text := r.Land.MarshalCourse(course)
		back, err := r.Land.UnmarshalCourse(text)
		if err != nil || len(back) != len(course) {
			t.Fatalf("%v came back as %v, %v", course, back, err)
		}
		sum := 0.0
		for i, d := range course {
			b := back[i]
			whole := min(d.FromM, d.ToM) == 0 && max(d.FromM, d.ToM) == r.Land.Snap.Graph.LengthM[d.Edge]
			if b.Edge != d.Edge || b.Against() != d.Against() || whole && b != d || math.Abs(float64(b.FromM-d.FromM)) > 0.0051 || math.Abs(float64(b.ToM-d.ToM)) > 0.0051 {
				t.Fatalf("%+v came back as %+v", d, b)
			}
			sum += math.Abs(float64(d.ToM) - float64(d.FromM))
		}
		if math.Abs(sum-course.LengthM()) > 0.01 {
			t.Errorf("%.2f m are told as %.2f m", sum, course.LengthM())
		}
		if len(text) > 8*len(course)+16 {
			t.Errorf("%d pieces take %d letters", len(course), len(text))
		}
		arcs, err := r.Along(back)
		if err != nil || !slices.Equal(r.Course(arcs), course) {
			t.Errorf("walked again: %v", err)
		}
		if len(course) > 2 {
			if _, err := r.Along(back[1:]); !errors.Is(err, reach.ErrNoCourse) {
				t.Errorf("without its first piece: %v", err)
			}
			turned := slices.Clone(back)
			turned[1].FromM, turned[1].ToM = turned[1].ToM, turned[1].FromM
			if _, err := r.Along(turned); !errors.Is(err, reach.ErrNoCourse) {
				t.Errorf("with a piece turned about: %v", err)
			}
			moved := slices.Clone(back)
			moved[1].ToM += 0.05
			if _, err := r.Along(moved); !errors.Is(err, reach.ErrNoCourse) {
				t.Errorf("with an end moved by 5 cm: %v", err)
			}
		}
	}
}
