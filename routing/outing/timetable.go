package outing

import (
	"cmp"
	"context"
	"math"
	"slices"
	"time"

	"wideberth/exposure"
	"wideberth/osmdata/parallel"
	"wideberth/osmdata/plane"
	"wideberth/routing"
	"wideberth/routing/reach"
)

// Timetable is the answer to an outing.
type Timetable struct {
	Start         time.Time
	Minutes       float64
	Zone          string // name of the time zone that hours are told in
	Slack         Slack
	Gate          GateArithmetic
	Rows          []Row    // by start
	Unserved      []string // dogs left in
	WishedMin     float64
	GrantedMin    float64
	Reactions     float64 // X of all walks
	PerMinute     float64 // X a walked minute: loops may be somewhat longer or shorter than granted
	AlonePerMin   float64 // the same dogs, each with nobody else out, at its best hour of the outing
	MostAtOnce    int     // dogs out at one time
	Loads         []Load  // of the people, in the order of the wish
	Pinches       []Pinch // least separations, tightest first
	Shortage      *Shortage
	Lead          *Lead // why the first walk begins late; nil if it does not, or on the day
	Assumed       []exposure.Assumption
	MapTime       time.Time
	At            plane.Point // the gate on the network
	ZoneM         float64
	Together      [][2]string // dogs that may meet
	Changed       []string    // on the day: dogs whose walk is another than before
	Unavoidable   []Pinch     // on the day: pairs already out that may come too near
	TurnMin       float64     // from one dog to the next
	Resting       []string    // dogs whose day off it is, or that had a bad day
	Respites      []Respite   // what bad days ask for
	Hot           *Heat       // what holds as the day is hot, nil where it is not
	StemM         float64     // from the gate: ground that is everybody's
	EdgesSearched int
}

// Row is one walk of a timetable.
type Row struct {
	Dog, Person string
	Second      string // goes with them, "" for nobody
	With        string // the dog that is walked with it by the same person
	Kennel      string // its row
	Apart       Apart
	Passes      []string // going out: dogs of its row that are in their kennels
	Bite        bool
	StartMin    int       // minute of the outing at which it passes the gate
	Meet        time.Time // when to be at the gate
	Leave       time.Time
	Back        time.Time // latest, at the slowest pace
	WishedMin   float64
	GrantedMin  float64
	NeedM       float64 // working distance to other dogs
	Reactions   float64
	AlonePerMin float64        // X a minute with nobody else out, at its best hour
	Line        plane.Polyline // of the walk
	ProgressS   []float64      // at each point of the line, at the usual pace
	Holds       []Hold
	Plan        *routing.Plan // the walk with its legs, for the hand-out; nil for one under way
	Changed     bool          // on the day: other than before
	UnderWay    bool          // on the day: begun, cannot be changed
}

// AloneX is what the walk would bring with nobody else out, at its best hour: as many
// minutes as it takes at the usual pace.
func (r *Row) AloneX() float64 { return r.AlonePerMin * r.ProgressS[len(r.ProgressS)-1] / 60 }

// AloneX is what the walks would bring, each with nobody else out at its best hour.
func (t *Timetable) AloneX() (sum float64) {
	for i := range t.Rows {
		sum += t.Rows[i].AloneX()
	}
	return sum
}

// Load is what one person walks.
type Load struct {
	Person   string
	HoursMin int // minutes there
	WalkMin  int // of them walking, at the latest
	Walks    int
	FirstMin int // minute of the outing of the first walk, -1 for none
	BreakMin int // longest time without a walk between the first and the last hour there
}

// Fairness is Jain's index of loads by hours: (sum x)^2 / (n sum x^2), 1 where all walk
// the same share of their time, 1/n where one walks it all (Jain, Chiu and Hawe 1984,
// DEC-TR-301). Who is not there does not count; 1 for nobody.
func (t *Timetable) Fairness() float64 {
	var shares []float64
	for _, l := range t.Loads {
		if l.HoursMin > 0 {
			shares = append(shares, float64(l.WalkMin)/float64(l.HoursMin))
		}
	}
	return jain(shares)
}

func jain(x []float64) float64 {
	sum, squares := 0.0, 0.0
	for _, v := range x {
		sum, squares = sum+v, squares+v*v
	}
	if squares == 0 {
		return 1
	}
	return sum * sum / (float64(len(x)) * squares)
}

