package survey

import (
	"math"

	"wideberth/osmdata/plane"
)

// square names a square of the earth. Squares hang on degrees and not on a map's
// own frame, so that a part of a map has those of the whole.
type square struct{ row, col int32 }

// metresPerDegree is of latitude, on a sphere of the earth's mean radius.
const metresPerDegree = 6371008.8 * math.Pi / 180

// earth finds the square of a place. Degrees come from a net of exact points 250 m
// apart, between which the error of straight lines is below three millimetres. Not
// safe for concurrent use.
type earth struct {
	frame plane.Frame
	knots map[square][2]float64
}

const knotM = 250.0

func newEarth(f plane.Frame) *earth { return &earth{f, map[square][2]float64{}} }

// degrees gives longitude and latitude of a place.
func (w *earth) degrees(p plane.Point) (lon, lat float64) {
	x, y := p.X/knotM, p.Y/knotM
	i, j := math.Floor(x), math.Floor(y)
	x, y = x-i, y-j
	at := square{int32(j), int32(i)}
	sw, se := w.knot(at), w.knot(square{at.row, at.col + 1})
	nw, ne := w.knot(square{at.row + 1, at.col}), w.knot(square{at.row + 1, at.col + 1})
	mix := func(k int) float64 {
		south, north := sw[k]+x*(se[k]-sw[k]), nw[k]+x*(ne[k]-nw[k])
		return south + y*(north-south)
	}
	return mix(0), mix(1)
}

func (w *earth) knot(at square) [2]float64 {
	d, ok := w.knots[at]
	if !ok {
		d[0], d[1] = w.frame.Inverse(plane.Point{X: float64(at.col) * knotM, Y: float64(at.row) * knotM})
		w.knots[at] = d
	}
	return d
}

// square gives the square of about sideM metres that a place lies in: rows of equal
// latitude, in each columns as wide as the row is high.
func (w *earth) square(p plane.Point, sideM float64) square {
	lon, lat := w.degrees(p)
	return squareAt(lon, lat, sideM)
}

func squareAt(lon, lat, sideM float64) square {
	const least = 1e-7 // degrees: what OpenStreetMap keeps
	lon, lat = math.Round(lon/least)*least, math.Round(lat/least)*least
	high := sideM / metresPerDegree
	row := math.Floor(lat / high)
	return square{int32(row), int32(math.Floor(lon / columnDeg(row, high)))}
}

// columnDeg is how wide in degrees a column of a row is.
func columnDeg(row, high float64) float64 {
	return high / max(0.01, math.Cos((row+.5)*high*math.Pi/180))
}

// around lists the squares of a block of n by n about the square of a place, n odd:
// columns of other rows are those nearest above and below.
func (w *earth) around(at square, sideM float64, n int32) []square {
	high := sideM / metresPerDegree
	lon := (float64(at.col) + .5) * columnDeg(float64(at.row), high)
	out := make([]square, 0, n*n)
	for row := at.row - n/2; row <= at.row+n/2; row++ {
		middle := int32(math.Floor(lon / columnDeg(float64(row), high)))
		for col := middle - n/2; col <= middle+n/2; col++ {
			out = append(out, square{row, col})
		}
	}
	return out
}
