package osmdata

import (
	"context"
	"iter"
	"time"

	"github.com/paulmach/osm"
)

// Objects are the raw objects of a map, kind by kind, each kind those that are wanted; want
// may be called by several goroutines at once and is pure.
type Objects struct {
	Relations func(want func(*osm.Relation) bool) iter.Seq2[osm.Object, error]
	Ways      func(want func(*osm.Way) bool) iter.Seq2[osm.Object, error]
	Nodes     func(want func(*osm.Node) bool) iter.Seq2[osm.Object, error]
}

// ReadObjects makes an extract of raw objects, as Read does of those of a file: with the
// time up to which they go and the bounds that they were cut at (zero and nil where that
// is not known). An error of a sequence ends the reading. Memory is as for PBF.
func (o Options) ReadObjects(ctx context.Context, from Objects, at time.Time, bounds *osm.Bounds) (*Extract, error) {
	h := newHarvest(o.Rules)
	for obj, err := range from.Relations(h.wantRelation) {
		if err != nil {
			return nil, err
		}
		h.addRelation(obj.(*osm.Relation))
	}
	h.finishRelations()
	for obj, err := range from.Ways(h.wantWay) {
		if err != nil {
			return nil, err
		}
		h.addWay(obj.(*osm.Way))
	}
	h.keepMembers()
	for obj, err := range from.Nodes(h.wantNode) {
		if err != nil {
			return nil, err
		}
		h.addNode(obj.(*osm.Node))
	}
	h.timestamp = at
	if bounds != nil {
		h.addBounds(bounds)
	}
	h.finishNodes()
	return interpret(ctx, h, footTable(o.Country))
}
