package replay

import (
	"context"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"wideberth/osmdata/plane"
)

// timed makes a walk along points at a speed in m/s from a start in seconds.
func timed(dog string, startS, speed float64, points ...plane.Point) Walk {
	w := Walk{Dog: dog, StartS: startS, Line: points, ProgressS: []float64{0}}
	for i := 1; i < len(points); i++ {
		w.ProgressS = append(w.ProgressS, w.ProgressS[i-1]+points[i].DistanceM(points[i-1])/speed)
	}
	return w
}

// exact are rules without slack: everybody on the minute at the usual pace.
var exact = Rules{SlowShare: 1, FastShare: 1}

// slack are three minutes late and a tenth slower or faster.
var slack = Rules{LateS: 180, SlowShare: 0.9, FastShare: 1.1}

func check(t *testing.T, rules Rules, runs int, walks ...Walk) *Report {
	t.Helper()
	r, err := Check(context.Background(), walks, rules, runs, 1)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// TestNearest holds the closest approach of two movers to the worked example
// p = (30, 12) m, w = (-2.8, 0) m/s: t* = -(p.w)/|w|^2 = 10.714 s, d = 12 m, the
// test for agents with an extent (Li et al. 2019, Multi-agent path finding for
// large agents, AAAI; the numbers by hand).
func TestNearest(t *testing.T) {
	const span = 20.0 // seconds in the unit of time
	at, d := nearest(plane.Point{X: 30, Y: 12}, plane.Point{X: -2.8 * span}, 0, 1)
	if math.Abs(at*span-10.714) > 0.001 || math.Abs(d-12) > 1e-9 {
		t.Errorf("t %.4f s, d %.4f m; want 10.714 s and 12 m", at*span, d)
	}
	for _, c := range []struct {
		name         string
		p, v         plane.Point
		wantT, wantD float64
	}{
		{"standing", plane.Point{X: 3, Y: 4}, plane.Point{}, 0, 5},
		{"parting", plane.Point{X: 3, Y: 4}, plane.Point{X: 3, Y: 4}, 0, 5},
		{"still coming at the end", plane.Point{X: 10}, plane.Point{X: -4}, 1, 6},
	} {
		t.Run(c.name, func(t *testing.T) {
			if gotT, gotD := nearest(c.p, c.v, 0, 1); gotT != c.wantT || math.Abs(gotD-c.wantD) > 1e-12 {
				t.Errorf("got %g, %g; want %g, %g", gotT, gotD, c.wantT, c.wantD)
			}
		})
	}
}

// TestHeadway: two walks on one lane in the same direction keep speed times
// headway, 60 s at 1.2 m/s = 72 m; against each other they meet, unless one has
// left before the other enters (arithmetic by hand).
func TestHeadway(t *testing.T) {
	a, b := plane.Point{}, plane.Point{X: 600}
	t.Run("same direction", func(t *testing.T) {
		r := check(t, exact, 1, timed("a", 0, 1.2, a, b), timed("b", 60, 1.2, a, b))
		if got := r.Random[0].LeastM; math.Abs(got-72) > 1e-6 {
			t.Errorf("%.3f m, want 72", got)
		}
	})
	t.Run("against each other", func(t *testing.T) {
		r := check(t, exact, 1, timed("a", 0, 1.2, a, b), timed("b", 60, 1.2, b, a))
		if got := r.Random[0]; got.LeastM > 1e-6 || math.Abs(got.AtS-280) > 0.01 || math.Abs(got.At.X-336) > 0.1 {
			t.Errorf("%+v, want 0 m at 280 s, 336 m along", got)
		}
	})
	t.Run("one after the other", func(t *testing.T) {
		r := check(t, exact, 1, timed("a", 0, 1.2, a, b), timed("b", 502, 1.2, b, a))
		if len(r.Random) != 0 || r.Worst() != nil || !r.Kept() {
			t.Errorf("%+v, want no meeting: the first is home after 500 s", r.Random)
		}
	})
	t.Run("within the second", func(t *testing.T) {
		rules := exact
		rules.ZoneM = 60
		late := timed("b", 500.6, 1.2, b, a)
		if r := check(t, rules, 1, timed("a", 0.2, 1.2, a, b), late); len(r.Random) != 0 || r.ZoneS != 0 {
			t.Errorf("%+v, want no meeting: the first is home 0.4 s before the other leaves", r.Random)
		}
		late.StartS = 500.1
		if r := check(t, rules, 1, timed("a", 0.2, 1.2, a, b), late); len(r.Random) != 1 || r.Random[0].LeastM > 1.5 {
			t.Errorf("%+v, want both at one place for 0.1 s", r.Random)
		}
	})
}

// steps makes a walk of one vertex of a square grid a step: 100 m and 100 s each,
// a step on the spot is a wait.
func steps(dog string, vertices ...plane.Point) Walk {
	w := Walk{Dog: dog}
	for i, v := range vertices {
		w.Line, w.ProgressS = append(w.Line, v.Mul(100)), append(w.ProgressS, float64(i)*100)
	}
	return w
}

// conflict is the definition of path finding for several agents: the same vertex
// at one step, or two that change places along an edge (Stern et al. 2019,
// Multi-agent pathfinding: definitions, variants, and benchmarks, SoCS; Ma et al.
// 2019, AAAI).
func conflict(a, b []plane.Point) bool {
	for i := range a {
		if a[i] == b[i] || i > 0 && a[i] == b[i-1] && a[i-1] == b[i] {
			return true
		}
	}
	return false
}

// TestConflictsOfTheDefinition: on a grid with unit steps two walks come together
// if and only if they have a vertex or a swap conflict.
func TestConflictsOfTheDefinition(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 9))
	wander := func() []plane.Point {
		p := plane.Point{X: float64(rng.IntN(3)), Y: float64(rng.IntN(3))}
		out := []plane.Point{p}
		for range 6 {
			q := []plane.Point{p, {X: p.X + 1, Y: p.Y}, {X: p.X - 1, Y: p.Y}, {X: p.X, Y: p.Y + 1}, {X: p.X, Y: p.Y - 1}}[rng.IntN(5)]
			if q.X >= 0 && q.X < 3 && q.Y >= 0 && q.Y < 3 {
				p = q
			}
			out = append(out, p)
		}
		return out
	}
	seen := map[bool]int{}
	for range 400 {
		a, b := wander(), wander()
		r := check(t, exact, 1, steps("a", a...), steps("b", b...))
		met := r.Random[0].LeastM < 1
		if want := conflict(a, b); met != want {
			t.Fatalf("%v and %v: replay says together %v (%.1f m), the definition %v", a, b, met, r.Random[0].LeastM, want)
		}
		seen[met]++
	}
	if seen[true] < 50 || seen[false] < 50 {
		t.Errorf("lopsided sample: %v", seen)
	}
}

