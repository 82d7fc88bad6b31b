package counts

import (
	"testing"

	"wideberth/exposure"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
)

// Counted is a map with its counted streets, for tests outside.
type Counted struct {
	Graph *network.Graph
	Field *exposure.Field
	Frame plane.Frame
	Sites []CountedSite
}

// CountedSite is a street with means an hour; people below 0 were not seen whole.
type CountedSite struct{ Lat, Lon, People, Bicycles, Motors float64 }

// PlaceForTest surveys one of the maps.
func PlaceForTest(t testing.TB, name string) *Counted {
	c := place(t, name, 0)
	out := &Counted{Graph: c.g, Field: c.f, Frame: c.x.Frame}
	for _, s := range adlershof(t) {
		people := s.people
		switch s.use {
		case "double":
			people *= 2
		case "drop":
			people = -1
		}
		out.Sites = append(out.Sites, CountedSite{s.place[1], s.place[0], people, s.bicycles, s.motors})
	}
	return out
}
