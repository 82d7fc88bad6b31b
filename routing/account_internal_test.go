package routing

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"wideberth/exposure"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
	"wideberth/routing/reach"
)

// noted are the notes of a walk on its own that tell of the walk.
func noted(w *Wish, walk *Walk) (out []NoteWhat) {
	for _, n := range notes(w, &Plan{Walks: []Walk{*walk}}) {
		out = append(out, n.What)
	}
	return out
}

// TestNotesOfAWalk: each note is told from its share on and not below it, and in the
// words that fit what was wished for.
func TestNotesOfAWalk(t *testing.T) {
	leg := func(l Leg) Walk { return Walk{DurationS: 1000, Laps: 1, Legs: []Leg{{DurationS: 800}, l}} }
	for _, c := range []struct {
		what string
		wish Wish
		walk Walk
		want []NoteWhat
	}{
		{"a plain loop", Wish{Shape: Loop}, Walk{Shape: Loop, DurationS: 1000, Laps: 1}, nil},
		{"laps where loops are wished", Wish{Shape: Loop}, Walk{Shape: Loop, DurationS: 1000, Laps: 2, Turns: 3}, []NoteWhat{NoteLaps}},
		{"laps that are the calmest", Wish{Shape: Calmest}, Walk{Shape: Calmest, DurationS: 1000, Laps: 2}, []NoteWhat{NoteRounds}},
		{"home by the same way for want of loops", Wish{Shape: Loop}, Walk{Shape: ThereAndBack, DurationS: 1000, Laps: 1, Turns: 1}, []NoteWhat{NoteSameWay}},
		{"home by the same way as the calmest", Wish{Shape: Calmest}, Walk{Shape: ThereAndBack, DurationS: 1000, Laps: 1, Turns: 1}, []NoteWhat{NoteOutHome}},
		{"there and back as wished", Wish{Shape: ThereAndBack}, Walk{Shape: ThereAndBack, DurationS: 1000, Laps: 1, Turns: 1, TailS: 500}, nil},
		{"a way", Wish{Shape: Way}, Walk{Shape: Way, DurationS: 1000, RepeatedS: 900, Laps: 1}, nil},
		{"a tail of a tenth", Wish{Shape: Loop}, Walk{DurationS: 1000, TailS: 100, Laps: 1}, nil},
		{"a tail of more", Wish{Shape: Loop}, Walk{DurationS: 1000, TailS: 101, RepeatedS: 400, Laps: 1}, []NoteWhat{NoteTail}},
		{"three tenths again", Wish{Shape: Loop}, Walk{DurationS: 1000, RepeatedS: 300, Laps: 1}, nil},
		{"more again, and a turn", Wish{Shape: Calmest}, Walk{DurationS: 1000, RepeatedS: 301, Laps: 1, Turns: 2}, []NoteWhat{NoteRepeated, NoteTurns}},
		{"a fifth beside a main road", Wish{Shape: Loop}, Walk{DurationS: 1000, MainRoadS: 200, Laps: 1}, nil},
		{"more beside it", Wish{Shape: Loop}, Walk{DurationS: 1000, MainRoadS: 201, Laps: 1}, []NoteWhat{NoteMainRoad}},
		{"steps along a fast road", Wish{Shape: Loop}, leg(Leg{Ground: reach.FastRoads, LengthM: 49}), nil},
		{"along a fast road", Wish{Shape: Loop}, leg(Leg{Ground: reach.FastRoads, LengthM: 50}), []NoteWhat{NoteFastRoad}},
		{"a way along a fast road", Wish{Shape: Way}, leg(Leg{Ground: reach.FastRoads, LengthM: 90}), nil},
		{"between parked cars", Wish{Shape: Loop}, leg(Leg{Ground: reach.Aisles, DurationS: 1}), []NoteWhat{NoteAisles}},
		{"from among them", Wish{Shape: Loop, Away: true}, leg(Leg{Ground: reach.Aisles, DurationS: 199}), nil},
		{"long among them", Wish{Shape: Loop, Away: true}, leg(Leg{Ground: reach.Aisles, DurationS: 200}), []NoteWhat{NoteAisles}},
		{"over a drive that is two things", Wish{Shape: Loop}, leg(Leg{Ground: reach.Private | reach.Aisles}), []NoteWhat{NoteAisles, NotePrivate}},
		{"rules of its own at home", Wish{Shape: Loop}, leg(Leg{Ground: reach.Precincts}), nil},
		{"rules of its own away", Wish{Shape: Loop, Away: true}, leg(Leg{Ground: reach.Precincts}), []NoteWhat{NotePrecinct}},
		{"service roads at home", Wish{Shape: Loop}, Walk{DurationS: 1000, ServiceS: 900, Laps: 1}, nil},
		{"service roads away, a tenth", Wish{Shape: Loop, Away: true}, Walk{DurationS: 1000, ServiceS: 100, Laps: 1}, nil},
		{"service roads away", Wish{Shape: Loop, Away: true}, Walk{DurationS: 1000, ServiceS: 101, Laps: 1}, []NoteWhat{NoteService}},
		{"rules for dogs", Wish{Shape: Way}, leg(Leg{DogRules: true}), []NoteWhat{NoteDogRules}},
		{"the day's cautions first", Wish{Shape: Loop}, Walk{DurationS: 1000, MainRoadS: 900, Laps: 1, Care: []Note{{What: NoteIce}}}, []NoteWhat{NoteIce, NoteMainRoad}},
	} {
		if got := noted(&c.wish, &c.walk); !slices.Equal(got, c.want) {
			t.Errorf("%s: %v, want %v", c.what, got, c.want)
		}
	}
}

