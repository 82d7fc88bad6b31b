package outing

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"wideberth/osmdata/plane"
	"wideberth/routing"
	"wideberth/routing/snapshot/maptest"
)

// drawnScheme is a small outing whose loops are drawn by chance: everything that a
// scheme has but a pool searched for on a map.
func drawnScheme(t testing.TB, rng *rand.Rand, dogs, minutes int) *scheme {
	t.Helper()
	p, err := routing.NewPlanner(maptest.Town(t), nil)
	if err != nil {
		t.Fatal(err)
	}
	const loops = 3
	o := &Wish{Start: tenOClock, Minutes: float64(minutes), Seed: 3, Work: 600}
	s := &scheme{ground: &ground{p: p, o: o}}
	for d := range dogs {
		o.Dogs = append(o.Dogs, minder(fmt.Sprint("dog ", d), []float64{30, 60}[d%2]))
		s.rate, s.alone = append(s.rate, 0.01*float64(d)), append(s.alone, 0.01)
	}
	s.problem = problem{lastMin: minutes, breaks: true}
	for range loops {
		at := func() plane.Point { return plane.Point{X: 500*rng.Float64() - 250, Y: 500*rng.Float64() - 250} }
		line, atS := timedLine(plane.Point{}, at(), at(), plane.Point{})
		l := poolLoop{line: line, atS: atS, durationS: atS[3], holds: []float64{math.Floor(atS[3] / 2)}, x: make([][]float64, dogs)}
		for d := range l.x {
			l.x[d] = []float64{rng.Float64()}
		}
		b := band{Holds, l.holds}
		s.loops, s.tracks = append(s.loops, l), append(s.tracks, trackOf(line, atS, &b, plane.Point{}, 60))
		s.walkMin = append(s.walkMin, int(math.Ceil(b.late(atS[3])/60)))
		s.busyMin = append(s.busyMin, int(math.Ceil(atS[3]/slowPace/60+usualTurnMin)))
	}
	s.table = newTable(context.Background(), s.tracks, []float64{0, 30, 60})
	for i := range 2 {
		e := Experience(rng.IntN(3))
		o.People = append(o.People, Person{Name: []string{"Ada", "Bo"}[i], Experience: e})
		s.people = append(s.people, personTask{experience: e, from: 3, to: minutes})
	}
	for d := range dogs {
		q := dogTask{least: Experience(rng.IntN(2)), unserved: 40, byLoop: slices.Repeat([]int{-1}, loops), until: []int{math.MaxInt32, minutes - rng.IntN(5)}[rng.IntN(2)]}
		if rng.IntN(4) == 0 {
			q.never = make([]bool, 2)
			q.never[rng.IntN(2)] = true
		}
		for i := range loops {
			if rng.IntN(5) > 0 {
				q.byLoop[i] = len(q.options)
				q.options = append(q.options, option{loop: i, least: float64(len(q.options)), cost: []float64{float64(len(q.options))}})
			}
		}
		s.problem.dogs = append(s.problem.dogs, q)
		row := make([]int, dogs)
		for e := range row {
			row[e] = s.table.class(o.separation(d, e))
		}
		s.class = append(s.class, row)
	}
	return s
}