// TestTrap is the instance that shows prioritised planning incomplete (Erdmann and
// Lozano-Perez 1987, Algorithmica 2:477-521, limits in Ma et al. 2019; worked by
// hand): on a path A-B-C, one agent A to C and one C to A cannot pass whatever
// the order; with D beside B they can, but not if the first goes straight.
func TestTrap(t *testing.T) {
	a, b, c, d := plane.Point{}, plane.Point{X: 1}, plane.Point{X: 2}, plane.Point{X: 1, Y: 1}
	edges := map[plane.Point][]plane.Point{a: {b}, b: {a, c, d}, c: {b}, d: {b}}
	var paths func(at, to plane.Point, n int, allowed []plane.Point) [][]plane.Point
	paths = func(at, to plane.Point, n int, allowed []plane.Point) (out [][]plane.Point) {
		if n == 0 {
			if at == to {
				return [][]plane.Point{{at}}
			}
			return nil
		}
		for _, next := range append([]plane.Point{at}, edges[at]...) {
			if slices.Contains(allowed, next) {
				for _, rest := range paths(next, to, n-1, allowed) {
					out = append(out, append([]plane.Point{at}, rest...))
				}
			}
		}
		return out
	}
	apart := func(p, q []plane.Point) bool {
		return check(t, exact, 1, steps("p", p...), steps("q", q...)).Random[0].LeastM > 1
	}
	solvable := func(first, second [][]plane.Point) bool {
		return slices.ContainsFunc(first, func(p []plane.Point) bool {
			return slices.ContainsFunc(second, func(q []plane.Point) bool { return apart(p, q) })
		})
	}
	const n = 5
	if lane := []plane.Point{a, b, c}; solvable(paths(a, c, n, lane), paths(c, a, n, lane)) {
		t.Error("two pass each other on a path without a side place")
	}
	all := []plane.Point{a, b, c, d}
	if !solvable(paths(a, c, n, all), paths(c, a, n, all)) {
		t.Error("no way past each other although there is a side place")
	}
	straight := [][]plane.Point{{a, b, c, c, c, c}}
	if solvable(straight, paths(c, a, n, all)) {
		t.Error("the first goes straight and stays at C, and yet the second gets out")
	}
}

