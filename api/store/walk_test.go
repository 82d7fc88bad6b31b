package store_test

import (
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"strings"
	"sync"
	"testing"
	"time"

	"wideberth/api/store"
	"wideberth/api/wire/dogfile"
	"wideberth/api/wire/kept"
	"wideberth/exposure"
)

func meeting(key string) kept.EncounterInput {
	return kept.EncounterInput{Key: key, Walk: "w1", Kind: "dog_on_lead", At: start.Add(-time.Hour), Nearest: "exact", DistanceM: ptr(20.0), Food: "taken"}
}

func TestWalkLife(t *testing.T) {
	each(t, func(t *testing.T, h *house) {
		ctx := t.Context()
		fern := h.dog("Fern")
		in := kept.WalkInput{Key: "w1", Started: start.Add(-2 * time.Hour), Note: "fog"}
		walk, fresh, err := h.AddWalk(ctx, h.trainer, fern.ID, in, nil)
		h.ok(err)
		if !fresh || walk.Note != "fog" || walk.Person != h.trainer.Person {
			t.Errorf("walk %+v, fresh %v", walk, fresh)
		}
		again, fresh, err := h.AddWalk(ctx, h.trainer, fern.ID, in, nil)
		h.ok(err)
		if fresh || again.ID != walk.ID {
			t.Errorf("sent twice: %+v, fresh %v", again, fresh)
		}
		in.Note = "sun"
		_, _, err = h.AddWalk(ctx, h.trainer, fern.ID, in, nil)
		want(t, "another walk under the same key", err, store.ErrConflict)

		in.Ended, in.AllTold, in.Key = start.Add(-time.Hour), true, "another"
		walk, err = h.SetWalk(ctx, h.trainer, walk.ID, in, nil)
		h.ok(err)
		if walk.Key != "w1" || !walk.AllTold || walk.Note != "sun" {
			t.Errorf("changed %+v", walk)
		}
		h.advance(time.Hour)
		second, _, err := h.AddWalk(ctx, h.trainer, fern.ID, kept.WalkInput{Started: start}, nil)
		h.ok(err)
		list, err := h.Walks(ctx, h.trainer, fern.ID, store.NoTime, 10)
		h.ok(err)
		if len(list) != 2 || list[0].ID != second.ID || list[1].ID != walk.ID {
			t.Errorf("walks %+v, want the latest first", list)
		}
		list, err = h.Walks(ctx, h.trainer, fern.ID, start, 10)
		h.ok(err)
		if len(list) != 1 || list[0].ID != walk.ID {
			t.Errorf("walks before a moment: %+v", list)
		}
		_, _, err = h.AddEncounter(ctx, h.trainer, fern.ID, meeting("e1"), "")
		h.ok(err)
		h.ok(h.DeleteWalk(ctx, h.trainer, walk.ID))
		want(t, "the deleted walk", onlyErr(h.Walk(ctx, h.trainer, walk.ID)), store.ErrNotFound)
		if met, err := h.Encounters(ctx, h.trainer, fern.ID, "", store.NoTime); err != nil || len(met) != 0 {
			t.Errorf("meetings of the deleted walk: %+v, %v", met, err)
		}
	})
}

func TestWalkRefusals(t *testing.T) {
	h := newHouse(t, newFile(t))
	fern := h.dog("Fern")
	cases := map[string]struct {
		in      kept.WalkInput
		pointer string
	}{
		"no beginning":     {kept.WalkInput{}, "/started"},
		"a clock of 1970":  {kept.WalkInput{Started: time.Unix(1000, 0)}, "/started"},
		"a clock of 2300":  {kept.WalkInput{Started: time.Date(2300, 1, 1, 0, 0, 0, 0, time.UTC)}, "/started"},
		"ends before":      {kept.WalkInput{Started: start, Ended: start.Add(-time.Minute)}, "/ended"},
		"a day and a half": {kept.WalkInput{Started: start.Add(-days(2)), Ended: start.Add(-days(2) + 36*time.Hour)}, "/ended"},
		"long key":         {kept.WalkInput{Started: start, Key: strings.Repeat("k", 81)}, "/key"},
		"long note":        {kept.WalkInput{Started: start, Note: strings.Repeat("k", 1001)}, "/note"},
		"no such plan":     {kept.WalkInput{Started: start, Plan: "none"}, "/plan"},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			_, _, err := h.AddWalk(t.Context(), h.trainer, fern.ID, c.in, nil)
			wantProblem(t, name, err, c.pointer)
		})
	}
}