// TestBlockedMinuteByMinute: of the starts that people leave open to a dog left in, how
// many each other dog takes, counted one by one.
func TestBlockedMinuteByMinute(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 5))
	held, named := 0, 0
	for range 110 {
		s := drawnScheme(t, rng, 5, 24+rng.IntN(16))
		for _, name := range []string{"Cy", "Di", "Ed"} { // hands enough: dogs are in each other's way
			s.o.People = append(s.o.People, Person{Name: name, Experience: Experienced})
			s.people = append(s.people, personTask{experience: Experienced, from: 0, to: s.lastMin})
		}
		best := newFinder(&s.problem, 1).run(context.Background(), 200)
		got := s.blocked(best)
		for d, at := range best {
			if at.loop >= 0 {
				continue
			}
			if len(got) == 0 || got[0].Dog != s.o.Dogs[d].Dog.Name {
				t.Fatalf("dog %d is left in and not told of: %+v", d, got)
			}
			held++
			open, taken := 0, make([]int, len(best))
			for _, o := range s.dogs[d].options {
				for m := s.firstMin; m+s.walkMin[o.loop] <= min(s.lastMin, s.dogs[d].until); m++ {
					somebody := false
					for p, q := range s.people {
						able := q.experience >= s.dogs[d].least && (p > 1 || s.dogs[d].never == nil || !s.dogs[d].never[p]) && m >= q.from && m+s.walkMin[o.loop] <= q.to
						for _, w := range best {
							if w.loop >= 0 && w.person == p && m < w.start+s.busyMin[w.loop] && w.start < m+s.busyMin[o.loop] {
								able = false
							}
						}
						somebody = somebody || able
					}
					if !somebody {
						continue
					}
					open++
					for e, w := range best {
						if w.loop >= 0 && s.table.forbids(w.loop, o.loop, s.class[d][e], m-w.start) {
							taken[e]++
						}
					}
				}
			}
			want := map[string]float64{}
			for e, n := range taken {
				if n > 0 {
					want[s.o.Dogs[e].Dog.Name] = float64(n) / float64(open)
				}
			}
			last := 1.0
			for _, b := range got[0].By {
				named++
				share, ok := want[b.Dog]
				if e := s.o.dogNamed(b.Dog); !ok || math.Abs(share-b.Share) > 1e-12 || b.Share > last || b.NeedM != max(s.o.Dogs[d].separationM(), s.o.Dogs[e].separationM()) {
					t.Fatalf("%s in the way of %s: %+v, want a share of %g", b.Dog, got[0].Dog, b, share)
				}
				last = b.Share
			}
			if len(got[0].By) != min(len(want), mostBlockers) {
				t.Fatalf("%d in the way are told of %d", len(got[0].By), len(want))
			}
			got = got[1:]
		}
		if len(got) > 0 {
			t.Fatalf("told of %+v, which are walked", got)
		}
	}
	if held < 20 || named < 20 {
		t.Errorf("%d dogs left in, %d in the way: too few to show anything", held, named)
	}
}

// canAll looks for a placement of the dogs from d on by the plain rules, until some are
// tried; placed is what it found.
func canAll(q *problem, placed []placement, d int, tries *int) bool {
	if d == len(q.dogs) {
		return true
	}
	for _, o := range q.dogs[d].options {
		for start := q.firstMin; start+q.walkMin[o.loop] <= q.lastMin; start++ {
			for p := range q.people {
				if *tries--; *tries < 0 {
					return false
				}
				at := placement{loop: o.loop, start: start, person: p}
				if fits(q, placed, d, at) {
					placed[d] = at
					if canAll(q, placed, d+1, tries) {
						return true
					}
					placed[d] = unplaced
				}
			}
		}
	}
	return false
}

// TestShortagesByTheirConditions: the cause named is the first of ground, people, gate and
// room that holds, the dogs left in are those, and what is said to help lets all be placed
// by the rules written down plainly.
func TestShortagesByTheirConditions(t *testing.T) {
	rng := rand.New(rand.NewPCG(15, 2))
	causes, helps, found := map[ShortageCause]int{}, map[HelpWhat]int{}, 0
	for round := range 120 {
		s := drawnScheme(t, rng, 3, 16+rng.IntN(24))
		s.was = slices.Repeat([]placement{unplaced}, 3)
		if round%6 == 0 {
			s.problem.dogs[1].options, s.problem.dogs[1].byLoop = nil, []int{-1, -1, -1}
		}
		best := newFinder(&s.problem, 1).run(context.Background(), 600)
		if served(best) == len(best) {
			continue
		}
		got := s.shortage(context.Background(), best)
		causes[got.Cause]++
		var left []string
		for d, at := range best {
			if at.loop < 0 {
				left = append(left, s.o.Dogs[d].Dog.Name)
			}
		}
		if !slices.Equal(got.Left, left) {
			t.Fatalf("left in are %v, told %v", left, got.Left)
		}
		bare := slices.IndexFunc(s.dogs, func(d dogTask) bool { return len(d.options) == 0 })
		switch got.Cause {
		case ShortOfGround:
			if bare < 0 || got.Bare != s.o.Dogs[bare].Dog.Name {
				t.Errorf("%s has no walk, told of %q", s.o.Dogs[max(0, bare)].Dog.Name, got.Bare)
			}
		case ShortOfPeople:
			for _, h := range got.Hands {
				dogs, people := 0, 0
				for _, d := range s.dogs {
					if d.least == h.Least {
						dogs++
					}
				}
				for _, p := range s.people {
					if p.experience >= h.Least {
						people++
					}
				}
				if h.Dogs != dogs || h.People != people {
					t.Errorf("%+v, want %d dogs and %d people", h, dogs, people)
				}
			}
			if !slices.IsSortedFunc(got.Hands, func(a, b Hands) int { return int(b.Least) - int(a.Least) }) || len(got.Hands) == 0 {
				t.Errorf("hands %+v", got.Hands)
			}
		case ShortOfGate:
			if got.Gate.Sufficient || got.Gate.Walks >= 3 {
				t.Errorf("the gate lets %d through", got.Gate.Walks)
			}
		case ShortOfRoom:
			if !got.Gate.Sufficient {
				t.Error("the gate comes first")
			}
		}
		if bare >= 0 && (got.Cause != ShortOfGround || len(got.Helps) > len(got.Blocked)) {
			t.Errorf("a dog without walks: %+v", got)
		}
		for _, h := range got.Helps {
			helps[h.What]++
			q := s.problem
			switch h.What {
			case HelpMinutes:
				q = s.longer(int(h.Minutes))
				if q.lastMin != s.lastMin+int(h.Minutes) || q.people[0].to != s.people[0].to+int(h.Minutes) {
					t.Fatalf("%d minutes longer is until %d instead of %d", int(h.Minutes), q.lastMin, s.lastMin)
				}
			case HelpPerson:
				q.people, q.dogs = append(slices.Clone(s.people), personTask{experience: Experienced, from: 3, to: s.lastMin}), slices.Clone(s.dogs)
				for d := range q.dogs {
					q.dogs[d].never = append(slices.Clone(q.dogs[d].never), make([]bool, 3)...)
				}
			case HelpTogether:
				q.class = [][]int{slices.Clone(s.class[0]), slices.Clone(s.class[1]), slices.Clone(s.class[2])}
				a, b := s.o.dogNamed(h.Dogs[0]), s.o.dogNamed(h.Dogs[1])
				q.class[a][b], q.class[b][a] = -1, -1
			case HelpWithout:
				if len(left) != 1 || h.Dogs[0] != left[0] {
					t.Errorf("without %q, left in are %v", h.Dogs[0], left)
				}
				continue
			default:
				t.Fatalf("%s of an outing with holds", h.What)
			}
			tries := 60_000
			if canAll(&q, slices.Repeat([]placement{unplaced}, 3), 0, &tries) {
				found++
			} else if tries >= 0 {
				t.Errorf("round %d: %+v is said to help, and nothing fits", round, h)
			}
		}
	}
	if causes[ShortOfGround] < 3 || causes[ShortOfPeople] < 3 || len(helps) < 3 || found < 10 {
		t.Errorf("causes %v, helps %v, %d of them seen: too few to show anything", causes, helps, found)
	}
}

