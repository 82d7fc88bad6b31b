package escape

import (
	"math"
	"slices"

	"wideberth/exposure"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
	"wideberth/routing/reach"
)

// Threat is a trigger that is there now: where it is, how fast it comes, and what
// it is.
type Threat struct {
	At       plane.Point
	SpeedMPS float64 // along the ways towards the handler; 0 stands
	Kind     exposure.Kind
}

// WayOut is the best there is to do about a threat at one pace.
type WayOut struct {
	PaceMPS  float64
	Means    Means
	Turn     network.Turn   // first move, seen by somebody who faces the threat
	Line     plane.Polyline // to walk; the start alone for who steps aside at once
	Aside    string         // "left" or "right", as one walks or, with nothing to walk, as one faces the threat; "" for none
	AsideM   float64        // how far
	Stand    plane.Point    // where it ends: the end of the line, or aside of it
	Seconds  float64        // until the working distance is reached or it is out of sight, and stays so; of Between until one is there; NoneInReach
	PresentM float64        // distance to the threat now
	NearestM float64        // least distance on the way, over what the threat likely does
	EndsM    float64        // distance then
	Hidden   bool           // ends out of its sight
	Chance   float64        // that the threat does what this way allows for
	Kept     float64        // share of the present distance that is never fallen below
}

// Means is what a way out rests on.
type Means string

// The means.
const (
	Stay       Means = "stay"        // it is far enough, or out of sight
	GoBack     Means = "turn_back"   // away from it along the way
	SideStreet Means = "side_street" // round a corner, out of sight
	StepAside  Means = "aside"       // off the line, and let it pass
	WalkOn     Means = "walk_on"     // past it: it is not on the way
	Between    Means = "between"     // a loose dog: to what can be put between
	Stand      Means = "stand"       // a loose dog, and nothing to put between: food on the ground, call out
)

// NoneInReach is a number of seconds where there is no such place in reach.
const NoneInReach = -1

// Limits of a way out. The rule that a plan must hold with nine in ten of what
// the threat may do, and the shares of the present distance that are tried, come
// from a measured prototype.
const (
	wayOutHorizonS = 120
	wayOutCertain  = 0.9
	clearForS      = 10 // out of sight for an instant is not out of sight
	firstMoveS     = 10 // so long no way leads up to the threat
	MostAsideM     = 40
	leastAsideM    = 1
	asideUntilS    = 30 // asides later on the way are no answer to what is here now
	labelsPerNode  = 7
	substepS       = 2
)

var keptShares = []float64{.9, .8, .7, .6, .5, .4, .3, .2, .1}

// WaysOut answers for a calm pace, the dog's own, and a brisk one: where to go
// from a place so that a threat comes no nearer than it must. There is always an
// answer; its numbers say how good it is.
//
// Nothing outruns a loose dog that comes: then it is the way to what can be put between,
// or none, and AidFrom says what to do.
func WaysOut(land *reach.Land, at plane.Point, threat Threat, dog *exposure.Dog) (calm, brisk WayOut, err error) {
	e, err := escapeFrom(land, at, threat, dog)
	if err != nil {
		return calm, brisk, err
	}
	if threat.looseDog() {
		aid, err := AidFrom(land, at, threat)
		if err != nil {
			return calm, brisk, err
		}
		return aid.outrun(e.start, threat, dog.PaceMPS()), aid.outrun(e.start, threat, math.Max(briskMPS, dog.PaceMPS())), nil
	}
	return e.best(dog.PaceMPS()), e.best(math.Max(briskMPS, dog.PaceMPS())), nil
}

// escapeFrom prepares the search from a place.
func escapeFrom(land *reach.Land, at plane.Point, threat Threat, dog *exposure.Dog) (*flight, error) {
	n, start, err := netAt(land, at)
	if err != nil {
		return nil, err
	}
	return newFlight(land, n, start, threat, dog), nil
}

// netAt is the net round a place and where on it that place is.
func netAt(land *reach.Land, at plane.Point) (*Net, plane.Point, error) {
	place, err := land.Place(at)
	if err != nil {
		return nil, plane.Point{}, err
	}
	r, err := land.Around(place, nil, 2*wayOutHorizonS*briskMPS)
	if err != nil {
		return nil, plane.Point{}, err
	}
	n := NewNet(land, r)
	return n, n.At[r.Door], nil
}

// escape prepares the search for a way out of what a threat may do.
func newFlight(land *reach.Land, n *Net, start plane.Point, threat Threat, dog *exposure.Dog) *flight {
	need := dog.Need(threat.Kind).WorkingM
	if need == 0 {
		need = dog.FarthestM()
	}
	e := &flight{land: land, net: n, needM: need, threat: threat, start: start}
	e.scenarios = n.foresee(threat, e.start)
	e.presentM = e.start.DistanceM(threat.At)
	return e
}

