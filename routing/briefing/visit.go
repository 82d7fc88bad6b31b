package briefing

import (
	"cmp"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"wideberth/exposure/learning"
	"wideberth/routing"
	"wideberth/routing/training"
)

// AboutTreats is the one figure for a visit's food: the most that may be wanted, rounded
// up to ten.
func (w Words) AboutTreats(high int) string {
	return w.Say("treats.about", "n", max(10, (high+9)/10*10))
}

// Dose is the caution of a visit that costs more than the usual dose besides what is
// watched: a head that says what of it costs most, and the parts in words; "" for a visit
// that keeps to it.
func (w Words) Dose(v *training.Visit) (head, text string) {
	if v.BesidesX() <= training.UsualMaxX {
		return "", ""
	}
	ways := v.In.ExpectedReactions + v.Home.ExpectedReactions + v.AsideX
	most := "ways"
	if v.OtherX > ways {
		most = "others"
	}
	return w.Say("dose." + most), w.Say("dose.text", "x", tenths(v.X), "ways", w.part(ways), "others", w.part(v.OtherX), "watched", w.part(v.WatchX))
}

// part is a part of a dose; what rounds to nothing is almost none.
func (w Words) part(x float64) string {
	if tenths(x) == "0.0" {
		return w.Say("dose.none")
	}
	return tenths(x)
}

func tenths(x float64) string { return strconv.FormatFloat(x, 'f', 1, 64) }

// VisitFacts are the facts of a visit, each with its head: when to leave, where to stand,
// what to expect, what to take, how to get away, when to move on.
func (w Words) VisitFacts(v *training.Visit, rule learning.Rule) (rows [][2]string) {
	add := func(key, text string) { rows = append(rows, [2]string{w.Say("stay.row." + key), text}) }
	until := v.Arrive.Add(time.Duration(v.StayS * float64(time.Second)))
	way := mostOf(v.In.Legs)
	leave := w.Say("stay.leave.at", "clock", w.Clock(v.Leave), "minutes", w.Minutes(v.In.DurationS), "street", Clip(way, MostNameRunes))
	if v.Car != nil {
		leave = w.Say("stay.leave.car", "clock", w.Clock(v.Departs()), "drive", w.Minutes(60*float64(DriveMinutes(v.Car.DriveS))), "place", Clip(w.Spot(&v.Car.Spot), MostNameRunes),
			"minutes", w.Minutes(v.In.DurationS), "street", Clip(way, MostNameRunes))
	}
	add("leave", leave)
	stand := w.Say("stay.stand", "from", w.Clock(v.Arrive), "to", w.Clock(until), "street", Clip(v.Street, MostNameRunes))
	if v.OffM > 0 {
		stand = w.Say("stay.stand.off", "from", w.Clock(v.Arrive), "to", w.Clock(until), "distance", w.Own(v.OffM), "street", Clip(v.Street, MostNameRunes))
	}
	add("stand", stand)
	key := "stay.expect.row"
	if v.Number < 1 {
		key = "stay.expect.row.few"
	}
	add("expect", w.Say(key, "n", int(math.Round(v.Number)), "low", int(v.LastsLowS), "high", int(v.LastsHighS)))
	add("take", w.Say("stay.take", "treats", w.AboutTreats(v.TreatsHigh)))
	var ways []string
	for _, name := range v.WaysOutBy {
		if by := w.WayOut(Clip(name, MostNameRunes)); !slices.Contains(ways, by) {
			ways = append(ways, by)
		}
	}
	if len(ways) == 0 {
		add("away", w.Say("visits.out.none"))
	} else {
		add("away", w.Say("stay.away", "ways", strings.Join(ways, w.Say("stay.or"))))
	}
	add("dose", w.DoseLine(v.BesidesX(), v.X))
	n, of := shareOf(rule.HandledShare)
	add("on", w.Say("stay.on", "visits", rule.VisitsInARow, "n", n, "of", of))
	return rows
}

// WayOut tells by what a way out leads: a street, or open ground for which there is no name.
func (w Words) WayOut(name string) string {
	if name == "" {
		return w.Say("stay.over")
	}
	return w.Say("stay.by", "name", name)
}

// DoseLine tells the expected reactions of a visit: besides what is watched, and in all.
func (w Words) DoseLine(besides, all float64) string {
	return w.Say("stay.dose", "besides", hundredths(besides), "all", hundredths(all))
}

// mostOf is the name that most of a way goes by.
func mostOf(legs []routing.Leg) string {
	long := map[string]float64{}
	best := ""
	for i := range legs {
		long[legs[i].Name] += legs[i].LengthM
	}
	for i := range legs {
		if best == "" || cmp.Compare(long[legs[i].Name], long[best]) > 0 {
			best = legs[i].Name
		}
	}
	return best
}

// mostShare is the largest denominator that a share is told with.
const mostShare = 10

// shareOf is a share in small whole numbers.
func shareOf(x float64) (n, of int) {
	for of := 1; of <= mostShare; of++ {
		if k := x * float64(of); math.Abs(k-math.Round(k)) < 1e-6 {
			return int(math.Round(k)), of
		}
	}
	return int(math.Round(x * mostShare)), mostShare
}
