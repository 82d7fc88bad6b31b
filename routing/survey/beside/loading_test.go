package beside

import (
	"testing"

	"wideberth/exposure"
	"wideberth/osmdata"
	"wideberth/routing/survey/sketch"
)

// TestWhereLorriesLoad: a nameless service road along a large building of works or shops,
// and nothing else.
func TestWhereLorriesLoad(t *testing.T) {
	for name, c := range map[string]struct {
		class   osmdata.Class
		called  string
		use     string
		place   exposure.PlaceKind
		x, y    float64 // of the building's south-west corner
		side    float64
		loading bool
	}{
		"along a warehouse":                  {osmdata.Service, "", "warehouse", exposure.PlaceIndustry, 10, 10, 180, true},
		"along what the map says no more of": {osmdata.Service, "", "yes", exposure.PlaceOpen, 10, 10, 180, true},
		"a third of it":                      {osmdata.Service, "", "yes", exposure.PlaceOpen, 150, 10, 180, false},
		"30 m off":                           {osmdata.Service, "", "yes", exposure.PlaceOpen, 10, 30, 180, false},
		"a small building":                   {osmdata.Service, "", "warehouse", exposure.PlaceOpen, 10, 10, 60, false},
		"flats":                              {osmdata.Service, "", "apartments", exposure.PlaceOpen, 10, 10, 180, false},
		"where people live":                  {osmdata.Service, "", "yes", exposure.PlaceResidential, 10, 10, 180, false},
		"a road with a name":                 {osmdata.Service, "Weir Lane", "warehouse", exposure.PlaceOpen, 10, 10, 180, false},
		"a street":                           {osmdata.Residential, "", "warehouse", exposure.PlaceOpen, 10, 10, 180, false},
		"a footway":                          {osmdata.Footway, "", "warehouse", exposure.PlaceOpen, 10, 10, 180, false},
	} {
		k := sketch.New()
		k.Street(c.class, sketch.Line(0, 0, 200, 0)).Name = c.called
		k.X.Buildings = []osmdata.Building{{Use: c.use, Area: sketch.Footprint(c.x, c.y, c.side)}}
		g := k.Net(t)
		f := &exposure.Field{Marks: make([]exposure.Mark, g.EdgeCount()), Place: make([]exposure.PlaceKind, g.EdgeCount())}
		e := sketch.EdgeOf(t, g, &k.X.Streets[0])
		f.Place[e] = c.place
		MarkLoading(&k.X, g, f)
		if got := f.Marks[e]&exposure.Loading != 0; got != c.loading {
			t.Errorf("%s: a loading yard: %t, want %t", name, got, c.loading)
		}
	}
}
