package cut

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/clip"
	"github.com/paulmach/orb/planar"
	"pgregory.net/rapid"

	"wideberth/osmdata/plane"
)

// TestCells: the cell of a place is the one that plane finds by the projection's
// formulas, but where the place lies within a unit of a side; and the cores of
// neighbouring quads leave no place out and share none.
func TestCells(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := point{int32(rapid.IntRange(-maxLon, maxLon).Draw(t, "lon")), int32(rapid.IntRange(-85*unit, 85*unit).Draw(t, "lat"))}
		x, y := p.cell()
		q := plane.Quad{Zoom: finest, X: uint32(x), Y: uint32(y)}
		if !coreOf(q).holds(noBox().with(p)) {
			t.Fatalf("%v is not in the core %v of its cell", p, coreOf(q))
		}
		want := plane.QuadAt(float64(p.lon)/unit, float64(p.lat)/unit, finest)
		w, s, e, n := want.Degrees()
		for i, d := range []float64{w * unit, s * unit, e * unit, n * unit} {
			if math.Abs(d-float64([]int32{p.lon, p.lat, p.lon, p.lat}[i])) < 2 {
				return
			}
		}
		if q != want {
			t.Fatalf("%v lies in %v, want %v", p, q, want)
		}
	})
	for _, zoom := range []uint8{leastZoom, 10, finest} {
		for x := uint32(0); x+1 < 1<<zoom; x++ {
			a, b := coreOf(plane.Quad{Zoom: zoom, X: x}), coreOf(plane.Quad{Zoom: zoom, X: x + 1})
			c, d := coreOf(plane.Quad{Zoom: zoom, Y: x}), coreOf(plane.Quad{Zoom: zoom, Y: x + 1})
			if a.e+1 != b.w || c.s != d.n+1 {
				t.Fatalf("zoom %d, %d: %v beside %v, %v above %v", zoom, x, a, b, c, d)
			}
		}
	}
}

// TestMargin: a box with a margin reaches as far as asked for, measured on the ellipsoid,
// and not more than a fiftieth farther where nobody lives farther north.
func TestMargin(t *testing.T) {
	const marginM = 7000
	for _, lat := range []float64{0, 39.7, 52.5, 65} {
		q := plane.QuadAt(13.4, lat, 11)
		core := coreOf(q)
		wide := core.wider(marginM)
		for _, side := range [][2]point{
			{{core.w, core.n}, {wide.w, core.n}}, {{core.e, core.s}, {wide.e, core.s}},
			{{core.w, core.n}, {core.w, wide.n}}, {{core.w, core.s}, {core.w, wide.s}},
		} {
			f := plane.NewFrame(float64(side[0].lon)/unit, float64(side[0].lat)/unit)
			d := f.Forward(float64(side[1].lon)/unit, float64(side[1].lat)/unit).NormM()
			if d < marginM || d > 1.02*marginM {
				t.Errorf("at %v N the margin is %.0f m", lat, d)
			}
		}
	}
	if w := coreOf(plane.QuadAt(179.99, 10, 9)).wider(marginM); w.e > maxLon {
		t.Error("a margin reaches beyond the far meridian")
	}
}

// town is a density with clusters of places.
func town(seed uint64) (density, []point) {
	rng := rand.New(rand.NewPCG(seed, 1))
	d := density{}
	var all []point
	for range 5 {
		lon, lat := rng.IntN(20*unit)-10*unit, rng.IntN(20*unit)+40*unit
		spread := float64(int(1) << (16 + rng.IntN(6)))
		for range 400 {
			p := point{int32(float64(lon) + rng.NormFloat64()*spread), int32(float64(lat) + rng.NormFloat64()*spread)}
			all = append(all, p)
			d.add(p)
		}
	}
	return d, all
}

