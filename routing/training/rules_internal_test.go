package training

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"wideberth/exposure"
	"wideberth/osmdata/fault"
	"wideberth/osmdata/plane"
	"wideberth/routing"
	"wideberth/routing/network"
	"wideberth/routing/reach"
	"wideberth/routing/search"
	"wideberth/routing/snapshot/maptest"
)

// classes draws classes of visits that lie close together.
func classes(rng *rand.Rand, n int) (out []StepClass) {
	for range n {
		out = append(out, StepClass{8 + rng.IntN(3), rng.IntN(3), rng.IntN(3), rng.IntN(3)})
	}
	return out
}

// TestHarderAndEasier: each respect is told in its word, in its direction, and all the ways
// in which two visits are compared say the same of them.
func TestHarderAndEasier(t *testing.T) {
	base := StepClass{10, 1, 1, 1}
	for _, c := range []struct {
		after          StepClass
		harder, easier string
	}{
		{base, "", ""}, {StepClass{9, 1, 1, 1}, "nearer", ""}, {StepClass{11, 1, 1, 1}, "", "farther"}, {StepClass{10, 2, 1, 1}, "busier", ""}, {StepClass{10, 0, 1, 1}, "", "quieter"},
		{StepClass{10, 1, 0, 1}, "less room", ""}, {StepClass{10, 1, 2, 1}, "", "more room"}, {StepClass{10, 1, 1, 2}, "longer", ""}, {StepClass{10, 1, 1, 0}, "", "shorter"},
		{StepClass{8, 3, 0, 2}, "nearer, busier, less room, longer", ""}, {StepClass{12, 0, 3, 0}, "", "farther, quieter, more room, shorter"}, {StepClass{9, 0, 1, 2}, "nearer, longer", "quieter"},
	} {
		h, e := compare(base, c.after)
		if strings.Join(h, ", ") != c.harder || strings.Join(e, ", ") != c.easier {
			t.Errorf("%+v: harder %q, easier %q; want %q and %q", c.after, h, e, c.harder, c.easier)
		}
	}
	rng := rand.New(rand.NewPCG(1, 5))
	all := classes(rng, 60)
	for _, a := range all {
		for _, b := range all {
			h, e := compare(a, b)
			back, forth := compare(b, a)
			if len(h) != len(forth) || len(e) != len(back) {
				t.Fatalf("%+v to %+v: %q and %q, back %q and %q", a, b, h, e, back, forth)
			}
			if noEasier(a, b) != (len(e) == 0) || harder(a, b) != len(h) {
				t.Fatalf("%+v to %+v: no easier %v, harder in %d; told are %q and %q", a, b, noEasier(a, b), harder(a, b), h, e)
			}
			if gap := classGap(a, b); gap != classGap(b, a) || (gap == 0) != (a == b) || gap < len(h)+len(e) {
				t.Fatalf("%+v and %+v lie %d apart", a, b, gap)
			}
		}
	}
}

// TestStepsFromStrictToLoose: whatever a strict order allows a looser one does, none allows a
// step that comes nearer by more than a quarter or goes farther, and none leads in a round.
func TestStepsFromStrictToLoose(t *testing.T) {
	rng := rand.New(rand.NewPCG(2, 5))
	var options []Option
	for _, c := range classes(rng, 80) {
		m := float64(c.Near)/8 + 0.05*(rng.Float64()-0.5)
		options = append(options, Option{Place: Place{Vantage: Vantage{Multiple: m}}, Class: c})
	}
	for range 20 { // far ones too, from which a quarter is a long step
		m := 1 + 2*rng.Float64()
		options = append(options, Option{Place: Place{Vantage: Vantage{Multiple: m}}, Class: StepClass{distanceClass(m), 1, 1, 1}})
	}
	allowed := map[Strictness]int{}
	for i := range options {
		for j := range options {
			a, b := &options[i], &options[j]
			one, never, eases := OneHarder.allows(a, b), NeverEasier.allows(a, b), NearerAndEase.allows(a, b)
			if one && !never || never && !eases {
				t.Fatalf("%+v to %+v: %v, %v, %v", a.Class, b.Class, one, never, eases)
			}
			if eases && (b.Multiple < 0.75*a.Multiple-1e-6 || b.Class.Near > a.Class.Near) {
				t.Fatalf("from %g to %g times the distance", a.Multiple, b.Multiple)
			}
			if eases && NearerAndEase.allows(b, a) {
				t.Fatalf("%+v and %+v lead to each other", a.Class, b.Class)
			}
			for s, ok := range map[Strictness]bool{OneHarder: one, NeverEasier: never, NearerAndEase: eases} {
				if ok {
					allowed[s]++
				}
			}
		}
	}
	if !(allowed[OneHarder] > 20 && allowed[NeverEasier] > allowed[OneHarder] && allowed[NearerAndEase] > allowed[NeverEasier]) {
		t.Errorf("allowed are %v: too much alike", allowed)
	}
}

