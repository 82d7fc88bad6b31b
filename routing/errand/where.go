// Package errand answers where to go, and when: from the door now, from the door at a
// better hour, or by car to a place that is worth the drive. It hides how the places in
// reach are scored, so that few of them need a search.
package errand

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"sync"
	"time"

	"wideberth/exposure"
	"wideberth/exposure/hours"
	"wideberth/osmdata"
	"wideberth/osmdata/fault"
	"wideberth/osmdata/parallel"
	"wideberth/routing"
	"wideberth/routing/drive"
	"wideberth/routing/network"
	"wideberth/routing/parking"
	"wideberth/routing/reach"
	"wideberth/routing/search"
)

// Errand is a wish of somebody who asks where to go: from the door now, at a better
// hour, or by car.
type Errand struct {
	routing.Wish         // from the door; what it says of walks holds for all of them
	DriveMinutes float64 // how long a drive may take, one way, with parking
	OnFoot       bool    // no car
	Most         int     // places, 0 for five
}

// Bounds of an errand.
const (
	UsualDriveMinutes = 15
	mostDriveMinutes  = 60
	mostSpots         = 10
	usualSpots        = 5
)

// How places are chosen (our assumption; measured on a state, see TestFiguresGreedyOrder).
const (
	lookedAt  = 24   // places that a walk is searched for, in the order of their scores
	spotKerbM = 300  // from the door to where the car stands
	apartM    = 500  // no two places that are answered are nearer to each other
	worthIt   = 0.8  // of the door's sum: a place that does not save a fifth is not worth a drive
	scoredCap = 3000 // places that are scored at most, the nearest by car
	mostAsked = 0.5  // a walk with more of it on service roads is none to drive to
)

// Check says everything that is wrong with an errand on a map.
func (e *Errand) Check(p *routing.Planner) error {
	wish := e.Wish
	if !e.closed() { // told beside
		wish.Shape, wish.To, wish.MaxX = routing.Calmest, nil, 0
	}
	var wrong fault.Problems
	if err := p.Check(&wish); err != nil && !errors.As(err, &wrong) {
		return err
	}
	return append(wrong, e.Beside()...).Err()
}

// closed says that walks end where they begin, as those of an errand do.
func (e *Errand) closed() bool {
	return e.Shape == "" || e.Shape == routing.Calmest || e.Shape == routing.Loop || e.Shape == routing.ThereAndBack
}

// Beside says what is wrong with what an errand has beside its wish.
func (e *Errand) Beside() (wrong fault.Problems) {
	if !e.closed() {
		wrong = append(wrong, fault.Problem{Pointer: "/shape", Value: string(e.Shape),
			Mend: "every walk ends where it begins: use calmest, loop or there_and_back, and name no other place"})
	}
	if !e.OnFoot && !(e.DriveMinutes >= 1 && e.DriveMinutes <= mostDriveMinutes) {
		wrong = append(wrong, fault.Problem{Pointer: "/drive_minutes", Value: fault.Number(e.DriveMinutes),
			Mend: fmt.Sprintf("give 1 to %d minutes, such as %d, or ask without a car", mostDriveMinutes, UsualDriveMinutes)})
	}
	if e.Most < 0 || e.Most > mostSpots {
		wrong = append(wrong, fault.Problem{Pointer: "/most", Value: fmt.Sprint(e.Most), Mend: fmt.Sprintf("ask for 1 to %d places", mostSpots)})
	}
	if longest := e.Free.Longest(); len(e.Free.Check()) == 0 && float64(longest) < e.Minutes {
		wrong = append(wrong, fault.Problem{Pointer: "/free_hours", Value: fmt.Sprintf("%d minutes at most", longest),
			Mend: fmt.Sprintf("a walk of %s minutes fits in none of the spans: give a longer one, or ask for a walk of %d minutes", fault.Number(e.Minutes), max(routing.LeastMinutes, longest))})
	}
	return wrong
}

