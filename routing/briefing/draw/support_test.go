package draw

import "math"

// secondsAt is the time at a place of the walk.
func (s *Scene) secondsAt(fromM float64) float64 {
	at := 0.0
	for i := range s.Walk.Legs {
		l := &s.Walk.Legs[i]
		if fromM <= at+l.LengthM || i == len(s.Walk.Legs)-1 {
			return l.StartS + l.DurationS*min(1, (fromM-at)/max(l.LengthM, 1e-9))
		}
		at += l.LengthM
	}
	return 0
}

// nearest is the sample nearest to a place along the walk.
func (b *Band) nearest(fromM float64) int {
	best := 0
	for i := range b.Samples {
		if math.Abs(b.Samples[i].FromM-fromM) < math.Abs(b.Samples[best].FromM-fromM) {
			best = i
		}
	}
	return best
}
