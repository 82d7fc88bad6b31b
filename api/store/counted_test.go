package store_test

import (
	"errors"
	"fmt"
	"math"
	"testing"
	"time"

	"wideberth/api/store"
	"wideberth/api/wire/kept"
	"wideberth/exposure"
	"wideberth/osmdata/fault"
)

func corner(key string, minute int) kept.CountInput {
	return kept.CountInput{Key: key, Counted: kept.Counted{Lat: 47.2, Lon: -7, Start: start.Add(-time.Duration(120-minute) * time.Minute), Minutes: 10, Dogs: ptr(2.), People: ptr(14.)}}
}

// What people of an account count is kept once a key, seen by all of them, part of its
// lessons, and deleted by who counted or a trainer.
func TestCountLife(t *testing.T) {
	each(t, func(t *testing.T, h *house) {
		ctx := t.Context()
		before, _ := h.lessons()
		c, err := h.AddCount(ctx, h.handler, corner("a", 0), nil)
		h.ok(err)
		again, err := h.AddCount(ctx, h.handler, corner("a", 0), func([]exposure.Count) error { return errors.New("checked again") })
		if err != nil || again.ID != c.ID || !again.Own {
			t.Errorf("sent twice: %+v, %v", again, err)
		}
		if _, err := h.AddCount(ctx, h.trainer, corner("b", 20), func(others []exposure.Count) error {
			if len(others) != 1 || *others[0].People != 14 {
				t.Errorf("held against %+v", others)
			}
			return nil
		}); err != nil {
			t.Fatal(err)
		}
		refused := errors.New("no")
		if _, err := h.AddCount(ctx, h.trainer, corner("c", 40), func([]exposure.Count) error { return refused }); !errors.Is(err, refused) {
			t.Errorf("a count that does not fit: %v", err)
		}
		seen, err := h.Counts(ctx, h.handler)
		if err != nil || len(seen) != 2 || seen[0].Own || !seen[1].Own || seen[1].Wheels != nil || *seen[1].Dogs != 2 || !seen[1].Start.Equal(corner("", 0).Start) {
			t.Errorf("seen %+v, %v", seen, err)
		}
		after, l := h.lessons()
		if after == before || len(l.Counts) != 2 {
			t.Errorf("lessons %+v under the mark %q, before %q", l.Counts, after, before)
		}
		other := h.account("Birch House")
		if theirs, err := h.Counts(ctx, other); err != nil || len(theirs) != 0 {
			t.Errorf("another account sees %+v, %v", theirs, err)
		}
		want(t, "deleting another account's", h.DeleteCount(ctx, other, c.ID), store.ErrNotFound)
		want(t, "a handler deletes another's", h.DeleteCount(ctx, h.handler, seen[0].ID), store.ErrForbidden)
		h.ok(h.DeleteCount(ctx, h.handler, c.ID))
		h.ok(h.DeleteCount(ctx, h.trainer, seen[0].ID))
		if m, l := h.lessons(); len(l.Counts) != 0 || m == after {
			t.Errorf("after all were deleted: %+v", l.Counts)
		}
		gone := h.person(kept.Handler)
		left, err := h.AddCount(ctx, gone, corner("d", 60), nil)
		h.ok(err)
		h.ok(h.RemovePerson(ctx, h.keeper, gone.Person))
		if list, err := h.Counts(ctx, h.trainer); err != nil || len(list) != 1 || list[0].ID != left.ID || list[0].Own {
			t.Errorf("of somebody who left: %+v, %v", list, err)
		}
	})
}

// Numbers that cannot be are refused by field, and so is one more than can be kept.
func TestCountRefusals(t *testing.T) {
	h := newHouse(t, newFile(t))
	for name, c := range map[string]struct {
		change  func(c *kept.CountInput)
		pointer string
	}{
		"negative":      {func(c *kept.CountInput) { c.Dogs = ptr(-1.) }, "/dogs"},
		"a crowd":       {func(c *kept.CountInput) { c.People = ptr(9000.) }, "/people"},
		"no number":     {func(c *kept.CountInput) { c.People = ptr(math.NaN()) }, "/people"},
		"nothing":       {func(c *kept.CountInput) { c.Dogs, c.People = nil, nil }, "/people"},
		"off the globe": {func(c *kept.CountInput) { c.Lat = 91 }, "/lat"},
		"a week":        {func(c *kept.CountInput) { c.Minutes = 10080 }, "/minutes"},
		"to come":       {func(c *kept.CountInput) { c.Start = start.Add(time.Hour) }, "/start"},
		"no time":       {func(c *kept.CountInput) { c.Start = time.Time{} }, "/start"},
	} {
		in := corner("", 0)
		c.change(&in)
		_, err := h.AddCount(t.Context(), h.handler, in, nil)
		var wrong fault.Problems
		if !errors.As(err, &wrong) || wrong[0].Pointer != c.pointer {
			t.Errorf("%s: %v, want %s", name, err, c.pointer)
		}
	}
	for i := range 200 {
		h.ok(onlyErr(h.AddCount(t.Context(), h.handler, corner(fmt.Sprint(i), 0), nil)))
	}
	want(t, "one more", onlyErr(h.AddCount(t.Context(), h.handler, corner("more", 0), nil)), store.ErrLimit)
}
