package homes

import (
	"encoding/base64"
	"encoding/binary"
	"errors"
	"fmt"
	"math"
)

// Line is places in longitude and latitude. As text it is their steps in ten millionths of
// a degree, which is what OpenStreetMap keeps: a tenth of the digits, as there is one with
// an outline in it for every tile of a map.
type Line [][2]float64

// stepsPerDegree is what a Line is kept in.
const stepsPerDegree = 1e7

// errLine is a text that is no line.
var errLine = errors.New("not a line of places")

// MarshalText packs the line.
func (l Line) MarshalText() ([]byte, error) {
	var packed []byte
	var before [2]int64
	for _, p := range l {
		for k := range p {
			at := int64(math.Round(p[k] * stepsPerDegree))
			packed = binary.AppendVarint(packed, at-before[k])
			before[k] = at
		}
	}
	return base64.RawStdEncoding.AppendEncode(nil, packed), nil
}

// UnmarshalText unpacks it.
func (l *Line) UnmarshalText(text []byte) error {
	packed, err := base64.RawStdEncoding.AppendDecode(nil, text)
	if err != nil {
		return fmt.Errorf("%w: %w", errLine, err)
	}
	*l = nil
	var at [2]int64
	for len(packed) > 0 {
		var p [2]float64
		for k := range p {
			step, n := binary.Varint(packed)
			if n <= 0 {
				return errLine
			}
			packed = packed[n:]
			at[k] += step
			p[k] = float64(at[k]) / stepsPerDegree
		}
		*l = append(*l, p)
	}
	return nil
}

// Box is west, south, east and north in degrees; the zero value holds nothing.
type Box [4]float64

// meets tells whether two boxes share a place.
func (b Box) meets(o Box) bool {
	return b != Box{} && o != Box{} && b[0] <= o[2] && o[0] <= b[2] && b[1] <= o[3] && o[1] <= b[3]
}

// with is the least box with a place as well.
func (b Box) with(lon, lat float64) Box {
	if b == (Box{}) {
		return Box{lon, lat, lon, lat}
	}
	return Box{min(b[0], lon), min(b[1], lat), max(b[2], lon), max(b[3], lat)}
}

// box is about the settlement.
func (s *Settlement) box() (b Box) {
	for _, ring := range s.Area {
		for _, p := range ring {
			b = b.with(p[0], p[1])
		}
	}
	if len(s.Area) == 0 {
		high := s.ReachM / metresPerDegree
		wide := high / max(0.01, math.Cos(s.At[1]*math.Pi/180))
		b = Box{s.At[0] - wide, s.At[1] - high, s.At[0] + wide, s.At[1] + high}
	}
	return b
}

// metresPerDegree is less than the metres of a degree of latitude anywhere on earth, so
// that boxes are rather too large.
const metresPerDegree = 110000.0

// About is what the whole tells a part of it whose homes lie in a box: of settlements
// those that meet it. Where nothing of homes is known of the part the box is zero, and it
// is told of none.
func (w *Whole) About(b Box) *Whole {
	out := *w
	out.Settlements = nil
	for i := range w.Settlements {
		if w.Settlements[i].box().meets(b) {
			out.Settlements = append(out.Settlements, w.Settlements[i])
		}
	}
	return &out
}
