package routing

import (
	"math"

	"wideberth/exposure"
	"wideberth/exposure/hours"
)

// When a caution of the day is worth saying. All but the heat are our assumption.
const (
	darkLeastS   = 60.0 // so much of a walk in twilight or dark
	hotTmaxC     = 25.0 // paved ground in the sun can burn paws from about this air temperature (common practice)
	hotSunDeg    = 20.0 // the sun stands at least so high on the walk
	hotPavedS    = 120.0
	icyTmaxC     = 3.0 // a day that is no warmer has frost at its edges
	pastureM     = 50.0
	fireworksMin = 15 * 60 // of the day, from which they are let off; on New Year's Day they go on
)

// The notes of the dog and the day; they stand on its hand-out.
const (
	NoteMuzzle      NoteWhat = "muzzle"      // muzzle on before the door
	NoteBite        NoteWhat = "bite"        // it has bitten
	NoteExperienced NoteWhat = "experienced" // only for experienced people
	NoteMedical     NoteWhat = "medical"     // Name: what of its health one must know
	NoteFood        NoteWhat = "food"        // Name: what it works for
	NoteDark        NoteWhat = "dark"        // TimeS of OfS in twilight or dark
	NoteHeat        NoteWhat = "heat"        // paved ground may burn paws
	NoteIce         NoteWhat = "ice"         // ground may be icy and salted
	NoteLivestock   NoteWhat = "livestock"   // livestock may stand along Name
	NoteFireworks   NoteWhat = "fireworks"   // fireworks are usual on the day
)

// DogNotes say what whoever walks a dog must know of it.
func DogNotes(d *exposure.Dog) (out []Note) {
	c := &d.Cautions
	if c.Muzzle {
		out = append(out, Note{What: NoteMuzzle})
	}
	if c.BiteHistory {
		out = append(out, Note{What: NoteBite})
	}
	if c.ExperiencedOnly && !c.BiteHistory {
		out = append(out, Note{What: NoteExperienced})
	}
	if c.Medical != "" {
		out = append(out, Note{What: NoteMedical, Name: c.Medical})
	}
	if d.Food != "" {
		out = append(out, Note{What: NoteFood, Name: d.Food})
	}
	return out
}

// care says what the day asks for on a walk with its legs: light in the dark, paws in
// heat and ice, livestock on pasture, fireworks. Only what applies.
func (p *Planner) care(w *Wish, walk *Walk) (out []Note) {
	at := func(s float64) hours.Moment { return p.land.Clock.At(w.Depart.Add(Seconds(s))) }
	begin, middle := at(0), at(walk.DurationS/2)
	var darkS, highest float64
	for i := range walk.Legs {
		l := &walk.Legs[i]
		m := at(l.StartS + l.DurationS/2)
		if m.Light() != hours.Daylight {
			darkS += l.DurationS
		}
		highest = math.Max(highest, m.SunDeg())
	}
	if darkS >= darkLeastS {
		out = append(out, Note{What: NoteDark, TimeS: darkS, OfS: walk.DurationS})
	}
	tmaxC, _ := middle.Tmax()
	if tmaxC >= hotTmaxC && highest >= hotSunDeg && !middle.Wet() && walk.DurationS-walk.SoftGroundS >= hotPavedS {
		out = append(out, Note{What: NoteHeat})
	}
	if tmaxC <= icyTmaxC {
		out = append(out, Note{What: NoteIce})
	}
	if begin.Grazing() {
		if l := p.pasture(walk); l != nil {
			out = append(out, Note{What: NoteLivestock, Name: l.Name, Class: l.Class})
		}
	}
	if begin.Fireworks() && (begin.Minute >= fireworksMin || middle.Minute >= fireworksMin || middle.NewYear()) {
		out = append(out, Note{What: NoteFireworks})
	}
	return out
}

// pasture is the first leg that leads where livestock may stand, where the walk does so
// for long enough; else nil. No map tells where livestock stands today.
func (p *Planner) pasture(walk *Walk) (first *Leg) {
	f, sum := p.land.Snap.Field, 0.0
	for i := range walk.Legs {
		for _, e := range walk.Legs[i].Edges {
			if f.Marks[e.Edge]&exposure.Pasture != 0 {
				sum += e.LengthM
				if first == nil {
					first = &walk.Legs[i]
				}
			}
		}
	}
	if sum < pastureM {
		return nil
	}
	return first
}
