package outing

import (
	"context"
	"fmt"
	"math"
	"slices"
	"time"

	"wideberth/exposure"
	"wideberth/osmdata/fault"
	"wideberth/routing"
)

// Day is what came between a timetable and the outing.
type Day struct {
	Now    time.Time
	Before []Row // the timetable as it stands
	Late   []Late
	Gone   []string // people who do not come, or leave after what they are walking
	Out    []string // dogs that are not walked after all
	// ChangePrice is what changing a walk that has not begun costs, in wished
	// minutes that are not granted; 0 for 10. Without a price half of the day's
	// walks change for nothing.
	ChangePrice float64
}

// Late is somebody behind time. A walk under way goes on by its printed times plus
// the minutes; holds are kept at the later times too.
type Late struct {
	Person  string
	Minutes int
	NotOut  bool // has not set out, whatever the timetable says
}

const (
	usualChangePrice = 10.0
	leadMin          = 5 // nothing is changed for walks that begin sooner: they are told already
	mostLateMin      = 240
	sameLineM        = 1.0 // two lines nearer than this are one walk; JSON rounds to 0.1 m
	sameDurationS    = 1.0
)

// Replan plans the rest of an outing from now, with what is under way fixed.
func Replan(ctx context.Context, p *routing.Planner, o Wish, day Day) (*Timetable, error) {
	if err := o.Check(); err != nil {
		return nil, err
	}
	if err := day.check(&o); err != nil {
		return nil, err
	}
	day.unfold(&o)
	resting, respites := o.resting(), o.respites()
	o = today(p, &o)
	s, err := newScheme(ctx, p, &o)
	if err != nil {
		return nil, err
	}
	s.resume(ctx, &day)
	best := newFinder(&s.problem, o.Seed).run(ctx, o.work())
	t, err := s.timetable(ctx, s.spread(best))
	if err != nil {
		return nil, err
	}
	t.Resting, t.Respites = resting, respites
	s.mark(t, s.spread(best), &day)
	if len(t.Unserved) > 0 {
		t.Shortage = s.shortage(ctx, best)
	}
	return t, ctx.Err()
}

// check finds what does not belong together.
func (d *Day) check(o *Wish) error {
	var wrong fault.Problems
	bad := func(pointer, value, mend string) {
		wrong = append(wrong, fault.Problem{Pointer: pointer, Value: value, Mend: mend})
	}
	if d.Now.IsZero() {
		bad("/now", "missing", "give a time with its zone")
	}
	if d.ChangePrice < 0 || math.IsNaN(d.ChangePrice) || d.ChangePrice > 1000 {
		bad("/change_price", fault.Number(d.ChangePrice), "give up to 1,000 minutes, or leave it out")
	}
	seen := map[string]bool{}
	for i := range d.Before {
		r, at := &d.Before[i], fmt.Sprintf("/before/rows/%d", i)
		if o.dogNamed(r.Dog) < 0 || seen[r.Dog] {
			bad(at+"/dog", r.Dog, "name a dog of the outing, each once")
		}
		seen[r.Dog] = true
		if o.personNamed(r.Person) < 0 {
			bad(at+"/person", r.Person, "name a person of the outing")
		}
		if r.Second != "" && (o.personNamed(r.Second) < 0 || r.Second == r.Person) {
			bad(at+"/second", r.Second, "name another person of the outing")
		}
		if at, from := o.Start.Add(time.Duration(r.StartMin)*time.Minute), r.Leave; from.Sub(at).Abs() >= time.Second {
			bad(fmt.Sprintf("/before/rows/%d/leave", i), from.Format(time.RFC3339), fmt.Sprintf("the outing's minute %d is %s: send the outing that this timetable answers", r.StartMin, at.Format(time.RFC3339)))
		}
		if !r.sound() {
			bad(at, r.Dog, "the walk is damaged: send it as it was answered")
		}
	}
	for i, l := range d.Late {
		if o.personNamed(l.Person) < 0 || slices.ContainsFunc(d.Late[:i], func(m Late) bool { return m.Person == l.Person }) {
			bad(fmt.Sprintf("/late/%d/person", i), l.Person, "name a person of the outing, each once")
		}
		if l.Minutes < 1 || l.Minutes > mostLateMin {
			bad(fmt.Sprintf("/late/%d/minutes", i), fmt.Sprint(l.Minutes), fmt.Sprintf("give 1 to %d", mostLateMin))
		}
	}
	for i, n := range d.Gone {
		if o.personNamed(n) < 0 {
			bad(fmt.Sprintf("/gone/%d", i), n, "name a person of the outing")
		}
	}
	for i, n := range d.Out {
		if o.dogNamed(n) < 0 {
			bad(fmt.Sprintf("/out/%d", i), n, "name a dog of the outing")
		}
	}
	if len(wrong) == 0 {
		return nil
	}
	return wrong
}

