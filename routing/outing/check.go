package outing

import (
	"cmp"
	"math"
	"slices"
	"time"

	"wideberth/osmdata/plane"
	"wideberth/routing"
	"wideberth/routing/outing/replay"
)

// Replay writes a timetable down for the independent check: lines, times and
// rules, nothing of how it was planned.
func (t *Timetable) Replay() ([]replay.Walk, replay.Rules) {
	r := replay.Rules{LateS: lateS, SlowShare: slowPace, FastShare: fastPace, Gate: t.At, ZoneM: t.ZoneM, Together: t.Together,
		TurnS: 60 * t.TurnMin, StemM: t.StemM, Resting: t.Resting}
	if h := t.Hot; h != nil {
		r.MostS, r.ShutFromS, r.ShutToS = 60*h.MostMin+1, h.From.Sub(t.Start).Seconds(), h.To.Sub(t.Start).Seconds()
	}
	if t.Slack == Holds {
		r.LateS = 0
	}
	walks := make([]replay.Walk, len(t.Rows))
	for i := range t.Rows {
		row := &t.Rows[i]
		w := replay.Walk{Dog: row.Dog, Line: row.Line, ProgressS: row.ProgressS, StartS: row.Leave.Sub(t.Start).Seconds(), NeedM: row.NeedM,
			House: replay.House{People: []string{row.Person}, With: row.With, Row: row.Kennel, Apart: string(row.Apart), Begun: row.UnderWay}}
		if row.Second != "" {
			w.People = append(w.People, row.Second)
		}
		for _, h := range row.Holds {
			w.Holds = append(w.Holds, replay.Hold{ProgressS: h.ProgressS, NotBeforeS: h.NotBefore.Sub(t.Start).Seconds()})
		}
		walks[i] = w
	}
	return walks, r
}

// Pinch is the least separation that two walks can come to inside the slack.
type Pinch struct {
	Dogs   [2]string
	LeastM float64 // no less than this
	NeedM  float64
	At     time.Time // earliest time at which it can be
	Place  plane.Point
}

// mostAtOnce is the largest number of dogs out at one time: walks as half-open
// intervals from start to latest end, swept in order (the largest clique of an
// interval graph is its chromatic number: Golumbic 1980, Algorithmic Graph Theory
// and Perfect Graphs).
func (s *scheme) mostAtOnce(all []placement) int {
	var walks [][2]int
	for _, at := range all {
		if at.loop >= 0 {
			walks = append(walks, [2]int{at.start, at.start + s.walkMin[at.loop]})
		}
	}
	return mostOverlapping(walks)
}

// mostOverlapping is the largest number of half-open intervals that share a point.
func mostOverlapping(walks [][2]int) (most int) {
	type event struct{ at, step int }
	var events []event
	for _, w := range walks {
		events = append(events, event{w[0], 1}, event{w[1], -1})
	}
	slices.SortFunc(events, func(a, b event) int { return cmp.Or(a.at-b.at, a.step-b.step) })
	open := 0
	for _, e := range events {
		open += e.step
		most = max(most, open)
	}
	return most
}

// pinches finds for every two walks how near they can come inside the slack.
func (s *scheme) pinches(all []placement) (out []Pinch) {
	for a := range all {
		for b := a + 1; b < len(all); b++ {
			if all[a].loop < 0 || all[b].loop < 0 || s.class[a][b] < 0 {
				continue
			}
			if p, ok := s.pinch(a, b, all[a], all[b], s.o.Start); ok {
				out = append(out, p)
			}
		}
	}
	slices.SortStableFunc(out, func(p, q Pinch) int { return cmp.Compare(p.LeastM-p.NeedM, q.LeastM-q.NeedM) })
	return out
}

// pinch is the least separation of two walks from a moment on; false if they are not
// out together after it.
func (s *scheme) pinch(a, b int, pa, pb placement, from time.Time) (Pinch, bool) {
	least, found := math.Inf(1), Pinch{Dogs: [2]string{s.o.Dogs[a].Dog.Name, s.o.Dogs[b].Dog.Name}, NeedM: s.o.separation(a, b)}
	x, y := &s.tracks[pa.loop], &s.tracks[pb.loop]
	shift := float64(pb.start-pa.start) * 60
	fromS := from.Sub(s.t(pa.start)).Seconds()
	for _, p := range x.blocks {
		for _, q := range y.blocks {
			if p.at.DistanceM(q.at)-p.rM-q.rM >= least {
				continue
			}
			for i := p.first; i < p.through; i++ {
				c := &x.cells[i]
				for j := q.first; j < q.through; j++ {
					e := &y.cells[j]
					early, up := max(c.earlyS, e.earlyS+shift, fromS), min(c.upS, e.upS+shift)
					if early > up {
						continue
					}
					if d := max(0, c.at.DistanceM(e.at)-c.rM-e.rM); d < least {
						least = d
						found.LeastM, found.Place = d, c.at.Add(e.at).Mul(0.5)
						found.At = s.t(pa.start).Add(routing.Seconds(early))
					}
				}
			}
		}
	}
	return found, !math.IsInf(least, 1)
}
