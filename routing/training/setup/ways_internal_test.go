package setup

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/dominikbraun/graph"
	"pgregory.net/rapid"

	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
	"wideberth/routing/snapshot"
	"wideberth/routing/snapshot/maptest"
	"wideberth/routing/survey/sketch"
	"wideberth/routing/yard"
)

// bare is a map with nothing on it but what is given.
func bare(t testing.TB, g *network.Graph, walls ...plane.Polyline) *snapshot.Snapshot {
	t.Helper()
	s := &snapshot.Snapshot{Graph: g, Ground: &snapshot.GroundPlan{}}
	if g == nil {
		s.Graph = &network.Graph{LineAt: []int32{0}, PartAt: []int32{0}}
	}
	for _, w := range walls {
		s.Ground.Obstacles = append(s.Ground.Obstacles, osmdata.Obstacle{Kind: osmdata.Wall, Blocks: osmdata.BlocksWay | osmdata.BlocksView, Line: w})
	}
	return s
}

// drawn is a yard drawn with letters, north up, its middle in the middle of the drawing:
// P public, g grass, . passed, # closed; what is not drawn is closed.
func drawn(rows ...string) *yard.Yard {
	y := &yard.Yard{Car: farOff}
	for j, row := range rows {
		for i, letter := range row {
			x, up := yard.Across/2+i-len(row)/2, yard.Across/2+len(rows)/2-j
			y.Set(up*yard.Across+x, map[rune]yard.Cell{'P': yard.Public, 'g': yard.Grass, '.': yard.Passed, '#': yard.Closed}[letter])
		}
	}
	return y
}

// at is a place of a drawn yard in metres from its middle.
func at(x, y float64) plane.Point { return farOff.Add(plane.Point{X: x, Y: y}) }

// TestWayAgainstAGraphLibrary: over yards drawn by chance, where nothing but closed cells
// stands in the way, a way is found exactly where dominikbraun/graph finds one over the
// same steps from cell to cell, it is no longer than that one, and it nowhere leads over a
// closed cell.
func TestWayAgainstAGraphLibrary(t *testing.T) {
	const side = 9
	none, some := 0, 0
	rng := rand.New(rand.NewPCG(17, 4))
	for range 150 {
		y := &yard.Yard{Car: farOff}
		cellOf := func(i, j int) int { return (yard.Across/2-side/2+j)*yard.Across + yard.Across/2 - side/2 + i }
		open := map[int]bool{}
		for j := range side {
			for i := range side {
				if cell := cellOf(i, j); rng.IntN(10) < 7 {
					y.Set(cell, yard.Cell(1+rng.IntN(3)))
					open[cell] = true
				}
			}
		}
		start, end := cellOf(rng.IntN(side), rng.IntN(side)), cellOf(rng.IntN(side), rng.IntN(side))
		if start == end {
			continue
		}
		y.Set(start, yard.Public)
		open[start] = true
		g := graph.New(graph.IntHash, graph.Weighted())
		for cell := range open {
			if err := g.AddVertex(cell); err != nil {
				t.Fatal(err)
			}
		}
		for cell := range open {
			for _, step := range [][2]int{{1, 0}, {0, 1}, {1, 1}, {1, -1}} {
				next := cell + step[0] + step[1]*yard.Across
				if !open[next] || step[0] != 0 && step[1] != 0 && (!open[cell+step[0]] || !open[cell+step[1]*yard.Across]) {
					continue
				}
				// weights are whole numbers: tenths of a millimetre
				if err := g.AddEdge(cell, next, graph.EdgeWeight(int(math.Round(1e5*math.Hypot(float64(step[0]), float64(step[1])))))); err != nil {
					t.Fatal(err)
				}
			}
		}
		k := walker{layer: newLayer(bare(t, nil), wish(t, 38)), y: y}
		got := k.way(y.Middle(start), func(cell int) bool { return cell == end })
		path, err := graph.ShortestPath(g, start, end)
		if err != nil || !open[end] {
			none++
			if got != nil {
				t.Errorf("a way of %.0f m where the library finds none: %v", got.LengthM(), err)
			}
			continue
		}
		some++
		if got == nil {
			t.Error("no way where the library finds one")
			continue
		}
		want := 0.0
		for i := 1; i < len(path); i++ {
			want += y.Middle(path[i]).DistanceM(y.Middle(path[i-1]))
		}
		if got.LengthM() > want+1e-6 || got[0] != y.Middle(start) || got[len(got)-1] != y.Middle(end) {
			t.Errorf("a way of %.2f m from %v to %v, the library has %.2f m", got.LengthM(), got[0], got[len(got)-1], want)
		}
		for _, p := range metres(got) {
			if y.Cell(y.At(p)) == yard.Closed {
				// a straight way may cut the corner of a cell between two looks
				if q := y.Middle(y.At(p)); math.Max(math.Abs(p.X-q.X), math.Abs(p.Y-q.Y)) < 3.7 {
					t.Errorf("the way leads over a closed cell at %v", p)
				}
			}
		}
	}
	if none < 10 || some < 50 {
		t.Errorf("%d yards without a way, %d with one: too much alike", none, some)
	}
}

