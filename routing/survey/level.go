package survey

import (
	"context"
	"math"

	"wideberth/osmdata/parallel"

	"wideberth/exposure/sound"
	"wideberth/exposure/strain"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
	"wideberth/routing/survey/beside"
)

// The continuous level of road traffic by day.
const (
	levelReachM  = 300.0 // roads farther off are not heard beside nearer ones
	levelQuiet   = 500.0 // vehicles a day below which a road counts within levelQuietM only
	levelQuietM  = 40.0
	levelStepM   = 50.0 // between listening places along an edge
	levelCellM   = 128
	levelBesideM = 4.0  // from the middle of the traffic that nobody walks nearer than
	levelFloorDB = 30.0 // of a place without a road: our assumption for a quiet night's ground
)

// roads are the ways of motors with the power of their traffic.
type roads struct {
	power []float64    // by edge of the motor network: energy per metre at the unit of levels
	busy  *plane.Index // heard within levelReachM; ID is an index into power
	quiet *plane.Index // heard within levelQuietM
}

// newRoads takes the traffic of an hour by day, the mean of 7 to 19 h.
func newRoads(tr *traffic) *roads {
	r, share := &roads{}, strain.DayShare()
	cars, heavies := tr.carry(tr.g)
	var busy, quiet []plane.Segment
	for e := range int32(tr.g.EdgeCount()) {
		speed := float64(tr.g.Parts[tr.g.PartAt[e]].SpeedMPS)
		if speed <= 0 {
			speed = driveMPS[tr.g.Class[e]]
		}
		flow := sound.Traffic{LightPerHour: float64(cars[e]) * share, HeavyPerHour: float64(heavies[e]) * share, SpeedMPS: speed}
		// An endless way at the least offset d has E = w pi / (2 pi d): w = 2 d E.
		r.power = append(r.power, 2*sound.MinOffsetM*energy(flow.LAeq(sound.MinOffsetM, sound.InTheOpen)))
		into := &busy
		if tr.aadt[e] < levelQuiet {
			into = &quiet
		}
		line := tr.g.EdgeLine(e)
		for k := 1; k < len(line); k++ {
			*into = append(*into, plane.Segment{A: line[k-1], B: line[k], ID: e, Mask: 1})
		}
	}
	r.busy, r.quiet = plane.NewIndex(busy, levelCellM), plane.NewIndex(quiet, levelQuietM)
	return r
}

func energy(levelDB float64) float64 { return math.Pow(10, levelDB/10) }

// levels gives by edge of the walkable network the continuous level in dB(A) by
// day, the energy mean along it: every piece of road in reach adds
//
//	w phi / (2 pi d)
//
// with w the power of its traffic per metre (CNOSSOS-EU), phi the angle that it
// fills and d the distance to its line; behind a screen 8 dB less. The air takes
// under 1 dB in this reach and is left out.
func levels(ctx context.Context, g *network.Graph, t *beside.Terrain, tr *traffic, workers int, tick func(int)) ([]float32, error) {
	out := make([]float32, g.EdgeCount())
	for e := range out {
		out[e] = levelFloorDB
	}
	if tr == nil {
		return out, nil
	}
	r := newRoads(tr)
	err := parallel.EachIndex(ctx, g.EdgeCount(), workers, tick, func() func(int32) {
		var found []int32
		return func(e int32) {
			if t.Measured != nil && !t.Measured[e] {
				return
			}
			long := float64(g.LengthM[e])
			n := max(1, int(math.Round(long/levelStepM)))
			sum, line := 0.0, g.EdgeLine(e)
			for i := range n {
				var heard float64
				heard, found = r.at(line.At((float64(i)+.5)*long/float64(n)), t, found)
				sum += heard
			}
			out[e] = float32(10 * math.Log10(sum/float64(n)+energy(levelFloorDB)))
		}
	})
	return out, err
}

// at is the energy that is heard at a place; found is working memory.
func (r *roads) at(p plane.Point, t *beside.Terrain, found []int32) (float64, []int32) {
	sum := 0.0
	for _, near := range [...]struct {
		index  *plane.Index
		reachM float64
	}{{r.busy, levelReachM}, {r.quiet, levelQuietM}} {
		found = near.index.Within(p, near.reachM, 1, found[:0])
		for _, i := range found {
			s := near.index.Segment(i)
			sum += r.power[s.ID] * heardFrom(p, s.A, s.B, t)
		}
	}
	return sum, found
}

// heardFrom is what a straight piece of road of power 1 a metre gives at a place.
func heardFrom(p, a, b plane.Point, t *beside.Terrain) float64 {
	at, _ := plane.NearestOnSegment(p, a, b)
	dir := unitOf(a, b)
	d := max(levelBesideM, math.Abs(dir.Cross(p.Sub(a))))
	phi := math.Atan(b.Sub(p).Dot(dir)/d) - math.Atan(a.Sub(p).Dot(dir)/d)
	heard := phi / (2 * math.Pi * d)
	if at.DistanceM(p) > levelBesideM && !t.Sees(p, at) {
		heard /= screenLoss
	}
	return heard
}

// screenLoss is the share of energy that a solid screen leaves through.
var screenLoss = energy(float64(sound.SolidScreen))
