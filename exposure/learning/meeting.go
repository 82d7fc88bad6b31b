package learning

import (
	"math"
	"time"

	"wideberth/exposure"
)

// Meeting is one meeting with a trigger as somebody logged it: what every
// statistic here starts from.
type Meeting struct {
	Name     string // kind, or category where no more is known; "" in a draft that is still to be filled in
	Place    string // kind of place, "" where nobody knows
	When     time.Time
	Near     Near
	NoticedM float64 // distance in metres when the dog first noticed; 0 where nobody knows
	Outcome  Outcome
	Sudden   bool // it appeared without warning
}

// Near says how near something came. The zero value: nobody knows.
type Near struct {
	Known bool
	Bound Bound
	M     float64 // metres; of a stretch between two distances its lower end
	ToM   float64 // upper end of a stretch, 0 for a single distance
}

// inside says whether a meeting counts as nearer than a working distance; where
// nobody knows it does, as it was worth logging.
func (n Near) inside(workingM float64) bool {
	switch {
	case !n.Known || n.Bound == NearerThan:
		return true
	case n.Bound == About && n.ToM == 0:
		return n.M <= workingM
	}
	return n.M < workingM
}

// encounter is the meeting as the learning of distances wants it; false where it
// says nothing of distances. A stretch between two distances is taken as about
// their geometric mean: evenly spread over a factor of 2.5 in ln, its standard
// deviation is that of a distance judged by eye.
func (m *Meeting) encounter() (Encounter, bool) {
	if m.Name == "" || !m.Near.Known {
		return Encounter{}, false
	}
	out := Encounter{When: m.When, DistanceM: m.Near.M, Bound: m.Near.Bound, FirstNoticeM: m.NoticedM, Outcome: m.Outcome, Sudden: m.Sudden}
	out.Kind, out.Category = split(m.Name)
	if m.Near.ToM > 0 {
		out.Bound, out.DistanceM = About, math.Sqrt(m.Near.M*m.Near.ToM)
	}
	return out, true
}

// split gives kind and category of the name of either; the kind of a category is
// "".
func split(name string) (kind, category string) {
	if k, err := exposure.ParseKind(name); err == nil {
		return name, k.Category().String()
	}
	return "", name
}

// mayBe says that what was met may be of a kind: it is that kind, its category, or
// not told.
func (m *Meeting) mayBe(k exposure.Kind) bool {
	return m.Name == "" || m.Name == k.String() || m.Name == k.Category().String()
}