// TestStepCostByHand: twice the square of what gets harder, once what gets easier, and one
// for the visit.
func TestStepCostByHand(t *testing.T) {
	base := StepClass{16, 0, 3, 0}
	for _, c := range []struct {
		after StepClass
		want  int
	}{{base, 1}, {StepClass{14, 0, 3, 0}, 9}, {StepClass{14, 2, 2, 1}, 1 + 8 + 8 + 2 + 2}, {StepClass{17, -2, 4, 0}, 1 + 1 + 2 + 1}, {StepClass{15, -1, 3, 0}, 1 + 2 + 1}} {
		if got := stepCost(base, c.after); got != c.want {
			t.Errorf("%+v costs %d, want %d", c.after, got, c.want)
		}
	}
}

// TestThinnedOptions: of the places at one distance the three that are best stay, of the
// hours of one place three of different business, and whatever a person named stays.
func TestThinnedOptions(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 5))
	for range 40 {
		var options []Option
		for i := range 120 {
			at := plane.Point{X: float64(100 * rng.IntN(12))}
			o := Option{Place: Place{Vantage: Vantage{At: at, Grade: []Grade{GradeA, GradeB, GradeC}[int(at.X/100)%3], WalkM: at.X}}, AboutX: rng.Float64(), StayS: stays[rng.IntN(3)], Arrive: time.Unix(int64(i), 0),
				Class: StepClass{Near: 8 + int(at.X/100)%2, Busy: rng.IntN(5)}}
			if at.X == 300 {
				o.Pin = 1
			}
			o.Kept = at.X == 1000 || at.X == 1100
			options = append(options, o)
		}
		tr := &training{options: slices.Clone(options)}
		tr.thin()
		places, hours := map[int]map[plane.Point]bool{}, map[[2]float64]map[int]bool{}
		for i, o := range tr.options {
			if places[o.Class.Near] == nil {
				places[o.Class.Near] = map[plane.Point]bool{}
			}
			if !o.asked() {
				places[o.Class.Near][o.At] = true
			}
			slot := [2]float64{o.At.X, o.StayS}
			if hours[slot] == nil {
				hours[slot] = map[int]bool{}
			}
			if hours[slot][o.Class.Busy] {
				t.Fatalf("two hours of one business at %v", o.At)
			}
			hours[slot][o.Class.Busy] = true
			if i > 0 && (o.Pin > tr.options[i-1].Pin || o.Pin == tr.options[i-1].Pin && o.Kept && !tr.options[i-1].Kept) {
				t.Fatal("what a person named does not come first")
			}
		}
		for near, at := range places {
			if len(at) > placesPerStep {
				t.Fatalf("%d places at %d eighths", len(at), near)
			}
		}
		for slot, busy := range hours {
			if len(busy) > timesPerPlace {
				t.Fatalf("%d hours of %v", len(busy), slot)
			}
		}
		// What is left out of a place's hours costs no less than one that stays of its business.
		for _, o := range options {
			if !o.asked() {
				continue
			}
			calmest := slices.ContainsFunc(tr.options, func(k Option) bool { return k.At == o.At && k.StayS == o.StayS && k.Class.Busy == o.Class.Busy })
			full := len(hours[[2]float64{o.At.X, o.StayS}]) == timesPerPlace
			if !calmest && !full {
				t.Fatalf("the hour of business %d at the named place %v is left out", o.Class.Busy, o.At)
			}
		}
	}
}

