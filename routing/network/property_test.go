package network_test

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"sort"
	"testing"

	"pgregory.net/rapid"

	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
)

// drawWorld makes ways that wander over a jittered lattice of 5 by 5 nodes, so that
// they meet, cross, overlap, turn back and close as real and worse maps do.
func drawWorld(t *rapid.T) *world {
	w := &world{barred: osmdata.Barred{}}
	at := func(n int) plane.Point {
		h := math.Sin(float64(n)*12.9898) * 43758.5453
		return plane.Point{X: float64(n%5)*100 + 20*(h-math.Floor(h)), Y: float64(n/5)*100 + 3*math.Cos(float64(n))}
	}
	for i := range rapid.IntRange(1, 7).Draw(t, "ways") {
		s := osmdata.Street{ID: int64(100 + i), Foot: true, Class: osmdata.Class(rapid.IntRange(5, 9).Draw(t, "class"))}
		x, y := rapid.IntRange(0, 4).Draw(t, "x"), rapid.IntRange(0, 4).Draw(t, "y")
		for range rapid.IntRange(2, 9).Draw(t, "nodes") {
			s.Nodes = append(s.Nodes, int64(5*y+x))
			s.Line = append(s.Line, at(5*y+x))
			step := rapid.SampledFrom([][2]int{{1, 0}, {-1, 0}, {0, 1}, {0, -1}, {1, 1}}).Draw(t, "step")
			nx, ny := x+step[0], y+step[1]
			if nx < 0 || nx > 4 || ny < 0 || ny > 4 {
				nx, ny = 2, 2
				if x == 2 && y == 2 {
					nx = 3
				}
			}
			x, y = nx, ny
		}
		w.ways = append(w.ways, s)
	}
	for range rapid.IntRange(0, 2).Draw(t, "gates") {
		w.barred[int64(rapid.IntRange(0, 24).Draw(t, "gate"))] = true
	}
	return w
}

// pairs is the slow twin: the map as a set of node pairs, with one end of its own
// for every pair at a barred node.
type pairs struct {
	length map[[2]string]float64
	next   map[string][]string
}

func twin(w *world) pairs {
	s := pairs{map[[2]string]float64{}, map[string][]string{}}
	for _, street := range w.ways {
		for k := 1; k < len(street.Nodes); k++ {
			u, v := street.Nodes[k-1], street.Nodes[k]
			name := func(n, other int64) string {
				if w.barred[n] {
					return fmt.Sprint(n, "-", other)
				}
				return fmt.Sprint(n)
			}
			a, b := name(u, v), name(v, u)
			if a > b {
				a, b = b, a
			}
			if _, ok := s.length[[2]string{a, b}]; ok {
				continue
			}
			s.length[[2]string{a, b}] = street.Line[k-1].DistanceM(street.Line[k])
			s.next[a] = append(s.next[a], b)
			s.next[b] = append(s.next[b], a)
		}
	}
	return s
}

// count gives the number of vertices and edges after contraction, of components,
// and the total length.
func (s pairs) count() (vertices, edges, components int, lengthM float64) {
	degrees := 0
	for _, n := range s.next {
		if len(n) != 2 {
			vertices++
			degrees += len(n)
		}
	}
	edges = degrees / 2
	seen := map[string]bool{}
	for start := range s.next {
		if seen[start] {
			continue
		}
		components++
		ring := true
		for todo := []string{start}; len(todo) > 0; {
			n := todo[0]
			todo = todo[1:]
			if !seen[n] {
				seen[n] = true
				ring = ring && len(s.next[n]) == 2
				todo = append(todo, s.next[n]...)
			}
		}
		if ring {
			vertices, edges = vertices+1, edges+1
		}
	}
	for _, m := range s.length {
		lengthM += m
	}
	return vertices, edges, components, lengthM
}

func mustBuild(t *rapid.T, w *world) (*network.Graph, network.Stats) {
	g, st, err := network.Build(w.ways, w.barred, whole)
	if err != nil {
		t.Fatal(err)
	}
	if err := g.Check(); err != nil {
		t.Fatal(err)
	}
	return g, st
}

func TestBuildAgainstSimpleTwin(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := drawWorld(t)
		g, st := mustBuild(t, w)
		v, e, c, m := twin(w).count()
		if g.Star.VertexCount() != v || g.EdgeCount() != e || st.Components != c || math.Abs(st.LengthM-m) > 1e-6 {
			t.Fatalf("%d vertices %d edges %d components %.6f m; twin %d %d %d %.6f", g.Star.VertexCount(), g.EdgeCount(), st.Components, st.LengthM, v, e, c, m)
		}
		for e := range int32(g.EdgeCount()) {
			sum := float32(0)
			parts := g.Parts[g.PartAt[e]:g.PartAt[e+1]]
			for i, p := range parts {
				end := g.LengthM[e]
				if i+1 < len(parts) {
					end = parts[i+1].FromM
				}
				sum += end - p.FromM
				checkPart(t, w, g, e, p, end)
			}
			if math.Abs(float64(sum-g.LengthM[e])) > 1e-2 {
				t.Fatalf("parts of edge %d cover %v of %v m", e, sum, g.LengthM[e])
			}
		}
	})
}

