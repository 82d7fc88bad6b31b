package sound

import "math"

// Spherical gives the level of a point source at one distance from that at
// another, by spreading alone: L - 20 log10(d / dRef).
func Spherical(levelDB, refM, distanceM float64) float64 {
	return levelDB - 2*toDB(distanceM/refM)
}

// DistanceFor gives the distance from an endless straight way at which its
// continuous level in the open falls to levelDB, from MinOffsetM to
// maxDistanceM.
func (t Traffic) DistanceFor(levelDB float64) float64 {
	h := t.newHearing()
	return distanceFor(levelDB, MinOffsetM, func(d float64) float64 {
		return h.level(d, math.Inf(-1), math.Inf(1))
	})
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

// passByM is the usual measuring distance of a vehicle passing (ISO 362).
const passByM = 7.5

// passBy gives the level of a single vehicle passing at passByM, as a point source over
// hard ground: its A-weighted sound power less 10 log10(2 pi d^2).
func passBy(heavy bool, speedMPS float64) (levelDB float64) {
	c := &lightVehicle
	if heavy {
		c = &heavyVehicle
	}
	return c.power(speedKMH(speedMPS)).dba() - toDB(2*math.Pi*passByM*passByM)
}
