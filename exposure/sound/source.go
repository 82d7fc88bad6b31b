package sound

import "math"

// Shielding is what stands between a source and a listener, as a loss in dB.
type Shielding float64

// Losses by rule of thumb (FHWA Roadway Construction Noise Model, User's Guide
// 2006, appendix A). Between them any loss from 0 may be used.
const (
	InTheOpen         Shielding = 0
	SightJustBroken   Shielding = 3  // a barrier or a bank just breaks the line of sight
	ScreenWithGaps    Shielding = 5  // a full screen with gaps
	SolidScreen       Shielding = 8  // a full, solid screen
	EnclosedScreened  Shielding = 10 // the source enclosed and screened
	BuildingInBetween Shielding = 15 // a building fully in between
)

// minDistanceM and maxDistanceM bound all distances: nearer than the one a
// source is no point any more, beyond the other wind and ground rule.
const (
	minDistanceM = 1.0
	maxDistanceM = 20_000.0
)

// Source is something heard as an event, by its highest level (LAmax).
type Source struct {
	Name string
	// LevelDB is the level in dB(A) at RefM metres in the open.
	LevelDB, RefM float64
	// LengthM is how long the source is, 0 for a point. A train is as long as
	// it is, seen square on.
	LengthM float64
	// FreqHz is the frequency at which the air's absorption is taken.
	FreqHz float64
	// Origin says where the level comes from; Assumed that it is ours.
	Origin  string
	Assumed bool
}

// LevelAt gives the level in dB(A) at a distance in metres,
//
//	L = LevelDB + 10 log10( g(d) / g(RefM) ) - alpha (d - RefM) - shielding
//
// with g = 1/d^2 for a point (6.02 dB per doubling) and, for an incoherent line
// of length l seen square on, g = 2 atan(l / 2d) / (l d), which falls by 3.01
// dB per doubling near it and by 6.02 dB far away. alpha is that of
// standardAir at FreqHz. Distances are held between minDistanceM and
// maxDistanceM; a negative shielding counts as none.
func (s *Source) LevelAt(distanceM float64, between Shielding) float64 {
	d := min(max(distanceM, minDistanceM), maxDistanceM)
	return s.levelAt(d, standardAir().absorptionDBPerM(s.FreqHz)) - max(float64(between), 0)
}

func (s *Source) levelAt(d, alpha float64) float64 {
	return s.LevelDB + toDB(s.spread(d)/s.spread(s.RefM)) - alpha*(d-s.RefM)
}

func (s *Source) spread(d float64) float64 {
	if s.LengthM == 0 {
		return 1 / (d * d)
	}
	return 2 * math.Atan(s.LengthM/(2*d)) / (s.LengthM * d)
}

// distanceFor gives the distance in metres at which the source is heard at a
// level in the open: the inverse of LevelAt. Levels that are not reached
// between minDistanceM and maxDistanceM give the nearer bound.
func (s *Source) distanceFor(levelDB float64) float64 {
	alpha := standardAir().absorptionDBPerM(s.FreqHz)
	return distanceFor(levelDB, minDistanceM, func(d float64) float64 { return s.levelAt(d, alpha) })
}

// distanceFor inverts a level that falls with distance, by halving the
// interval of log d.
func distanceFor(levelDB, nearest float64, levelAt func(float64) float64) float64 {
	low, high := math.Log(nearest), math.Log(maxDistanceM)
	switch {
	case levelAt(nearest) <= levelDB:
		return nearest
	case levelAt(maxDistanceM) >= levelDB:
		return maxDistanceM
	}
	const halvings = 45 // to 1e-13 of the distance
	for range halvings {
		middle := (low + high) / 2
		if levelAt(math.Exp(middle)) > levelDB {
			low = middle
		} else {
			high = middle
		}
	}
	return math.Exp((low + high) / 2)
}
