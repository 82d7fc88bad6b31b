package routing

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"wideberth/exposure"
	"wideberth/osmdata/fault"
	"wideberth/osmdata/plane"
)

// Shape is the form of walk that is wished for.
type Shape string

// The shapes of a walk.
const (
	Loop         Shape = "loop"           // from the door and back, no street the same way twice
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
	Limits   Limits
	Walks    int               // how many clearly different ones, 0 for three
	Shorter  float64           // tolerated share below the wished duration, 0 for 3 %
	Longer   float64           // and above it, 0 for 10 %
	Factors  *exposure.Factors // learnt from walks and reports, or nil
	Stacking bool              // report X with arousal that builds up as well
}

// Limits are what a handler will not have, whatever it costs otherwise.
type Limits struct {
	NoSteps          bool
	LitOnly          bool     // only ways tagged as lit, while the sun is down
	PavedOnly        bool     // no unpaved ways
	OffRoads         bool     // no main road without a pavement
	NeverNearer      []Keep   // distances from kinds of fixed source
	AvoidWays        []string // names of streets not to walk
	Avoid            []Circle // places to stay away from
	WithinM          float64  // never farther from the start than this, 0 for no limit
	MaxLevelDB       float64  // continuous road noise, 0 for no limit
	MaxSlope         float64  // rise over run, 0 for no limit; needs heights
	InsideReaction   bool     // walk inside the reaction distance of active sources all the same
	CrossAtCrossings bool     // cross main roads only at mapped crossings
}

// Keep is a distance to keep from every active source of one sort.
type Keep struct {
	From string // the source's sort ("school") or a category or kind of trigger
	M    float64
}

// Circle is a place to stay away from.
type Circle struct {
	At      plane.Point
	RadiusM float64
}

// Bounds of a wish. The least is a walk round the block; the most keeps the
// search's tables in memory.
const (
	leastMinutes = 5
	mostMinutes  = 180
	mostWalks    = 5
)

// Check says everything that is wrong with a wish, nil if nothing is.
func (w *Wish) Check() error {
	var wrong fault.Problems
	bad := func(field string, value any, mend string) {
		wrong = append(wrong, fault.Problem{Pointer: "/" + field, Value: fmt.Sprint(value), Mend: mend})
	}
	min := w.Minutes
	switch w.Shape {
	case Loop, ThereAndBack:
		if !(min >= leastMinutes && min <= mostMinutes) {
			bad("minutes", trimNumber(min), fmt.Sprintf("ask for %d to %d minutes", leastMinutes, mostMinutes))
		}
	case LongestCalm:
		if !(w.MaxX > 0 && w.MaxX <= 100) {
			bad("max_expected_reactions", trimNumber(w.MaxX), "ask for more than 0 and at most 100")
		}
	case Way:
		if w.To == nil {
			bad("to", "missing", "a way needs a place to go to")
		} else if w.To.DistanceM(w.From) < 1 {
			bad("to", "the same place as from", "ask for a loop, or for another place")
		}
		if !(min >= 0 && min <= mostMinutes) {
			bad("minutes", trimNumber(min), fmt.Sprintf("ask for at most %d minutes", mostMinutes))
		}
	default:
		bad("shape", string(w.Shape), "use loop, there_and_back, way or longest_calm")
	}
	if w.Walks < 0 || w.Walks > mostWalks {
		bad("walks", w.Walks, fmt.Sprintf("ask for 1 to %d", mostWalks))
	}
	if w.Depart.IsZero() {
		bad("depart", "missing", "give a time with its zone, like 2026-11-25T07:10:00Z")
	}
	wrong = append(wrong, w.Limits.check()...)
	if len(wrong) == 0 {
		return nil
	}
	return wrong
}

func (l *Limits) check() (wrong fault.Problems) {
	for i, k := range l.NeverNearer {
		if !(k.M > 0 && k.M <= 2000) {
			wrong = append(wrong, fault.Problem{Pointer: fmt.Sprintf("/limits/never_nearer/%d/m", i), Value: trimNumber(k.M), Mend: "give 1 to 2,000 metres"})
		}
		if strings.TrimSpace(k.From) == "" {
			wrong = append(wrong, fault.Problem{Pointer: fmt.Sprintf("/limits/never_nearer/%d/from", i), Value: "empty", Mend: "name a kind of trigger or of place"})
		}
	}
	if l.WithinM < 0 || math.IsNaN(l.WithinM) {
		wrong = append(wrong, fault.Problem{Pointer: "/limits/within_m", Value: trimNumber(l.WithinM), Mend: "give a distance in metres, or leave it out"})
	}
	for i, c := range l.Avoid {
		if !(c.RadiusM > 0 && c.RadiusM <= 5000) {
			wrong = append(wrong, fault.Problem{Pointer: fmt.Sprintf("/limits/avoid/%d/radius_m", i), Value: trimNumber(c.RadiusM), Mend: "give 1 to 5,000 metres"})
		}
	}
	return wrong
}

func trimNumber(f float64) string {
	if math.Abs(f) >= 1e4 { // no powers of ten in a message
		return strconv.FormatFloat(f, 'f', 0, 64)
	}
	return strconv.FormatFloat(f, 'g', 4, 64)
}
