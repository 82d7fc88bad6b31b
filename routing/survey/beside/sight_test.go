package beside

import (
	"context"
	"math"
	"testing"

	"pgregory.net/rapid"

	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/survey/sketch"
)

// sightOf gives sight along a street's drawing and against it.
func sightOf(t *testing.T, k *sketch.Map, s *osmdata.Street) (fwd, back float32) {
	t.Helper()
	g := k.Net(t)
	f, b, err := Sight(context.Background(), g, NewTerrain(&k.X, nil), 1, nil)
	if err != nil {
		t.Fatal(err)
	}
	e := sketch.EdgeOf(t, g, s)
	if g.EdgeLine(e)[0] != s.Line[0] {
		return b[e], f[e]
	}
	return f[e], b[e]
}

func TestSight(t *testing.T) {
	for _, c := range []struct {
		name      string
		line      plane.Polyline
		prepare   func(k *sketch.Map)
		fwd, back float32
	}{
		{"open country", sketch.Line(0, 0, 100, 0, 100, 100), nil, SightCapM, SightCapM},
		{"a straight way between houses, seen to its end", sketch.Line(0, 0, 120, 0), func(k *sketch.Map) {
			for x := 0.0; x < 120; x += 15 {
				k.House(x, 5, 10)
				k.House(x, -15, 10)
			}
		}, SightCapM, SightCapM},
		{"a fence does not hide", sketch.Line(0, 0, 100, 0, 100, 100), func(k *sketch.Map) { k.Fence(sketch.Line(50, 3, 97, 3, 97, 50)) }, SightCapM, SightCapM},
		{"on across a junction, the straightest way", sketch.Line(0, 0, 60, 0), func(k *sketch.Map) {
			k.Street(osmdata.Path, sketch.Line(60, 0, 160, 4))
			k.Street(osmdata.Path, sketch.Line(60, 0, 60, 90))
			k.Wall(sketch.Line(100, -30, 100, 30)) // hides the straight way from 40 m beyond the junction on
		}, 47.5, SightCapM},
	} {
		k := sketch.New()
		s := k.Street(osmdata.Path, c.line)
		if c.prepare != nil {
			c.prepare(k)
			s = &k.X.Streets[0]
		}
		if fwd, back := sightOf(t, k, s); fwd != c.fwd || back != c.back {
			t.Errorf("%s: %v ahead, %v back, want %v and %v", c.name, fwd, back, c.fwd, c.back)
		}
	}
}

// Round a house corner at (p, p) inside a bend, from r before the bend one sees as
// far as r p/(r-p) round it: similar triangles.
func TestSightRoundABend(t *testing.T) {
	k := sketch.New()
	k.Street(osmdata.Path, sketch.Line(-300, 0, 0, 0, 0, 300))
	const p = 4.0
	k.Wall(sketch.Line(-200, p, -p, p, -p, 200)) // the corner of the house at (-p, p)
	g := k.Net(t)
	l := looker{g: g, t: NewTerrain(&k.X, nil), s: Sampler{G: g}}
	arc := g.EdgeArc[0]
	if g.EdgeLine(0)[0].Y != 0 {
		arc = g.Star.Twin[arc]
	}
	for _, r := range []float64{8, 20, 50, 100} {
		seen := r + r*p/(r-p)
		if got := l.from(arc, 300-r); math.Abs(got-min(seen, SightCapM)) > sightStepM/2+1e-9 {
			t.Errorf("%v m before the bend: %v m, want %.2f within half a step", r, got, seen)
		}
	}
}

// from is the sight from one place along an arc.
func (l *looker) from(arc int32, alongM float64) float64 {
	l.begin(arc)
	l.add(&cursor{line: l.line}, alongM, 1)
	l.march(1)
	return l.views[0].sightM
}

// marchPlainly looks at every place ahead in turn: the slow twin of march.
func (l *looker) marchPlainly(eye plane.Point) float64 {
	for i, p := range l.ahead {
		if !l.t.lines.Visible(eye, p, stopsView) {
			return (float64(i) + 0.5) * sightStepM
		}
	}
	return SightCapM
}

// The shortcut may differ from the plain march only where a wall's end reaches less
// than straightM into a bent line of sight.
func TestSightShortcut(t *testing.T) {
	looks, unlike, least := 0, 0, 500
	if testing.Short() { // a fifth of the streets are drawn then
		least = 100
	}
	rapid.Check(t, func(rt *rapid.T) {
		k := sketch.New()
		l := plane.Polyline{{X: 0, Y: 0}}
		heading := 0.0
		for range rapid.IntRange(1, 6).Draw(rt, "bends") {
			heading += rapid.Float64Range(-0.6, 0.6).Draw(rt, "turn")
			d := rapid.Float64Range(15, 80).Draw(rt, "run")
			l = append(l, l[len(l)-1].Add(plane.Point{X: d * math.Cos(heading), Y: d * math.Sin(heading)}))
		}
		k.Street(osmdata.Path, l)
		for range rapid.IntRange(1, 12).Draw(rt, "houses") {
			side := rapid.Float64Range(4, 15).Draw(rt, "side")
			off := rapid.Float64Range(3, 25).Draw(rt, "off")
			if rapid.Bool().Draw(rt, "left") {
				off = -off - side
			}
			k.House(rapid.Float64Range(0, 300).Draw(rt, "x"), off, side)
		}
		g := k.Net(t)
		lk := looker{g: g, t: NewTerrain(&k.X, nil), s: Sampler{G: g}}
		for m := 5.0; m < float64(g.LengthM[0]); m += SpacingM {
			got := lk.from(g.EdgeArc[0], m)
			eye := lk.line.At(m)
			looks++
			if want := lk.marchPlainly(eye); got != want {
				unlike++
			}
		}
	})
	if looks < least || float64(unlike) > 0.005*float64(looks) {
		t.Errorf("the shortcut differs in %d of %d looks", unlike, looks)
	}
}
