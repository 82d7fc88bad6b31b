package gazetteer_test

import (
	"strings"
	"testing"

	"wideberth/osmdata/plane"
	"wideberth/routing/gazetteer"
	"wideberth/routing/snapshot/maptest"
)

// Names that begin with the text come before those that hold it, short ones first, and
// every address of the map is found by its own name, at itself.
func TestFind(t *testing.T) {
	s := maptest.Town(t)
	g := gazetteer.New(s)
	for _, text := range []string{"w", "row", "kiln", "weaver row", "1"} {
		found := g.Find(text)
		if len(found) == 0 || len(found) > 8 {
			t.Fatalf("%q: %d places", text, len(found))
		}
		begins, length := true, 0
		for _, p := range found {
			at := strings.Index(strings.ToLower(p.Name), text)
			if at < 0 || at == 0 && !begins {
				t.Errorf("%q: %q behind others", text, p.Name)
			}
			if begins && at > 0 {
				begins, length = false, 0
			}
			if len(p.Name) < length {
				t.Errorf("%q: %q comes late", text, p.Name)
			}
			length = len(p.Name)
		}
	}
	if found := g.Find(" \t "); found != nil {
		t.Errorf("nothing is called %v", found)
	}
	for i, a := range s.Ground.Addresses {
		if i%7 > 0 || a.Street == "" || a.Number == "" {
			continue
		}
		found := g.Find(a.Street + " " + a.Number)
		if len(found) == 0 || found[0].Name != a.Street+" "+a.Number {
			t.Fatalf("%s %s: %v", a.Street, a.Number, found)
		}
	}
}

// A place is called by the nearest door within 60 m, held against a plain look at all of
// them; far from everything it has no name.
func TestCalled(t *testing.T) {
	s := maptest.Town(t)
	g := gazetteer.New(s)
	named := 0
	for i := range 200 {
		at := s.Bounds.Min.Add(plane.Point{X: (s.Bounds.Max.X - s.Bounds.Min.X) * float64(i%20) / 20, Y: (s.Bounds.Max.Y - s.Bounds.Min.Y) * float64(i/20) / 10})
		want, nearM := "", 60.0
		for _, a := range s.Ground.Addresses {
			if d := a.At.DistanceM(at); a.Street != "" && a.Number != "" && d < nearM {
				want, nearM = a.Street+" "+a.Number, d
			}
		}
		name, ok := g.Called(at)
		if want != "" && name != want || ok != (name != "") {
			t.Errorf("%v is called %q (%v), want %q", at, name, ok, want)
		}
		if want != "" {
			named++
		}
	}
	if named < 10 {
		t.Errorf("only %d places lie near a door", named)
	}
	if name, ok := g.Called(plane.Point{X: 1e6}); ok {
		t.Errorf("a thousand kilometres off is %q", name)
	}
}
