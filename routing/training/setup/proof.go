package setup

import (
	"context"
	"math"

	"wideberth/osmdata/plane"
	"wideberth/routing/outing/replay"
)

// Proof is what a replay of the two timetables found: it walks both, knows polylines and
// times only, and shares no code with what laid them out.
type Proof struct {
	Runs    int
	LeastM  float64   // the nearest that the two came, random runs and worst cases
	MarginM float64   // the least by which they stayed beyond the distance in force
	ByPhase []float64 // the nearest in each phase
	LooseM  float64   // the nearest with no clock at all: up to 15 min late, any pace, nobody waits
}

// Rules of the two replays.
const (
	looseLateS  = 900
	looseSlow   = 0.6
	looseFast   = 1.6
	proofSeed   = 1
	noDistanceM = -1.0 // where the two are never out together
)

// Prove replays a set-up so many times at random, half as often without a clock, and
// drives the two to their worst.
func (s *Setup) Prove(ctx context.Context, runs int) (*Proof, error) {
	p, err := replayed(ctx, s.Clock, runs)
	if err != nil {
		return nil, err
	}
	p.LooseM, err = loose(ctx, s.Clock, runs/2)
	return p, err
}

// replayed replays a clock within its slack.
func replayed(ctx context.Context, k *Clock, runs int) (*Proof, error) {
	r, err := replay.Check(ctx, []replay.Walk{k.Dog.Walk, k.Helper.Walk},
		replay.Rules{LateS: 60 * lateMin, SlowShare: slowShare, FastShare: fastShare, Gate: plane.Point{}}, runs, proofSeed)
	if err != nil {
		return nil, err
	}
	p := &Proof{Runs: runs, LeastM: math.Inf(1), MarginM: math.Inf(1), ByPhase: make([]float64, len(k.Phases))}
	for i := range p.ByPhase {
		p.ByPhase[i] = math.Inf(1)
	}
	for minute, m := range r.Minutes {
		if math.IsInf(m.LeastM, 1) {
			continue
		}
		at := float64(minute + k.FirstMin)
		p.LeastM = math.Min(p.LeastM, m.LeastM)
		// within the minute the nearer of two distances may be in force from its half on
		p.MarginM = math.Min(p.MarginM, m.LeastM-math.Min(k.NeedAt(at), k.NeedAt(at+.75)))
		for i := range k.Phases {
			if f := &k.Phases[i]; at >= float64(f.FromMin) && at < float64(f.ToMin) {
				p.ByPhase[i] = math.Min(p.ByPhase[i], m.LeastM)
			}
		}
	}
	for i, d := range p.ByPhase {
		if math.IsInf(d, 1) {
			p.ByPhase[i] = noDistanceM
		}
	}
	return p, nil
}

// loose is how near the two come when nobody keeps to a clock.
func loose(ctx context.Context, k *Clock, runs int) (float64, error) {
	dog, helper := k.Dog.Walk, k.Helper.Walk
	dog.Holds, helper.Holds = nil, nil
	r, err := replay.Check(ctx, []replay.Walk{dog, helper}, replay.Rules{LateS: looseLateS, SlowShare: looseSlow, FastShare: looseFast}, runs, proofSeed)
	if err != nil {
		return 0, err
	}
	least := math.Inf(1)
	for _, list := range [][]replay.Meeting{r.Random, r.Directed} {
		for _, m := range list {
			least = math.Min(least, m.LeastM)
		}
	}
	return least, nil
}
