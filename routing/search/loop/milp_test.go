package loop

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"math"
	"math/bits"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"
)

// Instance is a neighbourhood cut from a real map, contracted, with a window
// and, when proved, its optimum. Times in s, costs in expected reactions, the
// same in both directions.
type Instance struct {
	Name          string       `json:"name"`
	Vertices      int          `json:"vertices"`
	Door          int32        `json:"door"`
	MinS          float64      `json:"min_s"`
	MaxS          float64      `json:"max_s"`
	SurchargePerS float64      `json:"surcharge_per_s"`
	Edges         [][4]float32 `json:"edges"` // from, to, time, cost
	Optimum       float64      `json:"optimum"`
	Walk          []int        `json:"walk"` // edge number + 1, negative against its direction
	SolverS       float64      `json:"solver_s"`
}

// Problem gives the instance as a problem and the arc of each edge's direction.
func (in *Instance) Problem() (p Problem, arcOf func(edge int, back bool) int32) {
	streets := make([]street, len(in.Edges))
	for i, e := range in.Edges {
		streets[i] = street{int32(e[0]), int32(e[1]), e[2], e[2], []float32{e[3]}, []float32{e[3]}}
	}
	p = buildLoopProblem(in.Vertices, streets, 1)
	p.Door, p.MinS, p.MaxS = in.Door, in.MinS, in.MaxS
	arcs := make([]int32, len(in.Edges))
	at := append([]int32(nil), p.Graph.First...)
	for i, e := range in.Edges {
		arcs[i] = at[int(e[0])]
		at[int(e[0])]++
		at[int(e[1])]++
	}
	return p, func(edge int, back bool) int32 {
		if back {
			return p.Graph.Twin[arcs[edge]]
		}
		return arcs[edge]
	}
}

// CutInstance contracts the reach of a problem into an instance. Times are
// rounded to hundredths and costs to five digits, which keeps the data small.
func CutInstance(p Problem, name string) (*Instance, bool) {
	s := NewSolver()
	if ok, err := s.prepare(p); err != nil || !ok {
		return nil, false
	}
	c := &s.core
	in := &Instance{Name: name, Vertices: c.vertexCount(), MinS: p.MinS, MaxS: p.MaxS}
	add := func(u, v int32, t, x float64) {
		short, _ := strconv.ParseFloat(strconv.FormatFloat(x, 'g', 5, 64), 64)
		in.Edges = append(in.Edges, [4]float32{float32(u), float32(v), float32(math.Round(t*100) / 100), float32(short)})
	}
	for a := range c.arc {
		if k := &c.arc[a]; k.run&1 == 0 {
			add(c.arc[k.twin].head, k.head, k.timeS, c.cost[a])
		}
	}
	if len(c.stem) > 0 {
		in.Door = int32(in.Vertices)
		in.Vertices++
		add(in.Door, 0, c.startS, c.startCost)
	}
	q, _ := in.Problem()
	if ok, err := s.prepare(q); err != nil || !ok {
		return nil, false
	}
	in.SurchargePerS = s.core.surchargePerS
	return in, true
}

// milp solves an instance with a general-purpose solver: a binary for "walked"
// and one for "walked twice" per edge, even degrees, the window on the sum of
// times, and connection to the door by cut rows that are added where a solution
// falls apart. A doubled edge with nothing else at one end is an about-turn and
// forbidden there. What else the walk model asks is checked on the solution by
// laying a walk over it.
type milp struct {
	in    *Instance
	dir   string
	scale float64
	cuts  [][]int // vertex sets that the walk has to leave if it walks inside
	fixed map[string]float64
}

var (
	errMILPTime  = errors.New("the solver ran out of time")
	errMILPLoose = errors.New("the linear relaxation is too loose to hope for a proof in time")
)

// leastFixed is how many edges there may be for each variable that the linear
// relaxation fixes; with fewer fixed, no proof came within minutes.
const leastFixed = 5