// TestWayKeepsAway: a way keeps the distance that it is asked for from every line, goes
// round where it must, and there is none where only a nearer one would do.
func TestWayKeepsAway(t *testing.T) {
	y := drawn(
		"PPPPPPPPPPP",
		"PPPPPPPPPPP",
		"PPPPPPPPPPP",
		"PPPPPPPPPPP",
		"PPPPPPPPPPP",
	)
	goal := func(cell int) bool { return cell == y.At(at(50, 0)) }
	line := plane.Polyline{at(0, 0), at(0, -20)}
	free := walker{layer: newLayer(bare(t, nil), wish(t, 38)), y: y}
	if got := free.way(at(-50, 0), goal); len(got) != 2 || math.Abs(got.LengthM()-100) > 1e-6 {
		t.Errorf("straight over: %v", got)
	}
	for _, c := range []struct {
		keepM float64
		some  bool
	}{{8, true}, {15, true}, {21, false}} { // the yard reaches 20 m beyond the line's end
		k := free
		k.from = []apart{{line, c.keepM}}
		got := k.way(at(-50, 0), goal)
		if (got != nil) != c.some {
			t.Errorf("%g m off: %v", c.keepM, got)
		}
		if got == nil {
			continue
		}
		if got.LengthM() <= 100 {
			t.Errorf("%g m off is no farther: %.1f m", c.keepM, got.LengthM())
		}
		for _, p := range metres(got) {
			if _, _, d := line.Nearest(p); d < c.keepM-0.35 { // looked at every 2.5 m
				t.Errorf("%.2f m off, asked for %g m", d, c.keepM)
			}
		}
	}
	near := free
	near.from = []apart{{line, 60}}
	if got := near.way(at(-50, 0), goal); got != nil {
		t.Errorf("it begins too near: %v", got)
	}
	if got := free.way(at(500, 0), goal); got != nil {
		t.Errorf("it begins off the yard: %v", got)
	}
}

// TestWayRoundAWall: no way crosses what stops steps, even between open cells, and a
// straight look through a wall is none.
func TestWayRoundAWall(t *testing.T) {
	y := drawn("PPPPPPPPP", "PPPPPPPPP", "PPPPPPPPP", "PPPPPPPPP", "PPPPPPPPP")
	wall := plane.Polyline{at(5, -30), at(5, 12)}
	for _, c := range wallCells(y, wall) {
		y.Set(c, yard.Closed)
	}
	k := walker{layer: newLayer(bare(t, nil, wall), wish(t, 38)), y: y}
	got := k.way(at(-40, -10), func(cell int) bool { return cell == y.At(at(40, -10)) })
	if got == nil {
		t.Fatal("there is a way round the wall's end")
	}
	for i := 1; i < len(got); i++ {
		if cross(got[i-1], got[i], wall[0], wall[1]) {
			t.Errorf("%v to %v crosses the wall", got[i-1], got[i])
		}
	}
	if k.direct(at(-10, 0), at(20, 0)) || !k.direct(at(-10, 0), at(-30, 0)) || k.direct(at(-40, 0), at(-60, 0)) {
		t.Error("straight through a wall, along it, or off the yard")
	}
}

