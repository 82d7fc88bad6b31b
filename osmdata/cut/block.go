package cut

import (
	"bytes"
	"compress/zlib"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"hash"
	"io"
	"math"
	"time"

	"github.com/paulmach/osm"
	"google.golang.org/protobuf/encoding/protowire"
)

// Writer writes OpenStreetMap's PBF: nodes in the dense form, of each element its id,
// version, tags and what it is made of, no times and no authors. Source: the community's
// description of the format ("PBF Format"), whose field numbers stand below. Not for
// concurrent use.
type Writer struct {
	w     io.Writer
	sum   hash.Hash
	bytes int64
	group kindGroup
	zip   *zlib.Writer
	err   error
}

// Head is what a file says of itself.
type Head struct {
	Bounds    *osm.Bounds // nil to say nothing
	Timestamp time.Time   // of the map, zero to say nothing
	Program   string      // that writes it
}

// kindGroup is what goes into the next part of the file: elements of one kind, and the
// texts that they use, each once.
type kindGroup struct {
	kind    byte
	count   int
	size    int
	body    []byte // ways and relations, ready
	texts   [][]byte
	indexes map[string]uint32
	dense   struct{ ids, lons, lats, tags []byte }
	before  struct{ id, lon, lat int64 }
	tagged  bool

	versions  []byte // of nodes
	versioned bool
}

// A part holds at most so many elements, as the format's description recommends, and
// stays far below the 32 MB that it may have.
const (
	mostInPart  = 8000
	mostOfBytes = 4 << 20
)

// NewWriter begins a file. Elements must come sorted: nodes before ways before relations,
// each by id.
func NewWriter(to io.Writer, h Head) *Writer {
	w := &Writer{w: to, sum: sha256.New()}
	w.zip, _ = zlib.NewWriterLevel(io.Discard, zlib.BestSpeed) // the level is one of the library's
	w.group.clear()
	var header []byte
	if b := h.Bounds; b != nil {
		var sides []byte
		for i, deg := range [...]float64{b.MinLon, b.MaxLon, b.MaxLat, b.MinLat} {
			sides = protowire.AppendTag(sides, protowire.Number(i+1), protowire.VarintType)
			sides = appendSigned(sides, int64(math.Round(deg*unit))*(1e9/unit))
		}
		_, _ = w.sum.Write(sides)
		header = appendBytes(header, 1, sides)
	}
	header = appendBytes(header, 4, []byte("OsmSchema-V0.6"))
	header = appendBytes(header, 4, []byte("DenseNodes"))
	header = appendBytes(header, 5, []byte("Sort.Type_then_ID"))
	header = appendBytes(header, 16, []byte(h.Program))
	if !h.Timestamp.IsZero() {
		header = appendNumber(header, 32, uint64(h.Timestamp.Unix()))
	}
	w.blob("OSMHeader", header)
	return w
}

// Add writes a node, way or relation; other objects are left out.
func (w *Writer) Add(o osm.Object) {
	switch o := o.(type) {
	case *osm.Node:
		at := point{int32(math.Round(o.Lon * unit)), int32(math.Round(o.Lat * unit))}
		w.put(&element{kind: nodeKind, id: int64(o.ID), version: o.Version, tags: o.Tags, at: at})
	case *osm.Way:
		refs := make([]int64, len(o.Nodes))
		for i := range o.Nodes {
			refs[i] = int64(o.Nodes[i].ID)
		}
		w.put(&element{kind: wayKind, id: int64(o.ID), version: o.Version, tags: o.Tags, refs: refs})
	case *osm.Relation:
		w.put(&element{kind: relationKind, id: int64(o.ID), version: o.Version, tags: o.Tags, members: o.Members})
	}
}

// Copy writes a part of another file as it stands: its elements come after those that were
// added and before those that are to be. The hash leaves it out.
func (w *Writer) Copy(part io.WriterTo) {
	w.endPart()
	if w.err == nil {
		var n int64
		n, w.err = part.WriteTo(w.w)
		w.bytes += n
	}
}

func appendBytes(b []byte, field protowire.Number, v []byte) []byte {
	return protowire.AppendBytes(protowire.AppendTag(b, field, protowire.BytesType), v)
}

func appendNumber(b []byte, field protowire.Number, v uint64) []byte {
	return protowire.AppendVarint(protowire.AppendTag(b, field, protowire.VarintType), v)
}

func appendSigned(b []byte, v int64) []byte {
	return protowire.AppendVarint(b, protowire.EncodeZigZag(v))
}

func (g *kindGroup) clear() {
	g.count, g.size, g.tagged = 0, 0, false
	g.body, g.texts = g.body[:0], append(g.texts[:0], nil)
	g.indexes = map[string]uint32{}
	g.dense.ids, g.dense.lons, g.dense.lats, g.dense.tags = g.dense.ids[:0], g.dense.lons[:0], g.dense.lats[:0], g.dense.tags[:0]
	g.before.id, g.before.lon, g.before.lat = 0, 0, 0
	g.versions, g.versioned = g.versions[:0], false
}