// Hold is a quiet place that a walk does not leave before a printed time.
type Hold struct {
	At        plane.Point
	ProgressS float64
	NotBefore time.Time
}

// GateArithmetic is how many walks the gate lets through, known before any search.
type GateArithmetic struct {
	OutMin     float64 // minutes of the timetable that a walk blocks going out
	InMin      float64 // and coming home
	Walks      int     // most that the outing has room for; a ceiling
	Dogs       int
	Sufficient bool
}

// paceSpread is the doubt in the clock that each second of walking adds: 0.202 s.
const paceSpread = 1/slowPace - 1/fastPace

// gateArithmetic counts what a walk blocks the gate zone for. With z the crossing
// of the zone at the slow pace, T the usual duration, c what is walked after the
// last hold, D the lateness and i what it takes to be inside:
//
//	free     (D + z) + (D + 0.202 T + z + i)
//	printed  (D + z) + (D + 0.202 c + z + i)
//	holds    z + (0.202 c + z + i)
func gateArithmetic(o *Wish, afterHoldS float64) GateArithmetic {
	z := o.zoneM() / (usualPaceMPS * slowPace)
	mean := 0.0
	for i := range o.Dogs {
		mean += o.Dogs[i].Minutes * 60 / float64(len(o.Dogs))
	}
	out, in := z, z+insideS+paceSpread*min(mean, afterHoldS)
	switch o.slack() {
	case Free:
		out, in = lateS+z, lateS+z+insideS+paceSpread*mean
	case Printed:
		out, in = lateS+out, lateS+in
	}
	g := GateArithmetic{OutMin: out / 60, InMin: in / 60, Dogs: len(o.Dogs)}
	g.Walks = int(o.Minutes / (g.OutMin + g.InMin))
	wanted := g.Dogs
	for i := range o.Dogs {
		if o.mate(i) > i { // two go at once
			wanted--
		}
	}
	g.Sufficient = g.Walks >= wanted
	return g
}

// GateArithmetic is what can be said before any search: the ceiling that the gate
// puts on an outing.
func (o *Wish) GateArithmetic() (GateArithmetic, error) {
	if err := o.Check(); err != nil {
		return GateArithmetic{}, err
	}
	day := o.awake()
	return gateArithmetic(&day, lastHoldS), nil
}

// Outing plans a timetable. Faults of the outing are fault.Problems; where the
// gate has no walks at all it is an *Infeasible. Dogs that cannot be served are
// listed with the reason and what would help.
func Plan(ctx context.Context, p *routing.Planner, o Wish) (*Timetable, error) {
	if err := o.Check(); err != nil {
		return nil, err
	}
	resting, respites := o.resting(), o.respites()
	o = today(p, &o)
	s, err := newScheme(ctx, p, &o)
	if err != nil {
		return nil, err
	}
	f := newFinder(&s.problem, o.Seed)
	best := f.run(ctx, o.work())
	t, err := s.timetable(ctx, s.spread(best))
	if err != nil {
		return nil, err
	}
	t.Resting, t.Respites = resting, respites
	if len(t.Unserved) > 0 {
		t.Shortage = s.shortage(ctx, best)
	}
	t.Lead = s.lead(best)
	return t, ctx.Err()
}

// scheme is an outing made ready for the search.
type scheme struct {
	*ground
	problem
	loops  []poolLoop
	tracks []track
	rate   []float64 // per dog: X a minute on its best loop of the whole wish, what prices are made of
	alone  []float64 // per dog: X a minute on the walk it would get with nobody else out
	begun  []bool    // per dog: on the day, its walk is under way or over
}

// newScheme makes the pool, the table and the prices.
func newScheme(ctx context.Context, p *routing.Planner, o *Wish) (*scheme, error) {
	g, err := newGround(ctx, p, o)
	if err != nil {
		return nil, err
	}
	loops, err := g.pool(ctx)
	if err != nil {
		return nil, err
	}
	if len(loops) == 0 {
		return nil, &reach.Infeasible{Reason: reach.NoLoop, Field: "gate"}
	}
	s := &scheme{ground: g, loops: loops}
	s.lay(ctx)
	return s, ctx.Err()
}