func TestEncounterLife(t *testing.T) {
	each(t, func(t *testing.T, h *house) {
		ctx := t.Context()
		fern := h.dog("Fern")
		// The meeting arrives before its walk.
		e, fresh, err := h.AddEncounter(ctx, h.trainer, fern.ID, meeting("e1"), "park")
		h.ok(err)
		if !fresh || e.Walk != "w1" || e.Place != "park" {
			t.Errorf("meeting %+v", e)
		}
		walk, _, err := h.AddWalk(ctx, h.trainer, fern.ID, kept.WalkInput{Key: "w1", Started: start.Add(-2 * time.Hour)}, nil)
		h.ok(err)
		for _, name := range []string{"w1", walk.ID} {
			if met, err := h.Encounters(ctx, h.trainer, fern.ID, name, store.NoTime); err != nil || len(met) != 1 {
				t.Errorf("meetings of walk %s: %+v, %v", name, met, err)
			}
		}
		changed := meeting("ignored")
		changed.Over, changed.Walk = "bark", walk.ID
		e, err = h.SetEncounter(ctx, h.trainer, e.ID, changed, "")
		h.ok(err)
		if e.Key != "e1" || e.Walk != "w1" || e.Over != "bark" {
			t.Errorf("mended %+v", e)
		}
		other := meeting("e1")
		other.Kind = "child"
		_, _, err = h.AddEncounter(ctx, h.trainer, fern.ID, other, "")
		want(t, "another meeting under the same key", err, store.ErrConflict)

		h.ok(h.RemoveEncounter(ctx, h.trainer, e.ID))
		h.ok(h.RemoveEncounter(ctx, h.trainer, e.ID))
		late, fresh, err := h.AddEncounter(ctx, h.trainer, fern.ID, meeting("e1"), "park")
		h.ok(err)
		if fresh || !late.Removed || late.Kind != "" {
			t.Errorf("a repetition of what was taken back: %+v, fresh %v", late, fresh)
		}
		if met, err := h.Encounters(ctx, h.trainer, fern.ID, "", store.NoTime); err != nil || len(met) != 0 {
			t.Errorf("what was taken back is there: %+v, %v", met, err)
		}
		want(t, "mending what was taken back", onlyErr(h.SetEncounter(ctx, h.trainer, e.ID, meeting(""), "")), store.ErrNotFound)
	})
}

// TestDistanceRelativeToTheDog: what is told relative to the working distance
// keeps the metres that it stood for when it was told.
func TestDistanceRelativeToTheDog(t *testing.T) {
	h := newHouse(t, newFile(t))
	ctx := t.Context()
	fern := h.dog("Fern")
	in := meeting("")
	in.Nearest, in.DistanceM = "nearer_than", nil
	e, _, err := h.AddEncounter(ctx, h.trainer, fern.ID, in, "")
	h.ok(err)
	_, err = h.AcceptChange(ctx, h.trainer, fern.ID, "dogs", 38, exposure.Need{WorkingM: 31, ReactionM: 13}, kept.Evidence{})
	h.ok(err)
	e, err = h.Encounter(ctx, h.trainer, e.ID)
	h.ok(err)
	if *e.DistanceM != 38 {
		t.Errorf("stands for %g m, want the 38 m of that day", *e.DistanceM)
	}
	in.Kind = "adult" // the dog is calm about adults
	_, _, err = h.AddEncounter(ctx, h.trainer, fern.ID, in, "")
	wantProblem(t, "nearer than nothing", err, "/distance_m")
}