// unfold takes what a timetable says over into the outing: who has a walk does not
// rest, and two that no longer go together, or do not both go, are on their own.
func (d *Day) unfold(o *Wish) {
	o.Dogs, o.People = slices.Clone(o.Dogs), slices.Clone(o.People)
	for i := range o.People {
		name := o.People[i].Name
		late := slices.ContainsFunc(d.Late, func(l Late) bool { return l.Person == name })
		if late || slices.Contains(d.Gone, name) || slices.ContainsFunc(d.Before, func(r Row) bool { return r.by(name) }) {
			o.People[i].Rest = nil // they are named: they came
		}
	}
	rows := make([]*Row, len(o.Dogs))
	for i := range d.Before {
		rows[o.dogNamed(d.Before[i].Dog)] = &d.Before[i]
	}
	for i := range o.Dogs {
		out := slices.Contains(d.Out, o.Dogs[i].Dog.Name)
		if rows[i] != nil || out {
			o.Dogs[i].Rest, o.Dogs[i].Walks = nil, true
		}
		k := o.mate(i)
		if k < 0 {
			continue
		}
		a, b := rows[i], rows[k]
		same := a == b || a != nil && b != nil && a.StartMin == b.StartMin && a.Person == b.Person && a.Second == b.Second
		if out || slices.Contains(d.Out, o.Dogs[k].Dog.Name) || !same {
			o.parted(i, k)
		}
	}
}

// sound says that a row's line is on this earth and its times belong to it.
func (r *Row) sound() bool {
	n := len(r.Line)
	if n < 2 || len(r.ProgressS) != n || r.StartMin < 0 || r.StartMin > 2*mostOutingMinutes || r.ProgressS[0] != 0 {
		return false
	}
	for i, q := range r.Line {
		if !(math.Abs(q.X)+math.Abs(q.Y) < math.MaxFloat32) || i > 0 && !(r.ProgressS[i] >= r.ProgressS[i-1]) {
			return false
		}
	}
	last := 0.0
	for _, h := range r.Holds {
		if !(h.ProgressS > last) || h.ProgressS >= r.ProgressS[n-1] {
			return false
		}
		last = h.ProgressS
	}
	return r.ProgressS[n-1] <= mostDogMinutes*60*2
}

// resume turns what has happened into fixed walks, hours of people and the price
// of changes.
func (s *scheme) resume(ctx context.Context, day *Day) {
	now := int(math.Floor(day.Now.Sub(s.o.Start).Minutes()))
	s.takeOver(ctx, day.Before)
	s.firstMin = max(0, now+leadMin)
	s.was, s.fixed, s.begun = make([]placement, len(s.dogs)), make([]bool, len(s.dogs)), make([]bool, len(s.dogs))
	for d := range s.was {
		s.was[d] = unplaced
	}
	rate := 0.0
	for _, x := range s.rate {
		rate += max(x, leastRate) / float64(len(s.rate))
	}
	price := day.ChangePrice
	if price == 0 {
		price = usualChangePrice
	}
	s.change = price * s.o.minutePrice() * rate
	for i := range day.Before {
		s.carry(&day.Before[i], day, now)
	}
	for d := range s.was {
		if s.follows(d) {
			k := s.leader[d]
			s.was[d], s.fixed[d], s.begun[d] = s.was[k], s.fixed[k], s.begun[k]
		}
	}
	for _, n := range day.Out {
		if d := s.o.dogNamed(n); !s.fixed[d] {
			s.was[d], s.fixed[d] = unplaced, true
		}
	}
	for _, n := range day.Gone {
		p := &s.people[s.o.personNamed(n)]
		p.to = min(p.to, now)
	}
	for _, l := range day.Late {
		p := &s.people[s.o.personNamed(l.Person)]
		if !s.walking(s.o.personNamed(l.Person), now) {
			p.from = max(p.from, now+l.Minutes+s.o.onTimeMin())
		}
	}
}

// takeOver adds the walks of the earlier timetable that the pool does not have; the
// dogs that are given one line share it.
func (s *scheme) takeOver(ctx context.Context, before []Row) {
	added := false
	for i := range before {
		r := &before[i]
		at, d := s.loopOf(r), s.o.dogNamed(r.Dog)
		if at < 0 {
			at = len(s.loops)
			l := poolLoop{line: r.Line, atS: r.ProgressS, durationS: r.ProgressS[len(r.ProgressS)-1], x: make([][]float64, len(s.o.Dogs))}
			for _, h := range r.Holds {
				l.holds = append(l.holds, h.ProgressS)
			}
			s.loops = append(s.loops, l)
		}
		if l := &s.loops[at]; l.x[d] == nil {
			l.x[d] = slices.Repeat([]float64{r.Reactions}, s.o.clockSlots())
			added = true
		}
	}
	if added {
		s.problem = problem{}
		s.lay(ctx)
	}
}

