package exposure

import "math"

// Steps of the bytes of a Bin.
const (
	// binRateMin is the rate of byte 1, in closest approaches a second of walking
	// if the whole day's flow came in one hour; it and 254 steps reach from one
	// party in a month to a motorway.
	binRateMin   = 3e-5
	stepsOctave  = 12
	binPositions = 255
)

// binWidth is the width of a bin in ln d.
var binWidth = math.Log(BinMaxM/binMinM) / BinCount

// binsPerLn is how many bins one in ln d is.
var binsPerLn = 1 / binWidth

var lnBinMin = math.Log(binMinM)

// rateOf is the rate that each rate byte stands for.
var rateOf = func() (t [256]float32) {
	for i := 1; i < 256; i++ {
		t[i] = float32(binRateMin * math.Exp2(float64(i-1)/stepsOctave))
	}
	return t
}()

// makeBin stores a rate and the mean ln of the distance (ln m) of bin b in two
// bytes. Rates are rounded, not cut: cutting would lower all hazards by 2.9 %.
// Rates above the scale are held at its top, positions inside the bin.
func makeBin(b int, rate, meanLnD float64) Bin {
	if !(rate > 0) {
		return Bin{}
	}
	r := 1 + math.Round(stepsOctave*math.Log2(rate/binRateMin))
	if r < 1 {
		return Bin{}
	}
	pos := (meanLnD - lnBinMin - float64(b)*binWidth) / binWidth
	return Bin{Rate: uint8(min(r, 255)), Pos: uint8(math.Round(binPositions * min(1, max(0, pos))))}
}

// RatePerS is the bin's rate in closest approaches a second of walking if the
// whole day's flow came in one hour; times an hour's share of the day it is the
// rate in that hour.
func (b Bin) RatePerS() float64 { return float64(rateOf[b.Rate]) }

// binDistM is the distance that each position in each bin stands for.
var binDistM = func() (t [BinCount][256]float64) {
	for i := range t {
		for pos := range t[i] {
			t[i][pos] = binMinM * math.Exp((float64(i)+float64(pos)/binPositions)*binWidth)
		}
	}
	return t
}()

// DistM is the geometric mean distance in metres of what the bin number i holds.
func (b Bin) DistM(i int) float64 { return binDistM[i][b.Pos] }

// BinOf is the number of the bin that holds a distance; nearer ones count in the
// first. The second result is false beyond BinMaxM.
func BinOf(dM float64) (int, bool) {
	a := At(dM)
	return int(max(a.bin, 0)), a.bin >= 0
}

// Approach is a distance made ready to be counted in many Bins.
type Approach struct {
	bin int32 // -1 beyond BinMaxM
	lnD float64
}

// At makes a distance in metres ready to be counted.
func At(dM float64) Approach {
	if !(dM <= BinMaxM) {
		return Approach{bin: -1}
	}
	if dM <= binMinM {
		return Approach{lnD: lnBinMin}
	}
	lnD := math.Log(dM)
	return Approach{min(BinCount-1, int32((lnD-lnBinMin)/binWidth)), lnD}
}

// AtSquare is At for the square of a distance, in square metres; several times cheaper.
func AtSquare(m2 float64) Approach {
	switch {
	case !(m2 <= BinMaxM*BinMaxM):
		return Approach{bin: -1}
	case m2 <= binMinM*binMinM:
		return Approach{lnD: lnBinMin}
	}
	lnD := ln(m2) / 2
	return Approach{min(BinCount-1, int32((lnD-lnBinMin)*binsPerLn)), lnD}
}

// lnBits is how many leading bits of a number's fraction lnTable knows.
const lnBits = 8

// lnTable has for each run of fractions the reciprocal of its middle and the logarithm
// of that middle.
var lnTable = func() (t [1 << lnBits]struct{ inverse, ln float64 }) {
	for i := range t {
		t[i].inverse = 1 / (1 + (float64(i)+.5)/(1<<lnBits))
		t[i].ln = -math.Log(t[i].inverse)
	}
	return t
}()

// ln is the natural logarithm of a positive normal number within 1e-14: that of its
// power of two and of a middle from the table, and the first terms of the series of
// ln (1 + r), whose rest is below r^5/5 < 6e-15.
func ln(x float64) float64 {
	const fraction = 1<<52 - 1
	b := math.Float64bits(x)
	t := &lnTable[b>>(52-lnBits)&(1<<lnBits-1)]
	r := math.Float64frombits(b&fraction|1023<<52)*t.inverse - 1
	rr := r * r
	return (float64(int(b>>52)-1023)*math.Ln2 + t.ln) + (r - rr*((1./2-r*(1./3))+rr*(1./4)))
}

// Bins gathers closest approaches of one pattern at one edge before they are
// stored. The zero value is empty.
type Bins struct {
	rate [BinCount]float64
	lnD  [BinCount]float64 // rate times ln d
}

// Add counts closest approaches at the rate in 1/s and a distance; those beyond
// BinMaxM are left out.
func (s *Bins) Add(rate float64, at Approach) {
	if at.bin < 0 || !(rate > 0) {
		return
	}
	s.rate[at.bin] += rate
	s.lnD[at.bin] += rate * at.lnD
}

// In is what was gathered in bin number b: the rate in 1/s and the geometric mean
// distance in metres, which is 0 if there is nothing.
func (s *Bins) In(b int) (rate, dM float64) {
	if s.rate[b] == 0 {
		return 0, 0
	}
	return s.rate[b], math.Exp(s.lnD[b] / s.rate[b])
}

// Pack stores what was gathered, with all rates multiplied by k.
func (s *Bins) Pack(k float64) (out [BinCount]Bin) {
	for b, r := range s.rate {
		if r > 0 {
			out[b] = makeBin(b, r*k, s.lnD[b]/r)
		}
	}
	return out
}