// TestStepsOfOptions: of one class the cheapest is a step, seven classes for each distance
// and all that were named, the farthest first; a sequence begins and ends within 15 % of
// what was asked.
func TestStepsOfOptions(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 5))
	tr := &training{w: &Wish{Farthest: 2, Nearest: 1, Keep: []plane.Point{{}}}, dropped: map[visitKey]bool{}}
	for i := range 300 {
		m := 0.95 + 1.15*rng.Float64()
		o := Option{Place: Place{Vantage: Vantage{Multiple: m, At: plane.Point{X: float64(i)}}}, AboutX: rng.Float64(), Class: StepClass{Near: distanceClass(m), Busy: rng.IntN(4), Room: rng.IntN(3)}}
		if i%40 == 0 {
			o.Pin = 1 + i/40%2
		}
		tr.options = append(tr.options, o)
	}
	tr.dropped[tr.options[5].key()] = true
	s := tr.steps(false)
	if !s.keeps {
		t.Error("places to keep are forgotten")
	}
	perStep := map[int]int{}
	for i, o := range s.options {
		if i > 0 && o.Multiple > s.options[i-1].Multiple {
			t.Fatal("the farthest do not come first")
		}
		if !o.asked() {
			perStep[o.Class.Near]++
		}
		if o.key() == tr.options[5].key() {
			t.Error("a visit that was dropped is a step")
		}
		for _, p := range tr.options {
			if p.Class == o.Class && p.Pin == o.Pin && p.Kept == o.Kept && p.AboutX < o.AboutX && !tr.dropped[p.key()] {
				t.Fatalf("of class %+v one of %.3f is taken, and there is one of %.3f", o.Class, o.AboutX, p.AboutX)
			}
		}
		if far := slices.Contains(s.far, i); far != (o.Multiple >= 1.7) {
			t.Errorf("a sequence begins at %g: %v", o.Multiple, far)
		}
		if near := slices.Contains(s.near, i); near != (o.Multiple <= 1.15) {
			t.Errorf("a sequence ends at %g: %v", o.Multiple, near)
		}
	}
	for near, n := range perStep {
		if n > classesPerStep {
			t.Errorf("%d classes at %d eighths", n, near)
		}
	}
	var within []int
	for i, o := range s.options {
		if o.Multiple >= 1.2 && o.Multiple <= 1.4 {
			within = append(within, i)
		}
	}
	if got := s.within(1.2, 1.4); !slices.Equal(got, within) {
		t.Errorf("within 1.2 and 1.4 lie %v, want %v", got, within)
	}
	// What can be reached in the loosest order, by following every step.
	from := s.far[:1]
	seen := map[int]bool{from[0]: true}
	for grew := true; grew; {
		grew = false
		for a := range seen {
			for b := range s.options {
				if !seen[b] && NearerAndEase.allows(&s.options[a], &s.options[b]) {
					seen[b], grew = true, true
				}
			}
		}
	}
	last := 0
	for i := range seen {
		last = max(last, i)
	}
	if got := s.reachable(from); got != last {
		t.Errorf("steps lead to option %d, want %d", got, last)
	}
}

