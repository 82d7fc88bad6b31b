package routing_test

import (
	"context"
	"slices"
	"testing"
	"time"

	"wideberth/exposure"
	"wideberth/exposure/hours"
	"wideberth/routing"
	"wideberth/routing/snapshot/maptest"
)

// TestCareOfTheDay: each caution is told when it applies, and not otherwise. The walk
// leads along a meadow.
func TestCareOfTheDay(t *testing.T) {
	p, err := routing.NewPlanner(maptest.Town(t), nil)
	if err != nil {
		t.Fatal(err)
	}
	kessa := maptest.Kessa()
	warm := func(c float64) hours.Weather { return hours.Weather{TmaxC: c, HasTmax: true} }
	at := func(text string) time.Time {
		t.Helper()
		when, err := time.Parse("2006-01-02 15:04", text)
		if err != nil {
			t.Fatal(err)
		}
		return when
	}
	for _, c := range []struct {
		name    string
		depart  time.Time
		weather hours.Weather
		want    []routing.NoteWhat
	}{
		{"a mild noon", at("2026-05-12 11:00"), warm(18), []routing.NoteWhat{routing.NoteLivestock}},
		{"an evening in November", at("2026-11-25 18:30"), warm(9), []routing.NoteWhat{routing.NoteDark}},
		{"a hot noon", at("2026-07-08 12:00"), warm(25), []routing.NoteWhat{routing.NoteHeat, routing.NoteLivestock}},
		{"just under it", at("2026-07-08 12:00"), warm(24.9), []routing.NoteWhat{routing.NoteLivestock}},
		{"a hot day after sunset", at("2026-07-08 22:30"), warm(31), []routing.NoteWhat{routing.NoteDark, routing.NoteLivestock}},
		{"hot and wet", at("2026-07-08 12:00"), hours.Weather{TmaxC: 27, HasTmax: true, Rain: hours.LightRain}, []routing.NoteWhat{routing.NoteLivestock}},
		{"frost", at("2026-02-10 12:00"), warm(1), []routing.NoteWhat{routing.NoteIce}},
		{"New Year's Eve", at("2026-12-31 20:00"), warm(8), []routing.NoteWhat{routing.NoteDark, routing.NoteFireworks}},
		{"its noon", at("2026-12-31 11:00"), warm(8), nil},
		{"New Year's Day at noon", at("2027-01-01 11:30"), warm(8), []routing.NoteWhat{routing.NoteFireworks}},
	} {
		t.Run(c.name, func(t *testing.T) {
			plan, err := p.Plan(context.Background(), routing.Wish{Shape: routing.ThereAndBack, From: maptest.Door(p.Frame()), Minutes: 20, Walks: 1, Depart: c.depart, Dog: kessa, Weather: c.weather})
			if err != nil {
				t.Fatal(err)
			}
			var got []routing.NoteWhat
			for _, n := range plan.Walks[0].Care {
				got = append(got, n.What)
			}
			if !slices.Equal(got, c.want) {
				t.Errorf("%v, want %v", got, c.want)
			}
		})
	}
}

// TestCareOnPasture: livestock is told in its season where a walk leads over enough
// ground on which it may stand.
func TestCareOnPasture(t *testing.T) {
	snap := *maptest.Town(t)
	field := snap.Field.WithLevels(nil)
	field.Marks = slices.Clone(field.Marks)
	for e := range field.Marks {
		field.Marks[e] |= exposure.Pasture
	}
	snap.Field = field
	p, err := routing.NewPlanner(&snap, nil)
	if err != nil {
		t.Fatal(err)
	}
	for month, want := range map[time.Month]bool{time.May: true, time.December: false} {
		plan, err := p.Plan(context.Background(), routing.Wish{Shape: routing.ThereAndBack, From: maptest.Door(p.Frame()), Minutes: 20, Walks: 1,
			Depart: time.Date(2026, month, 12, 11, 0, 0, 0, time.UTC), Dog: maptest.Kessa()})
		if err != nil {
			t.Fatal(err)
		}
		got := slices.ContainsFunc(plan.Walks[0].Care, func(n routing.Note) bool {
			return n.What == routing.NoteLivestock && n.Class == plan.Walks[0].Legs[0].Class
		})
		if got != want {
			t.Errorf("in %s livestock is told: %t, want %t", month, got, want)
		}
	}
}

// TestDogNotes: what is said of a dog stands first among the notes of its plan, and
// nothing is said of one without cautions.
func TestDogNotes(t *testing.T) {
	kessa := maptest.Kessa()
	if got := routing.DogNotes(&kessa); len(got) > 0 {
		t.Errorf("of a dog without cautions: %+v", got)
	}
	kessa.Food, kessa.Cautions = "cheese", exposure.Cautions{BiteHistory: true, Muzzle: true, ExperiencedOnly: true, Medical: "one eye"}
	want := []routing.Note{{What: routing.NoteMuzzle}, {What: routing.NoteBite}, {What: routing.NoteMedical, Name: "one eye"}, {What: routing.NoteFood, Name: "cheese"}}
	if got := routing.DogNotes(&kessa); !slices.Equal(got, want) {
		t.Errorf("%+v", got)
	}
}
