package setup

import (
	"fmt"
	"math"
	"slices"
	"time"

	"wideberth/exposure"
	"wideberth/osmdata/fault"
	"wideberth/osmdata/plane"
	"wideberth/routing/reach"
	"wideberth/routing/search"
	"wideberth/routing/yard"
)

// Calmness is how a helper is: a lively one is worked with from farther off.
type Calmness string

// The sorts of helper, with the factor on the working distance (our assumption).
const (
	Calm   Calmness = "calm"   // 0.8
	Usual  Calmness = "usual"  // 1
	Lively Calmness = "lively" // 1.3
)

var calmFactor = map[Calmness]float64{Calm: 0.8, Usual: 1, Lively: 1.3}

// Mode is what the two do on a line.
type Mode string

// The modes, in the order in which trainers usually take them (common practice).
const (
	Stand      Mode = "stand"        // both stand and watch
	SideBySide Mode = "side_by_side" // both walk the same way, out and back
	Passing    Mode = "passing"      // both walk the line from opposite ends, and back; on the last two lines
	Approach   Mode = "approach"     // the dog comes up to the line from the first one, and goes back
)

// Ground is what ground does.
type Ground string

// The sorts of ground: what is surely open to everybody, or grass as well of which the
// map does not tell whose it is.
const (
	Parks Ground = "parks"
	Green Ground = "green"
)

var leastCell = map[Ground]yard.Cell{Parks: yard.Public, Green: yard.Grass}

// Defaults and bounds of a wish (our assumptions but for the order of modes).
const (
	usualMaxX     = 0.2  // expected reactions to everything else
	usualMinutes  = 25.0 // over which that is counted
	usualLineM    = 40.0
	leastLineM    = 20.0
	mostLineM     = 80.0
	slackM        = 4.0 // between two lines and the distance asked for
	leastStep     = 0.5 // multiples of the working distance
	mostStep      = 3.0
	mostWorkingM  = 100.0
	mostSteps     = 6
	bestOf        = 5
	UsualDriveMin = 15.0 // how far people drive for a set-up
)

// UsualSteps are the lines in multiples of the working distance, farthest first.
func UsualSteps() []float64 { return []float64{2, 1.5, 1.25, 1} }

// Wish asks for a set-up.
type Wish struct {
	Dog      exposure.Dog
	Kind     exposure.Kind  // of the helper
	Calm     Calmness       // "" for Usual
	Helper   Helper         // what else is known of who is met
	Steps    []float64      // lines, in multiples of the working distance, each nearer; nil for UsualSteps
	Modes    []Mode         // on each line, in this order; nil for standing, side by side, passing
	At       time.Time      // when both stand on the first line
	LineM    float64        // length of the lines, 0 for 40 m
	MaxX     float64        // expected reactions to everything else in 25 minutes, 0 for 0.2
	Ground   Ground         // "" for Parks
	Together bool           // take ground with one way in for both, too
	Car      *plane.Point   // only the ground of this car; nil for any
	Struck   []reach.Circle // ground not to be used
	Factors  *exposure.Factors
	Work     *search.Work // what the search may still do, shared with whoever asks; nil for no bound but its own
}

// fill puts defaults in and tells what is wrong.
func (w *Wish) fill() error {
	var wrong fault.Problems
	bad := func(field string, value any, mend string) {
		wrong = append(wrong, fault.Problem{Pointer: "/" + field, Value: fmt.Sprint(value), Mend: mend})
	}
	if w.Calm == "" {
		w.Calm = Usual
	}
	if w.Ground == "" {
		w.Ground = Parks
	}
	if len(w.Steps) == 0 {
		w.Steps = UsualSteps()
	}
	if len(w.Modes) == 0 {
		w.Modes = []Mode{Stand, SideBySide, Passing}
	}
	if w.LineM == 0 {
		w.LineM = usualLineM
	}
	if w.MaxX == 0 {
		w.MaxX = usualMaxX
	}
	if calmFactor[w.Calm] == 0 {
		bad("helper/calmness", w.Calm, "use calm, usual or lively")
	}
	if _, ok := leastCell[w.Ground]; !ok {
		bad("ground", w.Ground, "use parks or green")
	}
	switch working := w.Dog.Need(w.Kind).WorkingM; {
	case working == 0:
		bad("helper/kind", w.Kind, "the dog has no working distance for it: name a kind that it reacts to")
	case working*calmFactor[w.Calm] > mostWorkingM:
		bad("helper/kind", w.Kind, "no ground is laid out for working distances above 100 m: begin with visits from afar")
	}
	if w.Kind.Info().SpeedMPS == 0 {
		bad("helper/kind", w.Kind, "name a kind that moves, like dog, adult or bicycle")
	}
	if dog, helper := w.Unmuzzled(); w.Standing() == nil {
		const word = " One of the two has bitten: else they meet only where a trainer says so in writing, which is kept with the dog (/helper/trainer_word)."
		if dog {
			bad("dog/cautions/muzzle_trained", false, "say so if the dog wears a muzzle calmly, as it was taught to."+word)
		}
		if helper {
			bad("helper/muzzle_trained", false, "say so if the helper dog wears a muzzle calmly, as it was taught to."+word)
		}
	}
	if len(w.Steps) > mostSteps {
		bad("steps", len(w.Steps), "give up to six")
	}
	for i, s := range w.Steps {
		if !(s >= leastStep && s <= mostStep) || i > 0 && s >= w.Steps[i-1] {
			bad(fmt.Sprintf("steps/%d", i), fault.Number(s), "give multiples of the working distance from 3 to 0.5, each less than the one before")
		}
	}
	for i, m := range w.Modes {
		if !slices.Contains([]Mode{Stand, SideBySide, Passing, Approach}, m) || slices.Contains(w.Modes[:i], m) {
			bad(fmt.Sprintf("modes/%d", i), m, "use stand, side_by_side, passing and approach, each once")
		}
	}
	if w.At.IsZero() {
		bad("at", "missing", "give a time with its zone, like 2026-11-25T10:00:00Z")
	}
	if !(w.LineM >= leastLineM && w.LineM <= mostLineM) {
		bad("line_m", fault.Number(w.LineM), "give 20 to 80 m")
	}
	if !(w.MaxX > 0 && w.MaxX <= 5) || math.IsNaN(w.MaxX) {
		bad("max_expected_reactions", fault.Number(w.MaxX), "give more than 0, up to 5")
	}
	if len(wrong) > 0 {
		return wrong
	}
	return nil
}

// workingM is the distance that counts as one, for this helper.
func (w *Wish) workingM() float64 { return w.Dog.Need(w.Kind).WorkingM * calmFactor[w.Calm] }
