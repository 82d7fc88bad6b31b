package routing

import (
	"wideberth/exposure"
	"wideberth/osmdata/plane"
)

// Foreseen is one thing that a threat may do, for tests: where it is at each
// second.
type Foreseen struct {
	Chance float64
	At     []plane.Point
}

// Foresee lists what a threat may do, as the search for ways out sees it.
func (p *Planner) Foresee(at plane.Point, threat Threat, dog *exposure.Dog) ([]Foreseen, error) {
	e, err := p.escapeFrom(at, threat, dog)
	if err != nil {
		return nil, err
	}
	var out []Foreseen
	for i := range e.scenarios {
		out = append(out, Foreseen{e.scenarios[i].chance, e.scenarios[i].at[:]})
	}
	return out, nil
}