// TestHardestInTheWay: whose nearest hindrance takes most is asked for first.
func TestHardestInTheWay(t *testing.T) {
	all := []Blocked{{Dog: "a"}, {Dog: "b", By: []Blocker{{Share: 0.2}, {Share: 0.1}}}, {Dog: "c", By: []Blocker{{Share: 0.5}}}, {Dog: "d", By: []Blocker{{Share: 0.5}}}}
	if got := worst(all); got == nil || got.Dog != "c" {
		t.Errorf("%+v", got)
	}
	if got := worst(all[:1]); got != nil {
		t.Errorf("nobody in the way: %+v", got)
	}
}

// TestHowNearTwoWalksCome: the least separation told is one that they cannot come below
// by any lateness and pace of a fine grid, and hardly above what they do come to.
func TestHowNearTwoWalksCome(t *testing.T) {
	rng := rand.New(rand.NewPCG(12, 1))
	const looseS = 2*cellS/slowPace + insideS // what cells of ten seconds and a dog at the door add
	together := 0
	for range 25 {
		s := drawnScheme(t, rng, 3, 90)
		pa, pb := placement{loop: 0, start: rng.IntN(5), person: 0}, placement{loop: 1, start: rng.IntN(9), person: 1}
		got, ok := s.pinch(0, 1, pa, pb, s.o.Start)
		x, y := visits(s.loops[0].line, s.loops[0].atS, &band{Holds, s.loops[0].holds}), visits(s.loops[1].line, s.loops[1].atS, &band{Holds, s.loops[1].holds})
		shift, least, loosely := float64(pb.start-pa.start)*60, math.Inf(1), math.Inf(1)
		for _, a := range x {
			for _, b := range y {
				if a.from <= b.to+shift && b.from+shift <= a.to {
					least = min(least, a.at.DistanceM(b.at))
				}
				if a.from <= b.to+shift+looseS && b.from+shift <= a.to+looseS {
					loosely = min(loosely, a.at.DistanceM(b.at))
				}
			}
		}
		if math.IsInf(least, 1) {
			continue
		}
		together++
		if !ok || got.LeastM > least+1e-6 || got.LeastM < loosely-2*cellS*usualPaceMPS || got.NeedM != 60 || got.Dogs != [2]string{"dog 0", "dog 1"} {
			t.Errorf("%+v, but they come to %.1f m", got, least)
		}
		if got.At.Before(s.t(max(pa.start, pb.start))) {
			t.Errorf("at %v, before both are out", got.At)
		}
		if _, ok := s.pinch(0, 1, pa, pb, s.o.Start.Add(5*time.Hour)); ok {
			t.Error("after both are home")
		}
		list := s.pinches([]placement{pa, pb, unplaced})
		if len(list) != 1 || list[0] != got {
			t.Errorf("%+v instead of %+v", list, got)
		}
		s.class[0][1] = -1
		if len(s.pinches([]placement{pa, pb, unplaced})) != 0 {
			t.Error("two that may meet have no separation to keep")
		}
	}
	if together < 10 {
		t.Errorf("only %d pairs are out together", together)
	}
}

