package routing_test

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"wideberth/exposure"
	"wideberth/exposure/strain"
	"wideberth/osmdata/plane"
	"wideberth/routing"
	"wideberth/routing/plantest"
	"wideberth/routing/reach"
	"wideberth/routing/search/loop"
	"wideberth/routing/snapshot/maptest"
)

// townDoors are doors in towns that have a street near.
func townDoors(t testing.TB, p *routing.Planner) []plane.Point {
	return slices.DeleteFunc(maptest.TownDoors(t, p.Frame()), func(at plane.Point) bool {
		_, err := p.Land().Place(at)
		return err != nil
	})
}

// stateDoors draws places on the network of the whole state.
func stateDoors(p *routing.Planner, n int) []plane.Point {
	return maptest.RandomDoors(p.Snapshot(), n, rand.New(rand.NewPCG(2026, 12)))
}

// schoolMorning is a Wednesday in December at a quarter past eight.
func schoolMorning(p *routing.Planner) time.Time {
	return time.Date(2026, 12, 2, 8, 15, 0, 0, p.Zone())
}

// figureDog works from 38 m of dogs and from 25 m of children.
func figureDog() exposure.Dog {
	return exposure.Dog{Name: "Kessa", SpeedMPS: 1.2, ByCategory: map[exposure.Category]exposure.Need{exposure.Dogs: {WorkingM: 38, ReactionM: 15}},
		ByKind: map[exposure.Kind]exposure.Need{exposure.Child: {WorkingM: 25, ReactionM: 10}}}
}

func figureWish(p *routing.Planner, at plane.Point) routing.Wish {
	return routing.Wish{Shape: routing.Calmest, From: at, Minutes: 30, Dog: figureDog(), Depart: schoolMorning(p)}
}

// loudDB is a level at which talking on the pavement is an effort.
const loudDB = 70

// loudness is how much of a walk lies on loud edges, and of that how much on or
// beside main roads.
type loudness struct{ metres, loud, own float64 }

func (l *loudness) add(b loudness) {
	l.metres, l.loud, l.own = l.metres+b.metres, l.loud+b.loud, l.own+b.own
}

func (l loudness) share() float64    { return l.loud / max(l.metres, 1e-9) }
func (l loudness) ownShare() float64 { return l.own / max(l.metres, 1e-9) }

func loudnessOf(p *routing.Planner, w *routing.Walk) (l loudness) {
	f := p.Snapshot().Field
	for i := range w.Legs {
		for _, e := range w.Legs[i].Edges {
			l.metres += e.LengthM
			if f.LevelDB[e.Edge] >= loudDB {
				l.loud += e.LengthM
				l.own += e.LengthM * f.Roadside.MainShare(e.Edge)
			}
		}
	}
	return l
}

// question is a wish made ready for the search by hand, for answers that the planner
// does not give.
type question struct {
	r       *reach.Reach
	c       *reach.Prices
	problem loop.Problem
}

func ask(t testing.TB, p *routing.Planner, w routing.Wish, taste reach.Taste) *question {
	t.Helper()
	start, err := p.Land().Place(w.From)
	if err != nil {
		t.Fatal(err)
	}
	minS, maxS := w.Minutes*60*(1-routing.DefaultShorter), w.Minutes*60*(1+routing.DefaultLonger)
	r, err := p.Land().Around(start, nil, maxS*w.Dog.PaceMPS())
	if err != nil {
		t.Fatal(err)
	}
	c := r.PriceFor(taste, r.SumsFor(&w.Dog), &w.Dog, w.Depart, nil, maxS)
	barred, _ := r.Bars(&w.Limits, w.Asker(), c)
	return &question{r, c, loop.Problem{Graph: &r.Star, Door: r.Door, TimeS: c.TimeS, Cost: c.Cost, ChangeS: c.ChangeS, MinS: minS, MaxS: maxS, Barred: barred}}
}

// quietest is the walk of fewest loud metres that is found, whatever it brings.
func quietest(t testing.TB, p *routing.Planner, s *loop.Solver, w routing.Wish) (routing.Walk, bool) {
	t.Helper()
	q := ask(t, p, w, reach.Taste{Strain: strain.None})
	cost, free := make([]float32, len(q.r.Piece)), 0.0
	for a := range cost {
		if c := &q.r.Piece[a]; p.Snapshot().Field.LevelDB[c.Edge] >= loudDB {
			cost[a] = c.LengthM
		}
		cost[a] += 1e-3 * q.r.Piece[a].LengthM // of equally quiet ones the shorter
	}
	q.problem.Cost, q.problem.ChangeS, q.problem.Repeat, q.problem.Turn = [][]float32{cost}, nil, &free, make([]float32, q.r.Star.VertexCount())
	a, err := s.Calmest(q.problem)
	if err != nil {
		t.Fatal(err)
	}
	if a.Status != loop.Found {
		return routing.Walk{}, false
	}
	return p.Build(&w, q.r, q.c, a.Walk.Arcs), true
}