// Choices answer an errand.
type Choices struct {
	Options []Option // least expected reactions and strain first
	NoDoor  error    // why there is no walk from the door now, nil if there is one
	NoLater bool     // no free hour of the next day has a walk from the door
	NoRoads bool     // no road for cars on the map, or none near the door
	Drive   time.Duration
	Assumed []exposure.Assumption
	InReach int // places that a drive leads to in the time
	Looked  int // of these, places that a walk was searched for: the most promising
}

// OptionKind says what an option is.
type OptionKind string

// The kinds of options.
const (
	DoorNow   OptionKind = "door_now"
	DoorLater OptionKind = "door_later"
	ByCar     OptionKind = "by_car"
)

// Option is one answer to where to go.
type Option struct {
	Kind   OptionKind
	Spot   *parking.Spot // of a drive
	DriveS float64       // from the door to the first step, with parking; 0 at the door
	Leave  time.Time     // the house
	Dark   bool          // the sun is down at some time of the walk
	Wish   routing.Wish  // that the plan answers: departing when the walk begins
	Plan   *routing.Plan // one walk with all that is to be known of it
	Saves  Saving
	Later  *Later // of a place left for now: the same drive at the door's better hour
}

// Walk is the option's walk.
func (o *Option) Walk() *routing.Walk { return &o.Plan.Walks[0] }

// Saving is how much less an option brings than the door now; negative if it is more.
type Saving struct {
	Reactions float64
	Strain    float64
	Share     float64 // of the door's sum, 0 where there is none
}

// Later is what a place brings at another hour.
type Later struct {
	Leave, Begin time.Time
	Reactions    float64
	Strain       float64
}

// Finder answers errands on one map. Safe for concurrent use.
type Finder struct {
	spots func() []parking.Spot // where a car can be left on the map, found when first asked for
}

// New makes a finder on the map of a planner, which it asks for nothing before the
// first errand.
func New(p *routing.Planner) *Finder {
	return &Finder{sync.OnceValue(func() []parking.Spot { return parking.Find(p.Snapshot()) })}
}

// Spots are the places on the map where a car can be left.
func (f *Finder) Spots() []parking.Spot { return f.spots() }

// finding is one errand under way.
type finding struct {
	p     *routing.Planner
	land  *reach.Land
	spots func() []parking.Spot
}

// Where answers an errand: the door now, the door at the best of the handler's free
// hours within a day, and places to drive to, planned for the minute of arrival, each
// with what it saves. Of the places in reach the most promising are looked at, so that
// a better one may exist. No walk from the door and no place is an *Infeasible.
func (f *Finder) Where(ctx context.Context, p *routing.Planner, e Errand) (*Choices, error) {
	p = p.Under(e.Weather)
	q := &finding{p, p.Land(), f.spots}
	e.Shape, e.Walks = cmp.Or(e.Shape, routing.Calmest), 1
	if err := e.Check(p); err != nil {
		return nil, err
	}
	q.land.CountSearch()
	c := &Choices{}
	now, err := q.fromDoor(ctx, &e, c)
	if err != nil {
		return nil, err
	}
	if !e.OnFoot {
		if err := q.byCar(ctx, &e, c, now); err != nil {
			return nil, err
		}
	}
	if len(c.Options) == 0 {
		return nil, cmp.Or(c.NoDoor, error(&reach.Infeasible{Reason: reach.NothingInRange, Field: "drive_minutes"}))
	}
	c.rank(now)
	c.Assumed = c.assumed(&e)
	return c, nil
}

// assumed is what the answer rests on beside its walks, and what they do.
func (c *Choices) assumed(e *Errand) (out []exposure.Assumption) {
	if c.InReach > 0 {
		out = append(out, exposure.Assumption{What: routing.AssumedDrive})
	}
	if e.Free.Spans == nil {
		out = append(out, exposure.Assumption{What: routing.AssumedFree})
	}
	for i := range c.Options {
		for _, a := range c.Options[i].Plan.Assumed {
			if !slices.ContainsFunc(out, func(b exposure.Assumption) bool { return a.What == b.What && a.Of == b.Of }) {
				out = append(out, a)
			}
		}
	}
	return out
}

