package escape

import (
	"wideberth/exposure"
	"wideberth/osmdata/plane"
	"wideberth/routing/reach"
)

// Foreseen is one thing that a threat may do, for tests: where it is at each
// second.
type Foreseen struct {
	Chance float64
	At     []plane.Point
}

// Foresee lists what a threat may do, as the search for ways out sees it.
func Foresee(land *reach.Land, at plane.Point, threat Threat, dog *exposure.Dog) ([]Foreseen, error) {
	e, err := escapeFrom(land, at, threat, dog)
	if err != nil {
		return nil, err
	}
	var out []Foreseen
	for i := range e.scenarios {
		out = append(out, Foreseen{e.scenarios[i].Chance, e.scenarios[i].At[:]})
	}
	return out, nil
}
