package store_test

import (
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"sync"
	"testing"

	"pgregory.net/rapid"

	"wideberth/api/store"
	"wideberth/api/wire/kept"
	"wideberth/osmdata/fault"
)

func TestDocuments(t *testing.T) {
	each(t, func(t *testing.T, h *house) {
		ctx := t.Context()
		fern := h.dog("Fern")
		d, err := h.PutDocument(ctx, h.trainer, kept.Document{Kind: "visits", Dog: fern.ID, Body: json.RawMessage(`{"step":1}`)})
		h.ok(err)
		if d.ID == "" || d.Version != 1 || d.Dog != fern.ID {
			t.Errorf("new %+v", d)
		}
		d.Body = json.RawMessage(`{"step":2}`)
		second, err := h.PutDocument(ctx, h.trainer, d)
		h.ok(err)
		if second.Version != 2 || string(second.Body) != `{"step":2}` {
			t.Errorf("changed %+v", second)
		}
		want(t, "a change of an old version", onlyErr(h.PutDocument(ctx, h.trainer, d)), store.ErrConflict)
		want(t, "a new one under a taken id", onlyErr(h.PutDocument(ctx, h.trainer, kept.Document{Kind: "visits", ID: d.ID, Body: json.RawMessage(`1`)})), store.ErrConflict)
		want(t, "a handler's", onlyErr(h.PutDocument(ctx, h.handler, d)), store.ErrForbidden)
		wantProblem(t, "no kind", onlyErr(h.PutDocument(ctx, h.trainer, kept.Document{Body: json.RawMessage(`1`)})), "/kind")
		wantProblem(t, "not JSON", onlyErr(h.PutDocument(ctx, h.trainer, kept.Document{Kind: kept.Outings, Body: json.RawMessage(`{`)})), "/body")
		wantProblem(t, "huge", onlyErr(h.PutDocument(ctx, h.trainer, kept.Document{Kind: kept.Outings, Body: json.RawMessage(`"` + strings.Repeat("x", 4<<20) + `"`)})), "/body")
		timetable, err := h.PutDocument(ctx, h.trainer, kept.Document{Kind: "outings", Body: json.RawMessage(`[]`)})
		h.ok(err)
		if _, err := h.Document(ctx, h.handler, "outings", timetable.ID); err != nil {
			t.Errorf("a handler's timetable: %v", err)
		}
		h.give(h.handler, fern.ID)
		if _, err := h.Document(ctx, h.handler, "visits", d.ID); err != nil {
			t.Errorf("a handler's dog's visits: %v", err)
		}
		h.ok(h.DeleteDocument(ctx, h.trainer, "visits", d.ID))
		want(t, "deleted", onlyErr(h.Document(ctx, h.trainer, "visits", d.ID)), store.ErrNotFound)
	})
}

// timetable keeps an outing with a body.
func (h *house) timetable(id, body string) kept.Document {
	h.t.Helper()
	d, err := h.PutDocument(h.t.Context(), h.trainer, kept.Document{Kind: kept.Outings, ID: id, Body: json.RawMessage(body)})
	h.ok(err)
	return d
}

// left lists the ids of the timetables that are kept.
func (h *house) left() map[string]bool {
	h.t.Helper()
	list, err := h.Documents(h.t.Context(), h.keeper, kept.Outings)
	h.ok(err)
	out := map[string]bool{}
	for _, d := range list {
		out[d.ID] = true
	}
	return out
}

