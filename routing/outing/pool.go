package outing

import (
	"context"
	"math"
	"slices"
	"time"

	"wideberth/exposure"
	"wideberth/osmdata/parallel"
	"wideberth/osmdata/plane"
	"wideberth/routing"
	"wideberth/routing/network"
	"wideberth/routing/reach"
	"wideberth/routing/search/loop"
)

// The shared pool: loops from one gate that suit many dogs and many lengths. One
// pool for all beats one for each dog: as good, and tables a tenth the size.
var poolShares = [...]float64{1, 0.85, 0.7, 0.55} // of a wished duration: shorter walks drop minutes where a dog would be dropped

const (
	poolRounds   = 3    // loops for one duration and weighting, each told to differ from those before
	poolViews    = 3    // weightings of the ground
	poolMerge    = 0.08 // durations nearer to each other than this share are one
	poolShortest = 5 * 60.0

	// The table grows with the square of the loops: sixty dogs of sixty wishes took
	// six minutes before these bounds.
	mostDurations = 20
	wishMerge     = 0.02 // wishes this near are one where there are more, doubled until they fit
	slotMinutes   = 30   // of the clock for which a loop's expected reactions are worked out
)

// ground is what an outing is planned on: the reach of the gate and what it costs
// each dog at each half hour.
type ground struct {
	p         *routing.Planner
	o         *Wish
	start     network.Place
	reach     *reach.Reach
	timeS     []float32        // per local arc
	barred    []bool           // arcs that the limits forbid some dog, nil if none
	barredFor [][]bool         // and each dog
	sums      []*exposure.Sums // per dog
	hazard    [][][]float32    // per dog, half hour and edge of the reach
}

// poolLoop is one loop of the pool.
type poolLoop struct {
	arcs      []int32
	shape     routing.Shape
	line      plane.Polyline
	atS       []float64 // nominal progress at each point of the line
	durationS float64
	holds     []float64 // progress at the quiet places to wait at, rising
	x         [][]float64
}

// newGround cuts out the reach of the gate and prices it for all dogs.
func newGround(ctx context.Context, p *routing.Planner, o *Wish) (*ground, error) {
	start, err := p.Land().Place(o.Gate)
	if err != nil {
		return nil, reach.About(err, "gate")
	}
	most := 0.0
	for i := range o.Dogs {
		most = max(most, o.Dogs[i].Minutes*60)
	}
	r, err := p.Land().Around(start, nil, most*(1+routing.DefaultLonger)*usualPaceMPS)
	if err != nil {
		return nil, err
	}
	g := &ground{p: p, o: o, start: start, reach: r, timeS: r.TimesS(usualPaceMPS)}
	if err := g.price(ctx); err != nil {
		return nil, err
	}
	return g, g.bar(ctx)
}

// clockSlots is the number of half hours that a walk of the outing may touch.
func (o *Wish) clockSlots() int { return int(o.Minutes)/slotMinutes + 1 }

// price works out the hazard of every edge for every dog and half hour.
func (g *ground) price(ctx context.Context) error {
	n := len(g.o.Dogs)
	g.sums, g.hazard = make([]*exposure.Sums, n), make([][][]float32, n)
	return parallel.For(ctx, n, func(i int) error {
		dog := g.dog(i)
		g.sums[i] = g.reach.SumsFor(&dog)
		g.hazard[i] = make([][]float32, g.o.clockSlots())
		for h := range g.hazard[i] {
			if err := ctx.Err(); err != nil {
				return err
			}
			at := g.o.Start.Add(time.Duration(h) * slotMinutes * time.Minute)
			g.hazard[i][h] = g.sums[i].Hazard(g.p.Land().Clock.At(at), g.o.Factors, nil)
		}
		return nil
	})
}

// dog is a dog at the pace of the outing.
func (g *ground) dog(i int) exposure.Dog {
	d := g.o.Dogs[i].Dog
	d.SpeedMPS = usualPaceMPS
	return d
}

// wish is what a dog's walk is planned and told by.
func (g *ground) wish(dog int, depart time.Time) routing.Wish {
	return routing.Wish{Shape: routing.Loop, From: g.o.Gate, Minutes: g.o.Dogs[dog].Minutes, Depart: depart, Dog: g.dog(dog), Limits: g.o.Limits, Factors: g.o.Factors}
}

// bar works out which arcs the limits forbid each dog at any time of the outing,
// and which they forbid some dog.
func (g *ground) bar(ctx context.Context) error {
	c := &reach.Prices{}
	for m := 0.0; m <= g.o.Minutes; m += reach.ClockStep.Minutes() {
		c.Moments = append(c.Moments, g.p.Land().Clock.At(g.o.Start.Add(routing.Seconds(60*m))))
	}
	g.barredFor = make([][]bool, len(g.o.Dogs))
	err := parallel.For(ctx, len(g.barredFor), func(i int) error {
		w := g.wish(i, g.o.Start)
		g.barredFor[i], _ = g.reach.Bars(&w.Limits, w.Asker(), c)
		return nil
	})
	for _, barred := range g.barredFor {
		if barred != nil && g.barred == nil {
			g.barred = make([]bool, len(barred))
		}
		for a, b := range barred {
			g.barred[a] = g.barred[a] || b
		}
	}
	return err
}