func TestEncounterRefusals(t *testing.T) {
	h := newHouse(t, newFile(t))
	fern := h.dog("Fern")
	with := func(change func(e *kept.EncounterInput)) kept.EncounterInput {
		e := meeting("")
		change(&e)
		return e
	}
	type in = kept.EncounterInput
	cases := map[string]struct {
		change  func(e *in)
		pointer string
	}{
		"no time":            {func(e *in) { e.At = time.Time{} }, "/at"},
		"unknown kind":       {func(e *in) { e.Kind = "dragon" }, "/kind"},
		"half a place":       {func(e *in) { e.Lat = ptr(3.0) }, "/lat"},
		"off the globe":      {func(e *in) { e.Lat, e.Lon = ptr(91.0), ptr(0.0) }, "/lat"},
		"off the globe east": {func(e *in) { e.Lat, e.Lon = ptr(9.0), ptr(181.0) }, "/lon"},
		"zero distance":      {func(e *in) { e.DistanceM = ptr(0.0) }, "/distance_m"},
		"a mile":             {func(e *in) { e.DistanceM = ptr(1609.0) }, "/distance_m"},
		"not said how meant": {func(e *in) { e.Nearest = "" }, "/nearest"},
		"exactly nothing":    {func(e *in) { e.DistanceM = nil }, "/distance_m"},
		"half a stretch":     {func(e *in) { e.Nearest = "between" }, "/to_m"},
		"a stretch backward": {func(e *in) { e.Nearest, e.ToM = "between", ptr(10.0) }, "/to_m"},
		"a stretch too much": {func(e *in) { e.ToM = ptr(30.0) }, "/to_m"},
		"another word":       {func(e *in) { e.Nearest = "near" }, "/nearest"},
		"another food":       {func(e *in) { e.Food = "eaten" }, "/food"},
		"another outcome":    {func(e *in) { e.Over = "sang" }, "/over"},
		"noticed nearer":     {func(e *in) { e.NoticedM = ptr(10.0) }, "/noticed_m"},
		"lasts for ever":     {func(e *in) { e.DurationS = ptr(1e9) }, "/duration_s"},
		"long walk name":     {func(e *in) { e.Walk = strings.Repeat("w", 81) }, "/walk"},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			_, _, err := h.AddEncounter(t.Context(), h.trainer, fern.ID, with(c.change), "")
			wantProblem(t, name, err, c.pointer)
		})
	}
	if met, err := h.Encounters(t.Context(), h.trainer, fern.ID, "", store.NoTime); err != nil || len(met) != 0 {
		t.Errorf("something refused was kept: %+v, %v", met, err)
	}
	if _, _, err := h.AddEncounter(t.Context(), h.trainer, fern.ID, kept.EncounterInput{At: start}, ""); err != nil {
		t.Errorf("a draft: %v", err)
	}
}

// TestLateOutOfOrderAndTwice sends the same logs in another order, some of them
// several times and at the same time: what is kept does not depend on it.
func TestLateOutOfOrderAndTwice(t *testing.T) {
	each(t, func(t *testing.T, h *house) {
		fern := h.dog("Fern")
		seed := rand.Uint64()
		t.Logf("seed %d", seed)
		rng := rand.New(rand.NewPCG(seed, 0))
		var sends []func() error
		for i := range 30 {
			in := meeting(fmt.Sprintf("e%d", i))
			in.Walk, in.At = fmt.Sprintf("w%d", i%3), start.Add(-time.Duration(i)*time.Minute)
			for range 1 + rng.IntN(3) {
				sends = append(sends, func() error {
					_, _, err := h.AddEncounter(t.Context(), h.trainer, fern.ID, in, "")
					return err
				})
			}
		}
		for i := range 3 {
			in := kept.WalkInput{Key: fmt.Sprintf("w%d", i), Started: start.Add(-time.Hour), AllTold: true}
			expected := []kept.Expected{{Kind: "dog_on_lead", Place: "park", Part: "morning", Inside: 2, WorkingM: 38}}
			for range 2 {
				sends = append(sends, func() error {
					_, _, err := h.AddWalk(t.Context(), h.trainer, fern.ID, in, expected)
					return err
				})
			}
		}
		rng.Shuffle(len(sends), func(i, j int) { sends[i], sends[j] = sends[j], sends[i] })
		var wg sync.WaitGroup
		for part := range 4 {
			wg.Go(func() {
				for i := part; i < len(sends); i += 4 {
					if err := sends[i](); err != nil {
						t.Error(err)
					}
				}
			})
		}
		wg.Wait()
		met, err := h.Encounters(t.Context(), h.trainer, fern.ID, "", store.NoTime)
		h.ok(err)
		walks, err := h.Walks(t.Context(), h.trainer, fern.ID, store.NoTime, 100)
		h.ok(err)
		l, err := h.Lessons(t.Context(), h.trainer)
		h.ok(err)
		observed, predicted := 0.0, 0.0
		for _, x := range l.Tallies {
			observed, predicted = observed+x.Observed, predicted+x.Expected
		}
		if len(met) != 30 || len(walks) != 3 || len(l.Tallies) != 3 || observed != 30 || predicted != 6 {
			t.Errorf("%d meetings, %d walks, %+v; want 30, 3, and one row a walk with 30 of 6 expected", len(met), len(walks), l.Tallies)
		}
	})
}