// TestDogTakesItsDocuments: deleting a dog deletes every document that names it,
// wherever in its body and however the id is written in JSON, as it is in the
// version kept last; others stay.
func TestDogTakesItsDocuments(t *testing.T) {
	each(t, func(t *testing.T, h *house) {
		fern, miko := h.dog("Fern"), h.dog("Miko")
		escaped := fmt.Sprintf(`\u%04x%s`, fern.ID[0], fern.ID[1:])
		for id, body := range map[string]string{
			"wish":       fmt.Sprintf(`{"wish":{"dogs":[{"dog_id":%q},{"dog_id":%q}]}}`, miko.ID, fern.ID),
			"deep":       fmt.Sprintf(`[[{"rows":[{"a":[1,null,%q]}]}]]`, fern.ID),
			"by name":    fmt.Sprintf(`{%q:{"minutes":20}}`, fern.ID),
			"escaped":    `{"dog":"` + escaped + `"}`,
			"alone":      fmt.Sprintf(`%q`, fern.ID),
			"other":      fmt.Sprintf(`{"dogs":[%q]}`, miko.ID),
			"part of it": fmt.Sprintf(`{"note":"not %s at all","x":%q}`, fern.ID, fern.ID[:15]),
			"none":       `{}`,
		} {
			h.timetable(id, body)
		}
		changed := h.timetable("changed", fmt.Sprintf(`{"dogs":[%q]}`, fern.ID))
		changed.Body = json.RawMessage(fmt.Sprintf(`{"dogs":[%q]}`, miko.ID))
		_, err := h.PutDocument(t.Context(), h.trainer, changed)
		h.ok(err)
		h.sequence(fern.ID, "s")
		h.ok(h.DeleteDog(t.Context(), h.trainer, fern.ID, "Fern"))
		left := h.left()
		for id, stays := range map[string]bool{"wish": false, "deep": false, "by name": false, "escaped": false, "alone": false, "other": true, "part of it": true, "none": true, "changed": true} {
			if left[id] != stays {
				t.Errorf("timetable %q is left: %v", id, left[id])
			}
		}
		want(t, "the dog's sequence", onlyErr(h.Document(t.Context(), h.trainer, kept.Sequences, "s")), store.ErrNotFound)
	})
}

// TestDogsOfOthersAreNotTaken: a document that names a dog of another account is not
// found by it: ids are no secret keys.
func TestDogsOfOthersAreNotTaken(t *testing.T) {
	each(t, func(t *testing.T, h *house) {
		ctx := t.Context()
		other := h.account("Birch House")
		p := profile("Pip")
		theirs, err := h.AddDog(ctx, other, p, said(p))
		h.ok(err)
		h.timetable("ours", fmt.Sprintf(`{"dogs":[%q]}`, theirs.ID))
		h.ok(h.DeleteDog(ctx, other, theirs.ID, "Pip"))
		if !h.left()["ours"] {
			t.Error("another account's dog took our timetable")
		}
	})
}

// TestDocumentKinds: there are two kinds, and a name is one only within its kind.
func TestDocumentKinds(t *testing.T) {
	h := newHouse(t, newFile(t))
	for _, kind := range []kept.DocumentKind{"", "visit", "plans", "Outings", "outings "} {
		_, err := h.PutDocument(t.Context(), h.trainer, kept.Document{Kind: kind, Body: json.RawMessage(`{}`)})
		wantProblem(t, fmt.Sprintf("kind %q", kind), err, "/kind")
	}
	fern := h.dog("Fern")
	h.sequence(fern.ID, "x")
	h.timetable("x", `{}`)
	h.ok(h.DeleteDocument(t.Context(), h.trainer, kept.Outings, "x"))
	if _, err := h.Document(t.Context(), h.trainer, kept.Sequences, "x"); err != nil {
		t.Errorf("a sequence of the same name: %v", err)
	}
}

