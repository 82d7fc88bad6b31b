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

// NearM is how far away in metres streams count: stopping there loses at most
// 1.2 % of X for a working distance of 100 m, at 60 m it would be 5 to 12 %.
const NearM = exposure.BinMaxM

// StreamCellM is the cell of the index of streams.
const StreamCellM = 64

// OverlapM is how much of a way in metres two runs must share to be in one place:
// places along ways are kept in single precision.
const OverlapM = 0.1

// secondsPerHour turns flows a day that all come in one hour into flows a second.
const secondsPerHour = 3600

// Streams are straight pieces of ways that movers run along.
type Streams struct {
	pieces []streamPiece
	flows  []flow
	index  *plane.Index
	joint  []joint
	joints *plane.Index          // IDs are indexes into joint
	ends   map[plane.Point]int32 // index into joint by where lines end
}

// streamPiece is one straight piece.
type streamPiece struct {
	a, end plane.Point // where it begins and ends
	t      plane.Point // its unit direction
	lenM   float64
	flow   int32 // index into flows
	edge   int32 // of the walker's network; -1 if it belongs to another
	way    int64 // OSM way, for pieces of other networks
	wayLo  float64
	wayHi  float64 // the run of the way in metres that it is
	goesOn bool    // from the piece before, of the same edge
}

// flow is what runs on a way, by speed, because where parties come closest depends
// on their speed alone.
type flow []speedFlow

type speedFlow struct {
	speedMPS float64
	of       []patternFlow
}

// patternFlow is half of a pattern's flow, one direction's, in 1/s if the whole day
// came in one hour.
type patternFlow struct {
	pattern exposure.Pattern
	halfPS  float64
}

// makeFlow sorts flows a day, both directions together, by speed.
func makeFlow(perDay *[exposure.PatternCount]float64) flow {
	var f flow
	for p, q := range perDay {
		if !(q > 0) {
			continue
		}
		p := exposure.Pattern(p)
		one := patternFlow{p, q / 2 / secondsPerHour}
		if n := len(f); n > 0 && f[n-1].speedMPS == p.SpeedMPS() {
			f[n-1].of = append(f[n-1].of, one)
		} else {
			f = append(f, speedFlow{p.SpeedMPS(), []patternFlow{one}})
		}
	}
	return f
}

// AddNetwork adds the edges of a network with their flows a day by pattern and
// edge; patterns without a slice have none. own says that it is the network that
// walks run on. What runs in tunnels is not seen and not added.
func (s *Streams) AddNetwork(g *network.Graph, own bool, perDay [exposure.PatternCount][]float32) {
	for e := range int32(g.EdgeCount()) {
		var q [exposure.PatternCount]float64
		for p := range perDay {
			if perDay[p] != nil {
				q[p] = float64(perDay[p][e])
			}
		}
		f := makeFlow(&q)
		if f == nil {
			continue
		}
		s.flows = append(s.flows, f)
		s.addEdge(g, e, own)
	}
}

// addEdge adds the straight pieces of an edge, cut where its parts change.
func (s *Streams) addEdge(g *network.Graph, e int32, own bool) {
	parts := g.Parts[g.PartAt[e]:g.PartAt[e+1]]
	for i := range parts {
		p, to := &parts[i], float64(g.LengthM[e])
		if i+1 < len(parts) {
			to = float64(parts[i+1].FromM)
		}
		if p.Flags&osmdata.FlagTunnel != 0 {
			continue
		}
		line := g.EdgeLine(e)
		if len(parts) > 1 {
			end := to
			if i+1 == len(parts) {
				end = math.Inf(1) // the vertex itself, where others meet it
			}
			line = cutAtNodes(line, float64(p.FromM), end)
		}
		proto, added := streamPiece{edge: e}, len(s.pieces)
		if !own {
			proto = streamPiece{edge: -1, way: p.Street}
		}
		s.addLine(line, proto)
		at := float64(p.FromM)
		for k := added; k < len(s.pieces) && !own; k++ {
			q := &s.pieces[k]
			q.wayLo, q.wayHi = OnWay(p, at, at+q.lenM)
			at += q.lenM
		}
	}
}

// nodeM is how far from a node of a line a part may begin by rounding: places along edges
// are kept in single precision.
const nodeM = 0.01

