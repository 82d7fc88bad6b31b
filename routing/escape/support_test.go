package escape_test

import (
	"math"
	"testing"

	"wideberth/osmdata/plane"
	"wideberth/routing/reach"
	"wideberth/routing/search"
	"wideberth/routing/snapshot"
	"wideberth/routing/snapshot/maptest"
)

// on makes a map ready.
func on(t testing.TB, s *snapshot.Snapshot) *reach.Land {
	t.Helper()
	land, err := reach.NewLand(s, nil)
	if err != nil {
		t.Fatal(err)
	}
	return land
}

// outAndBack is a walk from the door to the farthest place within a kilometre and
// home by the same way.
func outAndBack(t testing.TB, land *reach.Land) (line plane.Polyline) {
	t.Helper()
	door, err := land.Place(maptest.Door(land.Snap.Frame))
	if err != nil {
		t.Fatal(err)
	}
	r, err := land.Around(door, nil, 2000)
	if err != nil {
		t.Fatal(err)
	}
	router, err := search.NewRouter(&r.Star)
	if err != nil {
		t.Fatal(err)
	}
	tree, err := router.Reach([]search.Source{{Vertex: r.Door}}, r.TimesS(1.2), search.Span{Cutoff: math.Inf(1)})
	if err != nil {
		t.Fatal(err)
	}
	defer tree.Release()
	for _, a := range tree.Path(nil, tree.Settled[len(tree.Settled)-1]) {
		line = append(line, land.LineOf(r.Piece[a].Directed)...)
	}
	return append(line, line.Reversed()...)
}
