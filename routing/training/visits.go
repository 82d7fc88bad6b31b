package training

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"
	"time"

	"wideberth/exposure"
	"wideberth/exposure/hours"
	"wideberth/exposure/learning"
	"wideberth/osmdata/fault"
	"wideberth/osmdata/plane"
	"wideberth/routing"
	"wideberth/routing/parking"
	"wideberth/routing/reach"
	"wideberth/routing/training/setup"
)

// VisitsWish asks for training visits to triggers of some kinds that come nearer
// by small steps.
type Wish struct {
	From     plane.Point
	Dog      exposure.Dog
	Kinds    []exposure.Kind
	Farthest float64        // first distance as a multiple of the working distance, 0 for 2
	Nearest  float64        // last distance, 0 for 1; nothing nearer is ever offered
	Times    []time.Time    // when one could stand there; the hours of a typical week
	ReachM   float64        // how far to walk there from the door, 0 for 2,500 m
	DriveMin float64        // how long a drive may take, with parking; 0 for visits on foot only
	Spots    []parking.Spot // where a car can be left, as parking.Find lists them
	MaxX     float64        // expected reactions that one visit may cost besides those to what is watched, 0 for UsualMaxX
	Helper   *Helper        // who is met in the near half; nil for chance visits only
	Least    Grade          // of the ways out; "" for D from 1.5 times the working distance, B below
	Pins     []plane.Point
	Bans     []plane.Point
	Keep     []plane.Point   // taken rather than others where they fit, as when a sequence is copied
	Overs    []learning.Over // when the dog went over threshold of late: what days ask for rest, or for distance
	Each     int             // visits that a step takes at least, for its dates; 0 for common practice
	Limits   reach.Limits    // of the ways there and home
	Factors  *exposure.Factors
}

// Visit is one step of a sequence.
type Visit struct {
	Option
	Leave        time.Time // from the door, or from the car
	Earliest     time.Time // when it can be due if all before it go well, at its hour of the day
	In, Home     routing.Walk
	OverS        float64  // over open ground from the nearest way, and as long back
	CalmInS      float64  // of the way in, at the two calmer levels of ground
	X            float64  // expected reactions of the whole visit
	Harder       []string // than the step before: "nearer", "busier", "less room", "longer"
	Easier       []string // "quieter", "more room", "shorter"
	Alternatives []int    // in Sequence.Options
	Changed      bool     // the map has changed since it was planned, and its ways cannot be walked so: they were found anew
}

// Option is a place at an hour, for so long.
type Option struct {
	Place
	Arrive  time.Time
	StayS   float64
	Meeting *Meeting // with a known helper; nil for a chance visit
	Car     *Car     // nil where one walks from the door
	AsideX  float64  // expected reactions off the ways: beside the car, and over open ground
	AboutX  float64  // of the whole visit, ways counted by the calmest path
	Class   StepClass
	Pin     int  // 1 and up for pinned places, in the order of the wish; 0 for others
	Kept    bool // one of the places to keep
}

// BesidesX is what the whole visit is about to cost besides what is watched.
func (o *Option) BesidesX() float64 { return o.AboutX - o.WatchX }

// BesidesX is what the whole visit costs besides what is watched.
func (v *Visit) BesidesX() float64 { return v.X - v.WatchX }

// StepClass is how hard a visit is, in classes: raw numbers would make nearly
// everything incomparable by trifles.
type StepClass struct {
	Near     int // eighths of the working distance; less is harder
	Busy     int // half octaves of the number of triggers; more is harder
	Room     int // tens of metres, at most three; less is harder
	Duration int // index of the stay; more is harder
}

// Sequence is a chain of visits, each no easier than the one before.
type Sequence struct {
	Kinds      []exposure.Kind
	Visits     []Visit
	Options    []Option // the chain's, then the alternatives
	Arcs       [][2]int // which options are next harder than which: the order without what follows from others
	Order      Strictness
	Complete   bool               // it leads from the farthest to the nearest distance asked for
	Lacks      []Lack             // what cannot be had
	Respites   []learning.Respite // days of the wish that a bad day has taken, or left to far steps
	Considered int                // options that were found
	CutShort   bool               // the work that one search may do ended it: there may be more, farther off
	Assumed    []exposure.Assumption
	MapTime    time.Time
	Zone       string
}

// Strictness says what a sequence's steps keep.
type Strictness string

