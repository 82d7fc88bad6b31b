package routing

import (
	"fmt"
	"time"

	"wideberth/exposure"
	"wideberth/exposure/hours"
	"wideberth/exposure/strain"
	"wideberth/osmdata/fault"
	"wideberth/osmdata/plane"
	"wideberth/routing/reach"
)

// Shape is the form of walk that is wished for.
type Shape string

// The shapes of a walk.
const (
	Calmest      Shape = "calmest"        // from the door and back, by whatever shape is calmest
	Loop         Shape = "loop"           // only loops: no turning about, no street the same way twice
	ThereAndBack Shape = "there_and_back" // out, and home by the same way
	Way          Shape = "way"            // from one place to another
	LongestCalm  Shape = "longest_calm"   // the most minutes for a given number of expected reactions
)

// Wish is what a handler asks for. Places are in metres of the snapshot's frame.
type Wish struct {
	Shape    Shape
	From     plane.Point
	To       *plane.Point // of a way
	Minutes  float64      // wished; of a way the most it may take, 0 for twice the quickest
	MaxX     float64      // of the longest calm walk: expected reactions it may cost
	Depart   time.Time
	Dog      exposure.Dog
	Limits   reach.Limits
	Strain   strain.Setting    // what moving traffic, wide crossings and the dark count beside expected reactions, "" for usual
	Soft     bool              // rather on grass, earth and wood
	Walks    int               // how many clearly different ones, 0 for three
	Shorter  float64           // tolerated share below the wished duration, 0 for 3 %
	Longer   float64           // and above it, 0 for 10 %
	Factors  *exposure.Factors // learnt from walks and reports, or nil
	Stacking bool              // report X with arousal that builds up as well
	Weather  hours.Weather     // as somebody says it is; the zero value says nothing
	Away     bool              // not from one's own door: keeps off ground with rules of its own, and service roads have a price
	Free     FreeHours         // when another hour may be offered
}

// Bounds of a wish. The least is a walk round the block; the most keeps the
// search's tables in memory.
const (
	LeastMinutes = 5
	mostMinutes  = 180
	mostWalks    = 5
)

// Check says everything that is wrong with a wish, nil if nothing is.
func (w *Wish) Check() error {
	var wrong fault.Problems
	bad := func(field string, value any, mend string) {
		wrong = append(wrong, fault.Problem{Pointer: "/" + field, Value: fmt.Sprint(value), Mend: mend})
	}
	minutes := w.Minutes
	switch w.Shape {
	case Calmest, Loop, ThereAndBack:
		if !(minutes >= LeastMinutes && minutes <= mostMinutes) {
			bad("minutes", fault.Number(minutes), fmt.Sprintf("ask for %d to %d minutes", LeastMinutes, mostMinutes))
		}
	case LongestCalm:
		if !(w.MaxX > 0 && w.MaxX <= 100) {
			bad("max_expected_reactions", fault.Number(w.MaxX), "ask for more than 0 and at most 100")
		}
	case Way:
		if w.To == nil {
			bad("to", "missing", "a way needs a place to go to")
		} else if w.To.DistanceM(w.From) < 1 {
			bad("to", "the same place as from", "ask for a loop, or for another place")
		}
		if !(minutes >= 0 && minutes <= mostMinutes) {
			bad("minutes", fault.Number(minutes), fmt.Sprintf("ask for at most %d minutes", mostMinutes))
		}
	default:
		bad("shape", string(w.Shape), "use calmest, loop, there_and_back, way or longest_calm")
	}
	if w.Walks < 0 || w.Walks > mostWalks {
		bad("walks", w.Walks, fmt.Sprintf("ask for 1 to %d", mostWalks))
	}
	if err := w.Strain.Check(); err != nil {
		bad("strain", string(w.Strain), err.Error())
	}
	if w.Depart.IsZero() {
		bad("depart", "missing", "give a time with its zone, like 2026-11-25T07:10:00Z")
	}
	wrong = append(wrong, w.Free.Check()...)
	wrong = append(wrong, checkWeather(w.Weather)...)
	wrong = append(wrong, w.Limits.Check()...)
	if len(wrong) == 0 {
		return nil
	}
	return wrong
}

// taste is what the wish makes of traffic and ground.
func (w *Wish) taste() reach.Taste { return reach.Taste{Strain: w.Strain, Soft: w.Soft, Away: w.Away} }

// Asker is the wish as limits see it.
func (w *Wish) Asker() reach.Asker { return reach.Asker{From: w.From, Dog: &w.Dog, Factors: w.Factors} }
