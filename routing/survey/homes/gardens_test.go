package homes

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/survey/sketch"
)

// row is a street with houses 20 m apart on its north side, each in a garden that is
// fenced all round.
func row(houses int) *sketch.Map {
	k := sketch.New()
	k.Street(osmdata.Residential, sketch.Line(0, 0, 20*float64(houses), 0))
	for i := range houses {
		x := 20 * float64(i)
		k.X.Buildings = append(k.X.Buildings, osmdata.Building{Use: "house", Area: sketch.Footprint(x+5, 15, 10)})
		k.Fence(sketch.Line(x+1, 6, x+19, 6, x+19, 45, x+1, 45, x+1, 6))
	}
	return k
}

// Each home counts once, however much of its fence lies beside ways, at the metre of the
// fence before it; homes without one, flats, and homes with a house's width of field
// before the fence do not count.
func TestADogIsBehindOneFence(t *testing.T) {
	const dogs = 0.25
	k := row(12)
	k.Street(osmdata.Path, sketch.Line(0, 48, 240, 48)) // behind the gardens
	check := func(what string, want int) {
		t.Helper()
		got := Find(&k.X, 2, nil).Gardens(&k.X, dogs)
		sum := 0.0
		for i, p := range got.At {
			sum += got.Dogs[i]
			if math.Abs(p.Y-6) > 1e-6 {
				t.Errorf("%s: a dog stands at %v, not at the fence before its home", what, p)
			}
		}
		if len(got.At) != want || math.Abs(sum-dogs*float64(want)) > 1e-9 {
			t.Errorf("%s: %d places with %g dogs, want %d of %g each", what, len(got.At), sum, want, dogs)
		}
	}
	check("fenced", 12)
	k.Fence(sketch.Line(0, 5, 240, 5)) // a second fence along the street makes no second dog
	check("fenced twice", 12)
	k.X.Buildings[0].Use, k.X.Buildings[0].Levels = "apartments", 3
	check("one block of flats", 11)
	k.X.Obstacles = k.X.Obstacles[:len(k.X.Obstacles)-1]
	k.X.Obstacles[3].Line = sketch.Line(61, 45, 79, 45) // open to the street
	check("one open garden", 10)
	for i := range k.X.Obstacles {
		k.X.Obstacles[i].Kind = osmdata.WaterEdge
	}
	check("no fences", 0)
}

// What the gardens have is what a plain rule finds: homes of houses times dogs a home,
// over all homes with a barrier within reach on the line to their street.
func TestGardensAgainstPlainRule(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k := drawMap(t)
		for range rapid.IntRange(0, 12).Draw(t, "fences") {
			at := func(what string) float64 { return float64(rapid.IntRange(0, 1400).Draw(t, what)) + 0.31 }
			x, y := at("fx"), at("fy")
			k.Fence(sketch.Line(x, y, x+float64(rapid.IntRange(-300, 300).Draw(t, "dx")), y+float64(rapid.IntRange(-300, 300).Draw(t, "dy"))))
		}
		h := Find(&k.X, 2, nil)
		got, want := h.Gardens(&k.X, 0.5), 0.0
		for _, hm := range h.list[h.fromStreet:] {
			near := slices.ContainsFunc(k.X.Obstacles, func(o osmdata.Obstacle) bool {
				d, ok := crossing(hm.built, hm.at, o.Line[0], o.Line[1])
				return ok && d <= gardenM
			})
			if near {
				want += 0.5 * hm.houses
			}
		}
		sum := 0.0
		for _, n := range got.Dogs {
			sum += n
		}
		if math.Abs(sum-want) > 1e-9 {
			t.Fatalf("%g dogs behind fences, plainly %g", sum, want)
		}
	})
}

// crossing is how far from a the lines a to b and p to q cross, by Cramer's rule.
func crossing(a, b, p, q plane.Point) (distM float64, ok bool) {
	d, e, r := b.Sub(a), q.Sub(p), p.Sub(a)
	det := d.Cross(e)
	if det == 0 {
		return 0, false
	}
	s, u := r.Cross(e)/det, r.Cross(d)/det
	return s * d.NormM(), s >= 0 && s <= 1 && u >= 0 && u <= 1
}
