package reach

import "wideberth/routing/search/loop"

// Prices of an about-turn, in expected reactions (our assumption): what turning a
// dog round on the lead costs, and at a junction on the carriageway of a main road,
// where there is no place to stop for it.
const (
	TurnEach     = 0.02
	turnOnMainRd = 0.1
	TurnMore     = 0.02 // on top for every turn before it: pacing up and down is no walk
)

// TurnPrices is the price of an about-turn at each vertex of the reach.
func (r *Reach) TurnPrices() []float32 {
	out := make([]float32, r.Star.VertexCount())
	for v := range out {
		out[v] = TurnEach
		for a := r.Star.First[v]; a < r.Star.First[v+1]; a++ {
			if r.Land.Snap.Graph.Class[r.Piece[a].Edge].Main() {
				out[v] = turnOnMainRd
			}
		}
	}
	return out
}

// MedianHazard is the median over time of expected reactions a second on everything
// in reach, before any limits, in the stretch of the clock atS seconds after
// departure.
func (r *Reach) MedianHazard(c *Prices, atS float64) float64 {
	return loop.MedianRate(&r.Star, c.TimeS, r.ArcCosts(c.TimeS, c.Hazard[c.StretchAt(atS)]))
}
