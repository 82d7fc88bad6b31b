package plane

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/maptile"
)

// Quad is a square of the Web Mercator quadtree (EPSG:3857, within 85.05 degrees of
// the equator): column X from the west and row Y from the north, of 2^Zoom each way.
type Quad struct {
	Zoom uint8
	X, Y uint32
}

// MaxQuadZoom is the finest quad that has a key: its columns are narrower than what
// OpenStreetMap keeps of a degree.
const MaxQuadZoom = 30

// QuadAt finds the quad of a zoom that a place in degrees lies in. What lies beyond the
// square of the earth counts to the row or column nearest to it.
func QuadAt(lonDeg, latDeg float64, zoom uint8) Quad {
	t := maptile.At(orb.Point{lonDeg, latDeg}, maptile.Zoom(zoom))
	return Quad{zoom, min(t.X, 1<<zoom-1), t.Y}
}

// Key names the quad by the way to it from the whole earth, a digit for each step: 0
// north-west, 1 north-east, 2 south-west, 3 south-east. A quad's key begins with those
// of the quads that hold it.
func (q Quad) Key() string {
	digits := make([]byte, q.Zoom)
	for i := range digits {
		step := int(q.Zoom) - 1 - i
		digits[i] = '0' + byte(q.X>>step&1) + 2*byte(q.Y>>step&1)
	}
	return string(digits)
}

// ParseQuad reads a key.
func ParseQuad(key string) (Quad, error) {
	q := Quad{Zoom: uint8(min(len(key), math.MaxUint8))}
	if len(key) > MaxQuadZoom {
		return Quad{}, fmt.Errorf("%.40q is no key of a tile: longer than %d digits", key, MaxQuadZoom)
	}
	for _, d := range []byte(key) {
		if d < '0' || d > '3' {
			return Quad{}, fmt.Errorf("%q is no key of a tile: want digits from 0 to 3", key)
		}
		q.X, q.Y = q.X<<1|uint32(d-'0')&1, q.Y<<1|uint32(d-'0')>>1
	}
	return q, nil
}

// Degrees gives the quad's sides.
func (q Quad) Degrees() (west, south, east, north float64) {
	b := maptile.New(q.X, q.Y, maptile.Zoom(q.Zoom)).Bound()
	return b.Min.Lon(), b.Min.Lat(), b.Max.Lon(), b.Max.Lat()
}

// Quarters are the four quads of the next zoom, in the order of their digits.
func (q Quad) Quarters() [4]Quad {
	z, x, y := q.Zoom+1, q.X<<1, q.Y<<1
	return [4]Quad{{z, x, y}, {z, x + 1, y}, {z, x, y + 1}, {z, x + 1, y + 1}}
}
