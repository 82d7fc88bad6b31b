package beside

import (
	"context"
	"math"

	"wideberth/osmdata/parallel"

	"wideberth/exposure"
	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
)

const (
	// roomReachM is how far to the side rays look; nobody goes farther off a line.
	roomReachM = 60.0
	// parkCapM is the most room in metres on public green ground.
	parkCapM = 40.0
	// greenStepM is the spacing of the looks for green ground beside the way.
	greenStepM = rasterM
	// passageRoomM is the room on a bridge, in a tunnel, cutting or passage under a
	// house.
	passageRoomM = 1.5
	// noRoom are the facts of a street that leave only passageRoomM.
	noRoom = osmdata.FlagBridge | osmdata.FlagTunnel | osmdata.FlagCutting
	// besideM is how far off the line of a way rays begin: what is drawn along that line stands
	// on neither side of it.
	besideM = 0.05
	// chunk is how many samples look together for what is near.
	chunk = 8
)

// envelopeM are the offsets along the heading of the rays of one side. One ray
// slips between houses that stand side by side: it reports 60 m and more for half
// the samples of a street of detached houses, where the fronts leave 18.
var envelopeM = [5]float64{0, -10, 10, -20, 20}

// capM is the most room to one side in metres by class where the ground beyond is
// not known to be public: front gardens are not. Our assumption.
var capM = [osmdata.ClassCount]float64{
	osmdata.ClassOther: 10, osmdata.Motorway: 15, osmdata.Trunk: 15, osmdata.Primary: 12, osmdata.Secondary: 10,
	osmdata.Tertiary: 9, osmdata.Unclassified: 12, osmdata.Residential: 8, osmdata.LivingStreet: 8, osmdata.Service: 10,
	osmdata.Pedestrian: 15, osmdata.Track: 25, osmdata.Cycleway: 15, osmdata.Bridleway: 25, osmdata.Footway: 25,
	osmdata.Path: 25, osmdata.Steps: 4,
}

// defaultRoomM is the room in metres by class where nothing is mapped, as
// exposure.Field counts it: of streets that may be crossed both sides together, of
// the others one side. About the lower quartile of two dense centres where
// everything is mapped. Our assumption.
var defaultRoomM = [osmdata.ClassCount]float64{
	osmdata.ClassOther: 6, osmdata.Motorway: 4, osmdata.Trunk: 4, osmdata.Primary: 4, osmdata.Secondary: 4,
	osmdata.Tertiary: 11, osmdata.Unclassified: 12, osmdata.Residential: 9, osmdata.LivingStreet: 7, osmdata.Service: 7,
	osmdata.Pedestrian: 4, osmdata.Track: 10, osmdata.Cycleway: 8, osmdata.Bridleway: 8, osmdata.Footway: 6,
	osmdata.Path: 8, osmdata.Steps: 2,
}

// MayCross tells whether a street has two sides and so little traffic that a
// handler crosses it to let others pass.
func MayCross(c osmdata.Class) bool { return c >= osmdata.Tertiary && c <= osmdata.Service }

// perSideM is a room as it counts for one side.
func perSideM(roomM float64, c osmdata.Class) float64 {
	if MayCross(c) {
		return roomM / 2
	}
	return roomM
}

// Room measures the room to each side of every edge: at each sample the lower
// envelope of five rays to the first obstacle or moving traffic, at most the cap
// of the class, which public green ground lifts. On a street with moving traffic it
// counts from the kerb. Where no obstacle stands on either side the class's default is taken
// and marked.
func Room(ctx context.Context, g *network.Graph, t *Terrain, marks []exposure.Mark, workers int, tick func(int)) (left, right []exposure.Side, err error) {
	left, right = make([]exposure.Side, g.EdgeCount()), make([]exposure.Side, g.EdgeCount())
	err = parallel.EachIndex(ctx, g.EdgeCount(), workers, tick, func() func(int32) {
		r := roomer{g: g, t: t, green: t.green.eye(), s: t.Sampler(g), marks: marks}
		return func(e int32) {
			if t.measures(e) {
				left[e], right[e] = r.edge(e)
			}
		}
	})
	return left, right, err
}

