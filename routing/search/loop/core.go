package loop

import (
	"fmt"
	"math"
	"slices"
	"wideberth/routing/search"
)

// chain is a run of edges between two vertices where ways meet, walked as one.
type chain struct {
	from, to    int32 // local vertices of the reach
	first, size int32 // its local arcs in loopCore.member, from -> to
}

// loopCore is the reach with dead ends stripped, chains contracted and the
// forced stem cut off: what is left to decide. Vertex 0 is the root, where the
// stem ends; times include the stem, so that a walk starts at the root at
// startS with the cost startCost.
type loopCore struct {
	p    *Problem
	r    *loopReach
	open bool // the walk may end anywhere and is then walked home the way it came

	chain  []chain
	member []int32 // local arcs of the reach
	stem   []int32 // local arcs from the door to the root

	first     []int32 // arcs out of v: first[v] .. first[v+1]-1
	arc       []coreArc
	cost      []float64 // per slice and arc: expected reactions when walked within that slice
	least     []float64 // per slice and arc: every edge at its least in the slices up to that one
	byRun     []int32   // the core arc of chain c walked forward is byRun[2c], backward byRun[2c+1]
	bridge    []bool    // per chain, after findBridges
	fine      []float64 // per chain: what is added to every pass, nil for nothing
	longS     float64   // the longest time on any arc
	directed  bool      // some time or cost differs between the two directions
	homeS     []float64 // shortest time to the root, per vertex
	outS      []float64 // shortest time from the root, per vertex
	turn      []float64 // price of an about-turn, per vertex; +Inf for none
	leastTurn float64   // the lowest of them
	turns     bool      // there is a vertex where a walk can turn

	minS, maxS    float64 // window on the clock at which the walk is back at the root
	startS        float64
	startCost     float64
	stemHomeS     float64
	stemSurcharge float64
	surchargePerS float64

	number []int32 // core vertex of each local vertex, or -1
	weight []float64
	rates  []rateShare
	queue  search.Queue
	low    []int32 // scratch of the search for bridges
	visit  []int32
}

// coreArc is one direction of a contracted chain. A barred direction takes
// forever, so that every search leaves it alone without asking.
type coreArc struct {
	head, twin int32
	run        int32 // 2*chain + direction
	lasting    bool  // may be walked twice
	timeS      float64
	surcharge  float64 // price when its twin has been walked before
}

func (c *loopCore) vertexCount() int { return len(c.first) - 1 }

// build cuts the reach down to a core. It reports false when no edge is left,
// which proves that no closed walk exists within the limit.
func (c *loopCore) build(p *Problem, r *loopReach) (bool, error) {
	c.p, c.r, c.fine = p, r, nil
	if !c.settle() {
		return false, nil
	}
	switch {
	case c.surchargePerS >= 0:
	case p.Repeat != nil:
		c.surchargePerS = *p.Repeat
	default:
		c.surchargePerS = p.surcharge() * c.medianRate()
	}
	c.cutStem()
	if err := c.lay(); err != nil {
		return false, err
	}
	c.fromStem()
	return !math.IsInf(c.startS+c.stemHomeS, 1), nil
}

// settle strips, contracts and drops chains too long to be walked within the
// window, until nothing changes.
func (c *loopCore) settle() bool {
	if c.open {
		c.r.countEnds()
		c.contract()
		return c.r.deg[0] > 0
	}
	for {
		c.r.strip()
		if c.r.deg[0] == 0 {
			return false
		}
		c.contract()
		if !c.dropLong() {
			return true
		}
	}
}

// contract joins the edges that meet at vertices with no choice into chains.
func (c *loopCore) contract() {
	r := c.r
	c.chain, c.member = c.chain[:0], c.member[:0]
	for _, u := range r.order {
		if !c.junction(u) {
			continue
		}
		for _, a := range r.arcsOut(u) {
			if r.gone[a>>1] {
				continue
			}
			first := int32(len(c.member))
			end := c.follow(a)
			// Both ends lead along every chain; the arc with the smaller number keeps it.
			if last := c.member[len(c.member)-1]; a > last^1 {
				c.member = c.member[:first]
				continue
			}
			c.chain = append(c.chain, chain{u, end, first, int32(len(c.member)) - first})
		}
	}
}

// junction says where chains end. A walk that may end anywhere can stop and turn
// at every vertex.
func (c *loopCore) junction(v int32) bool {
	return c.open || v == 0 || c.r.deg[v] > 2 || c.r.turnable(v)
}

