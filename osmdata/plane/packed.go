package plane

import (
	"encoding/binary"
	"math"
)

// Centimetres is a place in whole centimetres east and north of a frame's origin, which is
// what OpenStreetMap's own unit (1e-7 degrees) comes to. It reaches 21,000 km.
type Centimetres [2]int32

const cmPerM = 100

// Rounded is the place nearest to a point.
func Rounded(p Point) Centimetres { return Centimetres{rounded(p.X), rounded(p.Y)} }

func rounded(m float64) int32 {
	if m != m {
		return 0
	}
	return int32(math.Round(max(math.MinInt32, min(math.MaxInt32, cmPerM*m))))
}

// Point is the place in metres.
func (c Centimetres) Point() Point { return Point{float64(c[0]) / cmPerM, float64(c[1]) / cmPerM} }

// Extent is the ground that packed lines lie on: least and largest place. Whatever bytes
// are unpacked, their points lie on it.
type Extent [2]Centimetres

// NoExtent holds nothing.
var NoExtent = Extent{{math.MaxInt32, math.MaxInt32}, {math.MinInt32, math.MinInt32}}

// With is the extent with one more place.
func (x Extent) With(c Centimetres) Extent {
	for i := range c {
		x[0][i], x[1][i] = min(x[0][i], c[i]), max(x[1][i], c[i])
	}
	return x
}

// Held is the place of the extent nearest to c.
func (x Extent) Held(c Centimetres) Centimetres {
	return Centimetres{max(x[0][0], min(x[1][0], c[0])), max(x[0][1], min(x[1][1], c[1]))}
}

// Pack appends a line's points to dst: for each the way from the one before, the first
// from a given place, east and north in whole centimetres as zigzag varints of seven
// bits a byte, the low ones first. Rounding does not add up along the line.
func Pack(dst []byte, from Centimetres, line []Point) []byte {
	for _, p := range line {
		c := Rounded(p)
		dst = binary.AppendVarint(dst, int64(c[0])-int64(from[0]))
		dst = binary.AppendVarint(dst, int64(c[1])-int64(from[1]))
		from = c
	}
	return dst
}

// Unpack appends the points of a packed line to dst. Bytes that make no sense end it.
func (x *Extent) Unpack(dst []Point, packed []byte, from Centimetres) []Point {
	for len(packed) > 0 {
		east, n := binary.Varint(packed)
		if n <= 0 {
			return dst
		}
		north, m := binary.Varint(packed[n:])
		if m <= 0 {
			return dst
		}
		packed = packed[n+m:]
		from = x.Held(Centimetres{moved(from[0], east), moved(from[1], north)})
		dst = append(dst, from.Point())
	}
	return dst
}

// moved is a coordinate moved by a way, held within what there is.
func moved(c int32, by int64) int32 {
	by = max(-1<<33, min(1<<33, by))
	return int32(max(math.MinInt32, min(math.MaxInt32, int64(c)+by)))
}

// Points is the number of points of a packed line, without unpacking it: every number
// ends with the one byte that is less than 128.
func Points(packed []byte) (n int) {
	for _, b := range packed {
		if b < 0x80 {
			n++
		}
	}
	return n / 2
}
