package store_test

import (
	"fmt"
	"maps"
	"math/rand/v2"
	"reflect"
	"slices"
	"sync"
	"testing"
	"time"

	"wideberth/api/store"
	"wideberth/api/wire/kept"
)

// told logs a walk of which all is told, with what was expected of it.
func (h *house) told(dog kept.Dog, key string, cells ...kept.Expected) kept.Walk {
	h.t.Helper()
	walk, _, err := h.AddWalk(h.t.Context(), h.trainer, dog.ID, kept.WalkInput{Key: key, Started: start.Add(-2 * time.Hour), AllTold: true}, cells)
	h.ok(err)
	return walk
}

// lessons are the account's, with the mark in a place of its own.
func (h *house) lessons() (mark string, l store.Lessons) {
	h.t.Helper()
	l, err := h.Lessons(h.t.Context(), h.trainer)
	h.ok(err)
	mark, err = h.Taught(h.t.Context(), h.handler)
	h.ok(err)
	if l.Mark != mark {
		h.t.Errorf("the lessons are marked %q, the account %q", l.Mark, mark)
	}
	l.Mark = ""
	return mark, l
}

// TestTalliesFollowTheLog: what a walk found is written anew with each change of the
// walk or its meetings, whichever arrives first, and only for walks of which all is
// told.
func TestTalliesFollowTheLog(t *testing.T) {
	each(t, func(t *testing.T, h *house) {
		ctx := t.Context()
		fern := h.dog("Fern")
		holds := func(what string, want ...store.Tally) {
			t.Helper()
			_, l := h.lessons()
			for i := range l.Tallies {
				l.Tallies[i].Walk = ""
			}
			if !slices.Equal(l.Tallies, want) {
				t.Errorf("%s: %+v, want %+v", what, l.Tallies, want)
			}
		}
		row := func(kind string, observed, expected float64) store.Tally {
			return store.Tally{Kind: kind, Place: "park", Part: "morning", Observed: observed, Expected: expected}
		}
		early, _, err := h.AddEncounter(ctx, h.trainer, fern.ID, meeting("e0"), "park")
		h.ok(err)
		holds("a meeting before its walk")
		walk := h.told(fern, "w1", expect("child", "park", 0.5), expect("dog_on_lead", "park", 1.5))
		holds("its walk", row("child", 0, 0.5), row("dog_on_lead", 1, 1.5))
		second, _, err := h.AddEncounter(ctx, h.trainer, fern.ID, meeting("e1"), "park")
		h.ok(err)
		holds("another meeting", row("child", 0, 0.5), row("dog_on_lead", 2, 1.5))
		changed := meeting("")
		changed.Kind = "child"
		_, err = h.SetEncounter(ctx, h.trainer, second.ID, changed, "park")
		h.ok(err)
		holds("mended", row("child", 1, 0.5), row("dog_on_lead", 1, 1.5))
		changed.Kind = ""
		_, err = h.SetEncounter(ctx, h.trainer, second.ID, changed, "park")
		h.ok(err)
		holds("a draft")
		changed.Walk = "another"
		_, err = h.SetEncounter(ctx, h.trainer, second.ID, changed, "park")
		h.ok(err)
		holds("the draft is another walk's", row("child", 0, 0.5), row("dog_on_lead", 1, 1.5))
		h.ok(h.RemoveEncounter(ctx, h.trainer, early.ID))
		holds("taken back", row("child", 0, 0.5), row("dog_on_lead", 0, 1.5))
		_, err = h.Attach(ctx, h.trainer, walk.ID, path3, []kept.Expected{expect("bells", "park", 2)})
		h.ok(err)
		holds("by its track", row("bells", 0, 2))
		walk.AllTold = false
		_, err = h.SetWalk(ctx, h.trainer, walk.ID, walk.WalkInput, nil)
		h.ok(err)
		holds("not all is told")
		walk.AllTold = true
		_, err = h.SetWalk(ctx, h.trainer, walk.ID, walk.WalkInput, nil)
		h.ok(err)
		holds("all is told again", row("bells", 0, 2))
		h.ok(h.DeleteWalk(ctx, h.trainer, walk.ID))
		holds("deleted")
		h.told(fern, "w2", expect("child", "park", 1))
		h.ok(h.DeleteDog(ctx, h.trainer, fern.ID, "Fern"))
		holds("with its dog")
	})
}

