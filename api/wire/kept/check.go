package kept

import (
	"errors"
	"fmt"
	"strings"
	"time"
	"unicode/utf8"

	"wideberth/exposure"
	"wideberth/osmdata/fault"
)

// mostName is the most characters of any name.
const mostName = 80

// checkText says what is wrong with a short text.
func checkText(pointer, text string, most int, required bool) fault.Problems {
	switch n := utf8.RuneCountInString(text); {
	case required && strings.TrimSpace(text) == "":
		return fault.Problems{{Pointer: pointer, Mend: "missing: give a name"}}
	case n > most:
		return fault.Problems{{Pointer: pointer, Value: fmt.Sprintf("%d characters", n), Mend: fmt.Sprintf("give at most %d", most)}}
	case !utf8.ValidString(text) || strings.ContainsFunc(text, func(r rune) bool { return r < ' ' && r != '\n' || r == 0x7f }):
		return fault.Problems{{Pointer: pointer, Mend: "holds control characters: leave them out"}}
	}
	return nil
}

// CheckName says what is wrong with a name or a label.
func CheckName(pointer, name string, required bool) fault.Problems {
	return checkText(pointer, name, mostName, required)
}

// CheckKey says what is wrong with a key, or another word that a client chooses.
func CheckKey(pointer, key string) fault.Problems { return checkText(pointer, key, mostKey, false) }

// checkKind accepts a kind, a category, or nothing.
func checkKind(pointer, name string) fault.Problems {
	if name == "" {
		return nil
	}
	if _, err := exposure.ParseCategory(name); err == nil {
		return nil
	}
	if _, err := exposure.ParseKind(name); err != nil {
		return fault.Problems{{Pointer: pointer, Value: name, Mend: err.Error()}}
	}
	return nil
}

// checkPlace accepts a place in degrees, or none.
func checkPlace(lat, lon *float64) fault.Problems {
	switch {
	case lat == nil && lon == nil:
		return nil
	case lat == nil || lon == nil:
		return fault.Problems{{Pointer: "/lat", Mend: "give both lat and lon, or neither"}}
	case !(*lat >= -90 && *lat <= 90):
		return fault.Problems{{Pointer: "/lat", Value: fmt.Sprintf("%g", *lat), Mend: "give -90 to 90 degrees"}}
	case !(*lon >= -180 && *lon <= 180):
		return fault.Problems{{Pointer: "/lon", Value: fmt.Sprintf("%g", *lon), Mend: "give -180 to 180 degrees"}}
	}
	return nil
}

// Bounds of logs.
const (
	mostKey      = 80
	mostNote     = 1000
	mostWalkTime = 24 * time.Hour
	ClockSlack   = 24 * time.Hour // a phone's clock may be off by a zone
)

// earliest is the first moment that can be logged: before it a clock stands wrong.
var earliest = time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)

// latest is the last: after it no clock that is put right will ever be.
var latest = time.Date(2200, 1, 1, 0, 0, 0, 0, time.UTC)

// ErrAhead: what is logged is still to come by this server's clock. Nobody here knows
// whose clock is wrong, so it is not refused for good: it is taken once its time has
// come, or the clock is put right.
var ErrAhead = errors.New("what is logged is still to come")

// aheadError is an ErrAhead with both times.
type aheadError struct{ at, now time.Time }

func (e *aheadError) Error() string {
	return fmt.Sprintf("%s is more than a day after this server's time, %s: put the clock right that is wrong, and send it again", e.at.Format(time.RFC3339), e.now.Format(time.RFC3339))
}

func (e *aheadError) Is(target error) bool { return target == ErrAhead }

// CheckAhead refuses with ErrAhead a moment that lies more than a day after now.
func CheckAhead(at, now time.Time) error {
	if at.After(now.Add(ClockSlack)) {
		return &aheadError{at, now}
	}
	return nil
}

func checkMoment(pointer string, at time.Time) fault.Problems {
	if at.Before(earliest) || at.After(latest) {
		return fault.Problems{{Pointer: pointer, Value: at.Format(time.RFC3339),
			Mend: "lies before 2000 or after 2200: put the clock right and give a time with its zone, like 2026-11-25T07:10:00Z"}}
	}
	return nil
}
