package learning

import (
	"fmt"
	"math"

	"wideberth/exposure"
	"wideberth/osmdata/fault"
)

// Answers are what a person says of a dog and one kind or category before any
// walk. Nil is "don't know", a valid answer. The order is that of a trigger coming
// closer: each distance is at most the one before.
type Answers struct {
	NoticesM     *float64 // from how far the dog notices
	TakesFoodM   *float64 // from how far it still takes food and turns back
	StopsEatingM *float64 // at how far it stops eating
	ReactsM      *float64 // at how far it barks, lunges or freezes
	Unit         string   // of the four distances, "m" or "ft"; "" is metres
}

// Prior is what answers come to: distances, how unsure they are as the standard
// deviation of their natural log, and whether anything was known.
type Prior struct {
	exposure.Need
	LogSD float64
	Known bool
}

// footM is the international foot in metres, exact since 1959.
const footM = 0.3048

// refusalReach is the distance at which half of the dogs that are met have
// refused food or gone over, as a multiple of the reaction distance: with the
// factor f on the odds for refusing food (Settings.RefusalOdds) and
// b = ln 9 / ln(W/R), it is f^(1/b).
var refusalReach = math.Pow(defaultSettings().RefusalOdds, math.Log(workingToReaction)/math.Log(9))

// leastRatio of a derived working distance to the reaction distance: nearer
// together the curve would be a cliff. Our assumption.
const leastRatio = 1.1

// Prior derives the distances from the answers:
//
//   - W is where food is still taken; else twice R; R is where the dog reacts;
//     else half of W.
//   - Where it stops eating lies between the two: alone it stands for
//     refusalReach times R.
//   - Noticing alone only bounds W from above.
//   - Nothing known: defaultWorkingM, wide.
//
// Our assumptions but for the first. Faults are fault.Problems under pointer.
func (a Answers) Prior(pointer string) (Prior, error) {
	m, err := a.metres(pointer)
	if err != nil {
		return Prior{}, err
	}
	notices, food, stops, reacts := m[0], m[1], m[2], m[3]
	p := Prior{LogSD: DefaultIntakeLogSD, Known: true}
	switch {
	case food > 0 && reacts > 0:
		p.WorkingM, p.ReactionM = food, reacts
	case food > 0 && stops > 0:
		p.WorkingM, p.ReactionM = food, min(stops/refusalReach, food/leastRatio)
	case food > 0:
		p.WorkingM, p.ReactionM = food, food/workingToReaction
	case reacts > 0:
		p.WorkingM, p.ReactionM = max(reacts*workingToReaction, stops), reacts
		p.boundBy(notices)
	case stops > 0:
		p.ReactionM = stops / refusalReach
		p.WorkingM = p.ReactionM * workingToReaction
		p.boundBy(notices)
	default:
		p.Known, p.LogSD, p.WorkingM = false, DefaultWorkingLogSD, defaultWorkingM
		if notices > 0 {
			p.WorkingM = min(p.WorkingM, notices)
		}
		p.ReactionM = p.WorkingM / workingToReaction
	}
	return p, nil
}

// Said is the prior of distances that were said outright; none, for a kind that the
// dog is calm about.
func Said(n exposure.Need) Prior {
	return Prior{Need: n, LogSD: DefaultIntakeLogSD, Known: n.WorkingM > 0}
}

// boundBy keeps the working distance at or below that of noticing, 0 for unknown.
func (p *Prior) boundBy(noticesM float64) {
	if noticesM > 0 {
		p.WorkingM = max(min(p.WorkingM, noticesM), leastRatio*p.ReactionM)
	}
}

// intake is what was said of a kind or category before any walk, as learning starts
// from it.
func (p *Prior) intake(name string) Intake {
	in := Intake{Need: p.Need, LogSD: p.LogSD}
	in.Kind, in.Category = split(name)
	if !p.Known {
		in.Need = exposure.Need{}
	}
	return in
}

// metres checks the answers and gives them in metres, 0 for unknown, in order.
func (a Answers) metres(pointer string) (out [4]float64, err error) {
	unit := 1.0
	var wrong fault.Problems
	switch a.Unit {
	case "", "m":
	case "ft":
		unit = footM
	default:
		wrong = append(wrong, fault.Problem{Pointer: pointer + "/unit", Value: a.Unit, Mend: "give m or ft"})
	}
	names := [4]string{"notices_at", "takes_food_at", "stops_eating_at", "reacts_at"}
	last := -1
	for i, v := range [4]*float64{a.NoticesM, a.TakesFoodM, a.StopsEatingM, a.ReactsM} {
		if v == nil {
			continue
		}
		at := pointer + "/" + names[i]
		if !(*v*unit >= exposure.LeastDistanceM && *v*unit <= exposure.MostMetM) {
			wrong = append(wrong, fault.Problem{Pointer: at, Value: fmt.Sprintf("%g", *v),
				Mend: fmt.Sprintf("give %g to %g m, or null if it is not known", exposure.LeastDistanceM, exposure.MostMetM)})
			continue
		}
		out[i] = *v * unit
		if last >= 0 && (out[i] > out[last] || i == 3 && out[1] > 0 && out[i] == out[1]) {
			wrong = append(wrong, fault.Problem{Pointer: at, Value: fmt.Sprintf("%g", *v),
				Mend: fmt.Sprintf("must be less than %s: a trigger that comes closer is noticed first, then food is still taken, then not, then the dog reacts", names[last])})
		}
		last = i
	}
	if len(wrong) > 0 {
		return out, wrong
	}
	return out, nil
}