// wallCells are the cells beside a wall, which a survey closes.
func wallCells(y *yard.Yard, wall plane.Polyline) (cells []int) {
	for cell := range yard.Across * yard.Across {
		if _, _, d := wall.Nearest(y.Middle(cell)); d <= 5.1 {
			cells = append(cells, cell)
		}
	}
	return cells
}

// TestStepAside: who stands at the goal already takes a step of a metre, to wherever it is
// free; shut in, there is no way.
func TestStepAside(t *testing.T) {
	y := drawn("PPP", "PPP", "PPP")
	k := walker{layer: newLayer(bare(t, nil), wish(t, 38)), y: y}
	got := k.way(at(0, 0), func(int) bool { return true })
	if len(got) != 2 || math.Abs(got.LengthM()-1) > 1e-9 || got[0] != at(0, 0) {
		t.Errorf("a step aside: %v", got)
	}
	box := plane.Polyline{at(-.5, -.5), at(.5, -.5), at(.5, .5), at(-.5, .5), at(-.5, -.5)}
	k.layer = newLayer(bare(t, nil, box), wish(t, 38))
	if got := k.way(at(0, 0), func(int) bool { return true }); got != nil {
		t.Errorf("out of a box: %v", got)
	}
	half := plane.Polyline{at(.5, -5), at(.5, 5)}
	k.layer = newLayer(bare(t, nil, half), wish(t, 38))
	if got := k.way(at(0, 0), func(int) bool { return true }); len(got) != 2 || got[1].X > at(0.5, 0).X {
		t.Errorf("beside a wall: %v", got)
	}
}

// TestWhereCarsAndKerbsAre: the car stands within 35 m of the middle of its car park; a
// kerb is a street where one can stop, within 20 m.
func TestWhereCarsAndKerbsAre(t *testing.T) {
	y := drawn("P")
	for class, want := range map[osmdata.Class]bool{osmdata.Residential: true, osmdata.Tertiary: true, osmdata.Service: true, osmdata.Primary: false, osmdata.Footway: false, osmdata.Path: false} {
		k := sketch.New()
		a, b := at(-300, 31), at(300, 31)
		k.Street(class, plane.Polyline{a, b})
		w := walker{layer: newLayer(bare(t, k.Net(t)), wish(t, 38)), y: y}
		for cell := range yard.Across * yard.Across {
			d := math.Abs(y.Middle(cell).Y - a.Y)
			if got := w.byKerb(cell); got != (want && d <= 20) {
				t.Fatalf("class %d, %.0f m off: a kerb %v", class, d, got)
			}
			if got := w.byCar(cell); got != (y.Middle(cell).DistanceM(farOff) <= 35) {
				t.Fatalf("%.0f m from the middle the car stands: %v", y.Middle(cell).DistanceM(farOff), got)
			}
		}
	}
	bridge := sketch.New()
	bridge.Street(osmdata.Residential, plane.Polyline{at(-300, 0), at(300, 0)}).Flags = osmdata.FlagBridge
	w := walker{layer: newLayer(bare(t, bridge.Net(t)), wish(t, 38)), y: y}
	if w.byKerb(y.At(at(0, 0))) {
		t.Error("somebody is let out on a bridge")
	}
}

// TestNearestOfTwoLines: against looking at every decimetre of both, and 0 where they cross.
func TestNearestOfTwoLines(t *testing.T) {
	crossed := 0
	rapid.Check(t, func(t *rapid.T) {
		line := func(name string) (l plane.Polyline) {
			for range rapid.IntRange(2, 4).Draw(t, name) {
				l = append(l, plane.Point{X: rapid.Float64Range(0, 20).Draw(t, "x"), Y: rapid.Float64Range(0, 20).Draw(t, "y")})
			}
			return l
		}
		a, b := line("a"), line("b")
		least := math.Inf(1)
		for m := 0.0; m <= a.LengthM()+0.1; m += 0.1 {
			_, _, d := b.Nearest(a.At(math.Min(m, a.LengthM())))
			least = math.Min(least, d)
		}
		got := nearest(a, b)
		if got > least+1e-9 || got < least-0.06 {
			t.Fatalf("%v and %v: %g m apart, looked at %g m", a, b, got, least)
		}
		if got == 0 {
			crossed++
		}
		if back := nearest(b, a); math.Abs(back-got) > 1e-12 {
			t.Fatalf("the other way about %g m instead of %g m", back, got)
		}
	})
	if crossed == 0 {
		t.Error("no two lines crossed")
	}
	// Touching ends do not cross, nor do pieces of one line.
	o, p, q, r := plane.Point{}, plane.Point{X: 2}, plane.Point{X: 1, Y: -1}, plane.Point{X: 1, Y: 1}
	if !cross(o, p, q, r) || !cross(q, r, o, p) || cross(o, p, p, r) || cross(o, q, p, r) {
		t.Error("what crosses")
	}
}

