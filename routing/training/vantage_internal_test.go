package training

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"gonum.org/v1/gonum/graph/network"
	"gonum.org/v1/gonum/graph/simple"

	"wideberth/exposure"
	"wideberth/exposure/hours"
	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing"
	"wideberth/routing/search"
	"wideberth/routing/snapshot/maptest"
	"wideberth/testdata"
)

// scouted are the views of the town for a dog that works 38 m from other dogs and
// 30 m from traffic, with the posts of each, and the ways out prepared.
func scouted(t *testing.T, kinds []exposure.Kind) (*scout, []*view, [][]post) {
	t.Helper()
	p, err := routing.NewPlanner(maptest.Town(t), nil)
	if err != nil {
		t.Fatal(err)
	}
	dog := &exposure.Dog{SpeedMPS: 1.2, ByCategory: map[exposure.Category]exposure.Need{
		exposure.Dogs: {WorkingM: 38, ReactionM: 15}, exposure.Traffic: {WorkingM: 30, ReactionM: 10}}}
	s, err := newScout(t.Context(), p, dog, kinds, p.Land().Snap.Frame.Forward(testdata.DoorLon, testdata.DoorLat), 2500, nil)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(s.walk.Release)
	s.band(1, 2.2)
	m := p.Land().Clock.At(time.Date(2026, 11, 28, 7, 20, 0, 0, time.UTC))
	s.rankedAt = m
	var sieve Sieve
	views := s.views([]hours.Moment{m}, 480, &sieve)
	posts := make([][]post, len(views))
	n := 0
	for i, v := range views {
		s.survey(v)
		posts[i] = s.posts(v, &sieve)
		n += len(posts[i])
	}
	if n < 50 {
		t.Fatalf("only %d posts at %d views", n, len(views))
	}
	return s, views, posts
}

// flowOut is the number of ways out of a post that share no piece, by gonum's
// maximum flow over the pieces that may be walked, and whether the count hangs on
// the rounding of a length.
func flowOut(e *exits, c *post, share float64) (flow int, tight bool) {
	n := e.net
	limit, low := share*c.DistM, (share-freeShare)*c.DistM
	freeAt := map[int32]float64{c.vertex: 0} // metres from the post over ground that is free in the first metres
	for changed := true; changed; {
		changed = false
		for v, m := range freeAt {
			for a := n.First[v]; a < n.First[v+1]; a++ {
				w, to := n.Head[a], m+float64(e.lengthM[a])
				tight = tight || math.Abs(to-freeM) < 1e-3
				if old, ok := freeAt[w]; to <= freeM && e.distM[w] >= low && (!ok || to < old-1e-9) {
					freeAt[w], changed = to, true
				}
			}
		}
	}
	g := simple.NewWeightedDirectedGraph(0, 0)
	sink := int64(len(n.At))
	for v := range sink + 1 {
		g.AddNode(simple.Node(v))
	}
	between := map[[2]int64]float64{}
	for v := range n.At {
		if e.distM[v] >= c.DistM+e.WorkingM {
			g.SetWeightedEdge(g.NewWeightedEdge(simple.Node(v), simple.Node(sink), 9))
		}
		for a := n.First[v]; a < n.First[v+1]; a++ {
			w := n.Head[a]
			m, inFree := freeAt[int32(v)]
			k, backFree := freeAt[w]
			free := inFree && e.distM[w] >= low && m+float64(e.lengthM[a]) <= freeM || backFree && e.distM[v] >= low && k+float64(e.lengthM[a]) <= freeM
			if int32(v) != w && (e.distM[v] >= limit && e.distM[w] >= limit || free) {
				between[[2]int64{int64(v), int64(w)}]++
			}
		}
	}
	for k, capacity := range between {
		g.SetWeightedEdge(g.NewWeightedEdge(simple.Node(k[0]), simple.Node(k[1]), capacity))
	}
	return int(math.Round(network.MaxFlowDinic(g, simple.Node(c.vertex), simple.Node(sink), 1e-9))), tight
}

