package knowledge

import (
	"encoding/json"
	"fmt"
	"math"
	"time"

	"wideberth/api/wire/kept"
	"wideberth/exposure"
	"wideberth/exposure/hours"
	"wideberth/osmdata/fault"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
	"wideberth/routing/track"
)

// Leg is what is read back of a leg of a kept plan.
type Leg struct {
	StartS    float64 `json:"start_s"`
	DurationS float64 `json:"duration_s"`
	Edges     []int32 `json:"edges"` // of the map that it was planned on
	Geometry  struct {
		Coordinates [][2]float64 `json:"coordinates"` // longitude, latitude
	} `json:"geometry"`
}

// Bounds of a kept walk that a log is held against. Whoever keeps a plan may have
// written it by hand.
const (
	mostPlannedS     = 24 * 3600.0
	mostPlannedM     = 30_000.0
	mostPlannedEdges = 10_000 // three hours at 1.2 m/s in pieces of 1.3 m; as many corners
)

// LegsOf are the legs of one walk of a kept plan; one that no planner made is
// fault.Problems.
func LegsOf(plan *kept.Plan, walk int) ([]Leg, error) {
	var body struct {
		Walks []struct {
			Legs []Leg `json:"legs"`
		} `json:"walks"`
	}
	if err := json.Unmarshal(plan.Body, &body); err != nil || walk < 0 || walk >= len(body.Walks) {
		return nil, fault.Problems{{Pointer: "/plan_walk", Value: fmt.Sprint(walk), Mend: "the kept plan has no such walk: they are counted from 0"}}
	}
	edges := 0
	for _, leg := range body.Walks[walk].Legs {
		edges += max(len(leg.Edges), len(leg.Geometry.Coordinates))
		if !(leg.StartS >= 0 && leg.StartS <= mostPlannedS && leg.DurationS >= 0 && leg.DurationS <= mostPlannedS) || edges > mostPlannedEdges {
			return nil, fault.Problems{{Pointer: "/plan", Value: plan.ID, Mend: "the kept plan is no plan as it was answered: keep one that is, or leave it out"}}
		}
	}
	return body.Walks[walk].Legs, nil
}

// Planned are the steps of a walk along the legs of its plan, begun at a time.
func Planned(legs []Leg, g *network.Graph, clock *hours.Clock, began time.Time) (steps []exposure.Step) {
	for _, leg := range legs {
		at := clock.At(began.Add(time.Duration(leg.StartS * float64(time.Second))))
		steps = track.Along(steps, g, leg.Edges, leg.DurationS, at)
	}
	return steps
}

// alongM is the length in metres of the pieces that a line of a plan is matched in.
const alongM = 20

// PlannedAlong is Planned on another map than the plan was made on: each piece of its lines
// counts on the street that is nearest to it there.
func PlannedAlong(legs []Leg, g *network.Graph, f plane.Frame, clock *hours.Clock, began time.Time) []exposure.Step {
	var points []track.Point
	for _, leg := range legs {
		line := make(plane.Polyline, len(leg.Geometry.Coordinates))
		for i, c := range leg.Geometry.Coordinates {
			line[i] = f.Forward(c[0], c[1])
		}
		long := line.LengthM()
		if !(long > 0 && long <= mostPlannedM) {
			continue
		}
		n := int(math.Ceil(long / alongM))
		for i := range n + 1 {
			share := float64(i) / float64(n)
			points = append(points, track.Point{At: line.At(share * long), When: began.Add(time.Duration((leg.StartS + share*leg.DurationS) * float64(time.Second)))})
		}
	}
	return track.Match(g, clock, points)
}
