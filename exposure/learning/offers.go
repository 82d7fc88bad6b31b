package learning

import (
	"cmp"
	"errors"
	"slices"
	"time"

	"wideberth/exposure"
)

// Held is what a dog's plans hold for a kind or category.
type Held struct {
	exposure.Need      // now; of no meaning where Calm
	Calm          bool // the dog does not react to it
	Prior         Prior
	Since         time.Time // when a person accepted it; zero where it was said
}

// Distances of a dog by kind or category.
type Distances map[string]Held

// Offer is what a dog's meetings say of one of its distances. Nothing changes until
// a person accepts it.
type Offer struct {
	Name     string // kind or category
	Now      Held
	Belief   *Estimate // what is believed now, from the first meeting on; nil before
	Proposal Proposal
	Few      *TooFew // not nil: nothing is claimed, and there is no proposal
}

// Since is the moment from which meetings are looked at: what is older than all
// that counts at a half-life, and than all that a trend is seen against, says
// nothing.
func Since(now time.Time, halfLife time.Duration) time.Time {
	return now.Add(-max(forgottenAfter*halfLife, trendWindow))
}

// Offers learns a dog's distances from its meetings and holds them against those
// that its plans use, in the order of their names. Learning starts from what was
// said before any walk, not from what was accepted since, or the same walks would
// count twice. halfLife is that of an encounter's weight.
func Offers(d Distances, met []Meeting, now time.Time, halfLife time.Duration) ([]Offer, error) {
	settings := defaultSettings()
	settings.HalfLife = halfLife
	starts, rows := d.evidence(met)
	learnt, err := Learn(starts, rows, now, settings)
	if err != nil {
		return nil, err
	}
	out := []Offer{}
	for _, in := range starts {
		o := Offer{Name: cmp.Or(in.Kind, in.Category)}
		o.Now, _, _ = exposure.Inherited(d, o.Name) // evidence names none that is not held
		if e, err := learnt.believed(in.Category, in.Kind); err == nil && e.Encounters > 0 {
			o.Belief = &e
		}
		o.Proposal, err = learnt.propose(Present{Kind: in.Kind, Category: in.Category, Need: o.Now.Need, Beyond: o.Now.beyond(rows, &in)})
		if err != nil && !errors.As(err, &o.Few) {
			return nil, err
		}
		out = append(out, o)
	}
	return out, nil
}

// beyond counts the meetings of a kind at which the dog went over farther off than
// its working distance, since that holds.
func (h *Held) beyond(rows []Encounter, in *Intake) (n int) {
	for i := range rows {
		e := &rows[i]
		if e.Kind != in.Kind || e.Category != in.Category || e.Outcome != WentOver || e.When.Before(h.Since) {
			continue
		}
		if e.DistanceM > h.WorkingM && e.Bound != NearerThan || e.DistanceM >= h.WorkingM && e.Bound == FartherThan {
			n++
		}
	}
	return n
}

// evidence gives what learning starts from, a start for each kind that something is
// held for or that was met, and the meetings that say something of distances.
func (d Distances) evidence(met []Meeting) (starts []Intake, rows []Encounter) {
	named := map[string]bool{}
	for name := range d {
		named[name] = true
	}
	for i := range met {
		x, _, ok := exposure.Inherited(d, met[i].Name)
		if row, says := met[i].encounter(); says && ok && !x.Calm {
			rows = append(rows, row)
			named[met[i].Name] = true
		}
	}
	names := make([]string, 0, len(named))
	for name := range named {
		names = append(names, name)
	}
	slices.Sort(names)
	for _, name := range names {
		if x, _, ok := exposure.Inherited(d, name); ok && !x.Calm && x.Prior.WorkingM <= exposure.MostMetM {
			starts = append(starts, x.Prior.intake(name))
		}
	}
	return starts, rows
}
