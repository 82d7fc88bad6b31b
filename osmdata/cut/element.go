package cut

import (
	"encoding/binary"
	"errors"
	"io"

	"github.com/paulmach/osm"
)

// Elements on their way to a block are written one after another, each with its length
// before it: a letter for its kind, its id, version and tags, and what follows for its kind. A
// way has the places of its nodes with it, so that a block needs nothing else.
type element struct {
	kind    byte
	id      int64
	version int // 0 where it is not known, as of nodes without tags that matter
	tags    osm.Tags
	at      point        // of a node
	refs    []int64      // of a way
	places  []point      // beside refs; noPlace where it is not known
	members []osm.Member // of a relation: type, ref and role
}

const (
	nodeKind     = 'n'
	wayKind      = 'w'
	relationKind = 'r'
)

var noPlace = point{1<<31 - 1, 1<<31 - 1}

// lines are the runs of known places of a way.
func (e *element) lines() (out lines) {
	from := 0
	for i := 0; i <= len(e.places); i++ {
		if i < len(e.places) && e.places[i] != noPlace {
			continue
		}
		if i > from {
			out = append(out, e.places[from:i])
		}
		from = i + 1
	}
	return out
}

// closed tells whether a way ends where it began and all between is known.
func (e *element) closed() bool {
	return len(e.refs) >= 4 && e.refs[0] == e.refs[len(e.refs)-1] && len(e.lines()) == 1 && e.places[0] != noPlace && e.places[len(e.places)-1] != noPlace
}

// append adds the element to b.
func (e *element) append(b []byte) []byte {
	start := len(b)
	b = append(b, 0, 0, 0, 0, e.kind) // the length, once it is known
	b = binary.AppendVarint(b, e.id)
	b = binary.AppendVarint(b, int64(e.version))
	b = binary.AppendUvarint(b, uint64(len(e.tags)))
	for _, t := range e.tags {
		b = appendText(appendText(b, t.Key), t.Value)
	}
	switch e.kind {
	case nodeKind:
		b = binary.AppendVarint(binary.AppendVarint(b, int64(e.at.lon)), int64(e.at.lat))
	case wayKind:
		b = binary.AppendUvarint(b, uint64(len(e.refs)))
		ref, at := int64(0), point{}
		for i, r := range e.refs {
			b = binary.AppendVarint(b, r-ref)
			ref = r
			p := e.places[i]
			b = binary.AppendVarint(b, int64(p.lon)-int64(at.lon))
			b = binary.AppendVarint(b, int64(p.lat)-int64(at.lat))
			at = p
		}
	case relationKind:
		b = binary.AppendUvarint(b, uint64(len(e.members)))
		for _, m := range e.members {
			b = binary.AppendVarint(appendText(b, string(m.Type)), m.Ref)
			b = appendText(b, m.Role)
		}
	}
	binary.LittleEndian.PutUint32(b[start:], uint32(len(b)-start-4))
	return b
}

func appendText(b []byte, s string) []byte {
	return append(binary.AppendUvarint(b, uint64(len(s))), s...)
}

var errElement = errors.New("an element of the import's own files is damaged: remove the folder \"unfinished\" and import again")

// head reads kind and id of an element without its length.
func head(b []byte) (kind byte, id int64, err error) {
	r := reader{b: b}
	kind, id = r.letter(), r.varint()
	return kind, id, r.err
}

// read takes in an element without its length; what e held before is given up.
func (e *element) read(b []byte) error {
	r := reader{b: b}
	*e = element{kind: r.letter(), id: r.varint(), version: int(r.varint()), refs: e.refs[:0], places: e.places[:0]}
	for range r.count() {
		e.tags = append(e.tags, osm.Tag{Key: r.text(), Value: r.text()})
	}
	switch e.kind {
	case nodeKind:
		e.at = point{int32(r.varint()), int32(r.varint())}
	case wayKind:
		ref, at := int64(0), point{}
		for range r.count() {
			ref += r.varint()
			at = point{int32(int64(at.lon) + r.varint()), int32(int64(at.lat) + r.varint())}
			e.refs, e.places = append(e.refs, ref), append(e.places, at)
		}
	case relationKind:
		for range r.count() {
			m := osm.Member{Type: osm.Type(r.text()), Ref: r.varint()}
			m.Role = r.text()
			e.members = append(e.members, m)
		}
	default:
		return errElement
	}
	return r.err
}

// reader takes bytes apart and remembers that they ended too early.
type reader struct {
	b   []byte
	err error
}

func (r *reader) letter() byte {
	if len(r.b) == 0 {
		r.err = errElement
		return 0
	}
	c := r.b[0]
	r.b = r.b[1:]
	return c
}

func (r *reader) varint() int64 {
	v, n := binary.Varint(r.b)
	if n <= 0 {
		r.b, r.err = nil, errElement
		return 0
	}
	r.b = r.b[n:]
	return v
}

// count reads how many of something follow: no more than there are bytes.
func (r *reader) count() int {
	v, n := binary.Uvarint(r.b)
	if n <= 0 || v > uint64(len(r.b)) {
		r.b, r.err = nil, errElement
		return 0
	}
	r.b = r.b[n:]
	return int(v)
}

func (r *reader) text() string {
	n := r.count()
	if n > len(r.b) {
		r.b, r.err = nil, errElement
		return ""
	}
	s := string(r.b[:n])
	r.b = r.b[n:]
	return s
}

// nextElement reads the next element of a file, into buf where it fits; io.EOF at the
// end.
func nextElement(r io.Reader, buf []byte) ([]byte, error) {
	var size [4]byte
	if _, err := io.ReadFull(r, size[:]); err != nil {
		if errors.Is(err, io.ErrUnexpectedEOF) {
			err = errElement
		}
		return buf, err
	}
	n := int(binary.LittleEndian.Uint32(size[:]))
	if n > 1<<30 {
		return buf, errElement
	}
	if cap(buf) < n {
		buf = make([]byte, n+n/2)
	}
	buf = buf[:n]
	_, err := io.ReadFull(r, buf)
	if errors.Is(err, io.EOF) {
		err = io.ErrUnexpectedEOF // else it would pass for the end of the file
	}
	if err != nil {
		return buf, errors.Join(errElement, err)
	}
	return buf, nil
}
