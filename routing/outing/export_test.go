package outing

import "wideberth/osmdata/plane"

// Place is where a row's walk is at a progress, in seconds at the usual pace.
func (r *Row) Place(progressS float64) plane.Point {
	t := tracer{line: r.Line, atS: r.ProgressS}
	return t.at(progressS)
}
