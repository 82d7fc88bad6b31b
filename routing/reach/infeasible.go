package reach

import (
	"errors"
	"fmt"
	"time"
)

// Reason is why there is no walk; the list is closed.
type Reason string

// The reasons.
const (
	NoStreetNear   Reason = "no_street_near"   // the start is too far from any way
	NotConnected   Reason = "not_connected"    // no way leads from one place to the other
	TooShort       Reason = "too_short"        // the time is less than the quickest way
	NoLoop         Reason = "no_loop"          // no loop of this length from here
	LimitsForbid   Reason = "limits_forbid"    // there are walks, but none keeps the limits
	MapTooSmall    Reason = "map_too_small"    // the map knows only so much path here
	OffTheMap      Reason = "off_the_map"      // outside the extract
	NothingInRange Reason = "nothing_in_range" // no source or place as asked for
	NoStand        Reason = "no_stand"         // a place that one cannot watch from
	NoWayIn        Reason = "no_way_in"        // no way there and home that may be walked then
	NobodyThen     Reason = "nobody_then"      // nothing to be watched at that hour, or something too near
)

// Infeasible says that what was asked for cannot be had, why, and what can.
type Infeasible struct {
	Reason Reason
	Field  string  // the field of the wish that stands in the way
	Limit  Limit   // the limit that forbids, if one does
	Short  float64 // by how much, in Unit
	Unit   string  // "m", "s"
	Proved bool    // the search was exhausted: there is none, in the model searched
	Offers []Offer // what would help, most useful first
}

// Offer is a changed wish that works.
type Offer struct {
	What    string // "leave_at", "start_at", "shape", "minutes", "without_limit"
	Depart  time.Time
	Minutes float64
	Shape   string  // of the walk
	Name    string  // of the start
	Limit   Limit   // to be dropped
	Calm    float64 // its chance of a calm walk
}

// Error is a plain text for programmers; routing/briefing has the words for people.
func (e *Infeasible) Error() string {
	text := "no walk: " + string(e.Reason)
	if e.Limit != (Limit{}) {
		text += " by " + e.Limit.String()
	}
	if e.Short != 0 {
		text += fmt.Sprintf(", short by %g %s", e.Short, e.Unit)
	}
	return text + " (" + e.Field + ")"
}

// About says which field of the wish an infeasibility is about.
func About(err error, field string) error {
	var none *Infeasible
	if errors.As(err, &none) {
		none.Field = field
	}
	return err
}
