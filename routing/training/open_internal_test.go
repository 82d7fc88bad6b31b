package training

import (
	"math"
	"math/rand/v2"
	"testing"

	"wideberth/exposure"
	"wideberth/osmdata/plane"
	"wideberth/routing/plantest"
	"wideberth/routing/snapshot/maptest"
)

// lookingAt draws a path with something to watch 60 m north of it, whatever else is said,
// and says how much of the ground south of the place (0, 0) is open. All of it is turned
// by an angle.
func lookingAt(t *testing.T, turn float64, more func(d *maptest.Drawing, xy func(xy ...float64) []float64)) float64 {
	t.Helper()
	sin, cos := math.Sincos(turn)
	turned := func(xy ...float64) (out []float64) {
		for i := 0; i+1 < len(xy); i += 2 {
			out = append(out, xy[i]*cos-xy[i+1]*sin, xy[i]*sin+xy[i+1]*cos)
		}
		return out
	}
	d := &maptest.Drawing{}
	d.Way("highway=path", turned(-300, 0, 300, 0)...)
	if more != nil {
		more(d, turned)
	}
	p := plantest.On(t, d.Map(t))
	s := &scout{memo: newMemo(t.Context()), p: p}
	on := func(x, y float64) plane.Point { q := turned(x, y); return maptest.On(p.Snapshot(), q[0], q[1]) }
	g := s.groundAbout(plane.Box{Min: on(0, 0), Max: on(0, 0)}.Grown(200))
	deg, ray := s.opens(&g, on(0, 0), on(0, 60))
	if (deg > 0) != (len(ray) == 2) {
		t.Fatalf("%g degrees open, by %v", deg, ray)
	}
	if deg > 0 && (math.Abs(ray[0].DistanceM(ray[1])-25) > 0.1 || ray[1].DistanceM(on(0, 60)) < 60) {
		t.Fatalf("it leads %v away from %v", ray, on(0, 60))
	}
	return deg
}

// TestWhatClosesOpenGround: a fence, a stream, a main road, a wall of houses or somebody's
// ground within the 25 m each take the ground away; what lies beyond them, and a small
// street, do not. The world may be turned by any angle.
func TestWhatClosesOpenGround(t *testing.T) {
	type drawing = func(*maptest.Drawing, func(...float64) []float64)
	way := func(tags string, xy ...float64) drawing {
		return func(d *maptest.Drawing, turned func(...float64) []float64) { d.Way(tags, turned(xy...)...) }
	}
	box := func(tags string, x0, y0, x1, y1 float64) drawing {
		return way(tags, x0, y0, x1, y0, x1, y1, x0, y1, x0, y0)
	}
	rng := rand.New(rand.NewPCG(1, 5))
	for name, c := range map[string]struct {
		more drawing
		deg  float64
	}{
		"nothing mapped":         {nil, 165},
		"a park":                 {box("leisure=park", -90, -90, 90, 30), 165},
		"a fence":                {way("barrier=fence", -200, -6, 200, -6), 0},
		"a fence beyond":         {way("barrier=fence", -200, -26, 200, -26), 165},
		"a fence on one side":    {way("barrier=fence", 3, 40, 3, -60), 90},       // straight away and all to the other side
		"a stream":               {box("natural=water", -200, -20, 200, -10), 15}, // rays along the path end before it
		"a main road":            {way("highway=primary;foot=yes", -200, -6, 200, -6), 0},
		"a main road for motors": {way("highway=trunk;foot=no", -200, -6, 200, -6), 0},
		"the main road under it": {way("highway=primary;foot=yes", -200, -1.5, 200, -1.5), 135}, // the two flattest rays cross it farther off
		"a small street":         {way("highway=residential", -200, -6, 200, -6), 165},
		"homes":                  {box("landuse=residential", -200, -80, 200, 30), 0},
		"a park among homes": {func(d *maptest.Drawing, turned func(...float64) []float64) {
			box("landuse=residential", -200, -80, 200, 30)(d, turned)
			box("leisure=park", -90, -90, 90, 30)(d, turned)
		}, 165},
		"a field of corn": {box("landuse=farmland", -200, -80, 200, 30), 0},
		"a house":         {box("building=yes", -200, -12, 200, -8), 15},
	} {
		if got := lookingAt(t, 0, c.more); got != c.deg {
			t.Errorf("%s: %g degrees, want %g", name, got, c.deg)
		}
		if turn := 2 * math.Pi * rng.Float64(); lookingAt(t, turn, c.more) != c.deg {
			t.Errorf("%s, turned by %.2f: %g degrees, want %g", name, turn, lookingAt(t, turn, c.more), c.deg)
		}
	}
}