// rank puts the best first and tells what each saves against the door now.
func (c *Choices) rank(now *Option) {
	slices.SortStableFunc(c.Options, func(a, b Option) int {
		return cmp.Or(cmp.Compare(a.sum(), b.sum()), cmp.Compare(a.DriveS, b.DriveS))
	})
	if now == nil {
		return
	}
	base, first := now.sum(), now.Walk()
	for i := range c.Options {
		o := &c.Options[i]
		o.Saves = Saving{Reactions: first.ExpectedReactions - o.Walk().ExpectedReactions, Strain: first.Strain - o.Walk().Strain}
		if base > 0 {
			o.Saves.Share = 1 - o.sum()/base
		}
	}
}

// sum is what an option costs, as its wish weighs it.
func (o *Option) sum() float64 { return o.Walk().Wear(&o.Wish) }

// later is the option at the door's better hour, nil if there is none.
func (c *Choices) later() *Option {
	for i := range c.Options {
		if c.Options[i].Kind == DoorLater {
			return &c.Options[i]
		}
	}
	return nil
}

// fromDoor adds the door now and at its best free hour, and gives the first.
func (q *finding) fromDoor(ctx context.Context, e *Errand, c *Choices) (now *Option, err error) {
	start, err := q.land.Place(e.From)
	if err == nil {
		now, err = q.option(ctx, DoorNow, e.Wish, start)
	}
	if none := (*reach.Infeasible)(nil); errors.As(err, &none) {
		if none.Reason == reach.OffTheMap {
			return nil, err
		}
		c.NoDoor, c.NoLater = err, true
		if none.Reason == reach.NoStreetNear {
			return nil, nil
		}
	} else if err != nil {
		return nil, err
	}
	if now != nil {
		c.Options = append(c.Options, *now)
	}
	best, err := q.p.BestHour(ctx, &e.Wish, start)
	if err != nil {
		return nil, err
	}
	c.NoLater = best.IsZero()
	if best.IsZero() {
		return now, nil
	}
	at := e.Wish
	at.Depart = best
	later, err := q.option(ctx, DoorLater, q.p.Offered(at), start)
	if err != nil {
		return nil, err
	}
	if now == nil || later.sum() < now.sum() {
		c.Options = append(c.Options, *later)
	}
	return now, nil
}

// option plans the walk of an option in full.
func (q *finding) option(ctx context.Context, kind OptionKind, w routing.Wish, start network.Place) (*Option, error) {
	plan, err := q.p.One(ctx, &w, start)
	if err != nil {
		return nil, err
	}
	return &Option{Kind: kind, Leave: w.Depart.In(q.land.Clock.Loc), Dark: q.p.Dark(&w), Wish: w, Plan: plan}, nil
}

// stop is a place in reach by car.
type stop struct {
	spot   *parking.Spot
	driveS float64
	score  float64
	walk   *routing.Walk // that was found with light effort
	wish   routing.Wish
	lit    bool // lit ways are wished for whatever the hour
}

// byCar adds the best of the places that a drive leads to: now or, where none is worth
// it now, as in the dark where no way is lit, at the door's better hour.
func (q *finding) byCar(ctx context.Context, e *Errand, c *Choices, now *Option) error {
	later := c.later()
	added, err := q.byCarAt(ctx, e, c, now, e.Depart, later)
	if err != nil || added || later == nil {
		return err
	}
	_, err = q.byCarAt(ctx, e, c, now, later.Leave, nil)
	return err
}

