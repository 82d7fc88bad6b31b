package routing_test

import (
	"context"
	"math"
	"slices"
	"testing"

	"wideberth/exposure/strain"
	"wideberth/routing"
	"wideberth/routing/plantest"
	"wideberth/routing/reach"
	"wideberth/routing/snapshot/maptest"
)

// calmestRepeat is the price of a second pass as a share of the median hazard in
// reach, as the planner has it.
const calmestRepeat = 0.25

// judged is the sum of a walk as the calmest walk of a wish is judged: expected
// reactions as the search prices them (leg by leg, by stretches of the clock, which
// the walk's own account goes through minute by minute), strain as told, the price of
// every turn where it is, and ground walked twice.
func judged(t testing.TB, p *routing.Planner, w routing.Wish, walk *routing.Walk) float64 {
	t.Helper()
	q := ask(t, p, w, reach.Taste{})
	arcs, err := q.r.Along(walk.Course)
	if err != nil {
		t.Fatal(err)
	}
	sum := walk.Strain + calmestRepeat*q.r.MedianHazard(q.c, q.problem.MinS/2)*walk.RepeatedS
	for _, l := range walk.Legs {
		sum += l.Reactions
	}
	turns, price := 0, q.r.TurnPrices()
	for i := 1; i < len(arcs); i++ {
		if q.r.Star.Twin[arcs[i]] == arcs[i-1] {
			sum += float64(price[q.r.Star.Head[arcs[i-1]]]) + float64(turns)*reach.TurnMore
			turns++
		}
	}
	if turns != walk.Turns {
		t.Errorf("%d turns are told, there are %d", walk.Turns, turns)
	}
	return sum
}

// TestTheSumIsWhatIsTold: the figure that the search made small is expected
// reactions, strain, turning and ground walked twice, each as the account of the
// walk has it, and no loop and no way there and back has a smaller one.
func TestTheSumIsWhatIsTold(t *testing.T) {
	if testing.Short() {
		t.Skip("a long search; shorter tests go the same way")
	}
	p := plantest.Town(t)
	shapes := map[routing.Shape]int{}
	turned, proved := 0, 0
	for i, at := range stateDoors(p, 30) {
		w := figureWish(p, at)
		plan, ok := plansOf(t, p, w)
		if !ok {
			continue
		}
		best := &plan.Walks[0]
		shapes[best.Shape]++
		turned += best.Turns
		if told := judged(t, p, w, best); math.Abs(best.Quality.Sum-told) > 1e-4*told {
			t.Errorf("door %d: the sum is %.5f, told %.5f", i, best.Quality.Sum, told)
		}
		legs := 0.0
		for _, l := range best.Legs {
			legs += l.Strain
		}
		if math.Abs(legs-best.Strain) > 1e-6+1e-4*best.Strain {
			t.Errorf("door %d: the strain of the legs is %g, of the walk %g", i, legs, best.Strain)
		}
		if i < 8 {
			plan, err := p.Proved(t.Context(), w, plan)
			if err != nil {
				t.Fatal(err)
			}
			best = &plan.Walks[0]
		}
		if best.Quality.Proved {
			proved++
			if c := best.Quality.Covers; c.Shape != routing.Calmest || c.StrainWeight != 1 || c.MaxS <= c.MinS {
				t.Errorf("door %d: the proof covers %+v", i, c)
			}
		}
		for _, shape := range []routing.Shape{routing.Loop, routing.ThereAndBack} {
			alone := w
			alone.Shape = shape
			other, ok := plansOf(t, p, alone)
			if !ok {
				continue
			}
			if x := judged(t, p, w, &other.Walks[0]); x < best.Quality.Sum*0.999 {
				t.Errorf("door %d: %s has %.5f, the calmest %.5f", i, shape, x, best.Quality.Sum)
			}
		}
	}
	if len(shapes) < 2 || turned == 0 || proved == 0 {
		t.Errorf("shapes %v, %d turns, %d proved: the doors show too little", shapes, turned, proved)
	}
}

// stricter are the wishes that the self-check holds a wish against: what they find
// satisfies it as well.
var stricter = map[string]reach.Limits{
	"off roads": {OffRoads: true}, "70 dB": {MaxLevelDB: 70}, "65 dB": {MaxLevelDB: 65},
	"paved": {PavedOnly: true}, "600 m": {WithinM: 600}, "800 m": {WithinM: 800},
}

// beaten is by how much the best of the stricter wishes has a smaller sum than the
// wish itself, as a share; 0 for not at all. Where a stricter wish has no walk on the
// ground that all keep to, other ground is opened for it, and what it finds there is
// no walk of the looser one.
func beaten(t testing.TB, p *routing.Planner, w routing.Wish, sum float64) (by float64, limit string) {
	t.Helper()
	for name, l := range stricter {
		strict := w
		strict.Limits, strict.Walks = l, 1
		if plan, ok := plansOf(t, p, strict); ok && onOpenGround(t, p, w, &plan.Walks[0]) {
			if gain := 1 - plan.Walks[0].Quality.Sum/sum; gain > max(by, 1e-6) {
				by, limit = gain, name
			}
		}
	}
	return by, limit
}

