package beside

import (
	"context"
	"errors"
	"math"
	"reflect"
	"slices"
	"sync/atomic"
	"testing"

	"wideberth/osmdata/parallel"
	"wideberth/routing/survey/sketch"

	"pgregory.net/rapid"

	"wideberth/osmdata"
	"wideberth/osmdata/plane"
)

func TestSamples(t *testing.T) {
	k := sketch.New()
	long := k.Street(osmdata.Path, sketch.Line(0, 0, 26, 0)) // runs 0-10, 10-20, 20-26
	k.Street(osmdata.Path, sketch.Line(500, 0, 504, 3))      // one run, halved
	g := k.Net(t)
	s := Sampler{G: g}
	for _, c := range []struct {
		name           string
		e              int32
		along, weights []float64
	}{
		{"whole spacings and a rest", sketch.EdgeOf(t, g, long), []float64{5, 15, 23}, []float64{10, 10, 6}},
		{"never fewer than two", 1 - sketch.EdgeOf(t, g, long), []float64{1.25, 3.75}, []float64{2.5, 2.5}},
	} {
		got := s.Samples(c.e)
		if len(got) != len(c.along) {
			t.Fatalf("%s: %d samples, want %d", c.name, len(got), len(c.along))
		}
		for i, x := range got {
			if math.Abs(x.alongM-c.along[i]) > 1e-6 || math.Abs(x.WeightM-c.weights[i]) > 1e-6 {
				t.Errorf("%s: sample %d at %v for %v m, want %v for %v", c.name, i, x.alongM, x.WeightM, c.along[i], c.weights[i])
			}
		}
	}
}

// Samples weigh as much as their edge is long, stand on it, and face along it.
func TestSamplesCoverEdges(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		k := sketch.New()
		for range rapid.IntRange(1, 4).Draw(rt, "streets") {
			var l plane.Polyline
			for range rapid.IntRange(2, 6).Draw(rt, "points") {
				l = append(l, plane.Point{X: float64(rapid.IntRange(0, 9).Draw(rt, "x")) * 17.3, Y: float64(rapid.IntRange(0, 9).Draw(rt, "y")) * 11.9})
			}
			if l = slices.Compact(l); len(l) > 1 {
				k.Street(osmdata.Path, l)
			}
		}
		if len(k.X.Streets) == 0 {
			return
		}
		g := k.Net(t)
		s := Sampler{G: g}
		for e := range int32(g.EdgeCount()) {
			sum, last := 0.0, 0.0
			for _, x := range s.Samples(e) {
				sum += x.WeightM
				at := g.EdgeLine(e).At(x.alongM)
				if x.At.DistanceM(at) > 1e-3 || x.alongM < last || math.Abs(x.dir.NormM()-1) > 1e-9 || x.WeightM > SpacingM+leastRunM {
					rt.Fatalf("edge %d: %+v, there is %v", e, x, at)
				}
				last = x.alongM
			}
			if math.Abs(sum-float64(g.LengthM[e])) > 1e-3 {
				rt.Fatalf("samples weigh %v of %v m", sum, g.LengthM[e])
			}
		}
	})
}

// A junction in the middle of a street moves no sample; joining streets moves none.
func TestCuttingMovesNoSample(t *testing.T) {
	places := func(side bool) []plane.Point {
		k := sketch.New()
		k.Street(osmdata.Residential, sketch.Line(0, 0, 40, 0, 90, 30))
		if side {
			k.Street(osmdata.Path, sketch.Line(40, 0, 40, -500))
		}
		g := k.Net(t)
		s := Sampler{G: g}
		var out []plane.Point
		for e := range int32(g.EdgeCount()) {
			for _, x := range s.Samples(e) {
				if x.At.Y >= 0 {
					out = append(out, x.At)
				}
			}
		}
		slices.SortFunc(out, func(a, b plane.Point) int { return int(math.Copysign(1, a.X-b.X)) })
		return out
	}
	whole, cut := places(false), places(true)
	if len(whole) != len(cut) || len(whole) != 10 {
		t.Fatalf("%d samples whole, %d cut", len(whole), len(cut))
	}
	for i := range whole {
		if whole[i].DistanceM(cut[i]) > 1e-4 {
			t.Errorf("sample %d moved from %v to %v", i, whole[i], cut[i])
		}
	}
}

