package survey

import (
	"math"

	"wideberth/osmdata/elevation"
	"wideberth/osmdata/plane"
)

// riseOn gives what the climbs along a line cost a rider, with the line and against
// it, as a factor on its length. Ground without a height, or whose tile cannot be
// read, is level: the import itself tells of tiles that it cannot read.
func riseOn(m *elevation.Model, w *plane.Earth) func(plane.Polyline) (along, against float64) {
	height := func(p plane.Point) (float64, bool) {
		lon, lat := w.Degrees(p)
		h, ok, err := m.At(lon, lat)
		return h, ok && err == nil
	}
	return func(line plane.Polyline) (along, against float64) {
		long := line.LengthM()
		steps := max(1, int(math.Round(long/rideSlopeStepM)))
		last, known := height(line[0])
		for i := 1; i <= steps; i++ {
			h, ok := height(line.At(long * float64(i) / float64(steps)))
			slope := 0.0
			if ok && known {
				slope = (h - last) / max(rideSlopeStepM, long/float64(steps))
			}
			along += climbFactor(slope) / float64(steps)
			against += climbFactor(-slope) / float64(steps)
			last, known = h, ok
		}
		return along, against
	}
}
