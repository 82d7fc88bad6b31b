package change

import (
	"encoding/binary"
	"errors"
	"math"
	"time"

	"github.com/paulmach/osm"
)

// key is what objects are sorted by.
type key struct {
	kind byte // 0 node, 1 way, 2 relation
	id   int64
}

// compare sorts as sorted files are: nodes, ways, relations; of one kind those that no
// database has numbered yet, with negative ids, go first, each nearer to zero before
// those farther off (as osmium-tool sorts).
func (k key) compare(l key) int {
	switch {
	case k.kind != l.kind:
		return int(k.kind) - int(l.kind)
	case k.id > 0 != (l.id > 0):
		if l.id > 0 {
			return -1
		}
		return 1
	case k.id == l.id:
		return 0
	case (k.id < l.id) == (k.id > 0):
		return -1
	}
	return 1
}

// stamp says which version of an object is the newer one.
type stamp struct {
	version int
	at      int64 // seconds since 1970, 0 not known
}

// after tells whether a version takes the place of another that came before it: one of
// equal rank does.
func (s stamp) after(t stamp) bool {
	if s.version != t.version {
		return s.version > t.version
	}
	return s.at == 0 || t.at == 0 || s.at >= t.at
}

// keyOf gives what an object is sorted by, and false for what is no object of a map.
func keyOf(o osm.Object) (key, bool) {
	switch o := o.(type) {
	case *osm.Node:
		return key{0, int64(o.ID)}, true
	case *osm.Way:
		return key{1, int64(o.ID)}, true
	case *osm.Relation:
		return key{2, int64(o.ID)}, true
	}
	return key{}, false
}

// describe gives what an object is sorted and weighed by, and false for what is no object
// of a map.
func describe(o osm.Object) (k key, s stamp, visible, ok bool) {
	var at time.Time
	switch o := o.(type) {
	case *osm.Node:
		k, s.version, at, visible = key{0, int64(o.ID)}, o.Version, o.Timestamp, o.Visible
	case *osm.Way:
		k, s.version, at, visible = key{1, int64(o.ID)}, o.Version, o.Timestamp, o.Visible
	case *osm.Relation:
		k, s.version, at, visible = key{2, int64(o.ID)}, o.Version, o.Timestamp, o.Visible
	default:
		return k, s, false, false
	}
	if !at.IsZero() {
		s.at = at.Unix()
	}
	return k, s, visible, true
}

var memberKinds = [...]osm.Type{osm.TypeNode, osm.TypeWay, osm.TypeRelation}

// appendObject writes an object in few bytes. Who made it, and in which changeset, is left
// out: nothing asks for it.
func appendObject(b []byte, o osm.Object) []byte {
	k, s, visible, _ := describe(o)
	b = append(b, k.kind)
	b = binary.AppendVarint(b, k.id)
	b = binary.AppendVarint(b, int64(s.version))
	b = binary.AppendVarint(b, s.at)
	if !visible {
		return append(b, 0)
	}
	b = append(b, 1)
	var tags osm.Tags
	switch o := o.(type) {
	case *osm.Node:
		b = binary.AppendVarint(b, int64(math.Round(o.Lon*1e7)))
		b = binary.AppendVarint(b, int64(math.Round(o.Lat*1e7)))
		tags = o.Tags
	case *osm.Way:
		b = binary.AppendUvarint(b, uint64(len(o.Nodes)))
		last := int64(0)
		for _, n := range o.Nodes {
			b = binary.AppendVarint(b, int64(n.ID)-last)
			last = int64(n.ID)
		}
		tags = o.Tags
	case *osm.Relation:
		b = binary.AppendUvarint(b, uint64(len(o.Members)))
		for _, m := range o.Members {
			b = append(b, memberKind(m.Type))
			b = binary.AppendVarint(b, m.Ref)
			b = appendText(b, m.Role)
		}
		tags = o.Tags
	}
	b = binary.AppendUvarint(b, uint64(len(tags)))
	for _, t := range tags {
		b = appendText(appendText(b, t.Key), t.Value)
	}
	return b
}

func memberKind(t osm.Type) byte {
	for i, k := range memberKinds {
		if k == t {
			return byte(i)
		}
	}
	return 0
}

func appendText(b []byte, s string) []byte {
	return append(binary.AppendUvarint(b, uint64(len(s))), s...)
}

// decoder reads what appendObject wrote. It remembers that the bytes ended too early.
type decoder struct {
	b   []byte
	bad bool
}

var errSpoilt = errors.New("what was put aside of the changes has been spoilt")

func decodeObject(b []byte) (osm.Object, error) {
	d := decoder{b: b}
	kind, id, version := d.byte(), d.varint(), int(d.varint())
	var at time.Time
	if s := d.varint(); s != 0 {
		at = time.Unix(s, 0).UTC()
	}
	visible := d.byte() == 1
	var o osm.Object
	switch kind {
	case 0:
		n := &osm.Node{ID: osm.NodeID(id), Version: version, Timestamp: at, Visible: visible}
		if visible {
			n.Lon, n.Lat = float64(d.varint())/1e7, float64(d.varint())/1e7
			n.Tags = d.tags()
		}
		o = n
	case 1:
		w := &osm.Way{ID: osm.WayID(id), Version: version, Timestamp: at, Visible: visible}
		if visible {
			w.Nodes = make(osm.WayNodes, d.count())
			last := int64(0)
			for i := range w.Nodes {
				last += d.varint()
				w.Nodes[i].ID = osm.NodeID(last)
			}
			w.Tags = d.tags()
		}
		o = w
	default:
		r := &osm.Relation{ID: osm.RelationID(id), Version: version, Timestamp: at, Visible: visible}
		if visible {
			r.Members = make(osm.Members, d.count())
			for i := range r.Members {
				r.Members[i] = osm.Member{Type: memberKinds[d.byte()%3], Ref: d.varint(), Role: d.text()}
			}
			r.Tags = d.tags()
		}
		o = r
	}
	if d.bad || len(d.b) > 0 {
		return nil, errSpoilt
	}
	return o, nil
}

func (d *decoder) byte() byte {
	if len(d.b) == 0 {
		d.bad = true
		return 0
	}
	v := d.b[0]
	d.b = d.b[1:]
	return v
}

func (d *decoder) varint() int64 {
	v, n := binary.Varint(d.b)
	if n <= 0 {
		d.bad, n = true, 0
	}
	d.b = d.b[n:]
	return v
}

// count reads how many things follow, never more than there are bytes left.
func (d *decoder) count() int {
	v, n := binary.Uvarint(d.b)
	if n <= 0 || v > uint64(len(d.b)-n) {
		d.bad, d.b = true, nil
		return 0
	}
	d.b = d.b[n:]
	return int(v)
}

func (d *decoder) text() string {
	n := d.count()
	s := string(d.b[:n])
	d.b = d.b[n:]
	return s
}

func (d *decoder) tags() osm.Tags {
	n := d.count()
	if n == 0 {
		return nil
	}
	tags := make(osm.Tags, n)
	for i := range tags {
		tags[i] = osm.Tag{Key: d.text(), Value: d.text()}
	}
	return tags
}
