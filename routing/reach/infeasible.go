package reach

import (
	"errors"
	"fmt"
	"math"
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
	Limit  string  // the limit or place that forbids, if one does
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
	Name    string  // of the start or limit
	Calm    float64 // its chance of a calm walk
}

func (e *Infeasible) Error() string {
	switch e.Reason {
	case NoStreetNear:
		return fmt.Sprintf("the nearest path is %s from the start: move the start nearer to one", far(e.Short))
	case OffTheMap:
		return fmt.Sprintf("the start is %s outside the map loaded here: start inside it, or load another extract", far(e.Short))
	case NotConnected:
		return "no way that may be walked leads there: choose another place or drop a limit"
	case TooShort:
		return fmt.Sprintf("the quickest way takes %.0f min more than the time given: allow more", math.Ceil(e.Short/60))
	case LimitsForbid:
		return fmt.Sprintf("there is no walk that keeps the limit %q: drop it, or take another hour or start", e.Limit)
	case MapTooSmall:
		return fmt.Sprintf("the map knows only %.0f m of path here: start elsewhere", e.Short)
	case NothingInRange:
		return fmt.Sprintf("nothing in range: the nearest is %.0f m away", e.Short)
	case NoStand:
		return "it cannot be watched from there: out of sight, nearer than asked for, no way out, or no place to stand; choose another place"
	case NoWayIn:
		return "no way there and home keeps the limits and clear of what must be kept clear of then: take another hour or place, or drop a limit"
	case NobodyThen:
		return "at that hour nobody is likely to be there, or something else is too near: take another hour"
	}
	return "there is no loop of this length from here: try there and back, another length or another start"
}

// far says a distance: metres while they can be paced out, else kilometres.
func far(m float64) string {
	if m < 2000 {
		return fmt.Sprintf("%.0f m", m)
	}
	return fmt.Sprintf("%.0f km", m/1000)
}

// About says which field of the wish an infeasibility is about.
func About(err error, field string) error {
	var none *Infeasible
	if errors.As(err, &none) {
		none.Field = field
	}
	return err
}