// TestGradesAgainstMaxFlow: a place has two ways out that share no edge exactly
// where the maximum flow over the ground that keeps the distance is two or more
// (Menger), unless they are longer than 600 m; and one where it is one.
func TestGradesAgainstMaxFlow(t *testing.T) {
	s, views, posts := scouted(t, append(exposure.Dogs.Kinds(), exposure.Traffic.Kinds()...))
	const seed = 3
	rng := rand.New(rand.NewPCG(seed, 1))
	grades := map[Grade]int{}
	for i, v := range views {
		e, err := s.exits(v)
		if err != nil {
			t.Fatal(err)
		}
		for range min(20, len(posts[i])) {
			c := &posts[i][rng.IntN(len(posts[i]))]
			c.Grade, c.WaysOut = "", nil
			strict, close1 := flowOut(e, c, 0.9)
			lax, close2 := flowOut(e, c, 0.75)
			if close1 || close2 {
				continue
			}
			e.grade(c, GradeD)
			grades[c.Grade]++
			deg, _ := e.open(c)
			want := map[bool]Grade{true: GradeC, false: GradeD}[c.RoomM >= 20 || deg > 0]
			switch {
			case strict >= 2:
				want = GradeA
			case lax >= 2 || deg >= 60 || strict > 0 && deg > 0:
				want = GradeB
			case strict == 0 && deg == 0:
				want = ""
			}
			if c.Grade != want && !tooFar(t, e, c, want) {
				t.Errorf("view %d (seed %d): %s at %.0f m is of grade %q; %d ways keep nine tenths and %d three quarters, %.0f m of room: want %q",
					i, seed, c.Street, c.DistM, c.Grade, strict, lax, c.RoomM, want)
			}
			keepsDistance(t, e, c)
		}
	}
	if grades[GradeA] < 10 || grades[GradeB]+grades[GradeC]+grades[GradeD]+grades[""] < 10 {
		t.Errorf("grades %v: the places are too much alike", grades)
	}
}

// tooFar says that the ways out of a grade are longer than may be told.
func tooFar(t *testing.T, e *exits, c *post, grade Grade) bool {
	t.Helper()
	far := func(v int32) bool { return e.distM[v] >= c.DistM+e.WorkingM }
	switch grade {
	case GradeA, GradeB:
		e.bar(c, map[Grade]float64{GradeA: 0.9, GradeB: 0.75}[grade])
		pair, err := e.router.WaysOut(c.vertex, far, e.lengthM, e.barred)
		return err == nil && pair[1].Cost > mostWayOutM
	case GradeC, GradeD:
		e.bar(c, 0.9)
		tree, err := e.router.Reach([]search.Source{{Vertex: c.vertex}}, e.lengthM, search.Span{Cutoff: 1e6, Barred: e.barred})
		if err != nil {
			t.Fatal(err)
		}
		defer tree.Release()
		i := slices.IndexFunc(tree.Settled, far)
		return i >= 0 && tree.Dist(tree.Settled[i]) > mostWayOutM
	}
	return false
}

// keepsDistance walks the ways out metre by metre: never nearer than the grade's
// share but in the first metres, and in the end a working distance farther off.
func keepsDistance(t *testing.T, e *exits, c *post) {
	t.Helper()
	over := len(c.WaysOutBy) > 0 && c.WaysOutBy[len(c.WaysOutBy)-1] == ""
	if n := len(c.WaysOut); n > 2 || (c.Grade == "") != (n == 0) || c.Grade == GradeA && (over || n < 2) || c.Grade == GradeB && n < 2 && !over || len(c.WaysOutBy) != n {
		t.Errorf("grade %q with %d ways by %q", c.Grade, len(c.WaysOut), c.WaysOutBy)
	}
	share := map[bool]float64{true: 0.75, false: 0.9}[c.Grade == GradeB && !over]
	const cutM = 0.5 // pieces are measured at their ends, 10 m apart: in between one may be a little nearer
	walked := map[[2]plane.Point]bool{}
	for k, line := range c.WaysOut {
		if over && k == len(c.WaysOut)-1 { // 25 m straight over open ground, never nearer
			if d, _ := e.view.nearest(line[1]); len(line) != 2 || line[0] != c.At || math.Abs(line.LengthM()-25) > 1e-6 || d < c.DistM-1e-6 {
				t.Errorf("over open ground it goes %.1f m along %v, to %.1f m off", line.LengthM(), line, d)
			}
			continue
		}
		if line[0] != c.At || c.WaysOutBy[k] == "" {
			t.Errorf("way %d begins %.1f m from the place, by %q", k, line[0].DistanceM(c.At), c.WaysOutBy[k])
		}
		for i := 1; i < len(line); i++ {
			if walked[[2]plane.Point{line[i-1], line[i]}] || walked[[2]plane.Point{line[i], line[i-1]}] {
				t.Errorf("two ways out share a piece at %v", line[i])
			}
			walked[[2]plane.Point{line[i-1], line[i]}] = true
		}
		long := line.LengthM()
		if long > 600+1 {
			t.Errorf("a way out of %.0f m", long)
		}
		for m := 0.0; m <= long; m++ {
			d, _ := e.view.nearest(line.At(m))
			low := share * c.DistM
			if m <= 20 {
				low -= 0.15 * c.DistM
			}
			if d < low-cutM-0.05*c.DistM {
				t.Errorf("%s, grade %s: %.1f m off after %.0f m, %.1f m at the place", c.Street, c.Grade, d, m, c.DistM)
				break
			}
		}
		if d, _ := e.view.nearest(line[len(line)-1]); d < c.DistM+e.WorkingM-1e-6 {
			t.Errorf("a way out ends %.1f m off, the place is %.1f m off and the dog works at %.0f m", d, c.DistM, e.WorkingM)
		}
	}
}

