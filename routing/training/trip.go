package training

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"wideberth/exposure/hours"
	"wideberth/osmdata/fault"
	"wideberth/osmdata/plane"
	"wideberth/routing"
	"wideberth/routing/escape"
	"wideberth/routing/network"
	"wideberth/routing/reach"
	"wideberth/routing/search"
)

// trips knows the expected reactions of the calmest way from the door to places in
// reach, by hour.
type trips struct {
	p     *routing.Planner
	r     *reach.Reach
	local map[int32]int32 // vertex of the network to that of the reach
	rate  [][]float32     // by time and edge of the reach: expected reactions a second
	cost  [][]float64     // by time and vertex of the reach
	pace  float64
}

// tripsFrom works out the ways from a start of every hour that is asked for.
func tripsFrom(ctx context.Context, p *routing.Planner, w *Wish, from plane.Point, reachM float64) (*trips, error) {
	start, err := p.Land().Place(from)
	if err != nil {
		return nil, err
	}
	r, err := p.Land().Begun(start, reachM)
	if err != nil {
		return nil, err
	}
	t := &trips{p: p, r: r, local: make(map[int32]int32, len(r.Home)), pace: w.Dog.PaceMPS()}
	for l, v := range r.Home {
		if v >= 0 {
			t.local[v] = int32(l)
		}
	}
	router, err := search.NewRouter(&r.Star)
	if err != nil {
		return nil, err
	}
	sums := r.SumsFor(&w.Dog)
	by := reach.Asker{From: from, Dog: &w.Dog, Factors: w.Factors}
	for _, at := range w.Times {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		c := r.Price(sums, &w.Dog, at, w.Factors, 1)
		barred, _ := r.Bars(&w.Limits, by, c)
		rate := c.Hazard[0]
		tree, err := router.Reach([]search.Source{{Vertex: r.Door}}, c.Cost[0], search.Span{Cutoff: math.Inf(1), Barred: barred})
		if err != nil {
			return nil, err
		}
		cost := make([]float64, len(r.Home))
		for v := range cost {
			cost[v] = tree.Dist(int32(v))
		}
		tree.Release()
		t.rate, t.cost = append(t.rate, rate), append(t.cost, cost)
	}
	return t, nil
}

// x is the expected reactions of the ways to a place and home at an hour, +Inf
// where the way is longer than the reach.
func (t *trips) x(c *Vantage, time int) float64 {
	g := t.p.Land().Snap.Graph
	a := g.EdgeArc[c.Edge]
	line := g.EdgeLine(c.Edge)
	_, along, _ := line.Nearest(c.At)
	rate := 0.0
	best := math.Inf(1)
	for _, end := range [2]struct {
		v   int32
		far float64
	}{{g.Star.Head[g.Star.Twin[a]], along}, {g.Star.Head[a], float64(g.LengthM[c.Edge]) - along}} {
		l, ok := t.local[end.v]
		if !ok {
			continue
		}
		for k := t.r.Star.First[l]; k < t.r.Star.First[l+1]; k++ {
			if t.r.Piece[k].Edge == c.Edge {
				rate = float64(t.rate[time][t.r.Piece[k].Slot])
			}
		}
		best = math.Min(best, t.cost[time][l]+rate*end.far/t.pace)
	}
	return 2 * best
}

// Ways are the ground of the two ways of a visit: as courses of this map or, where the
// visit was planned on another, as the lines that they follow.
type Ways struct {
	In, Home         reach.Course
	InLine, HomeLine plane.Polyline // nil: the courses count
}

// Ways is the visit's ground: with it the same ways can be told again.
func (v *Visit) Ways() Ways { return Ways{In: v.In.Course, Home: v.Home.Course} }

// follow gives the arcs of one of the ways, by its course unless a line is given.
func follow(r *reach.Reach, c reach.Course, along func(reach.Course) ([]int32, error), line plane.Polyline, from, to int32) ([]int32, error) {
	if line != nil {
		return r.Match(line, from, to)
	}
	arcs, err := along(c)
	if err == nil && (len(arcs) == 0 || r.Star.Head[arcs[len(arcs)-1]] != to) {
		err = fmt.Errorf("%w: it ends elsewhere", reach.ErrNoCourse)
	}
	return arcs, err
}

