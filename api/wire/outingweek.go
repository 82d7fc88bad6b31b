package wire

import (
	"fmt"
	"slices"
	"time"

	"wideberth/osmdata/fault"
	"wideberth/osmdata/plane"
	"wideberth/routing/briefing"
	"wideberth/routing/outing/week"
)

// OutingWeekBody asks for an outing that recurs.
type OutingWeekBody struct {
	Outing OutingBody `json:"outing" doc:"Of the first day; its hours of the clock hold on all."`
	Days   int        `json:"days" minimum:"1" maximum:"7" doc:"From the first day on." example:"5"`
	Skip   []string   `json:"skip,omitempty" maxItems:"40" enum:"mon,tue,wed,thu,fri,sat,sun" doc:"Days of the week without an outing."`
}

// Skipped are the days left out; names that are none are fault.Problems.
func (b *OutingWeekBody) Skipped() ([]time.Weekday, error) {
	days, wrong := weekdays("/skip", b.Skip)
	return days, wrong.Err()
}

// weekdays reads days of the week.
func weekdays(pointer string, names []string) (out []time.Weekday, wrong fault.Problems) {
	for k, name := range names {
		day := slices.Index(Weekdays[:], name)
		if day < 0 {
			wrong = append(wrong, fault.Problem{Pointer: fmt.Sprintf("%s/%d", pointer, k), Value: fmt.Sprintf("%q", name), Mend: "use mon, tue, wed, thu, fri, sat, sun"})
		}
		out = append(out, time.Weekday(day))
	}
	return out, wrong
}

// OutingWeek is the plan of all days.
type OutingWeek struct {
	Days     []OutingDay `json:"days"`
	Loads    []WeekLoad  `json:"loads" doc:"What everybody walks in all."`
	Fairness float64     `json:"fairness" doc:"Jain's index of these by hours: 1 where all walk the same share of their time."`
	Dogs     []WeekDog   `json:"dogs"`
}

// OutingDay is one day of it.
type OutingDay struct {
	Start     string     `json:"start"`
	Timetable *Timetable `json:"timetable,omitempty" doc:"Without legs; left out where every dog rests or nobody comes."`
}

// WeekLoad is what one person walks in all.
type WeekLoad struct {
	Person       string `json:"person"`
	ThereMinutes int    `json:"there_minutes"`
	WalkMinutes  int    `json:"walk_minutes" doc:"At the slowest pace."`
	Walks        int    `json:"walks"`
}

// WeekDog is what one dog has of it.
type WeekDog struct {
	Dog            string  `json:"dog"`
	Walks          int     `json:"walks"`
	Rests          int     `json:"rests" doc:"Days off."`
	LeftIn         int     `json:"left_in" doc:"Days on which no walk could be had."`
	WishedMinutes  float64 `json:"wished_minutes"`
	GrantedMinutes float64 `json:"granted_minutes"`
}

// NewOutingWeek makes the JSON form of a week drawn in frame f.
func NewOutingWeek(w *week.Week, f plane.Frame, words briefing.Words) OutingWeek {
	out := OutingWeek{Days: []OutingDay{}, Loads: []WeekLoad{}, Dogs: []WeekDog{}, Fairness: round(w.Fairness(), 3)}
	for _, d := range w.Days {
		day := OutingDay{Start: d.Start.Format(time.RFC3339)}
		if d.Timetable != nil {
			t := NewTimetable(d.Timetable, f, words)
			for i := range t.Rows {
				t.Rows[i].Walk = nil
			}
			day.Timetable = &t
		}
		out.Days = append(out.Days, day)
	}
	for _, l := range w.Loads {
		out.Loads = append(out.Loads, WeekLoad{l.Person, l.HoursMin, l.WalkMin, l.Walks})
	}
	for _, d := range w.Dogs {
		out.Dogs = append(out.Dogs, WeekDog{d.Name, d.Walks, d.Rests, d.LeftIn, round(d.WishedMin, 1), round(d.GrantedMin, 1)})
	}
	return out
}
