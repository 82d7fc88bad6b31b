package outing

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"time"

	"wideberth/exposure/learning"
	"wideberth/osmdata/fault"
	"wideberth/routing"
)

// House is what the rules of a kennel ask of one dog, beside distances and people.
type House struct {
	With   string          // name of the dog that it is walked with, both by one person; either may name the other
	People int             // who walk it at once, 2 or, for 0, one; each of them may walk it
	Row    string          // of its kennel: dogs of one row go in and out a turnaround apart; "" for none
	Apart  Apart           // "" for ground as everybody's
	Rest   []time.Weekday  // on which it is not walked
	Overs  []learning.Over // when it went over threshold of late: a bad day may ask for a day of rest
	Walks  bool            // although it does: the coordinator's word
}

// Apart says how a dog's ground is kept from others: puppies, quarantine.
type Apart string

// The ways. All share the way from the gate to the first junction.
const (
	ApartGround Apart = "ground" // no street that another dog of the outing walks
	ApartLast   Apart = "last"   // such streets only once the others are home; apart from each other only by distance
)

// Heat is what holds on a hot day. Common practice: short, and not around noon.
type Heat struct {
	MostMin  float64   // of a walk, 0 for 20
	From, To time.Time // nobody is out between the two; zero for 11 and 17 o'clock
}

const (
	hotTmaxC      = 25.0 // from about this air temperature paved ground in the sun can burn paws (common practice)
	usualHotMin   = 20.0
	usualHotFrom  = 11 // o'clock, like the next (common practice)
	usualHotTo    = 17
	mostHands     = 2
	mostHouseRows = 64 // a bit each
)

// roomM is how far a dog, and the one it is walked with, wants others to be.
func (o *Wish) roomM(i int) float64 {
	m := o.Dogs[i].separationM()
	if k := o.mate(i); k >= 0 {
		m = max(m, o.Dogs[k].separationM())
	}
	return m
}

// mate is the dog that another is walked with, -1 for none.
func (o *Wish) mate(i int) int {
	if with := o.Dogs[i].With; with != "" {
		return o.dogNamed(with)
	}
	return slices.IndexFunc(o.Dogs, func(d Dog) bool { return d.With != "" && d.With == o.Dogs[i].Dog.Name })
}

func (o *Wish) checkHouse(bad func(pointer string, value any, mend string)) {
	named := map[string]int{}
	for i := range o.Dogs {
		d := &o.Dogs[i]
		at := func(field string) string { return fmt.Sprintf(pointerDogsFormat, i, field) }
		if k := o.mate(i); d.With != "" {
			named[d.With]++
			switch {
			case k < 0 || k == i:
				bad(at("with"), d.With, "name another dog of this outing")
			case o.Dogs[k].With != "" && o.Dogs[k].With != d.Dog.Name || named[d.With] > 1:
				bad(at("with"), d.With, "two dogs go together and no more")
			case d.hasBitten() || o.Dogs[k].hasBitten():
				bad(at("with"), d.With, "a dog that has bitten is walked by itself")
			}
		}
		if d.People < 0 || d.People > mostHands {
			bad(at("people"), d.People, "give 1 or 2, or leave it out")
		}
		if len(d.Row) > nameMost {
			bad(at("row"), fault.Clip(d.Row), "give a name of at most 80 bytes")
		}
		if d.Apart != "" && d.Apart != ApartGround && d.Apart != ApartLast {
			bad(at("apart"), string(d.Apart), "use ground or last, or leave it out")
		}
		checkDays(d.Rest, func(k int, day any, mend string) { bad(at(fmt.Sprintf("rest/%d", k)), day, mend) })
	}
	if len(o.People) > 0 && len(o.awake().People) == 0 {
		bad("/people", len(o.People), "nobody comes on that day: ask for somebody, or take another")
	}
	if len(o.Dogs) > 0 && len(o.awake().Dogs) == 0 {
		bad("/dogs", len(o.Dogs), "every dog rests on that day: take another, or let one go")
	}
	if h := o.Heat; h != nil {
		if h.MostMin != 0 && !(h.MostMin >= routing.LeastMinutes && h.MostMin <= mostDogMinutes) {
			bad("/heat/most_minutes", fault.Number(h.MostMin), fmt.Sprintf("give %d to %d minutes, or leave it out", routing.LeastMinutes, mostDogMinutes))
		}
		if !h.From.IsZero() && !h.To.IsZero() && !h.To.After(h.From) {
			bad("/heat/to", h.To.Format(time.RFC3339), "must come after from")
		}
	}
}