// TestNoteOfAStartInside: only what is active, at the door and nearer than the reaction
// distance is told, with its name and how near.
func TestNoteOfAStartInside(t *testing.T) {
	need := exposure.Need{WorkingM: 40, ReactionM: 20}
	for _, c := range []struct {
		s    Passed
		want bool
	}{
		{Passed{NearestM: 19, Active: 0.9}, true}, {Passed{NearestM: 20, Active: 0.9}, false}, {Passed{NearestM: 5, Active: 0}, false},
		{Passed{NearestM: 5, Active: 0.9, FromM: 1}, false}, {Passed{NearestM: 5, Active: 0.9, FromM: 0.9}, true},
	} {
		c.s.Name, c.s.Need = "Far Meadow", need
		got := notes(&Wish{Shape: Loop}, &Plan{Walks: []Walk{{Passed: []Passed{c.s}}}})
		if c.want != (len(got) == 1) || c.want && got[0] != (Note{What: NoteInside, Name: "Far Meadow", DistM: c.s.NearestM}) {
			t.Errorf("%+v: %+v", c.s, got)
		}
	}
}

// TestNotesCarryNumbers: what is told of a walk has its numbers with it.
func TestNotesCarryNumbers(t *testing.T) {
	walk := Walk{DurationS: 900, MainRoadS: 450, RepeatedS: 360, Turns: 2, Laps: 1, ServiceS: 300,
		Legs: []Leg{{Name: "Ash Row", DogRules: true, DurationS: 100}, {Class: "footpath", Ground: reach.Private, DurationS: 800}}}
	got := notes(&Wish{Shape: Calmest, Away: true}, &Plan{Walks: []Walk{walk}})
	want := []Note{{What: NoteRepeated, Share: 0.4}, {What: NoteTurns, N: 2}, {What: NoteMainRoad, TimeS: 450, OfS: 900}, {What: NotePrivate, Class: "footpath"},
		{What: NoteService, TimeS: 300, OfS: 900}, {What: NoteDogRules, Name: "Ash Row"}}
	if !slices.Equal(got, want) {
		t.Errorf("%+v, want %+v", got, want)
	}
	walk.Laps = 4
	if got := walk.form(&Wish{Shape: Loop}); len(got) != 1 || got[0].N != 4 {
		t.Errorf("four times round: %+v", got)
	}
}

// TestWearOfAWalk: strain counts as the wish weighs it, service roads away from home only.
func TestWearOfAWalk(t *testing.T) {
	walk, best := Walk{ExpectedReactions: 0.2, Strain: 0.1, ServiceS: 600}, Walk{ExpectedReactions: 0.1, Strain: 0.05}
	for _, c := range []struct {
		wish        Wish
		wear, times float64
	}{
		{Wish{}, 0.3, 2}, {Wish{Strain: "none"}, 0.2, 2}, {Wish{Strain: "strict"}, 0.5, 2},
		{Wish{Away: true}, 0.3 + 10*reach.ServicePerMin, 2 + 10*reach.ServicePerMin/0.15},
	} {
		if got := walk.Wear(&c.wish); math.Abs(got-c.wear) > 1e-12 {
			t.Errorf("%+v: wears %g, want %g", c.wish.Strain, got, c.wear)
		}
		if got := timesBest(&c.wish, &walk, &best); math.Abs(got-c.times) > 1e-9 {
			t.Errorf("%+v: %g times the best, want %g", c.wish.Strain, got, c.times)
		}
	}
	if got := timesBest(&Wish{}, &walk, &Walk{}); got != 1 {
		t.Errorf("beside a walk that costs nothing: %g", got)
	}
}

