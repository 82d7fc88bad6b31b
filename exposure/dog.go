package exposure

import (
	"maps"
	"math"
	"slices"
)

// Need is the pair of distances that a dog has for a kind or category: one type
// wherever a pair is meant, also inside what is kept and answered.
type Need struct {
	// WorkingM is the distance W in metres at which the dog notices, still takes
	// food and turns back: one in ten encounters goes over threshold.
	WorkingM float64 `json:"working_m"`
	// ReactionM is the distance R < W in metres at which half of them do.
	ReactionM float64 `json:"reaction_m"`
}

// Bounds of what is accepted for a dog.
const (
	LeastDistanceM  = 0.1    // nearer than that nobody can measure
	MostMetM        = 1000.0 // of a meeting and of what is learnt: dogs may notice motion at several hundred metres, but none is walked by such a threshold
	DefaultSpeedMPS = 1.2    // of a handler with a dog; common practice is 1.0 to 1.2 m/s with stops
)

// P is the chance that the dog goes over threshold when a trigger passes at its
// nearest at d metres:
//
//	P(d) = 1 / (1 + (d / R)^b),   b = ln 9 / ln(W / R)
//
// so that P(R) = 1/2 and P(W) = 1/10; the log-logistic dose-response form with
// the two distances as its median and its one-in-ten point. P(0) = 1. The zero
// Need is a dog that does not react: P = 0 everywhere.
func (n Need) P(dM float64) float64 {
	if n.WorkingM == 0 {
		return 0
	}
	if dM <= 0 {
		return 1
	}
	return n.pAt(dM, n.steepness())
}

// pAt is P at a distance above 0 where the steepness is known.
func (n Need) pAt(dM, steepness float64) float64 {
	return 1 / (1 + math.Pow(dM/n.ReactionM, steepness))
}

// steepness is b = ln 9 / ln(W / R) of the P curve.
func (n Need) steepness() float64 { return math.Log(9) / math.Log(n.WorkingM/n.ReactionM) }

// stretch is the need with both distances multiplied by k.
func (n Need) stretch(k float64) Need { return Need{n.WorkingM * k, n.ReactionM * k} }

// Dog is what the model needs to know of a dog.
type Dog struct {
	Name       string
	SpeedMPS   float64             // usual pace, 0 for the default
	ByCategory map[Category]Need   // distances for whole categories
	ByKind     map[Kind]Need       // distances for single kinds, before the category's; the zero Need: does not react
	AssumedR   map[string]struct{} // names of the needs whose reaction distance is assumed
	Typical    bool                // nobody gave distances: those of DefaultDog
	Food       string              // what it works for, "" where nobody said
	Cautions   Cautions
}

// Cautions are what whoever walks a dog must know. They change no figure; they stand
// wherever the dog does.
type Cautions struct {
	BiteHistory     bool // it has bitten: experienced people walk it, and only a trainer sets it nearer than 1.5 times its working distance
	Muzzle          bool // walks with one
	MuzzleTrained   bool // wears one calmly, as it was taught to
	ExperiencedOnly bool // only for experienced handlers
	Medical         string
}

// DefaultDog is the dog of whom nothing is known: it reacts to other dogs, at
// the default distances of the kinds, a wide prior and our assumption.
func DefaultDog() *Dog {
	d := &Dog{ByCategory: map[Category]Need{}, ByKind: map[Kind]Need{}, Typical: true}
	for _, k := range Dogs.Kinds() {
		d.ByKind[k] = k.Info().Default
	}
	return d
}

// Need gives the dog's distances for a kind: its own, else those of its
// category, else the zero Need, to which nothing is a trigger.
func (d *Dog) Need(k Kind) Need {
	if n, ok := d.ByKind[k]; ok {
		return n
	}
	return d.ByCategory[k.Category()]
}

// walker is what the model asks of a dog for every line of an account: its need for each
// kind, and its pace.
type walker struct {
	needs   [KindCount]Need
	steep   [KindCount]float64 // of each need
	paceMPS float64
}

// p is the chance that a kind at a distance brings the dog over threshold.
func (w *walker) p(kind Kind, dM float64) float64 {
	if n := &w.needs[kind]; n.WorkingM > 0 && dM > 0 {
		return n.pAt(dM, w.steep[kind])
	}
	return w.needs[kind].P(dM)
}

func (d *Dog) walker() *walker {
	w := &walker{paceMPS: d.PaceMPS()}
	for k := range KindCount {
		w.needs[k] = d.Need(k)
		w.steep[k] = w.needs[k].steepness()
	}
	return w
}

// Inherited finds what stands for a kind or category by its name: the kind's own,
// else its category's. It gives the name that it stands under too; false if there is
// none.
func Inherited[T any](by map[string]T, name string) (x T, under string, ok bool) {
	if x, ok := by[name]; ok {
		return x, name, true
	}
	k, err := ParseKind(name)
	if err != nil {
		return x, "", false
	}
	under = k.Category().String()
	x, ok = by[under]
	return x, under, ok
}

// PaceMPS is the dog's usual pace in m/s, the default where none is given.
func (d *Dog) PaceMPS() float64 {
	if d.SpeedMPS > 0 {
		return d.SpeedMPS
	}
	return DefaultSpeedMPS
}

// FarthestM is the largest working distance of the dog in metres.
func (d *Dog) FarthestM() float64 {
	far := 0.0
	for k := range KindCount {
		far = max(far, d.Need(k).WorkingM)
	}
	return far
}

// Stretch is the dog with all distances multiplied by k: k > 1 is an aroused
// dog, k < 1 a braver one.
func (d *Dog) Stretch(k float64) *Dog {
	s := *d
	s.ByCategory, s.ByKind = map[Category]Need{}, map[Kind]Need{}
	for c, n := range d.ByCategory {
		s.ByCategory[c] = n.stretch(k)
	}
	for kd, n := range d.ByKind {
		s.ByKind[kd] = n.stretch(k)
	}
	return &s
}

// Assumptions lists what was assumed about the dog.
func (d *Dog) Assumptions() []Assumption {
	var out []Assumption
	for _, name := range slices.Sorted(maps.Keys(d.AssumedR)) {
		out = append(out, Assumption{What: AssumedReaction, Of: name})
	}
	if d.Typical {
		n := d.Need(DogOnLead)
		out = append(out, Assumption{What: AssumedDog, Numbers: []float64{n.WorkingM, n.ReactionM}})
	}
	if d.SpeedMPS == 0 {
		out = append(out, Assumption{What: AssumedPace, Numbers: []float64{DefaultSpeedMPS}})
	}
	return out
}
