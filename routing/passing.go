package routing

import (
	"math"

	"wideberth/exposure"
	"wideberth/osmdata/plane"
)

// samePassM is by how much in metres a second passing must be nearer to be told in
// place of the first: there and back by one way passes everything twice alike.
const samePassM = 0.01

// nearer measures where stretch i of the walk comes nearest to a source and keeps
// the nearest. Within the circle of a source without an outline the distance is
// negative, so that the place nearest to its middle is found.
func (p *Planner) nearer(got *Passed, parts []stretch, i int) {
	s := &parts[i]
	alongM, distM, toward := approach(p.land.Snap.Field.Source(got.Source), s.line)
	if distM >= got.NearestM-samePassM {
		return
	}
	got.NearestM = distM
	got.FromM = s.startM + alongM
	got.AtS = s.startS + s.timeS*min(1, alongM/max(s.lengthM, 1e-9))
	line, beforeM := amid(parts, i)
	got.Side = "right"
	if line.LeftOf(beforeM+alongM, toward) {
		got.Side = "left"
	}
}

// amid is the line of stretch i with that of its neighbours, and how far along it
// the stretch begins: a source at a corner lies beside both stretches.
func amid(parts []stretch, i int) (line plane.Polyline, beforeM float64) {
	if i > 0 {
		line = Joined(line, parts[i-1].line)
		beforeM = line.LengthM()
	}
	line = Joined(line, parts[i].line)
	if i+1 < len(parts) {
		line = Joined(line, parts[i+1].line)
	}
	return line, beforeM
}

// approach gives where along a line it comes nearest to where a source's triggers
// are, the distance there, both in metres, and the point of the source to tell its
// side by: the nearest one, or the middle of ground that the line runs through.
func approach(s *exposure.Source, l plane.Polyline) (alongM, distM float64, toward plane.Point) {
	if len(s.Area) == 0 {
		_, alongM, distM = l.Nearest(s.At)
		return alongM, distM - float64(s.RadiusM), s.At
	}
	distM, toward = math.Inf(1), s.At
	for i := range s.Area {
		along, d, to := s.Area[i].Approach(l)
		if d >= distM {
			continue
		}
		if d == 0 {
			to = s.Area[i].Centroid()
		}
		alongM, distM, toward = along, d, to
	}
	return alongM, distM, toward
}