// TestFollow: on a straight line the place each second is what arithmetic says.
func TestFollow(t *testing.T) {
	w := timed("a", 60, 1, plane.Point{}, plane.Point{X: 300})
	w.Holds = []Hold{{ProgressS: 100, NotBeforeS: 60 + 130}}
	for _, c := range []struct {
		name string
		c    conduct
		want map[int]float64 // metres along by second of the outing
	}{
		{"usual pace waits at the hold", conduct{0, []float64{1}}, map[int]float64{60: 0, 110: 50, 160: 100, 175: 100, 190: 100, 200: 110, 390: 300}},
		{"late and slow does not wait", conduct{60, []float64{0.5}}, map[int]float64{120: 0, 320: 100, 330: 105}},
		{"late by a part of a second", conduct{0.5, []float64{1}}, map[int]float64{61: 0.5, 62: 1.5}},
		{"a pace for each minute", conduct{0, []float64{0.5, 1, 2}}, map[int]float64{120: 30, 180: 90, 185: 100, 191: 102}},
		{"a pace that changes within a second", conduct{0.5, []float64{0.5, 1}}, map[int]float64{121: 30.5}},
	} {
		t.Run(c.name, func(t *testing.T) {
			run := follow(&w, &c.c)
			for s, want := range c.want {
				if got := run.at[s-run.firstS].X; math.Abs(got-want) > 1e-9 {
					t.Errorf("at %d s: %.3f m, want %.3f", s, got, want)
				}
			}
		})
	}
}

// TestFollowNeverJumps: whatever the conduct, a dog moves no faster than the
// fastest pace, passes holds no earlier than printed, and comes home.
func TestFollowNeverJumps(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 1))
	for range 100 {
		w := zigzag(rng, "a", 12)
		c := checker{rules: &slack}
		run := follow(&w, c.stray(rng, rng.IntN(strayWays), &w))
		for i := 1; i < len(run.at); i++ {
			if d := run.at[i].DistanceM(run.at[i-1]); d > 1.2*1.1+1e-6 {
				t.Fatalf("moved %.3f m in second %d", d, i)
			}
		}
		if end := run.at[len(run.at)-1]; end.DistanceM(w.Line[len(w.Line)-1]) > 1e-6 {
			t.Fatalf("ends %v, not home", end)
		}
		for _, h := range w.Holds {
			k := walker{w: &w, u: h.ProgressS}
			at := k.place()
			there := slices.IndexFunc(run.at, func(p plane.Point) bool { return p.DistanceM(at) < 1e-9 })
			if there >= 0 && float64(run.firstS+there) < h.NotBeforeS && there+1 < len(run.at) && float64(run.firstS+there+1) <= h.NotBeforeS && run.at[there+1].DistanceM(at) > 1e-6 {
				t.Fatalf("left the hold at %d s, printed %.0f", run.firstS+there, h.NotBeforeS)
			}
		}
	}
}

// zigzag is a random walk of n legs with a hold or two printed at the slow pace.
func zigzag(rng *rand.Rand, dog string, n int) Walk {
	points := []plane.Point{{}}
	for range n {
		last := points[len(points)-1]
		points = append(points, plane.Point{X: last.X + 100*rng.NormFloat64(), Y: last.Y + 100*rng.NormFloat64()})
	}
	w := timed(dog, 60*float64(rng.IntN(20)), 1.2, append(points, plane.Point{})...)
	end := w.ProgressS[len(w.ProgressS)-1]
	for _, share := range []float64{0.4, 0.8} {
		if rng.IntN(2) == 0 {
			w.Holds = append(w.Holds, Hold{share * end, w.StartS + share*end/0.9})
		}
	}
	return w
}

// TestDirectedIsTheWorst: the directed replay comes as near as a fine grid over
// lateness and pace of both, within what a second's walk and the grid's own step
// make out, and no random run comes nearer by more.
func TestDirectedIsTheWorst(t *testing.T) {
	rng := rand.New(rand.NewPCG(11, 4))
	nearer := 0
	for round := range 12 {
		a, b := zigzag(rng, "a", 3), zigzag(rng, "b", 3)
		r := check(t, slack, 30, a, b)
		if len(r.Directed) == 0 {
			continue
		}
		grid := gridded(&a, &b, 7)
		got := r.Directed[0].LeastM
		if got > grid+4 {
			t.Errorf("round %d: driven to %.1f m, but the grid finds %.1f", round, got, grid)
		}
		if len(r.Random) > 0 && r.Random[0].LeastM < got-4 {
			t.Errorf("round %d: driven to %.1f m, but at random %.1f", round, got, r.Random[0].LeastM)
		}
		if len(r.Random) == 0 || got < r.Random[0].LeastM-5 {
			nearer++
		}
	}
	if nearer == 0 {
		t.Error("the directed replay never comes nearer than thirty random ones: it adds nothing")
	}
}