// Net is a reach cut into short pieces, so that a place on it is a vertex.
type Net struct {
	At    []plane.Point
	First []int32
	Head  []int32
	Twin  []int32
	Edge  []int32   // by arc: the network's edge
	With  []bool    // by arc: walked with the edge's geometry
	FromM []float32 // by arc: where along the edge it begins
}

// StepM is the longest piece of a Net.
const StepM = 10

// newWayNet cuts a reach up; its first vertices are the reach's own.
func NewNet(land *reach.Land, r *reach.Reach) *Net {
	n := &Net{At: make([]plane.Point, r.Star.VertexCount())}
	type pair struct {
		a, b, edge int32
		with       bool
		fromM, toM float32
	}
	var pairs []pair
	for a := range r.Piece {
		t := r.Star.Twin[a]
		if int32(a) > t {
			continue
		}
		c := r.Piece[a]
		line := land.LineOf(c.Directed)
		tail, head := r.Star.Head[t], r.Star.Head[a]
		n.At[tail], n.At[head] = line[0], line[len(line)-1]
		long := line.LengthM()
		steps := max(1, int(math.Ceil(long/StepM)))
		last, lastM := tail, c.FromM
		for i := 1; i <= steps; i++ {
			v := head
			if i < steps {
				v = int32(len(n.At))
				n.At = append(n.At, line.At(long*float64(i)/float64(steps)))
			}
			nextM := c.FromM + (c.ToM-c.FromM)*float32(i)/float32(steps)
			pairs = append(pairs, pair{last, v, c.Edge, !c.Against(), lastM, nextM})
			last, lastM = v, nextM
		}
	}
	n.First = make([]int32, len(n.At)+1)
	for _, q := range pairs {
		n.First[q.a+1]++
		n.First[q.b+1]++
	}
	for v := range n.At {
		n.First[v+1] += n.First[v]
	}
	next := append([]int32(nil), n.First[:len(n.At)]...)
	m := 2 * len(pairs)
	n.Head, n.Twin, n.Edge, n.With, n.FromM = make([]int32, m), make([]int32, m), make([]int32, m), make([]bool, m), make([]float32, m)
	put := func(v, w, edge int32, with bool, fromM float32) (arc int32) {
		arc = next[v]
		n.Head[arc], n.Edge[arc], n.With[arc], n.FromM[arc] = w, edge, with, fromM
		next[v]++
		return arc
	}
	for _, q := range pairs {
		f, b := put(q.a, q.b, q.edge, q.with, q.fromM), put(q.b, q.a, q.edge, !q.with, q.toM)
		n.Twin[f], n.Twin[b] = b, f
	}
	return n
}

// scenario is one thing the threat may do: where it is at each second, straight
// in between.
type scenario struct {
	Chance float64
	At     [wayOutHorizonS + 1]plane.Point
}

// where is the place of the threat s seconds from now.
func (c *scenario) where(s float64) plane.Point {
	i := min(int(s), wayOutHorizonS-1)
	return c.At[i].Add(c.At[i+1].Sub(c.At[i]).Mul(s - float64(i)))
}

// nearestM is how near the threat comes to who walks straight from one place to
// another meanwhile: the closest approach of two straight motions in every second.
func (c *scenario) nearestM(from, to plane.Point, fromS, toS float64) float64 {
	least := math.Inf(1)
	me, s := from, fromS
	for {
		nextS := math.Min(math.Floor(s)+1, toS)
		next := to
		if nextS < toS {
			next = from.Add(to.Sub(from).Mul((nextS - fromS) / (toS - fromS)))
		}
		near, _ := plane.NearestOnSegment(plane.Point{}, me.Sub(c.where(s)), next.Sub(c.where(nextS)))
		least = math.Min(least, near.NormM())
		if nextS >= toS {
			return least
		}
		me, s = next, nextS
	}
}

// Bounds of what is foreseen.
const (
	mostScenarios = 16   // the likeliest ones
	leastChance   = 0.02 // rarer branches are left out
	onWayM        = 30   // farther from any way the threat is off the network
	turnLove      = 2.0  // weight exp(2 cos turn): nearly always straight on
)

