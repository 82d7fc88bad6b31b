package learning

import (
	"cmp"
	"slices"

	"wideberth/exposure"
)

// Expected is what a walk was predicted to meet in one cell, nearer than the dog's
// working distance.
type Expected struct {
	exposure.Cell
	Inside   float64
	WorkingM float64 // that it was counted within
}

// Observed counts the meetings of a walk of which all is told against what was
// predicted: only those nearer than the working distance, as farther off nobody
// logs them all. The result goes with expected, entry by entry. False where the
// walk does not count yet: a draft waits to be filled in.
func Observed(expected []Expected, met []Meeting) ([]float64, bool) {
	if slices.ContainsFunc(met, func(m Meeting) bool { return m.Name == "" }) {
		return nil, false
	}
	out := make([]float64, len(expected))
	for i := range met {
		spread(&met[i], expected, out)
	}
	return out, true
}

// spread adds one meeting to the cells it may belong to: those of its kind, or of
// the kinds of its category, and of its kind of place where that is known, in
// proportion to what was expected of each.
func spread(m *Meeting, cells []Expected, observed []float64) {
	fits := func(x *Expected, place bool) bool {
		return x.Kind < exposure.KindCount && m.mayBe(x.Kind) && m.Near.inside(x.WorkingM) &&
			(!place || m.Place == "" || m.Place == x.Place.String())
	}
	for _, place := range []bool{true, false} {
		sum, n := 0.0, 0
		for i := range cells {
			if fits(&cells[i], place) {
				sum += cells[i].Inside
				n++
			}
		}
		if n == 0 {
			continue // no such kind of place on the walk: the map changed, or the place is off it
		}
		for i := range cells {
			switch x := &cells[i]; {
			case !fits(x, place):
			case sum > 0:
				observed[i] += x.Inside / sum
			default:
				observed[i] += 1 / float64(n)
			}
		}
		return
	}
}

// Tallies add up by cell what walks found of what was expected of them.
type Tallies map[exposure.Cell]Tally

// Add takes in one walk's count in a cell.
func (t Tallies) Add(c exposure.Cell, observed, expected float64) {
	t[c] = t[c].plus(Tally{observed, expected, 1})
}

// Factors makes of what was counted a factor for every cell of the kinds that were
// counted: cells never walked lean on those that were. A count that cannot be is an
// error that names it.
func (t Tallies) Factors() (map[exposure.Cell]exposure.Factor, error) {
	shapes := map[exposure.Kind]float64{}
	for k := range exposure.KindCount {
		shapes[k] = k.DoubtShape()
	}
	return t.factors(shapes)
}

// factors is Factors for given doubts about the rates as predicted, by kind.
func (t Tallies) factors(shapes map[exposure.Kind]float64) (map[exposure.Cell]exposure.Factor, error) {
	rates, err := newRates(shapes)
	if err != nil {
		return nil, err
	}
	counted := map[exposure.Kind]bool{}
	for c, sum := range t {
		counted[c.Kind] = true
		if err := rates.update(c, sum.Observed, sum.Expected); err != nil {
			return nil, err
		}
	}
	out := map[exposure.Cell]exposure.Factor{}
	for k := range counted {
		for p := range exposure.PlaceKindCount {
			for d := range exposure.DayPartCount {
				c := exposure.Cell{Kind: k, Place: p, Part: d}
				f := rates.Factor(c)
				out[c] = exposure.Factor{Mean: f.Mean(), Shape: f.Shape}
			}
		}
	}
	return out, nil
}

// byName puts cells in the order of their names, which is the order that they are
// told and kept in.
func byName(a, b exposure.Cell) int {
	return cmp.Or(cmp.Compare(a.Kind.String(), b.Kind.String()), cmp.Compare(a.Place.String(), b.Place.String()), cmp.Compare(a.Part.String(), b.Part.String()))
}
