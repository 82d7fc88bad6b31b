package store_test

import (
	"encoding/json"
	"testing"
	"time"

	"wideberth/api/wire/kept"
)

// sequence keeps a sequence of a dog.
func (h *house) sequence(dog, id string) {
	h.t.Helper()
	_, err := h.PutDocument(h.t.Context(), h.trainer, kept.Document{Kind: kept.Sequences, ID: id, Dog: dog, Body: json.RawMessage(`{"step":1}`)})
	h.ok(err)
}

// TestVisitsAreWalks: walks that name a sequence are its visits, oldest first, each
// with its own meetings; what is changed or removed follows, and what was logged
// outlives the sequence.
func TestVisitsAreWalks(t *testing.T) {
	each(t, func(t *testing.T, h *house) {
		ctx := t.Context()
		fern, oro := h.dog("Fern"), h.dog("Oro")
		h.sequence(fern.ID, "s")
		h.sequence(oro.ID, "of-oro")
		add := func(key, sequence string, visit int, ago time.Duration) kept.Walk {
			t.Helper()
			w, _, err := h.AddWalk(ctx, h.trainer, fern.ID, kept.WalkInput{Key: key, Started: start.Add(-ago), Sequence: sequence, Visit: visit}, nil)
			h.ok(err)
			return w
		}
		late, early, plain := add("late", "s", 2, time.Hour), add("early", "s", 1, 3*time.Hour), add("plain", "", 0, 2*time.Hour)
		var first kept.Encounter
		for i, key := range []string{"late", "late", "early", "plain"} {
			in := meeting(key + string(rune('a'+i)))
			in.Walk = key
			e, _, err := h.AddEncounter(ctx, h.trainer, fern.ID, in, "")
			h.ok(err)
			if i == 0 {
				first = e
			}
		}
		wantVisits(t, h, fern.ID, "early", 1, "late", 2)
		h.ok(h.RemoveEncounter(ctx, h.trainer, first.ID))
		wantVisits(t, h, fern.ID, "early", 1, "late", 1)
		plain.WalkInput.Sequence, plain.WalkInput.Visit = "s", 1
		_, err := h.SetWalk(ctx, h.trainer, plain.ID, plain.WalkInput, nil)
		h.ok(err)
		wantVisits(t, h, fern.ID, "early", 1, "plain", 1, "late", 1)
		h.ok(h.DeleteWalk(ctx, h.trainer, early.ID))
		wantVisits(t, h, fern.ID, "plain", 1, "late", 1)

		h.ok(h.DeleteDocument(ctx, h.trainer, kept.Sequences, "s"))
		wantVisits(t, h, fern.ID, "plain", 1, "late", 1)
		late.WalkInput.Note = "told later"
		_, err = h.SetWalk(ctx, h.trainer, late.ID, late.WalkInput, nil)
		h.ok(err)
	})
}

func wantVisits(t *testing.T, h *house, dog string, keysAndMeetings ...any) {
	t.Helper()
	list, err := h.Visits(t.Context(), h.trainer, dog, "s")
	h.ok(err)
	if len(list)*2 != len(keysAndMeetings) {
		t.Errorf("%d visits, want %v", len(list), keysAndMeetings)
		return
	}
	for i, v := range list {
		if v.Walk.Key != keysAndMeetings[2*i] || len(v.Met) != keysAndMeetings[2*i+1] {
			t.Errorf("visit %d is walk %q with %d meetings, want %v", i, v.Walk.Key, len(v.Met), keysAndMeetings)
		}
		for _, e := range v.Met {
			if e.Walk != v.Walk.Key {
				t.Errorf("a meeting of walk %q is told of %q", e.Walk, v.Walk.Key)
			}
		}
	}
}

// TestVisitRefusals: a visit belongs to a sequence of its dog that there is.
func TestVisitRefusals(t *testing.T) {
	each(t, func(t *testing.T, h *house) {
		ctx := t.Context()
		fern, oro := h.dog("Fern"), h.dog("Oro")
		h.sequence(fern.ID, "s")
		h.sequence(oro.ID, "of-oro")
		for name, c := range map[string]struct {
			sequence string
			visit    int
			pointer  string
		}{
			"no number":       {"s", 0, "/visit"},
			"negative":        {"s", -1, "/visit"},
			"beyond":          {"s", 100, "/visit"},
			"no sequence":     {"", 1, "/sequence"},
			"none such":       {"none", 1, "/sequence"},
			"another dog's":   {"of-oro", 1, "/sequence"},
			"not a document":  {fern.ID, 1, "/sequence"},
			"a control sign":  {"s\x00", 1, "/sequence"},
			"longer than any": {string(make([]byte, 200)), 1, "/sequence"},
		} {
			_, _, err := h.AddWalk(ctx, h.trainer, fern.ID, kept.WalkInput{Started: start, Sequence: c.sequence, Visit: c.visit}, nil)
			wantProblem(t, name, err, c.pointer)
		}
		walk, _, err := h.AddWalk(ctx, h.trainer, fern.ID, kept.WalkInput{Started: start}, nil)
		h.ok(err)
		walk.WalkInput.Sequence, walk.WalkInput.Visit = "of-oro", 1
		wantProblem(t, "changed to another dog's", onlyErr(h.SetWalk(ctx, h.trainer, walk.ID, walk.WalkInput, nil)), "/sequence")
	})
}
