package training

import (
	"errors"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"wideberth/exposure"
)

// drawOptions makes a few options of close classes, the farthest first, as steps
// holds them; some are pinned, some to be kept.
func drawOptions(t *rapid.T, most int) []Option {
	options := make([]Option, rapid.IntRange(1, most).Draw(t, "options"))
	for i := range options {
		o := &options[i]
		o.Multiple = float64(rapid.IntRange(15, 34).Draw(t, "sixteenths")) / 16
		o.Class = StepClass{Near: distanceClass(o.Multiple), Busy: rapid.IntRange(-1, 2).Draw(t, "busy"),
			Room: rapid.IntRange(0, 2).Draw(t, "room"), Duration: rapid.IntRange(0, 2).Draw(t, "duration")}
		o.AboutX = float64(rapid.IntRange(0, 150).Draw(t, "hundredths")) / 100
		o.Pin = max(0, rapid.IntRange(-4, 2).Draw(t, "pin"))
		o.Kept = rapid.Bool().Draw(t, "kept")
		o.StayS = float64(i + 1) // tells them apart
	}
	slices.SortStableFunc(options, func(a, b Option) int { return int(math.Copysign(1, b.Multiple-a.Multiple)) })
	return options
}

// mayFollow is the rule of steps as it is stated, written out once more.
func mayFollow(order Strictness, a, b *Option) bool {
	if b.Multiple < 0.75*a.Multiple-1e-9 || a.Class == b.Class {
		return false
	}
	if b.Class.Near == a.Class.Near && b.Multiple > a.Multiple+1e-9 {
		return false
	}
	up, down := 0, 0
	for _, d := range []int{a.Class.Near - b.Class.Near, b.Class.Busy - a.Class.Busy, a.Class.Room - b.Class.Room, b.Class.Duration - a.Class.Duration} {
		if d > 0 {
			up++
		}
		if d < 0 {
			down++
		}
	}
	switch order {
	case OneHarder:
		return up == 1 && down == 0
	case NeverEasier:
		return down == 0
	}
	return b.Class.Near < a.Class.Near || b.Class.Near == a.Class.Near && down == 0
}

// costOf is what a chain costs, by the statement of the costs.
func costOf(chain []Option, quietest int, keeps bool) (cost int, x float64) {
	for i, o := range chain {
		if keeps && !o.Kept {
			cost += asideCost
		}
		if o.Car != nil {
			cost += driveCost
		}
		x += o.AboutX
		if i == 0 {
			cost += 1 + 2*(o.Class.Busy-quietest)*(o.Class.Busy-quietest)
			continue
		}
		was := chain[i-1].Class
		cost++
		for _, d := range []int{was.Near - o.Class.Near, o.Class.Busy - was.Busy, was.Room - o.Class.Room, o.Class.Duration - was.Duration} {
			if d > 0 {
				cost += 2 * d * d
			} else {
				cost += -d
			}
		}
	}
	return cost, x
}