// byCarAt adds the best places for who leaves the house at a time; later is the door's
// better hour where that is another.
func (q *finding) byCarAt(ctx context.Context, e *Errand, c *Choices, now *Option, leave time.Time, later *Option) (added bool, err error) {
	stops, err := q.drives(e, c, leave)
	if err != nil || len(stops) == 0 {
		return false, err
	}
	if err := q.promising(ctx, e, stops); err != nil {
		return false, err
	}
	stops = stops[:min(len(stops), lookedAt)]
	c.Looked = len(stops)
	err = parallel.For(ctx, len(stops), func(i int) (err error) {
		stops[i].walk, err = q.p.Glance(ctx, &stops[i].wish, stops[i].spot.Start)
		return err
	})
	if err != nil {
		return false, err
	}
	kept := keep(stops, cmp.Or(e.Most, usualSpots), now)
	options := make([]*Option, len(kept))
	err = parallel.For(ctx, len(kept), func(i int) (err error) {
		s := kept[i]
		if options[i], err = q.option(ctx, ByCar, s.wish, s.spot.Start); err != nil {
			return err
		}
		options[i].Spot, options[i].DriveS, options[i].Leave = s.spot, s.driveS, leave.In(q.land.Clock.Loc)
		if later != nil {
			options[i].Later, err = q.laterAt(ctx, s, later.Leave)
		}
		return err
	})
	if err != nil {
		return false, err
	}
	for _, o := range options {
		c.Options = append(c.Options, *o)
	}
	return len(options) > 0, nil
}

// drives lists the places that a drive from the door leads to in the time, nearest
// first, with the wish that holds there: in the dark on lit ways, unless the handler
// goes without.
func (q *finding) drives(e *Errand, c *Choices, leave time.Time) ([]stop, error) {
	roads := q.land.Snap.Roads
	c.Drive, c.InReach = time.Duration(e.DriveMinutes*float64(time.Minute)), 0
	kerb, ok := roads.Kerb(e.From, spotKerbM)
	if !ok {
		c.NoRoads = true
		return nil, nil
	}
	mostS := c.Drive.Seconds() - drive.ParkingS
	if mostS <= 0 {
		return nil, nil
	}
	trips, err := roads.From(kerb, mostS)
	if err != nil {
		return nil, err
	}
	defer trips.Release()
	var out []stop
	spots := q.spots()
	for i := range spots {
		s := &spots[i]
		d := trips.Seconds(s.Kerb)
		if d > mostS || s.Start.At.DistanceM(e.From) <= apartM {
			continue
		}
		c.InReach++
		if leave.Equal(e.Depart) || e.Free.Hold(q.land.Clock.At(leave), e.Minutes+2*(d+drive.ParkingS)/60) {
			at := e.Wish
			at.Away, at.From = true, s.Start.At
			at.Depart = leave.Add(routing.Seconds(d + drive.ParkingS))
			out = append(out, stop{spot: s, driveS: d + drive.ParkingS, wish: q.p.Offered(at), lit: at.Limits.LitOnly})
		}
	}
	slices.SortStableFunc(out, func(a, b stop) int { return cmp.Compare(a.driveS, b.driveS) })
	return out[:min(len(out), scoredCap)], nil
}

// promising puts the stops with the best scores first.
func (q *finding) promising(ctx context.Context, e *Errand, stops []stop) error {
	r, err := q.rate(e, stops)
	if err != nil {
		return err
	}
	err = parallel.For(ctx, len(stops), func(i int) error {
		stops[i].score = r.score(stops[i].spot.Start.Edge)
		return nil
	})
	slices.SortStableFunc(stops, func(a, b stop) int { return cmp.Compare(a.score, b.score) })
	return err
}

