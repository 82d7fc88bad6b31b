package change

import (
	"context"
	"iter"

	"github.com/paulmach/osm"
)

// FewOf gives the nodes and the ways with given ids, as Touched asks for them.
func FewOf(ctx context.Context, m *Map, ids []int64) []iter.Seq2[osm.Object, error] {
	return []iter.Seq2[osm.Object, error]{m.nodesOf(ctx, ids), m.waysOf(ctx, ids)}
}
