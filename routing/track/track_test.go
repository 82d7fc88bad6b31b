package track_test

import (
	"math"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"wideberth/exposure"
	"wideberth/exposure/hours"
	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
	"wideberth/routing/track"
)

// cross is a crossing of two paths of 400 m each at the origin: four edges of 200 m.
func cross(t testing.TB) *network.Graph {
	t.Helper()
	way := func(id int64, nodes []int64, line ...plane.Point) osmdata.Street {
		return osmdata.Street{ID: id, Class: osmdata.Path, Foot: true, Nodes: nodes, Line: line}
	}
	g, _, err := network.Build([]osmdata.Street{
		way(1, []int64{1, 5, 2}, plane.Point{X: -200}, plane.Point{}, plane.Point{X: 200}),
		way(2, []int64{3, 5, 4}, plane.Point{Y: -200}, plane.Point{}, plane.Point{Y: 200}),
	}, osmdata.Barred{}, network.Options{MinIslandM: -1})
	if err != nil {
		t.Fatal(err)
	}
	if g.EdgeCount() != 4 {
		t.Fatalf("%d edges", g.EdgeCount())
	}
	return g
}

// edgeAt is the edge nearest to a place, found by looking at all.
func edgeAt(g *network.Graph, at plane.Point) (edge int32) {
	best := math.Inf(1)
	for e := range int32(g.EdgeCount()) {
		if _, _, d := g.EdgeLine(e).Nearest(at); d < best {
			edge, best = e, d
		}
	}
	return edge
}

var (
	clock = &hours.Clock{Loc: time.FixedZone("half past", 5*3600+1800), Lat: 47, Lon: -7}
	begun = time.Date(2026, 11, 25, 7, 50, 0, 0, time.UTC)
)

func at(x, y float64, minutes float64) track.Point {
	return track.Point{At: plane.Point{X: x, Y: y}, When: begun.Add(time.Duration(minutes * float64(time.Minute)))}
}

// TestMatch: time goes to the street nearest to where each stretch began, by hours of
// the clock; pauses, points without time and places off the map count nothing.
func TestMatch(t *testing.T) {
	g := cross(t)
	west, east, north := edgeAt(g, plane.Point{X: -100}), edgeAt(g, plane.Point{X: 100}), edgeAt(g, plane.Point{Y: 100})
	untimed := track.Point{At: plane.Point{X: 50}}
	points := []track.Point{
		at(-100, 8, 0), at(-20, 3, 1), // 60 s on the western arm
		at(90, -5, 2),                    // reached after another 60 s, that began there too; then 90 s on the eastern arm
		at(5, 120, 3.5), at(5, 150, 5.5), // 120 s on the northern arm
		at(5, 160, 8),          // 150 s is a pause
		at(5, 160, 8),          // no time at all
		at(5, 170, 7.9),        // backwards
		untimed, at(5, 120, 9), // no time known, twice
		at(900, 900, 10),             // 60 s from the northern arm, then off the map
		at(90, 0, 11), at(95, 0, 12), // 60 s on the eastern arm, in the next hour
	}
	want := []struct {
		edge    int32
		seconds float64
		hour    int
	}{{west, 120, 7}, {east, 90, 7}, {north, 120 + 60, 7}, {east, 60, 8}}
	slices.SortFunc(want[:3], func(a, b struct {
		edge    int32
		seconds float64
		hour    int
	}) int {
		return int(a.edge - b.edge)
	})
	got := track.Match(g, clock, points)
	if len(got) != len(want) {
		t.Fatalf("steps %+v, want %+v", got, want)
	}
	for i, w := range want {
		mid := time.Date(2026, 11, 25, w.hour, 30, 0, 0, time.UTC)
		if got[i].Edge != w.edge || math.Abs(got[i].Seconds-w.seconds) > 1e-9 || !got[i].At.Time.Equal(mid) {
			t.Errorf("step %d: %d for %g s at %v, want %d for %g s at %v", i, got[i].Edge, got[i].Seconds, got[i].At.Time, w.edge, w.seconds, mid)
		}
	}
	for name, points := range map[string][]track.Point{"nothing": nil, "one point": points[:1], "untimed": {untimed, untimed}, "off the map": {at(900, 900, 0), at(901, 900, 1)}} {
		if steps := track.Match(g, clock, points); steps != nil {
			t.Errorf("%s: steps %+v", name, steps)
		}
	}
}

// TestMatchProperties: no time is made up or lost but what is no walking, every edge
// is the nearest to a point, and a track in two halves is the track.
func TestMatchProperties(t *testing.T) {
	g := cross(t)
	rapid.Check(t, func(rt *rapid.T) {
		var points []track.Point
		minutes := 0.0
		for range rapid.IntRange(0, 20).Draw(rt, "points") {
			minutes += rapid.Float64Range(0, 3).Draw(rt, "gap")
			points = append(points, at(rapid.Float64Range(-400, 400).Draw(rt, "x"), rapid.Float64Range(-400, 400).Draw(rt, "y"), minutes))
		}
		whole := 0.0
		for i := range len(points) - 1 {
			e := edgeAt(g, points[i].At)
			_, _, d := g.EdgeLine(e).Nearest(points[i].At)
			if gap := points[i+1].When.Sub(points[i].When).Seconds(); gap <= 120 && d <= network.SnapLimitM {
				whole += gap
			}
		}
		sum := func(steps []exposure.Step) (s float64) {
			for _, x := range steps {
				s += x.Seconds
			}
			return s
		}
		all := track.Match(g, clock, points)
		if math.Abs(sum(all)-whole) > 1e-6 {
			rt.Fatalf("%g s on streets, want %g", sum(all), whole)
		}
		if n := len(points); n > 0 {
			cut := rapid.IntRange(0, n-1).Draw(rt, "cut")
			if halves := sum(track.Match(g, clock, points[:cut+1])) + sum(track.Match(g, clock, points[cut:])); math.Abs(halves-whole) > 1e-6 {
				rt.Fatalf("%g s in two halves, %g at once", halves, whole)
			}
		}
	})
}

// TestAlong: time is shared out by length; numbers that are no edges take none of it.
func TestAlong(t *testing.T) {
	g := cross(t)
	g.LengthM = []float32{100, 300, 0, 100} // Along looks at nothing else
	m := clock.At(begun)
	got := track.Along(nil, g, []int32{0, 1, -1, 99, 2, 0}, 500, m)
	want := []exposure.Step{{Edge: 0, Seconds: 100, At: m}, {Edge: 1, Seconds: 300, At: m}, {Edge: 2, At: m}, {Edge: 0, Seconds: 100, At: m}}
	if !slices.Equal(got, want) {
		t.Errorf("steps %+v, want %+v", got, want)
	}
	if more := track.Along(got, g, []int32{3}, 60, m); len(more) != 5 || more[4].Seconds != 60 {
		t.Errorf("appended %+v", more)
	}
	if none := track.Along(nil, g, []int32{2, -7}, 60, m); none != nil {
		t.Errorf("edges without length take %+v", none)
	}
}