func TestPlans(t *testing.T) {
	each(t, func(t *testing.T, h *house) {
		ctx := t.Context()
		fern, miko := h.dog("Fern"), h.dog("Miko")
		first, err := h.SavePlan(ctx, h.trainer, fern.ID, "town", json.RawMessage(`{"walks":[1]}`))
		h.ok(err)
		h.advance(time.Minute)
		second, err := h.SavePlan(ctx, h.trainer, fern.ID, "town", json.RawMessage(`{"walks":[2]}`))
		h.ok(err)
		list, err := h.Plans(ctx, h.trainer, fern.ID)
		h.ok(err)
		if len(list) != 2 || list[0].ID != second.ID || list[1].Bytes == 0 || list[1].Person != h.trainer.Person {
			t.Errorf("plans %+v", list)
		}
		if p, err := h.Plan(ctx, h.trainer, list[1].ID); err != nil || string(p.Body) != `{"walks":[1]}` || p.Map != "town" {
			t.Errorf("one of them: %+v, %v", p, err)
		}
		_, _, err = h.AddWalk(ctx, h.trainer, miko.ID, kept.WalkInput{Started: start, Plan: first.ID}, nil)
		wantProblem(t, "a walk by another dog's plan", err, "/plan")
		walk, _, err := h.AddWalk(ctx, h.trainer, fern.ID, kept.WalkInput{Started: start, Plan: first.ID, AllTold: true}, []kept.Expected{expect("child", "park", 1)})
		h.ok(err)
		_, err = h.Attach(ctx, h.trainer, walk.ID, path3, []kept.Expected{expect("child", "woods", 2)})
		h.ok(err)
		if l, err := h.Lessons(ctx, h.trainer); err != nil || len(l.Tallies) != 1 || l.Tallies[0].Place != "woods" || l.Tallies[0].Expected != 2 {
			t.Errorf("the track should have taken the plan's place: %+v, %v", l.Tallies, err)
		}
		h.ok(h.DeletePlan(ctx, h.trainer, first.ID))
		want(t, "deleted", onlyErr(h.Plan(ctx, h.trainer, first.ID)), store.ErrNotFound)
		if _, err := h.Walk(ctx, h.trainer, walk.ID); err != nil {
			t.Errorf("the walk by the deleted plan: %v", err)
		}
		wantProblem(t, "a plan that is not JSON", onlyErr(h.SavePlan(ctx, h.trainer, fern.ID, "town", json.RawMessage(`{`))), "/body")
	})
}

// TestRepetitionAfterChanges: a telephone that never got its answer sends again, and
// is told what is stored, though its plan is deleted and the dog is calm about the
// kind by now.
func TestRepetitionAfterChanges(t *testing.T) {
	each(t, func(t *testing.T, h *house) {
		ctx := t.Context()
		fern := h.dog("Fern")
		plan, err := h.SavePlan(ctx, h.trainer, fern.ID, "map", []byte(`{}`))
		h.ok(err)
		walk := kept.WalkInput{Key: "w1", Started: h.now(), Plan: plan.ID}
		met := kept.EncounterInput{Key: "e1", Walk: "w1", Kind: "dogs", Nearest: "about", At: h.now()}
		w1, _, err := h.AddWalk(ctx, h.trainer, fern.ID, walk, nil)
		h.ok(err)
		e1, _, err := h.AddEncounter(ctx, h.trainer, fern.ID, met, "")
		h.ok(err)
		h.ok(h.DeletePlan(ctx, h.trainer, plan.ID))
		p := profile("Fern")
		p.Needs["dogs"] = nil
		p.Needs["car"] = &dogfile.Need{WorkingM: ptr(20.0)}
		_, err = h.SetDog(ctx, h.trainer, fern.ID, 1, p, said(p))
		h.ok(err)
		w2, fresh, err := h.AddWalk(ctx, h.trainer, fern.ID, walk, nil)
		h.ok(err)
		if fresh || w2.ID != w1.ID {
			t.Errorf("the walk again: fresh %v, %+v", fresh, w2)
		}
		e2, fresh, err := h.AddEncounter(ctx, h.trainer, fern.ID, met, "")
		h.ok(err)
		if fresh || e2.ID != e1.ID || *e2.DistanceM != 38 {
			t.Errorf("the meeting again: fresh %v, %+v", fresh, e2)
		}
		wantProblem(t, "a key that no text is", second1(h.AddWalk(ctx, h.trainer, fern.ID, kept.WalkInput{Key: "a\x00b", Started: h.now()}, nil)), "/key")
		want(t, "an id that no text is", onlyErr(h.Dog(ctx, h.trainer, "a\x00b")), store.ErrNotFound)
	})
}
