package survey

import (
	"context"
	"math"
	"testing"

	"pgregory.net/rapid"

	"wideberth/osmdata"
	"wideberth/osmdata/plane"
)

// sightOf gives sight along a street's drawing and against it.
func sightOf(t *testing.T, k *sketch, s *osmdata.Street) (fwd, back float32) {
	t.Helper()
	g := k.net(t)
	f, b, err := sight(context.Background(), g, newTerrain(&k.x), 1, nil)
	if err != nil {
		t.Fatal(err)
	}
	e := edgeOf(t, g, s)
	if g.EdgeLine(e)[0] != s.Line[0] {
		return b[e], f[e]
	}
	return f[e], b[e]
}

func TestSight(t *testing.T) {
	for _, c := range []struct {
		name      string
		line      plane.Polyline
		prepare   func(k *sketch)
		fwd, back float32
	}{
		{"open country", pts(0, 0, 100, 0, 100, 100), nil, SightCapM, SightCapM},
		{"a straight way between houses, seen to its end", pts(0, 0, 120, 0), func(k *sketch) {
			for x := 0.0; x < 120; x += 15 {
				k.house(x, 5, 10)
				k.house(x, -15, 10)
			}
		}, SightCapM, SightCapM},
		{"a fence does not hide", pts(0, 0, 100, 0, 100, 100), func(k *sketch) { k.fence(pts(50, 3, 97, 3, 97, 50)) }, SightCapM, SightCapM},
		{"on across a junction, the straightest way", pts(0, 0, 60, 0), func(k *sketch) {
			k.street(osmdata.Path, pts(60, 0, 160, 4))
			k.street(osmdata.Path, pts(60, 0, 60, 90))
			k.wall(pts(100, -30, 100, 30)) // hides the straight way from 40 m beyond the junction on
		}, 47.5, SightCapM},
	} {
		k := newSketch()
		s := k.street(osmdata.Path, c.line)
		if c.prepare != nil {
			c.prepare(k)
			s = &k.x.Streets[0]
		}
		if fwd, back := sightOf(t, k, s); fwd != c.fwd || back != c.back {
			t.Errorf("%s: %v ahead, %v back, want %v and %v", c.name, fwd, back, c.fwd, c.back)
		}
	}
}

// Round a house corner at (p, p) inside a bend, from r before the bend one sees as
// far as r p/(r-p) round it: similar triangles.
func TestSightRoundABend(t *testing.T) {
	k := newSketch()
	k.street(osmdata.Path, pts(-300, 0, 0, 0, 0, 300))
	const p = 4.0
	k.wall(pts(-200, p, -p, p, -p, 200)) // the corner of the house at (-p, p)
	g := k.net(t)
	l := looker{g: g, t: newTerrain(&k.x), s: sampler{g: g}}
	arc := g.EdgeArc[0]
	if g.EdgeLine(0)[0].Y != 0 {
		arc = g.Star.Twin[arc]
	}
	l.line = l.extend(l.line, arc, SightCapM)
	for _, r := range []float64{8, 20, 50, 100} {
		seen := r + r*p/(r-p)
		if got := l.from(300 - r); math.Abs(got-min(seen, SightCapM)) > sightStepM/2+1e-9 {
			t.Errorf("%v m before the bend: %v m, want %.2f within half a step", r, got, seen)
		}
	}
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
	looks, unlike := 0, 0
	rapid.Check(t, func(rt *rapid.T) {
		k := newSketch()
		l := plane.Polyline{{X: 0, Y: 0}}
		heading := 0.0
		for range rapid.IntRange(1, 6).Draw(rt, "bends") {
			heading += rapid.Float64Range(-0.6, 0.6).Draw(rt, "turn")
			d := rapid.Float64Range(15, 80).Draw(rt, "run")
			l = append(l, l[len(l)-1].Add(plane.Point{X: d * math.Cos(heading), Y: d * math.Sin(heading)}))
		}
		k.street(osmdata.Path, l)
		for range rapid.IntRange(1, 12).Draw(rt, "houses") {
			side := rapid.Float64Range(4, 15).Draw(rt, "side")
			off := rapid.Float64Range(3, 25).Draw(rt, "off")
			if rapid.Bool().Draw(rt, "left") {
				off = -off - side
			}
			k.house(rapid.Float64Range(0, 300).Draw(rt, "x"), off, side)
		}
		g := k.net(t)
		lk := looker{g: g, t: newTerrain(&k.x), s: sampler{g: g}}
		lk.line = lk.extend(lk.line, g.EdgeArc[0], SightCapM)
		for m := 5.0; m < float64(g.LengthM[0]); m += spacingM {
			eye := lk.line.At(m)
			got := lk.from(m)
			looks++
			if want := lk.marchPlainly(eye); got != want {
				unlike++
			}
		}
	})
	if looks < 500 || float64(unlike) > 0.005*float64(looks) {
		t.Errorf("the shortcut differs in %d of %d looks", unlike, looks)
	}
}

// Two walls at distance a from both centre lines of a right-angled bend hide two
// parties as far as 2a before it from each other: corner sight 4a.
func TestCornerSight(t *testing.T) {
	for _, a := range []float64{3, 6.5, 10} {
		k := newSketch()
		k.street(osmdata.Residential, pts(0, 0, 200, 0))
		k.street(osmdata.Residential, pts(0, 0, 0, 200))
		k.street(osmdata.Residential, pts(0, 0, -200, 0))
		k.wall(pts(a, 150, a, a, 150, a))
		g := k.net(t)
		got, err := corners(context.Background(), g, newTerrain(&k.x), 2)
		if err != nil || len(got) != 1 {
			t.Fatalf("a = %v: %v (%v), want one corner", a, got, err)
		}
		c := got[0]
		if g.Vertex[c.Vertex] != (plane.Point{}) || math.Abs(float64(c.SightM)-4*a) > 0.05 {
			t.Errorf("a = %v: %+v at %v, want a sight of %v at the junction", a, c, g.Vertex[c.Vertex], 4*a)
		}
		far := g.Vertex[g.Star.Head[c.ArcA]].Add(g.Vertex[g.Star.Head[c.ArcB]])
		if far != (plane.Point{X: 200, Y: 200}) {
			t.Errorf("a = %v: arms to %v and %v", a, g.Vertex[g.Star.Head[c.ArcA]], g.Vertex[g.Star.Head[c.ArcB]])
		}
	}
}

// Wide open corners and straight-on pairs are none, short arms go on as their
// continuation.
func TestCornersThatAreNone(t *testing.T) {
	k := newSketch()
	k.street(osmdata.Residential, pts(0, 0, 200, 0))
	k.street(osmdata.Residential, pts(-200, 0, 0, 0))
	k.street(osmdata.Residential, pts(0, 0, 0, 5))
	k.street(osmdata.Residential, pts(0, 5, 0, 200))
	k.street(osmdata.Residential, pts(0, 5, 80, 80))
	k.wall(pts(8, 30, 8, 8, 150, 8))
	g := k.net(t)
	got, err := corners(context.Background(), g, newTerrain(&k.x), 1)
	if err != nil {
		t.Fatal(err)
	}
	atOrigin := 0
	for _, c := range got {
		if g.Vertex[c.Vertex] != (plane.Point{}) {
			continue
		}
		atOrigin++
		if math.Abs(float64(c.SightM)-32) > 0.1 {
			t.Errorf("corner at the junction: %+v, want a sight of 32 m over the short arm's continuation", c)
		}
	}
	if atOrigin != 1 {
		t.Errorf("%d corners at the junction: %+v", atOrigin, got)
	}
}