// TestCut: every place lies in the core of one tile, each tile holds less than asked
// for or is as fine as tiles get, and its parent would not have.
func TestCut(t *testing.T) {
	for seed := range uint64(10) {
		d, all := town(seed)
		const most = 50
		quads := d.cut(most)
		in := map[plane.Quad]int{}
		for _, p := range all {
			found := 0
			for _, q := range quads {
				if coreOf(q).holds(noBox().with(p)) {
					in[q]++
					found++
				}
			}
			if found != 1 {
				t.Fatalf("seed %d: %v lies in %d tiles", seed, p, found)
			}
		}
		for i, q := range quads {
			if n := in[q]; n == 0 || n >= most && q.Zoom < finest {
				t.Errorf("seed %d: %v holds %d places", seed, q, n)
			}
			parent := plane.Quad{Zoom: q.Zoom - 1, X: q.X / 2, Y: q.Y / 2}
			if q.Zoom > leastZoom && d.in(parent) < most {
				t.Errorf("seed %d: %v was cut for nothing", seed, parent)
			}
			if i > 0 && quads[i-1].Key() >= q.Key() {
				t.Errorf("seed %d: not sorted", seed)
			}
		}
	}
}

// TestMeet holds the tiles that an object meets against orb's clipping and containment,
// tile by tile.
func TestMeet(t *testing.T) {
	quads := func() []plane.Quad { d, _ := town(3); return d.cut(50) }()
	tr := newTree(quads, 2000)
	met := 0
	rapid.Check(t, func(t *rapid.T) {
		about := coreOf(quads[rapid.IntRange(0, len(quads)-1).Draw(t, "about")])
		reach := rapid.SampledFrom([]float64{1e3, 1e5, 1e6, 3e7}).Draw(t, "reach")
		area := rapid.Bool().Draw(t, "area")
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 2))
		n := rapid.IntRange(1, 12).Draw(t, "n")
		run := make([]point, n)
		for i := range run { // a star, so that the ring does not cross itself
			angle := 2 * math.Pi * float64(i) / float64(n)
			r := reach * (0.3 + rng.Float64())
			run[i] = point{about.w + int32(r*math.Cos(angle)), about.s + int32(r*math.Sin(angle))}
		}
		if area {
			run = slices.Concat(run, run[:1])
		}
		got := slices.Sorted(slices.Values(tr.meet(lines{run}, area)))
		met += len(got)
		ls := make(orb.LineString, len(run))
		for i, p := range run {
			ls[i] = orb.Point{float64(p.lon), float64(p.lat)}
		}
		var want []int
		for i, tile := range tr.tiles {
			b := orb.Bound{Min: orb.Point{float64(tile.box.w), float64(tile.box.s)}, Max: orb.Point{float64(tile.box.e), float64(tile.box.n)}}
			m := tr.middle(i)
			if len(ls) == 1 && b.Contains(ls[0]) || len(ls) > 1 && len(clip.LineString(b, ls)) > 0 ||
				area && n > 2 && planar.RingContains(orb.Ring(ls), orb.Point{float64(m.lon), float64(m.lat)}) {
				want = append(want, i)
			}
		}
		if !slices.Equal(got, want) {
			t.Fatalf("%v (area %t) meets %v, want %v", run, area, got, want)
		}
	})
	if met == 0 {
		t.Error("nothing was met")
	}
}

// TestMeetsLine holds whether a straight line meets a box against orb's clipping, and it is
// the same from either end and for a line that is one place.
func TestMeetsLine(t *testing.T) {
	number := rapid.Int32Range(-20, 20)
	rapid.Check(t, func(t *rapid.T) {
		b := noBox().with(point{number.Draw(t, "w"), number.Draw(t, "s")}).with(point{number.Draw(t, "e"), number.Draw(t, "n")})
		p, q := point{number.Draw(t, "px"), number.Draw(t, "py")}, point{number.Draw(t, "qx"), number.Draw(t, "qy")}
		bound := orb.Bound{Min: orb.Point{float64(b.w), float64(b.s)}, Max: orb.Point{float64(b.e), float64(b.n)}}
		line := orb.LineString{{float64(p.lon), float64(p.lat)}, {float64(q.lon), float64(q.lat)}}
		want := bound.Contains(line[0]) || bound.Contains(line[1]) || len(clip.LineString(bound, line)) > 0
		if got := b.meetsLine(p, q); got != want || b.meetsLine(q, p) != want {
			t.Fatalf("%v to %v meets %v: %t, want %t", p, q, b, got, want)
		}
		if b.meetsLine(p, p) != bound.Contains(line[0]) {
			t.Fatalf("%v in %v", p, b)
		}
	})
}