// deeds are everything that can be done to an account, numbered so that no two are
// alike. They take what there is; where there is nothing to change they do nothing.
func (h *house) deeds(fern kept.Dog, i int) map[string]func() error {
	ctx := h.t.Context()
	key := fmt.Sprintf("k%d", i)
	dogs := []kept.Expected{expect("dog_on_lead", "park", 1)}
	// one is a walk that counts, the latest; and a meeting of such a walk.
	var one kept.Walk
	counts := map[string]bool{}
	for _, w := range list(h.Walks(ctx, h.trainer, fern.ID, store.NoTime, 1000)) {
		if w.AllTold && len(w.Expected) > 0 {
			one, counts[w.Key] = w, true
		}
	}
	var met kept.Encounter
	for _, e := range list(h.Encounters(ctx, h.trainer, fern.ID, "", store.NoTime)) {
		if counts[e.Walk] && e.Kind == "dog_on_lead" {
			met = e
		}
	}
	reports := list(h.Reports(ctx, h.trainer))
	in := meeting("e" + key)
	in.Walk = one.Key
	none := func() error { return nil }
	with := func(there bool, do func() error) func() error {
		if there {
			return do
		}
		return none
	}
	return map[string]func() error{
		"a walk": func() error {
			return second1(h.AddWalk(ctx, h.trainer, fern.ID, kept.WalkInput{Key: key, Started: start, AllTold: true}, dogs))
		},
		"a walk by no plan": func() error {
			return second1(h.AddWalk(ctx, h.trainer, fern.ID, kept.WalkInput{Key: "n" + key, Started: start, AllTold: true}, nil))
		},
		"a walk not all told": func() error {
			return second1(h.AddWalk(ctx, h.trainer, fern.ID, kept.WalkInput{Key: "p" + key, Started: start}, dogs))
		},
		"a meeting":            func() error { return second1(h.AddEncounter(ctx, h.trainer, fern.ID, in, "park")) },
		"a meeting nowhere":    func() error { in.Walk = "none"; return second1(h.AddEncounter(ctx, h.trainer, fern.ID, in, "park")) },
		"a meeting mended":     with(met.ID != "", func() error { in.Kind = "child"; return onlyErr(h.SetEncounter(ctx, h.trainer, met.ID, in, "park")) }),
		"a meeting taken back": with(met.ID != "", func() error { return h.RemoveEncounter(ctx, h.trainer, met.ID) }),
		"a walk changed": with(one.ID != "", func() error {
			one.AllTold = false
			return onlyErr(h.SetWalk(ctx, h.trainer, one.ID, one.WalkInput, nil))
		}),
		"a track": with(one.ID != "", func() error {
			return onlyErr(h.Attach(ctx, h.trainer, one.ID, path3, []kept.Expected{expect("dog_on_lead", "woods", float64(i))}))
		}),
		"a track deleted": with(one.Track, func() error { return h.DetachTrack(ctx, h.trainer, one.ID) }),
		"a walk deleted":  with(one.ID != "", func() error { return h.DeleteWalk(ctx, h.trainer, one.ID) }),
		"a report":        func() error { return onlyErr(h.AddReport(ctx, h.handler, barker())) },
		"a mapped source disputed": func() error {
			return onlyErr(h.AddReport(ctx, h.handler, kept.ReportInput{Mapped: "way/" + fmt.Sprint(i), There: false}))
		},
		"a word": with(len(reports) > 0, func() error {
			h.advance(time.Second)
			return onlyErr(h.State(ctx, h.trainer, reports[0].ID, i%2 == 0))
		}),
		"a count":          func() error { return onlyErr(h.AddCount(ctx, h.handler, corner(key, 0), nil)) },
		"a report deleted": with(len(reports) > 0, func() error { return h.DeleteReport(ctx, h.trainer, reports[0].ID) }),
		"the handler leaves": func() error { // and another comes
			err := h.RemovePerson(ctx, h.keeper, h.handler.Person)
			h.handler = h.person(kept.Handler)
			return err
		},
		"another dog walks": func() error {
			for _, d := range list(h.Dogs(ctx, h.trainer)) {
				if d.ID != fern.ID {
					return h.DeleteDog(ctx, h.trainer, d.ID, "Oro")
				}
			}
			h.told(h.dog("Oro"), key, dogs...)
			return nil
		},
		"a plan":     func() error { return onlyErr(h.SavePlan(ctx, h.trainer, fern.ID, "town", []byte(`{}`))) },
		"settings":   func() error { return h.SetSettings(ctx, h.keeper, kept.DefaultSettings()) },
		"a document": func() error { h.timetable(key, `{}`); return nil },
		"a day":      func() error { h.advance(days(1)); return nil },
	}
}

