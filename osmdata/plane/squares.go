package plane

import (
	"math"
)

// Square names a square of the earth: its row, south to north, and column, west to east. Squares hang on degrees and not on a map's
// own frame, so that a part of a map has those of the whole.
type Square struct{ Row, Col int32 }

// MetresPerDegree is of latitude, on a sphere of the earth's mean radius.
const MetresPerDegree = meanRadiusM * math.Pi / 180

const meanRadiusM = 6371008.8

// Earth finds the square of a place. Degrees come from a net of exact points 250 m
// apart, between which the error of straight lines is below three millimetres. Not
// safe for concurrent use.
type Earth struct {
	frame  Frame
	knots  map[Square][2]float64
	last   Square        // whose south-west knot was asked for last
	corner [4][2]float64 // the knots about it, from the south-west one eastward; zero before the first
	asked  bool
}

const knotM = 250.0

// NewEarth makes the earth of a frame.
func NewEarth(f Frame) *Earth { return &Earth{frame: f, knots: map[Square][2]float64{}} }

// Degrees gives longitude and latitude of a place.
func (w *Earth) Degrees(p Point) (lon, lat float64) {
	x, y := p.X/knotM, p.Y/knotM
	i, j := math.Floor(x), math.Floor(y)
	x, y = x-i, y-j
	if at := (Square{int32(j), int32(i)}); at != w.last || !w.asked {
		w.last, w.asked = at, true
		w.corner = [4][2]float64{w.knot(at), w.knot(Square{at.Row, at.Col + 1}), w.knot(Square{at.Row + 1, at.Col}), w.knot(Square{at.Row + 1, at.Col + 1})}
	}
	c := &w.corner
	mix := func(k int) float64 {
		south, north := c[0][k]+x*(c[1][k]-c[0][k]), c[2][k]+x*(c[3][k]-c[2][k])
		return south + y*(north-south)
	}
	return mix(0), mix(1)
}

func (w *Earth) knot(at Square) [2]float64 {
	d, ok := w.knots[at]
	if !ok {
		d[0], d[1] = w.frame.Inverse(Point{X: float64(at.Col) * knotM, Y: float64(at.Row) * knotM})
		w.knots[at] = d
	}
	return d
}

// Square gives the square of about sideM metres that a place lies in: rows of equal
// latitude, in each columns as wide as the row is high.
func (w *Earth) Square(p Point, sideM float64) Square {
	lon, lat := w.Degrees(p)
	return squareAt(lon, lat, sideM)
}

// Node gives longitude and latitude of a node as OpenStreetMap keeps them, the same on
// every plane.
func (w *Earth) Node(p Point) (lon, lat float64) { return kept(w.Degrees(p)) }

func kept(lon, lat float64) (float64, float64) {
	const least = 1e-7 // degrees
	return math.Round(lon/least) * least, math.Round(lat/least) * least
}

func squareAt(lon, lat, sideM float64) Square {
	lon, lat = kept(lon, lat)
	high := sideM / MetresPerDegree
	row := math.Floor(lat / high)
	return Square{int32(row), int32(math.Floor(lon / columnDeg(row, high)))}
}

// columnDeg is how wide in degrees a column of a row is.
func columnDeg(row, high float64) float64 {
	return high / max(0.01, math.Cos((row+.5)*high*math.Pi/180))
}

// Around lists the squares of a block of n by n about the square of a place, n odd:
// columns of other rows are those nearest above and below.
func (w *Earth) Around(at Square, sideM float64, n int32) []Square {
	high := sideM / MetresPerDegree
	lon := (float64(at.Col) + .5) * columnDeg(float64(at.Row), high)
	out := make([]Square, 0, n*n)
	for row := at.Row - n/2; row <= at.Row+n/2; row++ {
		middle := int32(math.Floor(lon / columnDeg(float64(row), high)))
		for col := middle - n/2; col <= middle+n/2; col++ {
			out = append(out, Square{row, col})
		}
	}
	return out
}
