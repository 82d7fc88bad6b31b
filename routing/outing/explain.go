package outing

import (
	"cmp"
	"context"
	"slices"
)

// Shortage says why dogs are left in and what would help.
type Shortage struct {
	Cause   ShortageCause // the first of ground, people, gate and pairs that fails
	Left    []string      // dogs left in
	Bare    string        // the dog that no walk suits, where the ground fails
	Hands   []Hands       // who is asked for and who is there, most experience first, where people fail
	Gate    GateArithmetic
	Blocked []Blocked
	Helps   []Help // what was tried and works, least trouble first
}

// ShortageCause is why dogs are left in; the list is closed.
type ShortageCause string

// The causes.
const (
	ShortOfGround ShortageCause = "ground" // no walk from the gate suits a dog
	ShortOfPeople ShortageCause = "people" // too few, or too few with the experience
	ShortOfGate   ShortageCause = "gate"   // the gate lets so many walks through and no more
	ShortOfRules  ShortageCause = "rules"  // rows of kennels and ground apart
	ShortOfRoom   ShortageCause = "pairs"  // dogs are in each other's way
)

// Hands are people of an experience or more: how many dogs want one, how many there
// are.
type Hands struct {
	Least        Experience
	Dogs, People int
}

// Blocked is a dog left in and the dogs in its way.
type Blocked struct {
	Dog string
	By  []Blocker // most first
}

// Blocker is a placed dog in the way of one left in.
type Blocker struct {
	Dog   string
	Share float64 // of the starts that people leave open, how much this dog takes
	NeedM float64 // separation of the two
}

// Help is a change with which all dogs are served.
type Help struct {
	What    HelpWhat
	Minutes float64   // more, of the outing
	Dogs    [2]string // that would have to be allowed to meet, or the one left out
}

// HelpWhat is what can help; the list is closed.
type HelpWhat string

// What can help.
const (
	HelpHolds    HelpWhat = "holds"    // walks with holds
	HelpMinutes  HelpWhat = "minutes"  // so many minutes more
	HelpPerson   HelpWhat = "person"   // one more experienced person
	HelpTogether HelpWhat = "together" // the two dogs may meet
	HelpWithout  HelpWhat = "without"  // the first dog on another day
)

// helpShare is the part of the usual budget that one attempt at helping gets.
const helpShare = 6

// shortage finds the first cause that holds and tries what would help.
func (s *scheme) shortage(ctx context.Context, best []placement) *Shortage {
	out := &Shortage{Blocked: s.blocked(best), Gate: gateArithmetic(s.o, s.afterHoldS())}
	for d := range best {
		if s.spread(best)[d].loop < 0 && !s.held(d) {
			out.Left = append(out.Left, s.o.Dogs[d].Dog.Name)
		}
	}
	switch bare := s.bare(); {
	case bare >= 0:
		out.Cause, out.Bare = ShortOfGround, s.o.Dogs[bare].Dog.Name
	case !s.staffed(ctx):
		out.Cause, out.Hands = ShortOfPeople, s.hands()
	case !out.Gate.Sufficient:
		out.Cause = ShortOfGate
	case s.ruled(ctx):
		out.Cause = ShortOfRules
	default:
		out.Cause = ShortOfRoom
	}
	s.helps(ctx, out)
	return out
}

// held says that a dog is not to be moved.
func (q *problem) held(d int) bool { return q.fixed != nil && q.fixed[d] }

// worst is the dog that another is most in the way of.
func worst(all []Blocked) *Blocked {
	var most *Blocked
	for i := range all {
		if b := &all[i]; len(b.By) > 0 && (most == nil || b.By[0].Share > most.By[0].Share) {
			most = b
		}
	}
	return most
}

// staffed says whether people suffice if dogs need not be kept apart and each
// takes its shortest walk.
func (s *scheme) staffed(ctx context.Context) bool {
	q := s.problem
	q.table, q.dogs, q.was = nil, slices.Clone(s.dogs), slices.Clone(s.was)
	q.rulebook.rows, q.shares = false, nil
	for d := range q.dogs {
		t := &q.dogs[d]
		if s.held(d) || s.follows(d) {
			continue
		}
		if q.was != nil {
			q.was[d] = unplaced
		}
		if len(t.options) < 2 {
			continue
		}
		t.options = slices.Clone(t.options)
		slices.SortStableFunc(t.options, func(a, b option) int { return q.walkMin[a.loop] - q.walkMin[b.loop] })
		t.options = t.options[:1]
		t.byLoop = slices.Repeat([]int{-1}, len(t.byLoop))
		t.byLoop[t.options[0].loop] = 0
	}
	return served(newFinder(&q, s.o.Seed).run(ctx, s.o.work()/helpShare)) >= s.wanted()
}

// ruled says whether all are served where kennels' rows and ground apart are nothing to
// keep to.
func (s *scheme) ruled(ctx context.Context) bool {
	if !s.rulebook.rows && s.shares == nil {
		return false
	}
	q := s.problem
	q.rulebook.rows, q.shares, q.fair = false, nil, 0
	return served(newFinder(&q, s.o.Seed).run(ctx, s.o.work()/helpShare)) >= s.wanted()
}

// wanted is the number of dogs to be served.
func (s *scheme) wanted() (n int) {
	for d := range s.dogs {
		if !s.follows(d) && (!s.held(d) || s.was[d].loop >= 0) {
			n++
		}
	}
	return n
}