// roomer is one worker's scratch.
type roomer struct {
	g      *network.Graph
	t      *Terrain
	green  *eye
	s      Sampler
	marks  []exposure.Mark // of the edges, nil where traffic is not known
	busy   bool            // the edge at hand carries moving traffic: room begins at its kerb
	values [2][]weighted   // by side
	found  []wall          // walls and lanes about a run of samples, where they lie; some twice
	near   []wall          // those about a sample
}

// wall is a piece that stops the way. Seen from a sample its places are metres along the way
// and to the left.
type wall struct {
	a, b  plane.Point
	halfM float64 // half the width of a lane
	i     int32   // its number in the index
	stops uint8
}

// edge measures one edge.
func (r *roomer) edge(e int32) (left, right exposure.Side) {
	all := r.s.Samples(e)
	r.busy = r.marks != nil && MayCross(r.g.Class[e]) && r.marks[e]&exposure.MayCross == 0
	r.values[0], r.values[1] = r.values[0][:0], r.values[1][:0]
	var total float64
	var byDefault [2]float64
	for len(all) > 0 {
		run := all[:min(chunk, len(all))]
		all = all[len(run):]
		r.gather(run)
		for i := range run {
			total += run[i].WeightM
			sides := r.measure(&run[i])
			for k, side := range sides {
				r.values[k] = append(r.values[k], weighted{side.m, run[i].WeightM})
				if side.byDefault {
					byDefault[k] += run[i].WeightM
				}
			}
		}
	}
	var out [2]exposure.Side
	for k := range out {
		low := quantile(r.values[k], 0.25)
		out[k] = exposure.Side{LowM: float32(low), LeastM: float32(r.values[k][0].v), Default: byDefault[k] > total/2+tieM}
	}
	return out[0], out[1]
}

// gather finds what stands where the rays of a run of samples may lead.
func (r *roomer) gather(run []sample) {
	about := plane.EmptyBox()
	for i := range run {
		s := &run[i]
		on, off := envelopeM[4], besideM+r.kerbM(&r.g.Parts[s.Part])+roomReachM
		x, y := math.Abs(s.dir.X), math.Abs(s.dir.Y)
		d := plane.Point{X: on*x + off*y, Y: on*y + off*x}
		about = about.With(s.At.Sub(d)).With(s.At.Add(d))
	}
	r.found = r.found[:0]
	for listed := range r.t.lines.Listed(about, stopsWay|stopsCars) {
		for _, i := range listed {
			piece := r.t.lines.Segment(i)
			if piece.Mask&(stopsWay|stopsCars) == 0 {
				continue
			}
			w := wall{a: piece.A, b: piece.B, i: i, stops: piece.Mask}
			if piece.ID >= 0 {
				w.halfM = r.t.halfM[piece.ID]
			}
			r.found = append(r.found, w)
		}
	}
}

// kerbM is how far from the middle of a street room begins.
func (r *roomer) kerbM(p *network.Part) float64 {
	if major(p.Class) || r.busy {
		return halfWidthM(p.Class, p.Flags, p.WidthM(), p.Lanes())
	}
	return 0
}

// turn lays what was gathered out as it is seen from a sample, as far as rays meet it.
func (r *roomer) turn(s *sample) {
	r.near = r.near[:0]
	for i := range r.found {
		w := r.found[i]
		a, b := w.a.Sub(s.At), w.b.Sub(s.At)
		from, to := s.dir.Dot(a), s.dir.Dot(b)
		if max(from, to) < envelopeM[3] || min(from, to) > envelopeM[4] {
			continue
		}
		w.a, w.b = plane.Point{X: from, Y: s.dir.Cross(a)}, plane.Point{X: to, Y: s.dir.Cross(b)}
		r.near = append(r.near, w)
	}
}

