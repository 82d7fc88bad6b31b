package reach

import (
	"encoding/base64"
	"encoding/binary"
	"errors"
	"fmt"
	"math"
)

// Directed is a stretch of a network edge walked in one direction.
type Directed struct {
	Edge  int32   // of the network
	FromM float32 // along the edge's geometry
	ToM   float32 // less than FromM when walked against it
}

// Against says that the stretch is walked against the edge's geometry.
func (d Directed) Against() bool { return d.ToM < d.FromM }

// Course is a walk as bare ground: what is walked, in order, and nothing of what
// it brings. It belongs to one network.
type Course []Directed

// ErrNoCourse says that a course is none on this network: it names what is not
// there, leaps, or does not begin where it should.
var ErrNoCourse = errors.New("not a walk on this map")

// Course is the ground of arcs of the reach, in walking order.
func (r *Reach) Course(arcs []int32) Course {
	c := make(Course, len(arcs))
	for i, a := range arcs {
		c[i] = r.Piece[a].Directed
	}
	return c
}

// nearM is how far two numbers of one place may lie apart: courses are written in
// centimetres.
const nearM = 0.02

// Along gives the arcs of the reach that a course walks, from the door on. What
// cannot be walked so is an ErrNoCourse.
func (r *Reach) Along(c Course) ([]int32, error) { return r.from(r.Door, c) }

// Homeward is Along for a course that begins at the goal.
func (r *Reach) Homeward(c Course) ([]int32, error) { return r.from(r.Goal, c) }

func (r *Reach) from(at int32, c Course) ([]int32, error) {
	arcs := make([]int32, 0, len(c))
	for i, d := range c {
		next := int32(-1)
		for a := r.Star.First[at]; a < r.Star.First[at+1]; a++ {
			p := &r.Piece[a].Directed
			if p.Edge == d.Edge && p.Against() == d.Against() && math.Abs(float64(p.FromM-d.FromM)) < nearM && math.Abs(float64(p.ToM-d.ToM)) < nearM {
				next = a
			}
		}
		if next < 0 {
			return nil, fmt.Errorf("%w: piece %d of %d does not follow", ErrNoCourse, i+1, len(c))
		}
		arcs = append(arcs, next)
		at = r.Star.Head[next]
	}
	return arcs, nil
}

// LengthM is the length of a course in metres.
func (c Course) LengthM() (m float64) {
	for _, d := range c {
		m += math.Abs(float64(d.ToM - d.FromM))
	}
	return m
}

// mostPieces bounds a course: three hours at 1.2 m/s in pieces of 1.3 m.
const mostPieces = 10_000

// MarshalText writes a course in a few bytes a piece: for each the edge, the
// direction and whether it is the whole edge, else its ends in centimetres, as
// variable-length numbers (Protocol Buffers' varints) in unpadded base64url (RFC 4648).
// An edge walked whole needs its length to be read back: see Land.Course.
func (land *Land) MarshalCourse(c Course) string {
	var b []byte
	last := int64(0)
	for _, d := range c {
		whole := min(d.FromM, d.ToM) == 0 && max(d.FromM, d.ToM) == land.Snap.Graph.LengthM[d.Edge]
		b = binary.AppendVarint(b, int64(d.Edge)-last)
		last = int64(d.Edge)
		flags := uint64(0)
		if d.Against() {
			flags |= 1
		}
		if !whole {
			flags |= 2
		}
		b = binary.AppendUvarint(b, flags)
		if !whole {
			b = binary.AppendUvarint(b, cm(d.FromM))
			b = binary.AppendUvarint(b, cm(d.ToM))
		}
	}
	return base64.RawURLEncoding.EncodeToString(b)
}

func cm(m float32) uint64 { return uint64(math.Round(100 * float64(max(m, 0)))) }

// UnmarshalCourse reads a course that MarshalCourse wrote on the same network. What
// cannot be one is an ErrNoCourse.
func (land *Land) UnmarshalCourse(text string) (Course, error) {
	b, err := base64.RawURLEncoding.DecodeString(text)
	if err != nil {
		return nil, fmt.Errorf("%w: %w", ErrNoCourse, err)
	}
	g := land.Snap.Graph
	var c Course
	for at := int64(0); len(b) > 0; {
		step, n := binary.Varint(b)
		if n <= 0 || len(c) == mostPieces {
			return nil, fmt.Errorf("%w: unreadable after %d pieces", ErrNoCourse, len(c))
		}
		b = b[n:]
		at += step
		if at < 0 || at >= int64(g.EdgeCount()) {
			return nil, fmt.Errorf("%w: there is no edge %d", ErrNoCourse, at)
		}
		flags, n := binary.Uvarint(b)
		if n <= 0 || flags > 3 {
			return nil, fmt.Errorf("%w: unreadable after %d pieces", ErrNoCourse, len(c))
		}
		b = b[n:]
		d := Directed{Edge: int32(at), ToM: g.LengthM[at]}
		if flags&2 != 0 {
			var ends [2]float32
			for i := range ends {
				v, n := binary.Uvarint(b)
				if n <= 0 || float64(v)/100 > float64(g.LengthM[at])+nearM {
					return nil, fmt.Errorf("%w: unreadable after %d pieces", ErrNoCourse, len(c))
				}
				b = b[n:]
				ends[i] = min(float32(float64(v)/100), g.LengthM[at])
			}
			d.FromM, d.ToM = ends[0], ends[1]
		} else if flags&1 != 0 {
			d.FromM, d.ToM = d.ToM, d.FromM
		}
		if d.Against() != (flags&1 != 0) && d.FromM != d.ToM {
			return nil, fmt.Errorf("%w: piece %d leads two ways", ErrNoCourse, len(c)+1)
		}
		c = append(c, d)
	}
	return c, nil
}
