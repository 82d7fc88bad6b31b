package beside

import (
	"testing"

	"wideberth/exposure"
	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/survey/sketch"
)

// TestWhereLivestockMayStand: by class, ground and what stands on the way.
func TestWhereLivestockMayStand(t *testing.T) {
	meadow := [4]float64{-50, -50, 450, 50}
	for name, c := range map[string]struct {
		class  osmdata.Class
		flags  osmdata.StreetFlags
		grazed [4]float64 // x0, y0, x1, y1
		place  exposure.PlaceKind
		ends   []plane.Point
		want   bool
	}{
		"a path over a meadow":             {osmdata.Path, 0, meadow, exposure.PlaceOpen, nil, true},
		"a footway over a meadow":          {osmdata.Footway, 0, meadow, exposure.PlaceOpen, nil, true},
		"50 m of a long path":              {osmdata.Path, 0, [4]float64{-50, -50, 55, 50}, exposure.PlaceOpen, nil, true},
		"20 m of a long path":              {osmdata.Path, 0, [4]float64{-50, -50, 20, 50}, exposure.PlaceOpen, nil, false},
		"a path elsewhere":                 {osmdata.Path, 0, [4]float64{}, exposure.PlaceOpen, nil, false},
		"a track, whatever the ground":     {osmdata.Track, 0, [4]float64{}, exposure.PlaceOpen, nil, true},
		"a track in a wood":                {osmdata.Track, 0, [4]float64{}, exposure.PlaceWoods, nil, false},
		"a meadow in a park":               {osmdata.Path, 0, meadow, exposure.PlacePark, nil, false},
		"a lane between meadows":           {osmdata.Unclassified, 0, meadow, exposure.PlaceOpen, nil, false},
		"a lane with a cattle grid":        {osmdata.Unclassified, 0, [4]float64{}, exposure.PlaceOpen, []plane.Point{{X: 200, Y: 0.4}}, true},
		"a path with a stile at its end":   {osmdata.Path, 0, [4]float64{}, exposure.PlaceWoods, []plane.Point{{X: 400}}, true},
		"a kissing gate in a reserve":      {osmdata.Path, 0, [4]float64{}, exposure.PlacePark, []plane.Point{{X: 10}}, true},
		"a stile among houses":             {osmdata.Footway, 0, [4]float64{}, exposure.PlaceResidential, []plane.Point{{X: 10}}, false},
		"a stile on another way":           {osmdata.Path, 0, [4]float64{}, exposure.PlaceOpen, []plane.Point{{X: 200, Y: 8}}, false},
		"a pavement along a mapped meadow": {osmdata.Footway, osmdata.FlagPavement, meadow, exposure.PlaceOpen, nil, false},
	} {
		k := sketch.New()
		k.Street(c.class, sketch.Line(0, 0, 400, 0)).Flags |= c.flags
		k.Ground(osmdata.Grass, c.grazed[0], c.grazed[1], c.grazed[2], c.grazed[3])
		k.X.Grounds[0].Grazed, k.X.StockEnds = true, c.ends
		g := k.Net(t)
		f := &exposure.Field{Marks: make([]exposure.Mark, g.EdgeCount()), Place: make([]exposure.PlaceKind, g.EdgeCount())}
		e := sketch.EdgeOf(t, g, &k.X.Streets[0])
		f.Place[e] = c.place
		MarkPasture(&k.X, g, f)
		if got := f.Marks[e]&exposure.Pasture != 0; got != c.want || f.Marks[e]&^exposure.Pasture != 0 {
			t.Errorf("%s: livestock may stand there: %t, want %t; marks %b", name, got, c.want, f.Marks[e])
		}
	}
}