// slowRank is rankOf by its words: a bound is the greatest number of minutes that a
// quarter, a half, three quarters of the metres reach.
func slowRank(all []groundMinutes) (r Rank) {
	total := 0.0
	for _, g := range all {
		total += g.lengthM
	}
	last := math.Inf(1)
	for i := range r.Minutes {
		bound := 0.0
		for _, g := range all {
			reached := 0.0
			for _, o := range all {
				if o.minutes >= g.minutes {
					reached += o.lengthM
				}
			}
			if reached*4 >= total*float64(i+1) {
				bound = max(bound, g.minutes)
			}
		}
		bound = math.Min(math.Max(bound, rankSpan[i][0]), rankSpan[i][1])
		best := math.Inf(1)
		for _, rung := range rankLadder {
			if math.Abs(rung-bound) < math.Abs(best-bound) {
				best = rung
			}
		}
		if best >= last { // no two bounds are one
			for _, rung := range rankLadder {
				if rung < last {
					best = rung
				}
			}
		}
		r.Minutes[i], last = best, best
	}
	for _, g := range all {
		step := 0
		for step < 3 && g.minutes < r.Minutes[step] {
			step++
		}
		r.Share[step] += g.lengthM / total
	}
	return r
}

// TestRanksAgainstASlowTwin: ground drawn at random, from wastes to noon in a city.
func TestRanksAgainstASlowTwin(t *testing.T) {
	rng := rand.New(rand.NewPCG(2, 9))
	for range 400 {
		around := []float64{3, 15, 60, 250, 5000}[rng.IntN(5)]
		all := make([]groundMinutes, 1+rng.IntN(25))
		for i := range all {
			all[i] = groundMinutes{math.Floor(rng.ExpFloat64()*around) + 0.37, float64(1 + rng.IntN(300))}
		}
		want := slowRank(all)
		got := rankOf(slices.Clone(all))
		if got.Minutes != want.Minutes {
			t.Fatalf("%v: bounds %v, want %v", all, got.Minutes, want.Minutes)
		}
		sum := 0.0
		for i := range got.Share {
			sum += got.Share[i]
			if math.Abs(got.Share[i]-want.Share[i]) > 1e-9 {
				t.Fatalf("%v: shares %v, want %v", all, got.Share, want.Share)
			}
		}
		if math.Abs(sum-1) > 1e-9 {
			t.Fatalf("shares add up to %g", sum)
		}
		for i, m := range got.Minutes {
			if m < rankSpan[i][0]-5 || m > rankSpan[i][1] || i > 0 && m >= got.Minutes[i-1] {
				t.Fatalf("bounds %v", got.Minutes)
			}
		}
	}
	if got := rankOf(nil); got.Share != [4]float64{} || got.Minutes != [3]float64{20, 10, 5} {
		t.Errorf("of no ground: %+v", got)
	}
}

// TestStepsGoWithTheHazard: more reactions never make a lower step, and no hazard at all
// is told by a finite number of minutes.
func TestStepsGoWithTheHazard(t *testing.T) {
	r := Rank{Minutes: [3]float64{100, 40, 10}}
	last := 1
	for h := 0.0; h < 0.01; h += 1e-5 {
		step := r.Step(h)
		if step < last || step > 4 {
			t.Fatalf("step %d at %g, %d before", step, h, last)
		}
		last = step
	}
	if last != 4 {
		t.Errorf("the worst is of step %d", last)
	}
	for _, c := range []struct{ perMin, minutes float64 }{{1, 1}, {0.1, 10}, {0.01, 100}, {0, 1e5}, {1e-9, 1e5}} {
		if got := minutesTo(c.perMin / 60); math.Abs(got-c.minutes) > 1e-9*c.minutes {
			t.Errorf("%g a minute: %g minutes to one, want %g", c.perMin, got, c.minutes)
		}
	}
}