// gridded is the least separation over n by n conducts of each walk.
func gridded(a, b *Walk, n int) float64 {
	c := checker{walks: []Walk{*a, *b}, rules: &slack, report: &Report{}}
	courses := func(w *Walk) (out []course) {
		for i := range n {
			for j := range n {
				f, g := float64(i)/float64(n-1), float64(j)/float64(n-1)
				out = append(out, follow(w, &conduct{f * slack.LateS, []float64{slack.SlowShare + g*(slack.FastShare-slack.SlowShare)}}))
			}
		}
		return out
	}
	least := math.Inf(1)
	ys := courses(b)
	for _, x := range courses(a) {
		for i := range ys {
			least = min(least, c.meet(0, 1, &x, &ys[i]).LeastM)
		}
	}
	return least
}

// TestMoreSlackIsNeverSafer: what can happen with less slack can happen with more.
func TestMoreSlackIsNeverSafer(t *testing.T) {
	rng := rand.New(rand.NewPCG(2, 2))
	for range 30 {
		a, b := zigzag(rng, "a", 4), zigzag(rng, "b", 4)
		last := math.Inf(1)
		for _, k := range []float64{0, 0.5, 1, 2} {
			r := check(t, Rules{LateS: 180 * k, SlowShare: 1 - 0.1*k, FastShare: 1 + 0.1*k}, 0, a, b)
			if len(r.Directed) == 0 {
				continue
			}
			if got := r.Directed[0].LeastM; got > last+5 {
				t.Fatalf("slack %.1f: %.1f m, less slack %.1f m", k, got, last)
			} else {
				last = min(last, got)
			}
		}
	}
}

// TestZone: two dogs within the zone are counted, one in and one out are not.
func TestZone(t *testing.T) {
	gate, far := plane.Point{}, plane.Point{X: 1000}
	rules := exact
	rules.ZoneM = 60
	t.Run("both", func(t *testing.T) {
		r := check(t, rules, 1, timed("a", 0, 1, gate, far), timed("b", 30, 1, gate, plane.Point{Y: 1000}))
		if r.Kept() || math.Abs(r.ZoneS-4*30) > 4 || r.ZonePair != [2]string{"a", "b"} {
			t.Errorf("kept %v, %g s, %v; want 30 s in the run and in each of three driven", r.Kept(), r.ZoneS, r.ZonePair)
		}
	})
	t.Run("one after the other", func(t *testing.T) {
		if r := check(t, rules, 1, timed("a", 0, 1, gate, far), timed("b", 61, 1, gate, plane.Point{Y: 1000})); r.ZoneS != 0 || !r.Kept() {
			t.Errorf("%g s", r.ZoneS)
		}
	})
	t.Run("no zone", func(t *testing.T) {
		if r := check(t, exact, 1, timed("a", 0, 1, gate, far), timed("b", 30, 1, gate, far)); r.ZoneS != 0 {
			t.Errorf("%g s", r.ZoneS)
		}
	})
}

// TestNeedsAndFriends: the larger need of a pair rules, friends are left alone, and
// the report puts the tightest first.
func TestNeedsAndFriends(t *testing.T) {
	lane := func(dog string, y, need float64) Walk {
		w := timed(dog, 0, 1.2, plane.Point{Y: y}, plane.Point{X: 500, Y: y})
		w.NeedM = need
		return w
	}
	walks := []Walk{lane("a", 0, 30), lane("b", 50, 60), lane("c", 200, 20)}
	r := check(t, exact, 3, walks...)
	if r.Kept() || len(r.Random) != 3 || r.Random[0].Dogs != [2]string{"a", "b"} || math.Abs(r.Random[0].MarginM()+10) > 1e-9 {
		t.Errorf("%+v, want a and b first, 10 m short", r.Random)
	}
	rules := exact
	rules.Together = [][2]string{{"b", "a"}}
	if r := check(t, rules, 3, walks...); !r.Kept() || len(r.Random) != 2 || len(r.Directed) != 2 {
		t.Errorf("kept %v, %d pairs", r.Kept(), len(r.Random))
	}
}