// TestWaysOfTripsAgainstRelaxing: the expected reactions of the ways to a place and home are
// twice the cheapest way to one of the ends of its edge and on, by relaxing every arc.
func TestWaysOfTripsAgainstRelaxing(t *testing.T) {
	p, err := routing.NewPlanner(maptest.Town(t), nil)
	if err != nil {
		t.Fatal(err)
	}
	s := p.Land().Snap
	w := &Wish{From: maptest.Door(s.Frame), Dog: maptest.Kessa(), ReachM: 700, Limits: reach.Limits{AnyGround: true, InsideReaction: true}, Times: []time.Time{maptest.Morning, maptest.Morning.Add(5 * time.Hour)}}
	tr, err := tripsFrom(t.Context(), p, w, w.From, w.ReachM)
	if err != nil {
		t.Fatal(err)
	}
	place, err := p.Land().Place(w.From)
	if err != nil {
		t.Fatal(err)
	}
	r, err := p.Land().Begun(place, w.ReachM)
	if err != nil {
		t.Fatal(err)
	}
	for i, at := range w.Times {
		rate := s.Field.Sums(&w.Dog, r.Edges).Hazard(p.Land().Clock.At(at), nil, nil)
		cost := make([]float64, len(r.Home))
		for v := range cost {
			cost[v] = math.Inf(1)
		}
		cost[r.Door] = 0
		for changed := true; changed; {
			changed = false
			for v := range int32(len(cost)) {
				for a := r.Star.First[v]; a < r.Star.First[v+1]; a++ {
					if c := cost[v] + float64(r.Piece[a].LengthM)/w.Dog.PaceMPS()*float64(rate[r.Piece[a].Slot]); c < cost[r.Star.Head[a]]-1e-12 {
						cost[r.Star.Head[a]], changed = c, true
					}
				}
			}
		}
		for k := 0; k < len(r.Edges); k += 5 {
			e := r.Edges[k]
			if e == place.Edge {
				continue
			}
			line := s.Graph.EdgeLine(e)
			along := line.LengthM() * 0.3
			best := math.Inf(1)
			a := s.Graph.EdgeArc[e]
			for _, end := range []struct {
				v   int32
				far float64
			}{{s.Graph.Star.Head[s.Graph.Star.Twin[a]], along}, {s.Graph.Star.Head[a], line.LengthM() - along}} {
				if l := slices.Index(r.Home, end.v); l >= 0 {
					best = math.Min(best, cost[l]+float64(rate[k])*end.far/w.Dog.PaceMPS())
				}
			}
			if got := tr.x(&Vantage{Edge: e, At: line.At(along)}, i); math.Abs(got-2*best) > 1e-3*(1+best) {
				t.Errorf("to edge %d and home at time %d: %g, want %g", e, i, got, 2*best)
			}
		}
	}
	far := s.Graph.EdgeCount() - 1
	for e := range int32(s.Graph.EdgeCount()) {
		if _, in := slices.BinarySearch(r.Edges, e); !in {
			a := s.Graph.EdgeArc[e]
			if !slices.Contains(r.Home, s.Graph.Star.Head[a]) && !slices.Contains(r.Home, s.Graph.Star.Head[s.Graph.Star.Twin[a]]) {
				far = int(e)
				break
			}
		}
	}
	if x := tr.x(&Vantage{Edge: int32(far), At: s.Graph.EdgeLine(int32(far))[0]}, 0); !math.IsInf(x, 1) {
		t.Errorf("beyond the reach it costs %g", x)
	}
}

