package exposure

import (
	"testing"

	"wideberth/osmdata"
	"wideberth/osmdata/plane"
)

func TestRuleTable(t *testing.T) {
	seen := map[string]bool{}
	for i := range sourceRules {
		r := &sourceRules[i]
		if seen[r.as] || r.noun == "" || len(r.rules) == 0 {
			t.Errorf("row %q is double or empty", r.as)
		}
		seen[r.as] = true
		if len(r.mix) == 0 {
			continue
		}
		if r.radiusM <= 0 || r.basis == "" || r.least > r.most {
			t.Errorf("%s: %+v", r.as, r)
		}
		visual := float32(0)
		for _, m := range r.mix {
			if !m.kind.Info().Heard || m.kind == DogBehindFence {
				visual += m.share
			}
			if m.share == 0 && m.perDay == 0 {
				t.Errorf("%s has a part without a number", r.as)
			}
			if (m.perDay > 0) != (m.kind.Info().Motion == SoundEvent) {
				t.Errorf("%s: %s is an event or not", r.as, m.kind)
			}
		}
		if visual > 1.0001 {
			t.Errorf("%s: parts add up to %g", r.as, visual)
		}
	}
	for _, r := range Rules() {
		if !seen[r.As] || r.Key == "" {
			t.Errorf("rule %+v", r)
		}
	}
}

func TestNewSource(t *testing.T) {
	area := []plane.Polygon{square(0, 0, 50)} // one hectare
	for _, c := range []struct {
		name       string
		ft         osmdata.Feature
		ok         bool
		capacity   float32
		radius     float32
		firstKind  Kind
		firstCount float32
	}{
		{"school as an area", osmdata.Feature{As: "school", Areas: area}, true, 40, 0, Child, 38},
		{"school as a node", osmdata.Feature{As: "school"}, true, 40, 60, Child, 38},
		{"large school", osmdata.Feature{As: "school", Areas: []plane.Polygon{square(0, 0, 300)}}, true, 200, 0, Child, 190},
		{"small dog park", osmdata.Feature{As: "dog_park", Areas: []plane.Polygon{square(0, 0, 10)}}, true, 2, 0, DogOffLead, 1},
		{"a shop is a destination", osmdata.Feature{As: "shop"}, false, 0, 0, 0, 0},
		{"no rule", osmdata.Feature{As: "volcano"}, false, 0, 0, 0, 0},
	} {
		s, ok := NewSource(&c.ft)
		if ok != c.ok {
			t.Errorf("%s: %v", c.name, ok)
			continue
		}
		if !ok {
			continue
		}
		if s.Capacity != c.capacity || s.RadiusM != c.radius || s.Mix[0].Kind != c.firstKind || !agrees(float64(s.Mix[0].Present), float64(c.firstCount), 1e-6) || !s.Assumed {
			t.Errorf("%s: %+v", c.name, s)
		}
	}
	s, _ := NewSource(&osmdata.Feature{As: "outdoor_seating", Tags: map[string]string{"opening_hours": "Mo-Su 10:00-18:00"}})
	if s.Hours != "Mo-Su 10:00-18:00" || SourceNoun(s.As) != "terrace" || SourceNoun("a yard") != "a yard" || s.Reported() {
		t.Errorf("%+v", s)
	}
}

// Opening hours close a source, keep an open one awake, and do no harm when they
// cannot be read.
func TestOpeningHoursOfSources(t *testing.T) {
	level := func(tagged, when string) float64 {
		f := emptyField(1)
		s, _ := NewSource(&osmdata.Feature{As: "outdoor_seating", Tags: map[string]string{"opening_hours": tagged}})
		f.Sources = []Source{s}
		return f.level(tempoAt(at(t, when)), 0)
	}
	profile := level("", lateEvening)
	if got := level("Mo-Fr 08:00-18:00", lateEvening); got != 0 {
		t.Errorf("closed: %g", got)
	}
	if got := level("Mo-Su 08:00-24:00", "2026-11-04 23:30"); got != openFloor {
		t.Errorf("open at a dead hour: %g", got)
	}
	if got := level("whenever we feel like it ((", lateEvening); got != profile {
		t.Errorf("unreadable: %g, want the profile's %g", got, profile)
	}
}

func TestPartsOfTheDay(t *testing.T) {
	for hour, want := range map[int]DayPart{0: Night, 4: Night, 5: Morning, 9: Morning, 10: Midday, 15: Midday, 16: Evening, 20: Evening, 21: Night, 23: Night} {
		if got := PartOf(hour); got != want {
			t.Errorf("hour %d is %s, want %s", hour, got, want)
		}
	}
	if PlaceCentre.String() != "centre" || PlaceKindCount.String() != "industry" || DayPartCount.String() != "night" {
		t.Error("names of places and parts")
	}
}