// write gives the model in CPLEX LP format.
func (m *milp) write(integer bool) string {
	var b bytes.Buffer
	b.WriteString("Minimize\n obj:")
	for i, e := range m.in.Edges {
		x := float64(e[3]) * m.scale
		k := m.in.SurchargePerS * float64(e[2]) * m.scale
		fmt.Fprintf(&b, " + %.9g y%d + %.9g z%d\n", x, i, x+k, i)
	}
	b.WriteString("Subject To\n")
	m.writeWindow(&b)
	m.writeDegrees(&b)
	for i := range m.in.Edges {
		fmt.Fprintf(&b, " z%d - y%d <= 0\n", i, i)
	}
	for _, cut := range m.cuts {
		m.writeCut(&b, cut)
	}
	b.WriteString("Bounds\n")
	for i := range m.in.Edges {
		for _, kind := range []string{"y", "z"} {
			name := kind + strconv.Itoa(i)
			if x, ok := m.fixed[name]; ok {
				fmt.Fprintf(&b, " %s = %g\n", name, x)
			} else {
				fmt.Fprintf(&b, " 0 <= %s <= 1\n", name)
			}
		}
	}
	if integer {
		b.WriteString("Generals\n")
		for v, edges := range m.incident() {
			if len(m.leaving(v, edges)) > mostParity {
				fmt.Fprintf(&b, " d%d\n", v)
			}
		}
		b.WriteString("Binaries\n")
		for i := range m.in.Edges {
			for _, kind := range []string{"y", "z"} {
				if name := kind + strconv.Itoa(i); !m.isFixed(name) {
					fmt.Fprintf(&b, " %s\n", name)
				}
			}
		}
	}
	b.WriteString("End\n")
	return b.String()
}

func (m *milp) isFixed(name string) bool {
	_, ok := m.fixed[name]
	return ok
}

func (m *milp) writeWindow(b *bytes.Buffer) {
	for _, side := range []struct {
		op    string
		limit float64
	}{{">=", m.in.MinS}, {"<=", m.in.MaxS}} {
		for i, e := range m.in.Edges {
			fmt.Fprintf(b, " + %.9g y%d + %.9g z%d\n", e[2], i, e[2], i)
		}
		fmt.Fprintf(b, " %s %.9g\n", side.op, side.limit)
	}
}

// writeDegrees asks for even degrees, a visit to the door, and no dead ends.
func (m *milp) writeDegrees(b *bytes.Buffer) {
	for v, edges := range m.incident() {
		open := m.leaving(v, edges)
		m.writeParity(b, v, open)
		if v == int(m.in.Door) {
			for _, i := range slices.Compact(slices.Clone(edges)) {
				fmt.Fprintf(b, " + y%d + z%d", i, i)
			}
			b.WriteString(" >= 2\n")
			continue
		}
		for _, i := range open {
			fmt.Fprintf(b, " z%d", i)
			for _, j := range slices.Compact(slices.Clone(edges)) {
				if j != i {
					fmt.Fprintf(b, " - y%d", j)
				}
			}
			b.WriteString(" <= 0\n")
		}
	}
}

// leaving picks of the edges at v those that do not end where they start.
func (m *milp) leaving(v int, edges []int) []int {
	var open []int
	for _, i := range edges {
		if m.in.Edges[i][0] != m.in.Edges[i][1] {
			open = append(open, i)
		}
	}
	return open
}

// mostParity is the degree up to which evenness is written as the convex hull of
// the even subsets; above it an integer variable takes half of the sum.
const mostParity = 6

// writeParity asks that an even number of the edges is walked exactly once.
func (m *milp) writeParity(b *bytes.Buffer, v int, open []int) {
	if len(open) > mostParity {
		for _, i := range open {
			fmt.Fprintf(b, " + y%d - z%d", i, i)
		}
		fmt.Fprintf(b, " - 2 d%d = 0\n", v)
		return
	}
	for subset := range 1 << len(open) {
		if bits.OnesCount(uint(subset))%2 == 0 {
			continue
		}
		for n, i := range open {
			if subset>>n&1 == 1 {
				fmt.Fprintf(b, " + y%d - z%d", i, i)
			} else {
				fmt.Fprintf(b, " - y%d + z%d", i, i)
			}
		}
		fmt.Fprintf(b, " <= %d\n", bits.OnesCount(uint(subset))-1)
	}
}

// incident lists the edges at each vertex, an edge that ends where it starts twice.
func (m *milp) incident() [][]int {
	at := make([][]int, m.in.Vertices)
	for i, e := range m.in.Edges {
		at[int(e[0])] = append(at[int(e[0])], i)
		at[int(e[1])] = append(at[int(e[1])], i)
	}
	return at
}

// writeCut asks for every edge inside the set that as many passes leave the set
// as it takes to get in and out.
func (m *milp) writeCut(b *bytes.Buffer, set []int) {
	in := make([]bool, m.in.Vertices)
	for _, v := range set {
		in[v] = true
	}
	var border bytes.Buffer
	for i, e := range m.in.Edges {
		if in[int(e[0])] != in[int(e[1])] {
			fmt.Fprintf(&border, " + y%d + z%d", i, i)
		}
	}
	for i, e := range m.in.Edges {
		if in[int(e[0])] && in[int(e[1])] {
			fmt.Fprintf(b, "%s - 2 y%d >= 0\n", border.String(), i)
		}
	}
}

