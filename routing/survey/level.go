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

// levelRun is how many listening places in a row look for their roads together.
const levelRun = 4

// roads are the ways of motors with the power of their traffic.
type roads struct{ busy, quiet heardRoads } // heard within levelReachM and levelQuietM

// heardRoads are the straight pieces of roads that are heard equally far.
type heardRoads struct {
	reachM float64
	index  *plane.Index // numbered as pieces
	pieces []roadPiece
}

// roadPiece is a straight piece of road with the power of its traffic: energy per metre
// at the unit of levels.
type roadPiece struct {
	a, b  plane.Point
	power float64
}

// newRoads takes the traffic of an hour by day, the mean of 7 to 19 h.
func newRoads(tr *traffic) *roads {
	r, share := &roads{busy: heardRoads{reachM: levelReachM}, quiet: heardRoads{reachM: levelQuietM}}, strain.DayShare()
	cars, heavies := tr.carry(tr.g)
	// The energy of a flow is the sum of that of its vehicles, which depends on their speed.
	one := map[float64][2]float64{}
	for e := range int32(tr.g.EdgeCount()) {
		speed := float64(tr.g.Parts[tr.g.PartAt[e]].SpeedMPS)
		if speed <= 0 {
			speed = driveMPS[tr.g.Class[e]]
		}
		of, known := one[speed]
		if !known {
			for k, flow := range [2]sound.Traffic{{LightPerHour: 1, SpeedMPS: speed}, {HeavyPerHour: 1, SpeedMPS: speed}} {
				// An endless way at the least offset d has E = w pi / (2 pi d): w = 2 d E.
				of[k] = 2 * sound.MinOffsetM * energy(flow.LAeq(sound.MinOffsetM, sound.InTheOpen))
			}
			one[speed] = of
		}
		into := &r.busy
		if tr.aadt[e] < levelQuiet {
			into = &r.quiet
		}
		power, line := (float64(cars[e])*of[0]+float64(heavies[e])*of[1])*share, tr.g.EdgeLine(e)
		for k := 1; k < len(line); k++ {
			into.pieces = append(into.pieces, roadPiece{line[k-1], line[k], power})
		}
	}
	r.busy.seal(levelCellM)
	r.quiet.seal(levelQuietM)
	return r
}

// seal makes the index of the pieces.
func (h *heardRoads) seal(cellM float64) {
	segs := make([]plane.Segment, len(h.pieces))
	for i := range h.pieces {
		segs[i] = plane.Segment{A: h.pieces[i].a, B: h.pieces[i].b, ID: int32(i), Mask: 1}
	}
	h.index = plane.NewIndex(segs, cellM)
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
		l := listener{r: r, t: t}
		return func(e int32) {
			if t.Measured != nil && !t.Measured[e] {
				return
			}
			long := float64(g.LengthM[e])
			n := max(1, int(math.Round(long/levelStepM)))
			l.places = l.places[:0]
			line := g.EdgeLine(e)
			for i := range n {
				l.places = append(l.places, line.At((float64(i)+.5)*long/float64(n)))
			}
			sum := 0.0
			for _, heard := range l.hear() {
				sum += heard
			}
			out[e] = float32(10 * math.Log10(sum/float64(n)+energy(levelFloorDB)))
		}
	})
	return out, err
}

// listener is one worker's scratch.
type listener struct {
	r      *roads
	t      *beside.Terrain
	places []plane.Point
	heard  []float64 // by place
	found  []int32
	near   []nearPiece
}

// nearPiece is a piece of road in reach of a place.
type nearPiece struct {
	at     plane.Point // of it nearest to the place
	distM  float64     // to there
	energy float64     // heard where nothing stands between
}

// hear gives the energy that is heard at each of the places; the slice is good until the
// next call.
func (l *listener) hear() []float64 {
	l.heard = append(l.heard[:0], make([]float64, len(l.places))...)
	for _, roads := range [...]*heardRoads{&l.r.busy, &l.r.quiet} {
		for from := 0; from < len(l.places); from += levelRun {
			to := min(from+levelRun, len(l.places))
			about := plane.Polyline(l.places[from:to]).Box().Grown(roads.reachM)
			l.found = roads.index.InBox(about, 1, l.found[:0])
			for k := from; k < to; k++ {
				l.heard[k] += l.at(l.places[k], roads)
			}
		}
	}
	return l.heard
}

// at is the energy that is heard at a place from those found.
func (l *listener) at(p plane.Point, roads *heardRoads) (sum float64) {
	l.near = l.near[:0]
	about := plane.Box{Min: p, Max: p}
	for _, i := range l.found {
		piece := &roads.pieces[i]
		at, _ := plane.NearestOnSegment(p, piece.a, piece.b)
		if m := at.DistanceM(p); m <= roads.reachM {
			l.near = append(l.near, nearPiece{at, m, piece.power * heardFrom(p, piece.a, piece.b)})
			about = about.With(at)
		}
	}
	open := !l.t.Stands(about)
	for i := range l.near {
		n := &l.near[i]
		if open || n.distM <= levelBesideM || l.t.Sees(p, n.at) {
			sum += n.energy
		} else {
			sum += n.energy / screenLoss
		}
	}
	return sum
}

// heardFrom is what a straight piece of road of power 1 a metre gives at a place that sees
// it.
func heardFrom(p, a, b plane.Point) float64 {
	dir := unitOf(a, b)
	d := max(levelBesideM, math.Abs(dir.Cross(p.Sub(a))))
	return angle(a.Sub(p).Dot(dir)/d, b.Sub(p).Dot(dir)/d) / (2 * math.Pi * d)
}

// angle is atan(to) - atan(from), from at most to, by the tangent of the difference.
func angle(from, to float64) float64 {
	switch cos := 1 + from*to; {
	case cos > 0:
		return math.Atan((to - from) / cos)
	case cos < 0:
		return math.Pi + math.Atan((to-from)/cos)
	}
	return math.Pi / 2
}

// screenLoss is the share of energy that a solid screen leaves through.
var screenLoss = energy(float64(sound.SolidScreen))
