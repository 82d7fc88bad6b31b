package sound

import "math"

// Traffic is a steady flow of motor vehicles on one way, both directions
// together.
//
// Emission is that of CNOSSOS-EU and not the older L10 methods (such as the
// British CRTN, which the tests hold beside it), because LAeq adds up over
// ways and pieces of ways as L10 does not, stays right as an energy mean when
// the flow is thin, and comes in bands, so that the air's absorption can be
// taken off.
type Traffic struct {
	LightPerHour, HeavyPerHour float64
	SpeedMPS                   float64
}

// vehicle holds the coefficients of a CNOSSOS-EU vehicle category per octave
// band: rolling A_R + B_R log10(v/70) and propulsion A_P + B_P (v-70)/70.
type vehicle struct {
	rollingA, rollingB, propulsionA, propulsionB spectrum
}

// Directive (EU) 2015/996 as amended by (EU) 2021/1226, appendix F; the values
// as in Universite-Gustave-Eiffel/NoiseModelling, RoadCnossos_2020.json, commit
// 7b4ccd7.
var (
	lightVehicle = vehicle{ // category 1
		rollingA:    spectrum{83.1, 89.2, 87.7, 93.1, 100.1, 96.7, 86.8, 76.2},
		rollingB:    spectrum{30.0, 41.5, 38.9, 25.7, 32.5, 37.2, 39.0, 40.0},
		propulsionA: spectrum{97.9, 92.5, 90.7, 87.2, 84.7, 88.0, 84.4, 77.1},
		propulsionB: spectrum{-1.3, 7.2, 7.7, 8, 8, 8, 8, 8},
	}
	heavyVehicle = vehicle{ // category 3
		rollingA:    spectrum{91.7, 96.2, 98.2, 104.9, 105.1, 98.5, 91.1, 85.6},
		rollingB:    spectrum{30.0, 33.5, 31.3, 25.4, 31.8, 37.1, 38.6, 40.6},
		propulsionA: spectrum{108.8, 104.2, 103.5, 102.9, 102.6, 98.5, 93.8, 87.5},
		propulsionB: spectrum{0, 3.0, 4.6, 5, 5, 5, 5, 5},
	}
)

// The range of speed of CNOSSOS-EU; slower and faster count as its ends.
const (
	minSpeedKMH = 20
	maxSpeedKMH = 130
	kmhPerMPS   = 3.6
)

func speedKMH(mps float64) float64 {
	return min(max(mps*kmhPerMPS, minSpeedKMH), maxSpeedKMH)
}

// power gives the sound power level per band in dB re 1 pW of one vehicle at a
// steady speed, at 20 °C on the reference surface.
func (c *vehicle) power(kmh float64) spectrum {
	const referenceKMH = 70
	var s spectrum
	for i := range s {
		rolling := c.rollingA[i] + c.rollingB[i]*math.Log10(kmh/referenceKMH)
		propulsion := c.propulsionA[i] + c.propulsionB[i]*(kmh-referenceKMH)/referenceKMH
		s[i] = Sum(rolling, propulsion)
	}
	return s
}

// powerPerMetre gives the sound power level per band, in dB re 1 pW per metre
// of the way: L_W + 10 log10( Q / (1000 v) ) with Q in vehicles/h and v in
// km/h, light and heavy vehicles summed. Negative flows count as none; no flow
// gives -Inf. Speeds are held within 20 to 130 km/h.
func (t Traffic) powerPerMetre() spectrum {
	v := speedKMH(t.SpeedMPS)
	const metresPerKM = 1000
	light := toDB(max(t.LightPerHour, 0) / (metresPerKM * v))
	heavy := toDB(max(t.HeavyPerHour, 0) / (metresPerKM * v))
	lightPower, heavyPower := lightVehicle.power(v), heavyVehicle.power(v)
	var s spectrum
	for i := range s {
		s[i] = Sum(lightPower[i]+light, heavyPower[i]+heavy)
	}
	return s
}

// MinOffsetM is the nearest distance from the middle of the traffic that is
// told apart: half a lane.
const MinOffsetM = 2.0

// LAeq gives the continuous level in dB(A) at a distance in metres from the
// middle of an endless straight way: the segmentLAeq of all of it.
func (t Traffic) LAeq(offsetM float64, between Shielding) float64 {
	return t.segmentLAeq(offsetM, math.Inf(-1), math.Inf(1), between)
}

// segmentLAeq gives what a straight piece of the way adds to the continuous
// level, in dB(A). offsetM is the listener's distance from the piece's line,
// fromM and toM (from below to) where it starts and ends along that line, 0
// being the foot of the listener.
//
//	L = L'_W - 10 log10(2 pi d) + 10 log10(phi),  phi = atan(to/d) - atan(from/d)
//
// over hard ground (an incoherent line into a half space; any acoustics text).
// The air's absorption is taken at the distance d per band, so that pieces sum
// to the whole exactly; what the longer paths to far ends lose is left out: an
// endless way at 150 m comes out 0.8 dB too loud, nearer ones less. Offsets are held between MinOffsetM and maxDistanceM. No
// traffic gives -Inf.
func (t Traffic) segmentLAeq(offsetM, fromM, toM float64, between Shielding) float64 {
	return t.newHearing().level(offsetM, fromM, toM) - max(float64(between), 0)
}

// hearing is a flow's power with the absorption of standardAir per band.
type hearing struct {
	power, alpha spectrum
}

func (t Traffic) newHearing() hearing {
	return hearing{t.powerPerMetre(), standardAlpha}
}

var standardAlpha = func() spectrum {
	var s spectrum
	for i := range s {
		s[i] = standardAir().absorptionDBPerM(midbandHz(i))
	}
	return s
}()

func (h hearing) level(offsetM, fromM, toM float64) float64 {
	d := min(max(offsetM, MinOffsetM), maxDistanceM)
	phi := math.Atan(toM/d) - math.Atan(fromM/d)
	if !(phi > 0) {
		return math.Inf(-1)
	}
	s := h.power
	for i := range s {
		s[i] -= h.alpha[i] * d
	}
	return s.dba() + toDB(phi/(2*math.Pi*d))
}
