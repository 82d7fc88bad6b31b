package routing

import (
	"cmp"
	"math"
	"slices"
	"time"

	"wideberth/exposure"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
)

// RankReachM is how far round a place its ground is compared, in a straight line: a
// walk of three quarters of an hour hardly leaves it. Our assumption.
const RankReachM = 1500

// Rank says how the streets about a place compare for one dog at one hour, in four
// steps from the calmest here to the hardest here. The bounds between them are taken
// from the ground itself, and held so that a quiet night has calm streets everywhere
// and a bad hour none.
type Rank struct {
	Minutes [3]float64 // to one reaction, from which on ground is of step 1, 2 and 3
	Share   [4]float64 // of the metres compared, by step; together 1, or all 0 where there are none
}

// Spans of the three bounds in minutes to one reaction, and the rungs they are rounded
// to, so that they can be said and kept in mind. Our assumption, looked at in a dense
// grid, a suburb and a village at four hours.
var (
	rankSpan   = [3][2]float64{{20, 300}, {10, 150}, {5, 80}}
	rankLadder = []float64{5, 6, 7, 8, 9, 10, 12, 14, 16, 18, 20, 22, 25, 28, 32, 36, 40, 45, 50, 55, 60, 70, 80, 90, 100, 120, 150, 180, 210, 240, 300}
)

// leastX10 is the least number of reactions in ten minutes that ground is told by.
const leastX10 = 0.0001

// minutesTo is how many minutes of walking on ground bring one reaction.
func minutesTo(hazardPerS float64) float64 { return 10 / max(hazardPerS*levelSpanS, leastX10) }

// Step is the step of ground with the hazard of expected reactions a second: 1 calm for
// here, 2 middling, 3 harder, 4 hardest here.
func (r *Rank) Step(hazardPerS float64) int {
	m := minutesTo(hazardPerS)
	for i, bound := range r.Minutes {
		if m >= bound {
			return i + 1
		}
	}
	return 4
}

// groundMinutes is a piece of what is compared.
type groundMinutes struct{ minutes, lengthM float64 }

// rankOf compares pieces of ground.
func rankOf(all []groundMinutes) (r Rank) {
	slices.SortFunc(all, func(a, b groundMinutes) int { return cmp.Compare(b.minutes, a.minutes) })
	total := 0.0
	for _, g := range all {
		total += g.lengthM
	}
	gone, next := 0.0, 0
	var quarter [3]float64
	for _, g := range all {
		gone += g.lengthM
		for ; next < 3 && gone >= total*float64(next+1)/4; next++ {
			quarter[next] = g.minutes
		}
	}
	rung := len(rankLadder)
	for i, q := range quarter {
		held := min(max(q, rankSpan[i][0]), rankSpan[i][1])
		rung = min(nearestRung(held), rung-1)
		r.Minutes[i] = rankLadder[rung]
	}
	for _, g := range all {
		r.Share[r.Step(10/g.minutes/levelSpanS)-1] += g.lengthM / total
	}
	return r
}

// nearestRung is the rung of the ladder nearest to a number of minutes.
func nearestRung(minutes float64) (best int) {
	for i, v := range rankLadder {
		if math.Abs(v-minutes) < math.Abs(rankLadder[best]-minutes) {
			best = i
		}
	}
	return best
}

// Ranked is the ground about a place, compared.
type Ranked struct {
	Rank
	Edges []EdgeHazard // ascending by number
}

// RankedRun is a run of edges of one step and role of way, to be drawn as one line.
type RankedRun struct {
	Step  int
	Role  network.Role
	Edges []network.OnRun // indices into the edges
}

// sharpestBend is the bend up to which a run goes on round a corner: three eighths of a
// turn.
const sharpestBend = 3 * math.Pi / 4

// Ranked compares the ground within RankReachM of a place for a dog at a time. The
// edges are those within that reach; every one is measured at the same moment.
func (p *Planner) Ranked(at plane.Point, dog *exposure.Dog, when time.Time, fa *exposure.Factors) *Ranked {
	g := p.land.Snap.Graph
	box := plane.EmptyBox().With(at).Grown(RankReachM)
	var line plane.Polyline
	edges := slices.DeleteFunc(g.InBox(box), func(e int32) bool {
		if tail, head := g.Ends(e); g.Vertex[tail].DistanceM(at) <= RankReachM || g.Vertex[head].DistanceM(at) <= RankReachM {
			return false
		}
		line = g.AppendLine(line[:0], e)
		_, _, d := line.Nearest(at)
		return d > RankReachM
	})
	out := &Ranked{Edges: p.Hazards(edges, dog, when, fa)}
	all := make([]groundMinutes, 0, len(edges))
	for i := range out.Edges {
		e := &out.Edges[i]
		if e.countedM > 0 && e.Line.At(float64(g.LengthM[e.Edge])/2).DistanceM(at) <= RankReachM {
			all = append(all, groundMinutes{minutesTo(e.HazardPerS), e.countedM})
		}
	}
	out.Rank = rankOf(all)
	for i := range out.Edges {
		out.Edges[i].Step = out.Step(out.Edges[i].HazardPerS)
	}
	return out
}

// Runs joins the edges into what is drawn together: each is in one run. A plan that is
// not drawn needs none.
func (r *Ranked) Runs() (runs []RankedRun) {
	lines, key := make([]plane.Polyline, len(r.Edges)), make([]int32, len(r.Edges))
	for i := range r.Edges {
		e := &r.Edges[i]
		lines[i], key[i] = e.Line, int32(e.Step)*8+int32(e.Role)
	}
	for _, run := range network.Runs(lines, key, sharpestBend) {
		first := &r.Edges[run[0].Line]
		runs = append(runs, RankedRun{first.Step, first.Role, run})
	}
	return runs
}
