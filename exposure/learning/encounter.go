package learning

import (
	"fmt"
	"math"
	"time"

	"gonum.org/v1/gonum/integrate/quad"

	"wideberth/exposure"
)

// Outcome is what the dog did at an encounter, graded.
//
// The probability that is learnt is that of going over threshold. Refusing
// food that it normally takes is the weaker sign just below; it enters as the
// middle of three ordered answers (see Settings.RefusalOdds), not as half a
// reaction.
type Outcome uint8

const (
	// StayedUnder: not over threshold; food was not offered or nobody noted it.
	StayedUnder Outcome = iota
	// TookFood: not over threshold and food was taken.
	TookFood
	// TurnedBack: turned back to the handler unprompted. For the distances it
	// counts like TookFood: the dog coped; more than coping it cannot say.
	TurnedBack
	// RefusedFood: not over threshold, but food was refused.
	RefusedFood
	// WentOver: barked, lunged, froze or bolted.
	WentOver
)

// Bound says how the distance of an encounter is known.
type Bound uint8

const (
	// Exact: measured, on the map, by track or by tape.
	Exact Bound = iota
	// About: judged by eye (or "about the working distance").
	About
	// NearerThan: somewhere nearer than the distance given.
	NearerThan
	// FartherThan: somewhere farther than the distance given.
	FartherThan
)

// Encounter is one meeting with a trigger, as a walk log has it.
type Encounter struct {
	Kind     string // e.g. "runner"; may be empty for the category in general
	Category string // e.g. "people"; kinds of one category share strength
	When     time.Time
	// DistanceM is the nearest distance (m) or the mark that Bound refers to;
	// above 0 and at most exposure.MostMetM.
	DistanceM float64
	Bound     Bound
	// FirstNoticeM is the distance (m) when the dog first noticed; 0 unknown,
	// which is taken as noticed in time.
	FirstNoticeM float64
	Outcome      Outcome
	Sudden       bool // the trigger appeared without warning
}

// How a distance that nobody measured may lie. All are our assumptions, meant
// for handlers who steer by a mark they have in mind:
//
//	About x:       ln d ~ Normal(ln x, aboutLogSD^2)
//	NearerThan x:  ln(x/d) half-normal with scale boundLogSD
//	FartherThan x: ln(d/x) half-normal with scale boundLogSD
const (
	aboutLogSD  = 0.25 // by eye: one in three is off by more than a quarter
	boundLogSD  = 0.7  // nearer than 30 m: half are nearer than 19 m, one in twenty nearer than 8 m
	boundReach  = 3.5  // scales integrated; 0.05 % of the half-normal lies beyond
	aboutNodes  = 5    // Gauss-Hermite
	boundNodes  = 7    // Gauss-Legendre
	futureSlack = 24 * time.Hour
)

// lnNodes are points and weights that stand for a distribution of ln d - ln x.
type lnNodes struct{ at, weight []float64 }

var (
	exactRule   = lnNodes{at: []float64{0}, weight: []float64{1}}
	aboutRule   = normalRule()
	fartherRule = halfNormalRule(1)
	nearerRule  = halfNormalRule(-1)
)

func normalRule() lnNodes {
	r := lnNodes{make([]float64, aboutNodes), make([]float64, aboutNodes)}
	quad.Hermite{}.FixedLocations(r.at, r.weight, math.Inf(-1), math.Inf(1))
	for i, x := range r.at {
		r.at[i] = math.Sqrt2 * aboutLogSD * x
	}
	return r.normalised()
}

func halfNormalRule(sign float64) lnNodes {
	r := lnNodes{make([]float64, boundNodes), make([]float64, boundNodes)}
	quad.Legendre{}.FixedLocations(r.at, r.weight, 0, boundReach)
	for i, t := range r.at {
		r.weight[i] *= math.Exp(-t * t / 2)
		r.at[i] = sign * boundLogSD * t
	}
	return r.normalised()
}

func (r lnNodes) normalised() lnNodes {
	sum := 0.0
	for _, w := range r.weight {
		sum += w
	}
	for i := range r.weight {
		r.weight[i] /= sum
	}
	return r
}

func (b Bound) rule() lnNodes {
	switch b {
	case About:
		return aboutRule
	case NearerThan:
		return nearerRule
	case FartherThan:
		return fartherRule
	}
	return exactRule
}

// reactedAtM is the distance in metres that a reaction is taken to have been at. One
// farther off than a mark lay a quarter beyond it in three of four cases, as such a
// bound is read (the quartile of the half-normal with boundLogSD is 0.32 of it in ln).
func (e Encounter) reactedAtM() float64 {
	if e.Bound == FartherThan {
		return beyondMark * e.DistanceM
	}
	return e.DistanceM
}

const beyondMark = 1.25

func (e Encounter) check(i int, now time.Time) error {
	switch {
	case e.Category == "":
		return fmt.Errorf("encounter %d: category is empty; name one", i)
	case !(e.DistanceM > 0) || e.DistanceM > exposure.MostMetM:
		return fmt.Errorf("encounter %d: distance %v m; give one above 0 and at most %v m", i, e.DistanceM, exposure.MostMetM)
	case !(e.FirstNoticeM >= 0) || e.FirstNoticeM > exposure.MostMetM:
		return fmt.Errorf("encounter %d: first notice at %v m; give 0 (unknown) to %v m", i, e.FirstNoticeM, exposure.MostMetM)
	case e.Bound > FartherThan:
		return fmt.Errorf("encounter %d: bound %d is unknown; give Exact, About, NearerThan or FartherThan", i, e.Bound)
	case e.Outcome > WentOver:
		return fmt.Errorf("encounter %d: outcome %d is unknown; give StayedUnder, TookFood, TurnedBack, RefusedFood or WentOver", i, e.Outcome)
	case e.When.After(now.Add(futureSlack)):
		return fmt.Errorf("encounter %d: when %s lies after now (%s); correct the date",
			i, e.When.Format(time.RFC3339), now.Format(time.RFC3339))
	}
	return nil
}
