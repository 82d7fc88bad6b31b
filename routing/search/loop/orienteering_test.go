package loop

import (
	"math"
	"testing"
)

// tsiligirides1 is set 1 of T. Tsiligirides, "Heuristic methods applied to
// orienteering", Journal of the Operational Research Society 35 (1984) 797-809:
// x, y and score of 32 points; a tour starts at the first and ends at the second.
// Data from the public repository copa-uniandes/OPTW_Pulse.
var tsiligirides1 = [][3]float64{
	{10.5, 14.4, 0}, {11.2, 14.1, 0}, {18, 15.9, 10}, {18.3, 13.3, 10}, {16.5, 9.3, 10}, {15.4, 11, 10}, {14.9, 13.2, 5},
	{16.3, 13.3, 5}, {16.4, 17.8, 5}, {15, 17.9, 5}, {16.1, 19.6, 10}, {15.7, 20.6, 10}, {13.2, 20.1, 10}, {14.3, 15.3, 5},
	{14, 5.1, 10}, {11.4, 6.7, 15}, {8.3, 5, 15}, {7.9, 9.8, 10}, {11.4, 12, 5}, {11.2, 17.6, 5}, {10.1, 18.7, 5},
	{11.7, 20.3, 10}, {10.2, 22.1, 10}, {9.7, 23.8, 10}, {10.1, 26.4, 15}, {7.4, 24, 15}, {8.2, 19.9, 15}, {8.7, 17.7, 10},
	{8.9, 13.6, 10}, {5.6, 11.1, 10}, {4.9, 18.9, 10}, {7.3, 18.8, 10},
}

// Constants of the mapping. Its time unit is a second for a unit of distance.
const (
	visitS      = 0.5  // time spent "inside" a point, taken off the ways to and from it
	ratePerS    = 31.0 // cost per second, more than the best score over visitS, so that no cost is negative
	fillerParts = 9    // arcs of 1/2, 1/4, ... of the budget that may or may not be waited on
)

// orienteering maps the problem exactly onto closed walks. Every point is an arc
// that can be walked one way only, hence once; its cost is what its time costs
// less its score. Every pair of points is an arc each way. After the last point
// a row of arcs that take time or none fills up the budget, so every walk in the
// window lasts the same and costs ratePerS times that less the scores.
func orienteering(points [][3]float64, budget float64) Problem {
	n := len(points)
	var streets []street
	oneWay := func(u, v int, t, score float64) {
		c := float32(ratePerS*t - score)
		streets = append(streets, street{u: int32(u), v: int32(v), t: float32(t), back: float32(t), costs: []float32{c}, backs: []float32{c}})
	}
	in, out := func(i int) int { return 2 * i }, func(i int) int { return 2*i + 1 }
	for i, p := range points {
		oneWay(in(i), out(i), visitS, p[2])
		for j, q := range points {
			if i != j && i != 1 && j != 0 {
				oneWay(out(i), in(j), math.Hypot(p[0]-q[0], p[1]-q[1])-visitS, 0)
			}
		}
	}
	at, part := out(1), budget
	for k := range fillerParts {
		part /= 2
		next := 2*n + k
		if k == fillerParts-1 {
			next = in(0)
		}
		oneWay(at, next, part, 0)
		oneWay(at, next, 0, 0)
		at = next
	}
	p := buildLoopProblem(2*n+fillerParts-1, streets, 1)
	p.Door = int32(in(0))
	p.Barred = make([]bool, p.Graph.ArcCount())
	at2 := append([]int32(nil), p.Graph.First...)
	for _, s := range streets {
		a := at2[s.u]
		at2[s.u]++
		at2[s.v]++
		p.Barred[p.Graph.Twin[a]] = true
	}
	// The visits to the two ends and the filler's resolution.
	p.MaxS = budget + visitS
	p.MinS = p.MaxS - budget/(1<<(fillerParts-1))
	return p
}

// score of a walk, each point once.
func score(p *Problem, l *Walk, points [][3]float64) float64 {
	total := 0.0
	for _, a := range l.Arcs {
		if h := p.Graph.Head[a]; h%2 == 1 && int(h) < 2*len(points) && p.Graph.Head[p.Graph.Twin[a]] == h-1 {
			total += points[h/2][2]
		}
	}
	return total
}

// TestOrienteeringOptima runs the loop search on published problems of another
// kind: collect the most score within a budget of distance. The optima up to 35
// are proved (exhaustive dynamic programming over the data); they equal the best
// values known in the literature.
func TestOrienteeringOptima(t *testing.T) {
	optimum := map[float64]float64{5: 10, 10: 15, 15: 45, 20: 65, 25: 90, 30: 110, 35: 135}
	s := NewSolver()
	got, want := 0.0, 0.0
	for _, budget := range []float64{5, 10, 15, 20, 25, 30, 35} {
		p := orienteering(tsiligirides1, budget)
		a, err := s.Solve(p)
		if err != nil || a.Status != Found {
			t.Fatalf("budget %g: status %d, %v", budget, a.Status, err)
		}
		if err := checkLoop(&p, &a.Walk, a.SurchargePerS); err != nil {
			t.Fatalf("budget %g: %v", budget, err)
		}
		x := score(&p, &a.Walk, tsiligirides1)
		t.Logf("budget %g: score %g of %g, %d nodes", budget, x, optimum[budget], a.Nodes)
		if x > optimum[budget] {
			t.Errorf("budget %g: score %g is above the proved optimum %g", budget, x, optimum[budget])
		}
		got += x
		want += optimum[budget]
	}
	if got < 0.95*want {
		t.Errorf("score %g of %g over all budgets, want 95 %%", got, want)
	}
}
