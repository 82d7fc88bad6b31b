package cut

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"sync"

	"github.com/paulmach/osm"

	"wideberth/osmdata"
	"wideberth/osmdata/plane"
)

// The files of the work.
const (
	relationsName = "relations"   // the relations that are kept, as elements
	membersName   = "members"     // table of the ways that belong to one of them
	nodesName     = "nodes"       // table of the places of all nodes
	pointsName    = "points"      // nodes that are kept for their tags, as elements
	memberName    = "member_ways" // the ways that belong to a relation, as elements
	whereName     = "where"       // table of where each of them stands there
	spillName     = "spill"       // folder with a file for each tile
	doneName      = "done"        // folder with what is known of each block that is whole
	making        = ".making"     // ends the names of files that are not whole
)

// What is odd about an extract as a whole.
const (
	oddPlace  = "coordinates out of range"
	oddNode   = "node given twice, the later counts"
	oddWay    = "way of which no node has a place, left out"
	oddBounds = "bounds that bound nothing or too much, not believed"
	oddBeyond = "places beyond the bounds that the map states, which are not believed"
	oddWide   = "times as wide or high as its data the map states its bounds, which are not believed"
)

// usualAtOnce is how many records a table sorts in memory at once: 16 MB. What is spread
// is held up to spillBytes for each.
const (
	usualAtOnce = 1 << 20
	spillBytes  = 64
)

func (c *cutter) atOnce() int {
	if c.o.atOnce > 0 {
		return c.o.atOnce
	}
	return usualAtOnce
}

// elementFile is a file of elements that is being written.
type elementFile struct {
	f  *os.File
	w  *bufio.Writer
	at int64
	b  []byte
}

func createElements(path string) (*elementFile, error) {
	f, err := os.Create(path)
	if err != nil {
		return nil, err
	}
	return &elementFile{f: f, w: bufio.NewWriterSize(f, 1<<20)}, nil
}

// put writes an element and tells where it stands.
func (f *elementFile) put(e *element) (at int64, err error) {
	f.b = e.append(f.b[:0])
	at = f.at
	_, err = f.w.Write(f.b)
	f.at += int64(len(f.b))
	return at, err
}

// close has all on the disk.
func (f *elementFile) close() error {
	err := f.w.Flush()
	if err == nil {
		err = f.f.Sync()
	}
	return errors.Join(err, f.f.Close())
}

// each hands over the elements of a file in order; they are valid until the next.
func each(ctx context.Context, path string, take func(*element) error) error {
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	defer f.Close()
	r := bufio.NewReaderSize(f, 1<<20)
	var buf []byte
	var e element
	for i := 0; ; i++ {
		if i%1024 == 0 && ctx.Err() != nil {
			return ctx.Err()
		}
		buf, err = nextElement(r, buf)
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err == nil {
			err = e.read(buf)
		}
		if err == nil {
			err = take(&e)
		}
		if err != nil {
			return err
		}
	}
}

// keepRelations is the first pass: the relations that are kept, and a table of the ways
// that they are made of.
func (c *cutter) keepRelations(ctx context.Context) (err error) {
	out, err := createElements(c.at(relationsName))
	if err != nil {
		return err
	}
	members, err := newTableWriter(c.at(membersName), c.atOnce(), func(int64) {})
	if err != nil {
		return errors.Join(err, out.close())
	}
	err = c.el.Relations(ctx, func(r *osm.Relation) bool { return c.o.Picker.Relation(r) != 0 }, func(r *osm.Relation) error {
		e := element{kind: relationKind, id: int64(r.ID), version: r.Version, tags: r.Tags}
		for _, m := range r.Members {
			if m.Type == osm.TypeRelation {
				continue
			}
			e.members = append(e.members, osm.Member{Type: m.Type, Ref: m.Ref, Role: m.Role})
			if m.Type == osm.TypeWay {
				if err := members.add(m.Ref, 0); err != nil {
					return err
				}
			}
		}
		_, err := out.put(&e)
		return err
	})
	if err != nil {
		members.abandon()
		return errors.Join(err, out.close())
	}
	if err := errors.Join(out.close(), members.close()); err != nil {
		return err
	}
	c.state.MapTime, c.state.Changes = c.el.Timestamp, c.el.Sequence
	if b := c.el.Bounds; b != nil {
		c.state.Stated = &[4]float64{b.MinLon, b.MinLat, b.MaxLon, b.MaxLat}
	}
	return nil
}

