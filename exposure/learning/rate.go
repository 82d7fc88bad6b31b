package learning

import (
	"cmp"
	"fmt"
	"maps"
	"math"
	"slices"
	"time"

	"wideberth/exposure"
)

// Factor is a Gamma distribution (Shape, Rate, both above 0) of a multiplier
// on an expected count: what a neighbourhood has to the default's one. With
// equal shape and rate its mean is 1.
type Factor struct{ Shape, Rate float64 }

// newFactor is the factor before any walk: mean 1, relative variance 1/shape.
func newFactor(shape float64) (Factor, error) {
	if !(shape > 0) || math.IsInf(shape, 1) {
		return Factor{}, fmt.Errorf("shape %v; give a number above 0", shape)
	}
	return Factor{shape, shape}, nil
}

func checkCount(observed, expected float64) error {
	if !(observed >= 0) || math.IsInf(observed, 1) {
		return fmt.Errorf("observed count %v; give 0 or more", observed)
	}
	if !(expected >= 0) || math.IsInf(expected, 1) {
		return fmt.Errorf("expected count %v; give 0 or more", expected)
	}
	return nil
}

// Mean is the factor to multiply rates by.
func (f Factor) Mean() float64 { return f.Shape / f.Rate }

// widened is the factor of one member of a group whose members scatter round
// the group's factor with relative variance 1/scatter: same mean, variances
// added (moment matching to a Gamma).
func (f Factor) widened(scatter float64) Factor {
	shape := 1 / (1/f.Shape + 1/scatter)
	return Factor{shape, shape / f.Mean()}
}

// defaultRateShape is the shape for kinds that newRates is told nothing of: a
// rate right to about a factor of 3 at best. Our assumption.
const defaultRateShape = 1.0

// Of the prior's relative variance 1/shape, half is common to the kind and a
// quarter each belongs to the kind of place and to the part of the day. Our
// assumption. As multiples of the shape:
const (
	kindShape    = 2.0
	placeScatter = 4.0
	partScatter  = 4.0
)

// Tally is what walks found in a cell.
type Tally struct {
	Observed, Expected float64 // encounters
	Walks              int
}

func (t Tally) plus(u Tally) Tally {
	return Tally{t.Observed + u.Observed, t.Expected + u.Expected, t.Walks + u.Walks}
}

// damped is what a tally says of its group: however much was seen of one
// member, it stays one member. Its rate observed/expected has variance about
// 1/expected from counting and 1/scatter from being one of many, so it counts
// like an exposure of expected scatter / (expected + scatter): the credibility
// formula of Buhlmann and Straub 1970, Mitt. Ver. schweiz. Vers. Math. 70 (from
// memory).
func (t Tally) damped(scatter float64) Tally {
	share := scatter / (scatter + t.Expected)
	return Tally{t.Observed * share, t.Expected * share, t.Walks}
}

// Rates learns the factors of one neighbourhood. A cell's factor leans on its
// own walks first, then on other parts of the day at the same kind of place,
// then on other kinds of place, then on the default. Not safe for use while
// update runs.
type Rates struct {
	shapes  map[exposure.Kind]float64
	cells   []exposure.Cell // sorted, so that sums do not depend on the order of updates
	tallies map[exposure.Cell]Tally
}

// newRates starts with the prior shape of each kind (relative variance
// 1/shape), defaultRateShape for others.
func newRates(shapes map[exposure.Kind]float64) (*Rates, error) {
	for kind, a := range shapes {
		if _, err := newFactor(a); err != nil {
			return nil, fmt.Errorf("kind %s: %w", kind, err)
		}
	}
	return &Rates{shapes: maps.Clone(shapes), tallies: map[exposure.Cell]Tally{}}, nil
}

// update takes in one walk's count in a cell against what was expected of it.
func (r *Rates) update(c exposure.Cell, observed, expected float64) error {
	if err := checkCount(observed, expected); err != nil {
		return fmt.Errorf("kind %s: %w", c.Kind, err)
	}
	if at, found := slices.BinarySearchFunc(r.cells, c, compareCells); !found {
		r.cells = slices.Insert(r.cells, at, c)
	}
	r.tallies[c] = r.tallies[c].plus(Tally{observed, expected, 1})
	return nil
}

func compareCells(a, b exposure.Cell) int {
	return cmp.Or(cmp.Compare(a.Kind, b.Kind), cmp.Compare(a.Place, b.Place), cmp.Compare(a.Part, b.Part))
}

// Factor is the cell's factor after all walks. Without any it is
// Gamma(shape, shape); with walks in this cell alone it is exactly
// Gamma(shape + observed, shape + expected).
func (r *Rates) Factor(c exposure.Cell) Factor {
	a, ok := r.shapes[c.Kind]
	if !ok {
		a = defaultRateShape
	}
	siblings, places := r.around(c, partScatter*a)
	f := Factor{kindShape * a, kindShape * a}
	for _, t := range places {
		f = f.took(t.damped(placeScatter * a))
	}
	f = f.widened(placeScatter * a)
	f = f.took(siblings)
	f = f.widened(partScatter * a)
	return f.took(r.tallies[c])
}

func (f Factor) took(t Tally) Factor { return Factor{f.Shape + t.Observed, f.Rate + t.Expected} }

// around gathers the other parts of the day at the cell's kind of place, and
// each other kind of place as one tally; every part damped.
func (r *Rates) around(c exposure.Cell, scatter float64) (siblings Tally, places []Tally) {
	last := exposure.PlaceKindCount
	for _, o := range r.cells {
		if o.Kind != c.Kind || o == c {
			continue
		}
		t := r.tallies[o].damped(scatter)
		switch {
		case o.Place == c.Place:
			siblings = siblings.plus(t)
		case len(places) > 0 && o.Place == last:
			places[len(places)-1] = places[len(places)-1].plus(t)
		default:
			places, last = append(places, t), o.Place
		}
	}
	return siblings, places
}

// Statement is one person's word on a single source: there, or not there.
type Statement struct {
	When  time.Time
	There bool
}

// reportedPrior and mappedPrior are the probabilities that a source exists
// before anybody spoke of it: one made up by a report (what is left of it when
// the report has faded), and one on the map. Our assumptions.
const (
	reportedPrior = 0.2
	mappedPrior   = 0.9
)

// statementRight is the chance that a fresh statement is right. Our assumption.
const statementRight = 0.9

// Presence is the probability that a source is there now, from a prior
// probability in (0, 1) and what people said: each statement multiplies the
// odds by q/(1-q), or its inverse for "not there", where
// q = 1/2 + (statementRight - 1/2) 2^(-age/halfLife) fades to a coin toss.
// Statements are taken as independent; one dated after now counts as fresh.
func Presence(prior float64, said []Statement, now time.Time, halfLife time.Duration) (float64, error) {
	if !(prior > 0 && prior < 1) {
		return 0, fmt.Errorf("prior presence %v; give a probability between 0 and 1", prior)
	}
	if halfLife <= 0 {
		return 0, fmt.Errorf("half-life %v; give one above 0", halfLife)
	}
	logit := math.Log(prior / (1 - prior))
	for _, s := range said {
		age := max(0, now.Sub(s.When).Hours()/halfLife.Hours())
		q := 0.5 + (statementRight-0.5)*math.Exp2(-age)
		if !s.There {
			q = 1 - q
		}
		logit += math.Log(q / (1 - q))
	}
	return sigmoid(logit), nil
}
