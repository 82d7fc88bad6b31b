package osmdata_test

import (
	"bytes"
	"context"
	"errors"
	"iter"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"github.com/paulmach/osm"
	"pgregory.net/rapid"

	"wideberth/osmdata"
	"wideberth/osmdata/plane"
)

// elements opens what a world is in a format.
func elements(t interface{ Fatal(...any) }, data []byte) *osmdata.Elements {
	e, err := osmdata.OpenElements(context.Background(), bytes.NewReader(data), 3, nil)
	if err != nil {
		t.Fatal(err)
	}
	return e
}

// taken are all elements of a file, in its order, kind by kind.
func taken(t interface{ Fatal(...any) }, e *osmdata.Elements) (out []osm.Object) {
	ctx := context.Background()
	anyNode, anyWay, anyRelation := func(*osm.Node) bool { return true }, func(*osm.Way) bool { return true }, func(*osm.Relation) bool { return true }
	for _, err := range []error{
		e.Nodes(ctx, anyNode, func(n *osm.Node) error { out = append(out, n); return nil }),
		e.Ways(ctx, anyWay, func(w *osm.Way) error { out = append(out, w); return nil }),
		e.Relations(ctx, anyRelation, func(r *osm.Relation) error { out = append(out, r); return nil }),
	} {
		if err != nil {
			t.Fatal(err)
		}
	}
	return out
}

// TestElementsAreThoseOfTheFile: every element as it was drawn, as often as asked.
func TestElementsAreThoseOfTheFile(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := drawWorld(t)
		for name, data := range map[string][]byte{"XML": w.xml(), "PBF": w.pbf()} {
			e := elements(t, data)
			for pass := range 2 {
				all := taken(t, e)
				if len(all) != len(w.nodes)+len(w.ways)+len(w.relations) {
					t.Fatalf("%s, pass %d: %d elements", name, pass, len(all))
				}
				for i, n := range w.nodes {
					if got := all[i].(*osm.Node); int64(got.ID) != n.id || len(got.Tags) != len(n.tags) || max(got.Lon-n.lon, n.lon-got.Lon, got.Lat-n.lat, n.lat-got.Lat) > 1e-9 {
						t.Fatalf("%s: node %+v of %+v", name, got, n)
					}
				}
				for i, y := range w.ways {
					got := all[len(w.nodes)+i].(*osm.Way)
					refs := make([]int64, len(got.Nodes))
					for k := range got.Nodes {
						refs[k] = int64(got.Nodes[k].ID)
					}
					if int64(got.ID) != y.id || !slices.Equal(refs, y.refs) || len(got.Tags) != len(y.tags) {
						t.Fatalf("%s: way %+v of %+v", name, got, y)
					}
				}
				for i, r := range w.relations {
					got := all[len(w.nodes)+len(w.ways)+i].(*osm.Relation)
					if int64(got.ID) != r.id || len(got.Members) != len(r.ways) || got.Members[0].Role != r.roles[0] || got.Members[0].Ref != r.ways[0] {
						t.Fatalf("%s: relation %+v of %+v", name, got, r)
					}
				}
			}
			if b := e.Bounds; b == nil || math.Abs(b.MinLon-9.999) > 1e-9 || math.Abs(b.MaxLat-50.001) > 1e-9 || !e.Timestamp.Equal(time.Date(2024, 5, 6, 7, 8, 9, 0, time.UTC)) {
				t.Fatalf("%s: bounds %+v, time %v", name, e.Bounds, e.Timestamp)
			}
		}
	})
}