// TestLevelsBeginAtTheirLimits: a limit belongs to the level above it.
func TestLevelsBeginAtTheirLimits(t *testing.T) {
	for i, lim := range LevelLimits {
		if below, at := LevelOf(lim/600*(1-1e-9)), LevelOf(lim/600*(1+1e-9)); below != Level(i) || at != Level(i+1) {
			t.Errorf("about %g in ten minutes: %s, then %s", lim, below, at)
		}
	}
	if LevelOf(0) != Calm || LevelOf(math.Inf(1)) != Hard || Calm.String() != "calm" || Hard.String() != "hard" || Some.String() != "some" || Tight.String() != "tight" {
		t.Error("the ends or the names are wrong")
	}
}

// TestBestWindowsAgainstASlowTwin: again and again the least sum that is left, the
// earliest of equal ones, beside none that was taken.
func TestBestWindowsAgainstASlowTwin(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 4))
	for range 500 {
		list := make([]HourOutlook, rng.IntN(30))
		for i := range list {
			list[i] = HourOutlook{Found: rng.IntN(5) > 0, Free: rng.IntN(3) > 0, Reactions: float64(rng.IntN(6)) / 8, Strain: float64(rng.IntN(3)) / 8}
		}
		most := rng.IntN(6)
		shut := make([]bool, len(list)+2)
		want := []int{}
		for len(want) < most {
			best := -1
			for i := range list {
				if list[i].Found && list[i].Free && !shut[i+1] && (best < 0 || list[i].Reactions+list[i].Strain < list[best].Reactions+list[best].Strain) {
					best = i
				}
			}
			if best < 0 {
				break
			}
			want = append(want, best)
			shut[best], shut[best+1], shut[best+2] = true, true, true
		}
		if got := BestWindows(list, most); !slices.Equal(got, want) {
			t.Fatalf("%v, want %v of %+v", got, want, list)
		}
	}
}

// TestWholeHours: the hour of the wall, also where zones are off by half an hour or by
// three quarters (Nepal's is 5:45, tz database, "Asia/Kathmandu").
func TestWholeHours(t *testing.T) {
	for _, zone := range []string{"UTC", "Europe/London", "Asia/Kolkata", "Asia/Kathmandu", "America/St_Johns", "Australia/Lord_Howe"} {
		loc, err := time.LoadLocation(zone)
		if err != nil {
			t.Fatal(err)
		}
		for m := 0; m < 3*24*60; m += 7 {
			at := time.Date(2026, 10, 24, 0, 0, 13, 500, loc).Add(time.Duration(m) * time.Minute)
			got := wholeHour(at)
			if got.Minute() != 0 || got.Second() != 0 || got.Nanosecond() != 0 || got.After(at) || at.Sub(got) >= time.Hour {
				t.Fatalf("%s: %v of %v", zone, got, at)
			}
		}
	}
}

// TestQualityOfABound: a gap below rounding is a proof; one over a quarter says nothing.
func TestQualityOfABound(t *testing.T) {
	for _, c := range []struct {
		sum, bound, within float64
		proved             bool
	}{{1, 1, 0, true}, {1, 0.99995, 0, true}, {1, 0.9, 10, false}, {2, 1.5, 25, false}, {1, 0.74, -1, false}, {0, 0, 0, true}, {1, 1.2, 0, true}} {
		got := Quality{LowerX: c.bound, Work: 9}.of(c.sum)
		if got.Proved != c.proved || math.Abs(got.WithinPct-c.within) > 1e-9 || got.Checking == got.Proved || got.Sum != c.sum || got.LowerX != c.bound || got.Work != 9 {
			t.Errorf("%g with a bound of %g: %+v", c.sum, c.bound, got)
		}
	}
}

// TestWhatAProofCovers: it is said of walks of which something is proved, of closed ones only.
func TestWhatAProofCovers(t *testing.T) {
	for _, s := range []Shape{Calmest, Loop, ThereAndBack, Way, LongestCalm} {
		walks := []Walk{{Quality: Quality{Proved: true}}, {Quality: Quality{WithinPct: 3}}, {Quality: Quality{WithinPct: -1}}}
		withCovers(&Wish{Shape: s, Minutes: 10, Strain: "strict", Soft: true, Shorter: 0.1}, walks)
		want := Covered{Shape: s, MinS: 540, MaxS: 660, StrainWeight: 3, Soft: true}
		if s == Way || s == LongestCalm {
			want = Covered{}
		}
		for i := range walks {
			got := walks[i].Quality.Covers
			if i == 2 && got != (Covered{}) || i < 2 && (got.Shape != want.Shape || math.Abs(got.MinS-want.MinS) > 1e-9 || math.Abs(got.MaxS-want.MaxS) > 1e-9 || got.StrainWeight != want.StrainWeight || got.Soft != want.Soft) {
				t.Errorf("%s: walk %d covers %+v, want %+v", s, i, got, want)
			}
		}
	}
}

