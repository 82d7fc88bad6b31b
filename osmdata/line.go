package osmdata

import (
	"context"
	"math"
	"runtime"
	"slices"

	"github.com/paulmach/osm"

	"wideberth/osmdata/parallel"
	"wideberth/osmdata/plane"
)

// frame sets bounds and frame and places all nodes on the plane.
func (b *builder) frame(ctx context.Context) error {
	h := b.h
	box := b.dataBounds()
	box = b.leaveOutFar(box)
	b.x.West, b.x.South, b.x.East, b.x.North = box.MinLon, box.MinLat, box.MaxLon, box.MaxLat
	b.x.Frame = plane.NewFrame((b.x.West+b.x.East)/2, (b.x.South+b.x.North)/2)
	b.at = make([]plane.Point, len(h.ids))
	err := inParallel(ctx, len(h.ids), func(_, from, to int) {
		for i := from; i < to; i++ {
			b.at[i] = b.x.Frame.Forward(float64(h.lons[i])/1e7, float64(h.lats[i])/1e7)
		}
	})
	if err != nil {
		return err
	}
	return inParallel(ctx, len(h.ways), func(_, from, to int) {
		for i := from; i < to; i++ {
			w := &h.ways[i]
			w.at = b.indexes(w.refs)
		}
	})
}

// widestDeg is how wide an extract may be before distances at its sides are off by
// more than about 0.2 % (transverse Mercator 5 degrees from its meridian at 40 N).
const widestDeg = 10

// farDeg is how far from the middle of an extract anything may lie, in degrees both
// ways: beyond it the plane serves nothing, and one stray place would make a town as
// large as the globe, with memory to match.
const farDeg = 10

// leaveOutFar leaves out the places that are too far from the middle: that of the
// bounds, or, where those are too large, where most places are. It gives the bounds of
// what is left.
func (b *builder) leaveOutFar(box osm.Bounds) osm.Bounds {
	h := b.h
	if len(h.ids) == 0 {
		return box
	}
	lon, lat := (box.MinLon+box.MaxLon)/2, (box.MinLat+box.MaxLat)/2
	if wide := box.MaxLon-box.MinLon > 2*farDeg || box.MaxLat-box.MinLat > 2*farDeg; wide {
		lon, lat = middle(h.lons), middle(h.lats)
		box = osm.Bounds{MinLon: max(box.MinLon, lon-farDeg), MaxLon: min(box.MaxLon, lon+farDeg), MinLat: max(box.MinLat, lat-farDeg), MaxLat: min(box.MaxLat, lat+farDeg)}
	}
	far := func(x, y int32) bool {
		return math.Abs(float64(x)/1e7-lon) > farDeg || math.Abs(float64(y)/1e7-lat) > farDeg
	}
	n := 0
	for i, id := range h.ids {
		if far(h.lons[i], h.lats[i]) {
			b.note(oddFar, object("node", id))
			continue
		}
		h.ids[n], h.lons[n], h.lats[n] = id, h.lons[i], h.lats[i]
		n++
	}
	h.ids, h.lons, h.lats = h.ids[:n], h.lons[:n], h.lats[:n]
	h.nodes = slices.DeleteFunc(h.nodes, func(n rawNode) bool { return far(n.lon, n.lat) })
	return box
}

// middle is the median of coordinates, in degrees.
func middle(of []int32) float64 {
	sorted := slices.Sorted(slices.Values(of))
	return float64(sorted[len(sorted)/2]) / 1e7
}

// dataBounds are the bounds that the file states, else those of its nodes. Stated
// bounds wider than the plane serves, like the planet's in an extract of a town, give
// way to the nodes'.
func (b *builder) dataBounds() osm.Bounds {
	h := b.h
	stated := h.bounds
	if stated != nil && stated.MaxLon-stated.MinLon <= widestDeg {
		return *stated
	}
	if len(h.ids) == 0 {
		return osm.Bounds{}
	}
	box := osm.Bounds{
		MinLon: float64(slices.Min(h.lons)) / 1e7, MaxLon: float64(slices.Max(h.lons)) / 1e7,
		MinLat: float64(slices.Min(h.lats)) / 1e7, MaxLat: float64(slices.Max(h.lats)) / 1e7,
	}
	if stated != nil {
		b.note(oddBounds, "bounds")
	}
	if box.MaxLon-box.MinLon > widestDeg {
		b.note(oddWide, "bounds")
	}
	return box
}

