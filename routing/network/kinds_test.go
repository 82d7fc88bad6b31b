package network_test

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
)

// TestTurnsByAngle: the name of a turn at every degree: straight up to 25, half to 55, a
// turn to 125, sharp to 170, back beyond; left where the angle is positive. Both lines are
// crooked more than 12 m from where they meet, which tells nothing.
func TestTurnsByAngle(t *testing.T) {
	for deg := -180; deg <= 180; deg++ {
		size := math.Abs(float64(deg))
		if size == 25 || size == 55 || size == 125 || size == 170 {
			continue
		}
		var want string
		switch {
		case size < 25:
			want = "straight"
		case size < 55:
			want = "half_"
		case size < 125:
			want = ""
		case size < 170:
			want = "sharp_"
		default:
			want = "back"
		}
		if !strings.HasSuffix(want, "straight") && want != "back" {
			if deg > 0 {
				want += "left"
			} else {
				want += "right"
			}
		}
		for _, heading := range []float64{0, 1, 2.5, -2} {
			rad := heading + float64(deg)*math.Pi/180
			dir := func(a float64) plane.Point { return plane.Point{X: math.Cos(a), Y: math.Sin(a)} }
			meet := plane.Point{X: 100, Y: -50}
			before := plane.Polyline{meet.Add(dir(heading).Mul(-13)).Add(plane.Point{X: 30, Y: 40}), meet.Add(dir(heading).Mul(-13)), meet}
			after := plane.Polyline{meet, meet.Add(dir(rad).Mul(13)), meet.Add(dir(rad).Mul(13)).Add(plane.Point{X: -20, Y: 5})}
			if got := network.TurnOf(before, after); string(got) != want {
				t.Errorf("by %d degrees from a heading of %g: %q, want %q", deg, heading, got, want)
			}
			if got := network.TurnBetween(before, after); got != network.TurnOf(before, after) {
				t.Errorf("between two lines %q", got)
			}
			if got := network.TurnAngle(heading, rad); math.Abs(math.Remainder(got-float64(deg)*math.Pi/180, 2*math.Pi)) > 1e-9 || math.Abs(got) > math.Pi+1e-9 {
				t.Errorf("from %g to %g are %g", heading, rad, got)
			}
		}
	}
}

// TestSortsAndRoles: what a way is called and what it is on a map, for each class and flag;
// the flag that says more goes first.
func TestSortsAndRoles(t *testing.T) {
	for _, c := range []struct {
		class osmdata.Class
		flags osmdata.StreetFlags
		sort  string
		role  network.Role
	}{
		{osmdata.Footway, 0, "footpath", network.Path}, {osmdata.Path, 0, "footpath", network.Path}, {osmdata.Steps, 0, "steps", network.Path}, {osmdata.Track, 0, "track", network.Path},
		{osmdata.Cycleway, 0, "cycle path", network.Path}, {osmdata.Bridleway, 0, "bridleway", network.Path}, {osmdata.Pedestrian, 0, "pedestrian street", network.Path},
		{osmdata.Service, 0, "service road", network.Service}, {osmdata.Residential, 0, "street", network.Street}, {osmdata.Primary, 0, "street", network.Street}, {osmdata.LivingStreet, 0, "street", network.Street}, {osmdata.ClassOther, 0, "street", network.Street},
		{osmdata.Footway, osmdata.FlagCrossing, "crossing", network.Across}, {osmdata.Footway, osmdata.FlagPavement, "pavement", network.Path}, {osmdata.Footway, osmdata.FlagTunnel, "passage", network.Path},
		{osmdata.Service, osmdata.FlagDriveway, "drive", network.Drive}, {osmdata.Service, osmdata.FlagDriveway | osmdata.FlagTunnel, "passage", network.Drive}, {osmdata.Footway, osmdata.FlagCrossing | osmdata.FlagPavement, "crossing", network.Across},
		{osmdata.Footway, osmdata.FlagPavement | osmdata.FlagTunnel, "pavement", network.Path}, {osmdata.Service, osmdata.FlagCrossing | osmdata.FlagDriveway, "crossing", network.Across}, {osmdata.Residential, osmdata.FlagLit, "street", network.Street},
	} {
		p := network.Part{Class: c.class, Flags: c.flags}
		if p.Sort() != c.sort || p.Role() != c.role {
			t.Errorf("class %d with flags %b is %q and a %s, want %q and a %s", c.class, c.flags, p.Sort(), p.Role(), c.sort, c.role)
		}
	}
	for r, want := range map[network.Role]struct {
		name  string
		minor bool
	}{network.Street: {"street", false}, network.Path: {"path", false}, network.Across: {"crossing", true}, network.Drive: {"drive", true}, network.Service: {"service", true}} {
		if r.String() != want.name || r.Minor() != want.minor {
			t.Errorf("%s, minor %v; want %+v", r, r.Minor(), want)
		}
	}
}