// TestWayInIsLongEnough: the way in of a visit takes five minutes at least where some way
// does, within the time allowed, and is the calmest of those that lead by one vertex.
func TestWayInIsLongEnough(t *testing.T) {
	p, err := routing.NewPlanner(maptest.Town(t), nil)
	if err != nil {
		t.Fatal(err)
	}
	s := p.Land().Snap
	dog := maptest.Kessa()
	from := maptest.Door(s.Frame)
	rng := rand.New(rand.NewPCG(5, 5))
	tried := 0
	for _, to := range maptest.RandomDoors(s, 40, rng) {
		if d := to.DistanceM(from); d < 60 || d > 500 {
			continue
		}
		start, err := p.Land().Place(from)
		if err != nil {
			t.Fatal(err)
		}
		goal, err := p.Land().Place(to)
		if err != nil {
			t.Fatal(err)
		}
		const mostS = 700
		r, err := p.Land().Around(start, &goal, mostS*dog.PaceMPS())
		if err != nil {
			t.Fatal(err)
		}
		w := &routing.Wish{Shape: routing.Way, From: from, To: &to, Dog: dog, Depart: maptest.Morning}
		walk, err := wayIn(p, w, r, calmInS, mostS)
		if errors.Is(err, search.ErrNoPath) {
			continue
		}
		if err != nil {
			t.Fatal(err)
		}
		tried++
		if walk.DurationS > mostS+1 {
			t.Errorf("a way in of %.0f s, allowed are %d", walk.DurationS, mostS)
		}
		// The slow twin: the calmest by way of each vertex.
		c := r.Price(r.SumsFor(&dog), &dog, w.Depart, nil, mostS)
		barred, _ := r.Bars(&w.Limits, w.Asker(), c)
		router, err := search.NewRouter(&r.Star)
		if err != nil {
			t.Fatal(err)
		}
		best, longest := math.Inf(1), 0.0
		for via := range int32(len(r.Home)) {
			x, secs := 0.0, 0.0
			for _, leg := range [2][2]int32{{r.Door, via}, {via, r.Goal}} {
				tree, err := router.Reach([]search.Source{{Vertex: leg[0]}}, c.Cost[0], search.Span{Cutoff: math.Inf(1), Barred: barred})
				if err != nil {
					t.Fatal(err)
				}
				x += tree.Dist(leg[1])
				if !math.IsInf(tree.Dist(leg[1]), 1) {
					for _, a := range tree.Path(nil, leg[1]) {
						secs += float64(c.TimeS[a])
					}
				}
				tree.Release()
			}
			if math.IsInf(x, 1) || secs > mostS {
				continue
			}
			longest = math.Max(longest, secs)
			if secs >= calmInS {
				best = math.Min(best, x)
			}
		}
		if longest >= calmInS+1 && walk.DurationS < calmInS-1 {
			t.Errorf("a way in of %.0f s, and there is one of %.0f s", walk.DurationS, longest)
		}
		if !math.IsInf(best, 1) && walk.DurationS >= calmInS {
			got := 0.0
			arcs, err := r.Along(walk.Course)
			if err != nil {
				t.Fatal(err)
			}
			for _, a := range arcs {
				got += float64(c.Cost[0][a])
			}
			if got > best*1.001+1e-6 {
				t.Errorf("a way in of %.4f expected reactions, by some vertex there is one of %.4f", got, best)
			}
		}
		if tried == 6 {
			break
		}
	}
	if tried < 3 {
		t.Errorf("only %d ways in", tried)
	}
}

// TestCareAndKindsAdded: what the day asks for on both ways is told once with its times
// added, and kinds are added by kind, in the order of the way in.
func TestCareAndKindsAdded(t *testing.T) {
	v := &Visit{In: routing.Walk{Care: []routing.Note{{What: "heat", TimeS: 60, OfS: 300}, {What: "ice", TimeS: 1, OfS: 2}}}, Home: routing.Walk{Care: []routing.Note{{What: "livestock", TimeS: 5, OfS: 6}, {What: "heat", TimeS: 30, OfS: 200}}}}
	got := v.Care()
	want := []routing.Note{{What: "heat", TimeS: 90, OfS: 500}, {What: "ice", TimeS: 1, OfS: 2}, {What: "livestock", TimeS: 5, OfS: 6}}
	same := len(got) == len(want)
	for i := range got {
		same = same && got[i].What == want[i].What && got[i].TimeS == want[i].TimeS && got[i].OfS == want[i].OfS
	}
	if !same {
		t.Errorf("%+v, want %+v", got, want)
	}
	if v.In.Care[0].TimeS != 60 {
		t.Error("the way in is changed")
	}
	a := []routing.KindOutlook{{Kind: exposure.Child, Expected: 1, Low: 0.5, High: 2, Inside: 0.1, InsideS: 3, Reactions: 0.2}}
	b := []routing.KindOutlook{{Kind: exposure.Adult, Expected: 7}, {Kind: exposure.Child, Expected: 2, Low: 1, High: 3, Inside: 0.2, InsideS: 4, Reactions: 0.3}}
	kinds := addedKinds(a, b)
	if len(kinds) != 2 || kinds[1].Kind != exposure.Adult || kinds[1].Expected != 7 || a[0].Expected != 1 {
		t.Errorf("%+v", kinds)
	}
	if k := kinds[0]; k.Expected != 3 || k.Low != 1.5 || k.High != 5 || math.Abs(k.Inside-0.3) > 1e-12 || k.InsideS != 7 || k.Reactions != 0.5 {
		t.Errorf("%+v", k)
	}
}

