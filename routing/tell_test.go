package routing_test

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"reflect"
	"testing"

	"wideberth/osmdata/fault"
	"wideberth/osmdata/plane"
	"wideberth/routing"
	"wideberth/routing/plantest"
	"wideberth/routing/reach"
	"wideberth/routing/snapshot/maptest"
)

func given(p *routing.Plan) (out []routing.Given) {
	for i := range p.Walks {
		out = append(out, p.Walks[i].Given())
	}
	return out
}

// written is what a walk is after it was written down and read back.
func written(t *testing.T, land *reach.Land, list []routing.Given) []routing.Given {
	t.Helper()
	for i := range list {
		c, err := land.UnmarshalCourse(land.MarshalCourse(list[i].Course))
		if err != nil {
			t.Fatal(err)
		}
		list[i].Course = c
	}
	return list
}

// TestToldIsPlanned: a walk of any shape that is told from its ground is the walk
// that was planned, to the last digit but for what a place in centimetres rounds,
// and nothing is searched for it.
func TestToldIsPlanned(t *testing.T) {
	if testing.Short() {
		t.Skip("runs without the race detector, under which it is long")
	}
	p := plantest.Town(t)
	rng := rand.New(rand.NewPCG(17, 0))
	seen := map[routing.Shape]int{}
	doors := maptest.RandomDoors(p.Snapshot(), 24, rng)
	for i, from := range doors {
		w := routing.Wish{From: from, Dog: maptest.Kessa(), Depart: maptest.Morning, Minutes: 20 + float64(i), Shape: []routing.Shape{routing.Loop, routing.ThereAndBack, routing.Way, routing.LongestCalm}[i%4]}
		switch w.Shape {
		case routing.Way:
			w.To, w.Minutes = &doors[(i+1)%len(doors)], 0
		case routing.LongestCalm:
			w.MaxX, w.Minutes = 2, 30
		}
		plan, err := p.Plan(context.Background(), w)
		if err != nil {
			continue
		}
		before := p.Land().Searches()
		told, err := p.Tell(context.Background(), w, given(plan))
		if err != nil {
			t.Fatalf("%s: %v", w.Shape, err)
		}
		if !reflect.DeepEqual(told, plan) {
			t.Errorf("%s from %v: told otherwise than planned", w.Shape, from)
		}
		again, err := p.Tell(context.Background(), w, written(t, p.Land(), given(plan)))
		if err != nil {
			t.Fatalf("%s, written down: %v", w.Shape, err)
		}
		for k := range plan.Walks {
			if a, b := again.Walks[k].ExpectedReactions, plan.Walks[k].ExpectedReactions; a < b-1e-4 || a > b+1e-4 {
				t.Errorf("%s, written down: %v reactions for %v", w.Shape, a, b)
			}
			seen[plan.Walks[k].Shape]++
		}
		if got := p.Land().Searches(); got != before {
			t.Errorf("%d searches for walks that were known", got-before)
		}
	}
	for _, s := range []routing.Shape{routing.Loop, routing.ThereAndBack, routing.Way, routing.LongestCalm} {
		if seen[s] == 0 {
			t.Errorf("no %s was told", s)
		}
	}
}

// TestProofOfAGivenLoop: the longer proof of the loop that was given says of it what
// the proof with a search of its own says.
func TestProofOfAGivenLoop(t *testing.T) {
	p := plantest.Town(t)
	w := routing.Wish{Shape: routing.Loop, From: maptest.Door(p.Frame()), Minutes: 30, Dog: maptest.Kessa(), Depart: maptest.Morning}
	plan, err := p.Plan(context.Background(), w)
	if err != nil {
		t.Fatal(err)
	}
	before := p.Land().Searches()
	proved, err := p.ProveGiven(context.Background(), w, given(plan))
	if err != nil {
		t.Fatal(err)
	}
	if p.Land().Searches() != before {
		t.Error("the proof searched for a walk")
	}
	best, q := &proved.Walks[0], proved.Walks[0].Quality
	if q.Checking || !q.Proved && q.WithinPct < 0 || best.ExpectedReactions > plan.Walks[0].ExpectedReactions+1e-9 {
		t.Errorf("proved %+v, %.5f reactions for %.5f", q, best.ExpectedReactions, plan.Walks[0].ExpectedReactions)
	}
	if len(proved.Walks) != len(plan.Walks) {
		t.Errorf("%d walks after the proof, %d before", len(proved.Walks), len(plan.Walks))
	}
	if q := plan.Walks[0].Quality; q.Proved || q.WithinPct >= 0 || !q.Checking {
		t.Errorf("before the proof %+v", q)
	}
	again, err := p.Proved(context.Background(), w, plan)
	if err != nil || again.Walks[0].Quality != q {
		t.Errorf("the plan proved has %+v (%v), its walks given %+v", again.Walks[0].Quality, err, q)
	}
	w.Shape = routing.ThereAndBack
	back, err := p.Plan(context.Background(), w)
	if err != nil {
		t.Fatal(err)
	}
	if same, err := p.Proved(context.Background(), w, back); err != nil || same != back || back.Walks[0].Quality.LowerX <= 0 {
		t.Errorf("a way there and back is proved at once, has %+v (%v)", back.Walks[0].Quality, err)
	}
}

