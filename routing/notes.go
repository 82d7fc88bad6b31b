package routing

import (
	"fmt"
	"slices"

	"wideberth/routing/reach"
)

// repeatedShare is the share of a walk on streets already walked from which on it
// is worth saying, and roadShare that beside a main road.
const (
	repeatedShare = 0.3
	roadShare     = 0.2
)

// wear is what a walk costs in expected reactions and strain, as a wish weighs it.
func (w *Walk) wear(by *Wish) float64 { return w.ExpectedReactions + by.Strain.Weight()*w.Strain }

// timesBest is how many times as much a walk wears as the best does.
func timesBest(w *Wish, walk, best *Walk) float64 {
	if least := best.wear(w); least > 0 {
		return walk.wear(w) / least
	}
	return 1
}

// notes say what else a handler must know of a plan.
func notes(w *Wish, plan *Plan) (out []string) {
	best := &plan.Walks[0]
	say := func(format string, about ...any) { out = append(out, fmt.Sprintf(format, about...)) }
	switch {
	case best.Laps > 1 && w.Shape == Loop:
		say("the ground here allows no loop of this length: it is laps, %d times round", best.Laps)
	case best.Laps > 1:
		say("it is laps, %d times round", best.Laps)
	case w.Shape == Loop && best.Shape == ThereAndBack:
		say("the ground here allows no loop of this length: it is there and back by the same way")
	case w.Shape == Calmest && best.Shape == ThereAndBack:
		say("it is there and back by the same way")
	case best.Shape == Loop && best.RepeatedS > repeatedShare*best.DurationS:
		say("%.0f %% of the walk is on streets already walked", 100*best.RepeatedS/best.DurationS)
	}
	if best.Shape != ThereAndBack && best.Turns > 0 {
		say("it turns round %s on the way", times(best.Turns))
	}
	if best.MainRoadS > roadShare*best.DurationS {
		say("%.0f of %.0f minutes are on or beside a main road", best.MainRoadS/60, best.DurationS/60)
	}
	for _, g := range groundNotes {
		if i := slices.IndexFunc(best.Legs, func(l Leg) bool { return l.Ground&g.sort != 0 }); i >= 0 && w.Shape != Way {
			say(g.note, legName(&best.Legs[i]))
		}
	}
	if i := slices.IndexFunc(best.Legs, func(l Leg) bool { return l.DogRules }); i >= 0 {
		say("dogs may be forbidden or bound on %s: look at the sign", legName(&best.Legs[i]))
	}
	for _, s := range best.Passed {
		if s.FromM < 1 && s.NearestM < s.Need.ReactionM && s.Active > reach.ActiveLimit {
			say("%s is %.0f m from the start: the first leg leads straight away from it", s.Name, s.NearestM)
		}
	}
	return out
}

// groundNotes say of ground that walks keep off why this one is on it.
var groundNotes = []struct {
	sort reach.Ground
	note string
}{
	{reach.FastRoads, "part of it is along the carriageway of a fast road (%s): there is no other walk from here; facing the traffic, in light clothes"},
	{reach.Aisles, "part of it is between parked cars while they come and go (%s): there is no other walk from here"},
	{reach.Private, "part of it is over a private drive or through a building (%s): ask whose it is"},
}

func times(n int) string {
	switch n {
	case 1:
		return "once"
	case 2:
		return "twice"
	}
	return fmt.Sprintf("%d times", n)
}

// legName is the street of a leg, or what it is.
func legName(l *Leg) string {
	if l.Name != "" {
		return l.Name
	}
	return "the " + l.Class
}
