package learning

import (
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"

	"wideberth/exposure"
)

func exactly(m float64) Near { return Near{Known: true, M: m} }

// TestInside: what is known of a distance decides; what nobody knows counts, as it
// was worth logging.
func TestInside(t *testing.T) {
	const working = 38
	for _, c := range []struct {
		name string
		near Near
		want bool
	}{
		{"nobody knows", Near{}, true},
		{"nearer", exactly(37.9), true},
		{"just there", exactly(38), false},
		{"about there", Near{Known: true, Bound: About, M: 38}, true},
		{"about farther", Near{Known: true, Bound: About, M: 38.1}, false},
		{"nearer than something far off", Near{Known: true, Bound: NearerThan, M: 90}, true},
		{"farther than it", Near{Known: true, Bound: FartherThan, M: 38}, false},
		{"farther than something nearer", Near{Known: true, Bound: FartherThan, M: 10}, true},
		{"between, beginning inside", Near{Known: true, M: 15, ToM: 60}, true},
		{"between, beginning there", Near{Known: true, M: 38, ToM: 60}, false},
	} {
		if got := c.near.inside(working); got != c.want {
			t.Errorf("%s: inside %v", c.name, got)
		}
	}
}

// TestMeetingAsEncounter: names become kind and category, a stretch its geometric
// mean, and what says nothing of distances is left out.
func TestMeetingAsEncounter(t *testing.T) {
	when := time.Date(2026, 11, 25, 7, 10, 0, 0, time.UTC)
	m := Meeting{Name: "dog_on_lead", Place: "park", When: when, Near: exactly(20), NoticedM: 60, Outcome: TookFood, Sudden: true}
	got, ok := m.encounter()
	if want := (Encounter{"dog_on_lead", "dogs", when, 20, Exact, 60, TookFood, true}); !ok || got != want {
		t.Errorf("%+v, want %+v", got, want)
	}
	m.Name, m.Near = "people", Near{Known: true, M: 16, ToM: 36}
	if got, ok = m.encounter(); !ok || got.Kind != "" || got.Category != "people" || got.Bound != About || got.DistanceM != 24 {
		t.Errorf("a stretch from 16 to 36 m with people: %+v", got)
	}
	for name, m := range map[string]Meeting{"a draft": {Near: exactly(20)}, "nobody knows how near": {Name: "dogs"}} {
		if _, ok := m.encounter(); ok {
			t.Errorf("%s says something", name)
		}
	}
}

// TestEncountersCanBeLearnt: whatever was logged within bounds is taken by Learn.
func TestEncountersCanBeLearnt(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		m := anyMeeting().Draw(rt, "meeting")
		m.When = today
		row, ok := m.encounter()
		if !ok {
			return
		}
		if err := row.check(0, today); err != nil {
			rt.Errorf("%+v gives %v", m, err)
		}
		if m.Near.ToM > 0 && !(row.DistanceM >= m.Near.M && row.DistanceM <= m.Near.ToM) {
			rt.Errorf("%v m is not between %v and %v", row.DistanceM, m.Near.M, m.Near.ToM)
		}
	})
}

// anyMeeting draws what can be logged.
func anyMeeting() *rapid.Generator[Meeting] {
	return rapid.Custom(func(t *rapid.T) Meeting {
		m := Meeting{
			Name:    rapid.SampledFrom([]string{"", "dog_on_lead", "dog_off_lead", "child", "adult", "dogs", "people", "bells"}).Draw(t, "name"),
			Place:   rapid.SampledFrom([]string{"", "park", "woods", "industry", "a name no longer in use"}).Draw(t, "place"),
			Outcome: Outcome(rapid.IntRange(0, int(WentOver)).Draw(t, "outcome")),
			Sudden:  rapid.Bool().Draw(t, "sudden"),
		}
		if rapid.Bool().Draw(t, "known") {
			m.Near = Near{Known: true, Bound: Bound(rapid.IntRange(0, int(FartherThan)).Draw(t, "bound")), M: rapid.Float64Range(0.1, exposure.MostMetM).Draw(t, "m")}
			if m.Near.Bound == Exact && rapid.Bool().Draw(t, "stretch") {
				m.Near.ToM = math.Min(exposure.MostMetM, m.Near.M*rapid.Float64Range(1.01, 3).Draw(t, "to"))
			}
		}
		return m
	})
}

func TestMayBe(t *testing.T) {
	for name, want := range map[string]bool{"": true, "child": true, "people": true, "adult": false, "dogs": false} {
		if got := (&Meeting{Name: name}).mayBe(exposure.Child); got != want {
			t.Errorf("%q may be a child: %v", name, got)
		}
	}
}