// TestShareOfAHazard: as the chance at the place to the chance at the way; all of it where
// the way's is not known.
func TestShareOfAHazard(t *testing.T) {
	for _, c := range []struct{ p, way, want float64 }{{0.5, 0.25, 2}, {0.1, 0.5, 0.2}, {0, 0.5, 0}, {0.3, 0, 1}, {0.3, -1, 1}, {-0.1, 0.5, 0}} {
		if got := share(c.p, c.way); math.Abs(got-c.want) > 1e-12 {
			t.Errorf("share(%g, %g) = %g, want %g", c.p, c.way, got, c.want)
		}
	}
}

// TestRankKeepsOneOfEachGround: the best first, at most five, none within 500 m of a better
// one; those alike stay in their order.
func TestRankKeepsOneOfEachGround(t *testing.T) {
	one := func(x, score float64, name string) Setup {
		return Setup{Car: plane.Point{X: x}, score: score, Place: name}
	}
	out := Found{Setups: []Setup{one(0, 3, "c"), one(499, 1, "a"), one(501, 2, "near a"), one(1000, 2, "b"), one(3000, 9, "f"), one(4000, 9, "g"), one(5000, 8, "e"), one(6000, 7, "d"), one(7000, 10, "too many")}}
	out.rank()
	var got []string
	for _, s := range out.Setups {
		got = append(got, s.Place)
	}
	if want := []string{"a", "b", "d", "e", "f"}; !slices.Equal(got, want) {
		t.Errorf("kept are %q, want %q", got, want)
	}
}

// TestExitsOfAField: three directions on open ground, fewer where it is closed within 25 m,
// to the side asked for; what is passed will do.
func TestExitsOfAField(t *testing.T) {
	l := newLayer(bare(t, nil), wish(t, 10))
	o := layout{at: at(-20, 0), along: plane.Point{X: 1}, aside: plane.Point{Y: 1}}
	open := field(200, 0, nil)
	for _, sign := range []float64{1, -1} {
		if n := l.exits(open, &o, 0, sign); n != 3 {
			t.Errorf("on open ground %d exits", n)
		}
	}
	for _, c := range []struct {
		what     string
		but      func(d plane.Point) bool
		up, down int
	}{
		{"closed ahead", func(d plane.Point) bool { return d.Y > 15 && math.Abs(d.X) < 8 }, 2, 3},
		{"closed all over ahead", func(d plane.Point) bool { return d.Y > 8 }, 0, 3},
		{"closed aslant to the east", func(d plane.Point) bool { return d.X > 12 && d.Y > 4 }, 2, 3},
		{"closed behind", func(d plane.Point) bool { return d.Y < -6 }, 3, 0},
		{"closed beyond 26 m", func(d plane.Point) bool { return d.NormM() > 33 }, 3, 3},
	} {
		y := &yard.Yard{Car: farOff}
		for cell := range yard.Across * yard.Across {
			if !c.but(y.Middle(cell).Sub(farOff)) {
				y.Set(cell, yard.Passed)
			}
		}
		if up, down := l.exits(y, &o, 0, 1), l.exits(y, &o, 0, -1); up != c.up || down != c.down {
			t.Errorf("%s: %d exits ahead and %d behind, want %d and %d", c.what, up, down, c.up, c.down)
		}
	}
}

