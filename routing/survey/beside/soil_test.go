package beside

import (
	"math"
	"testing"

	"wideberth/exposure"
	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/survey/sketch"
)

// marked is the soft share and marks of the first street of a sketch.
func marked(t *testing.T, k *sketch.Map) (float64, exposure.Mark) {
	t.Helper()
	g := k.Net(t)
	f := &exposure.Field{Marks: make([]exposure.Mark, g.EdgeCount())}
	MarkGround(&k.X, g, f)
	e := sketch.EdgeOf(t, g, &k.X.Streets[0])
	return float64(f.SoftShare[e]), f.Marks[e]
}

func TestSoftGround(t *testing.T) {
	for name, c := range map[string]struct {
		class osmdata.Class
		flags osmdata.StreetFlags
		grass [4]float64 // x0, y0, x1, y1 of a piece of grass
		want  float64
	}{
		"a path":                     {osmdata.Path, 0, [4]float64{}, 1},
		"a paved path":               {osmdata.Path, osmdata.FlagPaved, [4]float64{}, 0},
		"an unpaved footway":         {osmdata.Footway, osmdata.FlagUnpaved, [4]float64{}, 1},
		"a footway":                  {osmdata.Footway, 0, [4]float64{}, 0},
		"a footway through grass":    {osmdata.Footway, osmdata.FlagPaved, [4]float64{-50, -50, 450, 50}, 1},
		"half of it through grass":   {osmdata.Footway, 0, [4]float64{-50, -50, 200, 50}, .5},
		"grass on one side":          {osmdata.Footway, 0, [4]float64{-50, 1, 450, 50}, 1},
		"grass 20 m away":            {osmdata.Footway, 0, [4]float64{-50, 20, 450, 50}, 0},
		"a street with a wide verge": {osmdata.Residential, 0, [4]float64{-50, 4, 450, 50}, 1},
		"a bridge over grass":        {osmdata.Footway, osmdata.FlagBridge, [4]float64{-50, -50, 450, 50}, 0},
	} {
		t.Run(name, func(t *testing.T) {
			k := sketch.New()
			k.Street(c.class, sketch.Line(0, 0, 400, 0)).Flags |= c.flags
			k.Ground(osmdata.Grass, c.grass[0], c.grass[1], c.grass[2], c.grass[3])
			if got, _ := marked(t, k); math.Abs(got-c.want) > .02 {
				t.Errorf("soft on %.2f of it, want %.2f", got, c.want)
			}
		})
	}
}

func TestIndoorsAndDogRules(t *testing.T) {
	house := func(x0, x1 float64, use string) osmdata.Building {
		return osmdata.Building{Use: use, Area: plane.Polygon{Outer: plane.Ring(sketch.Line(x0, -20, x1, -20, x1, 20, x0, 20))}}
	}
	for name, c := range map[string]struct {
		class    osmdata.Class
		flags    osmdata.StreetFlags
		building osmdata.Building
		rules    bool
		want     exposure.Mark
	}{
		"a shopping passage":         {osmdata.Footway, 0, house(100, 300, "retail"), false, exposure.Indoors},
		"an arch under a house":      {osmdata.Footway, osmdata.FlagTunnel, house(100, 120, "yes"), false, 0},
		"a covered passage":          {osmdata.Footway, osmdata.FlagTunnel, house(100, 200, "yes"), false, exposure.Indoors},
		"a corner drawn over":        {osmdata.Footway, 0, house(100, 108, "yes"), false, 0},
		"under a roof":               {osmdata.Footway, 0, house(100, 300, "roof"), false, 0},
		"a street under a building":  {osmdata.Residential, 0, house(100, 300, "yes"), false, 0},
		"a cemetery, with its rules": {osmdata.Footway, 0, house(900, 910, "yes"), true, exposure.DogRules | exposure.Precinct},
	} {
		t.Run(name, func(t *testing.T) {
			k := sketch.New()
			k.Street(c.class, sketch.Line(0, 0, 400, 0)).Flags |= c.flags
			k.X.Buildings = append(k.X.Buildings, c.building)
			if c.rules {
				k.Ground(osmdata.Cemetery, -50, -50, 250, 50)
				k.X.Grounds[0].DogRules = true
			}
			if _, got := marked(t, k); got != c.want {
				t.Errorf("marks %b, want %b", got, c.want)
			}
		})
	}
	k := sketch.New()
	k.Street(osmdata.Footway, sketch.Line(0, 0, 400, 0)).Name = "Harbour Promenade"
	if _, got := marked(t, k); got != exposure.DogRules {
		t.Errorf("a promenade: marks %b", got)
	}
}