// TestLoadsMinuteByMinute: what everybody walks, the first minute and the longest break.
func TestLoadsMinuteByMinute(t *testing.T) {
	rng := rand.New(rand.NewPCG(13, 1))
	for range 80 {
		s := drawnScheme(t, rng, 5, 200)
		s.o.People[1].From, s.o.People[1].To = s.o.Start.Add(10*time.Minute), s.o.Start.Add(170*time.Minute)
		best := newFinder(&s.problem, rng.Uint64()).run(context.Background(), 60)
		for p, l := range s.loads(best) {
			from, to := []int{0, 10}[p], []int{200, 170}[p]
			want := Load{Person: s.o.People[p].Name, HoursMin: to - from, FirstMin: -1}
			busy := map[int]bool{}
			for _, at := range best {
				if at.loop < 0 || at.person != p {
					continue
				}
				want.Walks++
				want.WalkMin += s.walkMin[at.loop]
				if want.FirstMin < 0 || at.start < want.FirstMin {
					want.FirstMin = at.start
				}
				for m := range s.busyMin[at.loop] {
					busy[at.start+m] = true
				}
			}
			run := 0
			for m := from + 60; m < to-60; m++ {
				if run++; busy[m] {
					run = 0
				}
				want.BreakMin = max(want.BreakMin, run)
			}
			if l != want {
				t.Fatalf("%+v, want %+v of %+v", l, want, best)
			}
		}
	}
}

// TestHoldsAmongWatchPoints: a place to wait at stands where it is on the walk, by the
// name of the street that one is on then.
func TestHoldsAmongWatchPoints(t *testing.T) {
	w := &routing.Walk{DurationS: 300, Legs: []routing.Leg{
		{Name: "Ash Row", StartS: 0, Edges: []routing.LegEdge{{StartS: 0, FromM: 0, LengthM: 120}, {StartS: 100, FromM: 120, LengthM: 60}}},
		{Class: "footpath", StartS: 150, Edges: []routing.LegEdge{{StartS: 150, FromM: 180, LengthM: 180}}},
	}, Watch: []routing.WatchPoint{{What: "pinch", FromM: 150}, {What: "crossing", FromM: 300}}}
	for s, want := range map[float64]float64{0: 0, 50: 60, 100: 120, 125: 150, 150: 180, 225: 270, 300: 360, 400: 360} {
		if got := metresAt(w, s); math.Abs(got-want) > 1e-9 {
			t.Errorf("after %g s one is at %g m, want %g", s, got, want)
		}
	}
	addHolds(w, []Hold{{ProgressS: 50, NotBefore: tenOClock}, {ProgressS: 225}})
	var got []string
	for _, q := range w.Watch {
		got = append(got, fmt.Sprintf("%s %.0f %s", q.What, q.FromM, q.Name))
	}
	if want := []string{"hold 60 Ash Row", "pinch 150 ", "hold 270 footpath", "crossing 300 "}; !slices.Equal(got, want) {
		t.Errorf("%q, want %q", got, want)
	}
	if q := w.Watch[0]; q.Deed != routing.DeedHold || !q.NotBefore.Equal(tenOClock) || q.AtS != 50 {
		t.Errorf("%+v", q)
	}
}

// TestFollowingALine: a piece of street is walked on by a line or it is not.
func TestFollowingALine(t *testing.T) {
	line := plane.Polyline{{X: 0}, {X: 10}, {X: 10, Y: 10}, {X: 20, Y: 10}}
	for _, c := range []struct {
		part plane.Polyline
		want int
	}{
		{line[:2], 1}, {line[:3], 2}, {line, 3}, {plane.Polyline{{X: 0.4}, {X: 10.4}, {X: 10, Y: 10.9}}, 2}, {plane.Polyline{{X: 0}, {X: 10, Y: 1.1}}, 0},
		{line[1:3], 0}, {append(slices.Clone(line), plane.Point{X: 30}), 0},
	} {
		if got := follows(c.part, line); got != c.want {
			t.Errorf("%v: %d points, want %d", c.part, got, c.want)
		}
	}
}
