package loop

import (
	"errors"
	"fmt"
	"math"
	"wideberth/routing/search"
)

// DefaultSurcharge is the price of walking an edge a second time, in
// median seconds of the neighbourhood per second: our assumption, at which the
// best loops keep short shared connectors and avoid long ones.
const DefaultSurcharge = 2

// defaultExhaustNodes bounds the last resort of Solve, the exhaustive search
// that either finds a loop the beams missed or proves that there is none.
const defaultExhaustNodes = 500_000

// windowSlackS widens the window at both ends, so that a walk that meets a
// limit exactly is not lost to the order in which its times were added.
const windowSlackS = 1e-6

// ErrProblem is wrapped by every error about the input of a loop search.
var ErrProblem = errors.New("loop problem")

// Problem asks for the cheapest closed walk from a door whose duration
// falls in a window.
//
// The walk model: every edge at most once in each direction; an arc is followed
// by its own twin (an about-turn) only where Turn has a price for it; a second
// pass over an edge, which then runs the other way, pays a surcharge on top of
// its cost. Without about-turns a walk from a cul-de-sac has its stem out and
// home, and pieces that can only be left by turning round are not walked at all;
// with them one model holds loops, lollipops, there and back, spurs and dead
// ends.
//
// All slices are indexed like the arcs of Graph and are only read, so that one
// set may serve many solvers at once.
type Problem struct {
	Graph *search.Graph
	Door  int32

	TimeS []float32   // time on each arc, s, finite and at least 0; may differ by direction
	Cost  [][]float32 // one slice per stretch of the clock: expected reactions on each arc, finite and at least 0; may differ by direction

	// ChangeS holds the instants, s after departure and rising, at which the cost
	// changes from one slice to the next: one fewer than there are slices. An arc
	// entered at or after an instant costs what the later slice says.
	ChangeS []float64

	MinS, MaxS float64 // window of the duration, s, both ends included

	Barred    []bool  // arcs that must not be walked, or nil
	Surcharge float64 // 0 takes DefaultSurcharge
	Strict    bool    // only bridges may be walked twice

	// Repeat is the price of a second pass per second of it, expected reactions,
	// when it is fixed from outside, so that answers under different bars can be
	// compared. nil takes Surcharge times the median rate of what the bars leave.
	Repeat *float64

	// Turn holds the price of an about-turn at each vertex of the graph, expected
	// reactions, at least 0 and +Inf where nobody can turn. nil forbids turning.
	Turn []float32

	// TurnMore is what every further about-turn of a walk costs more than the one
	// before it, expected reactions: the nth costs (n - 1) times as much on top of the
	// price of its vertex. Turning once is a way to walk; turning ten times is pacing
	// up and down.
	TurnMore float64

	ExhaustNodes int // bound on the search of last resort; 0 takes 500,000
}

// Status says what a search for a loop has established.
type Status uint8

const (
	Unknown        Status = iota // the work budget ended before anything was found or ruled out
	Found                        // a loop in the window
	NoCycle                      // proved: no way back to the door, turning only where that is allowed
	WindowUnfilled               // proved: loops exist, none with a duration in the window
)

// Loop is a closed walk.
type Walk struct {
	Arcs      []int32 // in walking order, from the door to the door
	DurationS float64
	Cost      float64 // expected reactions, nothing added
	Surcharge float64 // what the search added for second passes; it minimises Cost + Surcharge + TurnCost
	TurnCost  float64 // what it added for about-turns
	Turns     int     // how often the walk turns about
	RepeatedS float64 // time on passes of an edge already walked
	StemS     float64 // time out and home on the stem that every loop from this door shares
	Laps      int     // 1, or how often the round part is walked
}

// Answer is the outcome of one search. LongestS is set with
// LoopWindowUnfilled: the longest closed walk shorter than the window, 0 where
// every one is longer than the window allows.
type Answer struct {
	Status        Status
	Walk          Walk
	LongestS      float64
	SurchargePerS float64 // price of a second pass per second of it, expected reactions
	Edges         int     // size of the reduced neighbourhood that was searched
	Nodes         int     // work done: partial walks expanded
}

// Minimised is the figure that the search made as small as it could.
func (l *Walk) Minimised() float64 { return l.Cost + l.Surcharge + l.TurnCost }