// loopOf is the loop of the pool that a row walks, -1 if it has none.
func (s *scheme) loopOf(r *Row) int {
	return slices.IndexFunc(s.loops, func(l poolLoop) bool {
		n := len(r.Line)
		if len(l.line) != n || math.Abs(l.durationS-r.ProgressS[n-1]) > sameDurationS || len(l.holds) != len(r.Holds) {
			return false
		}
		for i := range l.holds {
			if math.Abs(l.holds[i]-r.Holds[i].ProgressS) > sameDurationS {
				return false
			}
		}
		for i := range l.line {
			if l.line[i].DistanceM(r.Line[i]) > sameLineM {
				return false
			}
		}
		return true
	})
}

// by says that somebody walks the dog, alone or with another.
func (r *Row) by(person string) bool {
	return person != "" && (r.Person == person || r.Second == person)
}

// begun says that a walk is under way or over by the timetable. One that counts
// from later printed times was under way before these.
func (r *Row) begun(now int) bool { return r.UnderWay || r.StartMin <= now }

// due is the walk that somebody who has not set out should be on: their last that
// has begun by the timetable, nil if that is over and another is to come.
func (s *scheme) due(person string, before []Row, now int) (last *Row) {
	more := false
	for i := range before {
		switch r := &before[i]; {
		case !r.by(person):
		case !r.begun(now):
			more = true
		case last == nil || r.StartMin > last.StartMin:
			last = r
		}
	}
	if last != nil && more && last.StartMin+s.walkMin[s.loopOf(last)] <= now {
		return nil
	}
	return last
}

// carry takes one walk of the earlier timetable over: as it was, and fixed if it
// is under way or about to be.
func (s *scheme) carry(r *Row, day *Day, now int) {
	d := s.o.dogNamed(r.Dog)
	at := placement{loop: s.loopOf(r), start: r.StartMin, person: s.o.personNamed(r.Person), second: s.o.personNamed(r.Second) + 1}
	var late Late
	if i := slices.IndexFunc(day.Late, func(l Late) bool { return r.by(l.Person) }); i >= 0 {
		late = day.Late[i]
	}
	due := s.due(late.Person, day.Before, now)
	begun := r.begun(now) && !(late.NotOut && due != nil && due.StartMin == r.StartMin)
	soon := r.StartMin > now && r.StartMin < s.firstMin && late == (Late{}) && !slices.ContainsFunc(day.Gone, r.by) && !slices.Contains(day.Out, r.Dog)
	if begun && !late.NotOut && r.StartMin+s.walkMin[at.loop] > now {
		at.start += late.Minutes
	}
	if begun || soon || s.dogs[d].byLoop[at.loop] >= 0 {
		s.was[d], s.fixed[d], s.begun[d] = at, begun || soon, begun
	}
}

// walking says that somebody is out with a dog.
func (s *scheme) walking(person, now int) bool {
	for d, at := range s.was {
		if s.fixed[d] && at.loop >= 0 && at.has(person) && at.start+s.walkMin[at.loop] > now {
			return true
		}
	}
	return false
}

// mark says what has changed and what could not be helped.
func (s *scheme) mark(t *Timetable, best []placement, day *Day) {
	for i := range t.Rows {
		r := &t.Rows[i]
		d := s.o.dogNamed(r.Dog)
		r.UnderWay = s.begun[d]
		if !s.fixed[d] && best[d] != s.was[d] {
			r.Changed = true
			t.Changed = append(t.Changed, r.Dog)
		}
	}
	for a := range best {
		for b := a + 1; b < len(best); b++ {
			if !s.fixed[a] || !s.fixed[b] || best[a].loop < 0 || best[b].loop < 0 || s.class[a][b] < 0 {
				continue
			}
			if s.table.forbids(best[a].loop, best[b].loop, s.class[a][b], best[b].start-best[a].start) {
				if p, ok := s.pinch(a, b, best[a], best[b], day.Now); ok {
					t.Unavoidable = append(t.Unavoidable, p)
				}
			}
		}
	}
	price := day.ChangePrice
	if price == 0 {
		price = usualChangePrice
	}
	t.Assumed = append(t.Assumed, exposure.Assumption{What: AssumedChangePrice, Numbers: []float64{price}})
}
