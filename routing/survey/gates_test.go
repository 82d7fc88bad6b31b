package survey

import (
	"testing"

	"wideberth/exposure"
	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/survey/sketch"
)

// evenTown is a square of streets 250 m apart, with homes along all of them and a
// shop at every fourth corner, cut out of endless ground.
func evenTown(sideM float64) *sketch.Map {
	const step = 250
	k := sketch.New()
	n := int(sideM / step)
	for i := range n + 1 {
		for j := range n + 1 {
			x, y := step*float64(i), step*float64(j)
			if i < n && j > 0 && j < n {
				k.Street(osmdata.Residential, sketch.Line(x, y, x+step, y))
			}
			if j < n && i > 0 && i < n {
				k.Street(osmdata.Residential, sketch.Line(x, y, x, y+step))
			}
			if i%2 == 1 && j%2 == 1 {
				sketch.Place(k, "shop", x+5, y)
			}
		}
	}
	return k
}

// On even ground as much is ridden inside a map as its people ride, however small
// the map is: who comes in makes up for who goes out.
func TestBorderOnEvenGround(t *testing.T) {
	if testing.Short() {
		t.Skip("runs without the race detector, under which it is long")
	}
	sides := []float64{2000, 5000, 10000}
	middle := make([]float64, len(sides))
	for i, side := range sides {
		a := surveyed(t, evenTown(side), 2)
		inside, residents := a.totals["bicycle km"], a.totals["bicycle km of residents"]
		t.Logf("%5.0f m: %.0f km ridden inside, %.0f by residents, %d gates", side, inside, residents, len(a.riders.gates))
		if !about(inside, residents, .15) {
			t.Errorf("%g m: %.0f km ridden inside, %.0f by residents", side, inside, residents)
		}
		middle[i] = busiestNear(a, plane.Point{X: side / 2, Y: side / 2})
	}
	for i := range sides[:2] {
		if !about(middle[i], middle[2], .2) {
			t.Errorf("in the middle of %g m %.1f wheels a day, of %g m %.1f", sides[i], middle[i], sides[2], middle[2])
		}
	}
}

// busiestNear is the mean flow of wheels within 600 m of a place, by length.
func busiestNear(a *assignment, at plane.Point) float64 {
	sum, metres := 0.0, 0.0
	g := a.ground.g
	for e, q := range a.flows[exposure.WheelTrips] {
		if g.EdgeLine(int32(e)).At(float64(g.LengthM[e])/2).DistanceM(at) < 600 {
			sum += q * float64(g.LengthM[e])
			metres += float64(g.LengthM[e])
		}
	}
	return sum / metres
}

// Ends inside the map are no gates; ends at its border and of main roads are.
func TestGates(t *testing.T) {
	k := sketch.New()
	k.Street(osmdata.Residential, sketch.Line(0, 0, 2000, 0, 2000, 2000, 0, 2000, 0, 0))
	k.Street(osmdata.Residential, sketch.Line(2000, 0, 2060, 0))                                // at the border
	k.Street(osmdata.Residential, sketch.Line(0, 0, 700, 700))                                  // a cul-de-sac
	k.Street(osmdata.Tertiary, sketch.Line(2000, 2000, 900, 900))                               // a main road that ends inside
	k.Street(osmdata.Residential, sketch.Line(0, 2000, 800, 1300)).Flags |= osmdata.FlagOpenEnd // cut, by its flag
	g := k.Net(t)
	gates, weight := findGates(g, plane.HullOf(g.Vertex))
	found := map[plane.Point]float64{}
	for i := range gates {
		found[g.Vertex[gates[i].Vertex]] = weight[i]
	}
	want := map[plane.Point]float64{{X: 2060}: 1, {X: 900, Y: 900}: 3, {X: 800, Y: 1300}: 1}
	if len(found) != len(want) {
		t.Errorf("gates %v", found)
	}
	for at, w := range want {
		if found[at] != w {
			t.Errorf("the gate at %v weighs %g, want %g", at, found[at], w)
		}
	}
	for i := range gates {
		if g.Vertex[gates[i].Vertex].X == 2060 && !about(gates[i].Out.X, 1, 1e-9) {
			t.Errorf("the way leaves towards %v", gates[i].Out)
		}
	}
}