// follow appends the arcs of the chain that starts with a and returns its end.
func (c *loopCore) follow(a int32) int32 {
	r := c.r
	for {
		c.member = append(c.member, a)
		v := r.head[a]
		if c.junction(v) {
			return v
		}
		for _, b := range r.arcsOut(v) {
			if b != a^1 && !r.gone[b>>1] {
				a = b
				break
			}
		}
	}
}

// runS is the time along a chain, forward or backward.
func (c *loopCore) runS(k *chain, back int32) float64 {
	t := 0.0
	for _, a := range c.member[k.first : k.first+k.size] {
		t += c.r.timeS[a^back]
	}
	return t
}

// dropLong removes chains that no closed walk within the limit can contain.
func (c *loopCore) dropLong() bool {
	dropped := false
	for i := range c.chain {
		k := &c.chain[i]
		fastest := min(c.runS(k, 0), c.runS(k, 1))
		if c.r.distS[k.from]+fastest+c.r.distS[k.to] > c.p.MaxS+windowSlackS {
			c.drop(k)
			dropped = true
		}
	}
	return dropped
}

func (c *loopCore) drop(k *chain) {
	for _, a := range c.member[k.first : k.first+k.size] {
		c.r.gone[a>>1] = true
	}
}

// cutStem takes the chain that every closed walk has to walk out and home. Where
// a walk can turn at the end of that chain it stays: the walk may be that alone.
func (c *loopCore) cutStem() {
	c.stem = c.stem[:0]
	if c.open || c.r.deg[0] != 1 {
		return
	}
	i := slices.IndexFunc(c.chain, func(k chain) bool { return k.from == 0 || k.to == 0 })
	k := c.chain[i]
	if c.r.turnable(k.from + k.to) { // one of them is the door, 0
		return
	}
	c.stem = append(c.stem, c.member[k.first:k.first+k.size]...)
	if k.from != 0 {
		slices.Reverse(c.stem)
		for j := range c.stem {
			c.stem[j] ^= 1
		}
	}
	c.chain = append(c.chain[:i], c.chain[i+1:]...)
}

// root is the local vertex where the stem ends.
func (c *loopCore) root() int32 {
	if len(c.stem) == 0 {
		return 0
	}
	return c.r.head[c.stem[len(c.stem)-1]]
}

// lay numbers the vertices from the root outward and lays the arcs out.
func (c *loopCore) lay() error {
	c.numberVertices()
	for i := range c.chain {
		c.first[c.number[c.chain[i].from]+1]++
		c.first[c.number[c.chain[i].to]+1]++
	}
	for v := range c.vertexCount() {
		c.first[v+1] += c.first[v]
	}
	m := 2 * len(c.chain)
	c.arc, c.byRun = sized(c.arc, m), sized(c.byRun, m)
	c.cost, c.least = sized(c.cost, m*len(c.p.Cost)), sized(c.least, m*len(c.p.Cost))
	c.visit = append(c.visit[:0], c.first...)
	for i := range c.chain {
		for dir := range int32(2) {
			c.place(int32(i), dir)
		}
	}
	for i := range c.arc {
		c.arc[i].twin = c.byRun[c.arc[i].run^1]
	}
	if err := c.price(); err != nil {
		return err
	}
	c.directed = c.differs()
	if c.p.Strict {
		c.findBridges()
		for a := range c.arc {
			c.arc[a].lasting = c.bridge[c.arc[a].run>>1]
		}
	}
	return nil
}

func (c *loopCore) numberVertices() {
	c.number = sized(c.number, len(c.r.vertex))
	for v := range c.number {
		c.number[v] = -1
	}
	for i := range c.chain {
		c.number[c.chain[i].from], c.number[c.chain[i].to] = 0, 0
	}
	root := c.root()
	n := int32(1)
	for _, v := range c.r.order {
		if v != root && c.number[v] == 0 {
			c.number[v] = n
			n++
		}
	}
	c.first = cleared(c.first, int(n)+1)
	c.turn = sized(c.turn, int(n))
	c.leastTurn = math.Inf(1)
	for v, number := range c.number {
		if number >= 0 {
			c.turn[number] = c.r.turn[v]
			c.leastTurn = min(c.leastTurn, c.r.turn[v])
		}
	}
	c.turn[0] = c.r.turn[root]
	c.turns = !math.IsInf(c.leastTurn, 1)
	if c.open && c.p.Turn == nil {
		clear(c.turn) // turning once is what was asked for
		c.leastTurn = 0
	}
}

