package learning

import (
	"fmt"
	"slices"
	"time"

	"wideberth/exposure"
)

// Visit is one training visit to a trigger, counted by trigger.
type Visit struct {
	// Step is the place in the sequence; larger is harder.
	Step     int
	Triggers int // met while working
	Handled  int // food taken and turned back, prompted or not
	// TurnedBack counts unprompted turning back, the sign of learning; at most
	// Handled.
	TurnedBack  int
	RefusedFood int
	WentOver    int
}

// Rule says when training moves on. Start from DefaultRule.
type Rule struct {
	VisitsInARow    int     // good visits in a row on one step before moving on; at least 1
	HandledShare    float64 // of the triggers of a good visit; in (0, 1]
	LeastTriggers   int     // a visit with fewer says nothing either way; at least 1
	OverForBack     int     // going over so often in the last visit: one step back; at least 1
	RefusalsForBack int     // refusing food so often in the last visits (as many as VisitsInARow): one step back; at least 1
}

// DefaultRule is common practice: on after two visits in a row with at least
// four in five triggers handled and none over threshold, back one step after
// one over threshold or two refusals of food.
func DefaultRule() Rule {
	return Rule{VisitsInARow: 2, HandledShare: 0.8, LeastTriggers: 1, OverForBack: 1, RefusalsForBack: 2}
}

// Direction is where training goes next.
type Direction uint8

const (
	Stay Direction = iota // the same step again
	On                    // one step nearer, busier or longer
	Back                  // one step easier
)

// Move is what the rule says, with the counts it rests on.
type Move struct {
	Direction Direction
	// Visits are the last visits on the present step that were looked at; the
	// counts below are their sums.
	Visits      int
	Good        int // good visits in a row up to the last one
	Triggers    int
	Handled     int
	TurnedBack  int
	RefusedFood int
	WentOver    int // in the last visit
}

// Progress applies the rule to visits in order of time, oldest first. Only the
// unbroken run of visits on the last visit's step counts, so that a step back
// or on starts afresh. A visit that met fewer than LeastTriggers neither makes
// nor breaks a row, but going over or refusing in it counts. Visits or rules
// that cannot be get an error naming field and mend.
func Progress(visits []Visit, rule Rule) (Move, error) {
	if err := rule.Check(); err != nil {
		return Move{}, err
	}
	for i, v := range visits {
		if err := v.check(i); err != nil {
			return Move{}, err
		}
	}
	m := gather(visits, rule)
	switch {
	case m.WentOver >= rule.OverForBack || m.RefusedFood >= rule.RefusalsForBack:
		m.Direction = Back
	case m.Good >= rule.VisitsInARow:
		m.Direction = On
	}
	return m, nil
}

// gather walks back from the last visit through its run, as far as the rule looks.
func gather(visits []Visit, rule Rule) Move {
	m, unbroken := Move{}, true
	for i := len(visits) - 1; i >= 0; i-- {
		v := visits[i]
		if v.Step != visits[len(visits)-1].Step || m.Visits == rule.VisitsInARow {
			break
		}
		if i == len(visits)-1 {
			m.WentOver = v.WentOver
		}
		m.RefusedFood += v.RefusedFood
		if v.Triggers < rule.LeastTriggers {
			continue
		}
		m.Visits++
		m.Triggers += v.Triggers
		m.Handled += v.Handled
		m.TurnedBack += v.TurnedBack
		unbroken = unbroken && v.good(rule)
		if unbroken {
			m.Good++
		}
	}
	return m
}

func (v Visit) good(rule Rule) bool {
	// The small slack keeps 4 of 5 good at a share of 0.8 whatever the rounding.
	return v.WentOver == 0 && float64(v.Handled) >= rule.HandledShare*float64(v.Triggers)-1e-9
}

func (v Visit) check(i int) error {
	if v.Triggers < 0 || v.Handled < 0 || v.TurnedBack < 0 || v.RefusedFood < 0 || v.WentOver < 0 {
		return fmt.Errorf("visit %d: negative count; give 0 or more", i)
	}
	if v.Handled+v.WentOver > v.Triggers || v.RefusedFood > v.Triggers {
		return fmt.Errorf("visit %d: %d handled, %d over threshold and %d refusals of food for %d triggers; count each trigger once",
			i, v.Handled, v.WentOver, v.RefusedFood, v.Triggers)
	}
	if v.TurnedBack > v.Handled {
		return fmt.Errorf("visit %d: turned back %d times but handled only %d; turning back is handling", i, v.TurnedBack, v.Handled)
	}
	return nil
}

// Check says what is wrong with a rule, nil if nothing is: the field and what to
// give.
func (r Rule) Check() error {
	switch {
	case r.VisitsInARow < 1:
		return fmt.Errorf("visits in a row %d; give at least 1", r.VisitsInARow)
	case !(r.HandledShare > 0 && r.HandledShare <= 1):
		return fmt.Errorf("handled share %v; give a share above 0 and at most 1", r.HandledShare)
	case r.LeastTriggers < 1:
		return fmt.Errorf("least triggers %d; give at least 1", r.LeastTriggers)
	case r.OverForBack < 1:
		return fmt.Errorf("times over threshold for a step back %d; give at least 1", r.OverForBack)
	case r.RefusalsForBack < 1:
		return fmt.Errorf("refusals for a step back %d; give at least 1", r.RefusalsForBack)
	}
	return nil
}

// CountVisit counts the meetings of a visit that were with what it is about, or
// with nobody knows what. Handled is not going over and taking food, or turning
// back unprompted; refusing food that turning back went with is still refusing.
func CountVisit(step int, met []Meeting, about []exposure.Kind) Visit {
	v := Visit{Step: step}
	for i := range met {
		if met[i].Name != "" && !slices.ContainsFunc(about, met[i].mayBe) {
			continue
		}
		v.Triggers++
		switch met[i].Outcome {
		case WentOver:
			v.WentOver++
		case RefusedFood:
			v.RefusedFood++
		case TurnedBack:
			v.TurnedBack++
			v.Handled++
		case TookFood:
			v.Handled++
		}
	}
	return v
}

// Logged is a visit as it was counted, with when it was logged.
type Logged struct {
	Visit
	At time.Time
}

// Sequence is where training stands in a row of visits that get harder.
type Sequence struct {
	Step    int       // the visit that is next, from 1
	Of      int       // visits altogether
	Decided time.Time // when somebody last decided where it goes on
	Paused  bool      // nothing is proposed while it is
}

// Advance holds a rule against what was logged: visits of the present step that
// nobody has decided on yet count, and counted says how many there are. to is the
// visit that is proposed, the present one where it is to stay or cannot move. A
// person decides.
func (q Sequence) Advance(done []Logged, rule Rule) (m Move, to, counted int, err error) {
	var count []Visit
	for _, v := range done {
		if v.Step == q.Step && v.At.After(q.Decided) {
			count = append(count, v.Visit)
		}
	}
	if m, err = Progress(count, rule); err != nil {
		return m, q.Step, 0, err
	}
	if q.Paused {
		m.Direction = Stay
	}
	by := [...]int{Stay: 0, On: 1, Back: -1}[m.Direction]
	return m, min(max(1, q.Step+by), q.Of), len(count), nil
}
