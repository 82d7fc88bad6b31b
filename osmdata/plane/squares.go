package plane

import (
	"math"
	"sync"
)

// Square names a square of the earth: its row, south to north, and column, west to east. Squares hang on degrees and not on a map's
// own frame, so that a part of a map has those of the whole.
type Square struct{ Row, Col int32 }

// MetresPerDegree is of latitude, on a sphere of the earth's mean radius.
const MetresPerDegree = meanRadiusM * math.Pi / 180

const meanRadiusM = 6371008.8

// Earth finds the square of a place. Degrees come from a net of exact points 250 m
// apart, between which the error of straight lines is below three millimetres. Not
// safe for concurrent use: see Apart.
type Earth struct {
	frame Frame
	net   *net
	mesh  [meshes]mesh // those of the net looked at last, by their place
}

// net is the exact points of a frame as far as they were asked for.
type net struct {
	mu    sync.Mutex
	knots cellTable
	deg   [][2]float64 // by number of the knot
}

// mesh is a square of the net with the degrees of its corners.
type mesh struct {
	at             Square
	known          bool
	sw, se, nw, ne [2]float64
}

// meshes is how many squares of the net are kept at hand: most places that are asked for
// lie near the one before.
const meshes = 256

const knotM = 250.0

// NewEarth makes the earth of a frame.
func NewEarth(f Frame) *Earth { return &Earth{frame: f, net: &net{knots: newCellTable(0)}} }

// Apart is the same earth for somebody who asks beside others: what one found out the
// others know.
func (w *Earth) Apart() *Earth { return &Earth{frame: w.frame, net: w.net} }

// Degrees gives longitude and latitude of a place.
func (w *Earth) Degrees(p Point) (lon, lat float64) {
	x, y := p.X/knotM, p.Y/knotM
	i, j := math.Floor(x), math.Floor(y)
	x, y = x-i, y-j
	at := Square{int32(j), int32(i)}
	m := &w.mesh[uint32(at.Row*16^at.Col)%meshes]
	if m.at != at || !m.known {
		*m = w.net.mesh(w.frame, at)
	}
	return m.mix(0, x, y), m.mix(1, x, y)
}

// mix is the degrees at a place of the mesh, of longitude (0) or latitude (1).
func (m *mesh) mix(k int, x, y float64) float64 {
	south, north := m.sw[k]+x*(m.se[k]-m.sw[k]), m.nw[k]+x*(m.ne[k]-m.nw[k])
	return south + y*(north-south)
}

// mesh is that at a place of the net.
func (n *net) mesh(f Frame, at Square) mesh {
	n.mu.Lock()
	defer n.mu.Unlock()
	return mesh{at: at, known: true, sw: n.knot(f, at), se: n.knot(f, Square{at.Row, at.Col + 1}),
		nw: n.knot(f, Square{at.Row + 1, at.Col}), ne: n.knot(f, Square{at.Row + 1, at.Col + 1})}
}

func (n *net) knot(f Frame, at Square) [2]float64 {
	k := int(n.knots.add(at.Col, at.Row))
	if k == len(n.deg) {
		lon, lat := f.Inverse(Point{X: float64(at.Col) * knotM, Y: float64(at.Row) * knotM})
		n.deg = append(n.deg, [2]float64{lon, lat})
	}
	return n.deg[k]
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