// text is the index of a text.
func (g *kindGroup) text(s string) uint64 {
	if s == "" {
		return 0
	}
	i, ok := g.indexes[s]
	if !ok {
		i = uint32(len(g.texts))
		g.indexes[s] = i
		g.texts = append(g.texts, []byte(s))
		g.size += len(s)
	}
	return uint64(i)
}

// put writes an element; those of a way are its refs alone. Elements come sorted.
func (w *Writer) put(e *element) {
	g := &w.group
	if g.count > 0 && (g.kind != e.kind || g.count >= mostInPart || g.size+len(g.body) > mostOfBytes) {
		w.endPart()
	}
	g.kind = e.kind
	g.count++
	switch e.kind {
	case nodeKind:
		g.node(e)
	case wayKind:
		b := g.begin(e)
		var refs []byte
		before := int64(0)
		for _, r := range e.refs {
			refs = appendSigned(refs, r-before)
			before = r
		}
		g.body = appendBytes(g.body, 3, appendBytes(b, 8, refs))
	case relationKind:
		b := g.begin(e)
		var roles, ids, types []byte
		before := int64(0)
		for _, m := range e.members {
			roles = protowire.AppendVarint(roles, g.text(m.Role))
			ids = appendSigned(ids, m.Ref-before)
			before = m.Ref
			types = append(types, memberTypes[m.Type])
		}
		if len(e.members) > 0 {
			b = appendBytes(appendBytes(appendBytes(b, 8, roles), 9, ids), 10, types)
		}
		g.body = appendBytes(g.body, 4, b)
	}
}

var memberTypes = map[osm.Type]byte{osm.TypeNode: 0, osm.TypeWay: 1, osm.TypeRelation: 2}

// begin writes what ways and relations have in common: id, keys and values.
func (g *kindGroup) begin(e *element) []byte {
	b := appendNumber(nil, 1, uint64(e.id))
	if e.version > 0 {
		b = appendBytes(b, 4, appendNumber(nil, 1, uint64(e.version)))
	}
	if len(e.tags) == 0 {
		return b
	}
	var keys, values []byte
	for _, t := range e.tags {
		keys = protowire.AppendVarint(keys, g.text(t.Key))
		values = protowire.AppendVarint(values, g.text(t.Value))
	}
	return appendBytes(appendBytes(b, 2, keys), 3, values)
}

// node writes a node in the dense form, where each number is told from the one before.
func (g *kindGroup) node(e *element) {
	d, at := &g.dense, &g.before
	d.ids = appendSigned(d.ids, e.id-at.id)
	d.lons = appendSigned(d.lons, int64(e.at.lon)-at.lon)
	d.lats = appendSigned(d.lats, int64(e.at.lat)-at.lat)
	at.id, at.lon, at.lat = e.id, int64(e.at.lon), int64(e.at.lat)
	g.versions = protowire.AppendVarint(g.versions, uint64(max(0, e.version)))
	g.versioned = g.versioned || e.version > 0
	for _, t := range e.tags {
		if t.Key == "" { // which would end the list
			continue
		}
		d.tags = protowire.AppendVarint(protowire.AppendVarint(d.tags, g.text(t.Key)), g.text(t.Value))
		g.tagged = true
	}
	d.tags = append(d.tags, 0)
}

// endPart writes the part under way.
func (w *Writer) endPart() {
	g := &w.group
	if g.count == 0 {
		return
	}
	var texts []byte
	for _, t := range g.texts {
		texts = appendBytes(texts, 1, t)
	}
	body := g.body
	if g.kind == nodeKind {
		d := appendBytes(nil, 1, g.dense.ids)
		if g.versioned {
			d = appendBytes(d, 5, appendBytes(nil, 1, g.versions))
		}
		d = appendBytes(appendBytes(d, 8, g.dense.lats), 9, g.dense.lons)
		if g.tagged {
			d = appendBytes(d, 10, g.dense.tags)
		}
		body = appendBytes(nil, 2, d)
	}
	part := appendBytes(appendBytes(nil, 1, texts), 2, body)
	_, _ = w.sum.Write(part)
	w.blob("OSMData", part)
	g.clear()
}

// blob packs a part and writes it with its frame.
func (w *Writer) blob(kind string, raw []byte) {
	if w.err != nil {
		return
	}
	var packed bytes.Buffer
	w.zip.Reset(&packed)
	_, w.err = w.zip.Write(raw)
	if err := w.zip.Close(); w.err == nil {
		w.err = err
	}
	blob := appendBytes(appendNumber(nil, 2, uint64(len(raw))), 3, packed.Bytes())
	head := appendNumber(appendBytes(nil, 1, []byte(kind)), 3, uint64(len(blob)))
	all := append(binary.BigEndian.AppendUint32(nil, uint32(len(head))), head...)
	for _, b := range [][]byte{all, blob} {
		if w.err == nil {
			_, w.err = w.w.Write(b)
		}
		w.bytes += int64(len(b))
	}
}

// Close writes what is left and gives the hash of what the file holds: SHA-256, in hex,
// of bounds and elements, whatever the time of the map and however they were packed. It
// closes nothing else.
func (w *Writer) Close() (hash string, err error) {
	w.endPart()
	return hex.EncodeToString(w.sum.Sum(nil)), w.err
}
