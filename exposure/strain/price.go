// Package strain prices what wears on a dog and its handler beside moving
// traffic, whatever the dog reacts to: minutes on or beside a road that carries
// much or fast traffic, crossings of wide roads, the dark. The unit is expected
// reactions, so that it can be added to them and shown apart from them: a minute
// on the carriageway of a main road costs what a tenth of a reaction costs.
//
// The prices are our assumption (a), set by ear and looked at on real walks.
package strain

import (
	"errors"
	"math"

	"wideberth/exposure/hours"
)

// Prices of a minute beside traffic at full intensity, by what there is to walk
// on, in expected reactions (a).
const (
	SeparatePerMin    = 0.01 // a pavement or a way of its own
	UnknownPerMin     = 0.03 // nobody has mapped whether there is a pavement
	CarriagewayPerMin = 0.1  // the carriageway or its shoulder
)

// What makes traffic count (a): nothing up to the first of each pair, in full
// from the second on.
const (
	freeKMH, fullKMH         = 30.0, 50.0
	freePerHour, fullPerHour = 60.0, 400.0
)

// Factors and further prices (a).
const (
	DarkFactor   = 2.0  // unless it is daylight: harder to see, harder to be seen
	CrossingEach = 0.05 // crossing four lanes or more away from a crossing or signals
	strictFactor = 3.0
	freeDB       = 60.0 // road noise costs nothing up to here
	fullDB       = 70.0 // and in full from here on, dB(A)
	NoisePerMin  = 0.03 // where noise is priced at all
)

// Setting is how much a wish makes of strain.
type Setting string

// The settings.
const (
	None   Setting = "none"   // expected reactions alone
	Usual  Setting = "usual"  // at its price; also ""
	Strict Setting = "strict" // at three times its price, road noise priced too
)

// Check says what is wrong with a word that is no setting; nil for "".
func (s Setting) Check() error {
	if _, ok := weights[s]; !ok {
		return errors.New("use none, usual or strict")
	}
	return nil
}

var weights = map[Setting]float64{"": 1, None: 0, Usual: 1, Strict: strictFactor}

// Weight multiplies strain where it is added to expected reactions: 0, 1 or 3.
func (s Setting) Weight() float64 { return weights[s] }

// ramp is 0 up to from, 1 from full on, and linear between.
func ramp(x, from, full float64) float64 { return max(0, min(1, (x-from)/(full-from))) }

// Intensity is how much of the price traffic takes, 0 to 1: by how many vehicles
// pass in an hour or by how fast they are, where speed counts only as far as
// somebody passes.
func Intensity(speedKMH, perHour float64) float64 {
	return max(ramp(perHour, freePerHour, fullPerHour), ramp(speedKMH, freeKMH, fullKMH)*min(1, perHour/freePerHour))
}

// Pavement is what there is to walk on beside traffic.
type Pavement uint8

// The kinds of pavement.
const (
	Separate Pavement = iota // a pavement, tagged or drawn, or a way of its own
	Unknown
	Carriageway // none: tagged so, or inferred
	pavementCount
)

var perMin = [pavementCount]float64{SeparatePerMin, UnknownPerMin, CarriagewayPerMin}

// PerMin is the price of a minute beside full traffic.
func (p Pavement) PerMin() float64 { return perMin[p] }

// PerS gives, for edges, the strain a second of walking them at a moment: traffic
// beside them at its intensity then, twice that unless it is daylight.
func (t *Table) PerS(edges []int32, m hours.Moment, out []float32) []float32 {
	share, factor := tempo(m)
	out = append(out[:0], make([]float32, len(edges))...)
	for i, e := range edges {
		sum := 0.0
		for _, s := range t.Of(e) {
			sum += s.perS(share, factor)
		}
		out[i] = float32(sum)
	}
	return out
}

// tempo is the share of a day's traffic that comes in the hour of a moment, and the
// factor that makes a price a minute one a second at its light.
func tempo(m hours.Moment) (share, factor float64) {
	share, factor = hours.ShapeOf(hours.Cars).At(m), 1/60.
	if m.Light() != hours.Daylight {
		factor *= DarkFactor
	}
	return share, factor
}

// perS is what the stretch adds to the strain of a second on its edge.
func (s *Stretch) perS(share, factor float64) float64 {
	return float64(s.Share) * s.Pavement.PerMin() * Intensity(float64(s.SpeedKMH), float64(s.AADT)*share) * factor
}

// NoisePerS is the price of a second in continuous road noise of a level, dB(A).
func NoisePerS(levelDB float64) float64 {
	if math.IsNaN(levelDB) {
		return 0
	}
	return NoisePerMin / 60 * ramp(levelDB, freeDB, fullDB)
}

// Term is what one stretch beside an edge adds to its strain.
type Term struct {
	Stretch
	PerHour float64 // vehicles at the moment
	PerS    float64 // strain a second of walking the edge
}

// Explain takes the strain of an edge at a moment apart, and tells whether the dark
// doubles it.
func (t *Table) Explain(e int32, m hours.Moment) (terms []Term, dark bool) {
	share, factor := tempo(m)
	for _, s := range t.Of(e) {
		terms = append(terms, Term{s, float64(s.AADT) * share, s.perS(share, factor)})
	}
	return terms, m.Light() != hours.Daylight
}

// String says what there is to walk on.
func (p Pavement) String() string {
	return [pavementCount]string{"a pavement or a way of its own", "nobody has mapped whether there is a pavement", "no pavement"}[min(p, Carriageway)]
}