// keepNodes is the second pass: a table of where every node lies, the nodes that are
// kept for their tags, and how the map is cut by where its nodes lie.
func (c *cutter) keepNodes(ctx context.Context) error {
	points, err := createElements(c.at(pointsName))
	if err != nil {
		return err
	}
	nodes, err := newTableWriter(c.at(nodesName), c.atOnce(), func(int64) { c.state.Odd[oddNode]++ })
	if err != nil {
		return errors.Join(err, points.close())
	}
	err = c.el.Nodes(ctx, func(*osm.Node) bool { return true }, func(n *osm.Node) error {
		if !(n.Lon >= -180 && n.Lon <= 180 && n.Lat >= -90 && n.Lat <= 90) {
			c.state.Odd[oddPlace]++
			return nil
		}
		p := point{int32(math.Round(n.Lon * unit)), int32(math.Round(n.Lat * unit))}
		if len(n.Tags) > 0 && c.o.Picker.Node(n.Tags) {
			if _, err := points.put(&element{kind: nodeKind, id: int64(n.ID), version: n.Version, tags: n.Tags, at: p}); err != nil {
				return err
			}
		}
		return nodes.add(int64(n.ID), p.packed())
	})
	if err != nil {
		nodes.abandon()
		return errors.Join(err, points.close())
	}
	if err := errors.Join(points.close(), nodes.close()); err != nil {
		return err
	}
	return c.chooseTiles(ctx)
}

// chooseTiles finds out where the map ends and how it is cut, by where its nodes lie.
func (c *cutter) chooseTiles(ctx context.Context) error {
	nodes, err := openTable(c.at(nodesName))
	if err != nil {
		return err
	}
	d, b := density{}, newBoundsCheck(c.state.Stated)
	err = nodes.each(ctx, func(r record) {
		d.add(unpacked(r.value))
		b.take(unpacked(r.value))
	})
	if err := errors.Join(err, nodes.close()); err != nil {
		return err
	}
	clip := b.believed(c.note)
	c.state.Clip = [4]int32{clip.w, clip.s, clip.e, clip.n}
	c.state.Tiles = nil
	for _, q := range d.cut(max(1, c.o.TileBytes/bytesPerNode)) {
		if coreOf(q).meets(clip) { // beyond it lie only the ends of ways that were kept whole
			c.state.Tiles = append(c.state.Tiles, q.Key())
		}
	}
	if len(c.state.Tiles) == 0 {
		return osmdata.ErrNothingToWalk
	}
	return nil
}

// packed is a place as a table keeps it.
func (p point) packed() uint64 { return uint64(uint32(p.lon))<<32 | uint64(uint32(p.lat)) }

func unpacked(v uint64) point { return point{int32(uint32(v >> 32)), int32(uint32(v))} }

// boundsCheck holds the bounds that a map states against where its nodes lie.
type boundsCheck struct {
	given, sound bool
	stated       box
	data         box
	count        int
	outside      int
}

func newBoundsCheck(stated *[4]float64) *boundsCheck {
	b := &boundsCheck{given: stated != nil, data: noBox()}
	if s := stated; s != nil && s[0] >= -180 && s[1] >= -90 && s[2] <= 180 && s[3] <= 90 && s[0] < s[2] && s[1] < s[3] {
		b.sound = true
		b.stated = box{int32(math.Round(s[0] * unit)), int32(math.Round(s[1] * unit)), int32(math.Round(s[2] * unit)), int32(math.Round(s[3] * unit))}
	}
	return b
}

func (b *boundsCheck) take(p point) {
	b.count++
	b.data = b.data.with(p)
	if b.sound && !b.stated.holds(noBox().with(p)) {
		b.outside++
	}
}

// Bounds that are true leave out the ends of ways that are kept whole, which are many in
// a small extract, and reach farther than the data over the sea. Beyond these shares
// they are taken as false (our assumption).
const (
	mostOutside = 0.5 // of the nodes
	mostWider   = 4   // times, either way
)

// believed is where the map ends: what it states where its nodes bear that out, else
// where they lie.
func (b *boundsCheck) believed(note func(kind string, n int)) box {
	switch {
	case !b.given || b.count == 0:
		return b.data
	case !b.sound:
		note(oddBounds, 1)
		return b.data
	case float64(b.outside) > mostOutside*float64(b.count):
		note(oddBeyond, b.outside)
		return b.data
	}
	within := b.data.both(b.stated)
	times := max(wide(b.stated.w, b.stated.e)/wide(within.w, within.e), wide(b.stated.s, b.stated.n)/wide(within.s, within.n))
	if times > mostWider {
		note(oddWide, int(min(times, math.MaxInt32)))
		return b.data
	}
	return b.stated
}

func wide(from, to int32) float64 { return max(1, float64(to)-float64(from)) }