// hands counts people and what is asked of them.
func (s *scheme) hands() (out []Hands) {
	var dogs, people [Experienced + 1]int
	for d := range s.dogs {
		if !s.follows(d) {
			dogs[s.dogs[d].least]++
		}
	}
	for p := range s.people {
		people[s.people[p].experience]++
	}
	able := 0
	for e := Experienced; ; e-- {
		if able += people[e]; dogs[e] > 0 {
			out = append(out, Hands{e, dogs[e], able})
		}
		if e == 0 {
			return out
		}
	}
}

// blocked counts for every dog left in which placed dogs take the starts that
// people leave open.
func (s *scheme) blocked(best []placement) (out []Blocked) {
	f := newFinder(&s.problem, s.o.Seed)
	copy(f.now, best)
	apart := f.table
	for d, at := range best {
		if at.loop >= 0 || s.held(d) || s.follows(d) {
			continue
		}
		b := Blocked{Dog: s.o.Dogs[d].Dog.Name}
		taken, open := make([]int, len(best)), 0
		for _, o := range s.dogs[d].options {
			f.problem.table = nil
			f.minutes(d, o.loop)
			f.problem.table = apart
			f.staff(d, o.loop)
			open += f.free.count()
			for e, other := range best {
				if other.loop < 0 || f.class[d][e] < 0 {
					continue
				}
				rest := slices.Clone(f.free)
				rest.dropShifted(apart.set(other.loop, o.loop, f.class[d][e]), apart.reach, other.start)
				taken[e] += f.free.count() - rest.count()
			}
		}
		for e, n := range taken {
			if n > 0 {
				b.By = append(b.By, Blocker{s.o.Dogs[e].Dog.Name, float64(n) / float64(open), s.o.separation(d, e)})
			}
		}
		slices.SortStableFunc(b.By, func(x, y Blocker) int { return cmp.Compare(y.Share, x.Share) })
		b.By = b.By[:min(len(b.By), mostBlockers)]
		out = append(out, b)
	}
	return out
}

// mostBlockers is how many dogs in the way are worth naming.
const mostBlockers = 5

// helps tries changes, least trouble first, and keeps those with which every dog
// is served.
func (s *scheme) helps(ctx context.Context, out *Shortage) {
	works := func(q *problem) bool {
		q.fair = 0 // whether all are served is the question, and fair loads cost work
		return served(newFinder(q, s.o.Seed).run(ctx, s.o.work()/helpShare)) >= s.wanted()
	}
	if s.o.slack() != Holds && s.was == nil && s.withHolds(ctx) {
		out.Helps = append(out.Helps, Help{What: HelpHolds})
	}
	for _, more := range []int{30, 60} {
		if q := s.longer(more); works(&q) {
			out.Helps = append(out.Helps, Help{What: HelpMinutes, Minutes: float64(more)})
			break
		}
	}
	q := s.problem
	q.people = append(slices.Clone(s.people), personTask{experience: Experienced, from: s.firstMin + s.o.onTimeMin(), to: s.lastMin})
	if works(&q) {
		out.Helps = append(out.Helps, Help{What: HelpPerson})
	}
	if b := worst(out.Blocked); b != nil && out.Cause == ShortOfRoom {
		d, e := s.o.dogNamed(b.Dog), s.o.dogNamed(b.By[0].Dog)
		q := s.problem
		q.class = slices.Clone(s.class)
		q.class[d], q.class[e] = slices.Clone(s.class[d]), slices.Clone(s.class[e])
		q.class[d][e], q.class[e][d] = -1, -1
		if works(&q) {
			out.Helps = append(out.Helps, Help{What: HelpTogether, Dogs: [2]string{b.Dog, b.By[0].Dog}})
		}
	}
	if len(out.Blocked) == 1 && (s.was != nil || s.without(ctx, out.Blocked[0].Dog)) { // on the day the others keep their walks
		out.Helps = append(out.Helps, Help{What: HelpWithout, Dogs: [2]string{out.Blocked[0].Dog}})
	}
}

// longer is the problem with more minutes; who was to stay to the end stays on.
func (s *scheme) longer(minutes int) problem {
	q := s.problem
	q.people = slices.Clone(s.people)
	for i := range q.people {
		if q.people[i].to >= q.lastMin {
			q.people[i].to += minutes
		}
	}
	q.lastMin += minutes
	return q
}

// withHolds plans the same outing with holds.
func (s *scheme) withHolds(ctx context.Context) bool {
	o := *s.o
	o.Slack = Holds
	held, err := newScheme(ctx, s.p, &o)
	if err != nil {
		return false
	}
	return served(newFinder(&held.problem, o.Seed).run(ctx, o.work()/helpShare)) >= s.wanted()
}

// without plans the same outing without a dog, as it would be planned if it were taken
// off: that the others are served beside it does not say that they are found again.
func (s *scheme) without(ctx context.Context, dog string) bool {
	o := *s.o
	o.Dogs = slices.DeleteFunc(slices.Clone(o.Dogs), func(d Dog) bool { return d.Dog.Name == dog })
	o.Together = slices.DeleteFunc(slices.Clone(o.Together), func(two [2]string) bool { return two[0] == dog || two[1] == dog })
	if o.Check() != nil {
		return false
	}
	rest, err := newScheme(ctx, s.p, &o)
	if err != nil {
		return false
	}
	return served(newFinder(&rest.problem, o.Seed).run(ctx, o.work())) >= rest.wanted()
}

// bare is a dog that no loop of the pool suits, -1 if there is none.
func (s *scheme) bare() int {
	for d := range s.dogs {
		if len(s.dogs[d].options) == 0 && !s.held(d) && !s.follows(d) {
			return d
		}
	}
	return -1
}