// solve gives the passes of each edge and the cost of an optimal solution, or
// errMILPTime. Linear relaxations come first: for cuts, and to fix variables
// whose reduced cost alone would lift a solution above the cutoff.
func (m *milp) solve(limit time.Duration, cutoff float64) (passes []int, cost float64, err error) {
	begun := time.Now()
	for range lpRounds {
		s, err := m.run(false, limit-time.Since(begun), math.Inf(1))
		if err != nil {
			return nil, 0, err
		}
		m.fix(s, cutoff*m.scale)
		if !m.separate(s.passes) {
			break
		}
	}
	if len(m.fixed) < len(m.in.Edges)/leastFixed {
		return nil, 0, errMILPLoose
	}
	for {
		s, err := m.run(true, limit-time.Since(begun), cutoff)
		if err != nil {
			return nil, 0, err
		}
		parts := m.parts(s.passes)
		if len(parts) == 0 {
			passes = make([]int, len(s.passes))
			for i, y := range s.passes {
				passes[i] = int(math.Round(y))
			}
			return passes, s.cost / m.scale, nil
		}
		m.cuts = append(m.cuts, parts...)
	}
}

// lpRounds bounds the rounds of cuts; the bound hardly moves after that.
const lpRounds = 40

// solved is what the solver wrote: y + z of every edge, the objective, and the
// value and reduced cost of every variable.
type solved struct {
	passes         []float64
	cost           float64
	value, reduced map[string]float64
}

// fix fixes what no solution below the cutoff can change.
func (m *milp) fix(s *solved, cutoff float64) {
	for name, rc := range s.reduced {
		if name[0] == 'd' {
			continue
		}
		switch x := s.value[name]; {
		case x < 1e-6 && s.cost+rc > cutoff+1e-3:
			m.fixed[name] = 0
		case x > 1-1e-6 && s.cost-rc > cutoff+1e-3:
			m.fixed[name] = 1
		}
	}
}

// run calls the solver.
func (m *milp) run(integer bool, left time.Duration, cutoff float64) (*solved, error) {
	if left < time.Second/10 {
		return nil, errMILPTime
	}
	model, out := filepath.Join(m.dir, "m.lp"), filepath.Join(m.dir, "m.sol")
	if err := os.WriteFile(model, []byte(m.write(integer)), 0o644); err != nil {
		return nil, err
	}
	os.Remove(out)
	args := []string{"-n", "19", "cbc", model, "-seconds", strconv.Itoa(1 + int(left.Seconds())), "-ratioGap", "0", "-allowableGap", "0"}
	if !math.IsInf(cutoff, 1) {
		args = append(args, "-cutoff", strconv.FormatFloat(cutoff*m.scale, 'g', 10, 64))
	}
	args = append(args, "-printingOptions", "all", "-solve", "-solution", out)
	ctx, cancel := context.WithTimeout(context.Background(), left+20*time.Second)
	defer cancel()
	if log, err := exec.CommandContext(ctx, "nice", args...).CombinedOutput(); err != nil {
		return nil, fmt.Errorf("cbc: %w: %.300s", err, log)
	}
	return m.read(out)
}

func (m *milp) read(path string) (*solved, error) {
	text, err := os.ReadFile(path)
	if err != nil {
		return nil, err
	}
	lines := strings.Split(string(text), "\n")
	if !strings.HasPrefix(lines[0], "Optimal") {
		if strings.Contains(lines[0], "time") {
			return nil, errMILPTime
		}
		return nil, fmt.Errorf("cbc says %q", lines[0])
	}
	s := &solved{passes: make([]float64, len(m.in.Edges)), value: map[string]float64{}, reduced: map[string]float64{}}
	if s.cost, err = strconv.ParseFloat(lines[0][strings.LastIndexByte(lines[0], ' ')+1:], 64); err != nil {
		return nil, err
	}
	for _, line := range lines[1:] {
		f := strings.Fields(strings.TrimPrefix(strings.TrimSpace(line), "**"))
		if len(f) < 4 || !strings.ContainsAny(f[1][:1], "yzd") {
			continue
		}
		i, err1 := strconv.Atoi(f[1][1:])
		x, err2 := strconv.ParseFloat(f[2], 64)
		rc, err3 := strconv.ParseFloat(f[3], 64)
		if err := errors.Join(err1, err2, err3); err != nil {
			return nil, fmt.Errorf("cbc wrote %q: %w", line, err)
		}
		s.value[f[1]], s.reduced[f[1]] = x, rc
		if f[1][0] != 'd' {
			s.passes[i] += x
		}
	}
	return s, nil
}