// place lays one direction of a chain among the arcs out of its tail.
func (c *loopCore) place(i, dir int32) {
	k := &c.chain[i]
	from, to := k.from, k.to
	if dir == 1 {
		from, to = to, from
	}
	tail := c.number[from]
	at := c.visit[tail]
	c.visit[tail]++
	t := c.runS(k, dir)
	if c.open {
		t += c.runS(k, 1-dir)
	}
	c.byRun[2*i+dir] = at
	c.arc[at] = coreArc{head: c.number[to], run: 2*i + dir, lasting: !c.open, timeS: t, surcharge: c.surchargePerS * t}
	if math.IsInf(t, 1) {
		c.arc[at].surcharge = 0
	}
}

// eachMember calls do for the arcs of the graph along a core arc.
func (c *loopCore) eachMember(a int32, do func(arc int32)) {
	run := c.arc[a].run
	k := &c.chain[run>>1]
	members := c.member[k.first : k.first+k.size]
	for i := range members {
		if run&1 == 0 {
			do(c.r.arc[members[i]])
		} else {
			do(c.r.arc[members[len(members)-1-i]^1])
		}
	}
}

// price sums the costs along every arc, slice by slice.
func (c *loopCore) price() error {
	for i := range c.chain {
		for dir := range int32(2) {
			if err := c.priceRun(&c.chain[i], dir, int(c.byRun[2*i+int(dir)])); err != nil {
				return err
			}
		}
	}
	return nil
}

// priceRun sums the costs along one direction of a chain. A walk may pass from
// one slice to the next within a chain, so the least is taken edge by edge.
func (c *loopCore) priceRun(k *chain, dir int32, at int) error {
	m := len(c.arc)
	for s := range c.p.Cost {
		c.cost[s*m+at], c.least[s*m+at] = 0, 0
	}
	for _, l := range c.member[k.first : k.first+k.size] {
		least := math.Inf(1)
		for s, cost := range c.p.Cost {
			x := float64(cost[c.r.arc[l^dir]])
			if !(x >= 0) || math.IsInf(x, 1) {
				return fmt.Errorf("%w: cost %g of arc %d in slice %d must be finite and not negative", ErrProblem, x, c.r.arc[l^dir], s)
			}
			if c.open {
				x += float64(c.p.Cost[c.p.sliceAt(c.homeClock(s))][c.r.arc[l^dir^1]])
			}
			least = min(least, x)
			c.cost[s*m+at] += x
			c.least[s*m+at] += least
		}
	}
	return nil
}

// differs says whether any direction of a chain takes or costs other than the
// other, or costs change with the clock, so that walking backwards matters.
func (c *loopCore) differs() bool {
	if len(c.p.ChangeS) > 0 {
		return true
	}
	for a := range c.arc {
		if k := &c.arc[a]; k.timeS != c.arc[k.twin].timeS || c.cost[a] != c.cost[k.twin] {
			return true
		}
	}
	return false
}

// outAndHome is the cost of an edge walked out from a clock on, and home by it
// on a walk of the least duration.
func (c *loopCore) outAndHome(a int32, clockS float64) float64 {
	x := 0.0
	c.eachMember(a, func(arc int32) {
		back := c.p.Graph.Twin[arc]
		x += c.p.costAt(arc, clockS) + c.p.costAt(back, c.p.MinS-clockS-float64(c.p.TimeS[back]))
	})
	return x
}

// homeClock is about when a walk there and back is on the way home where it was
// on the way out in slice s: as long before the end as that is after departure.
func (c *loopCore) homeClock(s int) float64 {
	from, to := 0.0, c.p.MinS/2
	if s > 0 {
		from = c.p.ChangeS[s-1]
	}
	if s < len(c.p.ChangeS) {
		to = min(to, c.p.ChangeS[s])
	}
	return c.p.MinS - (from+max(from, to))/2
}

// leastCosts is the least cost of each arc entered at or before a clock.
func (c *loopCore) leastCosts(clockS float64) []float64 {
	m := len(c.arc)
	s := c.p.sliceAt(clockS + c.longS)
	return c.least[s*m : s*m+m]
}