// TestSightAgainstAllObstacles: the share in sight is what comes out when each line
// is held against every obstacle of the map, by the signs of four areas.
func TestSightAgainstAllObstacles(t *testing.T) {
	s, views, _ := scouted(t, exposure.Dogs.Kinds())
	area := func(a, b, c plane.Point) float64 { return b.Sub(a).Cross(c.Sub(a)) }
	seen, hidden := 0, 0
	for i, v := range views {
		for k := 0; k < len(v.net.At); k += 1 + len(v.net.At)/40 {
			at := v.net.At[k]
			share, _ := s.see(v, at, v.toward[k], v.distM[k])
			points, open, doubtful := v.outline(at, v.toward[k], v.distM[k]), 0, false
			for _, q := range points {
				to, blocked := q.Add(s.inward(v, q)), false
				for _, o := range s.p.Land().Snap.Ground.AllObstacles() {
					for j := 1; j < len(o.Line) && o.Blocks&osmdata.BlocksView != 0; j++ {
						a, b, c, d := area(at, to, o.Line[j-1]), area(at, to, o.Line[j]), area(o.Line[j-1], o.Line[j], at), area(o.Line[j-1], o.Line[j], to)
						doubtful = doubtful || math.Min(math.Abs(a), math.Abs(b)) < 1e-6 || math.Min(math.Abs(c), math.Abs(d)) < 1e-6
						blocked = blocked || a*b < 0 && c*d < 0
					}
				}
				if !blocked {
					open++
				}
			}
			if doubtful {
				continue
			}
			seen, hidden = seen+open, hidden+len(points)-open
			if want := float64(open) / float64(len(points)); math.Abs(share-want) > 1e-9 {
				t.Errorf("view %d from %v: share %.3f, of all obstacles %.3f", i, at, share, want)
			}
		}
	}
	if seen < 50 || hidden < 50 {
		t.Errorf("%d lines clear and %d blocked: the places are too much alike", seen, hidden)
	}
}

// TestStandable: where one may stand to watch, by class and flags.
func TestStandable(t *testing.T) {
	for _, c := range []struct {
		name  string
		class osmdata.Class
		flags osmdata.StreetFlags
		want  bool
	}{
		{"a path", osmdata.Path, 0, true},
		{"steps", osmdata.Steps, 0, false},
		{"a cycleway", osmdata.Cycleway, 0, false},
		{"a main road's carriageway", osmdata.Primary, 0, false},
		{"a main road's pavement", osmdata.Primary, osmdata.FlagSidewalk, true},
		{"a residential street", osmdata.Residential, 0, true},
		{"one that is mapped without a pavement", osmdata.Residential, osmdata.FlagNoSidewalk, false},
		{"somebody's drive", osmdata.Service, osmdata.FlagDriveway, false},
		{"a bridge", osmdata.Path, osmdata.FlagBridge, false},
		{"a tunnel", osmdata.Footway, osmdata.FlagTunnel, false},
		{"a crossing", osmdata.Footway, osmdata.FlagCrossing, false},
	} {
		if got := standable(c.class, c.flags, false); got != c.want {
			t.Errorf("%s: %v", c.name, got)
		}
	}
}

// TestScoutEnds: a search for places ends with its context and with its work; what
// it has found until then is part of what it would have found.
func TestScoutEnds(t *testing.T) {
	kinds := []exposure.Kind{exposure.DogOnLead, exposure.DogOffLead}
	all, views, _ := scouted(t, kinds)
	found := func(work *search.Work) (out []Vantage, err error) {
		s := *all
		s.work, s.stop = work, nil
		s.band(0.5, 3)
		var sieve Sieve
		for _, v := range views {
			again := *v
			out = append(out, s.places(&again, "", &sieve)...)
		}
		return out, s.stop
	}
	const plenty = 1 << 40
	work := search.NewWork(t.Context(), plenty)
	whole, err := found(work)
	if err != nil || len(whole) == 0 {
		t.Fatalf("%d places, %v", len(whole), err)
	}
	did := plenty - work.Left()
	for _, share := range []int64{0, 1, 10, 50, 90, 99} {
		part, err := found(search.NewWork(t.Context(), did*share/100))
		if !errors.Is(err, search.ErrWork) || len(part) > len(whole) {
			t.Errorf("%d %% of the work: %d places of %d, %v", share, len(part), len(whole), err)
		}
		for i := range part {
			if !slices.ContainsFunc(whole, func(v Vantage) bool { return v.At == part[i].At && v.Grade <= part[i].Grade }) {
				t.Errorf("%d %% of the work finds a place that the whole does not: %v", share, part[i].At)
			}
		}
	}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if part, err := found(search.NewWork(ctx, plenty)); !errors.Is(err, context.Canceled) || len(part) > 0 {
		t.Errorf("given up: %d places, %v", len(part), err)
	}
}
