package replay

import (
	"context"
	"math"
	"slices"

	"wideberth/osmdata/plane"
)

// Random replay alone is weak: it rarely comes near the worst case. So every pair
// is driven to it. How early and how late a place can be reached is not worked
// out from a formula of windows but by walking there: once on time at the fastest
// pace, once as late as allowed at the slowest.

// gridS is the step of progress at which pairs of places are compared; holds,
// where dogs stand, are compared as well.
const gridS = 2.0

// spell is when a walk can be at each step of progress: it comes no earlier than
// comes and has gone by leaves. All but at rise.
type spell struct {
	u             []float64
	at            []plane.Point
	comes, leaves []float64
}

// spellOf walks the two extremes of a walk.
func (c *checker) spellOf(w *Walk) *spell {
	s := &spell{}
	end := w.ProgressS[len(w.ProgressS)-1]
	for u := 0.0; u < end; u += gridS {
		s.u = append(s.u, u)
	}
	s.u = append(s.u, end)
	for _, h := range w.Holds {
		s.u = append(s.u, h.ProgressS)
	}
	slices.Sort(s.u)
	s.u = slices.Compact(s.u)
	k := walker{w: w}
	for _, u := range s.u {
		come, _ := passing(w, c.between(0), u)
		_, leave := passing(w, c.between(1), u)
		k.u = u
		s.at, s.comes, s.leaves = append(s.at, k.place()), append(s.comes, come), append(s.leaves, leave)
	}
	return s
}

// between is the conduct a part of the way from earliest and fastest to latest and
// slowest; where a walk is at a time falls steadily with the part.
func (c *checker) between(part float64) *conduct {
	r := c.rules
	return &conduct{part * r.LateS, []float64{r.FastShare + part*(r.SlowShare-r.FastShare)}}
}

// passing is when a walk of constant pace comes to a progress and when it leaves
// it: the same but at a hold.
func passing(w *Walk, c *conduct, u float64) (comes, leaves float64) {
	t, at := w.StartS+c.lateS, 0.0
	for _, h := range w.Holds {
		if h.ProgressS > u {
			break
		}
		come := t + (h.ProgressS-at)/c.pace[0]
		t, at = max(come, h.NotBeforeS), h.ProgressS
		if h.ProgressS == u {
			return come, t
		}
	}
	t += (u - at) / c.pace[0]
	return t, t
}

// directed drives every pair to the closest that it can come.
func (c *checker) directed(ctx context.Context) error {
	spells := make([]*spell, len(c.walks))
	for i := range c.walks {
		spells[i] = c.spellOf(&c.walks[i])
	}
	for a := range c.walks {
		for b := a + 1; b < len(c.walks); b++ {
			if err := ctx.Err(); err != nil {
				return err
			}
			if !c.mayMeet(a, b) {
				c.drive(a, b, spells[a], spells[b])
			}
		}
	}
	return nil
}

// drive replays the pair with the conducts that bring both to their closest pair
// of places at one time.
func (c *checker) drive(a, b int, x, y *spell) {
	i, j, ok := closest(x, y)
	if !ok {
		return
	}
	from, to := max(x.comes[i], y.comes[j]), min(x.leaves[i], y.leaves[j])
	worst := Meeting{LeastM: math.Inf(1)}
	for _, t := range []float64{from, (from + to) / 2, to} {
		pa := follow(&c.walks[a], c.reach(&c.walks[a], x.u[i], t))
		pb := follow(&c.walks[b], c.reach(&c.walks[b], y.u[j], t))
		if m := c.meet(a, b, &pa, &pb); m.LeastM < worst.LeastM {
			worst = m
		}
	}
	if !math.IsInf(worst.LeastM, 1) {
		c.report.Directed = append(c.report.Directed, worst)
	}
}

// closest finds the nearest pair of places whose times overlap.
func closest(x, y *spell) (i, j int, ok bool) {
	least, lo := math.Inf(1), 0
	for a := range x.at {
		for lo < len(y.at) && y.leaves[lo] < x.comes[a] {
			lo++
		}
		for b := lo; b < len(y.at) && y.comes[b] <= x.leaves[a]; b++ {
			if d := x.at[a].Sub(y.at[b]); d.Dot(d) < least {
				least, i, j, ok = d.Dot(d), a, b, true
			}
		}
	}
	return i, j, ok
}

// reach is the conduct under which a walk is at a progress at a time, found by
// halving.
func (c *checker) reach(w *Walk, u, t float64) *conduct {
	lo, hi := 0.0, 1.0
	for range 50 {
		mid := (lo + hi) / 2
		if _, leaves := passing(w, c.between(mid), u); leaves < t {
			lo = mid
		} else {
			hi = mid
		}
	}
	return c.between(hi)
}
