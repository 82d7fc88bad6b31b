// Package replay checks a timetable of dog walks by walking it: second by second,
// with people late and slow or fast, and with every pair driven to its closest
// possible meeting. It knows polylines, times and rules, and nothing of how a
// timetable is made.
package replay

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"wideberth/osmdata/plane"
)

// Walk is one walk as it is printed.
type Walk struct {
	Dog       string
	Line      plane.Polyline
	ProgressS []float64 // usual walking time to each point of the line, from 0, never falling
	StartS    float64   // printed start, seconds into the outing
	Holds     []Hold    // by progress
	NeedM     float64   // how far the dog wants other dogs to be
	House
}

// Hold is a place that is not left before a printed time.
type Hold struct {
	ProgressS  float64
	NotBeforeS float64 // seconds into the outing
}

// Rules are what holds for all walks.
type Rules struct {
	LateS     float64 // people leave up to so much after the printed start; 0: on the minute
	SlowShare float64 // pace as a share of the usual one
	FastShare float64
	Gate      plane.Point
	ZoneM     float64     // radius round the gate in which there is one dog at most; 0: no such zone
	Together  [][2]string // dogs that may meet

	TurnS              float64  // from one walk to the next of a person, and between passings of a row; 0: not looked at
	StemM              float64  // from the gate: ground that is everybody's
	ShutFromS, ShutToS float64  // nobody is out between the two
	MostS              float64  // of a walk at the usual pace, 0: as long as it likes
	Resting            []string // dogs that are not walked
}

// Meeting is the nearest that two dogs came.
type Meeting struct {
	Dogs   [2]string
	LeastM float64
	NeedM  float64
	AtS    float64     // seconds into the outing
	At     plane.Point // between the two
}

// MarginM is what is left over the need; below 0 the rule is broken.
func (m *Meeting) MarginM() float64 { return m.LeastM - m.NeedM }

// Report is what a check has found.
type Report struct {
	Runs     int       // random runs replayed
	Random   []Meeting // least separation of every pair that was out at one time, tightest first
	Directed []Meeting // the closest that each pair was driven to, tightest first
	Minutes  []Meeting // the tightest of all runs and drives, by minute of the outing; LeastM +Inf where no two dogs are out
	ZoneS    float64   // seconds with two dogs in the zone, in all runs together
	ZonePair [2]string // the first two that were
	Breaches []Breach  // of the rules of the house
}

// Kept says that no rule was broken.
func (r *Report) Kept() bool {
	worst := r.Worst()
	return r.ZoneS == 0 && len(r.Breaches) == 0 && (worst == nil || worst.MarginM() >= 0)
}

// Worst is the tightest meeting of all, nil if no two dogs are ever out together.
func (r *Report) Worst() (worst *Meeting) {
	for _, list := range [][]Meeting{r.Random, r.Directed} {
		if len(list) > 0 && (worst == nil || list[0].MarginM() < worst.MarginM()) {
			worst = &list[0]
		}
	}
	return worst
}

// Bounds that keep a check finite.
const (
	mostWalkS   = 3 * 3600 // of walking, and again of waiting
	mostWaitS   = mostWalkS
	mostOutingS = 24 * 3600
	MostRuns    = 20_000 // that Check takes
	mostWalks   = 100
	mostHolds   = 100
	mostPairs   = 10_000 // that may meet
	mostXM      = 1e7    // from the origin of the plane: a quarter round the earth
)

// Check replays a timetable so many times at random, seeded, and once for every
// pair driven to its closest. Broken input is an error; broken rules are in the
// report.
func Check(ctx context.Context, walks []Walk, rules Rules, runs int, seed uint64) (*Report, error) {
	if err := checkInput(walks, &rules, runs); err != nil {
		return nil, err
	}
	c := &checker{walks: walks, rules: &rules, least: make([]Meeting, len(walks)*len(walks)), report: &Report{Runs: runs}}
	for i := range c.least {
		c.least[i].LeastM = math.Inf(1)
	}
	rng := rand.New(rand.NewPCG(seed, 0x7265706c6179))
	for run := range runs {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		c.random(rng, run)
	}
	if err := c.directed(ctx); err != nil {
		return nil, err
	}
	c.house()
	c.report.Minutes = c.minutes
	for _, m := range c.least {
		if !math.IsInf(m.LeastM, 1) {
			c.report.Random = append(c.report.Random, m)
		}
	}
	for _, list := range [][]Meeting{c.report.Random, c.report.Directed} {
		slices.SortStableFunc(list, func(a, b Meeting) int { return cmp.Compare(a.MarginM(), b.MarginM()) })
	}
	return c.report, nil
}

func checkInput(walks []Walk, r *Rules, runs int) error {
	switch {
	case runs < 0 || runs > MostRuns:
		return fmt.Errorf("%d runs: ask for 0 to %d", runs, MostRuns)
	case len(walks) > mostWalks:
		return fmt.Errorf("%d walks: at most %d can be checked", len(walks), mostWalks)
	case len(r.Together) > mostPairs:
		return fmt.Errorf("%d pairs may meet: at most %d can be checked", len(r.Together), mostPairs)
	case !(r.SlowShare > 0.1 && r.FastShare >= r.SlowShare && r.FastShare < 10) || !(r.LateS >= 0 && r.LateS < 7200):
		return fmt.Errorf("pace of %g to %g times the usual and %g s late: give shares near 1 and less than two hours", r.SlowShare, r.FastShare, r.LateS)
	}
	for _, s := range []float64{r.TurnS, r.StemM, r.MostS, math.Abs(r.ShutFromS), math.Abs(r.ShutToS)} {
		if !(s >= 0 && s <= mostXM) {
			return fmt.Errorf("a rule of the house says %g: out of range", s)
		}
	}
	if !onEarth(r.Gate) {
		return errors.New("the gate is no place: give one on the map")
	}
	for i := range walks {
		if err := walks[i].check(); err != nil {
			return fmt.Errorf("walk %d (%s): %w", i, walks[i].Dog, err)
		}
	}
	return nil
}

func onEarth(p plane.Point) bool { return math.Abs(p.X) <= mostXM && math.Abs(p.Y) <= mostXM }

func (w *Walk) check() error {
	n := len(w.Line)
	if n < 2 || len(w.ProgressS) != n {
		return fmt.Errorf("%d points and %d times: give one time for each of at least two points", n, len(w.ProgressS))
	}
	if w.ProgressS[0] != 0 || !(w.ProgressS[n-1] > 0 && w.ProgressS[n-1] <= mostWalkS) || !(w.StartS >= 0 && w.StartS <= mostOutingS) || !(w.NeedM >= 0) {
		return fmt.Errorf("begins at progress %g, lasts %g s, starts at %g s, needs %g m: one is out of range", w.ProgressS[0], w.ProgressS[n-1], w.StartS, w.NeedM)
	}
	for i, p := range w.Line {
		if !onEarth(p) || i > 0 && !(w.ProgressS[i] >= w.ProgressS[i-1]) {
			return fmt.Errorf("point %d is no place, or its time runs backwards", i)
		}
	}
	if len(w.Holds) > mostHolds {
		return fmt.Errorf("%d holds: at most %d can be checked", len(w.Holds), mostHolds)
	}
	last := 0.0
	for _, h := range w.Holds {
		if !(h.ProgressS > last && h.ProgressS < w.ProgressS[n-1]) || !(math.Abs(h.NotBeforeS-w.StartS) <= mostWaitS) {
			return fmt.Errorf("the hold at %g s is out of order, or waits for more than three hours after the start", h.ProgressS)
		}
		last = h.ProgressS
	}
	return nil
}
