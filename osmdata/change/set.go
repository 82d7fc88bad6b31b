package change

import (
	"bufio"
	"bytes"
	"cmp"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"iter"
	"os"
	"slices"

	"github.com/paulmach/osm"
)

// UsualMemory is what a Set holds in memory, in bytes, before it puts some aside.
const UsualMemory = 64 << 20

// Set is what several change files come to: the newest version of each object in them,
// deleted or not. What does not fit in memory lies in files that vanish with it. Not for
// concurrent use.
type Set struct {
	memory int
	dir    string
	within *Box // nil for the whole earth
	beyond int
	arena  []byte
	found  []entry
	runs   []run // each sorted, each object once
	close  []func() error
}

// entry is one version of an object in the arena.
type entry struct {
	key
	stamp
	from, to int
}

const entryBytes = 56 // of memory, for the budget

// run is a sorted part of a set.
type run struct {
	r    io.ReaderAt
	size int64
}

// NewSet makes an empty set that holds about so many bytes in memory and puts the rest
// aside in files in dir ("" for the system's folder of temporary files).
func NewSet(memory int, dir string) *Set { return &Set{memory: memory, dir: dir} }

// Keep makes the set one of changes within a box alone: a node that lies beyond it is as
// good as deleted. For changes of a larger part of the earth than the map. Before Add.
func (s *Set) Keep(b Box) { s.within = &b }

// Aside tells whether there was more than fits in memory.
func (s *Set) Aside() bool { return len(s.close) > 0 }

// Beyond is how many versions of nodes lay beyond the box.
func (s *Set) Beyond() int { return s.beyond }

// Add takes in one version of an object. Of several the one with the highest version
// counts, of those with equal versions the one of the latest time, then the one that came
// last (as osmium-tool applies changes).
func (s *Set) Add(o osm.Object) error {
	k, v, visible, ok := describe(o)
	if !ok {
		return nil
	}
	if n, is := o.(*osm.Node); is && visible && s.within != nil && !s.within.Meets(Box{n.Lon, n.Lat, n.Lon, n.Lat}) {
		s.beyond++
		o = &osm.Node{ID: n.ID, Version: n.Version, Timestamp: n.Timestamp}
	}
	from := len(s.arena)
	s.arena = appendObject(s.arena, o)
	s.found = append(s.found, entry{k, v, from, len(s.arena)})
	if len(s.arena)+entryBytes*len(s.found) < s.memory {
		return nil
	}
	return s.putAside()
}

// putAside sorts what is in memory into a file.
func (s *Set) putAside() error {
	f, err := os.CreateTemp(s.dir, "wideberth-changes-*")
	if err != nil {
		return fmt.Errorf("put changes aside: %w", err)
	}
	s.close = append(s.close, f.Close, func() error { return os.Remove(f.Name()) })
	w := bufio.NewWriterSize(f, 1<<16)
	size, err := s.sortInto(w)
	if err = cmp.Or(err, w.Flush()); err != nil {
		return fmt.Errorf("put changes aside: %w", err)
	}
	s.runs = append(s.runs, run{f, size})
	return nil
}

// sortInto writes what is in memory, sorted and each object once, and forgets it.
func (s *Set) sortInto(w io.Writer) (size int64, err error) {
	slices.SortStableFunc(s.found, func(a, b entry) int { return a.compare(b.key) })
	var length [binary.MaxVarintLen64]byte
	for i := 0; i < len(s.found); {
		best := s.found[i]
		for i++; i < len(s.found) && s.found[i].key == best.key; i++ {
			if s.found[i].after(best.stamp) {
				best = s.found[i]
			}
		}
		n := binary.PutUvarint(length[:], uint64(best.to-best.from))
		for _, b := range [][]byte{length[:n], s.arena[best.from:best.to]} {
			if _, err := w.Write(b); err != nil {
				return 0, err
			}
			size += int64(len(b))
		}
	}
	s.arena, s.found = s.arena[:0], s.found[:0]
	return size, nil
}

// All gives every object of the set once, sorted by kind and id. It may be called again,
// and more may be added afterwards.
func (s *Set) All() iter.Seq2[osm.Object, error] {
	return func(yield func(osm.Object, error) bool) {
		if len(s.found) > 0 {
			var b bytes.Buffer
			if _, err := s.sortInto(&b); err != nil {
				yield(nil, err)
				return
			}
			s.runs = append(s.runs, run{bytes.NewReader(b.Bytes()), int64(b.Len())})
		}
		m, err := newMerge(s.runs)
		for err == nil {
			var o osm.Object
			if o, err = m.next(); err == nil && !yield(o, nil) {
				return
			}
		}
		if !errors.Is(err, io.EOF) {
			yield(nil, err)
		}
	}
}

// Close removes what was put aside.
func (s *Set) Close() error {
	var errs []error
	for _, f := range s.close {
		errs = append(errs, f())
	}
	s.close, s.runs, s.arena, s.found = nil, nil, nil, nil
	return errors.Join(errs...)
}

// merge goes through several runs as if they were one.
type merge struct{ heads []*head }

// head is where the reading of a run stands.
type head struct {
	r   *bufio.Reader
	buf []byte
	obj osm.Object
	key key
	st  stamp
	end bool
}

func newMerge(runs []run) (*merge, error) {
	m := &merge{}
	for _, r := range runs {
		h := &head{r: bufio.NewReaderSize(io.NewSectionReader(r.r, 0, r.size), 1<<16)}
		m.heads = append(m.heads, h)
		if err := h.step(); err != nil {
			return nil, err
		}
	}
	return m, nil
}

// next gives the newest version of the object that is due, io.EOF after the last.
func (m *merge) next() (osm.Object, error) {
	var best *head
	for _, h := range m.heads {
		if h.end {
			continue
		}
		if best == nil || h.key.compare(best.key) < 0 || h.key == best.key && h.st.after(best.st) {
			best = h
		}
	}
	if best == nil {
		return nil, io.EOF
	}
	o, k := best.obj, best.key
	for _, h := range m.heads {
		if !h.end && h.key == k {
			if err := h.step(); err != nil {
				return nil, err
			}
		}
	}
	return o, nil
}

// step reads the next object of a run.
func (h *head) step() error {
	size, err := binary.ReadUvarint(h.r)
	if errors.Is(err, io.EOF) {
		h.end, h.obj = true, nil
		return nil
	}
	if err != nil || size > mostElementBytes {
		return errors.Join(errSpoilt, err)
	}
	h.buf = slices.Grow(h.buf[:0], int(size))[:size]
	if _, err = io.ReadFull(h.r, h.buf); errors.Is(err, io.EOF) {
		err = io.ErrUnexpectedEOF // else it would pass for the end of all
	}
	if err != nil {
		return errors.Join(errSpoilt, err)
	}
	if h.obj, err = decodeObject(h.buf); err != nil {
		return err
	}
	h.key, h.st, _, _ = describe(h.obj)
	return nil
}
