package learning

import (
	"fmt"
	"time"
)

const (
	// reportHalfLife is how fast what somebody said of a source loses its worth.
	// Our assumption: a dog moves house, a site closes, in months.
	reportHalfLife = 60 * 24 * time.Hour
	// leastLive is the presence below which a report no longer counts: a little
	// above what is left of one that has wholly faded.
	leastLive = 0.3
)

// Spoken is what people said of one source, the latest word of each.
type Spoken struct {
	Mapped bool        // the map has it; else a report made it up
	Ends   time.Time   // it is gone from then on; zero for no end
	Said   []Statement // oldest first
}

// Standing is what is thought of a source that people spoke of.
type Standing struct {
	Last             time.Time // of the words, zero for none
	Confirm, Dispute int       // people who say that it is there, and that it is not
	Presence         float64   // probability that it is there
	Live             bool      // it counts in plans
}

// Standing weighs what was said of a source at a moment.
func (s *Spoken) Standing(now time.Time) (out Standing, err error) {
	for _, word := range s.Said {
		out.Last = word.When
		if word.There {
			out.Confirm++
		} else {
			out.Dispute++
		}
	}
	prior := reportedPrior
	if s.Mapped {
		prior = mappedPrior
	}
	if out.Presence, err = Presence(prior, s.Said, now, reportHalfLife); err != nil {
		return out, fmt.Errorf("weigh a report: %w", err)
	}
	ended := !s.Ends.IsZero() && now.After(s.Ends)
	if ended {
		out.Presence = 0
	}
	out.Live = !ended && (s.Mapped || out.Presence >= leastLive)
	return out, nil
}

// Left is what is left, 0 to 1, of a source that the map has: the map itself is
// taken as right but for mappedPrior.
func (s Standing) Left() float64 { return min(1, s.Presence/mappedPrior) }
