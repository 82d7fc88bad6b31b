package reach

import "wideberth/osmdata/plane"

// LineOfCourse is the geometry of a course in walking order.
func (land *Land) LineOfCourse(c Course) (line plane.Polyline) {
	for _, d := range c {
		piece := land.LineOf(d)
		if len(line) > 0 && len(piece) > 0 && line[len(line)-1].DistanceM(piece[0]) < nearM {
			piece = piece[1:]
		}
		line = append(line, piece...)
	}
	return line
}