// plansOf answers a wish, false where there is no walk.
func plansOf(t testing.TB, p *routing.Planner, w routing.Wish) (*routing.Plan, bool) {
	t.Helper()
	plan, err := p.Plan(context.Background(), w)
	var none *reach.Infeasible
	if errors.As(err, &none) {
		return nil, false
	}
	if err != nil {
		t.Fatal(err)
	}
	return plan, true
}

func wear(w *routing.Walk) float64 { return w.ExpectedReactions + w.Strain }

// fastCarriageway is the length of a walk on the carriageway of a road of 70 km/h or
// more.
func fastCarriageway(p *routing.Planner, w *routing.Walk) (m float64) {
	for i := range w.Legs {
		for _, e := range w.Legs[i].Edges {
			if isFast(p, e.Edge) {
				m += e.LengthM
			}
		}
	}
	return m
}

func isFast(p *routing.Planner, e int32) bool {
	return slices.ContainsFunc(p.Snapshot().Field.Roadside.Of(e), func(s strain.Stretch) bool {
		return s.Pavement == strain.Carriageway && s.SpeedKMH >= 70
	})
}

// avoidable says whether there is a walk without fast carriageways.
func avoidable(t testing.TB, p *routing.Planner, s *loop.Solver, w routing.Wish) bool {
	t.Helper()
	q := ask(t, p, w, reach.Taste{})
	barred := slices.Clone(q.problem.Barred)
	if barred == nil {
		barred = make([]bool, len(q.r.Piece))
	}
	for a := range barred {
		barred[a] = barred[a] || isFast(p, q.r.Piece[a].Edge)
	}
	free := 0.0
	q.problem.Barred, q.problem.Repeat, q.problem.Turn = barred, &free, make([]float32, q.r.Star.VertexCount())
	a, err := s.Solve(q.problem)
	if err != nil {
		t.Fatal(err)
	}
	return a.Status == loop.Found
}

// TestFiguresGround measures on what ground the calmest walks lie: beside what
// traffic, against the walk that counts expected reactions alone, against loops as
// they were planned before traffic had a price, and against loops by length alone.
func TestFiguresGround(t *testing.T) {
	maptest.Figures(t)
	p := plantest.On(t, maptest.Delaware(t))
	for _, c := range []struct {
		name  string
		doors []plane.Point
		floor bool
	}{{"town doors", townDoors(t, p), true}, {"doors of the whole state", stateDoors(p, 200), true}} {
		t.Run(c.name, func(t *testing.T) { groundFigures(t, p, c.name, c.doors) })
	}
}