// TestOnlyWantedElements, and an end when whoever takes them fails, in both formats.
func TestOnlyWantedElements(t *testing.T) {
	w := parseWorld(t, "n 1 0 0\nn 2 1 0\nn 3 2 0\nw 1 1,2 highway=path\nw 2 2,3 building=yes\nw 3 1,3 highway=path\nr 1 outer:1 type=route\nr 2 outer:2 type=multipolygon building=yes")
	full := errors.New("no room")
	for name, data := range map[string][]byte{"XML": w.xml(), "PBF": w.pbf()} {
		e, ctx := elements(t, data), t.Context()
		var nodes, ways, relations []int64
		east := func(n *osm.Node) bool { return n.ID > 1 }
		if err := e.Nodes(ctx, east, func(n *osm.Node) error { nodes = append(nodes, int64(n.ID)); return nil }); err != nil || !slices.Equal(nodes, []int64{2, 3}) {
			t.Errorf("%s: nodes %v, %v", name, nodes, err)
		}
		walked := func(w *osm.Way) bool { return w.Tags.Find("highway") != "" }
		if err := e.Ways(ctx, walked, func(w *osm.Way) error { ways = append(ways, int64(w.ID)); return nil }); err != nil || !slices.Equal(ways, []int64{1, 3}) {
			t.Errorf("%s: ways %v, %v", name, ways, err)
		}
		areas := func(r *osm.Relation) bool { return r.Tags.Find("type") == "multipolygon" }
		if err := e.Relations(ctx, areas, func(r *osm.Relation) error { relations = append(relations, int64(r.ID)); return nil }); err != nil || !slices.Equal(relations, []int64{2}) {
			t.Errorf("%s: relations %v, %v", name, relations, err)
		}
		for what, pass := range map[string]func() error{
			"nodes":     func() error { return e.Nodes(ctx, east, func(*osm.Node) error { return full }) },
			"ways":      func() error { return e.Ways(ctx, walked, func(*osm.Way) error { return full }) },
			"relations": func() error { return e.Relations(ctx, areas, func(*osm.Relation) error { return full }) },
		} {
			if err := pass(); !errors.Is(err, full) {
				t.Errorf("%s, %s: %v", name, what, err)
			}
		}
		stopped, cancel := context.WithCancel(ctx)
		cancel()
		if err := e.Nodes(stopped, east, func(*osm.Node) error { return nil }); !errors.Is(err, context.Canceled) {
			t.Errorf("%s: a pass that nobody waits for: %v", name, err)
		}
		if n := len(taken(t, e)); n != 8 {
			t.Errorf("%s: %d elements after passes that failed", name, n)
		}
	}
}

// objects are elements in an order of their own, and an error at the end of each kind.
func objects(all []osm.Object, err error) osmdata.Objects {
	return osmdata.Objects{
		Relations: func(want func(*osm.Relation) bool) iter.Seq2[osm.Object, error] { return of(all, want, err) },
		Ways:      func(want func(*osm.Way) bool) iter.Seq2[osm.Object, error] { return of(all, want, err) },
		Nodes:     func(want func(*osm.Node) bool) iter.Seq2[osm.Object, error] { return of(all, want, err) },
	}
}

// of are the elements of one kind that are wanted.
func of[T osm.Object](all []osm.Object, want func(T) bool, err error) iter.Seq2[osm.Object, error] {
	return func(yield func(osm.Object, error) bool) {
		for _, o := range all {
			if e, is := o.(T); is && want(e) && !yield(o, nil) {
				return
			}
		}
		if err != nil {
			yield(nil, err)
		}
	}
}

// TestObjectsReadLikeTheFile: an extract of raw objects in any order is that of the
// file that they are from.
func TestObjectsReadLikeTheFile(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := drawWorld(t)
		data := w.xml()
		want, why := result(data)
		e := elements(t, data)
		all := taken(t, e)
		seed := rapid.Uint64().Draw(t, "order")
		rand.New(rand.NewPCG(seed, 0)).Shuffle(len(all), func(i, j int) { all[i], all[j] = all[j], all[i] })
		got, err := osmdata.Options{Rules: playRules}.ReadObjects(context.Background(), objects(all, nil), e.Timestamp, e.Bounds)
		if (err == nil) != (why == "") {
			t.Fatalf("error %v, of the file %q", err, why)
		}
		if err == nil {
			delete(got.Report.Read, "nodes")
			if !sameExtract(got, want) {
				t.Fatalf("another extract than the file's")
			}
		}
	})
}

func TestObjectsThatFail(t *testing.T) {
	broken := errors.New("broken pipe")
	all, sound := objects(nil, broken), objects(nil, nil)
	for kind, from := range map[string]osmdata.Objects{"relations": all, "ways": {Relations: sound.Relations, Ways: all.Ways}, "nodes": {Relations: sound.Relations, Ways: sound.Ways, Nodes: all.Nodes}} {
		if _, err := (osmdata.Options{}).ReadObjects(t.Context(), from, time.Time{}, nil); !errors.Is(err, broken) {
			t.Errorf("%s: %v", kind, err)
		}
	}
}

// TestPickerKeepsWhatCounts: a map without the elements that no reading keeps is read as
// the same map.
func TestPickerKeepsWhatCounts(t *testing.T) {
	p := osmdata.NewPicker(playRules)
	rapid.Check(t, func(t *rapid.T) {
		w := drawWorld(t)
		whole, why := result(w.xml())
		less := &world{bounds: w.bounds}
		member, used := map[int64]bool{}, map[int64]bool{}
		for _, r := range w.relations {
			rel := &osm.Relation{ID: osm.RelationID(r.id), Tags: tagsOf(r.tags)}
			if p.Relation(rel) == 0 {
				continue
			}
			less.relations = append(less.relations, r)
			for _, way := range r.ways {
				member[way] = true
			}
		}
		for _, y := range w.ways {
			if member[y.id] || p.Way(tagsOf(y.tags)) {
				less.ways = append(less.ways, y)
				for _, ref := range y.refs {
					used[ref] = true
				}
			}
		}
		for _, n := range w.nodes {
			if used[n.id] || p.Node(tagsOf(n.tags)) {
				less.nodes = append(less.nodes, n)
			}
		}
		got, gotWhy := result(less.xml())
		if why != gotWhy || why == "" && !sameExtract(got, whole) {
			t.Fatalf("of %d, %d, %d elements %d, %d, %d are another map: %q, %q", len(w.nodes), len(w.ways), len(w.relations), len(less.nodes), len(less.ways), len(less.relations), why, gotWhy)
		}
	})
}