// cutAtNodes is the run of a line between two places along it, which are its nodes where
// such lie there: cut a hair beside one, the line would bend in a piece without length.
func cutAtNodes(line plane.Polyline, fromM, toM float64) plane.Polyline {
	first, last := 0, len(line)-1
	at, begun, ended := 0.0, fromM <= nodeM, false
	for i := 1; i < len(line) && !ended; i++ {
		at += line[i-1].DistanceM(line[i])
		if !begun && math.Abs(at-fromM) <= nodeM {
			first, begun = i, true
		}
		if i > first && math.Abs(at-toM) <= nodeM {
			last, ended = i, true
		}
	}
	if begun && (ended || math.IsInf(toM, 1)) {
		return line[first : last+1]
	}
	return line.Cut(fromM, toM)
}

// OnWay is the run in metres along its OSM way of what lies between two places on
// the edge that the part belongs to.
func OnWay(p *network.Part, fromM, toM float64) (lo, hi float64) {
	lo, hi = fromM-float64(p.FromM), toM-float64(p.FromM)
	if p.Reverse() {
		return float64(p.StreetM) - hi, float64(p.StreetM) - lo
	}
	return float64(p.StreetM) + lo, float64(p.StreetM) + hi
}

// AddRail adds a railway line with its trains a day.
func (s *Streams) AddRail(l plane.Polyline, perDay float64) {
	var q [exposure.PatternCount]float64
	q[exposure.TrainTraffic] = perDay
	if f := makeFlow(&q); f != nil {
		s.flows = append(s.flows, f)
		s.addLine(l, streamPiece{edge: -1})
	}
}

// addLine adds a line's pieces with the last flow, and its bends.
func (s *Streams) addLine(l plane.Polyline, proto streamPiece) {
	first := len(s.pieces)
	proto.flow = int32(len(s.flows) - 1)
	for k := 1; k < len(l); k++ {
		d := l[k-1].DistanceM(l[k])
		if d == 0 {
			continue
		}
		before := proto.t
		proto.a, proto.end, proto.t, proto.lenM = l[k-1], l[k], l[k].Sub(l[k-1]).Mul(1/d), d
		if proto.goesOn {
			s.bend(proto.a, proto.arm(before.Mul(-1)), proto.arm(proto.t))
		}
		s.pieces = append(s.pieces, proto)
		proto.goesOn = true
	}
	if len(s.pieces) > first {
		s.leave(s.pieces[first].a, proto.arm(s.pieces[first].t))
		s.leave(proto.end, proto.arm(proto.t.Mul(-1)))
	}
}

// Seal makes the index; nothing may be added after it.
func (s *Streams) Seal() {
	segs := make([]plane.Segment, len(s.pieces))
	for i := range s.pieces {
		p := &s.pieces[i]
		segs[i] = plane.Segment{A: p.a, B: p.end, Mask: 1}
	}
	s.index = plane.NewIndex(segs, StreamCellM)
	s.sealJoints()
}

// Near gathers by edge and pattern the closest approaches of streams on other ways,
// for a walker at exposure.StoredWalkerMPS: at each sample, for each straight piece
// and direction of a stream, the place on it where a party would be when it is
// nearest; if that lies on the piece and in sight, it counts at the rate of
// exposure.Approaches; and those who are nearest where they turn off, appear or are
// hidden, see glimpse.go. The edge's own way is not in it: how near its parties come
// is the handler's choice. Balanced streams give the same for both walking
// directions.
func Near(ctx context.Context, g *network.Graph, t *Terrain, s *Streams, workers int, tick func(int)) (out [exposure.PatternCount][][exposure.BinCount]exposure.Bin, err error) {
	for p := range out {
		out[p] = make([][exposure.BinCount]exposure.Bin, g.EdgeCount())
	}
	err = parallel.EachIndex(ctx, g.EdgeCount(), workers, tick, func() func(int32) {
		n := nearer{g: g, t: t, st: s, s: t.Sampler(g)}
		return func(e int32) {
			if !t.measures(e) {
				return
			}
			total := n.edge(e)
			for p := range out {
				out[p][e] = n.bins[p].Pack(1 / total)
			}
		}
	})
	return out, err
}

// nearer is one worker's scratch.
type nearer struct {
	g     *network.Graph
	t     *Terrain
	st    *Streams
	s     Sampler
	found []int32 // pieces
	turns []int32 // joints
	bins  [exposure.PatternCount]exposure.Bins
}