// allowed says that no limit keeps a dog off a loop.
func (g *ground) allowed(l *poolLoop, dog int) bool {
	barred := g.barredFor[dog]
	return barred == nil || !slices.ContainsFunc(l.arcs, func(a int32) bool { return barred[a] })
}

// views are the weightings that loops are searched under: the mean of all dogs,
// and the two dogs that see the ground most differently from it and each other.
func (g *ground) views() [][]float32 {
	each := make([][]float32, len(g.o.Dogs))
	mean := make([]float32, len(g.reach.Edges))
	mid := g.o.clockSlots() / 2
	for i := range each {
		each[i] = normed(g.hazard[i][mid])
		for e, x := range each[i] {
			mean[e] += x / float32(len(each))
		}
	}
	views := [][]float32{mean}
	for len(views) < poolViews {
		far, at := 0.0, -1
		for i := range each {
			d := math.Inf(1)
			for _, v := range views {
				d = min(d, gapOf(each[i], v))
			}
			if d > far {
				far, at = d, i
			}
		}
		if at < 0 {
			break
		}
		views = append(views, each[at])
	}
	return views
}

// normed is a vector with mean 1: dogs of all tempers weigh alike.
func normed(x []float32) []float32 {
	sum := 0.0
	for _, v := range x {
		sum += float64(v)
	}
	k := float32(float64(len(x)) / max(sum, 1e-12))
	out := make([]float32, len(x))
	for i, v := range x {
		out[i] = v * k
	}
	return out
}

func gapOf(a, b []float32) (sum float64) {
	for i := range a {
		sum += math.Abs(float64(a[i] - b[i]))
	}
	return sum
}

// durations are the lengths in seconds that the pool has loops of: every wish
// whole, and shares of it that are not near another already there. Where dogs wish
// for very many, near wishes share the shortest of them.
func (o *Wish) durations() []float64 {
	out := o.durationsMerged(0)
	for near := wishMerge; len(out) > mostDurations; near *= 2 {
		out = o.durationsMerged(near)
	}
	return out
}

// durationsMerged are the durations where wishes nearer to each other than a share
// are one.
func (o *Wish) durationsMerged(wishShare float64) (out []float64) {
	wishes := make([]float64, len(o.Dogs))
	for i := range o.Dogs {
		wishes[i] = o.Dogs[i].Minutes * 60
	}
	if wishShare > 0 {
		slices.Sort(wishes) // the shorter stays: a loop of it is too long for nobody
	}
	for _, share := range poolShares {
		for _, wish := range wishes {
			d := wish * share
			near := slices.ContainsFunc(out, func(x float64) bool {
				if share == 1 {
					return math.Abs(x-d) < 1 || math.Abs(x/d-1) < wishShare
				}
				return math.Abs(x/d-1) < max(poolMerge, wishShare)
			})
			if d >= poolShortest && !near {
				out = append(out, d)
			}
		}
	}
	slices.Sort(out)
	return out
}

// pool searches the loops of all durations and weightings, both ways round.
func (g *ground) pool(ctx context.Context) ([]poolLoop, error) {
	views, durations := g.views(), g.o.durations()
	costs := make([][]float32, len(views))
	for i, v := range views {
		costs[i] = g.reach.ArcCosts(g.timeS, v)
	}
	found := make([][]poolLoop, len(views)*len(durations))
	err := parallel.For(ctx, len(found), func(i int) (err error) {
		found[i], err = g.loops(ctx, costs[i%len(views)], durations[i/len(views)])
		return err
	})
	if err != nil {
		return nil, err
	}
	var pool []poolLoop
	seen := map[string]bool{}
	for _, loops := range found {
		for i := range loops {
			for _, l := range []poolLoop{loops[i], g.turned(&loops[i])} {
				if key := keyOf(l.arcs); !seen[key] {
					seen[key] = true
					pool = append(pool, l)
				}
			}
		}
	}
	mean := views[0]
	err = parallel.For(ctx, len(pool), func(i int) error {
		g.finish(&pool[i], mean)
		return nil
	})
	return pool, err
}

// loops searches a few different loops of one duration: such as suit all dogs, else
// such as suit those that no limit concerns; where the ground has none, the way
// there and back.
func (g *ground) loops(ctx context.Context, cost []float32, durationS float64) (out []poolLoop, err error) {
	solver, done := g.p.Land().Solver(ctx)
	defer done()
	q := loop.Problem{Graph: &g.reach.Star, Door: g.reach.Door, TimeS: g.timeS, Cost: [][]float32{cost},
		MinS: durationS * (1 - routing.DefaultShorter), MaxS: durationS * (1 + routing.DefaultLonger), Barred: g.barred}
	loops, err := solver.Others(q, nil, poolRounds)
	if err == nil && len(loops) == 0 && g.barred != nil {
		q.Barred = nil
		loops, err = solver.Others(q, nil, poolRounds)
	}
	if err != nil {
		return nil, err
	}
	for _, l := range loops {
		out = append(out, poolLoop{arcs: l.Arcs, shape: routing.Loop})
	}
	if len(out) > 0 {
		return out, nil
	}
	back, err := solver.ThereAndBack(q)
	if err != nil || back.Status != loop.Found {
		return nil, err
	}
	return []poolLoop{{arcs: slices.Clone(back.Walk.Arcs), shape: routing.ThereAndBack}}, nil
}