func TestQuantile(t *testing.T) {
	v := []weighted{{5, 1}, {1, 1}, {9, 2}, {3, 4}} // by length: 1 once, 3 four times, 5 once, 9 twice
	for _, c := range []struct{ q, want float64 }{{0.1, 1}, {0.125, 1}, {0.126, 3}, {0.25, 3}, {0.625, 3}, {0.7, 5}, {0.75, 5}, {0.76, 9}, {1, 9}} {
		if got := quantile(slices.Clone(v), c.q); got != c.want {
			t.Errorf("quantile %v is %v, want %v", c.q, got, c.want)
		}
	}
}

func TestEachEdge(t *testing.T) {
	for _, workers := range []int{0, 1, 3, 8} {
		for _, n := range []int{0, 1, parallel.RunLength, 5*parallel.RunLength + 7} {
			hits := make([]int32, n)
			var done atomic.Int64
			err := parallel.EachIndex(context.Background(), n, workers, func(d int) { done.Add(int64(d)) }, func() func(int32) {
				return func(e int32) { atomic.AddInt32(&hits[e], 1) }
			})
			if err != nil || int(done.Load()) != n || slices.ContainsFunc(hits, func(h int32) bool { return h != 1 }) {
				t.Errorf("%d workers, %d edges: %v, %d told, hits %v", workers, n, err, done.Load(), hits)
			}
		}
	}
	ctx, cancel := context.WithCancel(context.Background())
	var did atomic.Int64
	err := parallel.EachIndex(ctx, 100*parallel.RunLength, 2, nil, func() func(int32) {
		return func(int32) { did.Add(1); cancel() }
	})
	if !errors.Is(err, context.Canceled) || did.Load() > 3*parallel.RunLength {
		t.Errorf("cancelled after the first edge: %v after %d", err, did.Load())
	}
}

// The middles of a raster's cells lie in an area as they lie in its polygon, by degrees.
func TestRasterAgainstPolygon(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := plane.NewFrame(rapid.Float64Range(-170, 170).Draw(t, "lon"), rapid.Float64Range(-65, 65).Draw(t, "lat"))
		g := plane.Polygon{}
		n := rapid.IntRange(3, 9).Draw(t, "n")
		for i := range n {
			a := 2 * math.Pi * float64(i) / float64(n)
			d := rapid.Float64Range(20, 900).Draw(t, "radius")
			g.Outer = append(g.Outer, plane.Point{X: 400 + d*math.Cos(a), Y: -700 + d*math.Sin(a)})
		}
		g.Holes = []plane.Ring{{{X: 395, Y: -705}, {X: 407, Y: -705}, {X: 407, Y: -693}, {X: 395, Y: -693}}}
		r := newRaster(f)
		r.fill(g)
		look := r.eye()
		for range 50 {
			p := plane.Point{X: rapid.Float64Range(-600, 1400).Draw(t, "x"), Y: rapid.Float64Range(-1700, 300).Draw(t, "y")}
			lon, lat := f.Inverse(p)
			y := math.Floor(lat / cellDeg)
			perDeg := columnsPerDeg(int32(y) >> 8)
			middle := f.Forward((math.Floor(lon*perDeg)+.5)/perDeg, (y+.5)*cellDeg)
			if middle.DistanceM(p) > rasterM {
				t.Fatalf("the cell of %v has its middle at %v", p, middle)
			}
			if nearRing(g, middle, .02) { // nodes are kept to a centimetre
				continue
			}
			if got := look.contains(middle); got != g.Contains(middle) {
				t.Fatalf("cell at %v: %v, polygon %v", middle, got, g.Contains(middle))
			}
		}
	})
	r := newRaster(plane.Frame{})
	r.fill(plane.Polygon{})
	if len(r.rows) != 0 || r.eye().contains(plane.Point{}) {
		t.Error("an area of nothing marks cells")
	}
}

