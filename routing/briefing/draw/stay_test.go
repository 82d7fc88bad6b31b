package draw

import (
	"bytes"
	"html"
	"slices"
	"strings"
	"testing"
	"time"

	"wideberth/routing"
	"wideberth/routing/briefing"
	"wideberth/routing/briefing/blocktest"
	"wideberth/routing/training"
)

// stayScene is the block as a training visit at some multiple of 38 m.
func stayScene(t testing.TB, w briefing.Words, multiple float64) (*Scene, *training.Visit) {
	t.Helper()
	s := blockScene(t, w)
	v := blocktest.Visit(s.Walk)
	v.Multiple, v.DistM, v.Street = multiple, 38*multiple, "Upper Street"
	v.Arrive, v.StayS = time.Date(2026, 11, 25, 17, 20, 0, 0, time.UTC), 450
	v.Number, v.LastsLowS, v.LastsHighS = 5.6, 20, 61
	s.Walk.Watch = append(slices.Clone(s.Walk.Watch), routing.WatchPoint{What: training.StandPoint, Name: v.Vantage.Watched.Name, At: v.At, DistM: v.DistM})
	return s, v
}

func stayPage(t testing.TB, s *Scene, stay *Stay, paper Paper) string {
	t.Helper()
	var b bytes.Buffer
	if err := s.HandOut(&b, HandOutOptions{Paper: paper, Stay: stay}); err != nil {
		t.Fatal(err)
	}
	return plain(html.UnescapeString(b.String()))
}

// TestPageOfAVisit: the page says where to stand and until when, what to expect, the
// ways out, the treats as a range and when to stop; close work and a bite history
// have their cautions, from 1.5 times the working distance they have none.
func TestPageOfAVisit(t *testing.T) {
	const bite, nearby = "Bite history: a trainer must set this step.", "Close work can hurt. Stop at the first refusal of food."
	for _, c := range []struct {
		name       string
		multiple   float64
		bite       bool
		units      briefing.Units
		has, lacks []string
	}{
		{"far", 2, true, briefing.Metric, []string{"17:20 to 17:27: 76 m off, 2 times the working distance."}, []string{bite, nearby}},
		{"at the limit", 1.5, true, briefing.Metric, []string{"57 m off, 1.5 times"}, []string{bite, nearby}},
		{"near", 1.25, false, briefing.Metric, []string{nearby, "1.3 times"}, []string{bite}},
		{"near, with a bite history", 1.25, true, briefing.US, []string{nearby, bite, "ft off"}, []string{" m off"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			s, v := stayScene(t, briefing.Words{Units: c.units}, c.multiple)
			page := stayPage(t, s, &Stay{Visit: v, Bite: c.bite}, A4)
			for _, text := range append(c.has, "Watching Dog field", "Stand at ", "Upper Street", "Expect about 6, 20 seconds to 60 seconds each.", "treats", "Away by Lime Lane or by the footpath.",
				"Leave when food is refused or turning back stops.", "After a bite or a sudden change", "© OpenStreetMap contributors", "A prediction from a map, not a promise") {
				if !strings.Contains(page, text) {
					t.Errorf("the page lacks %q", text)
				}
			}
			for _, text := range append(c.lacks, "Room Kessa needs") {
				if strings.Contains(page, text) {
					t.Errorf("the page has %q", text)
				}
			}
			if n := strings.Count(page, `class="sheet"`); n != 1 {
				t.Errorf("%d sheets", n)
			}
		})
	}
	s, v := stayScene(t, briefing.Words{}, 2)
	v.Number = 0.8
	if page := stayPage(t, s, &Stay{Visit: v}, A4); !strings.Contains(page, "Expect one or none, 20 seconds to 60 seconds.") {
		t.Error("fewer than one is not told as one or none")
	}
}

// TestPageOfAVisitHasRoom reckons the lines beside the map with the longest names:
// the place and the advice must not run into each other on either paper.
func TestPageOfAVisitHasRoom(t *testing.T) {
	const lineMM, headMM, sizeMM, topMM, listMM = 4.6, 7.8, 10.1 * 25.4 / 72, 20.5, 5
	long := strings.Repeat("Upper Wilmington Marketgate ", 3)
	for _, units := range []briefing.Units{briefing.Metric, briefing.US} {
		for paper, upperMM := range map[Paper]float64{A4: 137.5, USLetter: 128.5} {
			s, v := stayScene(t, briefing.Words{Units: units}, 1)
			v.Street, v.Vantage.Watched.Name, v.WaysOutBy = long, long, []string{"a " + long, "b " + long}
			size := sheetSizes[paper]
			h := s.handOutTexts(&HandOutOptions{Paper: paper, Stay: &Stay{Visit: v, Bite: true}}, size)
			width, high := size.width-120, 3*headMM
			for _, text := range append(slices.Clone(h.Times), h.Stop) {
				high += lineMM * float64(len(wrap(text, width, sizeMM, false, 99)))
			}
			for _, text := range h.Close {
				high += lineMM * float64(len(wrap(text, width-listMM, sizeMM, false, 99)))
			}
			if room := upperMM - topMM - 1; high > room {
				t.Errorf("units %d, %s: %.0f mm of text in %.0f mm", units, paper, high, room)
			}
		}
	}
}
