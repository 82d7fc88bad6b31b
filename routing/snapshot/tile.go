package snapshot

import (
	"context"
	"fmt"
	"io"
	"maps"

	"wideberth/exposure"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
	"wideberth/routing/survey"
	"wideberth/routing/survey/beside"
)

// A map in tiles is made in three steps. Glance says what a block, which is a tile's core
// with a margin, tells of the whole map; Import with what all told surveys what lies in
// the core; Join puts a core and what lies about it together from the tiles that surveyed
// it.

// Glance reads a block and says what its core tells of the whole map, to be gathered by
// survey.Gather. Errors are those of Import.
func Glance(ctx context.Context, r io.ReadSeeker, o ImportOptions) (*survey.Share, error) {
	x, err := o.Reading().Read(ctx, r)
	if err != nil {
		return nil, fmt.Errorf("glance: %w", err)
	}
	zone, err := zoneOf(x, o.TimeZone)
	if err != nil {
		return nil, err
	}
	country, _ := countryOf(x, o.Country, zone)
	return survey.ShareOf(x, country, o.Core), nil
}

// Part is a snapshot whose rows hold for the edges whose first node lies where Holds says.
type Part struct {
	From  *Snapshot
	Holds func(lonDeg, latDeg float64) bool
}

// The oddities of a joined snapshot.
const (
	oddByWay = "edge with the survey of another part of its way"
	oddAside = "edge with the survey of its neighbour"
)

// Join makes the snapshot of a block, all but its field, which it takes from parts that
// were surveyed: each edge has the row of the first part that holds its first node and has
// the edge, by nodes and ways. Where the block ends a street may be an edge that no part
// has; that takes the row of another edge of its way, else of one that it meets, and is
// counted. Errors are those of Import.
func Join(ctx context.Context, r io.ReadSeeker, path string, o ImportOptions, parts []Part) (*Snapshot, error) {
	x, err := o.Reading().Read(ctx, r)
	if err != nil {
		return nil, fmt.Errorf("join: %w", err)
	}
	m, err := newMaker(ctx, x, path, o)
	if err != nil {
		return nil, err
	}
	sources := beside.Sources(x)
	where := make(map[sourceKey]int32, len(sources))
	for i, k := range keysOf(sources) {
		where[k] = int32(i)
	}
	t := &tile{g: m.g, earth: plane.NewEarth(x.Frame), rows: make([]row, m.g.EdgeCount())}
	for _, p := range parts {
		t.parts = append(t.parts, newTilePart(p, where))
	}
	t.findAll()
	field, err := t.field(sources)
	if err != nil {
		return nil, err
	}
	s, err := m.finish(ctx, field)
	if err != nil {
		return nil, err
	}
	for kind, n := range map[string]int{oddByWay: t.byWay, oddAside: t.aside} {
		if n > 0 {
			s.Odd[kind] = n
		}
	}
	return s, nil
}

// tile is a field that is put together from surveyed tiles.
type tile struct {
	g            *network.Graph
	earth        *plane.Earth
	parts        []tilePart
	rows         []row // by edge
	byWay, aside int   // edges that no part has
}

// row says where the row of an edge is; from is -1 for nowhere.
type row struct {
	part    int
	from    int32
	against bool
}

// tilePart is a part with what is asked of it.
type tilePart struct {
	*part
	census map[string]float64
	boards float32
	holds  func(lonDeg, latDeg float64) bool
	earth  *plane.Earth
	ways   map[int64][]int32 // edges that hold, by the ways that they run along
}

func newTilePart(p Part, where map[sourceKey]int32) tilePart {
	g := p.From.Graph
	t := tilePart{part: newPart(g, p.From.Field, where), census: p.From.Field.Census, boards: p.From.Field.Boards,
		holds: p.Holds, earth: plane.NewEarth(p.From.Frame), ways: map[int64][]int32{}}
	for e := range int32(g.EdgeCount()) {
		if !t.holds(firstNode(g, t.earth, e)) {
			continue
		}
		for k := g.PartAt[e]; k < g.PartAt[e+1]; k++ {
			if list := t.ways[g.Parts[k].Street]; len(list) == 0 || list[len(list)-1] != e {
				t.ways[g.Parts[k].Street] = append(list, e)
			}
		}
	}
	return t
}

// firstNode is where an edge's first node lies.
func firstNode(g *network.Graph, earth *plane.Earth, e int32) (lonDeg, latDeg float64) {
	tail, _ := g.Ends(e)
	return earth.Degrees(g.Vertex[tail])
}

// findAll finds the row of every edge.
func (t *tile) findAll() {
	var left []int32
	for e := range t.rows {
		if t.rows[e] = t.find(int32(e)); t.rows[e].from < 0 {
			left = append(left, int32(e))
		}
	}
	for _, e := range left {
		if t.rows[e] = t.alongWay(e); t.rows[e].from >= 0 {
			t.byWay++
		}
	}
	for last := -1; last != len(left); { // until nothing more is met
		last = len(left)
		var still []int32
		for _, e := range left {
			if t.rows[e].from < 0 {
				t.rows[e] = t.met(e)
				if t.rows[e].from < 0 {
					still = append(still, e)
				} else {
					t.aside++
				}
			}
		}
		left = still
	}
}

// find gives the row of the edge itself.
func (t *tile) find(e int32) row {
	lon, lat := firstNode(t.g, t.earth, e)
	for i := range t.parts {
		p := &t.parts[i]
		if !p.holds(lon, lat) {
			continue
		}
		if at, against := p.find(t.g, e); at >= 0 && p.holds(firstNode(p.g, p.earth, at)) {
			return row{i, at, against}
		}
	}
	return row{from: -1}
}

// alongWay gives the row of the edge nearest to the middle of a street that an edge runs
// along, of the same way.
func (t *tile) alongWay(e int32) row {
	best, least := row{from: -1}, 0.0
	first := &t.g.Parts[t.g.PartAt[e]]
	for i := range t.parts {
		p := &t.parts[i]
		for _, c := range p.ways[first.Street] {
			for k := p.g.PartAt[c]; k < p.g.PartAt[c+1]; k++ {
				q := &p.g.Parts[k]
				if q.Street != first.Street {
					continue
				}
				off := float64(q.StreetM - first.StreetM)
				if off = max(off, -off); best.from < 0 || off < least {
					best, least = row{i, c, q.Reverse() != first.Reverse()}, off
				}
			}
		}
	}
	return best
}

// met gives the row of an edge that meets this one.
func (t *tile) met(e int32) row {
	tail, head := t.g.Ends(e)
	for _, v := range [2]int32{tail, head} {
		for a := t.g.Star.First[v]; a < t.g.Star.First[v+1]; a++ {
			if r := t.rows[t.g.ArcEdge[a]]; r.from >= 0 {
				return r
			}
		}
	}
	return row{from: -1}
}

// field copies the rows. Totals are those of the part that has most of them.
func (t *tile) field(sources []exposure.Source) (*exposure.Field, error) {
	j := newJoined(t.g, sources)
	count := make([]int, len(t.parts))
	for e := range t.rows {
		r := t.rows[e]
		if r.from < 0 {
			j.leave()
			continue
		}
		count[r.part]++
		j.take(int32(e), t.parts[r.part].part, r.from, r.against)
	}
	most := 0
	for i := range count {
		if count[i] > count[most] {
			most = i
		}
	}
	j.f.Census = map[string]float64{}
	if len(t.parts) > 0 {
		j.f.Census, j.f.Boards = maps.Clone(t.parts[most].census), t.parts[most].boards
	}
	return j.f, j.check()
}
