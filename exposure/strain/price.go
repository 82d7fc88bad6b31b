// Package strain prices what wears on a dog and its handler beside moving
// traffic, whatever the dog reacts to: minutes on or beside a road that carries
// much or fast traffic, road noise, crossings of wide roads, the dark. The unit is expected
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
	separatePerMin    = 0.01 // a pavement or a way of its own
	unknownPerMin     = 0.03 // nobody has mapped whether there is a pavement
	carriagewayPerMin = 0.1  // the carriageway or its shoulder
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
)

// NoisePerMin is the price of a minute in road noise of fullDB or more, in expected
// reactions (a), whatever road it comes from: behind the houses beside a motorway no
// car passes the dog, yet it hears nothing else, and what comes up is heard by neither
// of the two. It is that of full traffic where nobody has mapped a pavement; on a state
// it halves the metres at 70 dB(A) that strain without it leaves above the fewest.
const NoisePerMin = 0.03

// Setting is how much a wish makes of strain.
type Setting string

// The settings.
const (
	None   Setting = "none"   // expected reactions alone
	Usual  Setting = "usual"  // at its price; also ""
	Strict Setting = "strict" // at three times its price
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

var perMin = [pavementCount]float64{separatePerMin, unknownPerMin, carriagewayPerMin}

// PerMin is the price of a minute beside full traffic.
func (p Pavement) PerMin() float64 { return perMin[p] }

// PerS gives, for edges, the strain a second of walking them at a moment: traffic
// beside them at its intensity then, twice that unless it is daylight.
func (t *Table) PerS(edges []int32, m hours.Moment, out []float32) []float32 {
	share, factor := tempo(m)
	out = append(out[:0], make([]float32, len(edges))...)
	for i, e := range edges {
		sum := 0.0
		for i := t.At[e]; i < t.At[e+1]; i++ {
			s := t.stretch(i)
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

// The hours of the day that road noise is predicted for: those of the day level of
// Directive 2002/49/EC, Annex I.
const dayFrom, dayTo = 7, 19

// DayShare is the share of a day's traffic in an hour of the day, 7 to 19 h: what
// levels by day are predicted for.
func DayShare() (share float64) {
	for h := dayFrom; h < dayTo; h++ {
		share += hours.ShapeOf(hours.Cars).Busy[h] / (dayTo - dayFrom)
	}
	return share
}

var dayShare = DayShare()

// Noise is the price of road noise at a moment.
type Noise struct{ moreDB float64 }

// NoiseAt is road noise at a moment: louder or quieter than by day as there is more
// or less traffic, ten times of which is 10 dB (as energies add up).
func NoiseAt(m hours.Moment) Noise {
	return Noise{10 * math.Log10(hours.ShapeOf(hours.Cars).At(m)/dayShare)}
}

// PerS is the price of a second where the continuous level by day is levelDB, dB(A).
func (n Noise) PerS(levelDB float64) float64 {
	if math.IsNaN(levelDB) {
		return 0
	}
	return NoisePerMin / 60 * ramp(levelDB+n.moreDB, freeDB, fullDB)
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