// TestToldElsewhere: a walk that does not begin at the door, leaps or names edges
// that are not there is refused by the walk's number.
func TestToldElsewhere(t *testing.T) {
	p := plantest.Town(t)
	w := routing.Wish{Shape: routing.Loop, From: maptest.Door(p.Frame()), Minutes: 20, Dog: maptest.Kessa(), Depart: maptest.Morning}
	plan, err := p.Plan(context.Background(), w)
	if err != nil {
		t.Fatal(err)
	}
	for name, spoil := range map[string]func(g *routing.Given){
		"leaps":            func(g *routing.Given) { g.Course = append(g.Course[:1:1], g.Course[2:]...) },
		"begins elsewhere": func(g *routing.Given) { g.Course = g.Course[1:] },
		"other direction":  func(g *routing.Given) { g.Course[0].FromM, g.Course[0].ToM = g.Course[0].ToM, g.Course[0].FromM },
	} {
		g := given(plan)
		g[0].Course = append(reach.Course(nil), g[0].Course...)
		spoil(&g[0])
		_, err := p.Tell(context.Background(), w, g)
		var wrong fault.Problems
		if !errors.As(err, &wrong) || wrong[0].Pointer != "/walks/0" {
			t.Errorf("%s: %v", name, err)
		}
	}
	if _, err := p.Tell(context.Background(), w, nil); err == nil {
		t.Error("told no walk")
	}
}

// TestMatchedElsewhere: a walk planned on one map is found again on another on which
// every street was drawn anew a few metres off, and on one with another numbering;
// where a street of it is gone, it is told so.
func TestMatchedElsewhere(t *testing.T) {
	p := plantest.Town(t)
	rng := rand.New(rand.NewPCG(23, 0))
	matched := 0
	for i, from := range maptest.RandomDoors(p.Snapshot(), 12, rng) {
		w := routing.Wish{From: from, Dog: maptest.Kessa(), Depart: maptest.Morning, Minutes: 25, Shape: []routing.Shape{routing.Loop, routing.ThereAndBack}[i%2], Walks: 1}
		plan, err := p.Plan(context.Background(), w)
		if err != nil {
			continue
		}
		walk := &plan.Walks[0]
		line := append(plane.Polyline(nil), walk.Line...)
		for k := range line { // drawn anew: up to 3 m off, smoothly
			line[k] = line[k].Add(plane.Point{X: 2 * math.Sin(line[k].Y/90), Y: 2 * math.Cos(line[k].X/70)})
		}
		again, err := p.Match(context.Background(), w, []plane.Polyline{line})
		if err != nil {
			t.Errorf("%s of %.0f m from %v: %v", w.Shape, walk.LengthM, from, err)
			continue
		}
		if a, b := again[0].Course.LengthM(), walk.LengthM; math.Abs(a-b) > 0.01*b+5 {
			t.Errorf("%.0f m found again of %.0f m", a, b)
		}
		if _, err := p.Tell(context.Background(), w, again); err != nil {
			t.Error(err)
		}
		matched++
		far := append(plane.Polyline(nil), walk.Line...)
		for k := range far[:len(far)/2] {
			far[k] = far[k].Add(plane.Point{X: 40, Y: 40})
		}
		if _, err := p.Match(context.Background(), w, []plane.Polyline{far}); err == nil {
			t.Errorf("found a walk again whose half lies 57 m off")
		}
	}
	if matched < 8 {
		t.Errorf("%d of 12 matched", matched)
	}
}
