package osmdata_test

import (
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"

	"google.golang.org/protobuf/encoding/protowire"

	"wideberth/osmdata"
)

// world is a tiny map in a line language:
//
//	b west south east north          bounds, in the units of places
//	n ID X Y tags                    node, X and Y in 1e-4 degrees from 10 E 50 N
//	w ID 1,2,3 tags                  way
//	r ID outer:10,inner:11 tags      relation of ways
//
// Tags are key=value, with ~ for a space in a value.
type world struct {
	bounds    []float64
	nodes     []worldNode
	ways      []worldWay
	relations []worldRelation
}

type worldNode struct {
	id       int64
	lon, lat float64
	tags     [][2]string
}

type worldWay struct {
	id   int64
	refs []int64
	tags [][2]string
}

type worldRelation struct {
	id    int64
	ways  []int64
	roles []string
	tags  [][2]string
}

func parseWorld(tb testing.TB, text string) *world {
	tb.Helper()
	w := &world{}
	num := func(s string) int64 {
		n, err := strconv.ParseInt(s, 10, 64)
		if err != nil {
			tb.Fatalf("world: %v", err)
		}
		return n
	}
	deg := func(s string, base float64) float64 {
		x, err := strconv.ParseFloat(s, 64)
		if err != nil {
			tb.Fatalf("world: %v", err)
		}
		return base + x*1e-4
	}
	for line := range strings.Lines(text) {
		f := strings.Fields(line)
		if len(f) == 0 || f[0] == "#" {
			continue
		}
		switch f[0] {
		case "b":
			w.bounds = []float64{deg(f[1], 10), deg(f[2], 50), deg(f[3], 10), deg(f[4], 50)}
		case "n":
			w.nodes = append(w.nodes, worldNode{num(f[1]), deg(f[2], 10), deg(f[3], 50), worldTags(f[4:])})
		case "w":
			var refs []int64
			for ref := range strings.SplitSeq(f[2], ",") {
				refs = append(refs, num(ref))
			}
			w.ways = append(w.ways, worldWay{num(f[1]), refs, worldTags(f[3:])})
		case "r":
			rel := worldRelation{id: num(f[1]), tags: worldTags(f[3:])}
			for m := range strings.SplitSeq(f[2], ",") {
				role, way, _ := strings.Cut(m, ":")
				rel.roles, rel.ways = append(rel.roles, role), append(rel.ways, num(way))
			}
			w.relations = append(w.relations, rel)
		default:
			tb.Fatalf("world: line %q", line)
		}
	}
	return w
}

func worldTags(fields []string) (tags [][2]string) {
	for _, f := range fields {
		k, v, _ := strings.Cut(f, "=")
		tags = append(tags, [2]string{k, strings.ReplaceAll(v, "~", " ")})
	}
	return tags
}

// xml writes the world as OSM XML.
func (w *world) xml() []byte {
	var b bytes.Buffer
	b.WriteString("<?xml version='1.0' encoding='UTF-8'?>\n<!-- a > drawing -->\n<osm version=\"0.6\" timestamp=\"2024-05-06T07:08:09Z\">\n")
	if w.bounds != nil {
		fmt.Fprintf(&b, "<bounds minlon=\"%.7f\" minlat=\"%.7f\" maxlon=\"%.7f\" maxlat=\"%.7f\"/>\n", w.bounds[0], w.bounds[1], w.bounds[2], w.bounds[3])
	}
	tags := func(tags [][2]string) {
		for _, t := range tags {
			fmt.Fprintf(&b, "<tag k=%q v=%q/>", t[0], strings.ReplaceAll(t[1], `"`, "&quot;"))
		}
	}
	for _, n := range w.nodes {
		fmt.Fprintf(&b, "<node id=\"%d\" lon=\"%.7f\" lat=\"%.7f\">", n.id, n.lon, n.lat)
		tags(n.tags)
		b.WriteString("</node>\n")
	}
	for _, y := range w.ways {
		fmt.Fprintf(&b, "<way id=\"%d\">", y.id)
		for _, ref := range y.refs {
			fmt.Fprintf(&b, "<nd ref=\"%d\"/>", ref)
		}
		tags(y.tags)
		b.WriteString("</way>\n")
	}
	for _, r := range w.relations {
		fmt.Fprintf(&b, "<relation id=\"%d\">", r.id)
		for i, way := range r.ways {
			fmt.Fprintf(&b, "<member type=\"way\" ref=\"%d\" role=\"%s\"/>", way, r.roles[i])
		}
		tags(r.tags)
		b.WriteString("</relation>\n")
	}
	b.WriteString("</osm>\n")
	return b.Bytes()
}

