package replay

import (
	"math"
	"math/rand/v2"

	"wideberth/osmdata/plane"
)

// conduct is how one person strays from the timetable on one walk.
type conduct struct {
	lateS float64
	pace  []float64 // by whole minutes since leaving, the last one goes on; shares of the usual
}

func (c *conduct) paceAt(s float64) float64 { return c.pace[min(int(s/60), len(c.pace)-1)] }

// course is where a dog is at each whole second from its first to its last.
type course struct {
	firstS int // of the outing
	at     []plane.Point
}

// walker moves one dog along its line.
type walker struct {
	w    *Walk
	u    float64 // progress
	i    int     // the line's point before it
	hold int     // the next hold
}

// place is where the walker is now.
func (k *walker) place() plane.Point {
	p := k.w.ProgressS
	for k.i < len(p)-2 && p[k.i+1] <= k.u {
		k.i++
	}
	a, b := k.w.Line[k.i], k.w.Line[k.i+1]
	span := p[k.i+1] - p[k.i]
	if span <= 0 {
		return b
	}
	return a.Add(b.Sub(a).Mul(min(1, (k.u-p[k.i])/span)))
}

// pass lets the time from..to go by at one pace, waiting at holds.
func (k *walker) pass(from, to, pace float64) {
	for from < to {
		goal := k.u + (to-from)*pace
		if k.hold == len(k.w.Holds) || k.w.Holds[k.hold].ProgressS > goal {
			k.u = goal
			return
		}
		h := k.w.Holds[k.hold]
		from += (h.ProgressS - k.u) / pace
		k.u = h.ProgressS
		from = max(from, h.NotBeforeS)
		if from <= to {
			k.hold++
		}
	}
}

// follow walks a whole walk and gives where the dog is each second; before it
// leaves and after it is home it is nowhere.
func follow(w *Walk, c *conduct) course {
	leave := w.StartS + c.lateS
	k := walker{w: w}
	first := int(math.Ceil(leave))
	out := course{firstS: first}
	end := w.ProgressS[len(w.ProgressS)-1]
	k.pass(leave, float64(first), c.paceAt(0))
	for t := float64(first); ; t++ {
		out.at = append(out.at, k.place())
		if k.u >= end {
			return out
		}
		// a change of pace within the second is taken where it falls
		now, change := t, leave+60*(math.Floor((t-leave)/60)+1)
		if change < t+1 {
			k.pass(now, change, c.paceAt(now-leave))
			now = change
		}
		k.pass(now, t+1, c.paceAt(now-leave+1e-9))
	}
}

// nearest is the closest approach of two points that move in a straight line, of
// relative place p and relative motion v, during one unit of time: at
// t = -(p.v)/|v|^2, held to [0, 1], their distance is |p + v t|.
func nearest(p, v plane.Point) (t, distM float64) {
	if n := v.Dot(v); n > 0 {
		t = min(1, max(0, -p.Dot(v)/n))
	}
	return t, p.Add(v.Mul(t)).NormM()
}

// checker gathers what the runs of a timetable show.
type checker struct {
	walks  []Walk
	rules  *Rules
	least  []Meeting // by pair
	report *Report
}

// The ways to stray, taken in turn.
const (
	uniformStray  = iota // any lateness, one pace
	extremeStray         // the least or the greatest of both
	restlessStray        // any lateness, a new pace each minute
	strayWays
)

// random replays all walks once.
func (c *checker) random(rng *rand.Rand, run int) {
	courses := make([]course, len(c.walks))
	for i := range c.walks {
		courses[i] = follow(&c.walks[i], c.stray(rng, run%strayWays, &c.walks[i]))
	}
	for a := range courses {
		for b := a + 1; b < len(courses); b++ {
			if c.mayMeet(a, b) {
				continue
			}
			if m := c.meet(a, b, &courses[a], &courses[b]); m.LeastM < c.least[a*len(courses)+b].LeastM {
				c.least[a*len(courses)+b] = m
			}
		}
	}
}

func (c *checker) stray(rng *rand.Rand, way int, w *Walk) *conduct {
	r := c.rules
	pace := func() float64 { return r.SlowShare + (r.FastShare-r.SlowShare)*rng.Float64() }
	switch way {
	case extremeStray:
		return &conduct{r.LateS * float64(rng.IntN(2)), []float64{r.SlowShare + (r.FastShare-r.SlowShare)*float64(rng.IntN(2))}}
	case restlessStray:
		out := &conduct{lateS: r.LateS * rng.Float64()}
		for s := 0.0; s <= w.ProgressS[len(w.ProgressS)-1]/r.SlowShare; s += 60 {
			out.pace = append(out.pace, pace())
		}
		return out
	}
	return &conduct{r.LateS * rng.Float64(), []float64{pace()}}
}

func (c *checker) mayMeet(a, b int) bool {
	x, y := c.walks[a].Dog, c.walks[b].Dog
	for _, t := range c.rules.Together {
		if t == [2]string{x, y} || t == [2]string{y, x} {
			return true
		}
	}
	return false
}

// meet finds the closest approach of two courses, between whole seconds too, and
// counts the seconds that both are in the zone.
func (c *checker) meet(a, b int, x, y *course) Meeting {
	m := Meeting{Dogs: [2]string{c.walks[a].Dog, c.walks[b].Dog}, LeastM: math.Inf(1), NeedM: max(c.walks[a].NeedM, c.walks[b].NeedM)}
	from, to := max(x.firstS, y.firstS), min(x.firstS+len(x.at), y.firstS+len(y.at))-1
	for t := from; t <= to; t++ {
		p, q := x.at[t-x.firstS], y.at[t-y.firstS]
		d := q.Sub(p)
		var moved plane.Point
		if t < to {
			moved = y.at[t+1-y.firstS].Sub(x.at[t+1-x.firstS]).Sub(d)
		}
		if c.inZone(p) && c.inZone(q) {
			if c.report.ZoneS == 0 {
				c.report.ZonePair = m.Dogs
			}
			c.report.ZoneS++
		}
		if f, dist := nearest(d, moved); dist < m.LeastM {
			m.LeastM, m.AtS, m.At = dist, float64(t)+f, p.Add(d.Mul(0.5))
		}
	}
	return m
}

func (c *checker) inZone(p plane.Point) bool { return p.DistanceM(c.rules.Gate) < c.rules.ZoneM }
