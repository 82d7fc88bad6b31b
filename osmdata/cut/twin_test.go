package cut_test

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/clip"
	"github.com/paulmach/orb/planar"
	"github.com/paulmach/osm"

	"wideberth/osmdata/cut"
)

// ground is a map drawn by chance, as plain lists that the slow twin looks through.
type ground struct {
	rng       *rand.Rand
	nodes     map[int64]*osm.Node
	ways      map[int64]*osm.Way
	relations map[int64]*osm.Relation
}

const (
	groundWest, groundSouth = 8.0, 50.0
	groundDeg               = 0.4 // a side
)

func newGround(seed uint64) *ground {
	g := &ground{rand.New(rand.NewPCG(seed, 7)), map[int64]*osm.Node{}, map[int64]*osm.Way{}, map[int64]*osm.Relation{}}
	for range 6 {
		g.cluster()
	}
	for id := int64(1); id <= 5; id++ { // streets across the whole, and some over nodes that are not there
		w := g.way(osm.Tags{{Key: "highway", Value: "primary"}}, g.any(), g.any(), g.any())
		if id%2 == 0 {
			w.Nodes[1].ID = osm.NodeID(900_000 + id)
		}
	}
	corner := func(x, y float64) int64 { return g.node(groundWest+x*groundDeg, groundSouth+y*groundDeg, nil) }
	a, b, c, d := corner(.1, .1), corner(.9, .15), corner(.85, .9), corner(.12, .8)
	// A wood in two lines, which encloses tiles that none of its lines meets, and a pond that
	// one way bounds; the same in lines that do not close bounds nothing.
	g.area(1, "wood", g.way(nil, a, b, c), g.way(nil, c, d, a))
	g.area(2, "water", g.way(nil, a, b), g.way(nil, c, d))
	g.way(osm.Tags{{Key: "landuse", Value: "forest"}}, a, b, c, d, a)
	from, to := g.some(), g.some()
	g.relations[3] = &osm.Relation{ID: 3, Tags: osm.Tags{{Key: "type", Value: "restriction"}, {Key: "restriction", Value: "no_u_turn"}}, Members: osm.Members{
		{Type: osm.TypeWay, Ref: from, Role: "from"}, {Type: osm.TypeNode, Ref: int64(g.ways[from].Nodes[0].ID), Role: "via"}, {Type: osm.TypeWay, Ref: to, Role: "to"}}}
	g.relations[4] = &osm.Relation{ID: 4, Tags: osm.Tags{{Key: "type", Value: "route"}}, Members: osm.Members{{Type: osm.TypeWay, Ref: from}}}
	return g
}

// cluster draws a village of short ways and shops.
func (g *ground) cluster() {
	x, y := groundWest+g.rng.Float64()*groundDeg, groundSouth+g.rng.Float64()*groundDeg
	var ids []int64
	for range 30 {
		var tags osm.Tags
		if g.rng.IntN(4) == 0 {
			tags = osm.Tags{{Key: "shop", Value: "bakery"}}
		} else if g.rng.IntN(4) == 0 {
			tags = osm.Tags{{Key: "natural", Value: "stone"}} // which nobody asks for
		}
		ids = append(ids, g.node(x+g.rng.NormFloat64()*.01, y+g.rng.NormFloat64()*.01, tags))
	}
	for range 20 {
		tags := []osm.Tags{{{Key: "highway", Value: "path"}}, {{Key: "building", Value: "yes"}}, {{Key: "power", Value: "line"}}, nil}[g.rng.IntN(4)]
		g.way(tags, ids[g.rng.IntN(30)], ids[g.rng.IntN(30)], ids[g.rng.IntN(30)])
	}
}

func (g *ground) node(lon, lat float64, tags osm.Tags) int64 {
	id := int64(len(g.nodes) + 1)
	unit := func(deg float64) float64 { return float64(int64(deg*1e7)) / 1e7 }
	g.nodes[id] = &osm.Node{ID: osm.NodeID(id), Lon: unit(lon), Lat: unit(lat), Tags: tags}
	return id
}