// TestDogsAreFoundInAnyBody: whatever JSON a body is, a dog is found in it exactly if
// its id stands there as a text.
func TestDogsAreFoundInAnyBody(t *testing.T) {
	h := newHouse(t, newFile(t))
	seen := 0
	rapid.Check(t, func(rt *rapid.T) {
		fern := h.dog("Fern")
		var value func(depth int) *rapid.Generator[any]
		has := false
		value = func(depth int) *rapid.Generator[any] {
			return rapid.Custom(func(rt *rapid.T) any {
				switch n := rapid.IntRange(0, 7).Draw(rt, "sort"); {
				case n == 0:
					has = true
					return fern.ID
				case n < 3 && depth > 0:
					return rapid.SliceOfN(value(depth-1), 0, 3).Draw(rt, "list")
				case n < 5 && depth > 0:
					return rapid.MapOfN(rapid.StringN(0, 20, -1), value(depth-1), 0, 3).Draw(rt, "object")
				case n == 5:
					return strings.ToUpper(fern.ID)
				case n == 6:
					return rapid.Float64Range(-1e9, 1e9).Draw(rt, "number")
				}
				return nil
			})
		}
		body, err := json.Marshal(value(3).Draw(rt, "body"))
		h.ok(err)
		has = strings.Contains(string(body), `"`+fern.ID+`"`) // a drawn value may have been dropped again
		if has {
			seen++
		}
		h.timetable(fern.ID, string(body))
		h.ok(h.DeleteDog(t.Context(), h.trainer, fern.ID, "Fern"))
		if h.left()[fern.ID] == has {
			rt.Errorf("named %v, and left %v: %s", has, !has, body)
		}
	})
	if seen == 0 {
		t.Error("no body named a dog")
	}
}

// TestNobodyWaitsInACircle: dogs are deleted while documents that name them are
// written, walks and meetings logged, people added and reports made, at two servers on
// one database. Each is done or told plainly that something is gone; none is a victim
// of two that wait for each other.
func TestNobodyWaitsInACircle(t *testing.T) {
	const rounds = 25
	url := postgres(t)
	h := newHouse(t, url)
	second := open(t, url, h.clock)
	ctx := t.Context()
	for round := range rounds {
		fern, miko := h.dog("Fern"), h.dog("Miko")
		walk := h.told(fern, "w", expect("dog_on_lead", "park", 1))
		both := json.RawMessage(fmt.Sprintf(`{"dogs":[%q,%q]}`, fern.ID, miko.ID))
		old := h.timetable(fmt.Sprint("old", round), string(both))
		var wg sync.WaitGroup
		do := func(what string, f func(s *store.Store) error) {
			for i, s := range []*store.Store{h.Store, second} {
				wg.Go(func() {
					var wrong fault.Problems
					if err := f(s); err != nil && !errors.Is(err, store.ErrNotFound) && !errors.Is(err, store.ErrConflict) && !errors.As(err, &wrong) {
						t.Errorf("round %d, %s at server %d: %v", round, what, i, err)
					}
				})
			}
		}
		do("delete", func(s *store.Store) error { return s.DeleteDog(ctx, h.trainer, fern.ID, "Fern") })
		do("new document", func(s *store.Store) error {
			return onlyErr(s.PutDocument(ctx, h.trainer, kept.Document{Kind: kept.Outings, Body: both}))
		})
		do("old document", func(s *store.Store) error {
			d := old
			d.Body = both
			return onlyErr(s.PutDocument(ctx, h.trainer, d))
		})
		do("meeting", func(s *store.Store) error {
			in := meeting("")
			in.Walk = "w"
			return second1(s.AddEncounter(ctx, h.trainer, fern.ID, in, "park"))
		})
		do("track", func(s *store.Store) error {
			return onlyErr(s.Attach(ctx, h.trainer, walk.ID, path3, []kept.Expected{expect("child", "park", 2)}))
		})
		do("person", func(s *store.Store) error {
			id, err := s.AddPerson(ctx, h.keeper, "Robin", kept.Handler, []string{fern.ID, miko.ID})
			if err == nil {
				err = s.RemovePerson(ctx, h.keeper, id)
			}
			return err
		})
		do("report", func(s *store.Store) error {
			return onlyErr(s.AddReport(ctx, h.trainer, kept.ReportInput{Mapped: "way/7", There: true}))
		})
		wg.Wait()
		want(t, "the deleted dog", onlyErr(h.Dog(ctx, h.trainer, fern.ID)), store.ErrNotFound)
	}
}
