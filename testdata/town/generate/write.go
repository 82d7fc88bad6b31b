package main

import (
	"bytes"
	"fmt"
	"math"
	"sort"
	"strings"
)

// The sheet lies in the open Atlantic off the Bay of Biscay: no real place is
// near, the clock there is UTC, and the sun is that of middle latitudes.
const (
	originLat, originLon = 47.2, -7.0

	// Metres per degree at the origin, from the radii of curvature of the
	// WGS 84 ellipsoid there: 6,369,843 m along the meridian, 6,389,662 m
	// across it, and the cosine of the latitude.
	metresPerLat = 6369843 * math.Pi / 180
	metresPerLon = 6389662 * math.Pi / 180 * 0.6794413

	// The extract is cut here: ways that leave refer to nodes that are not in it.
	halfWideM, halfHighM = 1350, 1200

	stamp = "2026-03-01T00:00:00Z"
)

func lonLat(p pt) (lon, lat float64) {
	return originLon + p.x/metresPerLon, originLat + p.y/metresPerLat
}

// writer collects nodes, ways and relations and gives out their ids.
type writer struct {
	nodes, ways, relations strings.Builder
	ids                    map[key]int64
	nextNode, nextWay      int64
	nextRelation           int64
	nodeTags               map[key]tags
}

// xml is the town as an OSM XML file.
func (t *town) xml() []byte {
	w := &writer{ids: map[key]int64{}, nextNode: 1, nextWay: 1, nextRelation: 1, nodeTags: t.nodeTags}
	for _, p := range t.places {
		w.place(p)
	}
	for _, l := range t.lines {
		w.line(l)
	}
	for _, h := range t.houses {
		w.way(append(h.ring, h.ring[0]), h.tags)
	}
	for _, a := range t.areas {
		w.way(append(append([]pt(nil), a.ring...), a.ring[0]), a.tags)
	}
	for _, m := range t.multis {
		w.multi(m)
	}
	return w.file()
}

func (w *writer) file() []byte {
	var b bytes.Buffer
	lon0, lat0 := lonLat(pt{-halfWideM, -halfHighM})
	lon1, lat1 := lonLat(pt{halfWideM, halfHighM})
	b.WriteString("<?xml version='1.0' encoding='UTF-8'?>\n")
	fmt.Fprintf(&b, "<osm version=\"0.6\" generator=\"wideberth invented town\" timestamp=%q>\n", stamp)
	fmt.Fprintf(&b, " <bounds minlat=\"%.7f\" minlon=\"%.7f\" maxlat=\"%.7f\" maxlon=\"%.7f\"/>\n", lat0, lon0, lat1, lon1)
	b.WriteString(w.nodes.String())
	b.WriteString(w.ways.String())
	b.WriteString(w.relations.String())
	b.WriteString("</osm>\n")
	return b.Bytes()
}

func (w *writer) place(p place) int64 {
	id := w.nextNode
	w.nextNode++
	w.writeNode(id, p.at, p.tags)
	return id
}

// node is the id of the node at p; the first call for a place writes it,
// unless the file is to refer to a node that it lacks.
func (w *writer) node(p pt, written bool) int64 {
	k := p.key()
	if id, ok := w.ids[k]; ok {
		return id
	}
	id := w.nextNode
	w.nextNode++
	w.ids[k] = id
	if written {
		w.writeNode(id, p, w.nodeTags[k])
	}
	return id
}

// cut tells the points that the extract leaves out of its streets and paths;
// areas are kept whole.
func cut(p pt) bool { return math.Abs(p.x) > halfWideM || math.Abs(p.y) > halfHighM }

func (w *writer) writeNode(id int64, p pt, g tags) {
	lon, lat := lonLat(p)
	fmt.Fprintf(&w.nodes, " <node id=\"%d\" version=\"1\" lat=\"%.7f\" lon=\"%.7f\"", id, lat, lon)
	if len(g) == 0 {
		w.nodes.WriteString("/>\n")
		return
	}
	w.nodes.WriteString(">\n")
	writeTags(&w.nodes, g)
	w.nodes.WriteString(" </node>\n")
}

func writeTags(b *strings.Builder, g tags) {
	keys := make([]string, 0, len(g))
	for k := range g {
		keys = append(keys, k)
	}
	sort.Strings(keys)
	for _, k := range keys {
		if g[k] != "" {
			fmt.Fprintf(b, "  <tag k=%q v=%q/>\n", k, escaped.Replace(g[k]))
		}
	}
}

var escaped = strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;", `"`, "&quot;")

func (w *writer) line(l *line) {
	anyInside := false
	for _, p := range l.at {
		anyInside = anyInside || !cut(p)
	}
	if !anyInside || len(l.at) == 0 {
		return
	}
	refs := make([]int64, 0, len(l.at)+1)
	for i, p := range l.at {
		refs = append(refs, w.node(p, !cut(p) && !(l.gap && i == len(l.at)/2)))
		if l.doubled && i == len(l.at)/2 {
			refs = append(refs, w.place(place{p, nil}))
		}
	}
	w.writeWay(refs, l.tags)
}

func (w *writer) way(at []pt, g tags) int64 {
	refs := make([]int64, len(at))
	for i, p := range at {
		refs[i] = w.node(p, true)
	}
	return w.writeWay(refs, g)
}

func (w *writer) writeWay(refs []int64, g tags) int64 {
	id := w.nextWay
	w.nextWay++
	fmt.Fprintf(&w.ways, " <way id=\"%d\" version=\"1\">\n", id)
	for _, r := range refs {
		fmt.Fprintf(&w.ways, "  <nd ref=\"%d\"/>\n", r)
	}
	writeTags(&w.ways, g)
	w.ways.WriteString(" </way>\n")
	return id
}

func (w *writer) multi(m multi) {
	type member struct {
		id   int64
		role string
	}
	ring := append(append([]pt(nil), m.outer...), m.outer[0])
	var members []member
	if m.halves {
		h := len(ring) / 2
		members = append(members, member{w.way(ring[:h+1], nil), "outer"}, member{w.way(ring[h:], nil), "outer"})
	} else {
		members = append(members, member{w.way(ring, nil), "outer"})
	}
	if m.inner != nil {
		members = append(members, member{w.way(append(append([]pt(nil), m.inner...), m.inner[0]), nil), "inner"})
	}
	fmt.Fprintf(&w.relations, " <relation id=\"%d\" version=\"1\">\n", w.nextRelation)
	w.nextRelation++
	for _, x := range members {
		fmt.Fprintf(&w.relations, "  <member type=\"way\" ref=\"%d\" role=%q/>\n", x.id, x.role)
	}
	writeTags(&w.relations, m.tags.with("type", "multipolygon"))
	w.relations.WriteString(" </relation>\n")
}