// keep gives the best of the stops that save something, no two near each other.
func keep(stops []stop, most int, now *Option) (kept []*stop) {
	found := slices.DeleteFunc(stops, func(s stop) bool { return s.walk == nil || s.walk.ServiceS > mostAsked*s.walk.DurationS })
	slices.SortStableFunc(found, func(a, b stop) int { return cmp.Compare(a.walk.Wear(&a.wish), b.walk.Wear(&b.wish)) })
	for i := range found {
		s := &found[i]
		if now != nil && s.walk.Wear(&s.wish) > worthIt*now.sum() {
			break
		}
		near := func(k *stop) bool { return k.spot.Start.At.DistanceM(s.spot.Start.At) < apartM }
		if len(kept) < most && !slices.ContainsFunc(kept, near) {
			kept = append(kept, s)
		}
	}
	return kept
}

// laterAt is what a stop brings who leaves the house at another hour, nil if they would
// not be home in time, or there is no walk.
func (q *finding) laterAt(ctx context.Context, s *stop, leave time.Time) (*Later, error) {
	w := s.wish
	w.Limits.LitOnly = s.lit
	if !w.Free.Hold(q.land.Clock.At(leave), w.Minutes+2*s.driveS/60) {
		return nil, nil
	}
	w.Depart = leave.Add(routing.Seconds(s.driveS))
	w = q.p.Offered(w)
	walk, err := q.p.Glance(ctx, &w, s.spot.Start)
	if err != nil || walk == nil {
		return nil, err
	}
	return &Later{Leave: leave, Begin: w.Depart.In(q.land.Clock.Loc), Reactions: walk.ExpectedReactions, Strain: walk.Strain}, nil
}

// rates is what ways about places are like at one moment.
type rates struct {
	g     *network.Graph
	perS  []float32 // by edge: expected reactions, strain and price of service roads a second; NaN where nobody looks
	avoid []bool    // by edge: ground to keep off
	paceM float64   // metres a second
	halfS float64   // half of the walk
}

// rate rates the ways that walks from the stops can use, at about the time of arrival.
func (q *finding) rate(e *Errand, stops []stop) (*rates, error) {
	g := q.land.Snap.Graph
	r := &rates{g: g, perS: make([]float32, g.EdgeCount()), avoid: make([]bool, g.EdgeCount()), paceM: e.Dog.PaceMPS(), halfS: e.Minutes * 60 / 2}
	edges, err := q.about(stops, r.paceM*r.halfS)
	if err != nil {
		return nil, err
	}
	m := q.land.Clock.At(stops[len(stops)/2].wish.Depart)
	hazard := q.land.Snap.Field.Sums(&e.Dog, edges).Hazard(m, e.Factors, nil)
	wear := q.land.StrainAt(edges, m)
	weight := float32(e.Strain.Weight())
	lit := stops[len(stops)/2].wish.Limits.LitOnly && m.Light() != hours.Daylight
	for i, edge := range edges {
		r.perS[edge] = hazard[i] + weight*wear[i] + float32(q.land.ServiceShare(edge)*reach.ServicePerMin/60)
		r.avoid[edge] = q.land.GroundAt(edge, m) != 0 || lit && g.Flags[edge]&osmdata.FlagLit == 0
	}
	return r, nil
}

// about lists the edges within a distance along ways of any of the stops.
func (q *finding) about(stops []stop, withinM float64) (edges []int32, err error) {
	sources := q.land.Ends(stops[0].spot.Start)
	for i := range stops[1:] {
		sources = append(sources, q.land.Ends(stops[1+i].spot.Start)...)
	}
	tree, err := q.land.Router.Reach(sources, q.land.ArcM, search.Span{Cutoff: withinM})
	if err != nil {
		return nil, err
	}
	defer tree.Release()
	star := &q.land.Snap.Graph.Star
	seen := make([]bool, q.land.Snap.Graph.EdgeCount())
	for _, v := range tree.Settled {
		for a := star.First[v]; a < star.First[v+1]; a++ {
			if e := q.land.Snap.Graph.ArcEdge[a]; !seen[e] {
				seen[e] = true
				edges = append(edges, e)
			}
		}
	}
	slices.Sort(edges)
	return edges, nil
}