// checkPart finds the middle of a part on the edge and on its way: one place.
func checkPart(t *rapid.T, w *world, g *network.Graph, e int32, p network.Part, end float32) {
	half := float64(end-p.FromM) / 2
	along := float64(p.StreetM) + half
	if p.Reverse() {
		along = float64(p.StreetM) - half
	}
	i := slices.IndexFunc(w.ways, func(s osmdata.Street) bool { return s.ID == p.Street })
	on, off := g.EdgeLine(e).At(float64(p.FromM)+half), w.ways[i].Line.At(along)
	if on.DistanceM(off) > 0.01 {
		t.Fatalf("edge %d part %+v: on the edge %v, on the way %v", e, p, on, off)
	}
}

// shape writes the network by geometry alone: the lines, rings without a junction
// turned to their least point, others to the lesser direction, as nodes were renumbered.
func shape(g *network.Graph) []string {
	var out []string
	for e := range int32(g.EdgeCount()) {
		l := slices.Clone(g.EdgeLine(e))
		v := g.Star.Head[g.EdgeArc[e]]
		if l[0] == l[len(l)-1] && g.Star.First[v+1]-g.Star.First[v] == 2 {
			l = turned(l)
		} else if back := l.Reversed(); l[0] == back[0] && (back[1].X < l[1].X || back[1].X == l[1].X && back[1].Y < l[1].Y) {
			l = back
		}
		out = append(out, fmt.Sprint(l))
	}
	sort.Strings(out)
	return out
}

// turned is a closed line begun at its least point, in the direction of the lesser
// second.
func turned(l plane.Polyline) plane.Polyline {
	l = l[:len(l)-1]
	less := func(p, q plane.Point) bool { return p.X < q.X || p.X == q.X && p.Y < q.Y }
	k := 0
	for i := range l {
		if less(l[i], l[k]) {
			k = i
		}
	}
	l = append(slices.Clone(l[k:]), l[:k]...)
	if less(l[len(l)-1], l[1]) {
		slices.Reverse(l[1:])
	}
	return append(l, l[0])
}

func TestDrawingDoesNotMatter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := drawWorld(t)
		g, _ := mustBuild(t, w)
		other := redrawn(t, w)
		h, _ := mustBuild(t, other)
		if a, b := shape(g), shape(h); !slices.Equal(a, b) {
			t.Fatalf("redrawn network differs:\n%v\n%v", a, b)
		}
	})
}

// redrawn is the same map in another order, with ways cut in two, turned round and
// renumbered, and nodes renumbered.
func redrawn(t *rapid.T, w *world) *world {
	factor := int64(rapid.SampledFrom([]int{1, -1, 7}).Draw(t, "factor"))
	out := &world{barred: osmdata.Barred{}}
	for n := range w.barred {
		out.barred[factor*n+1000] = true
	}
	for i, s := range w.ways {
		s.ID = int64(500 - i)
		s.Nodes, s.Line = slices.Clone(s.Nodes), slices.Clone(s.Line)
		for k := range s.Nodes {
			s.Nodes[k] = factor*s.Nodes[k] + 1000
		}
		if rapid.Bool().Draw(t, "turn") {
			slices.Reverse(s.Nodes)
			slices.Reverse(s.Line)
		}
		k := rapid.IntRange(1, len(s.Nodes)-1).Draw(t, "cut")
		if k < len(s.Nodes)-1 {
			u := s
			u.ID, u.Nodes, u.Line = int64(900+i), s.Nodes[k:], s.Line[k:]
			s.Nodes, s.Line = s.Nodes[:k+1], s.Line[:k+1]
			out.ways = append(out.ways, u)
		}
		out.ways = append(out.ways, s)
	}
	slices.Reverse(out.ways)
	return out
}

func TestSnapAgainstPlainSearch(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g, _ := mustBuild(t, drawWorld(t))
		p := plane.Point{X: rapid.Float64Range(-900, 900).Draw(t, "px"), Y: rapid.Float64Range(-900, 900).Draw(t, "py")}
		best := math.Inf(1)
		for e := range int32(g.EdgeCount()) {
			_, _, d := g.EdgeLine(e).Nearest(p)
			best = min(best, d)
		}
		at, err := g.Snap(p, network.SnapLimitM)
		if best > network.SnapLimitM {
			far := (*network.TooFarError)(nil)
			if !errors.As(err, &far) || math.Abs(far.DistM-best) > 1e-9 || math.Abs(far.At.DistanceM(p)-best) > 1e-9 {
				t.Fatalf("%v m away: %v", best, err)
			}
			return
		}
		if err != nil || math.Abs(at.DistM-best) > 1e-9 || at.At.DistanceM(g.EdgeLine(at.Edge).At(at.AlongM)) > 1e-3 {
			t.Fatalf("snapped to %+v (%v), nearest is %v m away", at, err, best)
		}
	})
}

// Minus infinity keeps what any negative number keeps, and counts no pieces.
func TestKeepingAllUncounted(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		w := drawWorld(r)
		a, counted, errA := network.Build(w.ways, w.barred, network.Options{MinIslandM: -1})
		b, plain, errB := network.Build(w.ways, w.barred, network.Options{MinIslandM: math.Inf(-1)})
		if (errA == nil) != (errB == nil) {
			r.Fatalf("%v and %v", errA, errB)
		}
		if errA == nil && (!slices.Equal(a.Star.Head, b.Star.Head) || !slices.Equal(a.LengthM, b.LengthM) || plain.Components != 0) {
			r.Fatalf("%+v and %+v", counted, plain)
		}
	})
}
