package exposure

import (
	"cmp"
	"math"
	"slices"

	"wideberth/exposure/hours"
)

// Step is a stretch of a walk: one edge, how long it takes, and when.
type Step struct {
	Edge    int32
	Seconds float64
	At      hours.Moment
}

// KindDose is what a walk is expected to bring of one kind.
type KindDose struct {
	Expected  float64 // encounters in sight or hearing, whatever the distance
	Inside    float64 // of them nearer than the working distance
	InsideS   float64 // seconds that they last, nearer than the working distance
	Reactions float64 // X of the kind
}

// doubts are the parts of an expectation that are wrong together: one kind, one
// kind of evidence.
type doubts [KindCount][EvidenceCount]shaped

// shaped gathers an expectation and the doubt about it. Parts of one doubt are
// wholly correlated, so their standard deviations add.
type shaped struct{ mean, sd float64 }

func (s *shaped) add(mean, shape float64) {
	s.mean += mean
	s.sd += mean / math.Sqrt(shape)
}

// shape is the Gamma shape with the gathered mean and standard deviation.
func (s shaped) shape() float64 { return s.mean * s.mean / (s.sd * s.sd) }

// Contribution is what one source, or one kind of stream, adds to a walk.
type Contribution struct {
	Kind      Kind
	Source    int32 // -1 for streams
	Own       bool  // a stream on the ways walked, not on others in range
	Edge      int32 // where it adds most
	Reactions float64
}

// Dose is what a walk is expected to bring to one dog.
type Dose struct {
	Reactions    float64             // X
	Kinds        [KindCount]KindDose //
	StepX        []float64           // X by step
	StepMeetings []float64           // encounters nearer than the working distance, by step
	DurationS    float64
	Movers       []Contribution // most reactions first

	seconds    []float64 // by step
	reactions  doubts
	encounters doubts
}

// Along adds up what a walk brings: every step at its own clock, not at the
// start's. This is the model in full; Sums is its fast form.
func (f *Field) Along(d *Dog, steps []Step, fa *Factors) *Dose {
	w, by := newTally(f, fa), d.walker()
	for i := range steps {
		w.step(&steps[i], by)
	}
	return w.finish()
}

// AlongParts is Along, and besides what each part of the walk brings by itself: part i is
// the steps from the end of the part before it up to ends[i]. What the model says of an
// edge is worked out once for both.
func (f *Field) AlongParts(d *Dog, steps []Step, ends []int, fa *Factors) (whole *Dose, parts []*Dose) {
	w, by := newTally(f, fa), d.walker()
	from := 0
	for _, end := range ends {
		part := newTally(f, fa)
		for i := from; i < end; i++ {
			w.step(&steps[i], by)
			part.add(w.terms, &steps[i], by)
		}
		parts, from = append(parts, part.finish()), end
	}
	for i := from; i < len(steps); i++ {
		w.step(&steps[i], by)
	}
	return w.finish(), parts
}

// tally gathers a dose.
type tally struct {
	f       *Field
	fa      *Factors
	dose    *Dose
	clock   *tempo
	terms   []Term // of the last step, for the dog it was walked with
	edge    int32
	dog     *walker
	sources map[sourceKind]*met
	streamX [KindCount][2]mostAt // on other ways, on the way itself
	sourceX map[sourceKind]*mostAt
}

type sourceKind struct {
	source int32
	kind   Kind
}

// met is the chance that somebody was at a source at any time of the walk.
type met struct {
	active, shape float64
	evidence      Evidence
	inside        bool // it was nearer than the working distance
}

// mostAt is what something adds to X, and where most.
type mostAt struct {
	sum, most float64
	edge      int32
}

func (m *mostAt) add(x float64, edge int32) {
	m.sum += x
	if x > m.most {
		m.most, m.edge = x, edge
	}
}

func newTally(f *Field, fa *Factors) *tally {
	return &tally{f: f, fa: fa, sources: map[sourceKind]*met{}, dose: &Dose{}, sourceX: map[sourceKind]*mostAt{}}
}

// step adds one step walked with a dog.
func (w *tally) step(s *Step, d *walker) {
	if w.clock == nil || w.clock.moment.Date != s.At.Date || w.clock.moment.Minute != s.At.Minute || w.edge != s.Edge || w.dog != d {
		w.clock = w.clock.at(s.At)
		w.edge, w.dog = s.Edge, d
		w.terms = w.f.terms(w.terms[:0], s.Edge, d, w.clock, w.fa)
	}
	w.add(w.terms, s, d)
}

