package briefing

import (
	"math"
	"strings"

	"wideberth/routing"
	"wideberth/routing/briefing/message"
	"wideberth/routing/reach"
)

// Covers tells what the proof of a walk is about, without a full stop: which walks,
// of which sum, and which walks and what ground are left out. "" where nothing is
// proved.
func (w Words) Covers(q routing.Quality) string {
	c := &q.Covers
	if c.Shape == "" {
		return ""
	}
	better := w.Say("covers.better")
	if !q.Proved {
		better = w.Say("covers.better.by", "n", math.Ceil(max(1, q.WithinPct)))
	}
	return w.Say("covers."+string(c.Shape), "from", message.Fixed(c.MinS/60, 0), "to", message.Fixed(c.MaxS/60, 0),
		"better", better, "sum", w.listed(w.sumOf(c)))
}

// sumOf lists what the sum of a proof is made of.
func (w Words) sumOf(c *routing.Covered) []string {
	sum := []string{w.Say("covers.sum.reactions")}
	switch c.StrainWeight {
	case 0:
	case 1:
		sum = append(sum, w.Say("covers.sum.strain"))
	default:
		sum = append(sum, w.Say("covers.sum.strain.times", "n", c.StrainWeight))
	}
	if c.Soft {
		sum = append(sum, w.Say("covers.sum.soft", "n", reach.HardPerMin))
	}
	if c.Shape == routing.Calmest {
		sum = append(sum, w.Say("covers.sum.turns", "n", reach.TurnEach, "more", reach.TurnMore))
	}
	if c.Shape != routing.ThereAndBack {
		sum = append(sum, w.Say("covers.sum.again"))
	}
	return sum
}

// listed joins words as a list in a sentence.
func (w Words) listed(words []string) string {
	last := len(words) - 1
	if last == 0 {
		return words[0]
	}
	return w.Say("walk.two", "first", strings.Join(words[:last], ", "), "second", words[last])
}

// Ground tells what there is on a walk beside the reactions: minutes beside traffic
// and on soft ground, and its form where it is no plain loop. "4 min beside main
// roads · 12 min on soft ground · there and back".
func (w Words) Ground(walk *routing.Walk) string {
	road := w.Say("walk.road.none")
	if walk.MainRoadS >= leastRoadS {
		road = w.Say("walk.road", "n", wholeMinutes(walk.MainRoadS))
	}
	parts := []string{road, w.Say("walk.soft", "n", math.Round(walk.SoftGroundS/60))}
	back := walk.Shape == routing.ThereAndBack
	switch {
	case back:
		parts = append(parts, w.Say("walk.form.back"))
	case walk.TailS >= leastTailS:
		parts = append(parts, w.Say("walk.form.tail", "n", wholeMinutes(walk.TailS)))
	}
	if !back && walk.Turns > 0 {
		parts = append(parts, w.Say("walk.form.turns", "n", walk.Turns))
	}
	return strings.Join(parts, " · ")
}

// Less of either than this is not told.
const (
	leastRoadS = 30
	leastTailS = 60
)