// check rejects what would make the search meaningless. Times and costs are
// checked where they are read, within reach of the door.
func (p *Problem) check() error {
	if p.Graph == nil {
		return fmt.Errorf("%w: no graph", ErrProblem)
	}
	n, m := p.Graph.VertexCount(), p.Graph.ArcCount()
	switch {
	case p.Door < 0 || int(p.Door) >= n:
		return fmt.Errorf("%w: door %d is not one of the %d vertices", ErrProblem, p.Door, n)
	case len(p.TimeS) != m:
		return fmt.Errorf("%w: %d times for %d arcs", ErrProblem, len(p.TimeS), m)
	case p.Barred != nil && len(p.Barred) != m:
		return fmt.Errorf("%w: %d bars for %d arcs", ErrProblem, len(p.Barred), m)
	case !(p.MinS > 0) || !(p.MaxS >= p.MinS) || math.IsInf(p.MaxS, 1):
		return fmt.Errorf("%w: window %g to %g s must be above 0 and not end before it starts", ErrProblem, p.MinS, p.MaxS)
	case !(p.Surcharge >= 0) || math.IsInf(p.Surcharge, 1):
		return fmt.Errorf("%w: surcharge %g must be finite and not negative", ErrProblem, p.Surcharge)
	case p.Repeat != nil && (!(*p.Repeat >= 0) || math.IsInf(*p.Repeat, 1)):
		return fmt.Errorf("%w: price %g of a second pass must be finite and not negative", ErrProblem, *p.Repeat)
	case !(p.TurnMore >= 0) || math.IsInf(p.TurnMore, 1):
		return fmt.Errorf("%w: price %g of a further turn must be finite and not negative", ErrProblem, p.TurnMore)
	case p.Turn != nil && len(p.Turn) != n:
		return fmt.Errorf("%w: %d prices of turning for %d vertices", ErrProblem, len(p.Turn), n)
	}
	return p.checkSlices()
}

func (p *Problem) checkSlices() error {
	if len(p.Cost) == 0 || len(p.ChangeS) != len(p.Cost)-1 {
		return fmt.Errorf("%w: %d cost slices need %d change instants, not %d", ErrProblem, len(p.Cost), max(0, len(p.Cost)-1), len(p.ChangeS))
	}
	for i, c := range p.Cost {
		if len(c) != p.Graph.ArcCount() {
			return fmt.Errorf("%w: %d costs in slice %d for %d arcs", ErrProblem, len(c), i, p.Graph.ArcCount())
		}
	}
	for i, at := range p.ChangeS {
		if !(at > 0) || (i > 0 && at < p.ChangeS[i-1]) {
			return fmt.Errorf("%w: change instant %d is %g s; instants must be above 0 and rise", ErrProblem, i, at)
		}
	}
	return nil
}

// sliceAt is the slice of costs in force clockS seconds after departure.
func (p *Problem) sliceAt(clockS float64) int {
	i := len(p.ChangeS)
	for i > 0 && p.ChangeS[i-1] > clockS {
		i--
	}
	return i
}

// costAt is the cost of an arc entered clockS seconds after departure.
func (p *Problem) costAt(arc int32, clockS float64) float64 {
	return float64(p.Cost[p.sliceAt(clockS)][arc])
}

func (p *Problem) surcharge() float64 {
	if p.Surcharge == 0 {
		return DefaultSurcharge
	}
	return p.Surcharge
}

// turnAt is the price of an about-turn at a vertex of the graph, +Inf where
// nobody can turn.
func (p *Problem) turnAt(vertex int32) float64 {
	if p.Turn == nil {
		return math.Inf(1)
	}
	return float64(p.Turn[vertex])
}

func (p *Problem) barred(arc int32) bool { return p.Barred != nil && p.Barred[arc] }

// measure fills in the figures of a walk from its arcs alone.
func (p *Problem) measure(arcs []int32, surchargePerS float64) Walk {
	l := Walk{Arcs: arcs, Laps: 1}
	seen := make(map[int32]bool, len(arcs))
	for i, a := range arcs {
		t := float64(p.TimeS[a])
		if i > 0 && p.Graph.Twin[a] == arcs[i-1] {
			if p.Turn != nil {
				l.TurnCost += p.turnAt(p.Graph.Head[arcs[i-1]]) + float64(l.Turns)*p.TurnMore
			}
			l.Turns++
		}
		l.Cost += p.costAt(a, l.DurationS)
		if e := min(a, p.Graph.Twin[a]); seen[e] {
			l.RepeatedS += t
			l.Surcharge += surchargePerS * t
		} else {
			seen[e] = true
		}
		l.DurationS += t
	}
	return l
}
