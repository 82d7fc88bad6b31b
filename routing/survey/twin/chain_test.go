package twin

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"wideberth/exposure"
	"wideberth/exposure/hours"
	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
	"wideberth/routing/survey"
)

// The properties below hold for the whole chain, from the extract over network and
// survey to the X of a walk.

// everything is a dog that reacts to all kinds.
func everything(w float64) *exposure.Dog {
	d := &exposure.Dog{SpeedMPS: walkerMPS, ByCategory: map[exposure.Category]exposure.Need{}}
	for c := range exposure.CategoryCount {
		d.ByCategory[c] = exposure.Need{WorkingM: w, ReactionM: w / 2}
	}
	return d
}

// copied is an extract whose ways, walls and places may be changed.
func copied(x *osmdata.Extract) *osmdata.Extract {
	c := *x
	c.Streets = append([]osmdata.Street(nil), x.Streets...)
	c.Obstacles = append([]osmdata.Obstacle(nil), x.Obstacles...)
	return &c
}

// surveyed is the X of a minute on each edge, by where the edge is, with what the
// map as a whole has.
func surveyed(t testing.TB, x *osmdata.Extract, d *exposure.Dog, m hours.Moment) (byEdge map[string]float64, total float64) {
	t.Helper()
	g, _, err := network.Build(x.Streets, x.Barred, network.Options{})
	if err != nil {
		t.Fatal(err)
	}
	f, err := survey.Survey(context.Background(), x, g, survey.Options{Workers: 2})
	if err != nil {
		t.Fatal(err)
	}
	byEdge = map[string]float64{}
	for e, h := range f.Sums(d, nil).Hazard(m, nil, nil) {
		a, b := g.VertexNode[g.Star.Head[g.EdgeArc[e]]], g.VertexNode[g.Star.Head[g.Star.Twin[g.EdgeArc[e]]]]
		byEdge[fmt.Sprintf("%d %d %.1f", min(a, b), max(a, b), g.LengthM[e])] += float64(h) * 60
		total += float64(h) * float64(g.LengthM[e]) / walkerMPS
	}
	return byEdge, total
}

// differ counts the edges whose X is not the same within a share, of those that both
// have, and how many of a are missing in b.
func differ(a, b map[string]float64, within float64) (changed, missing int) {
	for k, x := range a {
		y, ok := b[k]
		switch {
		case !ok:
			missing++
		case math.Abs(x-y) > within*x+1e-9:
			changed++
		}
	}
	return changed, missing
}

// What is only another way to write the same map changes nothing.
func TestSameMapWrittenOtherwise(t *testing.T) {
	x := town(t, 700).x
	d := everything(40)
	// Motors are spread by random draws of each way's own number: renumbering draws anew.
	d.ByCategory[exposure.Traffic] = exposure.Need{}
	d.ByKind = map[exposure.Kind]exposure.Need{exposure.Siren: {}}
	base, all := surveyed(t, x, d, evening)
	for _, c := range []struct {
		name         string
		change       func(x *osmdata.Extract)
		edge, total  float64 // tolerances
		changed, off int     // edges that may differ, or be missing
	}{
		{"ways renumbered", func(x *osmdata.Extract) {
			for i := range x.Streets {
				x.Streets[i].ID = 900000 - 7*x.Streets[i].ID
			}
		}, 1e-6, 1e-6, 0, 0},
		{"ways in another order", func(x *osmdata.Extract) {
			r := rand.New(rand.NewPCG(46, 1))
			r.Shuffle(len(x.Streets), func(i, j int) { x.Streets[i], x.Streets[j] = x.Streets[j], x.Streets[i] })
		}, 1e-6, 1e-6, 0, 0},
		{"walls drawn from the other end", func(x *osmdata.Extract) {
			for i := range x.Obstacles {
				x.Obstacles[i].Line = x.Obstacles[i].Line.Reversed()
			}
		}, 1e-6, 1e-6, 0, 0},
		{"walls cut at every corner", func(x *osmdata.Extract) {
			var cut []osmdata.Obstacle
			for _, o := range x.Obstacles {
				for k := 1; k < len(o.Line); k++ {
					piece := o
					piece.Line = o.Line[k-1 : k+1]
					cut = append(cut, piece)
				}
			}
			x.Obstacles = cut
		}, 1e-6, 1e-6, 0, 0},
		// Samples stand at fixed places from the first node of each way: turning or cutting
		// ways moves them, by less than their spacing.
		{"ways drawn from the other end", func(x *osmdata.Extract) {
			for i := range x.Streets {
				s := &x.Streets[i]
				if s.Flags&(osmdata.FlagOneWay|osmdata.FlagOpenStart|osmdata.FlagOpenEnd) == 0 {
					s.Line, s.Nodes = s.Line.Reversed(), reversed(s.Nodes)
				}
			}
		}, .25, .02, 15, 0},
		{"ways cut in two", func(x *osmdata.Extract) {
			for i := range x.Streets {
				if s := x.Streets[i]; len(s.Line) > 2 {
					k := len(s.Line) / 2
					first, second := s, s
					first.Line, first.Nodes = s.Line[:k+1], s.Nodes[:k+1]
					second.Line, second.Nodes, second.ID = s.Line[k:], s.Nodes[k:], s.ID+500000
					x.Streets[i] = first
					x.Streets = append(x.Streets, second)
				}
			}
		}, .25, .02, 15, 2},
	} {
		y := copied(x)
		c.change(y)
		got, total := surveyed(t, y, d, evening)
		changed, missing := differ(base, got, c.edge)
		t.Logf("%-32s total %.6f of what it was, %d of %d edges beyond %g", c.name, total/all, changed, len(base), c.edge)
		if math.Abs(total/all-1) > c.total || changed > c.changed || missing > c.off {
			t.Errorf("%s: total %g, before %g; %d of %d edges differ, %d are missing", c.name, total, all, changed, len(base), missing)
		}
	}
}

