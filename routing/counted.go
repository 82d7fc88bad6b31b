package routing

import (
	"wideberth/exposure"
	"wideberth/routing/counts"
)

// WithCounts is a planner that takes levels as counts by hand have them, beside those
// that the map was imported with. It shares everything else with p. The report says
// how far the model lies from all these counts, those of the map first.
func (p *Planner) WithCounts(list []exposure.Count) (*Planner, *counts.Report, error) {
	land, report, err := p.land.Counted(list)
	if err != nil {
		return nil, nil, err
	}
	return p.on(land), report, nil
}