// TestGroundIsOpenedBitByBit: each further try keeps off less than the one before, never
// other ground, and drives are kept off to the last.
func TestGroundIsOpenedBitByBit(t *testing.T) {
	for _, away := range []bool{false, true} {
		list := (&Wish{Away: away}).keepOff()
		for i, off := range list {
			if off&reach.Private == 0 || !away && off&reach.Precincts != 0 || i > 0 && (off&^list[i-1] != 0 || off == list[i-1]) {
				t.Errorf("away %v: %v", away, list)
			}
		}
		if away != (list[0]&reach.Precincts != 0) || list[len(list)-1] != reach.Private {
			t.Errorf("away %v: %v", away, list)
		}
	}
}

// TestGroundWalkedTwice holds tails and repeats against a plain count, on walks drawn at
// random: arcs 2k and 2k+1 are each other's twins.
func TestGroundWalkedTwice(t *testing.T) {
	rng := rand.New(rand.NewPCG(6, 1))
	r := &reach.Reach{}
	for a := range int32(12) {
		r.Star.Twin = append(r.Star.Twin, a^1)
	}
	for range 500 {
		tr := &trace{}
		for range 1 + rng.IntN(10) {
			tr.arcs = append(tr.arcs, int32(rng.IntN(12)))
			tr.timeS = append(tr.timeS, float64(1+rng.IntN(9)))
		}
		if rng.IntN(3) == 0 { // there and back
			for i := len(tr.arcs) - 1; i >= 0; i-- {
				tr.arcs, tr.timeS = append(tr.arcs, tr.arcs[i]^1), append(tr.timeS, tr.timeS[i])
			}
		}
		again := 0.0
		for i, a := range tr.arcs {
			if slices.ContainsFunc(tr.arcs[:i], func(b int32) bool { return a/2 == b/2 }) {
				again += tr.timeS[i]
			}
		}
		if got := repeated(r, tr); got != again {
			t.Fatalf("%v: %g s again, want %g", tr.arcs, got, again)
		}
		tail, n := 0, len(tr.arcs)
		for k := 1; k <= n/2; k++ {
			same := true
			for i := range k {
				same = same && tr.arcs[i]^1 == tr.arcs[n-1-i]
			}
			if same {
				tail = k
			}
		}
		if got := tailOf(r, tr.arcs); got != tail {
			t.Fatalf("%v: a tail of %d, want %d", tr.arcs, got, tail)
		}
	}
}

// TestScrapsGoUnder: nameless runs under 30 m are told with the one before them, but for
// the first and the last; runs of one street that they parted are one again.
func TestScrapsGoUnder(t *testing.T) {
	run := func(name int32, lengthM float64, edge int32) []stretch {
		s := stretch{part: &network.Part{}, lengthM: lengthM}
		s.part.Name, s.Edge = name, edge
		return []stretch{s}
	}
	type told struct {
		name  int32
		count int
	}
	p := &Planner{}
	for _, c := range []struct {
		what string
		runs [][]stretch
		want []told
	}{
		{"a kerb between two parts of a street", [][]stretch{run(1, 90, 0), run(0, 29, 1), run(1, 90, 2)}, []told{{1, 3}}},
		{"a footpath between them", [][]stretch{run(1, 90, 0), run(0, 30, 1), run(1, 90, 2)}, []told{{1, 1}, {0, 1}, {1, 1}}},
		{"a short street with a name", [][]stretch{run(1, 90, 0), run(2, 5, 1), run(1, 90, 2)}, []told{{1, 1}, {2, 1}, {1, 1}}},
		{"a scrap at the door and one at the end", [][]stretch{run(0, 5, 0), run(1, 90, 1), run(0, 5, 2)}, []told{{0, 1}, {1, 1}, {0, 1}}},
		{"two scraps", [][]stretch{run(1, 90, 0), run(0, 9, 1), run(0, 9, 2), run(2, 90, 3)}, []told{{1, 3}, {2, 1}}},
		{"footpaths stay apart", [][]stretch{run(0, 90, 0), run(0, 90, 1)}, []told{{0, 1}, {0, 1}}},
	} {
		var got []told
		for _, r := range p.rejoined(withoutScraps(c.runs)) {
			got = append(got, told{r[0].part.Name, len(r)})
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("%s: %v, want %v", c.what, got, c.want)
		}
	}
}