func (g *ground) way(tags osm.Tags, refs ...int64) *osm.Way {
	w := &osm.Way{ID: osm.WayID(len(g.ways) + 1), Tags: tags}
	for _, r := range refs {
		w.Nodes = append(w.Nodes, osm.WayNode{ID: osm.NodeID(r)})
	}
	g.ways[int64(w.ID)] = w
	return w
}

func (g *ground) area(id int64, natural string, ways ...*osm.Way) {
	r := &osm.Relation{ID: osm.RelationID(id), Tags: osm.Tags{{Key: "type", Value: "multipolygon"}, {Key: "natural", Value: natural}}}
	for _, w := range ways {
		r.Members = append(r.Members, osm.Member{Type: osm.TypeWay, Ref: int64(w.ID), Role: "outer"})
	}
	g.relations[id] = r
}

func (g *ground) any() int64  { return 1 + g.rng.Int64N(int64(len(g.nodes))) }
func (g *ground) some() int64 { return 1 + g.rng.Int64N(int64(len(g.ways))) }

// xml writes the map, its elements in no order.
func (g *ground) xml() []byte {
	var lines []string
	tags := func(tags osm.Tags) (s string) {
		for _, t := range tags {
			s += fmt.Sprintf(`<tag k="%s" v="%s"/>`, t.Key, t.Value)
		}
		return s
	}
	for _, n := range g.nodes {
		lines = append(lines, fmt.Sprintf(`<node id="%d" lon="%.7f" lat="%.7f">%s</node>`, n.ID, n.Lon, n.Lat, tags(n.Tags)))
	}
	for _, w := range g.ways {
		s := fmt.Sprintf(`<way id="%d">`, w.ID)
		for _, n := range w.Nodes {
			s += fmt.Sprintf(`<nd ref="%d"/>`, n.ID)
		}
		lines = append(lines, s+tags(w.Tags)+"</way>")
	}
	for _, r := range g.relations {
		s := fmt.Sprintf(`<relation id="%d">`, r.ID)
		for _, m := range r.Members {
			s += fmt.Sprintf(`<member type="%s" ref="%d" role="%s"/>`, m.Type, m.Ref, m.Role)
		}
		lines = append(lines, s+tags(r.Tags)+"</relation>")
	}
	var b bytes.Buffer
	b.WriteString(`<osm>`)
	for _, l := range lines {
		b.WriteString(l)
	}
	b.WriteString(`</osm>`)
	return b.Bytes()
}

// lines are the runs of a way's nodes that are there.
func (g *ground) lines(w *osm.Way) (out []orb.LineString) {
	var run orb.LineString
	for _, n := range w.Nodes {
		if at := g.nodes[int64(n.ID)]; at != nil {
			run = append(run, orb.Point{at.Lon, at.Lat})
			continue
		}
		if out = append(out, run); run == nil {
			out = out[:len(out)-1]
		}
		run = nil
	}
	if run != nil {
		out = append(out, run)
	}
	return out
}

func meetsBox(b orb.Bound, runs []orb.LineString) bool {
	return slices.ContainsFunc(runs, func(l orb.LineString) bool {
		return len(l) == 1 && b.Contains(l[0]) || len(l) > 1 && len(clip.LineString(b, l)) > 0
	})
}

// about tells whether a ring lies about the middle of a tile.
func about(core orb.Bound, ring orb.LineString) bool {
	return len(ring) > 3 && ring[0] == ring[len(ring)-1] && planar.RingContains(orb.Ring(ring), core.Center())
}