// From the best order to the least one.
const (
	OneHarder     Strictness = "one_harder"   // each step is harder in one respect only
	NeverEasier   Strictness = "never_easier" // harder in some, easier in none
	NearerAndEase Strictness = "nearer_eases" // nearer, and easier in others: one thing up, another down
)

// Lack is a step that cannot be had, with what comes nearest to it.
type Lack struct {
	Multiple float64
	DistM    float64
	Idle     int     // places with such triggers in reach that nobody is at at these hours
	NextM    float64 // of the nearest place that sees them and has ways out, at whatever distance; 0 for none
	Why      LackWhy
	Pin      int     // number of the pinned place that has no room, from 1
	Least    float64 // expected reactions of the calmest visit there is, besides what is watched, where these forbid
	MaxX     float64 // and what was allowed
	Instead  *Option
	Ground   *setup.Found // of a lack of ground for set-ups
}

// LackWhy is why a step cannot be had; the list is closed.
type LackWhy string

// The reasons.
const (
	LackGround    LackWhy = "ground"    // no place sees them, has ways out and is somewhere one may stand
	LackHours     LackWhy = "hours"     // nobody there at these hours, or something else too near
	LackReactions LackWhy = "reactions" // the calmest visit costs more than allowed
	LackWayIn     LackWhy = "way_in"    // no way in that keeps within the limit
	LackSteps     LackWhy = "steps"     // places at every distance, but no chain of small steps
	LackHelper    LackWhy = "helper"    // no ground for set-ups
	LackPin       LackWhy = "pin"       // a pinned place has no room in the chain
	LackRest      LackWhy = "rest"      // all days asked for are days of rest
	LackHourApart LackWhy = "one_hour"  // two steps in a row at one hour of the day, as nothing fits at another
)

// Rules of sequences. Distances, the quarter and the five calm minutes are common
// practice. How calm the calmest way in is, is told: in many towns no ground is calm
// for five minutes.
const (
	usualFarthest = 2.0
	usualNearest  = 1.0
	completeShare = 0.15 // a sequence is whole if its ends are so near to those wished for
	mostStepShare = 0.75 // no step nearer than this share of the one before
	calmInS       = 300.0
	leastWalkM    = 10.0 // from the door, or the car, to the place
	mostTimes     = 24
	placesPerStep = 3 // from the door, and as many from a car
	timesPerPlace = 3
	mostDropped   = 24 // visits that turn out too hard before what is left is told
)

// UsualMaxX is what a visit may cost besides what is watched: a quarter of a reaction,
// our assumption. What is watched is told beside it: at the working distance one
// trigger in ten goes over, which is what is trained.
const UsualMaxX = 0.25

// stays are the lengths of a visit: five to ten minutes are common practice.
var stays = [...]float64{300, 450, 600}

// trainingSteps are the distances that are told of, as multiples of the working
// distance.
var trainingSteps = []float64{2, 1.75, 1.5, 1.25, 1}

func (w *Wish) check() error {
	wrong := checkWatching(&w.Dog, w.Kinds, w.ReachM, 0, w.Least)
	bad := func(field, value, mend string) {
		wrong = append(wrong, fault.Problem{Pointer: "/" + field, Value: value, Mend: mend})
	}
	if !(w.Nearest >= leastMultiple && w.Nearest <= w.Farthest) {
		bad("nearest", fault.Number(w.Nearest), "give 0.5 up to the farthest distance, in multiples of the working distance")
	}
	if !(w.Farthest <= mostMultiple) {
		bad("farthest", fault.Number(w.Farthest), "give at most 3 times the working distance")
	}
	if !(w.MaxX > 0 && w.MaxX <= 20) {
		bad("max_expected_reactions", fault.Number(w.MaxX), "give more than 0 and at most 20 for one visit")
	}
	if !(w.DriveMin >= 0 && w.DriveMin <= mostDriveMin) {
		bad("drive_minutes", fault.Number(w.DriveMin), "give up to 60 minutes, or 0 for visits on foot only")
	}
	if w.Helper != nil && w.DriveMin == 0 {
		bad("drive_minutes", "0", "a helper is met on ground that is driven to: give up to 60 minutes, or name no helper")
	}
	if len(w.Times) == 0 || len(w.Times) > mostTimes {
		bad("times", fmt.Sprint(len(w.Times)), fmt.Sprintf("give 1 to %d times at which one could stand there", mostTimes))
	}
	wrong = append(wrong, w.Limits.Check()...)
	if len(wrong) > 0 {
		return wrong
	}
	return nil
}

