package routing

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"sync"
	"time"

	"wideberth/exposure"
	"wideberth/exposure/hours"
	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
	"wideberth/routing/search"
)

// Planner plans walks on one snapshot. Safe for concurrent use.
type Planner struct {
	snap   *Snapshot
	clock  *hours.Clock
	router *search.Router
	arcM   []float32  // length of each arc of the network
	loops  *sync.Pool // of *search.LoopSolver; planners made from one another share it
}

// NewPlanner makes a planner; calendar nil takes the default one.
func NewPlanner(snap *Snapshot, calendar *hours.Calendar) (*Planner, error) {
	zone, err := time.LoadLocation(snap.Zone)
	if err != nil {
		return nil, err
	}
	g := snap.Graph
	router, err := search.NewRouter(&g.Star)
	if err != nil {
		return nil, err
	}
	p := &Planner{snap: snap, router: router, arcM: make([]float32, g.Star.ArcCount())}
	for a, e := range g.ArcEdge {
		p.arcM[a] = g.LengthM[e]
	}
	p.clock = &hours.Clock{Loc: zone, Calendar: calendar, Lat: snap.Frame.Lat0, Lon: snap.Frame.Lon0}
	p.loops = &sync.Pool{New: func() any { return search.NewLoopSolver() }}
	return p, nil
}

// Frame is the frame that places are given in.
func (p *Planner) Frame() plane.Frame { return p.snap.Frame }

// Zone is the time zone of the place.
func (p *Planner) Zone() *time.Location { return p.clock.Loc }

// Snapshot is what is planned on.
func (p *Planner) Snapshot() *Snapshot { return p.snap }

// Clock is the time of the place.
func (p *Planner) Clock() *hours.Clock { return p.clock }

// Plan answers a wish, best walk first. Faults of the wish are
// exposure.Problems; what cannot be had is an *Infeasible.
func (p *Planner) Plan(ctx context.Context, w Wish) (*Plan, error) {
	if err := w.Check(); err != nil {
		return nil, err
	}
	if err := p.checkKeeps(&w); err != nil {
		return nil, err
	}
	start, err := p.snapTo(w.From)
	if err != nil {
		return nil, err
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	var walks []Walk
	switch w.Shape {
	case Loop:
		walks, err = p.loop(ctx, &w, start)
	case ThereAndBack:
		walks, err = p.thereAndBack(&w, start)
	case Way:
		walks, err = p.way(ctx, &w, start)
	case LongestCalm:
		walks, err = p.longest(&w, start)
	}
	if err != nil {
		return nil, err
	}
	return p.plan(&w, start, walks), nil
}

// plan puts walks together with what stands behind them.
func (p *Planner) plan(w *Wish, start network.Place, walks []Walk) *Plan {
	plan := &Plan{Walks: walks, Depart: w.Depart.In(p.clock.Loc), Zone: p.snap.Zone, MapTime: p.snap.MapTime, Snap: Snapping{start.At, start.DistM}}
	plan.Assumed = p.assumed(w, plan)
	plan.Notes = notes(w, plan)
	return plan
}

// snapTo puts a wished place on the network.
func (p *Planner) snapTo(at plane.Point) (network.Place, error) {
	if out := p.snap.Bounds.Grown(network.SnapLimitM).DistanceM(at); out > 0 {
		return network.Place{}, &Infeasible{Reason: OffTheMap, Field: "from", Short: out, Unit: "m"}
	}
	place, err := p.snap.Graph.Snap(at, network.SnapLimitM)
	var far *network.TooFarError
	if errors.As(err, &far) {
		return place, &Infeasible{Reason: NoStreetNear, Field: "from", Short: far.DistM, Unit: "m"}
	}
	return place, err
}

// checkKeeps refuses distances to keep from things that nobody knows.
func (p *Planner) checkKeeps(w *Wish) error {
	var wrong exposure.Problems
	for i := range w.Limits.NeverNearer {
		k := &w.Limits.NeverNearer[i]
		_, err := exposure.ParseCategory(k.From)
		if err == nil || slices.ContainsFunc(exposure.Rules(), func(r osmdata.Rule) bool { return r.As == k.From }) {
			continue
		}
		if _, err := exposure.ParseKind(k.From); err != nil {
			wrong = append(wrong, exposure.Problem{Pointer: "/limits/never_nearer/" + trimNumber(float64(i)) + "/from", Value: k.From, Mend: err.Error()})
		}
	}
	if len(wrong) > 0 {
		return wrong
	}
	return nil
}

// notes say what else a handler must know of a plan.
func notes(w *Wish, plan *Plan) (out []string) {
	best := &plan.Walks[0]
	if best.Laps > 1 {
		out = append(out, fmt.Sprintf("the ground here allows no loop of this length: it is laps, %d times round", best.Laps))
	}
	if w.Shape == Loop && best.Shape == ThereAndBack {
		out = append(out, "the ground here allows no loop of this length: it is there and back by the same way")
	}
	if best.Laps == 1 && best.Shape == Loop && best.RepeatedS > repeatedShare*best.DurationS {
		out = append(out, fmt.Sprintf("%.0f %% of the walk is on streets already walked", 100*best.RepeatedS/best.DurationS))
	}
	for _, s := range best.Passed {
		if s.FromM < 1 && s.NearestM < s.Need.ReactionM && s.Active > activeLimit {
			out = append(out, fmt.Sprintf("%s is %.0f m from the start: the first leg leads straight away from it", s.Name, s.NearestM))
		}
	}
	return out
}

// repeatedShare is the share of a loop on streets already walked from which on it
// is worth saying.
const repeatedShare = 0.3