func nearRing(g plane.Polygon, p plane.Point, m float64) bool {
	for _, ring := range append([]plane.Ring{g.Outer}, g.Holes...) {
		for i := range ring {
			if q, _ := plane.NearestOnSegment(p, ring[i], ring[(i+1)%len(ring)]); q.DistanceM(p) < m {
				return true
			}
		}
	}
	return false
}

// In another frame an area has the very same cells: none differs.
func TestRasterInAnotherFrame(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lon, lat := rapid.Float64Range(-170, 170).Draw(t, "lon"), rapid.Float64Range(-65, 65).Draw(t, "lat")
		frames := [2]plane.Frame{plane.NewFrame(lon+.2, lat-.1), plane.NewFrame(lon-.3, lat+.2)}
		var rasters [2]*raster
		n := rapid.IntRange(3, 12).Draw(t, "n")
		var at [][2]float64 // nodes as they are kept
		for i := range n {
			a, d := 2*math.Pi*float64(i)/float64(n), rapid.Float64Range(.0002, .02).Draw(t, "radius")
			at = append(at, [2]float64{math.Round((lon+d*math.Cos(a))*1e7) / 1e7, math.Round((lat+d*math.Sin(a))*1e7) / 1e7})
		}
		for k, f := range frames {
			var ring plane.Ring
			for _, p := range at {
				ring = append(ring, f.Forward(p[0], p[1]))
			}
			rasters[k] = newRaster(f)
			rasters[k].fill(plane.Polygon{Outer: ring})
		}
		a, b := rasters[0], rasters[1]
		if len(a.rows) == 0 || len(a.rows) != len(b.rows) || a.first != b.first {
			t.Fatalf("%d rows from %d on and %d from %d on", len(a.rows), a.first, len(b.rows), b.first)
		}
		for k := range a.rows {
			if !reflect.DeepEqual(a.rows[k], b.rows[k]) {
				t.Fatalf("row %d of blocks differs", k)
			}
		}
	})
}

// Samples of a way lie where they do whatever the frame, and as far apart on the ground as
// they should.
func TestSamplesInAnotherFrame(t *testing.T) {
	here, there := plane.NewFrame(-7, 47.3), plane.NewFrame(-6.4, 47.1)
	var at [2][]plane.Point
	for k, f := range []plane.Frame{here, there} {
		m := sketch.New()
		m.X.Frame = f
		var l plane.Polyline
		for i := range 30 { // 3 km
			l = append(l, f.Forward(-7+.0013*float64(i), 47.3+.0001*float64(i%3)))
		}
		m.Street(osmdata.Residential, l)
		g := m.Net(t)
		s := Sampler{G: g, Frame: f}
		for _, x := range s.Samples(0) {
			lon, lat := f.Inverse(x.At)
			at[k] = append(at[k], here.Forward(lon, lat))
		}
	}
	if len(at[0]) < 250 || len(at[0]) != len(at[1]) {
		t.Fatalf("%d and %d samples", len(at[0]), len(at[1]))
	}
	for i := range at[0] {
		if d := at[0][i].DistanceM(at[1][i]); d > .005 {
			t.Fatalf("sample %d lies %g m from itself", i, d)
		}
	}
}

// A share that some of alike samples just make is theirs, however their sum is rounded.
func TestQuantileOfTies(t *testing.T) {
	for _, off := range []float64{-1e-6, 0, 1e-6} {
		w := []weighted{{1, 10 + off}, {2, 10}, {3, 10 - off}, {4, 10}}
		if got := quantile(w, .25); got != 1 {
			t.Errorf("off by %g: %g, want 1", off, got)
		}
	}
}