// costAt is the cost of a core arc entered at a clock, exact also where the
// clock passes from one slice to the next on the way.
func (c *loopCore) costAt(a int32, clockS float64) float64 {
	if len(c.p.ChangeS) == 0 {
		return c.cost[a]
	}
	if c.open {
		return c.outAndHome(a, clockS/2)
	}
	s := c.p.sliceAt(clockS)
	if s == len(c.p.ChangeS) || clockS+c.arc[a].timeS < c.p.ChangeS[s] {
		return c.cost[s*len(c.arc)+int(a)]
	}
	x := 0.0
	if c.fine != nil {
		x = c.fine[c.arc[a].run>>1]
	}
	c.eachMember(a, func(arc int32) {
		x += c.p.costAt(arc, clockS)
		clockS += float64(c.p.TimeS[arc])
	})
	return x
}

// fromStem sets the clock, cost and window at the root.
func (c *loopCore) fromStem() {
	c.startS, c.startCost, c.stemHomeS = 0, 0, 0
	for _, l := range c.stem {
		c.startCost += c.p.costAt(c.r.arc[l], c.startS)
		c.startS += c.r.timeS[l]
		c.stemHomeS += c.r.timeS[l^1]
	}
	c.stemSurcharge = 0
	if !math.IsInf(c.stemHomeS, 1) {
		c.stemSurcharge = c.surchargePerS * c.stemHomeS
	}
	c.minS = c.p.MinS - c.stemHomeS - windowSlackS
	c.maxS = c.p.MaxS - c.stemHomeS + windowSlackS
	c.weight, c.longS = c.weight[:0], 0
	for i := range c.arc {
		c.weight = append(c.weight, c.arc[i].timeS)
		if t := c.arc[i].timeS; !math.IsInf(t, 1) {
			c.longS = max(c.longS, t)
		}
	}
	c.homeS = c.distances(c.homeS, c.weight, true, 0)
	if c.open {
		clear(c.homeS)
	}
	c.outS = c.distances(c.outS, c.weight, false, 0)
}

// stemHomeCost is the cost of the stem when left at the root at a clock,
// surcharge included.
func (c *loopCore) stemHomeCost(clockS float64) float64 {
	x := c.stemSurcharge
	for i := len(c.stem) - 1; i >= 0; i-- {
		l := c.stem[i] ^ 1
		x += c.p.costAt(c.r.arc[l], clockS)
		clockS += c.r.timeS[l]
	}
	return x
}

// endCost is the cost of ending the walk proper at a vertex at a clock: home by
// the stem, or, where the walk may end anywhere, turning there.
func (c *loopCore) endCost(v int32, clockS float64) float64 {
	if c.open {
		return c.turn[v]
	}
	return c.stemHomeCost(clockS)
}

// leastEndCost is the least that endCost can be anywhere and at any clock.
func (c *loopCore) leastEndCost() float64 {
	if c.open {
		return c.leastTurn
	}
	return c.leastStemHomeCost()
}

// leastStemHomeCost is the least that the stem home can cost at any clock,
// surcharge included.
func (c *loopCore) leastStemHomeCost() float64 {
	x := c.stemSurcharge
	for _, l := range c.stem {
		least := math.Inf(1)
		for _, cost := range c.p.Cost {
			least = min(least, float64(cost[c.r.arc[l^1]]))
		}
		x += least
	}
	return x
}

// distances gives the least weight of any way from the root to each vertex, or
// home from each vertex to the root, on top of start.
func (c *loopCore) distances(into, weight []float64, home bool, start float64) []float64 {
	into = sized(into, c.vertexCount())
	for v := range into {
		into[v] = math.Inf(1)
	}
	into[0] = start
	c.queue.Reset()
	c.queue.Push(search.Pack(start, 0))
	for !c.queue.Empty() {
		e := c.queue.Pop()
		u := search.EntryID(e)
		if search.Pack(into[u], u) != e {
			continue
		}
		for a := c.first[u]; a < c.first[u+1]; a++ {
			w := a
			if home {
				w = c.arc[a].twin
			}
			if d := into[u] + weight[w]; d < into[c.arc[a].head] {
				into[c.arc[a].head] = d
				c.queue.Push(search.Pack(d, c.arc[a].head))
			}
		}
	}
	return into
}

// medianRate is the time-weighted median of cost per second over the edges left
// after stripping, each at the mean of its two directions, in the slice in
// force in the middle of the shortest walk allowed.
func (c *loopCore) medianRate() float64 {
	cost := c.p.Cost[c.p.sliceAt(c.p.MinS/2)]
	c.rates = c.rates[:0]
	for i := range c.chain {
		k := &c.chain[i]
		for _, l := range c.member[k.first : k.first+k.size] {
			c.rates = append(c.rates, shareOf(c.p.TimeS, cost, c.r.arc[l], c.r.arc[l^1]))
		}
	}
	return medianOf(c.rates)
}