func reversed(xs []int64) []int64 {
	out := make([]int64, len(xs))
	for i, x := range xs {
		out[len(xs)-1-i] = x
	}
	return out
}

// A week later, outside holidays, nothing has changed; a braver dog never has more X,
// edge by edge.
func TestAWeekLaterAndABraverDog(t *testing.T) {
	x := town(t, 700).x
	d := everything(60)
	base, _ := surveyed(t, x, d, evening)
	week := evening
	week.Date += 7
	later, _ := surveyed(t, x, d, week)
	if changed, missing := differ(base, later, 0); changed+missing > 0 {
		t.Errorf("a week later %d of %d edges differ", changed, len(base))
	}
	braver, _ := surveyed(t, x, d.Stretch(.8), evening)
	for k, h := range braver {
		if h > base[k]*(1+1e-9) {
			t.Errorf("edge %s: %g, for the braver dog %g", k, base[k], h)
		}
	}
}

// flowsOf gives every edge of a world some flow of some patterns.
func flowsOf(w *world, r *rand.Rand, k float32) (q [exposure.PatternCount][]float32) {
	for _, p := range []exposure.Pattern{exposure.DogWalks, exposure.WalkingTrips, exposure.WheelTrips, exposure.CarTraffic} {
		q[p] = make([]float32, w.g.EdgeCount())
		for e := range q[p] {
			q[p][e] = k * float32(r.ExpFloat64())
		}
	}
	return q
}