func checkDays(days []time.Weekday, bad func(k int, day any, mend string)) {
	for k, day := range days {
		if day < time.Sunday || day > time.Saturday || k >= 7 {
			bad(k, int(day), "name days of the week, each once")
		}
	}
}

// awake is the outing without the dogs that rest on its day, and who does not come.
func (o *Wish) awake() Wish {
	out := *o
	out.Dogs = nil
	out.People = slices.DeleteFunc(slices.Clone(o.People), func(p Person) bool { return slices.Contains(p.Rest, o.Start.Weekday()) })
	for i := range o.Dogs {
		if !o.rests(&o.Dogs[i]) {
			out.Dogs = append(out.Dogs, o.Dogs[i])
		}
	}
	for i := range out.Dogs {
		if with := out.Dogs[i].With; with != "" && out.dogNamed(with) < 0 {
			out.Dogs[i].With = ""
		}
	}
	return out
}

// rests says that a dog is not walked on the outing's day: it is its day off, or it had a
// bad one.
func (o *Wish) rests(d *Dog) bool {
	r, _ := learning.RespiteAt(d.Overs, o.Start)
	return slices.Contains(d.Rest, o.Start.Weekday()) || r.Rest && !d.Walks
}

// Respite is what a bad day asks of a dog on the day of an outing, and what becomes of it.
type Respite struct {
	Dog string
	learning.Respite
	Overruled bool // it is walked all the same
}

// respites are those of all dogs.
func (o *Wish) respites() (out []Respite) {
	for i := range o.Dogs {
		if r, ok := learning.RespiteAt(o.Dogs[i].Overs, o.Start); ok {
			out = append(out, Respite{o.Dogs[i].Dog.Name, r, r.Rest && o.Dogs[i].Walks})
		}
	}
	return out
}

// Idle says that every dog rests on the outing's day, or nobody comes.
func (o *Wish) Idle() bool {
	day := o.awake()
	return len(o.Dogs) > 0 && len(day.Dogs) == 0 || len(o.People) > 0 && len(day.People) == 0
}

// resting are the dogs that are not walked on the outing's day.
func (o *Wish) resting() (names []string) {
	for i := range o.Dogs {
		if o.rests(&o.Dogs[i]) {
			names = append(names, o.Dogs[i].Dog.Name)
		}
	}
	return names
}

// parted lets two dogs go on their own, though they may meet; the list of dogs is the
// outing's own.
func (o *Wish) parted(a, b int) {
	o.Together = append(slices.Clone(o.Together), [2]string{o.Dogs[a].Dog.Name, o.Dogs[b].Dog.Name})
	o.Dogs[a].With, o.Dogs[b].With = "", ""
}

// today is the outing as its day lets it be: who rests is out; on a hot day wishes are
// short, and there are hours at which nobody is out.
func today(p *routing.Planner, o *Wish) Wish {
	out := o.awake()
	tmaxC, _ := p.Land().Clock.At(o.Start).Tmax()
	if o.Heat == nil || tmaxC < hotTmaxC {
		return out
	}
	y, m, d := o.Start.In(p.Zone()).Date()
	hour := func(t time.Time, usual int) time.Time {
		if t.IsZero() {
			return time.Date(y, m, d, usual, 0, 0, 0, p.Zone())
		}
		return t
	}
	out.hot = &Heat{cmp.Or(o.Heat.MostMin, usualHotMin), hour(o.Heat.From, usualHotFrom), hour(o.Heat.To, usualHotTo)}
	for i := range out.Dogs {
		out.Dogs[i].Minutes = min(out.Dogs[i].Minutes, out.hot.MostMin)
	}
	return out
}

// span is the minutes of the outing that a hot day takes, from the first to one past
// the last.
func (h *Heat) span(o *Wish) (from, to int) {
	if h == nil {
		return 0, 0
	}
	return int(math.Floor(h.From.Sub(o.Start).Minutes())), int(math.Ceil(h.To.Sub(o.Start).Minutes()))
}

