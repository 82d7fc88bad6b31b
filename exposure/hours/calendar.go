package hours

import (
	"bytes"
	_ "embed" // the default calendar
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"sync"
	"sync/atomic"
)

// DayKind says what kind of day it is for schools and shops.
type DayKind uint8

// Kinds of day. A public holiday is one whatever else it is; a weekend in the
// school holidays is a SchoolHoliday.
const (
	SchoolDay DayKind = iota
	TermWeekend
	SchoolHoliday
	PublicHoliday
)

var dayKindNames = [...]string{"school day", "weekend in term", "school holiday", "public holiday"}

// String gives the kind in words.
func (k DayKind) String() string {
	if int(k) < len(dayKindNames) {
		return dayKindNames[k]
	}
	return fmt.Sprintf("day kind %d", k)
}

// Calendar knows school terms and public holidays. It is immutable and safe
// for concurrent use.
type Calendar struct {
	note                    string
	schoolDays              rule
	terms, breaks, holidays []namedDays

	kinds known // of days that were asked for
}

// known keeps the kinds of days, as a search asks for the same few a million times. It
// forgets all where it would hold more than mostDays.
type known struct {
	n  atomic.Int32
	by sync.Map // DayKind by Date
}

func (k *known) of(d Date, find func(Date) DayKind) DayKind {
	if kind, ok := k.by.Load(d); ok {
		return kind.(DayKind)
	}
	if k.n.Add(1) > mostDays {
		k.by.Clear()
		k.n.Store(1)
	}
	kind := find(d)
	k.by.Store(d, kind)
	return kind
}

type namedDays struct {
	name string
	days rule
}

// calendarFile is the file that a user writes. Days are written in the date
// part of the opening_hours grammar: "Dec 22-Jan 2", "2026 Oct 12-16",
// "Nov Th[4]", "easter -2 days".
type calendarFile struct {
	Note           string      `json:"note"`
	SchoolDays     string      `json:"schoolDays"`
	SchoolTerms    []namedText `json:"schoolTerms"`
	SchoolHolidays []namedText `json:"schoolHolidays"`
	PublicHolidays []namedText `json:"publicHolidays"`
}

type namedText struct {
	Name string `json:"name"`
	Days string `json:"days"`
}

// maxCalendarBytes bounds what readCalendar reads: decades of terms fit in it.
const maxCalendarBytes = 1 << 20

// errCalendarTooLong is returned for a calendar file over 1 MiB.
var errCalendarTooLong = errors.New("calendar file longer than 1 MiB")

// readCalendar reads a calendar file: a JSON object with
//
//	note            text shown with answers that rest on it
//	schoolDays      weekdays with school, "Mo-Fr" if missing
//	schoolTerms     list of {name, days}; if given, all other days are school holidays
//	schoolHolidays  list of {name, days}
//	publicHolidays  list of {name, days}
//
// where days are dates in the opening_hours grammar without hours, for example
// "Jul-Aug", "2026 Dec 21-2027 Jan 3", "Nov Th[4]" or "easter +1 day". An
// error names the entry that is wrong.
func readCalendar(r io.Reader) (*Calendar, error) {
	data, err := io.ReadAll(io.LimitReader(r, maxCalendarBytes+1))
	if err != nil {
		return nil, fmt.Errorf("reading the calendar: %w", err)
	}
	if len(data) > maxCalendarBytes {
		return nil, errCalendarTooLong
	}
	file := calendarFile{SchoolDays: "Mo-Fr"}
	decoder := json.NewDecoder(bytes.NewReader(data))
	decoder.DisallowUnknownFields()
	if err := decoder.Decode(&file); err != nil {
		return nil, fmt.Errorf("calendar file is not the JSON expected: %w", err)
	}
	return file.calendar()
}

func (f calendarFile) calendar() (*Calendar, error) {
	c := &Calendar{note: f.Note}
	var errs [4]error
	c.schoolDays, errs[0] = parseDays("schoolDays", f.SchoolDays)
	c.terms, errs[1] = parseNamed("schoolTerms", f.SchoolTerms)
	c.breaks, errs[2] = parseNamed("schoolHolidays", f.SchoolHolidays)
	c.holidays, errs[3] = parseNamed("publicHolidays", f.PublicHolidays)
	if err := errors.Join(errs[:]...); err != nil {
		return nil, err
	}
	return c, nil
}

func parseNamed(field string, list []namedText) ([]namedDays, error) {
	var out []namedDays
	for i, item := range list {
		days, err := parseDays(fmt.Sprintf("%s[%d] %q", field, i, item.Name), item.Days)
		if err != nil {
			return nil, err
		}
		out = append(out, namedDays{item.Name, days})
	}
	return out, nil
}

func parseDays(field, text string) (rule, error) {
	o, err := Parse(text)
	if err != nil {
		return rule{}, fmt.Errorf("calendar field %s: %w", field, err)
	}
	r := o.rules[0]
	if len(o.rules) > 1 || len(r.spans) > 0 || r.state != Open || !r.dated() {
		return rule{}, fmt.Errorf("calendar field %s: %q must be dates only, without hours, ; or off", field, text)
	}
	for _, group := range r.days {
		for _, s := range group {
			if s.holiday != noHoliday {
				return rule{}, fmt.Errorf("calendar field %s: %q must not speak of PH or SH", field, text)
			}
		}
	}
	return r, nil
}

//go:embed default_calendar.json
var defaultCalendarJSON []byte

// DefaultCalendar gives the calendar used until a user gives one: our
// assumption, see its Note.
func DefaultCalendar() *Calendar { return defaultCalendar() }

var defaultCalendar = sync.OnceValue(func() *Calendar {
	c, err := readCalendar(bytes.NewReader(defaultCalendarJSON))
	if err != nil {
		panic(err) // the embedded file is wrong: a test holds it right
	}
	return c
})

// PublicHoliday tells if the day is a public holiday.
func (c *Calendar) PublicHoliday(d Date) bool { return c.Day(d) == PublicHoliday }

// SchoolHoliday tells if the day lies in the school holidays. A weekend in
// term does not, nor does a public holiday in term.
func (c *Calendar) SchoolHoliday(d Date) bool {
	return c.find(c.breaks, d) >= 0 || len(c.terms) > 0 && c.find(c.terms, d) < 0
}

// Day gives the kind of a day.
func (c *Calendar) Day(d Date) DayKind { return c.kinds.of(d, c.day) }

func (c *Calendar) day(d Date) DayKind {
	switch {
	case c.find(c.holidays, d) >= 0:
		return PublicHoliday
	case c.SchoolHoliday(d):
		return SchoolHoliday
	case c.schoolDays.covers(d, c):
		return SchoolDay
	}
	return TermWeekend
}

// find gives the place of the first entry that covers the day, or -1.
func (c *Calendar) find(list []namedDays, d Date) int {
	return slices.IndexFunc(list, func(n namedDays) bool { return n.days.covers(d, c) })
}