// TestChainAgainstEnumeration: the chain through the order is one of the chains
// that the rule of steps allows, from where it may begin to where it may end,
// through all pins in their order; of these none costs less, and of those that cost
// as much none has fewer expected reactions.
func TestChainAgainstEnumeration(t *testing.T) {
	found, none := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		s := &steps{options: drawOptions(t, 8), keeps: rapid.Bool().Draw(t, "keeps")}
		if rapid.Bool().Draw(t, "wished") {
			s.first, s.last = s.options[0].Class.Near+1, s.options[len(s.options)-1].Class.Near
		}
		ends := func(chain []Option) (cost int) {
			if a, b := chain[0].Class.Near-s.first, chain[len(chain)-1].Class.Near-s.last; s.first > 0 && s.last > 0 {
				cost = 2*a*a + 2*b*b
			}
			return cost
		}
		order := rapid.SampledFrom([]Strictness{OneHarder, NeverEasier, NearerAndEase}).Draw(t, "order")
		far, near := rapid.IntRange(1, len(s.options)).Draw(t, "far"), rapid.IntRange(1, len(s.options)).Draw(t, "near")
		for i := range s.options {
			if i < far {
				s.far = append(s.far, i)
			}
			if i >= len(s.options)-near {
				s.near = append(s.near, i)
			}
		}
		pins := (&training{}).pinsIn(s)
		quietest := math.MaxInt
		for _, i := range s.far {
			quietest = min(quietest, s.options[i].Class.Busy)
		}
		least, leastX, furthest := math.MaxInt, math.Inf(1), -1
		var walk func(chain []Option, at, pinned int)
		walk = func(chain []Option, at, pinned int) {
			furthest = max(furthest, at)
			chain = append(slices.Clone(chain), s.options[at])
			if pinned < len(pins) && s.options[at].Pin == pins[pinned] {
				pinned++
			}
			if pinned == len(pins) && slices.Contains(s.near, at) {
				if c, x := costOf(chain, quietest, s.keeps); c+ends(chain) < least || c+ends(chain) == least && x < leastX {
					c += ends(chain)
					least, leastX = c, x
				}
			}
			for b := range s.options {
				if mayFollow(order, &s.options[at], &s.options[b]) {
					walk(chain, b, pinned)
				}
			}
		}
		for _, i := range s.far {
			walk(nil, i, 0)
		}
		chain, err := s.path(order, s.far, s.near, pins)
		if least == math.MaxInt {
			none++
			if !errors.Is(err, errNoChain) {
				t.Fatalf("a chain %v where there is none (%v)", chain, err)
			}
		} else {
			found++
			if err != nil {
				t.Fatalf("%v, but there is a chain of cost %d", err, least)
			}
			for i := 1; i < len(chain); i++ {
				if !mayFollow(order, &chain[i-1], &chain[i]) {
					t.Fatalf("step %d of %v is not allowed", i, chain)
				}
			}
			if c, x := costOf(chain, quietest, s.keeps); c+ends(chain) != least || math.Abs(x-leastX) > 1e-9 {
				t.Fatalf("costs %d with %.2f reactions, the best %d with %.2f", c, x, least, leastX)
			}
		}
		if order == NearerAndEase && s.reachable(s.far) != furthest {
			t.Fatalf("as far as option %d, enumeration gets to %d", s.reachable(s.far), furthest)
		}
	})
	if !testing.Short() && (found < 20 || none < 10) { // a short run draws a fifth of them
		t.Errorf("%d chains and %d times none: the options are too poor", found, none)
	}
}

// TestReductionAgainstReachability: what is shown of the order leads exactly to
// what the whole order says, and no arc of it follows from the others.
func TestReductionAgainstReachability(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		options := drawOptions(t, 12)
		n := len(options)
		whole := make([][]bool, n)
		for a := range options {
			whole[a] = make([]bool, n)
			for b := range options {
				p, q := options[a].Class, options[b].Class
				whole[a][b] = p != q && q.Near <= p.Near && q.Busy >= p.Busy && q.Room <= p.Room && q.Duration >= p.Duration
			}
		}
		arcs := reduced(options)
		leads := func(without int) [][]bool {
			r := make([][]bool, n)
			for a := range r {
				r[a] = make([]bool, n)
			}
			for i, arc := range arcs {
				if i != without {
					r[arc[0]][arc[1]] = true
				}
			}
			for k := range n { // Warshall
				for a := range n {
					for b := range n {
						r[a][b] = r[a][b] || r[a][k] && r[k][b]
					}
				}
			}
			return r
		}
		all := leads(-1)
		for a := range n {
			for b := range n {
				if all[a][b] != whole[a][b] {
					t.Fatalf("%v to %v: shown %v, is %v", options[a].Class, options[b].Class, all[a][b], whole[a][b])
				}
			}
		}
		for i, arc := range arcs {
			if leads(i)[arc[0]][arc[1]] {
				t.Fatalf("arc %v follows from the others", arc)
			}
		}
	})
}

