// Package sound works out how loud motor traffic is: its emission, spreading,
// absorption by the air, screening by buildings, and its continuous level. It knows no map and no dogs.
//
// Levels are dB(A) re 20 uPa outdoors over hard ground, in still air, by the
// plain energy methods of the trade. They rank places and hours; they are no
// noise survey.
package sound

import "math"

// Air is the state of the air.
type Air struct {
	TempC       float64 // -20 to 50
	HumidityPct float64 // relative, 10 to 100
	PressureKPa float64 // below 200
}

// standardAir is 10 °C and 70 % at sea level, the first row of ISO 9613-2
// table 2 and a usual choice for yearly means.
func standardAir() Air { return Air{TempC: 10, HumidityPct: 70, PressureKPa: referenceKPa} }

const (
	referenceKPa    = 101.325
	referenceKelvin = 293.15
	tripleKelvin    = 273.16
	zeroCelsius     = 273.15
)

// absorptionDBPerM gives the loss of a pure tone by the air in dB/m,
//
//	alpha = 8.686 f^2 ( 1.84e-11 (p/pr)^-1 t^(1/2) + t^(-5/2)
//	        ( 0.01275 exp(-2239.1/T) / (frO + f^2/frO)
//	        + 0.1068 exp(-3352.0/T) / (frN + f^2/frN) ) )
//
// with T in kelvin, t = T/293.15, the oxygen and nitrogen relaxation
// frequencies frO and frN (Hz) from the molar concentration of water vapour
// (ISO 9613-1:1993, equations 3 to 6 and B.2, B.3). f is 50 to 10,000 Hz;
// octave bands are meant at their exact midband frequencies 1000*10^(0.3 n).
// Outside the ranges the formula is used as it stands.
func (a Air) absorptionDBPerM(freqHz float64) float64 {
	kelvin := a.TempC + zeroCelsius
	p, t := a.PressureKPa/referenceKPa, kelvin/referenceKelvin
	saturation := math.Pow(10, 4.6151-6.8346*math.Pow(tripleKelvin/kelvin, 1.261))
	vapour := a.HumidityPct * saturation / p
	oxygen := p * (24 + 4.04e4*vapour*(0.02+vapour)/(0.391+vapour))
	nitrogen := p / math.Sqrt(t) * (9 + 280*vapour*math.Exp(-4.170*(1/math.Cbrt(t)-1)))
	f2 := freqHz * freqHz
	relaxation := 0.01275*math.Exp(-2239.1/kelvin)/(oxygen+f2/oxygen) +
		0.1068*math.Exp(-3352.0/kelvin)/(nitrogen+f2/nitrogen)
	return 8.686 * f2 * (1.84e-11*math.Sqrt(t)/p + math.Pow(t, -2.5)*relaxation)
}

// spectrum holds levels in dB of the eight octave bands from 63 Hz to 8 kHz.
type spectrum [8]float64

// aWeighting is the A-weighting of the octave bands (IEC 61672-1, table 3).
var aWeighting = spectrum{-26.2, -16.1, -8.6, -3.2, 0, 1.2, 1.0, -1.1}

// dba gives the A-weighted sum of the bands.
func (s spectrum) dba() float64 {
	for i := range s {
		s[i] += aWeighting[i]
	}
	return Sum(s[:]...)
}

// midbandHz gives the exact midband frequency of a band (ISO 266).
func midbandHz(band int) float64 {
	const bandOf1kHz = 4
	return 1000 * math.Pow(10, 0.3*float64(band-bandOf1kHz))
}

// Sum adds levels as energies: 10 log10 of the sum of 10^(L/10). Silence is
// -Inf, which is also the sum of nothing.
func Sum(levelsDB ...float64) float64 {
	loudest := math.Inf(-1)
	for _, l := range levelsDB {
		loudest = max(loudest, l)
	}
	if math.IsInf(loudest, 0) {
		return loudest
	}
	energy := 0.0 // relative to the loudest, so that nothing overflows
	for _, l := range levelsDB {
		energy += fromDB(l - loudest)
	}
	return loudest + toDB(energy)
}

func fromDB(db float64) float64  { return math.Pow(10, db/10) }
func toDB(ratio float64) float64 { return 10 * math.Log10(ratio) }