// TestRoleOfAnEdge: the role of most of an edge and the metres that count, against adding
// up its parts one by one, on edges of parts drawn by chance.
func TestRoleOfAnEdge(t *testing.T) {
	rng := rand.New(rand.NewPCG(6, 1))
	kinds := []network.Part{{Class: osmdata.Residential}, {Class: osmdata.Path}, {Class: osmdata.Footway, Flags: osmdata.FlagCrossing}, {Class: osmdata.Service, Flags: osmdata.FlagDriveway}, {Class: osmdata.Service}}
	seen := map[network.Role]int{}
	for range 300 {
		g := &network.Graph{LengthM: []float32{float32(20 + 200*rng.Float64())}, PartAt: []int32{0}}
		at := float32(0)
		sums := map[network.Role]float64{}
		for at < g.LengthM[0] {
			p := kinds[rng.IntN(len(kinds))]
			p.FromM = at
			next := min(at+float32(5+60*rng.Float64()), g.LengthM[0])
			sums[p.Role()] += float64(next) - float64(at)
			at = next
			g.Parts = append(g.Parts, p)
		}
		g.PartAt = append(g.PartAt, int32(len(g.Parts)))
		most, counted := g.RoleOf(0)
		for r, m := range sums {
			if m > sums[most]+1e-3 {
				t.Errorf("a %s of %.1f m is told as %s of %.1f m", r, m, most, sums[most])
			}
		}
		if want := sums[network.Street] + sums[network.Path]; math.Abs(counted-want) > 1e-3 {
			t.Errorf("%.2f m count, want %.2f m", counted, want)
		}
		seen[most]++
	}
	if len(seen) != 5 {
		t.Errorf("roles seen: %v", seen)
	}
}

// TestRunsByChance: on stars and chains drawn by chance each line is in one run, lines that
// follow each other meet, share their key and bend by less than asked for; and no two ends
// that are left free at a meeting could have been joined.
func TestRunsByChance(t *testing.T) {
	rng := rand.New(rand.NewPCG(9, 2))
	const mostBend = 0.7
	joined, free := 0, 0
	for world := range 80 {
		var points []plane.Point
		for range 12 {
			points = append(points, plane.Point{X: float64(rng.IntN(200)), Y: float64(rng.IntN(200))})
		}
		var lines []plane.Polyline
		var key []int32
		for range 20 {
			a, b := points[rng.IntN(len(points))], points[rng.IntN(len(points))]
			if a == b {
				continue
			}
			l := plane.Polyline{a, a.Add(b).Mul(0.5), b}
			if rng.IntN(5) == 0 {
				l = plane.Polyline{a} // too short to be one
			}
			lines, key = append(lines, l), append(key, int32(rng.IntN(2)))
		}
		runs := network.Runs(lines, key, mostBend)
		in := make([]int, len(lines))
		type end struct {
			line int32
			last bool
		}
		taken := map[end]bool{}
		head := func(r network.OnRun, out bool) end { return end{r.Line, r.Against != out} }
		for _, run := range runs {
			for i, r := range run {
				in[r.Line]++
				if i == 0 {
					continue
				}
				b := run[i-1]
				before, after := lines[b.Line], lines[r.Line]
				if b.Against {
					before = before.Reversed()
				}
				if r.Against {
					after = after.Reversed()
				}
				bend := math.Abs(network.TurnAngle(network.Heading(before, true), network.Heading(after, false)))
				if before[len(before)-1].DistanceM(after[0]) > 0.01 || key[b.Line] != key[r.Line] || bend >= mostBend {
					t.Fatalf("world %d: line %d follows line %d with a bend of %.2f", world, r.Line, b.Line, bend)
				}
				taken[head(b, true)], taken[head(r, false)] = true, true
				joined++
			}
			if line := network.LineOfRun(lines, run); math.Abs(line.LengthM()-sum(lines, run)) > 1e-6 {
				t.Fatalf("world %d: a run of %.1f m is drawn with %.1f m", world, sum(lines, run), line.LengthM())
			}
			// A ring's last line leads into its first.
			f, l := run[0], run[len(run)-1]
			if len(run) > 2 {
				a, b := lines[l.Line], lines[f.Line]
				if l.Against {
					a = a.Reversed()
				}
				if f.Against {
					b = b.Reversed()
				}
				if a[len(a)-1].DistanceM(b[0]) < 0.01 {
					taken[head(l, true)], taken[head(f, false)] = true, true
				}
			}
		}
		for i := range lines {
			if want := min(1, len(lines[i])-1); in[i] != want {
				t.Fatalf("world %d: line %d of %d points is in %d runs", world, i, len(lines[i]), in[i])
			}
		}
		at := func(e end) (p plane.Point, out float64) {
			l := lines[e.line]
			if e.last {
				l = l.Reversed()
			}
			return l[0], network.Heading(l, false)
		}
		for i := range int32(len(lines)) {
			for j := range i {
				if key[i] != key[j] || len(lines[i]) < 2 || len(lines[j]) < 2 {
					continue
				}
				for _, e := range []end{{i, false}, {i, true}} {
					for _, f := range []end{{j, false}, {j, true}} {
						p, a := at(e)
						q, b := at(f)
						if p == q && !taken[e] && !taken[f] && math.Abs(network.TurnAngle(a+math.Pi, b)) < mostBend-1e-9 {
							t.Fatalf("world %d: lines %d and %d could have been joined", world, i, j)
						}
						free++
					}
				}
			}
		}
	}
	if joined < 50 || free < 50 {
		t.Errorf("%d joints, %d pairs of ends: too few", joined, free)
	}
}

