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

// course is where a dog is at each whole second, from the one at or before it
// leaves to the one at or after it is home. Only from leaving to home does it count.
type course struct {
	firstS      int // of the outing
	at          []plane.Point
	leave, home float64
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

// follow walks a whole walk.
func follow(w *Walk, c *conduct) course {
	leave := w.StartS + c.lateS
	k := walker{w: w}
	out := course{firstS: int(math.Floor(leave)), leave: leave}
	end := w.ProgressS[len(w.ProgressS)-1]
	for t := float64(out.firstS); ; t++ {
		out.at = append(out.at, k.place())
		if k.u >= end {
			return out
		}
		// a change of pace within the second is taken where it falls
		now := max(t, leave)
		change := leave + 60*(math.Floor((now-leave)/60)+1)
		if change < t+1 {
			k.pass(now, change, c.paceAt(now-leave))
			now = change
		}
		pace := c.paceAt(now - leave + 1e-9)
		if k.pass(now, t+1, pace); k.u >= end {
			out.home = t + 1 - (k.u-end)/pace
		}
	}
}

// nearest is the closest approach of two points that move in a straight line, of
// relative place p and relative motion v a unit of time, between two times: at
// t = -(p.v)/|v|^2, held to that range, their distance is |p + v t|.
func nearest(p, v plane.Point, from, to float64) (t, distM float64) {
	t = from
	if n := v.Dot(v); n > 0 {
		t = min(to, max(from, -p.Dot(v)/n))
	}
	return t, p.Add(v.Mul(t)).NormM()
}

// checker gathers what the runs of a timetable show.
type checker struct {
	walks   []Walk
	rules   *Rules
	least   []Meeting // by pair
	minutes []Meeting // by minute of the outing
	report  *Report
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

// meet finds the closest approach of two courses while both are out, between whole
// seconds too, and counts the seconds that both are in the zone.
func (c *checker) meet(a, b int, x, y *course) Meeting {
	m := Meeting{Dogs: [2]string{c.walks[a].Dog, c.walks[b].Dog}, LeastM: math.Inf(1), NeedM: max(c.walks[a].NeedM, c.walks[b].NeedM)}
	from, to := max(x.leave, y.leave), min(x.home, y.home)
	for t := int(math.Floor(from)); float64(t) <= to && to >= from; t++ {
		i, j := t-x.firstS, t-y.firstS
		p, q := x.at[i], y.at[j]
		d := q.Sub(p)
		var moved plane.Point
		if i+1 < len(x.at) && j+1 < len(y.at) {
			moved = y.at[j+1].Sub(x.at[i+1]).Sub(d)
		}
		begin, end := max(0, from-float64(t)), min(1, to-float64(t))
		f, dist := nearest(d, moved, begin, end)
		if dist < m.LeastM {
			m.LeastM, m.AtS, m.At = dist, float64(t)+f, p.Add(d.Mul(0.5))
		}
		c.note(t/60, Meeting{m.Dogs, dist, m.NeedM, float64(t) + f, p.Add(d.Mul(0.5))})
		if c.inZone(p) && c.inZone(q) {
			if c.report.ZoneS == 0 {
				c.report.ZonePair = m.Dogs
			}
			c.report.ZoneS += end - begin
		}
	}
	return m
}

// note keeps the tightest meeting of each minute.
func (c *checker) note(minute int, m Meeting) {
	for len(c.minutes) <= minute {
		c.minutes = append(c.minutes, Meeting{LeastM: math.Inf(1)})
	}
	if k := &c.minutes[minute]; math.IsInf(k.LeastM, 1) || m.MarginM() < k.MarginM() {
		*k = m
	}
}

func (c *checker) inZone(p plane.Point) bool { return p.DistanceM(c.rules.Gate) < c.rules.ZoneM }
