package cut

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"hash/crc32"
	"os"
	"path/filepath"
	"slices"
	"sync"

	"wideberth/osmdata/parallel"
	"wideberth/osmdata/plane"

	"cmp"
	"encoding/binary"
	"encoding/json"

	"github.com/paulmach/osm"
)

// spill gathers elements by tile: in memory up to a limit, then in a file for each tile,
// of which none stays open.
type spill struct {
	dir   string
	keys  []string
	limit int
	held  int
	buf   [][]byte
	sums  []spillSum
}

// spillSum says what a tile's file holds.
type spillSum struct {
	Bytes int64  `json:"bytes"`
	Sum   uint32 `json:"sum"`
}

func newSpill(dir string, keys []string, limit int) (*spill, error) {
	if err := os.RemoveAll(dir); err != nil {
		return nil, err
	}
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return nil, err
	}
	return &spill{dir: dir, keys: keys, limit: limit, buf: make([][]byte, len(keys)), sums: make([]spillSum, len(keys))}, nil
}

func (s *spill) put(tile int, b []byte) error {
	s.buf[tile] = append(s.buf[tile], b...)
	if s.held += len(b); s.held < s.limit {
		return nil
	}
	return s.flush()
}

// flush writes what is held behind what is written.
func (s *spill) flush() error {
	for i, b := range s.buf {
		if len(b) == 0 {
			continue
		}
		f, err := os.OpenFile(filepath.Join(s.dir, s.keys[i]), os.O_CREATE|os.O_WRONLY|os.O_APPEND, 0o644)
		if err != nil {
			return err
		}
		_, err = f.Write(b)
		if err := errors.Join(err, f.Close()); err != nil {
			return err
		}
		s.sums[i].Bytes += int64(len(b))
		s.sums[i].Sum = crc32.Update(s.sums[i].Sum, castagnoli, b)
		s.buf[i] = nil
	}
	s.held = 0
	return nil
}

// end writes the rest and says what each tile's file must hold.
func (s *spill) end() (map[string]spillSum, error) {
	if err := s.flush(); err != nil {
		return nil, err
	}
	out := map[string]spillSum{}
	for i, key := range s.keys {
		if s.sums[i].Bytes > 0 {
			out[key] = s.sums[i]
		}
	}
	return out, nil
}

// blocks makes the block of each tile that has anything, one tile to a worker, and says
// of each that it is whole before the next is begun.
func (c *cutter) blocks(ctx context.Context) ([]Block, error) {
	if err := os.MkdirAll(c.at(doneName), 0o755); err != nil {
		return nil, err
	}
	var keys []string
	for key := range c.state.Spilt {
		keys = append(keys, key)
	}
	slices.Sort(keys)
	out := make([]Block, len(keys))
	var mu sync.Mutex // guards done
	done := 0
	err := parallel.For(ctx, len(keys), func(i int) (err error) {
		if out[i], err = c.block(keys[i]); err != nil {
			return err
		}
		mu.Lock()
		defer mu.Unlock()
		done++
		c.tell("writing the tiles' parts", passesShare+(1-passesShare)*float64(done)/float64(len(keys)))
		return nil
	})
	return out, err
}

// block makes one block, if that was not done before.
func (c *cutter) block(key string) (Block, error) {
	mark := c.at(doneName, key+".json")
	var b Block
	if text, err := os.ReadFile(mark); err == nil && json.Unmarshal(text, &b) == nil && b.Key == key {
		if info, err := os.Stat(b.Path(c.dir)); err == nil && info.Size() == b.Bytes {
			return b, nil
		}
	}
	path := c.at(spillName, key)
	raw, err := os.ReadFile(path)
	if err != nil {
		return Block{}, err
	}
	if want := c.state.Spilt[key]; int64(len(raw)) != want.Bytes || crc32.Checksum(raw, castagnoli) != want.Sum {
		return Block{}, fmt.Errorf("%s: %w", path, errElement)
	}
	if b, err = c.writeBlock(key, raw); err != nil {
		return Block{}, err
	}
	text, err := json.Marshal(b)
	if err != nil {
		return Block{}, fmt.Errorf("write %s: %w", mark, err)
	}
	// A mark that a power cut spoils is none, and the block is made again.
	return b, os.WriteFile(mark, text, 0o644)
}