// TestClearOfLanes: a line keeps 4 m off every lane that cars use, whatever its angle, and
// paths do not count; nothing may stop steps on it.
func TestClearOfLanes(t *testing.T) {
	line := plane.Polyline{at(0, 0), at(40, 0)}
	for _, c := range []struct {
		what  string
		class osmdata.Class
		lane  plane.Polyline
		want  bool
	}{
		{"a lane 3.9 m off", osmdata.Service, plane.Polyline{at(-100, 3.9), at(100, 3.9)}, false},
		{"a lane 4.1 m off", osmdata.Service, plane.Polyline{at(-100, 4.1), at(100, 4.1)}, true},
		{"a lane that ends 3 m before", osmdata.Service, plane.Polyline{at(20, 100), at(20, 3)}, false},
		{"a lane that ends 5 m before", osmdata.Service, plane.Polyline{at(20, 100), at(20, 5)}, true},
		{"a lane beyond the end", osmdata.Residential, plane.Polyline{at(43, 50), at(43, -50)}, false},
		{"a lane well beyond the end", osmdata.Residential, plane.Polyline{at(45, 50), at(45, -50)}, true},
		{"a path across", osmdata.Path, plane.Polyline{at(20, 50), at(20, -50)}, true},
		{"a street across", osmdata.Residential, plane.Polyline{at(21, 50), at(21, -50)}, false},
	} {
		k := sketch.New()
		k.Street(c.class, c.lane)
		if got := newLayer(bare(t, k.Net(t)), wish(t, 10)).clear(line); got != c.want {
			t.Errorf("%s: clear %v", c.what, got)
		}
	}
	if newLayer(bare(t, nil, plane.Polyline{at(39, -1), at(39, 1)}), wish(t, 10)).clear(line) {
		t.Error("a wall across is clear")
	}
}

// TestSeesEachOther: a wall or a short screen between two lines is found, one beside them
// or beyond is none.
func TestSeesEachOther(t *testing.T) {
	c := &Course{Helper: plane.Polyline{at(0, 0), at(40, 0)}, Lines: []Line{{At: plane.Polyline{at(0, 60), at(40, 60)}}, {At: plane.Polyline{at(0, 30), at(40, 30)}}}}
	for what, k := range map[string]struct {
		wall plane.Polyline
		want bool
	}{
		"between":            {plane.Polyline{at(-10, 45), at(50, 45)}, false},
		"a short one":        {plane.Polyline{at(-1, 45), at(1, 45)}, false},
		"short, at the end":  {plane.Polyline{at(39, 20), at(41, 20)}, false},
		"beside":             {plane.Polyline{at(42, 0), at(42, 60)}, true},
		"behind the dog":     {plane.Polyline{at(-10, 62), at(50, 62)}, true},
		"behind the helper":  {plane.Polyline{at(-10, -2), at(50, -2)}, true},
		"nothing in the way": {plane.Polyline{at(500, 0), at(500, 1)}, true},
	} {
		if got := newLayer(bare(t, nil, k.wall), wish(t, 10)).sees(c); got != k.want {
			t.Errorf("%s: they see each other %v", what, got)
		}
	}
}

// TestScreen: the nearest place within 60 m of the first line from which nothing of the
// helper's line is seen, by looking at every cell; none on open ground.
func TestScreen(t *testing.T) {
	c := &Course{Helper: plane.Polyline{at(0, 0), at(40, 0)}, Lines: []Line{{At: plane.Polyline{at(0, 60), at(40, 60)}}}}
	y := field(300, 0, nil)
	if p := newLayer(bare(t, nil), wish(t, 10)).screen(y, c); p != nil {
		t.Errorf("on open ground %v is hidden", *p)
	}
	wall := plane.Polyline{at(-20, 71), at(-50, 71), at(-50, 30)}
	l := newLayer(bare(t, nil, wall), wish(t, 10))
	got := l.screen(y, c)
	if got == nil {
		t.Fatal("behind a wall nothing is hidden")
	}
	least := math.Inf(1)
	for cell := range yard.Across * yard.Across {
		p, hidden := y.Middle(cell), true
		for m := 0.0; m <= 40; m += 10 {
			hidden = hidden && !l.snap.Ground.Visible(p, at(m, 0))
		}
		if hidden && y.Cell(cell) >= yard.Passed {
			least = math.Min(least, p.DistanceM(at(0, 60)))
		}
	}
	if d := got.DistanceM(at(0, 60)); math.Abs(d-least) > 1e-9 {
		t.Errorf("the screen is %.1f m off, the nearest %.1f m", d, least)
	}
	far := &Course{Helper: c.Helper, Lines: []Line{{At: plane.Polyline{at(100, 60), at(140, 60)}}}}
	if p := l.screen(y, far); p != nil && p.DistanceM(at(100, 60)) > 60 {
		t.Errorf("a screen %.0f m off", p.DistanceM(at(100, 60)))
	}
}