// TestMarkIsNewWithEveryLesson: whatever is done to an account, if its lessons are
// others afterwards its mark is a new one, never seen before; and what teaches nothing
// leaves the mark alone, so that nobody works for nothing.
func TestMarkIsNewWithEveryLesson(t *testing.T) {
	const rounds = 3
	each(t, func(t *testing.T, h *house) {
		seed := rand.Uint64()
		t.Logf("seed %d", seed)
		rng := rand.New(rand.NewPCG(seed, 0))
		fern := h.dog("Fern")
		mark, before := h.lessons()
		seen, taught := map[string]bool{mark: true}, map[string]int{}
		quiet := map[string]bool{"a walk by no plan": true, "a walk not all told": true, "a meeting nowhere": true, "a track deleted": true,
			"a plan": true, "settings": true, "a document": true, "a day": true}
		names := slices.Sorted(maps.Keys(h.deeds(fern, 0)))
		for i := range rounds * 4 * len(names) {
			if i%(4*len(names)) == 0 {
				rng.Shuffle(len(names), func(i, j int) { names[i], names[j] = names[j], names[i] })
			}
			name := [...]string{"a walk", "a meeting", "a report", names[i/4%len(names)]}[i%4]
			h.ok(h.deeds(fern, i)[name]())
			next, after := h.lessons()
			if !reflect.DeepEqual(before, after) {
				taught[name]++
				if next == mark || seen[next] {
					t.Fatalf("%s: other lessons under the old mark %q: %+v, then %+v", name, next, before, after)
				}
			}
			if quiet[name] && next != mark {
				t.Errorf("%s teaches nothing, and makes a new mark", name)
			}
			mark, before, seen[next] = next, after, true
		}
		for _, name := range names {
			if (taught[name] == 0) != quiet[name] {
				t.Errorf("%s taught something %d times", name, taught[name])
			}
		}
	})
}

// TestMarksAreAnAccounts: what one account does leaves another's mark alone; one that
// is gone has none and has taught nothing.
func TestMarksAreAnAccounts(t *testing.T) {
	each(t, func(t *testing.T, h *house) {
		ctx := t.Context()
		other := h.account("Birch House")
		was, err := h.Taught(ctx, other)
		h.ok(err)
		fern := h.dog("Fern")
		h.told(fern, "w1", expect("dog_on_lead", "park", 1))
		_, err = h.AddReport(ctx, h.trainer, barker())
		h.ok(err)
		if now, err := h.Taught(ctx, other); err != nil || now != was {
			t.Errorf("another account's mark was %q and is %q, %v", was, now, err)
		}
		h.ok(h.DeleteAccount(ctx, h.keeper, "Alder House"))
		if mark, l := h.lessons(); mark != "" || len(l.Tallies)+len(l.Reports) != 0 {
			t.Errorf("a deleted account has the mark %q and taught %+v", mark, l)
		}
	})
}

// TestMarkIsNeverAhead: while several people log at once, whoever reads lessons and
// finds the mark unchanged afterwards has all there is. Two stores stand for two
// servers on one database.
func TestMarkIsNeverAhead(t *testing.T) {
	each(t, func(t *testing.T, h *house) {
		ctx := t.Context()
		where := h.where
		second := open(t, where, h.clock)
		var dogs [3]kept.Dog
		for i := range dogs {
			dogs[i] = h.dog(fmt.Sprint("dog ", i))
			h.told(dogs[i], "w", expect("dog_on_lead", "park", 1))
		}
		var logging, reading sync.WaitGroup
		done := make(chan struct{})
		for i, s := range []*store.Store{h.Store, second, h.Store} {
			logging.Go(func() {
				for n := range 20 {
					in := meeting(fmt.Sprint(n))
					in.Walk = "w"
					if _, _, err := s.AddEncounter(ctx, h.trainer, dogs[i].ID, in, ""); err != nil {
						t.Error(err)
						return
					}
					if _, err := s.AddReport(ctx, h.trainer, kept.ReportInput{Mapped: fmt.Sprintf("way/%d", i), There: n%2 == 0}); err != nil {
						t.Error(err)
						return
					}
				}
			})
		}
		byMark := map[string]store.Lessons{}
		stable := 0
		reading.Go(func() {
			for {
				l, err := second.Lessons(ctx, h.trainer)
				if err != nil {
					t.Error(err)
					return
				}
				mark, err := h.Taught(ctx, h.trainer)
				if err != nil {
					t.Error(err)
					return
				}
				if mark == l.Mark { // nothing was committed in between
					stable++
					if was, ok := byMark[mark]; ok && !reflect.DeepEqual(was, l) {
						t.Errorf("two lessons under the mark %s: %+v and %+v", mark, was, l)
					}
					byMark[mark] = l
				}
				select {
				case <-done:
					return
				default:
				}
			}
		})
		logging.Wait()
		close(done)
		reading.Wait()
		l, err := h.Lessons(ctx, h.trainer)
		h.ok(err)
		observed := 0.0
		for _, x := range l.Tallies {
			observed += x.Observed
		}
		if observed != 60 || len(l.Reports) != 3 {
			t.Errorf("%g meetings counted and %d reports, want 60 and 3", observed, len(l.Reports))
		}
		t.Logf("%d marks, %d looks at rest", len(byMark), stable)
	})
}