func sum(lines []plane.Polyline, run []network.OnRun) (m float64) {
	for _, r := range run {
		m += lines[r.Line].LengthM()
	}
	return m
}

// grid is a small network of streets that cross, with an end and a crooked way.
func grid(t *testing.T) *network.Graph {
	t.Helper()
	g, _ := draw("ABCD\nEFGH\nIJKL\nMNO ", "ABCD EFGH IJKL AEI BFJN CGK DHL ENM AFK").build(t)
	return g
}

// TestBrokenGraphsAreRefused: each invariant that is broken is told, by what is wrong; the
// graph itself is sound.
func TestBrokenGraphsAreRefused(t *testing.T) {
	made := func() *network.Graph { return grid(t) }
	g := made()
	if err := g.Check(); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		says   string
		breaks func(g *network.Graph)
	}{
		{"vertices where", func(g *network.Graph) { g.Vertex = g.Vertex[1:] }},
		{"vertex nodes where", func(g *network.Graph) { g.VertexNode = g.VertexNode[1:] }},
		{"arc edges where", func(g *network.Graph) { g.ArcEdge = g.ArcEdge[1:] }},
		{"lengths where", func(g *network.Graph) { g.LengthM = g.LengthM[1:] }},
		{"classes where", func(g *network.Graph) { g.Class = g.Class[1:] }},
		{"flags where", func(g *network.Graph) { g.Flags = g.Flags[1:] }},
		{"line offsets where", func(g *network.Graph) { g.LineAt = g.LineAt[1:] }},
		{"part offsets where", func(g *network.Graph) { g.PartAt = g.PartAt[1:] }},
		{"open marks where", func(g *network.Graph) { g.OpenEdge = nil }},
		{"line offsets span", func(g *network.Graph) { g.Line = g.Line[1:] }},
		{"line offsets span 1", func(g *network.Graph) { g.LineAt[0] = 1 }},
		{"line of edge 0 has 1", func(g *network.Graph) { g.LineAt[1] = 1 }},
		{"parts of edge 0 has 0", func(g *network.Graph) { g.PartAt[1] = 0 }},
		{"first name", func(g *network.Graph) { g.Names = nil }},
		{"first name", func(g *network.Graph) { g.Names[0] = "a" }},
		{"edge 0: arc -1", func(g *network.Graph) { g.EdgeArc[0] = -1 }},
		{"edge 0: arc", func(g *network.Graph) { g.EdgeArc[0] = int32(len(g.ArcEdge)) }},
		{"walk edges", func(g *network.Graph) { g.EdgeArc[0], g.EdgeArc[1] = g.EdgeArc[1], g.EdgeArc[0] }},
		{"does not join", func(g *network.Graph) { g.Vertex[g.Star.Head[g.EdgeArc[0]]].X += 1 }},
		{"edge 0: length", func(g *network.Graph) { g.LengthM[0] += 0.1 }},
		{"edge 0: length", func(g *network.Graph) { g.LengthM[0] = 0 }},
		{"edge 1: length NaN", func(g *network.Graph) { g.LengthM[1] = float32(math.NaN()) }},
		{"edge 0: class", func(g *network.Graph) { g.Class[0] = osmdata.ClassCount }},
		{"edge 0: part 0 begins", func(g *network.Graph) { g.Parts[0].FromM = 0.5 }},
		{"begins at NaN", func(g *network.Graph) { g.Parts[0].FromM = float32(math.NaN()) }},
		{"part 0: name -1", func(g *network.Graph) { g.Parts[0].Name = -1 }},
		{"part 0: name", func(g *network.Graph) { g.Parts[0].Name = int32(len(g.Names)) }},
		{"part 0: name", func(g *network.Graph) { g.Parts[0].Class = osmdata.ClassCount }},
		{"m along its way", func(g *network.Graph) { g.Parts[0].StreetM = -1 }},
	} {
		g := made()
		c.breaks(g)
		if err := g.Check(); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("it is told %v, want it to say %q", err, c.says)
		}
	}
}

