package reach

import (
	"errors"
	"math"
	"slices"

	"wideberth/osmdata/plane"
)

// Tolerances of matching a line to the network again: streets are drawn anew a few
// metres off in a newer map, and a stretch may be a little longer or shorter.
const (
	matchM      = 12.0
	matchShare  = 0.05
	matchStepM  = 2.0
	leastMatchM = 6.0 // by so much a short stretch may differ in length
)

// ErrOtherGround says that a line cannot be walked on this map.
var ErrOtherGround = errors.New("the ground has changed: this walk cannot be walked so on the map loaded here")

// Match finds the arcs of the reach that follow a line from one vertex to another: the
// ground of a walk that was planned on another map. A line that no sequence of arcs stays
// within 12 m of is ErrOtherGround.
func (r *Reach) Match(line plane.Polyline, from, to int32) ([]int32, error) {
	m := matcher{r: r, line: line, totalM: line.LengthM()}
	m.project()
	return m.follow(from, to)
}

// matcher walks the line in order of the metres gone: a state is a vertex at one
// of the places where the line passes it.
type matcher struct {
	r      *Reach
	line   plane.Polyline
	totalM float64
	passes [][]float64 // per local vertex: metres along the line at which it is passed
}

// project finds, for every vertex, where along the line it is passed: wherever the
// line comes nearer to it than just before and after, within the tolerance.
func (m *matcher) project() {
	at := make([]plane.Point, len(m.r.Home))
	for a := range m.r.Piece {
		line := m.r.Land.LineOf(m.r.Piece[a].Directed)
		at[m.r.Star.Head[a]] = line[len(line)-1]
	}
	steps := max(1, int(math.Ceil(m.totalM/matchStepM)))
	samples := make([]plane.Point, steps+1)
	for i := range samples {
		samples[i] = m.line.At(m.totalM * float64(i) / float64(steps))
	}
	m.passes = make([][]float64, len(at))
	box := m.line.Box().Grown(matchM)
	for v, p := range at {
		if !box.Contains(p) {
			continue
		}
		before, d := math.Inf(1), p.DistanceM(samples[0])
		for i := range samples {
			after := math.Inf(1)
			if i < steps {
				after = p.DistanceM(samples[i+1])
			}
			if d < matchM && d <= before && d < after {
				m.passes[v] = append(m.passes[v], m.totalM*float64(i)/float64(steps))
			}
			before, d = d, after
		}
	}
}

// state is a vertex at a place of the line.
type state struct {
	v   int32
	m   float64
	arc int32 // walked last
	was int   // index of the state before
}

// follow walks all states forward until one is at the end of the line.
func (m *matcher) follow(from, end int32) ([]int32, error) {
	r := m.r
	states := []state{{v: from, arc: -1, was: -1}}
	seen := map[[2]int]bool{}
	for i := 0; i < len(states); i++ {
		s := states[i]
		if s.v == end && s.arc >= 0 && m.totalM-s.m <= matchM {
			var arcs []int32
			for k := i; states[k].arc >= 0; k = states[k].was {
				arcs = append(arcs, states[k].arc)
			}
			slices.Reverse(arcs)
			return arcs, nil
		}
		for a := r.Star.First[s.v]; a < r.Star.First[s.v+1]; a++ {
			w, lengthM := r.Star.Head[a], float64(r.Piece[a].LengthM)
			for _, q := range m.passes[w] {
				key := [2]int{int(w), int(math.Round(q))}
				if math.Abs(q-s.m-lengthM) > max(leastMatchM, matchShare*lengthM) || q <= s.m && lengthM > leastMatchM || seen[key] || !m.beside(a, s.m, q) {
					continue
				}
				seen[key] = true
				states = append(states, state{w, q, a, i})
			}
		}
	}
	return nil, ErrOtherGround
}

// beside says that an arc stays near the line between two places of it.
func (m *matcher) beside(a int32, fromM, toM float64) bool {
	piece := m.r.Land.LineOf(m.r.Piece[a].Directed)
	n := max(1, int(piece.LengthM()/(2*matchM)))
	long := piece.LengthM()
	for i := 1; i <= n; i++ {
		share := float64(i) / float64(n+1)
		if piece.At(long*share).DistanceM(m.line.At(fromM+(toM-fromM)*share)) > 2*matchM {
			return false
		}
	}
	return true
}
