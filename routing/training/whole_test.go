package training_test

import (
	"cmp"
	"math"
	"slices"
	"testing"

	"wideberth/exposure"
	"wideberth/routing"
	"wideberth/routing/plantest"
	"wideberth/routing/training"
)

// TestWholeIsWayStayAndWay: a visit as one walk is its way in, its stay and its way
// home: every sum is theirs, times never run back and skip the stay, and nothing of
// either way is lost.
func TestWholeIsWayStayAndWay(t *testing.T) {
	p := plantest.Town(t)
	w := visitsWish(p)
	w.Dog.ByCategory[exposure.Traffic] = exposure.Need{WorkingM: 18, ReactionM: 7}
	seq := mustVisits(t, p, w)
	if len(seq.Visits) == 0 {
		t.Fatal("no visit")
	}
	for i := range seq.Visits {
		v := &seq.Visits[i]
		whole, in, home := v.Whole(), &v.In, &v.Home
		near := func(what string, got, want float64) {
			t.Helper()
			if math.Abs(got-want) > 1e-9*max(1, math.Abs(want)) {
				t.Errorf("visit %d: %s is %g, want %g", i, what, got, want)
			}
		}
		near("duration", whole.DurationS, in.DurationS+2*v.OverS+v.StayS+home.DurationS)
		near("length", whole.LengthM, in.LengthM+home.LengthM)
		near("strain", whole.Strain, in.Strain+home.Strain)
		near("time on main roads", whole.MainRoadS, in.MainRoadS+home.MainRoadS)
		near("time on soft ground", whole.SoftGroundS, in.SoftGroundS+home.SoftGroundS)
		near("time on streets walked before", whole.RepeatedS, in.RepeatedS+home.RepeatedS)
		near("ground", whole.Course.LengthM(), in.Course.LengthM()+home.Course.LengthM())
		near("expected reactions", whole.ExpectedReactions, v.X)
		near("default room", whole.DefaultRoomShare*whole.LengthM, in.DefaultRoomShare*in.LengthM+home.DefaultRoomShare*home.LengthM)
		near("expected reactions of ways and stay", v.X, in.ExpectedReactions+home.ExpectedReactions+v.AsideX+v.WatchX+v.OtherX)
		near("turns", float64(whole.Turns), float64(in.Turns+home.Turns))
		if len(whole.Legs) != len(in.Legs)+len(home.Legs) {
			t.Errorf("visit %d: %d legs of %d and %d", i, len(whole.Legs), len(in.Legs), len(home.Legs))
		}
		for j := range whole.Legs {
			l := &whole.Legs[j]
			after := 0.0
			if j > 0 {
				before := &whole.Legs[j-1]
				after = before.StartS + before.DurationS
			}
			if j == len(in.Legs) {
				after += v.StayS + 2*v.OverS
			}
			if math.Abs(l.StartS-after) > 1e-3 {
				t.Errorf("visit %d: leg %d begins at %.1f s, want %.1f s", i, j, l.StartS, after)
			}
		}
		stand := slices.IndexFunc(whole.Watch, func(q routing.WatchPoint) bool { return q.What == training.StandPoint })
		if stand < 0 || whole.Watch[stand].At != v.At || len(whole.Watch) > routing.MostWatch+1 ||
			!slices.IsSortedFunc(whole.Watch, func(a, b routing.WatchPoint) int { return cmp.Compare(a.FromM, b.FromM) }) {
			t.Errorf("visit %d: the stand is watch point %d of %d", i, stand, len(whole.Watch))
		}
		for _, k := range slices.Concat(in.Kinds, home.Kinds) {
			both := func(f func(*routing.KindOutlook) float64, list ...[]routing.KindOutlook) (sum float64) {
				for _, l := range list {
					for n := range l {
						if l[n].Kind == k.Kind {
							sum += f(&l[n])
						}
					}
				}
				return sum
			}
			for name, f := range map[string]func(*routing.KindOutlook) float64{
				"meetings":  func(o *routing.KindOutlook) float64 { return o.Expected },
				"inside":    func(o *routing.KindOutlook) float64 { return o.Inside },
				"seconds":   func(o *routing.KindOutlook) float64 { return o.InsideS },
				"reactions": func(o *routing.KindOutlook) float64 { return o.Reactions },
			} {
				near(k.Kind.String()+" "+name, both(f, whole.Kinds), both(f, in.Kinds, home.Kinds))
			}
		}
		if in.CalmChance*home.CalmChance < whole.CalmChance-1e-12 || whole.CalmLow > whole.CalmChance || whole.CalmChance > whole.CalmHigh {
			t.Errorf("visit %d: calm %g (%g to %g) of %g and %g", i, whole.CalmChance, whole.CalmLow, whole.CalmHigh, in.CalmChance, home.CalmChance)
		}
	}
}