// rulebook is what rules of the house are in a problem; the zero value has none.
type rulebook struct {
	leader   []int // per dog: the one that it follows, itself for one that leads; nil where none follows
	shutFrom int   // minutes at which nobody is out, from the first to one past the last
	shutTo   int
	clearMin int      // between two passings of one row
	lateMin  int      // after its minute somebody may pass the gate
	homeMin  []int    // per loop: the first minute at which it may be home
	shares   [][]bool // per pair of loops: they have ground in common; nil where nobody asks
	rows     bool     // some dogs have a row
}

// follows says that a dog is walked with another, which stands for both.
func (r *rulebook) follows(d int) bool { return r.leader != nil && r.leader[d] != d }

// spread gives the dogs that follow the place of the one they go with.
func (r *rulebook) spread(all []placement) []placement {
	if r.leader == nil {
		return all
	}
	out := slices.Clone(all)
	for d := range out {
		out[d] = all[r.leader[d]]
	}
	return out
}

// house takes out the minutes that rules of the house forbid a dog on a loop.
func (f *finder) house(d, loop int) {
	if f.shutTo > f.shutFrom {
		f.free.drop(f.shutFrom-f.walkMin[loop]+1, f.shutTo-1)
	}
	if !f.rulebook.rows && f.shares == nil {
		return
	}
	t := &f.dogs[d]
	for e := range f.now {
		at := &f.now[e]
		if e == d || at.loop < 0 {
			continue
		}
		if t.rows&f.dogs[e].rows != 0 {
			f.passing(loop, at)
		}
		if f.shares != nil && f.shares[loop][at.loop] {
			f.ground(t.apart, f.dogs[e].apart, loop, at)
		}
	}
}

// passing takes out the starts at which a dog would pass its row within the turnaround
// of another: each goes out on a minute, and comes home between two.
func (f *finder) passing(loop int, at *placement) {
	outs := [2][2]int{{0, f.lateMin}, {f.homeMin[loop], f.walkMin[loop]}}
	theirs := [2][2]int{{at.start, at.start + f.lateMin}, {at.start + f.homeMin[at.loop], at.start + f.walkMin[at.loop]}}
	for _, mine := range outs {
		for _, other := range theirs {
			f.free.drop(other[0]-mine[1]-f.clearMin+1, other[1]-mine[0]+f.clearMin-1)
		}
	}
}

// ground takes out the starts at which a dog would come on ground that it must not
// share, or not yet.
func (f *finder) ground(mine, other Apart, loop int, at *placement) {
	switch {
	case mine == ApartGround || other == ApartGround:
		f.free.drop(0, f.lastMin)
	case mine == other: // both come last, or neither
	case mine == ApartLast:
		f.free.drop(0, at.start+f.walkMin[at.loop]-1)
	default:
		f.free.drop(at.start-f.walkMin[loop]+1, f.lastMin)
	}
}

// apartLast puts the dogs that come last on their ground behind the others, mostly: now
// and then one that is placed first makes the others go before it.
func (f *finder) apartLast(order []int) {
	if f.shares != nil && f.rng.IntN(3) > 0 {
		slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(f.dogs[a].late(), f.dogs[b].late()) })
	}
}

// late is 1 for a dog that is to come after others, or where they are not.
func (t *dogTask) late() int {
	if t.apart != "" {
		return 1
	}
	return 0
}

// houseRules makes the rulebook of an outing.
func (s *scheme) houseRules() {
	from, to := s.o.hot.span(s.o)
	s.rulebook = rulebook{shutFrom: from, shutTo: to, clearMin: int(math.Ceil(s.o.turnMin())), lateMin: lateS/60 - s.o.onTimeMin()}
	rows := map[string]uint64{}
	for d := range s.o.Dogs {
		dog := &s.o.Dogs[d]
		t := &s.dogs[d]
		t.apart, t.both = dog.Apart, dog.People == mostHands
		if dog.Row != "" {
			if rows[dog.Row] == 0 {
				rows[dog.Row] = 1 << (len(rows) % mostHouseRows)
			}
			t.rows = rows[dog.Row]
			s.rulebook.rows = true
		}
		if dog.Apart != "" && s.shares == nil {
			s.shares = s.shared()
		}
	}
	for i := range s.loops {
		l := &s.loops[i]
		b := band{s.o.slack(), l.holds}
		s.homeMin = append(s.homeMin, int(math.Floor(b.early(l.durationS)/60)))
	}
	for d := range s.o.Dogs {
		if k := s.o.mate(d); k > d {
			s.join(d, k)
		}
	}
}