// lay fills the table and the search problem from the loops.
func (s *scheme) lay(ctx context.Context) {
	s.tracks = make([]track, len(s.loops))
	s.busyMin, s.walkMin = make([]int, len(s.loops)), make([]int, len(s.loops))
	for i := range s.loops {
		l := &s.loops[i]
		b := band{s.o.slack(), l.holds}
		cells := cellsOf(l.line, l.atS, &b, s.start.At, s.o.zoneM())
		s.tracks[i] = track{cells, blocksOf(cells), b.late(l.durationS)}
		s.walkMin[i] = int(math.Ceil(b.late(l.durationS) / 60))
		s.busyMin[i] = int(math.Ceil(l.durationS/slowPace/60 + s.o.turnMin()))
	}
	classes := []float64{0}
	for i := range s.o.Dogs {
		classes = append(classes, s.o.Dogs[i].separationM())
	}
	s.table = newTable(ctx, s.tracks, classesOf(classes))
	s.lastMin = int(s.o.Minutes)
	s.class = make([][]int, len(s.o.Dogs))
	for i := range s.class {
		s.class[i] = make([]int, len(s.o.Dogs))
		for j := range s.class[i] {
			s.class[i][j] = s.table.class(s.o.separation(i, j))
			if s.o.together(i, j) {
				s.class[i][j] = -1
			}
		}
	}
	s.ask()
	for i := range s.o.People {
		p := &s.o.People[i]
		from, to := s.o.hours(p)
		s.people = append(s.people, personTask{p.Experience, from + s.o.onTimeMin(), to, p.WalkedMin, p.ThereMin})
	}
	s.rules()
	s.houseRules()
}

// rules fills in what holds for single dogs and people: who goes with whom, until when,
// what waiting costs, that loads are fair and that there are breaks.
func (s *scheme) rules() {
	mean := 0.0
	for d := range s.o.Dogs {
		mean += max(s.rate[d], leastRate) / float64(len(s.o.Dogs))
	}
	if !s.o.AnyLoads {
		s.fair = mean
	}
	s.breaks = !s.o.NoBreaks
	for d := range s.o.Dogs {
		dog, t := &s.o.Dogs[d], &s.dogs[d]
		t.wait = waitShare[s.o.waiting()] * mean
		if dog.First {
			t.wait *= firstWeighs
		}
		t.until = math.MaxInt32
		if !dog.FinishBy.IsZero() {
			t.until = int(math.Floor(dog.FinishBy.Sub(s.o.Start).Minutes()))
		}
		for p := range s.o.People {
			name := s.o.People[p].Name
			if len(dog.OnlyWith) > 0 && !slices.Contains(dog.OnlyWith, name) || slices.Contains(dog.NeverWith, name) {
				if t.never == nil {
					t.never = make([]bool, len(s.o.People))
				}
				t.never[p] = true
			}
		}
	}
}

// ask makes the dogs' tasks: which loops suit and what they cost.
func (s *scheme) ask() {
	s.rate, s.alone = make([]float64, len(s.o.Dogs)), make([]float64, len(s.o.Dogs))
	mean := 0.0
	for d := range s.o.Dogs {
		s.rate[d] = s.bestRate(d)
		mean += s.rate[d] / float64(len(s.o.Dogs))
	}
	for d := range s.o.Dogs {
		dog := &s.o.Dogs[d]
		price := s.o.minutePrice() * max(s.rate[d], mean, leastRate)
		t := dogTask{least: dog.needs(), unserved: unservedPrice * price * dog.Minutes, byLoop: make([]int, len(s.loops))}
		least := math.Inf(1)
		for i := range s.loops {
			t.byLoop[i] = -1
			l := &s.loops[i]
			if !s.suits(l, d) {
				continue
			}
			o := option{loop: i, cost: make([]float64, len(l.x[d]))}
			missed := max(0, dog.Minutes-l.durationS/60)
			for h, x := range l.x[d] {
				o.cost[h] = x + price*missed
				if o.cost[h] < least {
					least, s.alone[d] = o.cost[h], x/(l.durationS/60)
				}
			}
			o.least = slices.Min(o.cost)
			t.options = append(t.options, o)
		}
		slices.SortStableFunc(t.options, func(a, b option) int { return cmp.Compare(a.least, b.least) })
		for i := range t.options {
			t.byLoop[t.options[i].loop] = i
		}
		s.dogs = append(s.dogs, t)
	}
}

// leastRate is the least X a minute that prices are made from: calm dogs want
// their minutes too.
const leastRate = 1e-4

// leastGranted is the least share of a wish that is worth a walk.
const leastGranted = 0.5