// TestStandAmongWatchPoints: the stay is told at its place between the watch points of both
// ways, whose times and metres run on through it.
func TestStandAmongWatchPoints(t *testing.T) {
	v := &Visit{Option: Option{Place: Place{Vantage: Vantage{Watched: Watched{Name: "The Green"}, At: plane.Point{X: 3}, DistM: 60, RoomM: 12}}, StayS: 300}}
	v.In = routing.Walk{DurationS: 400, LengthM: 480, Watch: []routing.WatchPoint{{AtS: 100, FromM: 120}}}
	v.Home = routing.Walk{DurationS: 350, LengthM: 420, Watch: []routing.WatchPoint{{AtS: 10, FromM: 12}}}
	got := v.ready(700, 480)
	stand := slices.IndexFunc(got, func(q routing.WatchPoint) bool { return q.What == StandPoint })
	if stand < 0 || got[stand].AtS != 400 || got[stand].FromM != 480 || got[stand].Name != "The Green" || got[stand].DistM != 60 || got[stand].RoomM != 12 || got[stand].Deed != routing.DeedStand {
		t.Fatalf("%+v", got)
	}
	for i, q := range got {
		if q.What != StandPoint && (q.FromM > 480) != (i > stand) {
			t.Errorf("the stay is point %d of %+v", stand, got)
		}
		if q.What != StandPoint && q.FromM > 480 && (q.AtS != 710 || q.FromM != 492) {
			t.Errorf("a point on the way home is told at %g s and %g m", q.AtS, q.FromM)
		}
	}
}

// TestBoundsOfVisits: what stands at a bound of a wish is taken, what lies past it is named
// with its value.
func TestBoundsOfVisits(t *testing.T) {
	good := func() Wish {
		return Wish{Dog: maptest.Kessa(), Kinds: exposure.Dogs.Kinds(), Nearest: 1, Farthest: 2, MaxX: 1, ReachM: 2500, Times: []time.Time{maptest.Morning}}
	}
	for _, c := range []struct {
		what   string
		change func(w *Wish)
		want   fault.Problems
	}{
		{"as asked", func(*Wish) {}, nil},
		{"one distance", func(w *Wish) { w.Nearest = 2 }, nil},
		{"bounds", func(w *Wish) {
			w.Nearest, w.Farthest, w.MaxX, w.ReachM, w.Times, w.Least = 0.5, 3, 20, 5000, slices.Repeat(w.Times, 24), GradeD
		}, nil},
		{"near", func(w *Wish) { w.Nearest = 0.49 }, fault.Problems{{Pointer: "/nearest", Value: "0.49", Mend: "give 0.5 up to the farthest distance, in multiples of the working distance"}}},
		{"far", func(w *Wish) { w.Farthest = 3.001 }, fault.Problems{{Pointer: "/farthest", Value: "3.001", Mend: "give at most 3 times the working distance"}}},
		{"much", func(w *Wish) { w.MaxX = 20.5 }, fault.Problems{{Pointer: "/max_expected_reactions", Value: "20.5", Mend: "give more than 0 and at most 20 for one visit"}}},
		{"times", func(w *Wish) { w.Times = slices.Repeat(w.Times, 25) }, fault.Problems{{Pointer: "/times", Value: "25", Mend: "give 1 to 24 times at which one could stand there"}}},
		{"reach", func(w *Wish) { w.ReachM = 5000.5 }, fault.Problems{{Pointer: "/reach_m", Value: "5000.5", Mend: "give up to 5,000 m on foot"}}},
		{"kind", func(w *Wish) { w.Kinds = nil }, fault.Problems{{Pointer: "/kind", Mend: "the dog has no working distance for it: name a kind or category that it reacts to"}}},
		{"grade", func(w *Wish) { w.Least = "a" }, fault.Problems{{Pointer: "/least_grade", Value: "a", Mend: "use A, B, C or D"}}},
		{"limits", func(w *Wish) { w.Limits.WithinM = -1 }, fault.Problems{{Pointer: "/limits/within_m", Value: "-1", Mend: "give a distance in metres, or leave it out"}}},
	} {
		w := good()
		c.change(&w)
		err := w.check()
		var got fault.Problems
		errors.As(err, &got)
		if !slices.Equal(got, c.want) || (err == nil) != (len(c.want) == 0) {
			t.Errorf("%s: %v, want %v", c.what, err, c.want)
		}
	}
	for stay, ok := range map[float64]bool{0: true, 60: true, 1800: true, 59.9: false, 1800.1: false, -60: false, math.NaN(): false} {
		w := VantageWish{Dog: maptest.Kessa(), Kinds: exposure.Dogs.Kinds(), Multiple: 0.5, At: maptest.Morning, StayS: stay}
		if err := w.check(); (err == nil) != ok {
			t.Errorf("a stay of %g s: %v", stay, err)
		}
	}
}

