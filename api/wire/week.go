package wire

import (
	"time"

	"wideberth/api/wire/kept"
	"wideberth/routing"
	"wideberth/routing/briefing"
)

// WeekBody asks for the quiet hours of a wish.
type WeekBody struct {
	WishBody
	Hours     int             `json:"hours,omitempty" minimum:"1" maximum:"336" doc:"How many whole hours from the departure's on; left out: a week."`
	FreeHours *kept.FreeHours `json:"free_hours,omitempty" doc:"The best windows keep to them. Left out: those kept with the account, else 06:00-22:00 in daylight or on lit ways."`
}

// HourInfo is what one hour offers.
type HourInfo struct {
	Depart            string  `json:"depart" example:"2026-11-25T07:00:00-05:00"`
	Found             bool    `json:"found" doc:"There is a walk that keeps the limits."`
	CalmChance        float64 `json:"calm_chance"`
	ExpectedReactions float64 `json:"expected_reactions"`
	Strain            float64 `json:"strain" doc:"What moving traffic, wide crossings and the dark count beside them; hours are ranked by both."`
	DurationS         float64 `json:"duration_s"`
	Level             string  `json:"level" enum:"calm,some,tight,hard"`
	Most              string  `json:"most" doc:"What adds most to it."`
	MostKind          string  `json:"most_kind"`
	Dark              bool    `json:"dark"`
	Free              bool    `json:"free" doc:"Within the free hours and, unless they say otherwise, in daylight or on lit ways."`
}

// Week is what the hours of a week offer.
type Week struct {
	Hours       []HourInfo `json:"hours" doc:"In order of time."`
	Best        []int      `json:"best" doc:"The best three windows as indices of hours, best first; within the free hours, no two on neighbouring hours."`
	TimeZone    string     `json:"time_zone"`
	Attribution string     `json:"attribution"`
	Caution     string     `json:"caution"`
}

// mostWindows is how many of the best hours are named.
const mostWindows = 3

// NewWeek makes the JSON form of an outlook hour by hour.
func NewWeek(hours []routing.HourOutlook, zone *time.Location, words briefing.Words) Week {
	out := Week{TimeZone: zone.String(), Attribution: Attribution, Caution: Caution(words), Best: routing.BestWindows(hours, mostWindows)}
	for _, h := range hours {
		info := HourInfo{Depart: h.Depart.Format(time.RFC3339), Found: h.Found, CalmChance: round(h.CalmChance, 4),
			ExpectedReactions: round(h.Reactions, 5), Strain: round(h.Strain, 5), DurationS: round(h.DurationS, 0), Most: words.Met(h.Most, h.MostKind), Dark: h.Dark, Free: h.Free,
			Level: routing.LevelOf(h.Reactions / max(h.DurationS, 1)).String()}
		if h.Most != "" {
			info.MostKind = h.MostKind.String()
		}
		out.Hours = append(out.Hours, info)
	}
	return out
}