func TestBrokenInput(t *testing.T) {
	good := func() Walk { return timed("a", 0, 1.2, plane.Point{}, plane.Point{X: 100}) }
	for _, c := range []struct {
		name string
		edit func(w *Walk, r *Rules, runs *int)
		want string
	}{
		{"one point", func(w *Walk, _ *Rules, _ *int) { w.Line = w.Line[:1] }, "at least two points"},
		{"times short", func(w *Walk, _ *Rules, _ *int) { w.ProgressS = w.ProgressS[:1] }, "one time for each"},
		{"late beginning", func(w *Walk, _ *Rules, _ *int) { w.ProgressS[0] = 1 }, "begins at progress 1"},
		{"no time", func(w *Walk, _ *Rules, _ *int) { w.ProgressS[1] = 0 }, "out of range"},
		{"backwards", func(w *Walk, _ *Rules, _ *int) {
			w.Line = append(w.Line, plane.Point{X: 200})
			w.ProgressS = []float64{0, 90, 80}
		}, "runs backwards"},
		{"nowhere", func(w *Walk, _ *Rules, _ *int) { w.Line[1].X = math.NaN() }, "no place"},
		{"for ever", func(w *Walk, _ *Rules, _ *int) { w.ProgressS[1] = 1e9 }, "out of range"},
		{"need", func(w *Walk, _ *Rules, _ *int) { w.NeedM = -1 }, "out of range"},
		{"hold after home", func(w *Walk, _ *Rules, _ *int) { w.Holds = []Hold{{1000, 0}} }, "out of order"},
		{"hold never ends", func(w *Walk, _ *Rules, _ *int) { w.Holds = []Hold{{10, math.Inf(1)}} }, "out of order"},
		{"runs", func(_ *Walk, _ *Rules, runs *int) { *runs = -1 }, "ask for 0"},
		{"standing still", func(_ *Walk, r *Rules, _ *int) { r.SlowShare = 0 }, "near 1"},
		{"late for ever", func(_ *Walk, r *Rules, _ *int) { r.LateS = math.NaN() }, "less than two hours"},
	} {
		t.Run(c.name, func(t *testing.T) {
			w, r, runs := good(), exact, 1
			c.edit(&w, &r, &runs)
			if _, err := Check(context.Background(), []Walk{w}, r, runs, 1); err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("error %v, want %q", err, c.want)
			}
		})
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := Check(ctx, []Walk{good()}, exact, 1, 1); err == nil {
		t.Error("a check that was given up answers")
	}
}

// TestSameSeed: a report can be had again.
func TestSameSeed(t *testing.T) {
	rng := rand.New(rand.NewPCG(8, 8))
	walks := []Walk{zigzag(rng, "a", 6), zigzag(rng, "b", 6), zigzag(rng, "c", 6)}
	x, y := check(t, slack, 9, walks...), check(t, slack, 9, walks...)
	if !slices.Equal(x.Random, y.Random) || !slices.Equal(x.Directed, y.Directed) {
		t.Error("the same seed gives another report")
	}
}

// TestNobodyWaitsForDays: a hold with a time days away would be replayed second by
// second; it is refused. So are more holds, walks and pairs than any outing has.
func TestNobodyWaitsForDays(t *testing.T) {
	line := plane.Polyline{{}, {X: 300}, {}}
	walk := func() Walk {
		return Walk{Dog: "Bram", Line: line, ProgressS: []float64{0, 250, 500}, StartS: 600, NeedM: 20}
	}
	long := walk()
	long.Holds = []Hold{{ProgressS: 250, NotBeforeS: 86400}}
	many := walk()
	for i := range 101 {
		many.Holds = append(many.Holds, Hold{ProgressS: float64(i + 1), NotBeforeS: 700})
	}
	far := walk()
	far.Line = plane.Polyline{{}, {X: 1e300}, {}}
	for name, walks := range map[string][]Walk{"a day's wait": {long}, "a hundred holds": {many}, "off the earth": {far}, "a crowd": slices.Repeat([]Walk{walk()}, 101)} {
		if _, err := Check(context.Background(), walks, Rules{SlowShare: 0.9, FastShare: 1.1}, 1, 1); err == nil {
			t.Errorf("%s is replayed", name)
		}
	}
	if _, err := Check(context.Background(), []Walk{walk()}, Rules{SlowShare: 0.9, FastShare: 1.1, ZoneM: 60, Gate: plane.Point{X: math.Inf(1)}}, 1, 1); err == nil {
		t.Error("a gate nowhere keeps its zone clear")
	}
	fits := walk()
	fits.Holds = []Hold{{ProgressS: 250, NotBeforeS: 3600}}
	if _, err := Check(context.Background(), []Walk{fits}, Rules{SlowShare: 0.9, FastShare: 1.1}, 1, 1); err != nil {
		t.Errorf("a wait of three quarters of an hour: %v", err)
	}
}