func groundFigures(t *testing.T, p *routing.Planner, name string, doors []plane.Point) {
	s := loop.NewSolver()
	var usual, unpriced, floor, loopBefore loudness
	var toUnpriced, toLoop, toLength, soft, mainRoad, worst []float64
	none, lost, fast, over := 0, 0, 0, 0
	for i, at := range doors {
		w := figureWish(p, at)
		before := w
		before.Shape, before.Strain, before.Limits.AnyGround = routing.Loop, strain.None, true
		old, had := plansOf(t, p, before)
		plan, ok := plansOf(t, p, w)
		if !ok {
			none++
			if had {
				lost++
				fmt.Printf("    door %d has an answer no more\n", i)
			}
			continue
		}
		walk := &plan.Walks[0]
		l := loudnessOf(p, walk)
		usual.add(l)
		soft, mainRoad = append(soft, walk.SoftGroundS/walk.DurationS), append(mainRoad, walk.MainRoadS/walk.DurationS)
		bare := w
		bare.Strain = strain.None
		if b, ok := plansOf(t, p, bare); ok {
			unpriced.add(loudnessOf(p, &b.Walks[0]))
			toUnpriced = append(toUnpriced, walk.ExpectedReactions/max(b.Walks[0].ExpectedReactions, 1e-9))
		}
		if had {
			loopBefore.add(loudnessOf(p, &old.Walks[0]))
			toLoop = append(toLoop, wear(walk)/max(wear(&old.Walks[0]), 1e-9))
			if x := byLength(t, p, s, before); x != nil {
				toLength = append(toLength, wear(walk)/max(wear(x), 1e-9))
			}
		}
		if q, ok := quietest(t, p, s, w); ok {
			fl := loudnessOf(p, &q)
			floor.add(fl)
			worst = append(worst, l.ownShare()-fl.ownShare())
			if l.ownShare() > fl.ownShare()+.1 {
				over++
				fmt.Printf("    door %d: own %.0f %% of it, the floor %.0f %%\n", i, 100*l.ownShare(), 100*fl.ownShare())
			}
		}
		if m := fastCarriageway(p, walk); m > 1 && avoidable(t, p, s, w) {
			fast++
			fmt.Printf("    door %d: %.0f m on fast carriageways that another walk avoids\n", i, m)
		}
	}
	pct := func(l loudness) string { return fmt.Sprintf("%.1f %% (own %.1f %%)", 100*l.share(), 100*l.ownShare()) }
	fmt.Printf("  %s: %d, %d without an answer (%d had one)\n", name, len(doors), none, lost)
	fmt.Printf("  metres at %d dB(A) or more: calmest %s, unpriced %s, loop before %s, fewest found %s\n", loudDB, pct(usual), pct(unpriced), pct(loopBefore), pct(floor))
	fmt.Printf("  own share over its floor: worst %.0f points, %d doors by more than 10; fast carriageways though avoidable at %d\n", 100*maptest.Quantile(worst, 1), over, fast)
	fmt.Printf("  X to unpriced: median %.2f p90 %.2f; sum to the loop before: median %.2f p10 %.2f; to a loop by length alone: median %.2f\n",
		maptest.Quantile(toUnpriced, .5), maptest.Quantile(toUnpriced, .9), maptest.Quantile(toLoop, .5), maptest.Quantile(toLoop, .1), maptest.Quantile(toLength, .5))
	fmt.Printf("  share of minutes beside main roads: mean %.2f; on soft ground: mean %.2f\n", mean(mainRoad), mean(soft))
}

func mean(x []float64) float64 {
	s := 0.0
	for _, v := range x {
		s += v
	}
	return s / max(1, float64(len(x)))
}

// byLength is the loop that a search for length alone finds, told for the dog.
func byLength(t testing.TB, p *routing.Planner, s *loop.Solver, w routing.Wish) *routing.Walk {
	t.Helper()
	q := ask(t, p, w, reach.Taste{Strain: strain.None})
	q.problem.Cost, q.problem.ChangeS = [][]float32{q.problem.TimeS}, nil
	a, err := s.Solve(q.problem)
	if err != nil {
		t.Fatal(err)
	}
	if a.Status != loop.Found {
		return nil
	}
	walk := p.Build(&w, q.r, q.c, a.Walk.Arcs)
	return &walk
}

// selfCheck holds the default answer against stricter wishes at doors of the whole
// state.
func selfCheck(t *testing.T, p *routing.Planner) {
	doors, lost, worst := 0, 0, 0.0
	turns, shapes := map[int]int{}, map[string]int{}
	others := map[routing.Shape][]float64{}
	for i, at := range stateDoors(p, 200) {
		w := figureWish(p, at)
		w.Walks = 1
		plan, ok := plansOf(t, p, w)
		if !ok {
			continue
		}
		doors++
		best := &plan.Walks[0]
		turns[best.Turns]++
		shapes[string(best.Shape)]++
		for _, shape := range []routing.Shape{routing.Loop, routing.ThereAndBack} {
			alone := w
			alone.Shape = shape
			if plan, ok := plansOf(t, p, alone); ok && onOpenGround(t, p, w, &plan.Walks[0]) {
				ratio := judged(t, p, w, &plan.Walks[0]) / best.Quality.Sum
				others[shape] = append(others[shape], ratio)
				if ratio < 1-1e-3 {
					fmt.Printf("    door %d: %s alone has %.4f of the sum, %d laps\n", i, shape, ratio, plan.Walks[0].Laps)
				}
			}
		}
		if by, limit := beaten(t, p, w, best.Quality.Sum); by > 0 {
			lost++
			worst = max(worst, by)
			fmt.Printf("    door %d: %.2f %% less with the limit %s\n", i, 100*by, limit)
		}
	}
	fmt.Printf("  stricter wishes beat the looser at %d of %d doors, by %.2f %% at most; turns %v, shapes %v\n",
		lost, doors, 100*worst, turns, shapes)
	for shape, ratios := range others {
		fmt.Printf("  %s alone (laps where there is none), by the sum of the calmest walk: median %.2f of it, least %.4f\n",
			shape, maptest.Quantile(ratios, .5), maptest.Quantile(ratios, 0))
	}
}
