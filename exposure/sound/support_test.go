package sound

import "math"

// Spherical gives the level of a point source at one distance from that at
// another, by spreading alone: L - 20 log10(d / dRef).
func Spherical(levelDB, refM, distanceM float64) float64 {
	return levelDB - 2*toDB(distanceM/refM)
}

// Cylindrical is the same for an endless line: L - 10 log10(d / dRef).
func Cylindrical(levelDB, refM, distanceM float64) float64 {
	return levelDB - toDB(distanceM/refM)
}

// SourceOf gives the built-in source of a kind. It is shared: do not change
// it. It panics for a value that is none of the constants.
func SourceOf(k Kind) *Source { return &sources[k] }

// Kinds lists all kinds with a built-in source.
func Kinds() []Kind {
	list := make([]Kind, kindCount)
	for i := range list {
		list[i] = Kind(i)
	}
	return list
}

// OpenDistance gives the distance in the open at which the source would be as
// loud as it is at a distance behind a screen. With it a distance that a
// dog copes with, learnt in the open, speaks for sounds behind houses too.
func (s *Source) OpenDistance(distanceM float64, between Shielding) float64 {
	return s.distanceFor(s.LevelAt(distanceM, between))
}

// distanceFor gives the distance from an endless straight way at which its
// continuous level in the open falls to levelDB, from MinOffsetM to
// maxDistanceM.
func (t Traffic) DistanceFor(levelDB float64) float64 {
	h := t.newHearing()
	return distanceFor(levelDB, MinOffsetM, func(d float64) float64 {
		return h.level(d, math.Inf(-1), math.Inf(1))
	})
}

// PassBy gives a single vehicle passing, as a point source over hard ground:
// its A-weighted sound power less 10 log10(2 pi d^2), at the usual measuring
// distance of 7.5 m (ISO 362).
func PassBy(heavy bool, speedMPS float64) Source {
	const measuredM = 7.5
	const carHz = 1000 // where tyre noise peaks
	s := Source{Name: "car passing", RefM: measuredM, FreqHz: carHz, Origin: "CNOSSOS-EU emission"}
	c := &lightVehicle
	if heavy {
		s.Name, c = "heavy vehicle passing", &heavyVehicle
	}
	s.LevelDB = c.power(speedKMH(speedMPS)).dba() - toDB(2*math.Pi*measuredM*measuredM)
	return s
}