// parts gives the vertex sets of what is walked but hangs together without the
// door.
func (m *milp) parts(y []float64) [][]int {
	at := m.incident()
	part := make([]int, m.in.Vertices)
	var sets [][]int
	for v := range part {
		if part[v] != 0 {
			continue
		}
		set := []int{v}
		part[v] = 1
		walked, door := false, false
		for n := 0; n < len(set); n++ {
			door = door || set[n] == int(m.in.Door)
			for _, i := range at[set[n]] {
				if y[i] < 0.5 {
					continue
				}
				walked = true
				for _, w := range []int{int(m.in.Edges[i][0]), int(m.in.Edges[i][1])} {
					if part[w] == 0 {
						part[w] = 1
						set = append(set, w)
					}
				}
			}
		}
		if walked && !door {
			sets = append(sets, set)
		}
	}
	return sets
}

// separate adds the cuts that a fractional solution violates most. It reports
// false when there is none.
func (m *milp) separate(y []float64) bool {
	type edge struct {
		i int
		y float64
	}
	var heavy []edge
	for i := range y {
		if y[i] > 0.3 {
			heavy = append(heavy, edge{i, y[i]})
		}
	}
	slices.SortFunc(heavy, func(a, b edge) int { return int(math.Copysign(1, b.y-a.y)) })
	covered := make([]bool, m.in.Vertices)
	added := 0
	for _, e := range heavy {
		u, v := int(m.in.Edges[e.i][0]), int(m.in.Edges[e.i][1])
		if covered[u] || covered[v] || u == int(m.in.Door) || v == int(m.in.Door) {
			continue
		}
		set, value := m.minCut(y, u, v)
		if value < 2*min(1, e.y)-0.1 && len(set) > 1 {
			for _, w := range set {
				covered[w] = true
			}
			m.cuts = append(m.cuts, set)
			if added++; added == 8 {
				return true
			}
		}
	}
	return added > 0
}

// minCut finds the cheapest border between the door and two vertices by
// augmenting paths; it gives the side of the vertices.
func (m *milp) minCut(y []float64, u, v int) ([]int, float64) {
	at := m.incident()
	flow := make([]float64, len(y)) // positive along the edge
	for {
		prev, seen := make([]int, m.in.Vertices), make([]bool, m.in.Vertices)
		queue := []int{u, v}
		seen[u], seen[v] = true, true
		prev[u], prev[v] = -1, -1
		for n := 0; n < len(queue) && !seen[m.in.Door]; n++ {
			for _, i := range at[queue[n]] {
				a, b := int(m.in.Edges[i][0]), int(m.in.Edges[i][1])
				to, left := b, y[i]-flow[i]
				if queue[n] == b {
					to, left = a, y[i]+flow[i]
				}
				if left > 1e-7 && !seen[to] {
					seen[to] = true
					prev[to] = i
					queue = append(queue, to)
				}
			}
		}
		if !seen[m.in.Door] {
			value := 0.0
			for i, e := range m.in.Edges {
				if seen[int(e[0])] != seen[int(e[1])] {
					value += y[i]
				}
			}
			return queue, value
		}
		m.augment(y, flow, prev)
	}
}

func (m *milp) augment(y, flow []float64, prev []int) {
	room := math.Inf(1)
	for pass := range 2 {
		for w := int(m.in.Door); prev[w] >= 0; {
			i := prev[w]
			a, b := int(m.in.Edges[i][0]), int(m.in.Edges[i][1])
			if w == b {
				if pass == 0 {
					room = min(room, y[i]-flow[i])
				} else {
					flow[i] += room
				}
				w = a
			} else {
				if pass == 0 {
					room = min(room, y[i]+flow[i])
				} else {
					flow[i] -= room
				}
				w = b
			}
		}
	}
}

// lay looks for a walk of the model that makes exactly these passes.
func (m *milp) lay(passes []int) []int {
	p, arcOf := m.in.Problem()
	left := make([]int, len(passes))
	total := 0
	edgeOf := map[int32]int{}
	for i := range passes {
		left[i] = passes[i]
		total += passes[i]
		edgeOf[arcOf(i, false)], edgeOf[arcOf(i, true)] = i+1, -(i + 1)
	}
	used := make([]bool, p.Graph.ArcCount())
	var walk []int
	nodes := 0
	var grow func(v, by int32) bool
	grow = func(v, by int32) bool {
		if len(walk) == total {
			return v == p.Door
		}
		if nodes++; nodes > 2_000_000 {
			return false
		}
		for a := p.Graph.First[v]; a < p.Graph.First[v+1]; a++ {
			e := edgeOf[a]
			i := max(e, -e) - 1
			if left[i] == 0 || used[a] || p.Graph.Twin[a] == by {
				continue
			}
			left[i]--
			used[a] = true
			walk = append(walk, e)
			if grow(p.Graph.Head[a], a) {
				return true
			}
			walk = walk[:len(walk)-1]
			used[a] = false
			left[i]++
		}
		return false
	}
	if !grow(p.Door, -1) {
		return nil
	}
	return walk
}
