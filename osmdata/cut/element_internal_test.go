package cut

import (
	"bytes"
	"errors"
	"io"
	"reflect"
	"testing"

	"github.com/paulmach/osm"
	"github.com/paulmach/osm/osmpbf"
	"pgregory.net/rapid"
)

// anyElement draws an element of each kind, also such as no map has.
func anyElement(t *rapid.T) element {
	texts := rapid.SampledFrom([]string{"highway", "name", "", "Weaver Row", "ä\x00%", "no"})
	tags := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) osm.Tag {
		return osm.Tag{Key: texts.Draw(t, "key"), Value: texts.Draw(t, "value")}
	}), 0, 4)
	place := rapid.Custom(func(t *rapid.T) point {
		return point{int32(rapid.IntRange(-maxLon, maxLon).Draw(t, "lon")), int32(rapid.IntRange(-maxLat, maxLat).Draw(t, "lat"))}
	})
	e := element{kind: rapid.SampledFrom([]byte{nodeKind, wayKind, relationKind}).Draw(t, "kind"), id: rapid.Int64().Draw(t, "id"), version: rapid.IntRange(0, 1000).Draw(t, "version")}
	e.tags = tags.Draw(t, "tags")
	switch e.kind {
	case nodeKind:
		e.at = place.Draw(t, "at")
	case wayKind:
		e.refs = rapid.SliceOfN(rapid.Int64(), 0, 6).Draw(t, "refs")
		for range e.refs {
			e.places = append(e.places, rapid.OneOf(place, rapid.Just(noPlace)).Draw(t, "place"))
		}
	case relationKind:
		e.members = rapid.SliceOfN(rapid.Custom(func(t *rapid.T) osm.Member {
			return osm.Member{Type: rapid.SampledFrom([]osm.Type{osm.TypeNode, osm.TypeWay, osm.TypeRelation}).Draw(t, "type"), Ref: rapid.Int64().Draw(t, "ref"), Role: texts.Draw(t, "role")}
		}), 0, 5).Draw(t, "members")
	}
	return e
}

// same tells whether two elements say the same; an empty list is none.
func same(a, b element) bool {
	for _, e := range []*element{&a, &b} {
		if len(e.tags) == 0 {
			e.tags = nil
		}
		if len(e.refs) == 0 {
			e.refs, e.places = nil, nil
		}
		if len(e.members) == 0 {
			e.members = nil
		}
	}
	return reflect.DeepEqual(a, b)
}

// TestElementsComeBack: elements come back as they were written, one after another, and
// bytes that end early or are others are an error at most.
func TestElementsComeBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		all := rapid.SliceOfN(rapid.Custom(anyElement), 0, 4).Draw(t, "all")
		var b []byte
		for i := range all {
			b = all[i].append(b)
		}
		r := bytes.NewReader(b)
		var buf []byte
		var err error
		for i := range all {
			if buf, err = nextElement(r, buf); err != nil {
				t.Fatal(err)
			}
			var got element
			if err := got.read(buf); err != nil || !same(got, all[i]) {
				t.Fatalf("%+v, %v; want %+v", got, err, all[i])
			}
			var e element
			if len(buf) > 1 && e.read(buf[:len(buf)-1]) == nil && len(e.tags)+len(e.refs)+len(e.members) > 0 && same(e, all[i]) {
				t.Fatalf("cut short it is read as %+v", e)
			}
			spoilt := bytes.Clone(buf)
			spoilt[rapid.IntRange(0, len(spoilt)-1).Draw(t, "at")] ^= byte(rapid.IntRange(1, 255).Draw(t, "by"))
			_ = e.read(spoilt) // does not panic; the sum of the whole file tells it
		}
		if _, err = nextElement(r, buf); !errors.Is(err, io.EOF) {
			t.Fatalf("after the last: %v", err)
		}
		if len(b) > 0 {
			length := rapid.IntRange(1, len(b)-1).Draw(t, "length")
			cut, end := bytes.NewReader(b[:length]), 0
			for err = nil; err == nil; {
				if buf, err = nextElement(cut, buf); err == nil {
					end += 4 + len(buf)
				}
			}
			if errors.Is(err, io.EOF) != (end == length) {
				t.Fatalf("cut after %d bytes, %d behind an element: %v", length, length-end, err)
			}
		}
	})
}

// TestWriterComesBack: what is written is read back by a library that shares no code with
// the writer, id for id, tag for tag, unit for unit of place.
func TestWriterComesBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		all := rapid.SliceOfN(rapid.Custom(anyElement), 1, 30).Draw(t, "all")
		var b bytes.Buffer
		w := NewWriter(&b, Head{Bounds: &osm.Bounds{MinLon: -1.5, MinLat: 47.1234567, MaxLon: 2, MaxLat: 48}, Program: "test"})
		for i := range all {
			w.put(&all[i])
		}
		if _, err := w.Close(); err != nil {
			t.Fatal(err)
		}
		s := osmpbf.New(t.Context(), &b, 1)
		defer s.Close()
		h, err := s.Header()
		if err != nil || h.Bounds == nil || h.Bounds.MinLon != -1.5 || h.Bounds.MaxLat != 48 || h.WritingProgram != "test" {
			t.Fatalf("%+v, %v", h, err)
		}
		for i := range all {
			if !s.Scan() {
				t.Fatalf("%d of %d: %v", i, len(all), s.Err())
			}
			want, got := all[i], element{}
			switch o := s.Object().(type) {
			case *osm.Node:
				got = element{kind: nodeKind, id: int64(o.ID), version: o.Version, tags: o.Tags, at: point{nearest(o.Lon), nearest(o.Lat)}}
				want.tags = nil
				for _, tag := range all[i].tags {
					if tag.Key != "" {
						want.tags = append(want.tags, tag)
					}
				}
			case *osm.Way:
				got = element{kind: wayKind, id: int64(o.ID), version: o.Version, tags: o.Tags}
				for _, n := range o.Nodes {
					got.refs = append(got.refs, int64(n.ID))
				}
				want.places = nil
			case *osm.Relation:
				got = element{kind: relationKind, id: int64(o.ID), version: o.Version, tags: o.Tags, members: o.Members}
			}
			if !same(got, want) {
				t.Fatalf("%+v came back as %+v", want, got)
			}
		}
		if s.Scan() {
			t.Fatalf("more: %v", s.Object())
		}
	})
}

func nearest(deg float64) int32 {
	if deg < 0 {
		return int32(deg*unit - .5)
	}
	return int32(deg*unit + .5)
}

// TestNoElement: what is no element is told, and kinds stand in the order of a sorted file.
func TestNoElement(t *testing.T) {
	var e element
	for _, b := range [][]byte{nil, {}, {'x'}, {'x', 2, 0, 0}, {nodeKind}, {wayKind, 2, 0, 0, 0xff}, {relationKind, 2, 0, 0, 3, 1}} {
		if err := e.read(b); !errors.Is(err, errElement) {
			t.Errorf("%q: %v", b, err)
		}
	}
	if _, _, err := head(nil); !errors.Is(err, errElement) {
		t.Errorf("no head: %v", err)
	}
	if _, err := nextElement(bytes.NewReader([]byte{0xff, 0xff, 0xff, 0xff}), nil); !errors.Is(err, errElement) {
		t.Errorf("an element of 4 GB: %v", err)
	}
	if order(nodeKind) != 0 || order(wayKind) != 1 || order(relationKind) != 2 {
		t.Error("kinds out of order")
	}
}