// spread is the third pass: each way goes to every tile that it meets, each relation
// with all of its ways to every tile that one of them meets or that it encloses, each
// node that is kept for its tags where it lies.
func (c *cutter) spread(ctx context.Context) (err error) {
	s := spreader{c: c}
	defer func() { err = errors.Join(err, s.close()) }()
	if err := s.open(); err != nil {
		return err
	}
	if err := s.ways(ctx); err != nil {
		return err
	}
	if err := s.relations(ctx); err != nil {
		return err
	}
	err = each(ctx, c.at(pointsName), func(e *element) error {
		// The table has the later of two nodes with one id; of this one only if it is that.
		if v, found, err := s.nodes.get(e.id); err != nil || !found || unpacked(v) != e.at {
			return err
		}
		return s.put(e, s.tree.meet(lines{{e.at}}, false))
	})
	if err != nil {
		return err
	}
	c.state.Spilt, err = s.spill.end()
	return err
}

type spreader struct {
	c       *cutter
	tree    *tree
	kept    []bool // by tile: its block is the one that is there
	nodes   *table
	spill   *spill
	mu      sync.Mutex // guards members, which several decoders ask
	members *table
	b       []byte
}

func (s *spreader) open() (err error) {
	c := s.c
	quads := make([]plane.Quad, len(c.state.Tiles))
	for i, key := range c.state.Tiles {
		if quads[i], err = plane.ParseQuad(key); err != nil {
			return fmt.Errorf("%s: %w", c.at(stateName), err)
		}
	}
	s.tree = newTree(quads, c.o.MarginM)
	s.keep()
	if s.spill, err = newSpill(c.at(spillName), c.state.Tiles, spillBytes*c.atOnce()); err != nil {
		return err
	}
	if s.nodes, err = openTable(c.at(nodesName)); err != nil {
		return err
	}
	s.members, err = openTable(c.at(membersName))
	return err
}

// keep finds the tiles whose blocks are those of the cut before: nothing changed that meets
// them, and the map ends there where it did.
func (s *spreader) keep() {
	c := s.c
	s.kept, c.state.Kept = make([]bool, len(s.tree.tiles)), nil
	if c.before == nil {
		return
	}
	changed := make([]bool, len(s.kept))
	for _, b := range c.o.Since.Boxes {
		s.tree.boxes(boxAbout(b), func(tile int) { changed[tile] = true })
	}
	was := make(map[string]*Block, len(c.before.Blocks))
	for i := range c.before.Blocks {
		was[c.before.Blocks[i].Key] = &c.before.Blocks[i]
	}
	for i, key := range c.state.Tiles {
		b := was[key]
		if b == nil || changed[i] || boundsOf(s.tree.tiles[i].box, c.state.Clip) != boundsOf(s.tree.tiles[i].box, c.before.Clip) {
			continue
		}
		if info, err := os.Stat(b.Path(c.dir)); err == nil && info.Size() == b.Bytes {
			s.kept[i], c.state.Kept = true, append(c.state.Kept, *b)
		}
	}
}

// boxAbout is the least box that holds one given in degrees.
func boxAbout(d [4]float64) box {
	low := func(deg float64) int32 { return int32(math.Floor(deg * unit)) }
	high := func(deg float64) int32 { return int32(math.Ceil(deg * unit)) }
	return box{low(d[0]), low(d[1]), high(d[2]), high(d[3])}
}

func (s *spreader) close() error {
	var errs []error
	for _, t := range []*table{s.nodes, s.members} {
		if t != nil {
			errs = append(errs, t.close())
		}
	}
	return errors.Join(errs...)
}

// put gives an element to tiles.
func (s *spreader) put(e *element, tiles []int) error {
	s.b = e.append(s.b[:0])
	for _, t := range tiles {
		if s.kept[t] {
			continue
		}
		if err := s.spill.put(t, s.b); err != nil {
			return err
		}
	}
	return nil
}

// member tells whether a way belongs to a relation that is kept.
func (s *spreader) member(id int64) (bool, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	_, found, err := s.members.get(id)
	return found, err
}