// TestPlacesOffTheWay: in the town every place off the ways lies on its lattice in the
// band, 8 to 60 m from the nearest way, and sees what is watched from where it is told;
// what passes on that way comes no nearer than the way.
func TestPlacesOffTheWay(t *testing.T) {
	s, views, _ := scouted(t, exposure.Dogs.Kinds())
	g := s.p.Land().Snap.Graph
	var sieve Sieve
	n, own := 0, 0
	for _, v := range views {
		for _, c := range s.offWay(v, &sieve) {
			n++
			least := math.Inf(1)
			for e := range int32(g.EdgeCount()) {
				_, _, d := g.EdgeLine(e).Nearest(c.At)
				least = math.Min(least, d)
			}
			d, _ := v.nearest(c.At)
			if math.Abs(c.OffM-least) > 0.01 || least < 8 || least > 60 || math.Abs(d-c.DistM) > 1e-9 || c.Multiple < 1 || c.Multiple > 2.2 ||
				math.Mod(c.At.X, 12) != 0 || math.Mod(c.At.Y, 12) != 0 || c.SightShare < 0.3 {
				t.Fatalf("%+v lies %.2f m from a way", c.Vantage, least)
			}
			for i, x := range s.terms(c.Edge, s.rankedAt) {
				y := s.termsAt(&c.Vantage, s.rankedAt)[i]
				if x.Own {
					own++
					if y.Own || y.DistM != math.Max(c.OffM, x.DistM) || y.HazardPerS > 1.01*x.HazardPerS+1e-12 /* the dead time is shared out on the way */ {
						t.Fatalf("the stream on the way is %+v from off it, %+v on it", y, x)
					}
				} else if x.Source < 0 && y != x {
					t.Fatalf("another way changes: %+v, %+v", x, y)
				}
			}
		}
	}
	if n < 20 || own < 20 {
		t.Errorf("%d places off the ways, %d streams on them", n, own)
	}
}

// TestLooserNeverLoses: with more to choose from there is a whole sequence wherever there
// was one: of options drawn at random what has a chain in the loosest order by brute force
// has one although most were thinned out, and only then.
func TestLooserNeverLoses(t *testing.T) {
	rng := rand.New(rand.NewPCG(8, 5))
	whole := 0
	for range 300 {
		w := &Wish{Farthest: 2, Nearest: 1}
		tr := &training{w: w, dropped: map[visitKey]bool{}}
		for i := range 4 + rng.IntN(24) {
			m := 1 + 1.2*rng.Float64()
			o := Option{Place: Place{Vantage: Vantage{Multiple: m, Grade: []Grade{GradeA, GradeB}[rng.IntN(2)], At: plane.Point{X: float64(100 * i)}}}, AboutX: rng.Float64(),
				Class: StepClass{Near: distanceClass(m), Busy: rng.IntN(3)}}
			tr.fit = append(tr.fit, o)
		}
		reached := map[int]bool{}
		var walk func(i int)
		walk = func(i int) {
			reached[i] = true
			for k := range tr.fit {
				if !reached[k] && NearerAndEase.allows(&tr.fit[i], &tr.fit[k]) {
					walk(k)
				}
			}
		}
		want := false
		for i := range tr.fit {
			if tr.fit[i].Multiple >= 1.7 && !reached[i] {
				walk(i)
			}
		}
		for i := range reached {
			want = want || tr.fit[i].Multiple <= 1.15
		}
		chain := tr.throughAll()
		if (len(chain) > 0) != want {
			t.Fatalf("a chain of %d, by brute force one is there: %v", len(chain), want)
		}
		for i := 1; i < len(chain); i++ {
			if !NearerAndEase.allows(&chain[i-1], &chain[i]) {
				t.Fatalf("step %d of %v is not allowed", i, chain)
			}
		}
		if want {
			whole++
			if chain[0].Multiple < 1.7 || chain[len(chain)-1].Multiple > 1.15 {
				t.Fatalf("from %g to %g", chain[0].Multiple, chain[len(chain)-1].Multiple)
			}
		}
	}
	if whole < 50 || whole > 280 {
		t.Errorf("%d of 300 have a chain: too much alike", whole)
	}
}