// TestStepsByHand: single steps with what they are.
func TestStepsByHand(t *testing.T) {
	at := func(multiple float64, busy, room, duration int) Option {
		return Option{Place: Place{Vantage: Vantage{Multiple: multiple}}, Class: StepClass{distanceClass(multiple), busy, room, duration}}
	}
	for _, c := range []struct {
		name        string
		a, b        Option
		one, no, ea bool
	}{
		{"a quarter nearer", at(2, 0, 2, 0), at(1.5, 0, 2, 0), true, true, true},
		{"a little more than a quarter nearer", at(2, 0, 2, 0), at(1.49, 0, 2, 0), false, false, false},
		{"nearer and busier", at(2, 0, 2, 0), at(1.75, 1, 2, 0), false, true, true},
		{"nearer and quieter", at(2, 1, 2, 0), at(1.75, 0, 2, 0), false, false, true},
		{"busier at the same distance", at(2, 0, 2, 0), at(2, 1, 2, 0), true, true, true},
		{"longer with less room", at(2, 0, 2, 0), at(2, 0, 1, 1), false, true, true},
		{"the same again", at(2, 0, 2, 0), at(2, 0, 2, 0), false, false, false},
		{"quieter at the same distance", at(2, 1, 2, 0), at(2, 0, 2, 0), false, false, false},
		{"farther, however busy", at(1.5, 0, 2, 0), at(2, 3, 2, 0), false, false, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got := [3]bool{OneHarder.allows(&c.a, &c.b), NeverEasier.allows(&c.a, &c.b), NearerAndEase.allows(&c.a, &c.b)}; got != [3]bool{c.one, c.no, c.ea} {
				t.Errorf("one harder, never easier, nearer eases: %v, want %v", got, [3]bool{c.one, c.no, c.ea})
			}
		})
	}
}

// TestClassesByHand: eighths of the working distance, half octaves of the number,
// tens of metres of room up to three, and which of the stays.
func TestClassesByHand(t *testing.T) {
	for _, c := range []struct {
		multiple, number, roomM, stayS float64
		want                           StepClass
	}{
		{2, 1, 0, 300, StepClass{16, 0, 0, 0}},
		{1.06, 2, 9.9, 450, StepClass{8, 2, 0, 1}},
		{1.07, 2.83, 25, 480, StepClass{9, 3, 2, 2}},
		{1.5, 0.1, 90, 600, StepClass{12, -2, 3, 2}},
		{1.5, 4, 10, 1200, StepClass{12, 4, 1, 3}},
	} {
		if got := classOf(&Vantage{Multiple: c.multiple, RoomM: c.roomM}, &Showing{Number: c.number}, c.stayS); got != c.want {
			t.Errorf("%+v is of class %v", c, got)
		}
	}
}

// TestLacksByHand: what is told when distances are there and when not; the numbers
// are those of the options.
func TestLacksByHand(t *testing.T) {
	place := func(multiple float64) Option {
		o := Option{AboutX: 0.4}
		o.Multiple, o.DistM, o.Street = multiple, 40*multiple, "Kiln Lane"
		o.Vantage.Watched.Name = "Brick Field"
		return o
	}
	dog := exposure.Dog{ByCategory: map[exposure.Category]exposure.Need{exposure.Dogs: {WorkingM: 40}}}
	having := func(multiples ...float64) *training {
		tr := &training{scout: &scout{dog: &dog, kinds: exposure.Dogs.Kinds()}, w: &Wish{Farthest: 2, Nearest: 1, MaxX: 1}}
		for _, m := range multiples {
			o := place(m)
			tr.fit, tr.shown, tr.found = append(tr.fit, o), append(tr.shown, o), append(tr.found, o.Vantage)
		}
		return tr
	}
	for _, c := range []struct {
		name string
		t    *training
		want []Lack // but for what comes closest
	}{
		{"all distances but no chain", having(2, 1.75, 1.5, 1.25, 1), []Lack{{Why: LackSteps}}},
		{"nothing nearer than 60 m", having(2, 1.75, 1.5), []Lack{
			{Why: LackGround, Multiple: 1.25, DistM: 50, NextM: 60, MaxX: 1}, {Why: LackGround, Multiple: 1, DistM: 40, NextM: 60, MaxX: 1}}},
		{"a gap", having(2, 1.75, 1.25, 1), []Lack{{Why: LackGround, Multiple: 1.5, DistM: 60, NextM: 40, MaxX: 1}}},
	} {
		t.Run(c.name, func(t *testing.T) {
			var seq Sequence
			c.t.lacks(&seq)
			var got []Lack
			for _, l := range seq.Lacks {
				if l.Instead == nil != (l.Why == LackSteps) || l.Instead != nil && math.Abs(l.Instead.DistM-l.DistM) > 20 {
					t.Errorf("closest to %+v is %+v", l, l.Instead)
				}
				l.Instead = nil
				got = append(got, l)
			}
			if !slices.Equal(got, c.want) {
				t.Errorf("lacks\n%+v, want\n%+v", got, c.want)
			}
		})
	}
}