// join makes one task of two dogs that are walked together: what suits both, at the
// sum of their prices, with the stricter of every rule.
func (s *scheme) join(d, k int) {
	if s.leader == nil {
		for i := range s.dogs {
			s.leader = append(s.leader, i)
		}
	}
	s.leader[k] = d
	a, b := &s.dogs[d], &s.dogs[k]
	var both []option
	for _, o := range a.options {
		at := b.byLoop[o.loop]
		if at < 0 {
			continue
		}
		o.cost = slices.Clone(o.cost)
		for h := range o.cost {
			o.cost[h] += b.options[at].cost[h]
		}
		o.least = slices.Min(o.cost)
		both = append(both, o)
	}
	slices.SortStableFunc(both, func(x, y option) int { return cmp.Compare(x.least, y.least) })
	none := slices.Repeat([]int{-1}, len(s.loops))
	a.options, a.byLoop = both, slices.Clone(none)
	for i := range both {
		a.byLoop[both[i].loop] = i
	}
	a.least, a.unserved, a.wait, a.until = max(a.least, b.least), a.unserved+b.unserved, a.wait+b.wait, min(a.until, b.until)
	a.both, a.rows, a.apart = a.both || b.both, a.rows|b.rows, min(cmp.Or(a.apart, b.apart), cmp.Or(b.apart, a.apart))
	if a.never == nil {
		a.never = b.never
	} else if b.never != nil {
		a.never = slices.Clone(a.never)
		for p := range a.never {
			a.never[p] = a.never[p] || b.never[p]
		}
	}
	*b = dogTask{byLoop: none, until: math.MaxInt32}
	for e := range s.class {
		s.class[d][e] = max(s.class[d][e], s.class[k][e])
		s.class[e][d] = s.class[d][e]
	}
	for e := range s.class {
		s.class[k][e], s.class[e][k] = -1, -1
	}
}

// shared says which loops have ground in common: an edge beside those that everybody
// needs to leave the gate. Lines of which no edges are known share with all.
func (s *scheme) shared() [][]bool {
	words := len(s.reach.Edges)/64 + 1
	stem := s.stemM()
	sets := make([][]uint64, len(s.loops))
	for i := range s.loops {
		sets[i] = make([]uint64, words)
		for _, a := range s.loops[i].arcs {
			far := 0.0
			for _, q := range s.p.Land().LineOf(s.reach.Piece[a].Directed) {
				far = max(far, q.DistanceM(s.start.At))
			}
			if far > stem {
				e := s.reach.Piece[a].Slot
				sets[i][e/64] |= 1 << (e % 64)
			}
		}
	}
	out := make([][]bool, len(sets))
	for i := range sets {
		out[i] = make([]bool, len(sets))
		for j := range sets {
			out[i][j] = s.loops[i].arcs == nil || s.loops[j].arcs == nil
			for w := range sets[i] {
				out[i][j] = out[i][j] || sets[i][w]&sets[j][w] != 0
			}
		}
	}
	return out
}

// stemM is how far from the gate ground is everybody's: as far as the first junctions,
// and the zone.
func (g *ground) stemM() float64 {
	far := g.o.zoneM()
	star := &g.reach.Star
	for a := star.First[g.reach.Door]; a < star.First[g.reach.Door+1]; a++ {
		for _, q := range g.p.Land().LineOf(g.reach.Piece[a].Directed) {
			far = max(far, q.DistanceM(g.start.At))
		}
	}
	return far
}

// passes are the dogs of a dog's row that are in their kennels while it goes out.
func (s *scheme) passes(d int, all []placement) (names []string) {
	row := s.o.Dogs[d].Row
	for e := range s.o.Dogs {
		at := all[e]
		out := at.loop >= 0 && at.start <= all[d].start && all[d].start < at.start+s.walkMin[at.loop]
		if row != "" && e != d && s.o.Dogs[e].Row == row && !out {
			names = append(names, s.o.Dogs[e].Dog.Name)
		}
	}
	return names
}