// TestLinesAreJoinedOnce: the point where two lines meet stands once, a gap stays.
func TestLinesAreJoinedOnce(t *testing.T) {
	a, b := plane.Polyline{{X: 0}, {X: 10}}, plane.Polyline{{X: 10}, {X: 10, Y: 5}}
	if got := Joined(slices.Clone(a), b); len(got) != 3 || math.Abs(got.LengthM()-15) > 1e-9 {
		t.Errorf("%v", got)
	}
	if got := Joined(slices.Clone(b), a); len(got) != 4 {
		t.Errorf("lines apart: %v", got)
	}
	if got := Joined(nil, a); len(got) != 2 {
		t.Errorf("after nothing: %v", got)
	}
	if got := Joined(slices.Clone(a), nil); len(got) != 2 {
		t.Errorf("and nothing: %v", got)
	}
}

// TestApproachAgainstManyPoints: how near a walk comes to a round source and to one with
// an outline, against points every few centimetres of the line.
func TestApproachAgainstManyPoints(t *testing.T) {
	rng := rand.New(rand.NewPCG(8, 2))
	at := func() plane.Point { return plane.Point{X: rng.Float64() * 100, Y: rng.Float64() * 100} }
	for range 60 {
		line := plane.Polyline{at(), at(), at()}
		s := &exposure.Source{At: at(), RadiusM: float32(rng.IntN(8))}
		least := math.Inf(1)
		for m := 0.0; m <= line.LengthM(); m += 0.05 {
			least = min(least, line.At(m).DistanceM(s.At)-float64(s.RadiusM))
		}
		along, dist, toward := approach(s, line)
		if math.Abs(dist-least) > 0.06 || toward != s.At || math.Abs(line.At(along).DistanceM(s.At)-float64(s.RadiusM)-dist) > 1e-6 {
			t.Fatalf("%v past %v: %g m at %g, want %g", line, s.At, dist, along, least)
		}
		x, y := 40+20*rng.Float64(), 40+20*rng.Float64()
		s.Area = []plane.Polygon{{Outer: plane.Ring{{X: x, Y: y}, {X: x + 12, Y: y}, {X: x + 12, Y: y + 9}, {X: x, Y: y + 9}, {X: x, Y: y}}}}
		least = math.Inf(1)
		for m := 0.0; m <= line.LengthM(); m += 0.05 {
			q := line.At(m)
			least = min(least, math.Hypot(max(0, x-q.X, q.X-x-12), max(0, y-q.Y, q.Y-y-9)))
		}
		along, dist, toward = approach(s, line)
		if math.Abs(dist-least) > 0.06 {
			t.Fatalf("%v past a field at %g, %g: %g m, want %g", line, x, y, dist, least)
		}
		if dist > 0 && math.Abs(line.At(along).DistanceM(toward)-dist) > 1e-6 {
			t.Fatalf("from %v to %v it is not %g m", line.At(along), toward, dist)
		}
	}
}

// TestKeepOffDeeds: away from the side that it is on, and a look first where it lies on
// the walk itself.
func TestKeepOffDeeds(t *testing.T) {
	for _, c := range []struct {
		side string
		m    float64
		want Deed
	}{{"left", 10, DeedKeepRight}, {"right", 10, DeedKeepLeft}, {"", 10, DeedFarSide}, {"left", 2.9, DeedLookFirst}, {"right", 3, DeedKeepLeft}, {"", 0, DeedLookFirst}} {
		if got := keepOffDeed(c.side, c.m); got != c.want {
			t.Errorf("%g m on the %q: %s, want %s", c.m, c.side, got, c.want)
		}
	}
}

// TestHalfWayThroughALeg: the arc walked then, by a plain search; none beyond the walk.
func TestHalfWayThroughALeg(t *testing.T) {
	tr := &trace{arcs: []int32{5, 6, 7}, enterS: []float64{0, 10, 30}, timeS: []float64{10, 20, 5}}
	for _, c := range []struct {
		start, long float64
		want        int
	}{{0, 8, 0}, {0, 35, 1}, {12, 6, 1}, {30, 4, 2}, {31, 8, 2}, {40, 10, -1}} {
		if got := tr.middle(&Leg{StartS: c.start, DurationS: c.long}); got != c.want {
			t.Errorf("a leg of %g s from %g: arc %d, want %d", c.long, c.start, got, c.want)
		}
	}
}
