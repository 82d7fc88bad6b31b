package learning

import (
	"cmp"
	"maps"
	"slices"

	"wideberth/exposure"
)

// Forecast adds up what a walk is predicted to meet nearer than the dog's working
// distance, by cell, as the map has it: without what walks taught, which it is there
// to teach, but with what people said of sources (fa.There; fa may be nil). A source
// where somebody stays is met once at most, with the largest chance there was along
// the walk, and counts in the cell where that was. Cells come in the order of their
// names; the result is never nil.
func Forecast(f *exposure.Field, d *exposure.Dog, steps []exposure.Step, fa *exposure.Factors) []Expected {
	x := forecast{cells: map[exposure.Cell]float64{}, stays: map[stay]stayed{}}
	var spoken *exposure.Factors
	if fa != nil {
		spoken = &exposure.Factors{There: fa.There}
	}
	for i := range steps {
		x.step(f, d, &steps[i], spoken)
	}
	for _, key := range slices.SortedFunc(maps.Keys(x.stays), func(a, b stay) int {
		return cmp.Or(cmp.Compare(a.source, b.source), cmp.Compare(a.kind, b.kind))
	}) {
		x.cells[x.stays[key].cell] += x.stays[key].active
	}
	out := []Expected{}
	for _, c := range slices.SortedFunc(maps.Keys(x.cells), byName) {
		out = append(out, Expected{Cell: c, Inside: x.cells[c], WorkingM: d.Need(c.Kind).WorkingM})
	}
	return out
}

// forecast gathers a Forecast.
type forecast struct {
	cells map[exposure.Cell]float64
	stays map[stay]stayed
}

// stay is a kind at a source where somebody stays.
type stay struct {
	source int32
	kind   exposure.Kind
}

// stayed is the largest chance that somebody was there, and the cell of that step.
type stayed struct {
	active float64
	cell   exposure.Cell
}

func (x *forecast) step(f *exposure.Field, d *exposure.Dog, s *exposure.Step, spoken *exposure.Factors) {
	for _, t := range f.Explain(s.Edge, d, s.At, spoken) {
		if t.DistM >= d.Need(t.Kind).WorkingM {
			continue
		}
		cell := exposure.Cell{Kind: t.Kind, Place: f.Place[s.Edge], Part: exposure.PartOf(s.At.Hour())}
		if t.Source < 0 || t.Kind.Info().Motion == exposure.SoundEvent {
			x.cells[cell] += t.RatePerS * s.Seconds
		} else if key := (stay{t.Source, t.Kind}); t.Active > x.stays[key].active {
			x.stays[key] = stayed{t.Active, cell}
		}
	}
}
