package briefing

import (
	"errors"
	"math"

	"wideberth/osmdata/fault"
	"wideberth/routing/drive"
	"wideberth/routing/errand"
	"wideberth/routing/parking"
	"wideberth/routing/reach"
)

// Spot tells what a place to leave a car is called.
func (w Words) Spot(s *parking.Spot) string {
	n := s.Name
	what := n.Head
	switch {
	case n.Head != "" && n.Street != "":
		what = w.Say("where.name.by", "name", n.Head, "street", n.Street)
	case n.Street != "":
		what = n.Street
	}
	name := w.spotAt(what, &n)
	if n.Nth > 0 {
		name = w.Say("where.name.nth", "name", name, "n", n.Nth)
	}
	return name
}

// spotAt puts a place beside its settlement.
func (w Words) spotAt(what string, n *parking.Name) string {
	toward := ""
	if n.Toward != "" {
		toward = w.Say("where.toward." + n.Toward)
	}
	form := "in"
	switch {
	case n.Settlement == "":
		form = "alone"
	case n.AwayM > 0:
		form = "away"
	case n.Toward != "":
		form = "toward"
	}
	if what == "" {
		return w.Say("where.nameless."+form, "place", n.Settlement, "toward", toward, "distance", w.Far(n.AwayM))
	}
	if form == "alone" {
		return what
	}
	return w.Say("where.name."+form, "name", what, "place", n.Settlement, "toward", toward, "distance", w.Far(n.AwayM))
}

// driveStepS is what times of drives are rounded to: nobody has held them against a
// clock.
const driveStepS = 300

// DriveMinutes is a drive as it is told: to five minutes, five at least.
func DriveMinutes(s float64) int { return int(max(1, math.Round(s/driveStepS)) * driveStepS / 60) }

// Drive tells how long a drive takes: "about 15 min".
func (w Words) Drive(s float64) string { return w.Say("where.drive", "n", DriveMinutes(s)) }

// OptionName tells what an option is: the place, or the door and when.
func (w Words) OptionName(o *errand.Option) string {
	switch o.Kind {
	case errand.DoorNow:
		return w.Say("where.door.now")
	case errand.DoorLater:
		return w.Say("where.door.later", "time", w.hour(o.Leave))
	}
	return w.Spot(o.Spot)
}

// OptionNotes tells what else to know of an option, most binding first.
func (w Words) OptionNotes(o *errand.Option) (out []string) {
	if o.Spot != nil {
		switch o.Spot.Sort {
		case parking.Lot:
			out = append(out, w.Say("where.lot"))
		case parking.Roadside:
			out = append(out, w.Say("where.roadside"))
		}
	}
	if o.Dark {
		out = append(out, w.Say("where.dark"))
	}
	for _, n := range o.Plan.Notes {
		out = append(out, w.Note(n))
	}
	return out
}

// Choices tells how the options were found, and what there is not.
func (w Words) Choices(c *errand.Choices) (out []string) {
	places, later := 0, false
	for i := range c.Options {
		switch c.Options[i].Kind {
		case errand.ByCar:
			places++
		case errand.DoorLater:
			later = true
		}
	}
	if none := (*reach.Infeasible)(nil); errors.As(c.NoDoor, &none) {
		out = append(out, w.Say("where.no_door", "why", w.Refusal(none, 0)))
	}
	switch {
	case c.NoLater:
		out = append(out, w.Say("where.no_later"))
	case !later:
		out = append(out, w.Say("where.no_better"))
	}
	minutes := int(math.Round(c.Drive.Minutes()))
	switch {
	case c.NoRoads:
		out = append(out, w.Say("where.no_roads"))
	case c.Drive == 0:
	case c.InReach == 0:
		out = append(out, w.Say("where.no_places", "n", minutes))
	default:
		if places == 0 {
			out = append(out, w.Say("where.no_saving"))
		}
		key := "where.looked"
		if c.Looked == c.InReach {
			key = "where.looked_all"
		}
		out = append(out, w.Say(key, "looked", c.Looked, "all", c.InReach, "n", minutes))
	}
	return out
}

// drives tells what the times of drives rest on.
func (w Words) drives(key string) string {
	return w.Say(key, "share", fault.Number(drive.SpeedShare), "junction", drive.JunctionS, "parking", w.MinutesSpelt(drive.ParkingS))
}
