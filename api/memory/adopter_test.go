package memory

import (
	"strings"
	"testing"
	"time"

	"wideberth/api/wire/kept"
	"wideberth/exposure"
	"wideberth/routing/briefing"
)

// TestAdopterNote counts walks by hand: calm ones of which all was told, loud ones whatever
// was told, none that are silent or too old; a meeting belongs to a walk by name or by time.
func TestAdopterNote(t *testing.T) {
	now := time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)
	at := func(days int, minute int) time.Time {
		return now.AddDate(0, 0, -days).Add(time.Duration(minute) * time.Minute)
	}
	walk := func(id string, days int, told bool) kept.Walk {
		return kept.Walk{ID: id, WalkInput: kept.WalkInput{Key: "key " + id, Started: at(days, 0), Ended: at(days, 30), AllTold: told}}
	}
	met := func(on string, days, minute int, over string) kept.Encounter {
		return kept.Encounter{EncounterInput: kept.EncounterInput{Walk: on, At: at(days, minute), Over: over}}
	}
	dog := &kept.Dog{Profile: kept.Profile{Name: "Oro"}, Distances: map[string]kept.Distance{
		"dogs": {Need: exposure.Need{WorkingM: 20}, From: "learnt"}, "child": {Need: exposure.Need{WorkingM: 25}, From: "said"}, "traffic": {Calm: true}}}
	walks := []kept.Walk{walk("calm", 1, true), walk("by id", 2, true), walk("by key", 3, true), walk("by time", 4, false), walk("silent", 5, false), walk("calm too", 6, true), walk("old", 91, true)}
	list := []kept.Encounter{met("calm", 1, 5, ""), met("by id", 2, 5, "bark"), met("key by key", 3, 5, "lunge"), met("", 4, 5, "freeze"), met("", 6, 45, "bark"), met("elsewhere", 1, 5, "bark")}
	note := newAdopterNote(dog, walks, list, now, briefing.Words{})
	if note.Walks != 5 || note.CalmWalks != 2 || note.Days != 90 || note.BiteHistory {
		t.Fatalf("%+v", note)
	}
	said := strings.Join(note.Texts, "\n")
	for _, want := range []string{"Oro: 2 of 5 walks in the last 90 days went calmly", "Works from 20\u202fm away from dogs, learnt from its walks.", "Works from 25\u202fm away from children, as was said of it.", "Calm about"} {
		if !strings.Contains(said, want) {
			t.Errorf("%q does not say %q", said, want)
		}
	}
	if last := note.Texts[len(note.Texts)-1]; !strings.Contains(last, "not a promise") || !strings.Contains(last, "No aversive tools") {
		t.Errorf("the caution is %q", last)
	}
	dog.Flag = &kept.Flag{Over: "bite"}
	removed := list[1]
	removed.Removed = true
	note = newAdopterNote(dog, walks[1:2], []kept.Encounter{removed}, now, briefing.Words{})
	if !note.BiteHistory || note.Walks != 1 || note.CalmWalks != 1 || !strings.Contains(strings.Join(note.Texts, " "), "It has snapped or bitten") {
		t.Errorf("%+v", note)
	}
	if note = newAdopterNote(dog, nil, nil, now, briefing.Words{}); note.Walks != 0 || !strings.Contains(note.Texts[0], "nothing is said of how they go") {
		t.Errorf("%+v", note)
	}
}
