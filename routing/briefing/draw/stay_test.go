package draw

import (
	"bytes"
	"html"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"wideberth/exposure/learning"
	"wideberth/osmdata/plane"
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
	v.Number, v.LastsLowS, v.LastsHighS, v.TreatsHigh = 5.6, 20, 61, 83
	v.X, v.In.ExpectedReactions, v.Home.ExpectedReactions, v.OtherX, v.WatchX = 1.22, 0.4, 0.3, 0.48, 0.04
	s.Walk.Watch = append(slices.Clone(s.Walk.Watch), routing.WatchPoint{What: training.StandPoint, Name: v.Vantage.Watched.Name, At: v.At, DistM: v.DistM})
	return s, v
}

func visitPageOf(t testing.TB, s *Scene, o *VisitSheet) string {
	t.Helper()
	var b bytes.Buffer
	o.Rule = learning.DefaultRule()
	if err := s.VisitSheet(&b, o); err != nil {
		t.Fatal(err)
	}
	return plain(html.UnescapeString(b.String()))
}

// TestPageOfAVisit: the sheet says when to leave, where to stand and until when, what to
// expect, how many treats, how to get away and when to move on; close work, a bite
// history and a dose over the usual have their cautions, from 1.5 times the working
// distance the first two have none.
func TestPageOfAVisit(t *testing.T) {
	const bite, nearby = "Bite history: a trainer must set this step.", "Close work can hurt. Stop at the first refusal of food."
	const dose = "Caution: the way is harder than the visit."
	for _, c := range []struct {
		name       string
		multiple   float64
		bite       bool
		units      briefing.Units
		has, lacks []string
	}{
		{"far", 2, true, briefing.Metric, []string{"Leave 07:10, stand 17:20 to 17:27, 76 m off", "(2 times the room Kessa needs)."}, []string{bite, nearby}},
		{"at the limit", 1.5, true, briefing.Metric, []string{"57 m off", "(1.5 times"}, []string{bite, nearby}},
		{"near", 1.25, false, briefing.Metric, []string{nearby, "(1.3 times"}, []string{bite}},
		{"near, with a bite history", 1.25, true, briefing.US, []string{nearby, bite, "ft off"}, []string{" m off"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			s, v := stayScene(t, briefing.Words{Units: c.units}, c.multiple)
			page := visitPageOf(t, s, &VisitSheet{Visit: v, Number: 3, Of: 7, Bite: c.bite, Paper: A4})
			for _, text := range append(c.has, "visit 3 of 7, watching Dog field", "Upper Street", "about 6, each for 20 to 61 s", "about 90 treats, harness and le", dose,
				"About 1.2 reactions are expected: 0.7 on the way there and back, 0.5 from passers-by, almost none from what is watched.",
				"by Lime Lane or by the footpath, from the first refusal of food on", "after 2 good visits in a row: 4 of 5 handled, none over", "Write down", "Seen ____", "turns back to you",
				"After a bite or a sudden change", "© OpenStreetMap contributors", "A prediction from a map, not a promise") {
				if !strings.Contains(page, text) {
					t.Errorf("the sheet lacks %q", text)
				}
			}
			for _, text := range append(c.lacks, "of 10", `class="columns"`) {
				if strings.Contains(page, text) {
					t.Errorf("the sheet has %q", text)
				}
			}
			if n := strings.Count(page, `class="sheet`); n != 1 {
				t.Errorf("%d sheets", n)
			}
		})
	}
	s, v := stayScene(t, briefing.Words{}, 2)
	v.Number, v.X = 0.8, 0.25
	page := visitPageOf(t, s, &VisitSheet{Visit: v, Paper: USLetter})
	if !strings.Contains(page, "one or none, for 20 to 61 s") {
		t.Error("fewer than one is not told as one or none")
	}
	if strings.Contains(page, dose) || strings.Contains(page, "visit 0") {
		t.Error("a visit within the dose has its caution, or one of no sequence a number")
	}
	if err := s.VisitSheet(&bytes.Buffer{}, &VisitSheet{Visit: v, Paper: "a3"}); err == nil {
		t.Error("printed on a paper there is not")
	}
}