// visit plans the ways of a visit: in with at least five minutes, but from a car, and
// home. Those that are given are told as they are.
func visit(ctx context.Context, p *routing.Planner, w *Wish, o *Option, given *Ways) (*Visit, error) {
	from, calmS := w.From, calmInS
	if o.Car != nil {
		from, calmS = o.Car.At(), 0 // the car is the screen
	}
	start, err := p.Land().Place(from)
	if err != nil {
		return nil, err
	}
	place, err := p.Land().Snap.Graph.Snap(o.At, math.Max(reach.JoinM, o.OffM+1))
	if err != nil {
		return nil, err
	}
	pace := w.Dog.PaceMPS()
	least := math.Max(math.Max(o.WalkM, calmS*pace), leastWayM)
	overS := o.OffM / pace // over open ground
	r, err := p.Land().Around(start, &place, wayInSlack*least)
	if err != nil {
		return nil, err
	}
	wish := routing.Wish{Shape: routing.Way, From: from, To: &o.At, Dog: w.Dog, Limits: w.Limits, Factors: w.Factors}
	wish.Depart = o.Arrive.Add(-routing.Seconds(overS + least/pace))
	var in, home *routing.Walk
	if given != nil {
		arcs, bad := follow(r, given.In, r.Along, given.InLine, r.Door, r.Goal)
		in, err = told(p, &wish, r, "/given/way_in", arcs, bad)
	} else {
		p.Land().CountSearch()
		in, err = wayIn(p, &wish, r, calmS, wayInSlack*least/pace)
	}
	if err != nil {
		return nil, err
	}
	v := &Visit{Option: *o, In: *in, OverS: overS}
	v.Leave = o.Arrive.Add(-routing.Seconds(overS + in.DurationS))
	for _, l := range in.Legs {
		for _, e := range l.Edges {
			if e.Level <= routing.Some {
				v.CalmInS += e.LengthM / l.LengthM * l.DurationS
			}
		}
	}
	wish.Depart = o.Arrive.Add(routing.Seconds(o.StayS + overS))
	if given != nil {
		arcs, bad := follow(r, given.Home, r.Homeward, given.HomeLine, r.Goal, r.Door)
		home, err = told(p, &wish, r, "/given/way_home", arcs, bad)
	} else {
		home, err = wayHome(ctx, p, &wish, r, wayInSlack*least/pace)
	}
	if err != nil {
		return nil, err
	}
	v.Home = *home
	v.X = v.In.ExpectedReactions + v.Home.ExpectedReactions + v.AsideX + v.WatchX + v.OtherX
	return v, nil
}

// told is a way that was found before, at the hour of the wish, without a search. One that
// cannot be walked so, or not any more, is fault.Problems.
func told(p *routing.Planner, w *routing.Wish, r *reach.Reach, pointer string, arcs []int32, bad error) (*routing.Walk, error) {
	if bad != nil {
		return nil, fault.One(pointer, "", bad.Error()+": plan the visit anew")
	}
	mostS := wayInSlack * r.Course(arcs).LengthM() / w.Dog.PaceMPS() // on slopes, too
	walk := p.Build(w, r, r.Price(r.SumsFor(&w.Dog), &w.Dog, w.Depart, w.Factors, mostS), arcs)
	return &walk, nil
}

// wayInSlack is how much longer than the shortest way, or than five minutes, a way
// in may be. A place beside the car has a way of some metres, too.
const (
	wayInSlack = 1.5
	leastWayM  = 50.0
)