// turned is a loop walked the other way round.
func (g *ground) turned(l *poolLoop) poolLoop {
	out := poolLoop{arcs: make([]int32, len(l.arcs)), shape: l.shape}
	for i, a := range l.arcs {
		out.arcs[len(l.arcs)-1-i] = g.reach.Star.Twin[a]
	}
	return out
}

func keyOf(arcs []int32) string {
	b := make([]byte, 0, 4*len(arcs))
	for _, a := range arcs {
		b = append(b, byte(a), byte(a>>8), byte(a>>16), byte(a>>24))
	}
	return string(b)
}

// finish gives a loop its line, its holds and what it costs each dog.
func (g *ground) finish(l *poolLoop, mean []float32) {
	g.draw(l)
	if g.o.slack() != Free {
		l.holds = g.holds(l, mean)
	}
	l.x = make([][]float64, len(g.o.Dogs))
	for d := range l.x {
		l.x[d] = make([]float64, g.o.clockSlots())
		for h := range l.x[d] {
			l.x[d][h] = g.reactions(l, d, h)
		}
	}
}

// draw gives a loop its line with the progress at each point.
func (g *ground) draw(l *poolLoop) {
	at := 0.0
	for _, a := range l.arcs {
		s := float64(g.timeS[a])
		part := g.p.Land().LineOf(g.reach.Piece[a].Directed)
		length := max(part.LengthM(), 1e-9)
		walked := 0.0
		for i, q := range part {
			if i > 0 {
				walked += part[i-1].DistanceM(q)
			}
			if n := len(l.line); n > 0 && i == 0 {
				continue // where the arc before ended
			}
			l.line, l.atS = append(l.line, q), append(l.atS, at+s*walked/length)
		}
		at += s
		l.atS[len(l.atS)-1] = at
	}
	l.durationS = at
}

// reactions is what a loop costs a dog that leaves in one half hour.
func (g *ground) reactions(l *poolLoop, dog, slot int) (x float64) {
	at := 0.0
	for _, a := range l.arcs {
		s := float64(g.timeS[a])
		h := min(slot+int(at/(slotMinutes*60)), len(g.hazard[dog])-1)
		x += s * float64(g.hazard[dog][h][g.reach.Piece[a].Slot])
		at += s
	}
	return x
}

// Holds: one every ten to fifteen minutes is almost as good as one every five.
const (
	holdEveryS = 12 * 60.0
	lastHoldS  = 4 * 60.0 // before home: what is left after it is all the doubt the gate sees
	holdStepS  = 60 * slowPace
	holdLeeS   = 2 * holdStepS // how far from its mark a hold may lie, to be quiet
	holdClearM = 40.0          // off the zone, where others come and go
	holdFirstS = 5 * 60.0      // a hold sooner than this helps nobody
)

// holds chooses the quiet places at which a walk waits for its printed times:
// near marks that divide it evenly, where the hazard is least and the gate far.
func (g *ground) holds(l *poolLoop, mean []float32) (out []float64) {
	last := l.durationS - lastHoldS
	if last < holdFirstS {
		return nil
	}
	n := int(math.Ceil(last / holdEveryS))
	for i := 1; i <= n; i++ {
		mark := last * float64(i) / float64(n)
		if u, ok := g.quiet(l, mean, mark); ok && (len(out) == 0 || u > out[len(out)-1]+holdLeeS) {
			out = append(out, u)
		}
	}
	return out
}

// quiet is the progress of the quietest place near a mark, of those that the slow
// pace reaches on a whole minute: printed times are without seconds.
func (g *ground) quiet(l *poolLoop, mean []float32, mark float64) (best float64, ok bool) {
	least := math.Inf(1)
	t := tracer{line: l.line, atS: l.atS}
	at, i := 0.0, 0
	for u := holdStepS * math.Ceil((mark-holdLeeS)/holdStepS); u <= mark+holdLeeS; u += holdStepS {
		for i < len(l.arcs)-1 && at+float64(g.timeS[l.arcs[i]]) < u {
			at += float64(g.timeS[l.arcs[i]])
			i++
		}
		if u < holdStepS || u >= l.durationS || t.at(u).DistanceM(g.start.At) < g.o.zoneM()+holdClearM {
			continue
		}
		if x := float64(mean[g.reach.Piece[l.arcs[i]].Slot]); x < least {
			least, best, ok = x, u, true
		}
	}
	return best, ok
}
