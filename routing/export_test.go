package routing

import "wideberth/exposure"

// Judge gives the expected reactions that a walk planned for another wish costs
// under this one: same streets, another dog or hour.
func (p *Planner) Judge(w Wish, walk *Walk) float64 {
	var steps []exposure.Step
	for i := range walk.Legs {
		for _, e := range walk.Legs[i].Edges {
			steps = append(steps, exposure.Step{Edge: e.Edge, Seconds: e.LengthM / w.Dog.PaceMPS(), At: p.land.Clock.At(w.Depart.Add(Seconds(e.StartS)))})
		}
	}
	return p.land.Snap.Field.Along(&w.Dog, steps, w.Factors).Reactions
}