// pbf writes the world as PBF: a header block, then one block for each kind of
// element, without metadata.
func (w *world) pbf() []byte {
	var header []byte
	if w.bounds != nil {
		var box []byte
		for i, k := range []int{0, 2, 3, 1} { // left, right, top, bottom
			box = varint(box, i+1, protowire.EncodeZigZag(int64(math.Round(w.bounds[k]*1e9))))
		}
		header = message(header, 1, box)
	}
	header = message(header, 4, []byte("OsmSchema-V0.6"))
	header = message(header, 4, []byte("DenseNodes"))
	header = varint(header, 32, 1714979289) // 2024-05-06T07:08:09Z
	out := blob("OSMHeader", zlibBlob(header))
	var st stringTable
	var group []byte
	if len(w.nodes) > 0 {
		group = message(nil, 2, w.dense(&st))
		out = append(out, blob("OSMData", zlibBlob(primitiveBlock(&st, group)))...)
	}
	if len(w.ways) > 0 {
		st, group = stringTable{}, nil
		for i := range w.ways {
			group = message(group, 3, w.ways[i].encode(&st))
		}
		out = append(out, blob("OSMData", zlibBlob(primitiveBlock(&st, group)))...)
	}
	if len(w.relations) > 0 {
		st, group = stringTable{}, nil
		for i := range w.relations {
			group = message(group, 4, w.relations[i].encode(&st))
		}
		out = append(out, blob("OSMData", zlibBlob(primitiveBlock(&st, group)))...)
	}
	return out
}

func (w *world) dense(st *stringTable) []byte {
	var ids, lats, lons, keyvals []byte
	var id, lat, lon int64
	for _, n := range w.nodes {
		y, x := int64(math.Round(n.lat*1e7)), int64(math.Round(n.lon*1e7))
		ids, lats, lons = zigzag(ids, n.id-id), zigzag(lats, y-lat), zigzag(lons, x-lon)
		id, lat, lon = n.id, y, x
		for _, t := range n.tags {
			keyvals = protowire.AppendVarint(protowire.AppendVarint(keyvals, st.index(t[0])), st.index(t[1]))
		}
		keyvals = append(keyvals, 0)
	}
	return message(message(message(message(nil, 1, ids), 8, lats), 9, lons), 10, keyvals)
}

func (y *worldWay) encode(st *stringTable) []byte {
	out := encodeTags(varint(nil, 1, uint64(y.id)), st, y.tags)
	var refs []byte
	before := int64(0)
	for _, ref := range y.refs {
		refs, before = zigzag(refs, ref-before), ref
	}
	return message(out, 8, refs)
}

func (r *worldRelation) encode(st *stringTable) []byte {
	out := encodeTags(varint(nil, 1, uint64(r.id)), st, r.tags)
	var roles, ids, types []byte
	before := int64(0)
	for i, way := range r.ways {
		roles = protowire.AppendVarint(roles, st.index(r.roles[i]))
		ids, before = zigzag(ids, way-before), way
		types = append(types, 1)
	}
	return message(message(message(out, 8, roles), 9, ids), 10, types)
}

func encodeTags(out []byte, st *stringTable, tags [][2]string) []byte {
	var keys, vals []byte
	for _, t := range tags {
		keys, vals = protowire.AppendVarint(keys, st.index(t[0])), protowire.AppendVarint(vals, st.index(t[1]))
	}
	return message(message(out, 2, keys), 3, vals)
}

// stringTable numbers strings from 1; 0 is the delimiter.
type stringTable struct {
	strings []string
	number  map[string]uint64
}

func (st *stringTable) index(s string) uint64 {
	if n, ok := st.number[s]; ok {
		return n
	}
	if st.number == nil {
		st.number = map[string]uint64{}
	}
	st.strings = append(st.strings, s)
	st.number[s] = uint64(len(st.strings))
	return st.number[s]
}

func primitiveBlock(st *stringTable, group []byte) []byte {
	table := message(nil, 1, nil)
	for _, s := range st.strings {
		table = message(table, 1, []byte(s))
	}
	return message(message(nil, 1, table), 2, group)
}

func zlibBlob(content []byte) []byte {
	var packed bytes.Buffer
	z := zlib.NewWriter(&packed)
	z.Write(content)
	z.Close()
	return message(varint(nil, 2, uint64(len(content))), 3, packed.Bytes())
}

func blob(kind string, content []byte) []byte {
	header := varint(message(nil, 1, []byte(kind)), 3, uint64(len(content)))
	out := binary.BigEndian.AppendUint32(nil, uint32(len(header)))
	return append(append(out, header...), content...)
}

func message(out []byte, field int, content []byte) []byte {
	return protowire.AppendBytes(protowire.AppendTag(out, protowire.Number(field), protowire.BytesType), content)
}

func varint(out []byte, field int, v uint64) []byte {
	return protowire.AppendVarint(protowire.AppendTag(out, protowire.Number(field), protowire.VarintType), v)
}

func zigzag(out []byte, v int64) []byte {
	return protowire.AppendVarint(out, protowire.EncodeZigZag(v))
}

// read reads a world from its XML.
func read(tb testing.TB, text string, rules ...osmdata.Rule) *osmdata.Extract {
	tb.Helper()
	x, err := osmdata.Options{Rules: rules}.Read(tb.Context(), bytes.NewReader(parseWorld(tb, text).xml()))
	if err != nil {
		tb.Fatal(err)
	}
	return x
}

// streets finds the streets with an id.
func streets(x *osmdata.Extract, id int64) (out []osmdata.Street) {
	for _, s := range x.Streets {
		if s.ID == id {
			out = append(out, s)
		}
	}
	return out
}
