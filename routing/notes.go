package routing

import (
	"slices"

	"wideberth/routing/reach"
)

// Shares of a walk from which on it is worth saying: those on streets already walked,
// beside a main road, on service roads away from home, and out to a round on a street that is the way home as well.
const (
	repeatedShare = 0.3
	roadShare     = 0.2
	serviceShare  = 0.1
	aisleShare    = 0.2 // away from home, where the car stands among others
	tailShare     = 0.1
)

// Wear is what a walk costs in expected reactions and strain, as a wish weighs it, and
// away from home in minutes on service roads.
func (w *Walk) Wear(by *Wish) float64 {
	sum := w.ExpectedReactions + by.Strain.Weight()*w.Strain
	if by.Away {
		sum += w.ServiceS / 60 * reach.ServicePerMin
	}
	return sum
}

// timesBest is how many times as much a walk wears as the best does.
func timesBest(w *Wish, walk, best *Walk) float64 {
	if least := best.Wear(w); least > 0 {
		return walk.Wear(w) / least
	}
	return 1
}

// Note is something else that a handler must know of a plan.
type Note struct {
	What  NoteWhat
	Name  string  // of the source or the street
	Class string  // what the street is where it has no name
	DistM float64 // of the source from the start
	N     int     // laps or turns
	Share float64 // of the walk
	TimeS float64 // so much of it
	OfS   float64 // of so much
}

// NoteWhat is what can be noted; the list is closed.
type NoteWhat string

// The notes.
const (
	NoteLaps     NoteWhat = "laps"           // the ground allows no loop of this length: N times round
	NoteSameWay  NoteWhat = "there_and_back" // nor laps: by the same way back
	NoteRounds   NoteWhat = "rounds"         // the calmest is N times round
	NoteOutHome  NoteWhat = "out_and_home"   // the calmest is there and back
	NoteTail     NoteWhat = "tail"           // a round at the end of a street that is walked out and home
	NoteRepeated NoteWhat = "repeated"       // Share of it on streets already walked
	NoteTurns    NoteWhat = "turns"          // it turns round N times on the way
	NoteMainRoad NoteWhat = "main_road"      // TimeS of OfS on or beside a main road
	NoteFastRoad NoteWhat = "fast_road"      // along the carriageway of a fast road, Name: no other walk is there
	NoteAisles   NoteWhat = "aisles"         // between parked cars in use, Name
	NotePrivate  NoteWhat = "private"        // over a drive or through a building, Name
	NoteDogRules NoteWhat = "dog_rules"      // dogs may be forbidden or bound on Name
	NotePrecinct NoteWhat = "precinct"       // over ground with rules of its own, Name, away from home: no other walk is there
	NoteService  NoteWhat = "service"        // TimeS of OfS on service roads away from home
	NoteInside   NoteWhat = "inside"         // the start lies inside the reaction distance of a source
)

// notes say what else a handler must know of a plan.
func notes(w *Wish, plan *Plan) (out []Note) {
	best := &plan.Walks[0]
	out = append(DogNotes(&w.Dog), best.Care...)
	out = append(out, best.form(w)...)
	if best.MainRoadS > roadShare*best.DurationS {
		out = append(out, Note{What: NoteMainRoad, TimeS: best.MainRoadS, OfS: best.DurationS})
	}
	for _, g := range groundNotes {
		onIt := func(l Leg) bool { return l.Ground&g.sort != 0 && l.LengthM >= g.leastM }
		if !w.Away && g.sort == reach.Precincts || w.Away && g.sort == reach.Aisles && best.share(onIt) < aisleShare {
			continue
		}
		if i := slices.IndexFunc(best.Legs, onIt); i >= 0 && w.Shape != Way {
			out = append(out, Note{What: g.what, Name: best.Legs[i].Name, Class: best.Legs[i].Class})
		}
	}
	if w.Away && best.ServiceS > serviceShare*best.DurationS {
		out = append(out, Note{What: NoteService, TimeS: best.ServiceS, OfS: best.DurationS})
	}
	if i := slices.IndexFunc(best.Legs, func(l Leg) bool { return l.DogRules }); i >= 0 {
		out = append(out, Note{What: NoteDogRules, Name: best.Legs[i].Name, Class: best.Legs[i].Class})
	}
	for _, s := range best.Passed {
		if s.FromM < 1 && s.NearestM < s.Need.ReactionM && s.Active > reach.ActiveLimit {
			out = append(out, Note{What: NoteInside, Name: s.Name, DistM: s.NearestM})
		}
	}
	return out
}

// share is the share of a walk's time on legs of which something holds.
func (w *Walk) share(holds func(l Leg) bool) float64 {
	s := 0.0
	for i := range w.Legs {
		if holds(w.Legs[i]) {
			s += w.Legs[i].DurationS
		}
	}
	return s / max(w.DurationS, 1e-9)
}

// form tells what sort of round a closed walk is where it is not plainly a loop.
func (w *Walk) form(by *Wish) (out []Note) {
	switch {
	case by.Shape == Way || by.Shape == ThereAndBack:
		return nil
	case w.Laps > 1 && by.Shape == Loop:
		return []Note{{What: NoteLaps, N: w.Laps}}
	case w.Laps > 1:
		return []Note{{What: NoteRounds, N: w.Laps}}
	case w.Shape == ThereAndBack && by.Shape == Loop:
		return []Note{{What: NoteSameWay}}
	case w.Shape == ThereAndBack:
		return []Note{{What: NoteOutHome}}
	case w.TailS > tailShare*w.DurationS:
		out = append(out, Note{What: NoteTail, TimeS: w.TailS})
	case w.RepeatedS > repeatedShare*w.DurationS:
		out = append(out, Note{What: NoteRepeated, Share: w.RepeatedS / w.DurationS})
	}
	if w.Turns > 0 {
		out = append(out, Note{What: NoteTurns, N: w.Turns})
	}
	return out
}

// groundNotes say of ground that walks keep off that this one is on it.
var groundNotes = []struct {
	sort   reach.Ground
	what   NoteWhat
	leastM float64 // of one leg: the few steps from a door to the first corner are not along a road (our assumption)
}{{reach.FastRoads, NoteFastRoad, 50}, {reach.Aisles, NoteAisles, 0}, {reach.Private, NotePrivate, 0}, {reach.Precincts, NotePrecinct, 0}}