func tagsOf(pairs [][2]string) (out osm.Tags) {
	for _, p := range pairs {
		out = append(out, osm.Tag{Key: p[0], Value: p[1]})
	}
	return out
}

// TestRelationsAreKeptForWhatTheySay.
func TestRelationsAreKeptForWhatTheySay(t *testing.T) {
	p := osmdata.NewPicker(nil)
	for _, c := range []struct {
		tags string
		want osmdata.Use
	}{
		{"type=multipolygon building=yes", osmdata.UseArea},
		{"type=multipolygon natural=water", osmdata.UseArea},
		{"type=restriction restriction=no_left_turn", osmdata.UseBan},
		{"type=boundary boundary=administrative admin_level=2 ISO3166-1=XX", osmdata.UseBorder},
		{"type=route route=bus", 0},
		{"type=multipolygon", 0},
		{"building=yes", 0},
	} {
		if got := p.Relation(&osm.Relation{Tags: tagsOf(parseWorld(t, "r 1 outer:1 "+c.tags).relations[0].tags)}); got != c.want {
			t.Errorf("%s: %b, want %b", c.tags, got, c.want)
		}
	}
}

// TestWithinIsThePart: what has something of itself in a box, and nothing else, by the
// places alone; a box round all is all.
func TestWithinIsThePart(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x, why := result(drawWorld(t).xml())
		if why != "" {
			t.Skip("nothing to walk")
		}
		at := func(name string) float64 { return rapid.Float64Range(-80, 80).Draw(t, name) }
		box := plane.Box{Min: plane.Point{X: at("x"), Y: at("y")}}
		box.Max = box.Min.Add(plane.Point{X: rapid.Float64Range(1, 60).Draw(t, "width"), Y: rapid.Float64Range(1, 60).Draw(t, "height")})
		part := x.Within(box)
		n := 0
		for i := range x.Streets {
			if touches(x.Streets[i].Line, box) {
				if n >= len(part.Streets) || part.Streets[n].ID != x.Streets[i].ID {
					t.Fatalf("street %d is not in the part", x.Streets[i].ID)
				}
				n++
			}
		}
		if n != len(part.Streets) {
			t.Fatalf("%d streets in the part, %d in the box", len(part.Streets), n)
		}
		n = 0
		for i := range x.Addresses {
			if box.Contains(x.Addresses[i].At) {
				n++
			}
		}
		if n != len(part.Addresses) {
			t.Fatalf("%d addresses in the part, %d in the box", len(part.Addresses), n)
		}
		for what, c := range map[string][2]int{
			"buildings": {len(part.Buildings), len(x.Buildings)}, "features": {len(part.Features), len(x.Features)},
			"obstacles": {len(part.Obstacles), len(x.Obstacles)}, "grounds": {len(part.Grounds), len(x.Grounds)}, "rails": {len(part.Rails), len(x.Rails)},
		} {
			if c[0] > c[1] {
				t.Fatalf("%d %s in the part, %d in all", c[0], what, c[1])
			}
		}
		everywhere := plane.Box{Min: plane.Point{X: -1e4, Y: -1e4}, Max: plane.Point{X: 1e4, Y: 1e4}}
		all := x.Within(everywhere)
		for what, c := range map[string][2]int{
			"streets": {len(all.Streets), len(x.Streets)}, "buildings": {len(all.Buildings), len(x.Buildings)}, "features": {len(all.Features), len(x.Features)},
			"obstacles": {len(all.Obstacles), len(x.Obstacles)}, "grounds": {len(all.Grounds), len(x.Grounds)}, "addresses": {len(all.Addresses), len(x.Addresses)},
		} {
			if c[0] != c[1] {
				t.Fatalf("of %d %s a box round all has %d", c[1], what, c[0])
			}
		}
	})
}

// touches tells whether a line's own box meets another.
func touches(l plane.Polyline, b plane.Box) bool {
	low, high := l[0], l[0]
	for _, p := range l {
		low = plane.Point{X: min(low.X, p.X), Y: min(low.Y, p.Y)}
		high = plane.Point{X: max(high.X, p.X), Y: max(high.Y, p.Y)}
	}
	return low.X <= b.Max.X && high.X >= b.Min.X && low.Y <= b.Max.Y && high.Y >= b.Min.Y
}