// TestLayoutsByBruteForce: every layout that is ranked lies on open ground, every layout of
// the pattern that does is ranked, and the nearest to the car with the helper away from it
// come first.
func TestLayoutsByBruteForce(t *testing.T) {
	w := wish(t, 20)
	w.LineM = 30
	l := newLayer(bare(t, nil), w)
	y := drawn(
		"PPPPPPPPPPPP",
		"PPPPPPPPPPPP",
		"PPPP.PPPPPPP",
		"PPPPPPPPPPPP",
		"PPPPPPPPP#PP",
		"PPPPPPPPPPPP",
		"PPPPgPPPPPPP",
	)
	got := l.layouts(y)
	rank := func(o *layout) float64 { return o.place(0, l.offsets[0]).DistanceM(y.Car) - o.at.DistanceM(y.Car)/2 }
	for i := range got {
		if i > 0 && rank(&got[i]) < rank(&got[i-1])-1e-9 {
			t.Fatalf("layout %d is better than the one before", i)
		}
	}
	count := 0
	for cell := range yard.Across * yard.Across {
		if (cell%yard.Across+cell/yard.Across)%2 == 1 {
			continue
		}
		for k := range 16 {
			turn := 2 * math.Pi * float64(k) / 16
			for _, side := range []float64{1, -1} {
				o := layout{at: y.Middle(cell), along: plane.Point{X: math.Cos(turn), Y: math.Sin(turn)}, aside: plane.Point{X: -math.Sin(turn) * side, Y: math.Cos(turn) * side}}
				free := true
				look := func(p plane.Point) { free = free && y.Cell(y.At(p)) == yard.Public }
				for m := 0.0; m <= 30; m += 10 {
					look(o.place(m, 0))
					for _, d := range l.offsets {
						look(o.place(m, d))
					}
				}
				for d := l.offsets[3]; d <= l.offsets[0]; d += 10 {
					look(o.place(0, d))
				}
				if free {
					count++
				}
			}
		}
	}
	if len(got) != min(count, mostLaid) || count == 0 {
		t.Errorf("%d layouts are ranked, %d lie on open ground", len(got), count)
	}
	t.Logf("%d layouts", count)
}

// TestGroundThatIsWanted: grass whose owner nobody tells is taken where green is enough,
// and no course on it is called public.
func TestGroundThatIsWanted(t *testing.T) {
	y := field(200, 0, nil)
	for cell := range yard.Across * yard.Across {
		if y.Cell(cell) == yard.Public {
			y.Set(cell, yard.Grass)
		}
	}
	s := maptest.Town(t)
	w := wish(t, 20)
	if _, ok := newLayer(s, w).best(y); ok {
		t.Error("grass is taken for a park")
	}
	w.Ground = Green
	c, ok := newLayer(s, w).best(y)
	if !ok || c.Public() || c.Cell != yard.Grass {
		t.Errorf("on grass: %v, public %v", ok, c.Public())
	}
	if c, ok = newLayer(s, w).best(field(200, 0, nil)); !ok || !c.Public() {
		t.Errorf("in a park: %v, public %v", ok, c.Public())
	}
	// One way in for both is taken only where it is asked for: no street is near.
	w.Together = false
	if c, ok = newLayer(s, w).best(field(200, 0, nil)); ok && !c.Apart {
		t.Error("ground with one way in is taken unasked")
	}
}