func samplesBox(run []sample) plane.Box {
	b := plane.EmptyBox()
	for i := range run {
		b = b.With(run[i].At)
	}
	return b
}

// sideRoom is what one sample finds on one side.
type sideRoom struct {
	m         float64
	byDefault bool
}

// measure gives the room at a sample of the gathered run to the left and to the right.
func (r *roomer) measure(s *sample) [2]sideRoom {
	p := &r.g.Parts[s.Part]
	if p.Flags&noRoom != 0 {
		m := perSideM(passageRoomM, p.Class)
		return [2]sideRoom{{m, false}, {m, false}}
	}
	free := [2]float64{math.Inf(1), math.Inf(1)}
	if r.turn(s); len(r.near) > 0 {
		free = [2]float64{r.envelope(p, 1), r.envelope(p, -1)}
	}
	mapped := min(free[0], free[1]) <= roomReachM
	var out [2]sideRoom
	for k, sign := range [2]float64{1, -1} {
		most := r.lifted(s, p.Class, sign)
		if !mapped && most == capM[p.Class] {
			out[k] = sideRoom{perSideM(defaultRoomM[p.Class], p.Class), true}
		} else {
			out[k] = sideRoom{min(free[k], most), false}
		}
	}
	return out
}

// envelope is the least way in metres to an obstacle of the five rays to the left
// (sign 1) or right (-1), infinite if none meets one. Rays that begin behind an
// obstacle, round a bend, do not count.
func (r *roomer) envelope(p *network.Part, sign float64) float64 {
	offM, shift := besideM+r.kerbM(p), stopsWay|stopsCars
	if major(p.Class) || r.busy {
		shift = stopsWay
	}
	// How far one comes along the way on either side, and each ray's way to what it meets
	// first: of several at one place the first in the index.
	onM, backM := math.Inf(1), math.Inf(1)
	var freeM [len(envelopeM)]float64
	var first [len(envelopeM)]*wall
	for k := range freeM {
		freeM[k] = math.Inf(1)
	}
	for i := range r.near {
		w := &r.near[i]
		ya, yb := sign*w.a.Y-offM, sign*w.b.Y-offM
		if w.stops&shift != 0 && between(ya, yb) {
			x := w.a.X + (w.b.X-w.a.X)*(ya/(ya-yb))
			if x >= 0 {
				onM = min(onM, x)
			}
			if x <= 0 {
				backM = min(backM, -x)
			}
		}
		if max(ya, yb) < 0 || min(ya, yb) > roomReachM {
			continue
		}
		for k, off := range envelopeM {
			xa, xb := w.a.X-off, w.b.X-off
			if !between(xa, xb) {
				continue
			}
			if d := ya + (yb-ya)*(xa/(xa-xb)); d >= 0 && (d < freeM[k] || first[k] != nil && d == freeM[k] && w.i < first[k].i) {
				freeM[k], first[k] = d, w
			}
		}
	}
	least := math.Inf(1)
	for k, off := range envelopeM {
		if off > 0 && onM <= off || off < 0 && backM <= -off {
			continue
		}
		if freeM[k] <= min(roomReachM, least) {
			least = min(least, max(0, freeM[k]+besideM-first[k].halfM))
		}
	}
	return least
}

// between tells whether 0 lies between two numbers that differ, or is one of them.
func between(a, b float64) bool { return (a <= 0 && b >= 0 || a >= 0 && b <= 0) && a != b }

// lifted is the cap to one side: that of the class, or as far as public green
// ground reaches if it begins within it.
func (r *roomer) lifted(s *sample, c osmdata.Class, sign float64) float64 {
	across := plane.Point{X: -s.dir.Y, Y: s.dir.X}.Mul(sign)
	most := capM[c]
	for d := greenStepM; d <= parkCapM && d <= most+greenStepM; d += greenStepM {
		if r.green.contains(s.At.Add(across.Mul(d))) {
			most = max(most, d)
		}
	}
	return most
}