// edge fills the bins with rates times metres and gives the metres.
func (n *nearer) edge(e int32) (totalM float64) {
	n.bins = [exposure.PatternCount]exposure.Bins{}
	all := n.s.Samples(e)
	for len(all) > 0 {
		run := all[:min(chunk, len(all))]
		all = all[len(run):]
		box := samplesBox(run).Grown(NearM)
		n.found = n.st.index.InBox(box, 1, n.found[:0])
		n.leaveOutOwn(e)
		n.turns = n.st.joints.InBox(samplesBox(run).Grown(glimpseM), 1, n.turns[:0])
		open := !n.t.lines.Any(box, stopsView)
		for i := range run {
			totalM += run[i].WeightM
			if n.g.Parts[run[i].Part].Flags&osmdata.FlagTunnel != 0 {
				continue
			}
			for _, k := range n.found {
				n.meet(&run[i], &n.st.pieces[k], open)
			}
		}
		n.glimpsesOf(run, e, open)
	}
	return totalM
}

// glimpsesOf looks for glimpses at every second sample, which stands for the next
// one too: they are a small part, and dear.
func (n *nearer) glimpsesOf(run []sample, e int32, open bool) {
	for i := 0; i < len(run); i += 2 {
		weightM := run[i].WeightM
		if i+1 < len(run) {
			weightM += run[i+1].WeightM
		}
		if n.g.Parts[run[i].Part].Flags&osmdata.FlagTunnel == 0 {
			n.glimpses(&run[i], e, weightM, open)
		}
	}
}

// leaveOutOwn drops the found pieces that are the edge itself: of the walker's
// network by edge, of others by the run of their OSM way.
func (n *nearer) leaveOutOwn(e int32) {
	parts := n.g.Parts[n.g.PartAt[e]:n.g.PartAt[e+1]]
	kept := n.found[:0]
	for _, k := range n.found {
		if p := &n.st.pieces[k]; p.edge != e && !(p.edge < 0 && onSameWay(parts, float64(n.g.LengthM[e]), p)) {
			kept = append(kept, k)
		}
	}
	n.found = kept
}

// onSameWay tells whether a piece of another network runs where one of the parts
// does.
func onSameWay(parts []network.Part, lengthM float64, p *streamPiece) bool {
	for i := range parts {
		if parts[i].Street != p.way {
			continue
		}
		to := lengthM
		if i+1 < len(parts) {
			to = float64(parts[i+1].FromM)
		}
		lo, hi := OnWay(&parts[i], float64(parts[i].FromM), to)
		if lo < p.wayHi-OverlapM && p.wayLo < hi-OverlapM {
			return true
		}
	}
	return false
}

// meet adds what the movers of one piece do to one sample.
func (n *nearer) meet(s *sample, p *streamPiece, open bool) {
	const v = exposure.StoredWalkerMPS
	r := p.a.Sub(s.At)
	along := r.Dot(p.t)
	// Nearer than nearM at all?
	off := min(max(-along, 0), p.lenM)
	rr := r.Dot(r)
	if rr+off*(2*along+off) > NearM*NearM {
		return
	}
	ahead, c := r.Dot(s.dir), s.dir.Dot(p.t)
	for _, sf := range n.st.flows[p.flow] {
		for _, u := range [2]float64{sf.speedMPS, -sf.speedMPS} {
			// (a + x t - at) . w = 0 with w = u t - v dir
			x := (v*ahead - u*along) / (u - v*c)
			if !(x >= 0 && x < p.lenM) {
				continue
			}
			dd := rr + x*(2*along+x)
			if dd > NearM*NearM || !open && !n.t.lines.Visible(s.At, p.a.Add(p.t.Mul(x)), stopsView) {
				continue
			}
			n.add(s, p, sf, u, exposure.At(math.Sqrt(max(0, dd))))
		}
	}
}

// add counts one direction of the streams of one speed at a distance.
func (n *nearer) add(s *sample, p *streamPiece, sf speedFlow, u float64, at exposure.Approach) {
	rate := s.WeightM * exposure.Approaches(1, math.Abs(u), math.Copysign(p.t.X, u*p.t.X), math.Copysign(p.t.Y, u*p.t.Y),
		exposure.StoredWalkerMPS*s.dir.X, exposure.StoredWalkerMPS*s.dir.Y)
	n.count(sf, rate, at)
}