// TestSmallRules: which place of a list one is at, the grade that does at a distance, the
// part of an edge under one's feet, sources by their number on the map.
func TestSmallRules(t *testing.T) {
	places := []plane.Point{{X: 100}, {X: 0}, {X: 30}}
	for at, want := range map[plane.Point]int{{}: 1, {X: 39.9}: 1, {X: 61}: 0, {X: 50}: 2, {X: 141}: -1, {Y: 41}: -1} {
		if got := placeIn(places, at); got != want {
			t.Errorf("at %v one is at place %d, want %d", at, got, want)
		}
	}
	if placeIn(nil, plane.Point{}) != -1 {
		t.Error("one is at a place of none")
	}
	for _, c := range []struct {
		asked    Grade
		multiple float64
		want     Grade
	}{{"", 1.5, GradeD}, {"", 1.49, GradeB}, {"", 3, GradeD}, {GradeA, 3, GradeA}, {GradeD, 1, GradeD}} {
		if got := leastGrade(c.asked, c.multiple); got != c.want {
			t.Errorf("asked for %q at %g: %q, want %q", c.asked, c.multiple, got, c.want)
		}
	}
	p, err := routing.NewPlanner(maptest.Town(t), nil)
	if err != nil {
		t.Fatal(err)
	}
	s := p.Land().Snap
	for i := range s.Field.Sources {
		n := SourceNumber(p, s.Field.Sources[i].OSM)
		if n < 0 || s.Field.Sources[n].OSM != s.Field.Sources[i].OSM || int(n) > i {
			t.Fatalf("source %d is found as %d", i, n)
		}
	}
	if SourceNumber(p, "way/0") != -1 {
		t.Error("a source that the map lacks")
	}
	rng := rand.New(rand.NewPCG(6, 5))
	for range 500 {
		e := int32(rng.IntN(s.Graph.EdgeCount()))
		along := rng.Float64() * float64(s.Graph.LengthM[e])
		var want *network.Part
		for k := s.Graph.PartAt[e]; k < s.Graph.PartAt[e+1]; k++ {
			if float64(s.Graph.Parts[k].FromM) <= along {
				want = &s.Graph.Parts[k]
			}
		}
		if got := partAt(p, e, along); got != want {
			t.Fatalf("at %.2f m of edge %d the part from %g m is told, want that from %g m", along, e, got.FromM, want.FromM)
		}
	}
	none := &reach.Infeasible{}
	if _, err := Again(t.Context(), p, Wish{From: maptest.Door(s.Frame), Dog: maptest.Kessa(), Kinds: exposure.Dogs.Kinds()}, Revisit{Source: 1 << 20, Arrive: maptest.Morning, StayS: 300}); err == nil || errors.As(err, &none) {
		t.Errorf("a source that the map has not: %v", err)
	}
	for _, stay := range []float64{59, 1801, math.NaN()} {
		var wrong fault.Problems
		if _, err := Again(t.Context(), p, Wish{From: maptest.Door(s.Frame), Dog: maptest.Kessa(), Kinds: exposure.Dogs.Kinds()}, Revisit{Source: -1, Arrive: maptest.Morning, StayS: stay}); !errors.As(err, &wrong) || wrong[0].Pointer != "/visit" {
			t.Errorf("a stay of %g s: %v", stay, err)
		}
	}
}
