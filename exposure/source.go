package exposure

import (
	"math"

	"wideberth/osmdata/plane"
)

// Nearest gives the distance in metres from a point to where a source's triggers
// are, and a point of the source to tell its side by.
func (s *Source) Nearest(at plane.Point) (distM float64, toward plane.Point) {
	if len(s.Area) == 0 {
		return max(0, s.At.DistanceM(at)-float64(s.RadiusM)), s.At
	}
	distM, toward = math.Inf(1), s.At
	for i := range s.Area {
		if d := s.Area[i].DistanceM(at); d < distM {
			distM, toward = d, s.Area[i].Centroid()
		}
	}
	return distM, toward
}

// Label is the name of a source, or what it is.
func (s *Source) Label() string {
	if s.Name != "" {
		return s.Name
	}
	return SourceNoun(s.As)
}