// writeBlock puts the elements of a tile in order and writes them.
func (c *cutter) writeBlock(key string, raw []byte) (Block, error) {
	q, err := plane.ParseQuad(key)
	if err != nil {
		return Block{}, err
	}
	core := coreOf(q)
	wide := core.wider(c.o.MarginM)
	bounds := boundsOf(wide, c.state.Clip)
	all, err := ordered(raw)
	if err != nil {
		return Block{}, err
	}
	making := filepath.Join(c.dir, Folder, key+making)
	f, err := os.Create(making)
	if err != nil {
		return Block{}, err
	}
	to := bufio.NewWriterSize(f, 1<<18)
	d := bounds.degrees()
	w := NewWriter(to, Head{&osm.Bounds{MinLon: d[0], MinLat: d[1], MaxLon: d[2], MaxLat: d[3]}, c.state.MapTime, c.o.Program})
	counts, err := all.write(w)
	hash, closed := w.Close()
	err = cmp.Or(err, closed)
	err = cmp.Or(err, to.Flush())
	err = cmp.Or(err, f.Sync())
	if err := cmp.Or(err, f.Close()); err != nil {
		return Block{}, err
	}
	// What a block is called depends on what it holds alone.
	name := fmt.Sprintf("%s.%s.osm.pbf", key, hash[:12])
	if err := os.Rename(making, filepath.Join(c.dir, Folder, name)); err != nil {
		return Block{}, err
	}
	return Block{
		Key: key, File: name, Hash: hash, Bytes: w.bytes, Core: core.core(), Box: wide.degrees(),
		Nodes: counts[0], Ways: counts[1], Relations: counts[2],
	}, nil
}

// boundsOf are the bounds that the block of a tile's box states, of a map that ends at clip.
func boundsOf(wide box, clip [4]int32) box {
	bounds := wide.both(box{clip[0], clip[1], clip[2], clip[3]})
	if bounds.empty() { // what lies there lies beyond what the map states, and is there all the same
		return wide
	}
	return bounds
}

// content is what a block will hold, sorted: elements where they stand in the tile's
// file, and the places of nodes.
type content struct {
	raw             []byte
	nodes           []spot // of ways, and of the nodes kept for their tags
	ways, relations []entry
	tagged          []entry
}

type spot struct {
	id int64
	at point
}

// entry is an element in the bytes of a tile's file.
type entry struct {
	id       int64
	from, to int
}

// ordered sorts what stands in a tile's file; of elements that stand there several times
// the last counts.
func ordered(raw []byte) (*content, error) {
	c := &content{raw: raw}
	var e element
	for at := 0; at < len(raw); {
		if at+4 > len(raw) {
			return nil, errElement
		}
		from := at + 4
		at = from + int(binary.LittleEndian.Uint32(raw[at:]))
		if at > len(raw) {
			return nil, errElement
		}
		kind, id, err := head(raw[from:at])
		if err != nil {
			return nil, err
		}
		it := entry{id, from, at}
		switch kind {
		case nodeKind:
			c.tagged = append(c.tagged, it)
		case wayKind:
			c.ways = append(c.ways, it)
		case relationKind:
			c.relations = append(c.relations, it)
		}
	}
	c.tagged, c.ways, c.relations = lastOfEach(c.tagged), lastOfEach(c.ways), lastOfEach(c.relations)
	for _, it := range c.ways {
		if err := e.read(raw[it.from:it.to]); err != nil {
			return nil, err
		}
		for i, ref := range e.refs {
			if e.places[i] != noPlace {
				c.nodes = append(c.nodes, spot{ref, e.places[i]})
			}
		}
	}
	slices.SortFunc(c.nodes, func(a, b spot) int { return cmp.Compare(a.id, b.id) })
	c.nodes = slices.CompactFunc(c.nodes, func(a, b spot) bool { return a.id == b.id })
	return c, nil
}

func lastOfEach(all []entry) []entry {
	slices.SortStableFunc(all, func(a, b entry) int { return cmp.Compare(a.id, b.id) })
	out := all[:0]
	for i, it := range all {
		if i+1 == len(all) || all[i+1].id != it.id {
			out = append(out, it)
		}
	}
	return out
}

// write writes all, nodes before ways before relations, and counts them.
func (c *content) write(w *Writer) (counts [3]int, err error) {
	var e element
	tagged := c.tagged
	put := func() {
		w.put(&e)
		counts[0]++
	}
	for _, n := range c.nodes {
		for len(tagged) > 0 && tagged[0].id <= n.id {
			if err := e.read(c.raw[tagged[0].from:tagged[0].to]); err != nil {
				return counts, err
			}
			put()
			tagged = tagged[1:]
		}
		if counts[0] > 0 && e.id == n.id {
			continue // its tags were written with it
		}
		e = element{kind: nodeKind, id: n.id, at: n.at}
		put()
	}
	for _, rest := range [][]entry{tagged, c.ways, c.relations} {
		for _, it := range rest {
			if err := e.read(c.raw[it.from:it.to]); err != nil {
				return counts, err
			}
			w.put(&e)
			counts[order(e.kind)]++
		}
	}
	return counts, w.err
}

// order is the order of kinds in a block.
func order(kind byte) int {
	switch kind {
	case nodeKind:
		return 0
	case wayKind:
		return 1
	}
	return 2
}