// Visits plans a sequence of training visits. Faults of the wish are
// fault.Problems; what cannot be had is told in the answer.
func Visits(ctx context.Context, p *routing.Planner, w Wish) (*Sequence, error) {
	w.Farthest, w.Nearest = cmp.Or(w.Farthest, usualFarthest), cmp.Or(w.Nearest, usualNearest)
	w.MaxX, w.ReachM = cmp.Or(w.MaxX, UsualMaxX), cmp.Or(w.ReachM, usualReachM)
	if err := w.check(); err != nil {
		return nil, err
	}
	respites := w.rest(p.Zone())
	if len(w.Times) == 0 {
		return &Sequence{Kinds: w.Kinds, Respites: respites, Lacks: []Lack{{Why: LackRest}}, Assumed: assumedOfVisits(&w), MapTime: p.Land().Snap.MapTime, Zone: p.Land().Snap.Zone}, nil
	}
	t, err := newTraining(ctx, p, &w)
	if err != nil {
		return nil, err
	}
	if err := t.gatherAll(ctx); err != nil {
		return nil, err
	}
	cut, err := t.ended()
	if err != nil {
		return nil, err
	}
	seq := &Sequence{Kinds: w.Kinds, Respites: respites, Considered: len(t.options), MapTime: p.Land().Snap.MapTime, Zone: p.Land().Snap.Zone}
	for range mostDropped {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		chain := t.spread(t.chain(seq), seq.Order)
		if len(chain) == 0 || t.visit(ctx, seq, chain) {
			break
		}
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	seq.date(w.visitsEach())
	t.alternatives(seq)
	t.lacks(seq)
	seq.CutShort = cut
	seq.Assumed = assumedOfVisits(&w)
	return seq, nil
}

// training is the search for one sequence.
type training struct {
	*scout
	w       *Wish
	moments []hours.Moment    // of the wish
	fit     []Option          // all that keep the limit
	options []Option          // of these the few that a chain is made of
	dropped map[visitKey]bool // turned out too hard when its ways were planned
	sieve   Sieve
	ground  *setup.Found // what was found of grounds for set-ups, nil where no helper is named
	found   []Vantage    // places with ways out, whatever the hour
	shown   []Option     // what they show, whatever it costs
}

type visitKey struct {
	at     plane.Point
	arrive int64
}

func (o *Option) key() visitKey { return visitKey{o.At, o.Arrive.Unix()} }

func newTraining(ctx context.Context, p *routing.Planner, w *Wish) (*training, error) {
	s, err := newScout(ctx, p, &w.Dog, w.Kinds, w.From, w.ReachM, w.Factors)
	if err != nil {
		return nil, err
	}
	s.band(w.Nearest, w.Farthest*(1+completeShare))
	t := &training{scout: s, w: w, dropped: map[visitKey]bool{}}
	for _, at := range w.Times {
		t.moments = append(t.moments, p.Land().Clock.At(at))
	}
	t.rankedAt = t.moments[0]
	return t, nil
}

// gatherAll lists the options from the door and from every place for a car that is
// looked at, and the meetings with a helper. These are few and are looked for first, so
// that a wide reach does not use up their work.
func (t *training) gatherAll(ctx context.Context) error {
	defer func() { t.walk.Release() }()
	met, err := t.meetings(ctx)
	if err != nil {
		return err
	}
	cars, err := t.cars()
	if err != nil {
		return err
	}
	if err := t.gather(ctx, nil); err != nil {
		return err
	}
	t.aisleM = aisleM
	for i := range cars {
		if err := t.setOut(cars[i].At(), carReachM); err != nil {
			return err
		}
		if err := t.gather(ctx, &cars[i]); err != nil {
			return err
		}
		if t.over() {
			break
		}
	}
	t.options = slices.Clone(t.fit)
	t.thin()
	t.fit, t.options, t.shown = append(t.fit, met...), append(t.options, met...), append(t.shown, met...)
	return nil
}

// gather lists the options from where the scout set out: places by hours by stays that
// keep the limit.
func (t *training) gather(ctx context.Context, car *Car) error {
	views := t.views(t.moments, stays[len(stays)-1], &t.sieve)
	if len(views) == 0 {
		return ctx.Err()
	}
	var ways *trips
	for _, v := range views {
		if t.over() {
			break
		}
		for _, c := range t.places(v, t.w.Least, &t.sieve) {
			if placeIn(t.w.Bans, c.At) >= 0 || c.WalkM < leastWalkM {
				continue
			}
			t.found = append(t.found, c)
			if ways == nil {
				var err error
				if ways, err = tripsFrom(ctx, t.p, t.w, t.from, t.reachM); err != nil {
					return err
				}
			}
			t.offer(v, &c, ways, car)
		}
	}
	return nil
}

// offer adds what a place shows at the hours and for the stays.
func (t *training) offer(v *view, c *Vantage, ways *trips, car *Car) {
	for i, m := range t.moments {
		if t.w.tooNear(t.w.Times[i], c.Multiple) {
			continue
		}
		wayX := math.NaN()
		for _, stay := range stays {
			show, ok := t.showing(v, c, m, stay)
			if !ok {
				continue
			}
			if math.IsNaN(wayX) {
				wayX = ways.x(c, i)
				if car == nil { // a way in is made longer where it is too short
					wayX *= (1 + max(1, calmInS*t.dog.PaceMPS()/max(c.WalkM, 1))) / 2
				}
			}
			o := Option{Place: Place{*c, show}, Arrive: t.w.Times[i].In(t.p.Zone()), StayS: stay, Pin: 1 + placeIn(t.w.Pins, c.At), Kept: placeIn(t.w.Keep, c.At) >= 0,
				Car: car, AsideX: t.asideX(c, car, m)}
			o.AboutX = wayX + o.AsideX + show.WatchX + show.OtherX
			o.Class = classOf(c, &show, stay)
			t.shown = append(t.shown, o)
			if math.IsInf(o.AboutX, 1) {
				continue // what may be walked leads nowhere near
			}
			if o.BesidesX() <= t.w.MaxX {
				t.fit = append(t.fit, o)
			}
		}
	}
}

// classOf says how hard a stay at a place is.
func classOf(c *Vantage, show *Showing, stayS float64) StepClass {
	longer := slices.IndexFunc(stays[:], func(s float64) bool { return stayS <= s })
	if longer < 0 {
		longer = len(stays)
	}
	return StepClass{distanceClass(c.Multiple), int(math.Round(2 * math.Log2(math.Max(show.Number, 0.5)))), min(3, int(c.RoomM/10)), longer}
}

// placeIn is the number of the first of some places that one is at, -1 for none.
func placeIn(places []plane.Point, at plane.Point) int {
	return slices.IndexFunc(places, func(q plane.Point) bool { return q.DistanceM(at) < apartPlacesM })
}

// asked says that a person named the place: it is not left out for others.
func (o *Option) asked() bool { return o.Pin > 0 || o.Kept }

// thin keeps for each distance the few best places, and for each place the few
// calmest hours that differ in how busy they are. Places from the door and from a car
// do not crowd each other out.
func (t *training) thin() {
	slices.SortStableFunc(t.options, func(a, b Option) int {
		return cmp.Or(cmp.Compare(b.Pin, a.Pin), cmp.Compare(bool01(b.Kept), bool01(a.Kept)), cmp.Compare(a.byCar(), b.byCar()), cmp.Compare(a.Grade, b.Grade),
			cmp.Compare(a.BesidesX(), b.BesidesX()), cmp.Compare(a.WalkM, b.WalkM))
	})
	type slot struct {
		at   plane.Point
		stay float64
	}
	type group struct{ near, byCar, off int }
	places, kept := map[group][]plane.Point{}, t.options[:0]
	busy := map[slot][]int{}
	for _, o := range t.options {
		own := group{o.Class.Near, o.byCar(), o.offWay()}
		near := places[own]
		if !slices.Contains(near, o.At) {
			if len(near) == placesPerStep && !o.asked() {
				continue
			}
			places[own] = append(near, o.At)
		}
		at := slot{o.At, o.StayS}
		if len(busy[at]) == timesPerPlace || slices.Contains(busy[at], o.Class.Busy) {
			continue
		}
		busy[at] = append(busy[at], o.Class.Busy)
		kept = append(kept, o)
	}
	t.options = kept
}

// byCar is 1 for a visit by car.
func (o *Option) byCar() int { return bool01(o.Car != nil || o.Meeting != nil) }

// visit plans the ways of a chain; false if a visit turned out to cost too much
// or to have no way in of five minutes, after which the chain must be found anew
// without it.
func (t *training) visit(ctx context.Context, seq *Sequence, chain []Option) bool {
	seq.Visits = nil
	for i := range chain {
		if ctx.Err() != nil {
			return true
		}
		var v *Visit
		var err error
		m := chain[i].Meeting
		if m != nil {
			v = m.visit(&chain[i])
		} else {
			v, err = visit(ctx, t.p, t.w, &chain[i], nil)
		}
		switch {
		case m != nil:
		case err != nil, v.BesidesX() > t.w.MaxX, v.Car == nil && v.In.DurationS < calmInS:
			t.dropped[chain[i].key()] = true
			seq.Visits, seq.Complete = nil, false
			return false
		}
		if i > 0 {
			v.Harder, v.Easier = compare(chain[i-1].Class, chain[i].Class)
		}
		seq.Visits = append(seq.Visits, *v)
	}
	return true
}

// compare says in what a visit is harder or easier than another.
func compare(before, after StepClass) (harder, easier []string) {
	for _, d := range [...]struct {
		more           int
		harder, easier string
	}{
		{before.Near - after.Near, "nearer", "farther"},
		{after.Busy - before.Busy, "busier", "quieter"},
		{before.Room - after.Room, "less room", "more room"},
		{after.Duration - before.Duration, "longer", "shorter"},
	} {
		switch {
		case d.more > 0:
			harder = append(harder, d.harder)
		case d.more < 0:
			easier = append(easier, d.easier)
		}
	}
	return harder, easier
}

// mostAlternatives are told for each step.
const mostAlternatives = 3

// alternatives finds for each step other options of about its hardness, between
// its neighbours, and orders all that is shown.
func (t *training) alternatives(seq *Sequence) {
	for i := range seq.Visits {
		seq.Options = append(seq.Options, seq.Visits[i].Option)
	}
	for i := range seq.Visits {
		own := &seq.Visits[i].Option
		var others []Option
		for _, o := range t.options {
			if o.Meeting != nil || t.dropped[o.key()] || abs(o.Class.Near-own.Class.Near) > 1 || o.At == own.At && o.Arrive.Equal(own.Arrive) {
				continue
			}
			if i > 0 && !stepAllowed(&seq.Visits[i-1].Option, &o) || i+1 < len(seq.Visits) && !stepAllowed(&o, &seq.Visits[i+1].Option) {
				continue
			}
			others = append(others, o)
		}
		slices.SortStableFunc(others, func(a, b Option) int {
			return cmp.Or(cmp.Compare(classGap(own.Class, a.Class), classGap(own.Class, b.Class)), cmp.Compare(a.byCar(), b.byCar()), cmp.Compare(a.BesidesX(), b.BesidesX()))
		})
		taken := []visitKey{own.key()}
		for _, o := range others {
			if len(taken) > mostAlternatives {
				break
			}
			if !slices.Contains(taken, o.key()) {
				taken = append(taken, o.key())
				seq.Visits[i].Alternatives = append(seq.Visits[i].Alternatives, len(seq.Options))
				seq.Options = append(seq.Options, o)
			}
		}
	}
	seq.Arcs = reduced(seq.Options)
}

func classGap(a, b StepClass) int {
	return abs(a.Near-b.Near) + abs(a.Busy-b.Busy) + abs(a.Room-b.Room) + abs(a.Duration-b.Duration)
}

// What is assumed about visits.
const (
	AssumedNumbers  exposure.Assumed = "visit_numbers"  // how many triggers there are: from the map
	AssumedOnce     exposure.Assumed = "visit_once"     // each counts once
	AssumedPractice exposure.Assumed = "visit_practice" // distances, steps, minutes and food: common practice
	AssumedCover    exposure.Assumed = "visit_cover"    // what the map lacks may hide or show
	AssumedOpen     exposure.Assumed = "visit_open"     // whose open ground is
	AssumedCar      exposure.Assumed = "visit_car"      // drive times
)

// assumedOfVisits lists what a sequence rests on that nobody measured.
func assumedOfVisits(w *Wish) []exposure.Assumption {
	out := []exposure.Assumption{{What: AssumedNumbers}, {What: AssumedOnce}, {What: AssumedPractice}, {What: AssumedCover}, {What: AssumedOpen}}
	if w.DriveMin > 0 {
		out = append(out, exposure.Assumption{What: AssumedCar})
	}
	return append(out, w.Dog.Assumptions()...)
}