// TestFingerprintTellsNetworksApart: what numbers or places an edge changes it, what is
// written beside it does not, and the same map has the same.
func TestFingerprintTellsNetworksApart(t *testing.T) {
	made := func() *network.Graph { return grid(t) }
	was := made().Fingerprint()
	if len(was) != 12 || made().Fingerprint() != was {
		t.Errorf("%q and %q", was, made().Fingerprint())
	}
	seen := map[string]string{was: "as it is"}
	for name, change := range map[string]func(g *network.Graph){
		"first": func(g *network.Graph) { g.Star.First[1]++ }, "head": func(g *network.Graph) { g.Star.Head[0]++ }, "arc": func(g *network.Graph) { g.EdgeArc[0]++ },
		"length": func(g *network.Graph) { g.LengthM[0] += 0.01 }, "node": func(g *network.Graph) { g.VertexNode[0]++ },
	} {
		g := made()
		change(g)
		if other, twice := seen[g.Fingerprint()]; twice {
			t.Errorf("%s and %s have one fingerprint", name, other)
		}
		seen[g.Fingerprint()] = name
	}
	g := made()
	g.Names, g.Class[0] = append(g.Names, "Nook"), osmdata.Track
	if g.Fingerprint() != was {
		t.Error("what a way is called changes the numbers of edges")
	}
}

// TestInBoxAndFarByLookingAtAll: edges of a box, and how far the nearest way lies.
func TestInBoxAndFarByLookingAtAll(t *testing.T) {
	g := grid(t)
	rng := rand.New(rand.NewPCG(2, 2))
	for range 60 {
		at := plane.Point{X: 500*rng.Float64() - 100, Y: 400*rng.Float64() - 300}
		box := plane.Box{Min: at, Max: at}.Grown(60 * rng.Float64())
		got := g.InBox(box)
		least := math.Inf(1)
		for e := range int32(g.EdgeCount()) {
			line, inside := g.EdgeLine(e), false
			for m := 0.0; m <= line.LengthM(); m += 0.25 {
				inside = inside || box.Contains(line.At(m))
			}
			_, _, d := line.Nearest(at)
			least = min(least, d)
			if _, has := slices.BinarySearch(got, e); inside && !has {
				t.Fatalf("edge %d lies in the box and is not told", e)
			} else if _, _, off := line.Nearest(box.Min.Add(box.Max).Mul(0.5)); has && off > box.Max.DistanceM(box.Min)/2+1 {
				t.Fatalf("edge %d lies %.1f m from the middle of the box", e, off)
			}
		}
		place, err := g.Snap(at, least-0.01)
		var far *network.TooFarError
		if !errors.As(err, &far) || math.Abs(far.DistM-least) > 1e-6 || math.Abs(far.At.DistanceM(at)-least) > 1e-6 || !strings.Contains(err.Error(), fmt.Sprintf("%.0f m away", least)) {
			t.Fatalf("%v, %v; the nearest way is %.2f m away", place, err, least)
		}
		if place, err = g.Snap(at, least+0.01); err != nil || math.Abs(place.DistM-least) > 1e-6 || g.EdgeLine(place.Edge).At(place.AlongM).DistanceM(place.At) > 0.01 {
			t.Fatalf("%+v, %v; the nearest way is %.2f m away", place, err, least)
		}
	}
}
