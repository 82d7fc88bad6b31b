package beside

import (
	"context"
	"math"

	"wideberth/exposure"
	"wideberth/exposure/sound"
	"wideberth/osmdata/parallel"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
)

// Gardens gathers by edge how near one passes the dogs that may stand behind fences, so
// many at each place: each is met once where it is nearest, at the straight pieces of the
// edge that pass it, by a walker at exposure.StoredWalkerMPS. What is not in sight is
// heard through what stands between, as far off as that makes it. Before a bend or a
// corner those on its inner side are passed twice and those on its outer side not at all.
func Gardens(ctx context.Context, g *network.Graph, t *Terrain, at []plane.Point, dogs []float64, workers int, tick func(int)) ([][exposure.BinCount]exposure.Bin, error) {
	out := make([][exposure.BinCount]exposure.Bin, g.EdgeCount())
	points := make([]plane.Segment, len(at))
	for i, p := range at {
		points[i] = plane.Segment{A: p, B: p, ID: int32(i), Mask: 1}
	}
	index := plane.NewIndex(points, StreamCellM)
	err := parallel.EachIndex(ctx, g.EdgeCount(), workers, tick, func() func(int32) {
		var found []int32
		return func(e int32) {
			if !t.measures(e) {
				return
			}
			var bins exposure.Bins
			line := g.EdgeLine(e)
			for k := 1; k < len(line); k++ {
				found = index.InBox(line[k-1:k+1].Box().Grown(NearM), 1, found[:0])
				for _, i := range found {
					p := at[index.Segment(i).ID]
					if d, ok := t.passing(line[k-1], line[k], p); ok {
						bins.Add(dogs[index.Segment(i).ID], exposure.At(d))
					}
				}
			}
			out[e] = bins.Pack(exposure.GardenHours * exposure.StoredWalkerMPS / float64(g.LengthM[e]))
		}
	})
	return out, err
}

// passing is how near the walk from a to b comes to a place that it passes; false if it
// does not pass it.
func (t *Terrain) passing(a, b, p plane.Point) (distM float64, ok bool) {
	length := a.DistanceM(b)
	if length == 0 {
		return 0, false
	}
	dir := b.Sub(a).Mul(1 / length)
	along := p.Sub(a).Dot(dir)
	if along < 0 || along >= length {
		return 0, false
	}
	foot := a.Add(dir.Mul(along))
	distM = foot.DistanceM(p)
	if distM > edgeSlackM && !t.Sees(foot, p.Add(foot.Sub(p).Mul(edgeSlackM/distM))) {
		distM *= math.Pow(10, float64(sound.SolidScreen)/20)
	}
	return distM, true
}