// onOpenGround says whether a walk is one that a wish allows on the ground that walks
// keep to.
func onOpenGround(t testing.TB, p *routing.Planner, w routing.Wish, walk *routing.Walk) bool {
	t.Helper()
	q := ask(t, p, w, reach.Taste{})
	arcs, err := q.r.Along(walk.Course)
	if err != nil {
		t.Fatal(err)
	}
	barred, _, _ := q.r.BarsAnd(reach.Private|reach.Aisles|reach.FastRoads, &w.Limits, w.Asker(), q.c)
	return barred == nil || !slices.ContainsFunc(arcs, func(a int32) bool { return barred[a] })
}

// TestNoStricterWishBeatsALooserOne: what a limit leaves is a part of what there is,
// and the price of ground walked twice does not move with it.
func TestNoStricterWishBeatsALooserOne(t *testing.T) {
	if testing.Short() {
		t.Skip("a long search; shorter tests go the same way")
	}
	p := plantest.Town(t)
	asked, lost := 0, 0
	for i, at := range stateDoors(p, 40) {
		w := figureWish(p, at)
		w.Walks = 1
		plan, ok := plansOf(t, p, w)
		if !ok {
			continue
		}
		asked++
		if by, limit := beaten(t, p, w, plan.Walks[0].Quality.Sum); by > 0 {
			lost++
			if by > 0.02 {
				t.Errorf("door %d: %.1f %% less with the limit %s", i, 100*by, limit)
			}
		}
	}
	if asked < 30 || lost > asked/50 {
		t.Errorf("beaten at %d of %d doors", lost, asked)
	}
}

// TestSettingsOfStrain: without strain expected reactions alone count, and the more
// it counts the less there is of it.
func TestSettingsOfStrain(t *testing.T) {
	if testing.Short() {
		t.Skip("a long search; shorter tests go the same way")
	}
	p := plantest.Town(t)
	less, moved := 0, 0
	for i, at := range stateDoors(p, 20) {
		w := figureWish(p, at)
		w.Walks = 1
		var walks []routing.Walk
		for _, w.Strain = range []strain.Setting{strain.None, strain.Usual} {
			if plan, ok := plansOf(t, p, w); ok {
				walks = append(walks, plan.Walks[0])
			}
		}
		if len(walks) < 2 {
			continue
		}
		none, usual := &walks[0], &walks[1]
		// Each is the best by its own sum, up to the search's width.
		if none.Quality.Sum > usual.Quality.Sum*1.001 {
			t.Errorf("door %d: %.4f without strain, %.4f with it", i, none.Quality.Sum, usual.Quality.Sum)
		}
		if usual.Strain < none.Strain {
			less++
		}
		if usual.Strain != none.Strain {
			moved++
		}
	}
	if moved == 0 || less < moved*9/10 {
		t.Errorf("strain falls at %d of %d doors where it moves", less, moved)
	}
	w := figureWish(p, stateDoors(p, 1)[0])
	w.Strain = "lots"
	if _, err := p.Plan(context.Background(), w); err == nil {
		t.Error("a word that is no setting passes")
	}
}

// TestSoftGroundIsPreferredOnWish: there is no less of it where it is wished, at most
// doors.
func TestSoftGroundIsPreferredOnWish(t *testing.T) {
	if testing.Short() {
		t.Skip("a long search; shorter tests go the same way")
	}
	p := plantest.Town(t)
	more, less := 0, 0
	for _, at := range stateDoors(p, 20) {
		w := figureWish(p, at)
		w.Walks = 1
		hard, ok := plansOf(t, p, w)
		w.Soft = true
		soft, ok2 := plansOf(t, p, w)
		if !ok || !ok2 {
			continue
		}
		a, b := hard.Walks[0].SoftGroundS/hard.Walks[0].DurationS, soft.Walks[0].SoftGroundS/soft.Walks[0].DurationS
		switch {
		case b > a+0.01:
			more++
		case b < a-0.01:
			less++
		}
		if !soft.Walks[0].Quality.Covers.Soft && soft.Walks[0].Quality.Proved {
			t.Error("the proof does not say that hard ground counts")
		}
	}
	if more == 0 || less > more/2 {
		t.Errorf("more soft ground at %d doors, less at %d", more, less)
	}
}

// TestThereAndBackIsSaid: on a street that is the only way a walk goes out and home
// on it, and the plan says so.
func TestThereAndBackIsSaid(t *testing.T) {
	if testing.Short() {
		t.Skip("a long search; shorter tests go the same way")
	}
	p := plantest.Town(t)
	said := 0
	for _, at := range stateDoors(p, 60) {
		w := figureWish(p, at)
		w.Walks = 1
		plan, ok := plansOf(t, p, w)
		if !ok {
			continue
		}
		best := &plan.Walks[0]
		back := slices.ContainsFunc(plan.Notes, func(n routing.Note) bool { return n.What == routing.NoteOutHome })
		if back != (best.Shape == routing.ThereAndBack && best.Laps == 1) {
			t.Errorf("%s, notes %v", best.Shape, plan.Notes)
		}
		if back {
			said++
			if math.Abs(best.TailS-best.DurationS/2) > 0.2*best.DurationS {
				t.Errorf("out for %.0f s of %.0f there and back", best.TailS, best.DurationS)
			}
		}
	}
	if said == 0 {
		t.Error("no door has a walk there and back")
	}
}

// TestFiguresSelfCheck counts at how many doors a stricter wish has a smaller sum,
// and how often walks turn about.
func TestFiguresSelfCheck(t *testing.T) {
	maptest.Figures(t)
	selfCheck(t, plantest.On(t, maptest.Delaware(t)))
}