// ways gives each way that is kept for its tags to the tiles that it meets, and keeps
// those that relations are made of in a file for the next step.
func (s *spreader) ways(ctx context.Context) error {
	c := s.c
	out, err := createElements(c.at(memberName))
	if err != nil {
		return err
	}
	where, err := newTableWriter(c.at(whereName), c.atOnce(), func(int64) {})
	if err != nil {
		return errors.Join(err, out.close())
	}
	var e element
	err = c.el.Ways(ctx, func(w *osm.Way) bool {
		if c.o.Picker.Way(w.Tags) {
			return true
		}
		found, err := s.member(int64(w.ID))
		return found || err != nil // take asks again and tells
	}, func(w *osm.Way) error {
		member, err := s.member(int64(w.ID))
		if err != nil {
			return err
		}
		ours := c.o.Picker.Way(w.Tags)
		if err := s.place(&e, w); err != nil {
			return err
		}
		if ours {
			e.tags = w.Tags
		}
		if member {
			at, err := out.put(&e)
			if err != nil {
				return err
			}
			if err := where.add(e.id, uint64(at)); err != nil {
				return err
			}
		}
		known := e.lines()
		if len(known) == 0 {
			c.state.Odd[oddWay]++
			return nil
		}
		if !ours {
			return nil
		}
		return s.put(&e, s.tree.meet(known, isArea(&e)))
	})
	if err != nil {
		where.abandon()
		return errors.Join(err, out.close())
	}
	return errors.Join(out.close(), where.close())
}

// isArea tells whether a way is an area by its tags, by the community's list of polygon
// features.
func isArea(e *element) bool {
	// The library looks at the ids and at the tags of a whole way; four nodes do.
	return e.closed() && (&osm.Way{Tags: e.tags, Nodes: make(osm.WayNodes, 4)}).Polygon()
}

// place makes the element of a way, without tags.
func (s *spreader) place(e *element, w *osm.Way) error {
	*e = element{kind: wayKind, id: int64(w.ID), version: w.Version, refs: e.refs[:0], places: e.places[:0]}
	for _, n := range w.Nodes {
		v, found, err := s.nodes.get(int64(n.ID))
		if err != nil {
			return err
		}
		p := noPlace
		if found {
			p = unpacked(v)
		}
		e.refs, e.places = append(e.refs, int64(n.ID)), append(e.places, p)
	}
	return nil
}

// relations gives each relation to the tiles that it meets, with all of its ways.
func (s *spreader) relations(ctx context.Context) (err error) {
	c := s.c
	where, err := openTable(c.at(whereName))
	if err != nil {
		return err
	}
	ways, err := os.Open(c.at(memberName))
	if err != nil {
		return errors.Join(err, where.close())
	}
	defer func() { err = errors.Join(err, where.close(), ways.Close()) }()
	a := assembly{}
	return each(ctx, c.at(relationsName), func(rel *element) error {
		a.clear()
		for _, m := range rel.members {
			if m.Type == osm.TypeNode && m.Role == "via" {
				v, found, err := s.nodes.get(m.Ref)
				if err != nil {
					return err
				}
				if found {
					a.lines = append(a.lines, []point{unpacked(v)})
				}
				continue
			}
			if m.Type != osm.TypeWay {
				continue
			}
			at, found, err := where.get(m.Ref)
			if err != nil {
				return err
			}
			if !found {
				a.lacks = true
				continue
			}
			if err := a.read(ways, int64(at)); err != nil {
				return err
			}
		}
		use := c.o.Picker.Relation(&osm.Relation{Tags: rel.tags})
		tiles := s.tree.meet(a.lines, use != osmdata.UseBan && a.closes())
		if use == osmdata.UseBorder { // it only says whose country it is
			rel.members = nil
		} else {
			for i := range a.ways {
				if err := s.put(&a.ways[i], tiles); err != nil {
					return err
				}
			}
		}
		return s.put(rel, tiles)
	})
}

// assembly is a relation with its ways. Memory is that of the largest relation.
type assembly struct {
	ways  []element
	lines lines
	ends  map[int64]bool // nodes at which an odd number of ways end
	lacks bool           // a way is not in the extract
	buf   []byte
}

func (a *assembly) clear() {
	a.ways, a.lines, a.lacks = a.ways[:0], a.lines[:0], false
	a.ends = map[int64]bool{}
}

// read takes in the way that stands at a place of a file.
func (a *assembly) read(f io.ReaderAt, at int64) (err error) {
	a.buf, err = nextElement(io.NewSectionReader(f, at, 1<<31), a.buf)
	if err != nil {
		return errors.Join(errElement, err)
	}
	var e element
	if err := e.read(a.buf); err != nil {
		return err
	}
	a.ways = append(a.ways, e)
	a.lines = append(a.lines, e.lines()...)
	if n := len(e.refs); n > 0 {
		for _, end := range []int64{e.refs[0], e.refs[n-1]} {
			if a.ends[end] = !a.ends[end]; !a.ends[end] {
				delete(a.ends, end)
			}
		}
	}
	return nil
}

// closes tells whether the ways bound something: none is lacking and none ends loose.
func (a *assembly) closes() bool { return !a.lacks && len(a.ends) == 0 }