// foresee lists what a threat may do. One that stands stays; one that comes walks
// the ways towards the handler, does not turn about, and parts at junctions by
// the angle of turn.
func (n *Net) foresee(threat Threat, me plane.Point) []scenario {
	var s scenario
	s.Chance = 1
	for i := range s.At {
		s.At[i] = threat.At
	}
	if threat.SpeedMPS <= 0 {
		return []scenario{s}
	}
	v, ok := n.nearest(threat.At)
	if !ok {
		d := me.Sub(threat.At)
		for i := range s.At {
			s.At[i] = threat.At.Add(d.Mul(threat.SpeedMPS * float64(i) / math.Max(d.NormM(), 1e-9)))
		}
		return []scenario{s}
	}
	first := n.First[v]
	if first == n.First[v+1] {
		return []scenario{s}
	}
	toMe := n.distances(me)
	for a := n.First[v]; a < n.First[v+1]; a++ {
		if toMe[n.Head[a]] < toMe[n.Head[first]] {
			first = a
		}
	}
	f := forecast{n: n, speed: threat.SpeedMPS, open: []course{{s, v, first, 0, threat.At}}}
	for len(f.open) > 0 && len(f.done) < mostScenarios {
		f.follow(f.likeliest())
	}
	return f.done
}

// nearest is the vertex nearest to a place.
func (n *Net) nearest(at plane.Point) (best int32, ok bool) {
	bestM := float64(onWayM)
	for v := range n.At {
		if d := n.At[v].DistanceM(at); d < bestM {
			best, bestM, ok = int32(v), d, true
		}
	}
	return best, ok
}

// distances from every vertex to the one nearest to a place, in metres, by
// relaxing until nothing changes: the net is small and its pieces alike.
func (n *Net) distances(to plane.Point) []float64 {
	dist := make([]float64, len(n.At))
	for v := range dist {
		dist[v] = math.Inf(1)
	}
	v, _ := n.nearest(to)
	dist[v] = 0
	queue := []int32{v}
	for len(queue) > 0 {
		v, queue = queue[0], queue[1:]
		for a := n.First[v]; a < n.First[v+1]; a++ {
			w := n.Head[a]
			if d := dist[v] + n.At[v].DistanceM(n.At[w]); d < dist[w]-1e-9 {
				dist[w] = d
				queue = append(queue, w)
			}
		}
	}
	return dist
}

// forecast walks a threat along the net, the likeliest course first, so that what
// it comes to first are the likeliest scenarios.
type forecast struct {
	n     *Net
	speed float64
	open  []course
	done  []scenario
}

// course is a scenario as far as it is followed: about to walk an arc out of a
// vertex, from a place at a time.
type course struct {
	scenario
	v, arc int32
	atS    float64
	from   plane.Point
}

// likeliest takes the likeliest course that is open.
func (f *forecast) likeliest() course {
	best := 0
	for i := range f.open {
		if f.open[i].Chance > f.open[best].Chance {
			best = i
		}
	}
	c := f.open[best]
	f.open[best] = f.open[len(f.open)-1]
	f.open = f.open[:len(f.open)-1]
	return c
}

// follow walks a course to where it ends or parts.
func (f *forecast) follow(c course) {
	for {
		w := f.n.Head[c.arc]
		to := f.n.At[w]
		endS := c.atS + c.from.DistanceM(to)/f.speed
		for i := int(math.Ceil(c.atS)); i <= wayOutHorizonS && float64(i) <= endS; i++ {
			c.At[i] = c.from.Add(to.Sub(c.from).Mul((float64(i) - c.atS) / math.Max(endS-c.atS, 1e-9)))
		}
		next, weights, sum := f.n.onward(w, c.v, to.Sub(f.n.At[c.v]))
		if endS >= wayOutHorizonS || len(next) == 0 {
			for i := int(endS) + 1; i <= wayOutHorizonS; i++ {
				c.At[i] = to
			}
			f.done = append(f.done, c.scenario)
			return
		}
		c.v, c.atS, c.from = w, endS, to
		if len(next) == 1 {
			c.arc = next[0]
			continue
		}
		f.part(c, next, weights, sum)
		return
	}
}

// part opens a course for every arc that a course may go on by; rare ones are
// left out, unless none is likelier.
func (f *forecast) part(c course, next []int32, weights []float64, sum float64) {
	likely := slices.Index(weights, slices.Max(weights))
	for i, a := range next {
		branch := c
		branch.arc, branch.Chance = a, c.Chance*weights[i]/sum
		if i == likely || branch.Chance >= leastChance {
			f.open = append(f.open, branch)
		}
	}
}

// onward lists the arcs out of a vertex that do not lead back, with their weights.
func (n *Net) onward(v, from int32, heading plane.Point) (next []int32, weights []float64, sum float64) {
	for a := n.First[v]; a < n.First[v+1]; a++ {
		if n.Head[a] == from {
			continue
		}
		d := n.At[n.Head[a]].Sub(n.At[v])
		w := math.Exp(turnLove * heading.Dot(d) / math.Max(heading.NormM()*d.NormM(), 1e-9))
		next, weights, sum = append(next, a), append(weights, w), sum+w
	}
	return next, weights, sum
}
