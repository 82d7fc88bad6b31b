package osmdata

import (
	"context"
	"iter"
	"slices"
	"time"

	"github.com/paulmach/osm"
)

// ReadObjects makes an extract of raw objects in any order, as Read does of those of a
// file: nodes, ways and relations, with the time up to which they go and the bounds that
// they were cut at (zero and nil where that is not known). An error of the sequence ends
// the reading. Memory is as for XML.
func (o Options) ReadObjects(ctx context.Context, objects iter.Seq2[osm.Object, error], at time.Time, bounds *osm.Bounds) (*Extract, error) {
	h := newHarvest(o.Rules)
	if bounds != nil {
		h.addBounds(bounds)
	}
	for obj, err := range objects {
		if err != nil {
			return nil, err
		}
		switch v := obj.(type) {
		case *osm.Node:
			h.addNode(v)
		case *osm.Way:
			h.addWay(v)
		case *osm.Relation:
			h.addRelation(v)
		}
	}
	h.timestamp = at
	h.finishRelations()
	h.keepMembers()
	h.dropNodes()
	h.finishNodes()
	return interpret(ctx, h, footTable(o.Country))
}

// dropNodes drops nodes that neither tags nor ways want: where the map lies must not
// depend on them.
func (h *harvest) dropNodes() {
	tagged := make([]int64, len(h.nodes))
	for i := range h.nodes {
		tagged[i] = h.nodes[i].id
	}
	slices.Sort(tagged)
	n := 0
	for i, id := range h.ids {
		if _, wanted := slices.BinarySearch(tagged, id); wanted || h.needs(id) {
			h.ids[n], h.lons[n], h.lats[n] = id, h.lons[i], h.lats[i]
			n++
		}
	}
	h.ids, h.lons, h.lats = h.ids[:n], h.lons[:n], h.lats[:n]
}