func counted(t testing.TB, w *world, q [exposure.PatternCount][]float32) *exposure.Field {
	t.Helper()
	f, err := survey.Counted(context.Background(), w.x, w.g, q, survey.Options{Workers: 2})
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// byteShare is how much the rounding of bins to bytes may move a sum: a step is 6 %.
const byteShare = .03

// A stream more, anywhere, never lowers the hazard of any edge; without it there is
// never more.
func TestAnotherStreamNeverLowers(t *testing.T) {
	const seed = 47
	w := town(t, 500)
	r := rand.New(rand.NewPCG(seed, 6))
	q := flowsOf(w, r, 40)
	base := counted(t, w, q).Sums(everything(80), nil).Hazard(evening, nil, nil)
	for range 5 {
		more := q
		p := []exposure.Pattern{exposure.DogWalks, exposure.WalkingTrips, exposure.WheelTrips, exposure.CarTraffic}[r.IntN(4)]
		more[p] = append([]float32(nil), q[p]...)
		e := r.IntN(w.g.EdgeCount())
		more[p][e] += 500
		got := counted(t, w, more).Sums(everything(80), nil).Hazard(evening, nil, nil)
		raised := 0
		for i := range got {
			if got[i] < base[i]*(1-byteShare) {
				t.Errorf("seed %d: with more %v on edge %d the hazard of edge %d falls from %g to %g", seed, p, e, i, base[i], got[i])
			}
			if got[i] > base[i]*(1+byteShare) {
				raised++
			}
		}
		if raised == 0 {
			t.Errorf("seed %d: more %v on edge %d are met nowhere", seed, p, e)
		}
	}
}

// In the thin limit twice the flows are twice the hazard; in any they are never less
// and never more than that.
func TestFlowsScale(t *testing.T) {
	const seed = 48
	w := town(t, 500)
	hazard := func(k float32, m float64) float64 {
		sum := 0.0
		f := counted(t, w, flowsOf(w, rand.New(rand.NewPCG(seed, 7)), k))
		f.Sources, f.Touches = nil, nil
		clear(f.TouchAt)
		for _, h := range f.Sums(everything(m), nil).Hazard(evening, nil, nil) {
			sum += float64(h)
		}
		return sum
	}
	if a, b := hazard(4, 40), hazard(8, 40); math.Abs(b/a-2) > .03 {
		t.Errorf("seed %d: twice the thin flows are %g times the hazard", seed, b/a)
	}
	if a, b := hazard(2000, 40), hazard(4000, 40); b < a || b > 2*a {
		t.Errorf("seed %d: twice the dense flows: %g to %g", seed, a, b)
	}
}

// splitMost is by how much one wall may raise what is met by eye on one path: it can
// split a meeting in two, when they lose sight of each other for longer than a dead
// time: then at most twice, and so it does in the twin. Walls as a whole lower it.
const splitMost = 2

// A wall between a path and a way beside it: from end to end nobody is met by eye any
// more; a shorter one lowers X but for meetings that it splits.
func TestAWallBetween(t *testing.T) {
	const seed, walls = 50, 60
	r := rand.New(rand.NewPCG(seed, 9))
	between := func(lo, hi float64) float64 { return lo + (hi-lo)*r.Float64() }
	var ratios sum
	for i := range walls {
		x := &osmdata.Extract{}
		addPath(x, plane.Polyline{{X: -100, Y: 0}, {X: 300, Y: 0}})
		offset := between(15, 90)
		addPath(x, plane.Polyline{{X: -600, Y: offset}, {X: 800, Y: offset + between(-10, 60)}})
		w := worldOf(t, "two paths", x)
		q := [exposure.PatternCount][]float32{}
		p := []exposure.Pattern{exposure.DogWalks, exposure.WalkingTrips, exposure.WheelTrips}[i%3]
		q[p] = make([]float32, w.g.EdgeCount())
		path := int32(-1)
		for e := range q[p] {
			if w.g.EdgeLine(int32(e))[0].Y == 0 {
				path = int32(e)
			} else {
				q[p][e] = 40
			}
		}
		lo, hi, need := between(-150, 250), between(10, 300), min(80, offset*between(1, 2))
		hazard := func() float64 {
			return float64(counted(t, w, q).Sums(everything(need), []int32{path}).Hazard(evening, nil, nil)[0])
		}
		wallTo := func(lo, hi float64) {
			w.x.Obstacles = []osmdata.Obstacle{{Kind: osmdata.BuildingWall, Blocks: osmdata.BlocksWay | osmdata.BlocksView,
				Line: plane.Polyline{{X: lo, Y: 8}, {X: hi, Y: 8}}}}
		}
		open := hazard()
		wallTo(lo, lo+hi)
		short := hazard()
		wallTo(-1000, 1000)
		if long := hazard(); long != 0 || short > splitMost*open {
			t.Errorf("seed %d, W %.0f m: %g in the open, %g behind a wall of %.0f m, %g behind one from end to end", seed, need, open, short, hi, long)
		}
		ratios.add(short / open)
	}
	t.Logf("X behind a wall / in the open: %.2f on average", ratios.mean())
	if ratios.mean() > .85 {
		t.Errorf("seed %d: walls leave %.2f of X", seed, ratios.mean())
	}
}

// The fast sums of a whole map are what the model in full adds up for a walk.
func TestFastSumsOfAWalk(t *testing.T) {
	const seed = 49
	w := town(t, 700)
	r := rand.New(rand.NewPCG(seed, 8))
	f := counted(t, w, flowsOf(w, r, 60))
	d := everything(50)
	h := f.Sums(d, nil).Hazard(evening, nil, nil)
	for _, walk := range w.pool(r, &mover{closed: true, meanM: 1500, speedMPS: walkerMPS}, 20) {
		fast := 0.0
		steps := w.steps(walk, walkerMPS)
		for _, st := range steps {
			fast += float64(h[st.Edge]) * st.Seconds
		}
		if slow := f.Along(d, steps, nil).Reactions; math.Abs(fast/slow-1) > .02 {
			t.Errorf("seed %d: %g by fast sums, %g in full", seed, fast, slow)
		}
	}
}
