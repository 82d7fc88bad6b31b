package api_test

import (
	"math"
	"strings"
	"testing"
)

// TestStrainIsToldApart: a plan tells strain, minutes beside main roads and on soft
// ground beside the reactions, the legs add up to the walk, and a proof says what it
// is about; a wish sets how much strain counts.
func TestStrainIsToldApart(t *testing.T) {
	_, h := memory(t, true)
	type plan struct {
		Walks []struct {
			Shape       string
			X           float64 `json:"expected_reactions"`
			Strain      float64
			MainRoadS   float64 `json:"main_road_s"`
			SoftGroundS float64 `json:"soft_ground_s"`
			DurationS   float64 `json:"duration_s"`
			TimesBest   float64 `json:"times_best"`
			Quality     struct {
				Sum    float64
				Proved bool
				Within float64 `json:"within_percent"`
				Covers string
			}
			Legs []struct{ Strain float64 }
		}
	}
	ask := func(more string) (p plan) {
		t.Helper()
		send(t, h, "POST", "/v1/plans", "", wish(`,"minutes":30`+more+kessa), 200, &p)
		return p
	}
	usual := ask("")
	for i, w := range usual.Walks {
		legs := 0.0
		for _, l := range w.Legs {
			legs += l.Strain
		}
		if math.Abs(legs-w.Strain) > 1e-4 {
			t.Errorf("walk %d: the legs have a strain of %g, the walk %g", i, legs, w.Strain)
		}
		if w.MainRoadS < 0 || w.MainRoadS > w.DurationS+1 || w.SoftGroundS < 0 || w.SoftGroundS > w.DurationS+1 {
			t.Errorf("walk %d: %g s beside main roads, %g s on soft ground of %g", i, w.MainRoadS, w.SoftGroundS, w.DurationS)
		}
		if best := &usual.Walks[0]; math.Abs(w.TimesBest-(w.X+w.Strain)/(best.X+best.Strain)) > 0.01 {
			t.Errorf("walk %d: %g times the best", i, w.TimesBest)
		}
		if w.Quality.Sum < w.X+w.Strain-1e-3 {
			t.Errorf("walk %d: a sum of %g, but %g and %g", i, w.Quality.Sum, w.X, w.Strain)
		}
	}
	for more, kind := range map[string]string{"": "no walk of", `,"shape":"loop"`: "no loop of", `,"shape":"there_and_back"`: "no walk there and back"} {
		q := ask(more).Walks[0].Quality
		if told := q.Proved || q.Within >= 0; told != (q.Covers != "") || told && !strings.HasPrefix(q.Covers, kind) {
			t.Errorf("%s: %+v", more, q)
		}
	}
	for setting, want := range map[string]string{"none": "", "usual": "the strain of", "strict": "3 times the strain of"} {
		p := ask(`,"strain":"` + setting + `","shape":"there_and_back"`) // whose proof takes no time
		if c := p.Walks[0].Quality.Covers; c == "" || want == "" && strings.Contains(c, "strain") || !strings.Contains(c, want) {
			t.Errorf("strain %s: %q", setting, c)
		}
	}
	send(t, h, "POST", "/v1/plans", "", wish(`,"minutes":30,"strain":"lots"`+kessa), 422, nil)
	var e struct {
		Strain  float64 `json:"strain_in_ten_minutes"`
		Traffic []struct {
			Pavement string
			Strain   float64 `json:"strain_in_ten_minutes"`
		}
	}
	send(t, h, "POST", "/v1/explain", "", `{"edge":0,"depart":"2026-11-25T08:10:00Z"`+kessa+`}`, 200, &e)
	sum := 0.0
	for _, r := range e.Traffic {
		sum += r.Strain
	}
	if math.Abs(sum-e.Strain) > 1e-4 {
		t.Errorf("the roads make %g, told %g", sum, e.Strain)
	}
}