// wayIn is the calmest way to the goal of at least so many seconds: the calmest to
// some vertex and on from there.
func wayIn(p *routing.Planner, w *routing.Wish, r *reach.Reach, leastS, mostS float64) (*routing.Walk, error) {
	c := r.Price(r.SumsFor(&w.Dog), &w.Dog, w.Depart, w.Factors, mostS)
	barred, _ := r.Bars(&w.Limits, w.Asker(), c)
	router, err := search.NewRouter(&r.Star)
	if err != nil {
		return nil, err
	}
	out, err := router.Reach([]search.Source{{Vertex: r.Door}}, c.Cost[0], search.Span{Cutoff: math.Inf(1), Barred: barred})
	if err != nil {
		return nil, err
	}
	defer out.Release()
	on, err := router.Reach([]search.Source{{Vertex: r.Goal}}, c.Cost[0], search.Span{Cutoff: math.Inf(1), Barred: barred, Reversed: true})
	if err != nil {
		return nil, err
	}
	defer on.Release()
	there, onward := make([]float64, len(r.Home)), make([]float64, len(r.Home))
	for _, v := range out.Settled {
		if a := out.Arc(v); a >= 0 {
			there[v] = there[r.Star.Head[r.Star.Twin[a]]] + float64(c.TimeS[a])
		}
	}
	for _, v := range on.Settled {
		if a := on.Arc(v); a >= 0 {
			onward[v] = onward[r.Star.Head[a]] + float64(c.TimeS[a])
		}
	}
	via, best, longest := int32(-1), math.Inf(1), 0.0
	for _, v := range out.Settled {
		x, s := out.Dist(v)+on.Dist(v), there[v]+onward[v]
		if math.IsInf(x, 1) || s > mostS {
			continue
		}
		// Long enough goes before calm, calm before all else.
		if enough := s >= leastS; enough && x < best || !enough && math.IsInf(best, 1) && s > longest {
			via, longest = v, s
			if enough {
				best = x
			}
		}
	}
	if via < 0 {
		return nil, search.ErrNoPath
	}
	walk := p.Build(w, r, c, on.Path(out.Path(nil, via), via))
	return &walk, nil
}

// wayHome is the calmest way from the goal to the door.
func wayHome(ctx context.Context, p *routing.Planner, w *routing.Wish, r *reach.Reach, mostS float64) (*routing.Walk, error) {
	c := r.Price(r.SumsFor(&w.Dog), &w.Dog, w.Depart, w.Factors, mostS)
	barred, _ := r.Bars(&w.Limits, w.Asker(), c)
	router, err := search.NewRouter(&r.Star)
	if err != nil {
		return nil, err
	}
	way, err := router.Cheapest(search.Timed{From: r.Goal, To: r.Door, TimeS: c.TimeS, Cost: c.Cost, ChangeS: c.ChangeS, Barred: barred, LimitS: mostS, Work: search.NewWork(ctx, search.DefaultTimedWork)})
	if err != nil {
		return nil, err
	}
	walk := p.Build(w, r, c, way.Arcs)
	return &walk, nil
}

// Revisit asks for one visit of a sequence anew.
type Revisit struct {
	At     plane.Point // where one stands
	Source int32       // what is watched, -1 for ways
	Arrive time.Time
	StayS  float64
	Car    *plane.Point // where the walk begins, nil for the door
	Ways   *Ways        // as they were planned, to be told; nil for the calmest of the hour
}

// Again plans one visit anew for another hour: same place, same thing watched.
// What it shows then may make it another step. That nobody is there then, that
// something else is too near, that one may not stand there, or that no way there
// may be walked then is an *Infeasible.
func Again(ctx context.Context, p *routing.Planner, w Wish, o Revisit) (*Visit, error) {
	w.Farthest, w.Nearest = cmp.Or(w.Farthest, usualFarthest), cmp.Or(w.Nearest, usualNearest)
	w.MaxX, w.ReachM = cmp.Or(w.MaxX, UsualMaxX), cmp.Or(w.ReachM, usualReachM)
	times := append(slices.Clip(w.Times), o.Arrive)
	w.Times = times[len(times)-1:]
	if err := w.check(); err != nil {
		return nil, err
	}
	if o.Source >= int32(p.Land().Snap.Field.SourceCount()) || !(o.StayS >= 60 && o.StayS <= 1800) {
		return nil, fault.Problems{{Pointer: "/visit", Mend: "name a source that the map has, and a stay of 1 to 30 minutes"}}
	}
	t, err := newTraining(ctx, p, &w)
	if err != nil {
		return nil, err
	}
	s := t.scout
	defer func() { s.walk.Release() }()
	var car *Car
	if o.Car != nil {
		if car, err = t.carAt(*o.Car); err != nil {
			return nil, err
		}
	}
	none := &reach.Infeasible{Reason: reach.NoStand, Field: "visit", Proved: true}
	s.band(w.Nearest, mostMultiple)
	v, ok := s.viewAt(&o, times)
	var c *Vantage
	if ok {
		c, ok = s.standAt(v, o.At)
	}
	cut, err := s.ended()
	switch {
	case err != nil:
		return nil, err
	case !ok:
		none.Proved = !cut
		return nil, none
	}
	show, ok := s.showing(v, c, p.Land().Clock.At(o.Arrive), o.StayS)
	if !ok {
		return nil, &reach.Infeasible{Reason: reach.NobodyThen, Field: "visit", Proved: true}
	}
	again := Option{Place: Place{*c, show}, Arrive: o.Arrive.In(p.Zone()), StayS: o.StayS, Class: classOf(c, &show, o.StayS),
		Car: car, AsideX: s.asideX(c, car, p.Land().Clock.At(o.Arrive))}
	visit, err := visit(ctx, p, &w, &again, o.Ways)
	var late *search.TimeLimitError
	if errors.Is(err, search.ErrNoPath) || errors.As(err, &late) {
		return nil, &reach.Infeasible{Reason: reach.NoWayIn, Field: "visit", Proved: true}
	}
	return visit, err
}

