package routing

import (
	"context"
	"os"
	"path/filepath"
	"sync"

	"wideberth/exposure"
	"wideberth/osmdata/plane"
	"wideberth/testdata"
)

// Town is a planner over the invented town, made once for all tests, from inside
// and from outside.
var Town = sync.OnceValues(func() (*Planner, error) {
	dir, err := os.MkdirTemp("", "wideberth-routing")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(dir)
	path := filepath.Join(dir, testdata.TownFile)
	if err := os.WriteFile(path, testdata.Town(), 0o600); err != nil {
		return nil, err
	}
	snap, err := Import(context.Background(), path, ImportOptions{})
	if err != nil {
		return nil, err
	}
	return NewPlanner(snap, nil)
})

// Foreseen is one thing that a threat may do, for tests: where it is at each
// second.
type Foreseen struct {
	Chance float64
	At     []plane.Point
}

// Foresee lists what a threat may do, as the search for ways out sees it.
func (p *Planner) Foresee(at plane.Point, threat Threat, dog *exposure.Dog) ([]Foreseen, error) {
	e, err := p.Land().escapeFrom(at, threat, dog)
	if err != nil {
		return nil, err
	}
	var out []Foreseen
	for i := range e.scenarios {
		out = append(out, Foreseen{e.scenarios[i].chance, e.scenarios[i].at[:]})
	}
	return out, nil
}
