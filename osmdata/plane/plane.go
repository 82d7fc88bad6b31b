// Package plane is ground geometry in metres. Longitude and latitude become
// metres once, in a Frame, and everything inside the house works on the plane:
// how far, where along, what is near, can one see the other.
package plane

import "math"

// Point is a place in metres east (X) and north (Y) of a frame's origin.
type Point struct{ X, Y float64 }

// Sub gives the vector from q to p.
func (p Point) Sub(q Point) Point { return Point{p.X - q.X, p.Y - q.Y} }

// Add gives p moved by the vector q.
func (p Point) Add(q Point) Point { return Point{p.X + q.X, p.Y + q.Y} }

// Mul gives the vector p stretched by k.
func (p Point) Mul(k float64) Point { return Point{p.X * k, p.Y * k} }

// Dot is the scalar product of two vectors.
func (p Point) Dot(q Point) float64 { return p.X*q.X + p.Y*q.Y }

// Cross is the z component of the vector product: positive when q lies to the
// left of p.
func (p Point) Cross(q Point) float64 { return p.X*q.Y - p.Y*q.X }

// NormM is the length of the vector in metres.
func (p Point) NormM() float64 { return math.Sqrt(p.X*p.X + p.Y*p.Y) } // no overflow on the earth: Hypot costs three times as much

// DistanceM is the distance in metres between two points.
func (p Point) DistanceM(q Point) float64 { return p.Sub(q).NormM() }

// Polyline is a line through its points in order.
type Polyline []Point

// Ring is a closed line; the first point is not repeated at the end.
type Ring []Point

// Polygon is an outer ring with holes.
type Polygon struct {
	Outer Ring
	Holes []Ring
}

// Box is an axis-parallel rectangle; an empty box has Min beyond Max.
type Box struct{ Min, Max Point }
