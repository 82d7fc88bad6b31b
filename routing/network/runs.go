package network

import (
	"cmp"
	"math"
	"slices"

	"wideberth/osmdata/plane"
)

// OnRun is a line within a run.
type OnRun struct {
	Line    int32 // its index
	Against bool  // the run goes against its points
}

// runEnd is an end of a line: its beginning, or its other end.
type runEnd struct {
	line int32
	last bool
}

// Runs joins lines end to end into runs, each line in one of them: where lines of one
// key meet, the two that go on straightest are joined, if that bends by less than
// mostBend (radians), then the two next straightest. Runs come in the order of their
// first lines and begin so that the lowest line goes with its points where it can.
// Lines meet where they share a point to the centimetre.
func Runs(lines []plane.Polyline, key []int32, mostBend float64) [][]OnRun {
	next := joints(lines, key, mostBend)
	done := make([]bool, len(lines))
	var runs [][]OnRun
	for i := range lines {
		if done[i] || len(lines[i]) < 2 {
			continue
		}
		// Back to where the run begins, or once round a ring.
		at := runEnd{int32(i), false}
		for {
			to, ok := next[at]
			if !ok || to.line == int32(i) {
				break
			}
			at = runEnd{to.line, !to.last}
		}
		var run []OnRun
		for ok := true; ok && !done[at.line]; {
			done[at.line] = true
			run = append(run, OnRun{at.line, at.last})
			at, ok = next[runEnd{at.line, !at.last}]
		}
		runs = append(runs, run)
	}
	return runs
}

// joints says which end each end is joined to.
func joints(lines []plane.Polyline, key []int32, mostBend float64) map[runEnd]runEnd {
	type meeting struct {
		x, y int64
		key  int32
	}
	type leaving struct {
		runEnd
		outRad float64 // heading of the line as it leaves the meeting
	}
	met := map[meeting][]leaving{}
	var order []meeting
	for i, l := range lines {
		if len(l) < 2 {
			continue
		}
		for _, last := range [2]bool{false, true} {
			p, outRad := l[0], Heading(l, last)
			if last {
				p, outRad = l[len(l)-1], outRad+math.Pi
			}
			m := meeting{int64(math.Round(p.X * 100)), int64(math.Round(p.Y * 100)), key[i]}
			if met[m] == nil {
				order = append(order, m)
			}
			met[m] = append(met[m], leaving{runEnd{int32(i), last}, outRad})
		}
	}
	type pair struct {
		a, b runEnd
		bend float64
	}
	next := map[runEnd]runEnd{}
	for _, m := range order {
		var pairs []pair
		ends := met[m]
		for i, a := range ends {
			for _, b := range ends[i+1:] {
				if bend := math.Abs(TurnAngle(a.outRad+math.Pi, b.outRad)); a.line != b.line && bend < mostBend {
					pairs = append(pairs, pair{a.runEnd, b.runEnd, bend})
				}
			}
		}
		slices.SortStableFunc(pairs, func(p, q pair) int { return cmp.Compare(p.bend, q.bend) })
		for _, p := range pairs {
			_, a := next[p.a]
			_, b := next[p.b]
			if !a && !b {
				next[p.a], next[p.b] = p.b, p.a
			}
		}
	}
	return next
}

// LineOfRun is a run as one line.
func LineOfRun(lines []plane.Polyline, run []OnRun) (out plane.Polyline) {
	for _, r := range run {
		l := lines[r.Line]
		if r.Against {
			l = l.Reversed()
		}
		if len(out) > 0 {
			l = l[1:]
		}
		out = append(out, l...)
	}
	return out
}
