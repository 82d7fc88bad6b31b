package beside

import (
	"context"
	"math"
	"testing"

	"wideberth/exposure"
	"wideberth/exposure/sound"
	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
	"wideberth/routing/survey/sketch"
)

// passed is how many dogs a walk over an edge passes if each is out all day, and how
// near the nearest, as the bins of Gardens have it.
func passed(g *network.Graph, bins [exposure.BinCount]exposure.Bin, e int32) (n, nearestM float64) {
	nearestM = math.Inf(1)
	for b, bin := range bins {
		if bin.Rate > 0 {
			n += bin.RatePerS() * float64(g.LengthM[e]) / exposure.StoredWalkerMPS / exposure.GardenHours
			nearestM = min(nearestM, bin.DistM(b))
		}
	}
	return n, nearestM
}

// Dogs along a street are each passed once, as near as their fence lies; a street that is
// cut in pieces passes no more of them; past its end and out of reach nobody is passed.
func TestGardensAreEachPassedOnce(t *testing.T) {
	at := []plane.Point{{X: 50, Y: 6}, {X: 120, Y: -20}, {X: 200, Y: 20}, {X: 330, Y: 6}, {X: 410, Y: 3}, {X: 250, Y: 160}}
	dogs := []float64{.2, .2, .4, .3, 5, 7} // the last two are past the end and out of reach
	for name, cut := range map[string][]float64{"one piece": nil, "three pieces": {200, 300}} {
		k, from := sketch.New(), 0.0
		for _, to := range append(cut, 400) {
			k.Street(osmdata.Residential, sketch.Line(from, 0, to, 0))
			from = to
		}
		for _, x := range cut { // what keeps the pieces apart
			k.Street(osmdata.Path, sketch.Line(x, 0, x, -1000))
		}
		g := k.Net(t)
		bins, err := Gardens(context.Background(), g, NewTerrain(&k.X, nil), at, dogs, 1, nil)
		if err != nil {
			t.Fatal(err)
		}
		sum, nearest := 0.0, math.Inf(1)
		for i := range len(cut) + 1 {
			e := sketch.EdgeOf(t, g, &k.X.Streets[i])
			n, d := passed(g, bins[e], e)
			sum, nearest = sum+n, min(nearest, d)
		}
		if math.Abs(sum-1.1) > 0.03 || math.Abs(nearest-6) > 0.1 { // bytes of rates go in steps of 6 %
			t.Errorf("%s: %.3f dogs are passed, the nearest at %.2f m; want 1.1 at 6 m", name, sum, nearest)
		}
	}
}

// A dog behind a row of houses is heard, as far off as the houses make it sound; the
// hedge that it stands at hides nothing.
func TestGardensBehindHouses(t *testing.T) {
	k := sketch.New()
	street := k.Street(osmdata.Residential, sketch.Line(0, 0, 400, 0))
	k.X.Obstacles = append(k.X.Obstacles, osmdata.Obstacle{Kind: osmdata.Hedge, Blocks: osmdata.BlocksWay | osmdata.BlocksView, Line: sketch.Line(0, 30, 400, 30)})
	far := func() float64 {
		g := k.Net(t)
		bins, err := Gardens(context.Background(), g, NewTerrain(&k.X, nil), []plane.Point{{X: 200, Y: 30}}, []float64{1}, 1, nil)
		if err != nil {
			t.Fatal(err)
		}
		e := sketch.EdgeOf(t, g, street)
		_, d := passed(g, bins[e], e)
		return d
	}
	if d := far(); math.Abs(d-30) > 0.5 {
		t.Errorf("at the hedge %g m off, want 30", d)
	}
	k.House(195, 10, 10)
	if d, want := far(), 30*math.Pow(10, float64(sound.SolidScreen)/20); math.Abs(d-want) > 0.02*want {
		t.Errorf("behind a house it sounds %g m off, want %g", d, want)
	}
}