// TestPageOfAVisitHasRoom reckons the lines under the picture with the longest names:
// nothing may run over the foot on either paper.
func TestPageOfAVisitHasRoom(t *testing.T) {
	const lineMM, smallMM, headMM, sizeMM, smallSizeMM, padMM, listMM, footMM = 4.6, 3.7, 7.8, 10.1 * 25.4 / 72, 8.6 * 25.4 / 72, 2.2, 5, 9
	long := strings.Repeat("Upper Wilmington Marketgate ", 3)
	for _, units := range []briefing.Units{briefing.Metric, briefing.US} {
		for paper, room := range map[Paper]float64{A4: 276 - 144 - footMM, USLetter: 258 - 131 - footMM} {
			s, v := stayScene(t, briefing.Words{Units: units}, 1)
			v.Street, v.Vantage.Watched.Name, v.WaysOutBy = long, long, []string{"a " + long, "b " + long}
			doc := s.visitTexts(&VisitSheet{Visit: v, Number: 3, Of: 7, Bite: true, Rule: learning.DefaultRule(), Paper: paper}, "")
			facts := 6 + lineMM*float64(len(wrap(doc.CautionHead+" "+doc.Caution, 109, sizeMM, true, 99)))
			for _, r := range doc.Rows {
				facts += padMM + lineMM*float64(len(wrap(r.Text, 92, sizeMM, false, 99)))
			}
			for _, text := range doc.Cautions {
				facts += 1.2 + smallMM*float64(len(wrap(text, 116, smallSizeMM, false, 99)))
			}
			beside := 0.0
			for _, l := range doc.Lists {
				beside += headMM
				for _, text := range append(l.Lines, l.Text) {
					if text != "" {
						beside += lineMM * float64(len(wrap(text, sheetSizes[paper].width-121-listMM, sizeMM, false, 99)))
					}
				}
			}
			if facts > room || beside > room {
				t.Errorf("units %d, %s: %.0f mm of facts and %.0f mm of lists in %.0f mm", units, paper, facts, beside, room)
			}
		}
	}
}

// TestArcOfEqualDistance: all of the arc is as far from what is watched as the stand,
// which lies on it; round a point it is the circle's arc of 35 degrees to each side.
func TestArcOfEqualDistance(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		var pts []plane.Point
		for range rapid.IntRange(1, 12).Draw(r, "corners") {
			pts = append(pts, plane.Point{X: rapid.Float64Range(-60, 60).Draw(r, "x"), Y: rapid.Float64Range(-60, 60).Draw(r, "y")})
		}
		hull := hullOf(pts)
		far := rapid.Float64Range(12, 90).Draw(r, "far")
		on := grown(hull, far)
		at := on[rapid.IntRange(0, len(on)-1).Draw(r, "stand")]
		sees := hull[0]
		for _, q := range hull {
			if q.DistanceM(at) < sees.DistanceM(at) {
				sees = q
			}
		}
		v := &training.Visit{}
		v.At, v.Sees = at, sees
		arc := equalArc(hull, v)
		if len(arc) < arcSteps {
			r.Fatalf("%d places on the arc", len(arc))
		}
		want := offHull(hull, at)
		for _, q := range arc {
			if d := offHull(hull, q); math.Abs(d-want) > 0.01 {
				r.Errorf("%.2f m off where the stand is %.2f m off", d, want)
			}
		}
		if _, _, d := arc.Nearest(at); d > 1 {
			r.Errorf("the stand is %.2f m beside its arc", d)
		}
		if len(hull) == 1 {
			if a, b := arc[0].Sub(sees), arc[len(arc)-1].Sub(sees); math.Abs(math.Acos(a.Dot(b)/(a.NormM()*b.NormM()))*180/math.Pi-70) > 0.1 {
				r.Error("the arc is not of 35 degrees to each side")
			}
		}
	})
}