// maxPieces bounds the pieces of parallel work.
const maxPieces = 16

// inParallel cuts 0..n into a piece for each processor and waits for all.
func inParallel(ctx context.Context, n int, do func(piece, from, to int)) error {
	pieces := min(maxPieces, runtime.GOMAXPROCS(0))
	return parallel.For(ctx, pieces, func(k int) error {
		do(k, n*k/pieces, n*(k+1)/pieces)
		return nil
	})
}

// index finds a node among those with a place, -1 if it has none.
func (b *builder) index(id int64) int {
	i, ok := slices.BinarySearch(b.h.ids, id)
	if !ok {
		return -1
	}
	return i
}

// place is where a node lies.
func (b *builder) place(id int64) (plane.Point, bool) {
	i := b.index(id)
	if i < 0 {
		return plane.Point{}, false
	}
	return b.at[i], true
}

// mergeSamePlaces finds neighbours on a street that lie at one place. Both names of
// the place become the smaller one, so that streets which met at either still meet.
func (b *builder) mergeSamePlaces() {
	for i := range b.h.ways {
		w := &b.h.ways[i]
		if w.tags.Find("highway") == "" {
			continue
		}
		before := int32(-1)
		for _, at := range w.at {
			if before >= 0 && at >= 0 && before != at && b.at[before] == b.at[at] {
				b.note(oddSamePlace, object("way", w.id))
				u, v := b.root(b.h.ids[before]), b.root(b.h.ids[at])
				if u != v {
					b.same[max(u, v)] = min(u, v)
				}
			}
			before = at
		}
	}
}

// root is the name under which a node's place goes.
func (b *builder) root(id int64) int64 {
	for {
		to, ok := b.same[id]
		if !ok {
			return id
		}
		id = to
	}
}

// run is a known part of a way: nodes and their places, none twice in a row.
type run struct {
	nodes      []int64
	line       plane.Polyline
	start, end bool // the way goes on before and after without known nodes
}

// longestGapM is how far apart two neighbours on a line may be: the longest straight
// parts of real roads are drawn with a node more than once on so far a way (our
// assumption). What lies beyond is a slip of the pen.
const longestGapM = 20000

// runs gives the known parts of a line of nodes, given as indexes, that have two
// places or more, how many nodes had no place, and how often two were too far apart.
func (b *builder) runs(at []int32) (parts []run, missing, gaps int) {
	r := run{nodes: make([]int64, 0, len(at)), line: make(plane.Polyline, 0, len(at))}
	end := func() {
		if len(r.line) >= 2 {
			parts = append(parts, r)
		}
	}
	for _, i := range at {
		if i < 0 {
			missing++
			r.end = true
			end()
			r = run{start: true}
			continue
		}
		p, id := b.at[i], b.h.ids[i]
		if n := len(r.line); n > 0 && r.line[n-1] == p {
			continue
		} else if n > 0 && r.line[n-1].DistanceM(p) > longestGapM {
			gaps++
			r.end = true
			end()
			r = run{start: true}
		}
		if len(b.same) > 0 {
			id = b.root(id)
		}
		r.nodes, r.line = append(r.nodes, id), append(r.line, p)
	}
	end()
	return parts, missing, gaps
}

// lines gives the known parts of a line of nodes, given as indexes.
func (b *builder) lines(at []int32) []plane.Polyline {
	parts, _, _ := b.runs(at)
	lines := make([]plane.Polyline, len(parts))
	for i := range parts {
		lines[i] = parts[i].line
	}
	return lines
}

// indexes finds the nodes of a line.
func (b *builder) indexes(refs []int64) []int32 {
	at := make([]int32, len(refs))
	for i, id := range refs {
		at[i] = int32(b.index(id))
	}
	return at
}

// outside tells whether a node lies beyond the bounds that the file states.
func (b *builder) outside(id int64) bool {
	bounds, i := b.h.bounds, b.index(id)
	if bounds == nil || i < 0 {
		return false
	}
	lon, lat := float64(b.h.lons[i])/1e7, float64(b.h.lats[i])/1e7
	return lon < bounds.MinLon || lon > bounds.MaxLon || lat < bounds.MinLat || lat > bounds.MaxLat
}
