package beside

import (
	"cmp"
	"context"
	"math"
	"math/bits"
	"slices"

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

// together is how many samples of an edge look together for what is in reach.
const together = 16

// secondsPerHour turns flows a day that all come in one hour into flows a second.
const secondsPerHour = 3600

// Streams are what moves along straight strips of ground.
type Streams struct {
	strips  []strip
	lanes   []lane // those of an edge in the order of its line
	flows   []flow
	laneAt  []int32            // by strip, and one more: its first in laneOf
	laneOf  []int32            // lanes by strip
	sums    map[[3]int32]int32 // flows of several together, until Seal
	index   *plane.Index
	joint   []joint
	arms    []arm                 // until Seal
	joints  *plane.Index          // IDs are indexes into joint
	ends    map[plane.Point]int32 // index into joint by where lines end, until Seal
	stripOf map[uint64]int32      // by their ends mixed, until Seal: the last one made
}

// strip is a straight piece of ground that movers run along, whichever networks hold
// it: a street is on that of walkers and on that of motors.
type strip struct {
	a, end plane.Point // where it begins and ends
	t      plane.Point // its unit direction
	lenM   float64
	flow   int32 // of all its lanes together, index into flows
	marks  int32 // how many places of it are looked at for glimpses
}

// lane is a strip as part of a way of one network.
type lane struct {
	strip  int32
	flow   int32 // index into flows
	edge   int32 // of the walker's network; -1 if it belongs to another
	back   bool  // runs from the strip's end to its beginning
	goesOn bool  // from the lane before, of the same edge
	way    int64 // OSM way, for lanes of other networks
	wayLo  float64
	wayHi  float64 // the run of the way in metres that it is
}

// flow is half of what runs on a way by pattern, one direction's, in 1/s if the whole
// day came in one hour, with the paces that are in it.
type flow struct {
	halfPS [exposure.PatternCount]float64
	paces  uint32 // a bit for each of paces
}

// paces are the speeds of the patterns, slowest first, as many as there are: where
// parties come closest depends on their speed alone.
var paces = func() (out [exposure.PatternCount]pace) {
	n := 0
	for p := range exposure.PatternCount {
		u := p.SpeedMPS()
		if u == 0 {
			continue
		}
		i, known := slices.BinarySearchFunc(out[:n], u, func(a pace, u float64) int { return cmp.Compare(a.speedMPS, u) })
		if !known {
			copy(out[i+1:], out[i:n])
			out[i] = pace{speedMPS: u}
			n++
		}
		out[i].of = append(out[i].of, p)
	}
	return out
}()

// pace is a speed with the patterns that move at it.
type pace struct {
	speedMPS float64
	of       []exposure.Pattern
}

// first is the number of the slowest pace of a set that is not empty.
func first(set uint32) int { return bits.TrailingZeros32(set) % len(paces) }

// makeFlow makes a flow of parties a day by pattern, both directions together; false
// if there are none.
func makeFlow(perDay *[exposure.PatternCount]float64) (f flow, some bool) {
	for p, q := range perDay {
		if q > 0 {
			f.halfPS[p] = q / 2 / secondsPerHour
		}
	}
	f.settle()
	return f, f.paces != 0
}

// settle finds out which paces are in a flow.
func (f *flow) settle() {
	for k := range paces {
		for _, p := range paces[k].of {
			if f.halfPS[p] > 0 {
				f.paces |= 1 << k
			}
		}
	}
}

// add adds another flow.
func (f *flow) add(g *flow) {
	for p := range f.halfPS {
		f.halfPS[p] += g.halfPS[p]
	}
	f.paces |= g.paces
}

// AddNetwork adds the edges of a network with their flows a day by pattern and
// edge; patterns without a slice have none. own says that it is the network that
// walks run on. What runs in tunnels is not seen and not added.
func (s *Streams) AddNetwork(g *network.Graph, own bool, perDay [exposure.PatternCount][]float32) {
	s.lanes = slices.Grow(s.lanes, len(g.Line))
	for e := range int32(g.EdgeCount()) {
		var q [exposure.PatternCount]float64
		for p := range perDay {
			if perDay[p] != nil {
				q[p] = float64(perDay[p][e])
			}
		}
		if f, some := makeFlow(&q); some {
			s.flows = append(s.flows, f)
			s.addEdge(g, e, own)
		}
	}
}

// addEdge adds the lanes of an edge, cut where its parts change.
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
		proto, added := lane{edge: e}, len(s.lanes)
		if !own {
			proto = lane{edge: -1, way: p.Street}
		}
		s.addLine(line, proto)
		at := float64(p.FromM)
		for k := added; k < len(s.lanes) && !own; k++ {
			q := &s.lanes[k]
			lenM := s.strips[q.strip].lenM
			q.wayLo, q.wayHi = OnWay(p, at, at+lenM)
			at += lenM
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
	if f, some := makeFlow(&q); some {
		s.flows = append(s.flows, f)
		s.addLine(l, lane{edge: -1})
	}
}

// addLine adds a line's lanes with the last flow, and its bends.
func (s *Streams) addLine(l plane.Polyline, proto lane) {
	if s.stripOf == nil {
		s.stripOf = map[uint64]int32{}
	}
	proto.flow = int32(len(s.flows) - 1)
	var t plane.Point
	for k := 1; k < len(l); k++ {
		d := l[k-1].DistanceM(l[k])
		if d == 0 {
			continue
		}
		before := t
		t = l[k].Sub(l[k-1]).Mul(1 / d)
		if proto.goesOn {
			s.bend(l[k-1], &proto, before.Mul(-1), t)
		} else {
			s.leave(l[k-1], &proto, t)
		}
		proto.strip, proto.back = s.strip(l[k-1], l[k], t, d)
		s.lanes = append(s.lanes, proto)
		proto.goesOn = true
	}
	if proto.goesOn {
		s.leave(l[len(l)-1], &proto, t.Mul(-1))
	}
}

// strip is the number of the strip between two points, a new one if it is not there
// yet, and whether it is there the other way round.
func (s *Streams) strip(a, b, t plane.Point, lenM float64) (i int32, back bool) {
	if back = b.X < a.X || b.X == a.X && b.Y < a.Y; back {
		a, b = b, a
	}
	key := mixed(a, b)
	if i, known := s.stripOf[key]; known && s.strips[i].a == a && s.strips[i].end == b {
		return i, back
	}
	if back {
		t = t.Mul(-1)
	}
	i = int32(len(s.strips))
	s.stripOf[key] = i
	s.strips = append(s.strips, strip{a: a, end: b, t: t, lenM: lenM, marks: int32(max(1, math.Round(lenM/markM)))})
	return i, back
}

// mixed is a number made of all bits of points. The factor is 2^64 over the golden ratio.
func mixed(points ...plane.Point) (h uint64) {
	for _, p := range points {
		for _, v := range [2]float64{p.X, p.Y} {
			h = (h ^ math.Float64bits(v)) * 0x9E3779B97F4A7C15
			h ^= h >> 32
		}
	}
	return h
}

// Seal makes the index; nothing may be added after it.
func (s *Streams) Seal() {
	s.stripOf = nil
	s.laneAt, s.laneOf = grouped(len(s.strips), len(s.lanes), func(i int32) int32 { return s.lanes[i].strip })
	segs, of := make([]plane.Segment, len(s.strips)), []int32{}
	for i := range s.strips {
		of = of[:0]
		for _, k := range s.lanesOf(int32(i)) {
			of = append(of, s.lanes[k].flow)
		}
		s.strips[i].flow = s.sum(of)
		segs[i] = plane.Segment{A: s.strips[i].a, B: s.strips[i].end, Mask: 1}
	}
	s.index = plane.NewIndex(segs, StreamCellM)
	s.sealJoints()
	s.sums = nil
}

// grouped lists n things by group, in their order: those of group g are
// of[at[g]:at[g+1]].
func grouped(groups, n int, group func(i int32) int32) (at, of []int32) {
	at, of = make([]int32, groups+2), make([]int32, n)
	for i := range int32(n) {
		at[group(i)+2]++
	}
	for g := range groups {
		at[g+2] += at[g+1]
	}
	for i := range int32(n) {
		k := &at[group(i)+1] // where the next one of the group goes
		of[*k] = i
		*k++
	}
	return at[:groups+1], of
}

// lanesOf are the lanes of a strip.
func (s *Streams) lanesOf(strip int32) []int32 { return s.laneOf[s.laneAt[strip]:s.laneAt[strip+1]] }

// sum is what runs by several flows together: one flow for all strips and ways that
// carry the same.
func (s *Streams) sum(of []int32) int32 {
	if len(of) == 1 {
		return of[0]
	}
	key := [3]int32{-1, -1, -1}
	known := copy(key[:], of) == len(of)
	if i, made := s.sums[key]; made && known {
		return i
	}
	var sum flow
	for _, i := range of {
		sum.add(&s.flows[i])
	}
	i := int32(len(s.flows))
	s.flows = append(s.flows, sum)
	if known {
		if s.sums == nil {
			s.sums = map[[3]int32]int32{}
		}
		s.sums[key] = i
	}
	return i
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
		n := newNearer(g, t, s)
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
	g    *network.Graph
	t    *Terrain
	st   *Streams
	s    Sampler
	bins [exposure.PatternCount]exposure.Bins

	// What may be met from a run of samples.
	found  []int32 // strips
	near   []nearby
	partly []flow // of strips of which a lane is the edge's own way
	own    own
	nearOf []int32 // by strip: index into near, -1 for none
	links  []link
	turns  []turn
	joints []int32
	walls  []plane.Segment
	walled []int32
	isWall []uint64 // a bit for each piece of the terrain

	eye  plane.Eye // at the sample
	dots []float64
}

// nearby is a strip in reach of a run of samples without what is the edge's own way.
type nearby struct {
	mid, t     plane.Point
	halfM      float64 // of its length
	halfM2     float64 // its square, a hair more
	reachM2    float64 // square of how far the middle may be if anything of it counts
	flow       *flow
	paces      uint32 // of the flow
	strip      int32
	marks      int32
	head, tail sight // of its first and last mark
}

// newNearby is a strip with what runs on it.
func newNearby(i int32, p *strip, f *flow) nearby {
	half := p.lenM / 2
	return nearby{mid: p.a.Add(p.t.Mul(half)), t: p.t, halfM: half, halfM2: half * half * (1 + 1e-12), reachM2: (NearM + half) * (NearM + half), flow: f, paces: f.paces, strip: i, marks: p.marks}
}

func newNearer(g *network.Graph, t *Terrain, st *Streams) *nearer {
	n := &nearer{g: g, t: t, st: st, s: t.Sampler(g), nearOf: make([]int32, len(st.strips)), isWall: make([]uint64, t.lines.Len()/64+1)}
	for i := range n.nearOf {
		n.nearOf[i] = -1
	}
	return n
}

// edge fills the bins with rates times metres and gives the metres.
func (n *nearer) edge(e int32) (totalM float64) {
	n.bins = [exposure.PatternCount]exposure.Bins{}
	all := n.s.Samples(e)
	for len(all) > 0 {
		run := all[:min(together, len(all))]
		all = all[len(run):]
		box := samplesBox(run)
		n.find(box.Grown(NearM))
		n.reach(e)
		n.turn(e, box.Grown(glimpseM))
		n.wall(box.Grown(NearM))
		n.link()
		for _, i := range n.found {
			n.nearOf[i] = -1
		}
		totalM += n.walk(run)
	}
	return totalM
}

// find looks for the strips whose box touches another one, each once.
func (n *nearer) find(box plane.Box) {
	n.found = n.found[:0]
	for listed := range n.st.index.Listed(box, 1) {
		for _, i := range listed {
			p := &n.st.strips[i]
			if n.nearOf[i] >= 0 || max(p.a.X, p.end.X) < box.Min.X || min(p.a.X, p.end.X) > box.Max.X ||
				max(p.a.Y, p.end.Y) < box.Min.Y || min(p.a.Y, p.end.Y) > box.Max.Y {
				continue
			}
			n.nearOf[i] = 0
			n.found = append(n.found, i)
		}
	}
}

// reach makes the strips that were found ready to be met from an edge: without the
// lanes that are the edge itself.
func (n *nearer) reach(e int32) {
	n.near, n.partly = n.near[:0], slices.Grow(n.partly[:0], len(n.found))
	n.own = own{edge: e, parts: n.g.Parts[n.g.PartAt[e]:n.g.PartAt[e+1]], lengthM: float64(n.g.LengthM[e])}
	for _, i := range n.found {
		p, lanes := &n.st.strips[i], n.st.lanesOf(i)
		others := 0
		for _, k := range lanes {
			if !n.own.is(&n.st.lanes[k]) {
				others++
			}
		}
		n.nearOf[i] = -1
		if others == 0 {
			continue
		}
		f := &n.st.flows[p.flow]
		if others < len(lanes) {
			n.partly = append(n.partly, flow{}) // never moved: there is room
			f = &n.partly[len(n.partly)-1]
			for _, k := range lanes {
				if l := &n.st.lanes[k]; !n.own.is(l) {
					f.add(&n.st.flows[l.flow])
				}
			}
		}
		n.nearOf[i] = int32(len(n.near))
		n.near = append(n.near, newNearby(i, p, f))
	}
}

// own is the way that an edge itself is.
type own struct {
	edge    int32
	parts   []network.Part
	lengthM float64
}

// is tells whether a lane is that way: of the walker's network by edge, of others by the
// run of their OSM way.
func (o *own) is(l *lane) bool {
	return l.edge == o.edge || l.edge < 0 && onSameWay(o.parts, o.lengthM, l)
}

// wall gathers what may stop the view of a run, each piece once.
func (n *nearer) wall(box plane.Box) {
	n.walled, n.walls = n.walled[:0], n.walls[:0]
	for listed := range n.t.lines.Listed(box, stopsView) {
		for _, i := range listed {
			bit := uint64(1) << (i & 63)
			if n.isWall[i>>6]&bit != 0 {
				continue
			}
			if w := n.t.lines.Segment(i); w.Mask&stopsView != 0 {
				n.isWall[i>>6] |= bit
				n.walled, n.walls = append(n.walled, i), append(n.walls, w)
			}
		}
	}
	for _, i := range n.walled {
		n.isWall[i>>6] = 0
	}
}

// walk meets from each sample of a run what is in reach of it, and gives the metres.
// Glimpses are looked for at every second sample, which stands for the next one too:
// they are a small part, and dear.
func (n *nearer) walk(run []sample) (totalM float64) {
	for i := range run {
		s := &run[i]
		totalM += s.WeightM
		if n.g.Parts[s.Part].Flags&osmdata.FlagTunnel != 0 {
			continue
		}
		n.look(s.At)
		n.meetAll(s)
		if i%2 == 0 {
			n.glimpses(s, glimpsedM(run, i))
		}
	}
	return totalM
}

// look moves the eye to a sample.
func (n *nearer) look(from plane.Point) {
	n.eye.Open(from, NearM)
	for i := range n.walls {
		n.eye.Wall(n.walls[i].A, n.walls[i].B)
	}
}

// onSameWay tells whether a lane of another network runs where one of the parts does.
func onSameWay(parts []network.Part, lengthM float64, l *lane) bool {
	for i := range parts {
		if parts[i].Street != l.way {
			continue
		}
		to := lengthM
		if i+1 < len(parts) {
			to = float64(parts[i+1].FromM)
		}
		lo, hi := OnWay(&parts[i], float64(parts[i].FromM), to)
		if lo < l.wayHi-OverlapM && l.wayLo < hi-OverlapM {
			return true
		}
	}
	return false
}

// meetAll adds what the movers of all strips do to one sample.
func (n *nearer) meetAll(s *sample) {
	for k := range n.near {
		p := &n.near[k]
		if r := p.mid.Sub(s.At); r.Dot(r) <= p.reachM2 {
			n.meet(s, p, r)
		}
	}
}

// meet adds what the movers of one strip, whose middle lies r from it, do to one sample.
func (n *nearer) meet(s *sample, p *nearby, r plane.Point) {
	const v = exposure.StoredWalkerMPS
	along, ahead, c := r.Dot(p.t), v*r.Dot(s.dir), s.dir.Dot(p.t)
	for m := p.paces; m != 0; m &= m - 1 {
		pace := &paces[first(m)]
		u := pace.speedMPS
		// They come closest where (mid + x t - at) . w = 0 with w = u t - v dir.
		if w, xw := u-v*c, ahead-u*along; xw*xw <= p.halfM2*(w*w) {
			n.meetAt(s, p, r, xw/w, pace, c)
		}
		// And the same with -u.
		if w, xw := u+v*c, ahead+u*along; xw*xw <= p.halfM2*(w*w) {
			n.meetAt(s, p, r, -xw/w, pace, -c)
		}
	}
}

// meetAt adds those of one speed and direction who come closest x from the middle of a
// strip, c being the cosine between their way and the walk.
func (n *nearer) meetAt(s *sample, p *nearby, r plane.Point, x float64, pace *pace, c float64) {
	to := r.Add(p.t.Mul(x))
	m2 := to.Dot(to)
	// A place on the border of two strips belongs to one.
	if m2 > NearM*NearM || !(x >= -p.halfM && x < p.halfM) || !n.eye.Sees(s.At.Add(to)) {
		return
	}
	rate := exposure.Approaches(1, pace.speedMPS, exposure.StoredWalkerMPS, c)
	n.count(pace, p.flow, s.WeightM*rate, exposure.AtSquare(m2))
}

// count adds parties of the streams of one speed, by the metres of the walk and how
// many there are for each of one direction.
func (n *nearer) count(of *pace, f *flow, weight float64, at exposure.Approach) {
	for _, p := range of.of {
		n.bins[p].Add(weight*f.halfPS[p], at)
	}
}