// add adds the terms of a step.
func (w *tally) add(terms []Term, s *Step, d *walker) {
	x, inside := 0.0, 0.0
	for i := range terms {
		t := &terms[i]
		x += t.HazardPerS * s.Seconds
		inside += w.take(t, s, d)
	}
	w.dose.Reactions += x
	w.dose.DurationS += s.Seconds
	w.dose.StepX = append(w.dose.StepX, x)
	w.dose.StepMeetings = append(w.dose.StepMeetings, inside)
	w.dose.seconds = append(w.dose.seconds, s.Seconds)
}

// take adds a term over a step and gives its encounters inside the working
// distance.
func (w *tally) take(t *Term, s *Step, d *walker) (inside float64) {
	k := &w.dose.Kinds[t.Kind]
	x := t.HazardPerS * s.Seconds
	k.Reactions += x
	if x > 0 {
		w.dose.reactions[t.Kind][t.Evidence].add(x, t.Shape)
		w.credit(t, x, s.Edge)
	}
	need := &d.needs[t.Kind]
	if t.stays() {
		return w.takeSource(t, s, need)
	}
	n := t.RatePerS * s.Seconds
	k.Expected += n
	w.dose.encounters[t.Kind][t.Evidence].add(n, t.Shape)
	if t.DistM < need.WorkingM {
		rel := meanRelativeSpeed(t.speedMPS, d.paceMPS)
		if t.Own {
			rel = t.speedMPS + d.paceMPS
		}
		k.Inside += n
		k.InsideS += n * insideS(need.WorkingM, t.DistM, rel)
		return n
	}
	return 0
}

// takeSource counts a source where somebody stays as one encounter, with the
// chance that somebody is there.
func (w *tally) takeSource(t *Term, s *Step, need *Need) (inside float64) {
	key := sourceKind{t.Source, t.Kind}
	m := w.sources[key]
	if m == nil {
		m = &met{shape: t.Shape, evidence: t.Evidence}
		w.sources[key] = m
	}
	m.active = max(m.active, t.Active)
	if t.DistM >= need.WorkingM {
		return 0
	}
	w.dose.Kinds[t.Kind].InsideS += t.reach * t.Active * s.Seconds
	if !m.inside {
		inside = t.Active
	}
	m.inside = true
	return inside
}

// credit adds to what moves the answer.
func (w *tally) credit(t *Term, x float64, edge int32) {
	if t.Source < 0 {
		w.streamX[t.Kind][bit(t.Own)].add(x, edge)
		return
	}
	key := sourceKind{t.Source, t.Kind}
	if w.sourceX[key] == nil {
		w.sourceX[key] = &mostAt{}
	}
	w.sourceX[key].add(x, edge)
}

// finish counts the sources and sorts what moves the answer.
func (w *tally) finish() *Dose {
	for _, key := range sortedSources(w.sources) {
		m, k := w.sources[key], &w.dose.Kinds[key.kind]
		k.Expected += m.active
		if m.inside {
			k.Inside += m.active
		}
		w.dose.encounters[key.kind][m.evidence].add(m.active, m.shape)
	}
	for k := range KindCount {
		for own, m := range w.streamX[k] {
			if m.sum > 0 {
				w.dose.Movers = append(w.dose.Movers, Contribution{k, -1, own == 1, m.edge, m.sum})
			}
		}
	}
	for _, key := range sortedSources(w.sourceX) {
		m := w.sourceX[key]
		w.dose.Movers = append(w.dose.Movers, Contribution{key.kind, key.source, false, m.edge, m.sum})
	}
	slices.SortStableFunc(w.dose.Movers, func(a, b Contribution) int { return cmp.Compare(b.Reactions, a.Reactions) })
	return w.dose
}

// sortedSources gives the keys of a map in an order that does not change.
func sortedSources[V any](m map[sourceKind]V) []sourceKind {
	keys := make([]sourceKind, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	slices.SortFunc(keys, func(a, b sourceKind) int {
		return cmp.Or(cmp.Compare(a.source, b.source), cmp.Compare(a.kind, b.kind))
	})
	return keys
}