// suits says that a loop is neither too long nor far too short for a dog, and
// that no limit keeps it off.
func (s *scheme) suits(l *poolLoop, d int) bool {
	wish := s.o.Dogs[d].Minutes * 60
	return l.x != nil && l.x[d] != nil && l.durationS <= wish*(1+routing.DefaultLonger)+1 && l.durationS >= wish*leastGranted && (s.o.hot == nil || l.durationS <= 60*s.o.hot.MostMin+1) && s.allowed(l, d)
}

// bestRate is X a minute on a dog's best loop of the whole wish, else on its best.
func (s *scheme) bestRate(d int) float64 {
	whole, least := math.Inf(1), math.Inf(1)
	for i := range s.loops {
		l := &s.loops[i]
		if !s.suits(l, d) {
			continue
		}
		x := slices.Min(l.x[d]) / (l.durationS / 60)
		least = min(least, x)
		if l.durationS >= s.o.Dogs[d].Minutes*60*(1-routing.DefaultShorter)-1 {
			whole = min(whole, x)
		}
	}
	switch {
	case !math.IsInf(whole, 1):
		return whole
	case !math.IsInf(least, 1):
		return least
	}
	return 0
}

// timetable writes a solution out.
func (s *scheme) timetable(ctx context.Context, all []placement) (*Timetable, error) {
	t := &Timetable{Start: s.o.Start.In(s.p.Land().Clock.Loc), Minutes: s.o.Minutes, Zone: s.p.Land().Snap.Zone, Slack: s.o.slack(),
		MapTime: s.p.Land().Snap.MapTime, At: s.start.At, ZoneM: s.o.zoneM(), Together: s.o.Together, EdgesSearched: len(s.reach.Edges), TurnMin: s.o.turnMin(), Hot: s.o.hot, StemM: s.stemM()}
	for d := range s.o.Dogs {
		if k := s.o.mate(d); k > d {
			t.Together = append(slices.Clone(t.Together), [2]string{s.o.Dogs[d].Dog.Name, s.o.Dogs[k].Dog.Name})
		}
	}
	t.Gate = gateArithmetic(s.o, s.afterHoldS())
	rows := make([]*Row, len(all))
	err := parallel.For(ctx, len(all), func(d int) error {
		if all[d].loop >= 0 {
			rows[d] = s.row(d, all[d])
			rows[d].Passes = s.passes(d, all)
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	alone := 0.0
	for d, r := range rows {
		if r == nil && s.held(d) {
			continue // taken out of the outing
		}
		t.WishedMin += s.o.Dogs[d].Minutes
		if r == nil {
			t.Unserved = append(t.Unserved, s.o.Dogs[d].Dog.Name)
			continue
		}
		t.GrantedMin += r.GrantedMin
		t.Reactions += r.Reactions
		minutes := s.loops[all[d].loop].durationS / 60
		t.PerMinute += minutes
		alone += s.alone[d] * minutes
		t.Rows = append(t.Rows, *r)
	}
	if walked := t.PerMinute; walked > 0 {
		t.PerMinute, t.AlonePerMin = t.Reactions/walked, alone/walked
	}
	slices.SortStableFunc(t.Rows, func(a, b Row) int { return cmp.Compare(a.StartMin, b.StartMin) })
	t.MostAtOnce = s.mostAtOnce(all)
	t.Loads = s.loads(all)
	t.Pinches = s.pinches(all)
	t.Assumed = s.assumptions()
	return t, nil
}

// loads counts what everybody walks.
func (s *scheme) loads(all []placement) []Load {
	out := make([]Load, len(s.o.People))
	for p := range out {
		from, to := s.o.hours(&s.o.People[p])
		l := Load{Person: s.o.People[p].Name, HoursMin: max(0, to-from), FirstMin: -1}
		var busy [][2]int
		for d, at := range all {
			if at.loop < 0 || !at.has(p) || s.follows(d) {
				continue
			}
			l.Walks++
			l.WalkMin += s.walkMin[at.loop]
			if l.FirstMin < 0 || at.start < l.FirstMin {
				l.FirstMin = at.start
			}
			busy = append(busy, [2]int{at.start, at.start + s.busyMin[at.loop]})
		}
		l.BreakMin = longestGap(busy, from+60, to-60)
		out[p] = l
	}
	return out
}

// longestGap is the longest time between two minutes that no span takes.
func longestGap(busy [][2]int, from, to int) (longest int) {
	slices.SortFunc(busy, func(a, b [2]int) int { return a[0] - b[0] })
	for _, s := range busy {
		longest = max(longest, min(s[0], to)-from)
		from = max(from, s[1])
	}
	return max(0, longest, to-from)
}

// row writes one walk out.
func (s *scheme) row(d int, at placement) *Row {
	l, dog := &s.loops[at.loop], &s.o.Dogs[d]
	leave := s.t(at.start)
	r := &Row{Dog: dog.Dog.Name, Person: s.o.People[at.person].Name, Bite: dog.hasBitten(), StartMin: at.start, Leave: leave, Meet: leave,
		Back: leave.Add(routing.Seconds(s.tracks[at.loop].endS)), WishedMin: dog.Minutes, GrantedMin: min(dog.Minutes, l.durationS/60), NeedM: s.o.roomM(d), Kennel: dog.Row, Apart: dog.Apart,
		AlonePerMin: s.alone[d], Line: l.line, ProgressS: l.atS}
	if k := s.o.mate(d); k >= 0 {
		r.With = s.o.Dogs[k].Dog.Name
	}
	if at.second > 0 {
		r.Second = s.o.People[at.second-1].Name
	}
	if s.o.slack() == Holds {
		r.Meet = leave.Add(-routing.Seconds(lateS))
	}
	t := tracer{line: l.line, atS: l.atS}
	for _, u := range l.holds {
		r.Holds = append(r.Holds, Hold{t.at(u), u, leave.Add(routing.Seconds(u / slowPace))})
	}
	if l.arcs == nil {
		r.Reactions = l.x[d][0]
		return r
	}
	r.Plan = s.told(d, l, leave, r.Holds)
	r.Reactions = r.Plan.Walks[0].ExpectedReactions
	return r
}

// t is a minute of the outing on the clock.
func (s *scheme) t(minute int) time.Time {
	return s.o.Start.In(s.p.Land().Clock.Loc).Add(time.Duration(minute) * time.Minute)
}

// afterHoldS is what is walked after the last hold, in the middle of the pool.
func (s *scheme) afterHoldS() float64 {
	var each []float64
	for i := range s.loops {
		l := &s.loops[i]
		last := 0.0
		if n := len(l.holds); n > 0 {
			last = l.holds[n-1]
		}
		each = append(each, l.durationS-last)
	}
	slices.Sort(each)
	return each[len(each)/2]
}

// What is assumed about an outing.
const (
	AssumedSlack       exposure.Assumed = "outing_pace"         // pace in m/s of every dog, a tenth slower or faster
	AssumedLate        exposure.Assumed = "outing_late"         // minutes late at most, minutes from one dog to the next
	AssumedMinutePrice exposure.Assumed = "outing_minute_price" // what a wished minute not granted weighs, in minutes of the dog's own best walk
	AssumedStraight    exposure.Assumed = "outing_straight"     // separation is straight-line
	AssumedHolds       exposure.Assumed = "outing_holds"        // standing at a hold is not counted
	AssumedWith        exposure.Assumed = "outing_with"         // two that go together react as each would alone
	AssumedStem        exposure.Assumed = "outing_stem"         // metres from the gate that are everybody's ground
	AssumedHot         exposure.Assumed = "outing_hot"          // most minutes on a hot day, hours from and to
	AssumedChangePrice exposure.Assumed = "outing_change_price" // what changing a walk weighs, in wished minutes not granted
)

// assumptions are what a timetable rests on.
func (s *scheme) assumptions() []exposure.Assumption {
	out := []exposure.Assumption{
		{What: AssumedSlack, Numbers: []float64{usualPaceMPS}},
		{What: AssumedLate, Numbers: []float64{lateS / 60, s.o.turnMin()}},
		{What: AssumedMinutePrice, Numbers: []float64{s.o.minutePrice()}},
		{What: AssumedStraight},
	}
	if s.o.slack() != Free {
		out = append(out, exposure.Assumption{What: AssumedHolds})
	}
	if s.leader != nil {
		out = append(out, exposure.Assumption{What: AssumedWith})
	}
	if s.shares != nil {
		out = append(out, exposure.Assumption{What: AssumedStem, Numbers: []float64{math.Ceil(s.stemM())}})
	}
	if h := s.o.hot; h != nil {
		out = append(out, exposure.Assumption{What: AssumedHot, Numbers: []float64{h.MostMin}})
	}
	return out
}