// SourceNumber is the number in the field of a source by its OSM id, -1 if the map
// has none.
func SourceNumber(p *routing.Planner, osm string) int32 {
	f := p.Land().Snap.Field
	for i := range int32(f.SourceCount()) {
		if f.Source(i).OSM == osm {
			return i
		}
	}
	return -1
}

// viewAt is what is watched from a place; false where that has none of the kinds. A
// way is one that carries them at any of the times, as when the place was found: by
// the new hour alone another way might be the nearest, or none.
func (s *scout) viewAt(o *Revisit, times []time.Time) (*view, bool) {
	f := s.p.Land().Snap.Field
	if o.Source >= 0 {
		src := f.Source(o.Source)
		v := &view{areas: src, Watched: Watched{Source: o.Source, Sort: src.As, At: src.At, Name: s.p.Land().Snap.Field.Source(o.Source).Label()}}
		return v, s.takeKinds(v)
	}
	near := *s
	near.from, near.reachM = o.At, mostMultiple*s.dog.FarthestM()+anchorNearM // a stretch is looked at from so far along it
	var sieve Sieve
	moments := make([]hours.Moment, len(times))
	for i, at := range times {
		moments[i] = s.p.Land().Clock.At(at)
	}
	views := near.wayViews(moments, max(o.StayS, stays[len(stays)-1]), &sieve)
	if len(views) == 0 {
		return nil, false
	}
	return views[0], true
}

// standAt is the vantage place of a view at a point, its ways out looked for anew.
func (s *scout) standAt(v *view, at plane.Point) (*Vantage, bool) {
	s.survey(v)
	var sieve Sieve
	posts := append(s.posts(v, &sieve), s.offWay(v, &sieve)...)
	e, err := s.exits(v)
	if err != nil {
		return nil, false
	}
	best := -1
	for i := range posts {
		if d := posts[i].At.DistanceM(at); d < escape.StepM && (best < 0 || d < posts[best].At.DistanceM(at)) {
			best = i
		}
	}
	if best < 0 {
		return nil, false
	}
	c := &posts[best]
	return &c.Vantage, e.grade(c, GradeD)
}

// StandPoint is what a watch point is where one stands on a training visit.
const StandPoint = "stand"