// in gives the ids that belong into a block, looking at every object.
func (g *ground) in(b *cut.Block, o *cut.Options) (nodes, ways, relations map[int64]bool) {
	bound := func(d [4]float64) orb.Bound { return orb.Bound{Min: orb.Point{d[0], d[1]}, Max: orb.Point{d[2], d[3]}} }
	box, core := bound(b.Box), bound(b.Core)
	nodes, ways, relations = map[int64]bool{}, map[int64]bool{}, map[int64]bool{}
	for id, n := range g.nodes {
		if o.Picker.Node(n.Tags) && box.Contains(orb.Point{n.Lon, n.Lat}) {
			nodes[id] = true
		}
	}
	for id, w := range g.ways {
		runs := g.lines(w)
		if !o.Picker.Way(w.Tags) {
			continue
		}
		area := len(runs) == 1 && (&osm.Way{Tags: w.Tags, Nodes: w.Nodes}).Polygon()
		if meetsBox(box, runs) || area && about(core, runs[0]) {
			ways[id] = true
		}
	}
	for id, r := range g.relations {
		if o.Picker.Relation(r) == 0 {
			continue
		}
		var runs []orb.LineString
		var ring orb.LineString
		for _, m := range r.Members {
			if m.Type == osm.TypeWay {
				runs = append(runs, g.lines(g.ways[m.Ref])...)
				for i, p := range runs[len(runs)-1] {
					if len(ring) == 0 || i > 0 || ring[len(ring)-1] != p {
						ring = append(ring, p)
					}
				}
			} else if at := g.nodes[m.Ref]; at != nil {
				runs = append(runs, orb.LineString{{at.Lon, at.Lat}})
			}
		}
		if meetsBox(box, runs) || id == 1 && about(core, ring) {
			relations[id] = true
			for _, m := range r.Members {
				if m.Type == osm.TypeWay {
					ways[m.Ref] = true
				}
			}
		}
	}
	for id := range ways {
		for _, n := range g.ways[id].Nodes {
			if g.nodes[int64(n.ID)] != nil {
				nodes[int64(n.ID)] = true
			}
		}
	}
	return nodes, ways, relations
}

// TestAgainstTheTwin: what stands in the blocks of maps drawn by chance is what a twin finds
// that holds every object against every tile, by orb's clipping and containment.
func TestAgainstTheTwin(t *testing.T) {
	enclosed := 0
	for seed := range uint64(8) {
		g := newGround(seed)
		o := small()
		o.MarginM, o.TileBytes = 1500, 250
		o = o.AtOnce(50 + int(seed)*40)
		dir := t.TempDir()
		blocks := cutBytes(t, g.xml(), dir, o)
		if len(blocks.Blocks) < 6 {
			t.Fatalf("seed %d: %d blocks", seed, len(blocks.Blocks))
		}
		for i := range blocks.Blocks {
			b := &blocks.Blocks[i]
			nodes, ways, relations := g.in(b, &o)
			got := contentsOf(t, b.Path(dir))
			differ(t, seed, b.Key, "node", keysOf(got.nodes), nodes)
			differ(t, seed, b.Key, "way", keysOf(got.ways), ways)
			differ(t, seed, b.Key, "relation", keysOf(got.relations), relations)
			if b.Nodes != len(got.nodes) || b.Ways != len(got.ways) || b.Relations != len(got.relations) {
				t.Errorf("seed %d, %s: counted %d, %d, %d", seed, b.Key, b.Nodes, b.Ways, b.Relations)
			}
			if relations[1] && !meetsBox(orb.Bound{Min: orb.Point{b.Box[0], b.Box[1]}, Max: orb.Point{b.Box[2], b.Box[3]}}, append(g.lines(g.ways[g.relations[1].Members[0].Ref]), g.lines(g.ways[g.relations[1].Members[1].Ref])...)) {
				enclosed++
			}
		}
	}
	if enclosed == 0 {
		t.Error("no tile lies within the wood: the maps hold no trap")
	}
}

func keysOf[T any](m map[int64]T) map[int64]bool {
	out := map[int64]bool{}
	for k := range m {
		out[k] = true
	}
	return out
}

func differ(t *testing.T, seed uint64, key, kind string, got, want map[int64]bool) {
	t.Helper()
	for id := range want {
		if !got[id] {
			t.Errorf("seed %d, %s: %s %d is missing", seed, key, kind, id)
		}
	}
	for id := range got {
		if !want[id] {
			t.Errorf("seed %d, %s: %s %d does not belong there", seed, key, kind, id)
		}
	}
}