// Whole is the visit as one walk for a hand-out: the way in, the stay, the way
// home. Times run on through the stay; it is told as a watch point.
func (v *Visit) Whole() routing.Walk {
	w := v.In
	w.Quality = routing.Quality{WithinPct: -1}
	pauseS, pauseM := v.In.DurationS+2*v.OverS+v.StayS, v.In.LengthM
	w.Legs, w.Passed = slices.Clone(v.In.Legs), slices.Clone(v.In.Passed)
	for _, l := range v.Home.Legs {
		l.StartS += pauseS
		l.Edges = slices.Clone(l.Edges)
		for i := range l.Edges {
			l.Edges[i].StartS += pauseS
			l.Edges[i].FromM += pauseM
		}
		if l.Turn == network.TurnStart {
			l.Turn = network.TurnOf(v.In.Legs[len(v.In.Legs)-1].Line, l.Line)
		}
		w.Legs = append(w.Legs, l)
	}
	w.Watch = v.ready(pauseS, pauseM)
	w.Care = v.Care()
	for _, q := range v.Home.Passed {
		q.AtS, q.FromM = q.AtS+pauseS, q.FromM+pauseM
		if !slices.ContainsFunc(w.Passed, func(p routing.Passed) bool { return p.Source == q.Source && p.NearestM <= q.NearestM }) {
			w.Passed = append(w.Passed, q)
		}
	}
	w.Line = routing.Joined(slices.Clone(v.In.Line), v.Home.Line)
	w.DurationS, w.LengthM = pauseS+v.Home.DurationS, pauseM+v.Home.LengthM
	w.RepeatedS += v.Home.RepeatedS
	w.Course = slices.Concat(v.In.Course, v.Home.Course)
	w.Strain, w.MainRoadS, w.SoftGroundS, w.Turns = w.Strain+v.Home.Strain, w.MainRoadS+v.Home.MainRoadS, w.SoftGroundS+v.Home.SoftGroundS, w.Turns+v.Home.Turns
	w.DefaultRoomShare = (v.In.DefaultRoomShare*v.In.LengthM + v.Home.DefaultRoomShare*v.Home.LengthM) / max(w.LengthM, 1e-9)
	w.ExpectedReactions = v.X
	still := math.Exp(-v.WatchX - v.OtherX - v.AsideX)
	w.CalmChance *= v.Home.CalmChance * still
	w.CalmLow, w.CalmHigh = w.CalmLow*v.Home.CalmLow*still, w.CalmHigh*v.Home.CalmHigh*still
	w.Kinds = addedKinds(v.In.Kinds, v.Home.Kinds)
	w.TreatsLow, w.TreatsHigh = w.TreatsLow+v.Home.TreatsLow+v.Showing.TreatsLow, w.TreatsHigh+v.Home.TreatsHigh+v.Showing.TreatsHigh
	w.ShortestGapS = min(w.ShortestGapS, v.Home.ShortestGapS)
	w.LongestCalmS = max(w.LongestCalmS, v.Home.LongestCalmS)
	return w
}

// Care is what the day asks for on the visit, there and home.
func (v *Visit) Care() []routing.Note {
	out := slices.Clone(v.In.Care)
	for _, n := range v.Home.Care {
		if i := slices.IndexFunc(out, func(m routing.Note) bool { return m.What == n.What }); i < 0 {
			out = append(out, n)
		} else {
			out[i].TimeS, out[i].OfS = out[i].TimeS+n.TimeS, out[i].OfS+n.OfS
		}
	}
	return out
}

// ready is where to be ready on the whole visit, which pauses at so many seconds and
// metres: what matters most on both ways, and the stay between them.
func (v *Visit) ready(pauseS, pauseM float64) []routing.WatchPoint {
	ways := slices.Clone(v.In.Watch)
	for _, q := range v.Home.Watch {
		q.AtS, q.FromM = q.AtS+pauseS, q.FromM+pauseM
		ways = append(ways, q)
	}
	out := routing.Foremost(ways)
	at := len(out)
	if i := slices.IndexFunc(out, func(q routing.WatchPoint) bool { return q.FromM > pauseM }); i >= 0 {
		at = i
	}
	return slices.Insert(out, at, routing.WatchPoint{What: StandPoint, Deed: routing.DeedStand, Name: v.Watched.Name, At: v.At,
		AtS: v.In.DurationS + v.OverS, FromM: pauseM, DistM: v.DistM, RoomM: v.RoomM})
}

// addedKinds adds what two walks bring, by kind, in the order of the first.
func addedKinds(a, b []routing.KindOutlook) []routing.KindOutlook {
	out := slices.Clone(a)
	for _, k := range b {
		i := slices.IndexFunc(out, func(o routing.KindOutlook) bool { return o.Kind == k.Kind })
		if i < 0 {
			out = append(out, k)
			continue
		}
		o := &out[i]
		o.Expected, o.Low, o.High = o.Expected+k.Expected, o.Low+k.Low, o.High+k.High
		o.Inside, o.InsideS, o.Reactions = o.Inside+k.Inside, o.InsideS+k.InsideS, o.Reactions+k.Reactions
	}
	return out
}
