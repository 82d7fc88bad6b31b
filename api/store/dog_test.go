package store_test

import (
	"slices"
	"strings"
	"testing"

	"wideberth/api/store"
	"wideberth/api/wire/dogfile"
	"wideberth/api/wire/kept"
	"wideberth/exposure"
)

func TestDogLife(t *testing.T) {
	each(t, func(t *testing.T, h *house) {
		ctx := t.Context()
		fern := h.dog("Fern")
		if x := fern.Distances["dogs"]; x.WorkingM != 38 || x.From != "said" || !x.Prior.Known {
			t.Errorf("distance %+v", x)
		}
		if x := fern.Distances["adult"]; !x.Calm {
			t.Errorf("calm kind %+v", x)
		}
		m := fern.Model()
		if n := m.Need(exposure.DogOnLead); n.WorkingM != 38 {
			t.Errorf("the model's need for a kind of the category: %+v", n)
		}
		p := fern.Profile
		p.Name = "Fern II"
		changed, err := h.SetDog(ctx, h.trainer, fern.ID, fern.Version, p, said(p))
		h.ok(err)
		if changed.Version != 2 || changed.Profile.Name != "Fern II" || changed.Distances["dogs"] != fern.Distances["dogs"] {
			t.Errorf("changed %+v", changed)
		}
		want(t, "a change of an old version", onlyErr(h.SetDog(ctx, h.trainer, fern.ID, 1, p, said(p))), store.ErrConflict)
		want(t, "a handler's change", onlyErr(h.SetDog(ctx, h.handler, fern.ID, 2, p, said(p))), store.ErrForbidden)

		p.Needs["dogs"].WorkingM = ptr(50.0)
		h.ok(onlyErr(h.SetDog(ctx, h.trainer, fern.ID, 2, p, said(p))))
		list, err := h.History(ctx, h.trainer, fern.ID)
		h.ok(err)
		if len(list) != 1 || list[0].From.WorkingM != 38 || list[0].To.WorkingM != 50 || list[0].Why != "said" {
			t.Errorf("history %+v", list)
		}
		want(t, "a handler who is not given the dog", onlyErr(h.Dog(ctx, h.handler, fern.ID)), store.ErrNotFound)
		h.give(h.handler, fern.ID)
		if _, err := h.Dog(ctx, h.handler, fern.ID); err != nil {
			t.Errorf("a handler who is given the dog: %v", err)
		}
		h.dog("Miko")
		mine, err := h.Dogs(ctx, h.handler)
		h.ok(err)
		every, err := h.Dogs(ctx, h.trainer)
		h.ok(err)
		if len(mine) != 1 || len(every) != 2 {
			t.Errorf("%d dogs of the handler, %d of the trainer", len(mine), len(every))
		}
	})
}

func TestDogRefusals(t *testing.T) {
	h := newHouse(t, newFile(t))
	cases := map[string]struct {
		change  func(p *kept.Profile)
		pointer string
	}{
		"no name":         {func(p *kept.Profile) { p.Name = " " }, "/name"},
		"long name":       {func(p *kept.Profile) { p.Name = strings.Repeat("n", 81) }, "/name"},
		"control letters": {func(p *kept.Profile) { p.Name = "a\x00b" }, "/name"},
		"no distances":    {func(p *kept.Profile) { p.Needs = nil }, "/needs"},
		"drive":           {func(p *kept.Profile) { p.Drive = "hunger" }, "/drive"},
		"interval":        {func(p *kept.Profile) { p.RewardS = -1 }, "/reward_interval_s"},
		"food":            {func(p *kept.Profile) { p.Food = strings.Repeat("x", 201) }, "/food"},
		"medical":         {func(p *kept.Profile) { p.Cautions.Medical = strings.Repeat("x", 501) }, "/cautions/medical"},
	}
	fern := h.dog("Fern")
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			p := profile("Fern")
			c.change(&p)
			_, err := h.AddDog(t.Context(), h.trainer, p, said(p))
			wantProblem(t, name, err, c.pointer)
			_, err = h.SetDog(t.Context(), h.trainer, fern.ID, fern.Version, p, said(p))
			wantProblem(t, name+", changed", err, c.pointer)
		})
	}
}

func TestChangeAndRevert(t *testing.T) {
	each(t, func(t *testing.T, h *house) {
		ctx := t.Context()
		fern := h.dog("Fern")
		e := kept.Evidence{WorkingLowM: 26, WorkingHighM: 37, Encounters: 23, EffectiveN: 17.5, Chance: .93}
		first, err := h.AcceptChange(ctx, h.trainer, fern.ID, "dogs", 38, exposure.Need{WorkingM: 31, ReactionM: 13}, e)
		h.ok(err)
		want(t, "the same proposal again", onlyErr(h.AcceptChange(ctx, h.trainer, fern.ID, "dogs", 38, exposure.Need{WorkingM: 31, ReactionM: 13}, e)), store.ErrConflict)
		want(t, "a handler accepts", onlyErr(h.AcceptChange(ctx, h.handler, fern.ID, "dogs", 31, exposure.Need{WorkingM: 30, ReactionM: 13}, e)), store.ErrForbidden)

		// A kind that inherits gets distances of its own, and gives them up again.
		own, err := h.AcceptChange(ctx, h.trainer, fern.ID, "dog_off_lead", 31, exposure.Need{WorkingM: 45, ReactionM: 20}, e)
		h.ok(err)
		if d, _ := h.Dog(ctx, h.trainer, fern.ID); d.Model().Need(exposure.DogOffLead).WorkingM != 45 || d.Model().Need(exposure.DogOnLead).WorkingM != 31 {
			t.Errorf("needs after two changes: %+v", d.Distances)
		}
		_, err = h.RevertChange(ctx, h.trainer, fern.ID, own.ID)
		h.ok(err)
		if d, _ := h.Dog(ctx, h.trainer, fern.ID); d.Model().Need(exposure.DogOffLead).WorkingM != 31 {
			t.Errorf("after taking back the kind's own: %+v", d.Distances)
		}
		h.advance(days(1))
		_, err = h.RevertChange(ctx, h.trainer, fern.ID, first.ID)
		h.ok(err)
		d, err := h.Dog(ctx, h.trainer, fern.ID)
		h.ok(err)
		if d.Distances["dogs"] != fern.Distances["dogs"] {
			t.Errorf("after taking back: %+v, want %+v", d.Distances["dogs"], fern.Distances["dogs"])
		}
		want(t, "taking back twice", onlyErr(h.RevertChange(ctx, h.trainer, fern.ID, first.ID)), store.ErrConflict)
		want(t, "taking back nothing", onlyErr(h.RevertChange(ctx, h.trainer, fern.ID, "none")), store.ErrNotFound)
		list, err := h.History(ctx, h.trainer, fern.ID)
		h.ok(err)
		if len(list) != 4 || list[0].Reverts != first.ID || list[3].Evidence == nil || list[3].Evidence.Encounters != 23 || list[3].Person != h.trainer.Person {
			t.Errorf("history %+v", list)
		}
	})
}

// TestEditKeepsWhatWasLearnt: who mends a dog's food does not undo what its walks
// taught of a kind that the profile does not name.
func TestEditKeepsWhatWasLearnt(t *testing.T) {
	each(t, func(t *testing.T, h *house) {
		ctx := t.Context()
		fern := h.dog("Fern")
		_, err := h.AcceptChange(ctx, h.trainer, fern.ID, "dog_off_lead", 38, exposure.Need{WorkingM: 45, ReactionM: 20}, kept.Evidence{})
		h.ok(err)
		p := profile("Fern")
		p.Food = "liver"
		d, err := h.SetDog(ctx, h.trainer, fern.ID, 2, p, said(p))
		h.ok(err)
		if x := d.Distances["dog_off_lead"]; x.WorkingM != 45 || x.From != "learnt" {
			t.Errorf("after mending the food: %+v", d.Distances)
		}
		// Other distances for the category are another start: what was learnt from the old one goes, and is noted.
		p.Needs["dogs"].WorkingM = ptr(60.0)
		d, err = h.SetDog(ctx, h.trainer, fern.ID, 3, p, said(p))
		h.ok(err)
		if _, left := d.Distances["dog_off_lead"]; left {
			t.Errorf("learnt from 38 m, and 60 m is said now: %+v", d.Distances)
		}
		list, err := h.History(ctx, h.trainer, fern.ID)
		h.ok(err)
		if !slices.ContainsFunc(list, func(c kept.Change) bool {
			return c.Name == "dog_off_lead" && c.Why == "said" && c.From.WorkingM == 45 && c.To.WorkingM == 60
		}) {
			t.Errorf("a distance is gone without a note: %+v", list)
		}
	})
}

// TestTakenOutIsNoted: a kind that the profile no longer names falls back to its
// category, the history says so, and it can be taken back.
func TestTakenOutIsNoted(t *testing.T) {
	each(t, func(t *testing.T, h *house) {
		ctx := t.Context()
		p := profile("Fern")
		p.Needs["dog_off_lead"] = &dogfile.Need{WorkingM: ptr(70.0)}
		fern, err := h.AddDog(ctx, h.trainer, p, said(p))
		h.ok(err)
		_, err = h.SetDog(ctx, h.trainer, fern.ID, 1, profile("Fern"), said(profile("Fern")))
		h.ok(err)
		list, err := h.History(ctx, h.trainer, fern.ID)
		h.ok(err)
		if len(list) != 1 || list[0].Name != "dog_off_lead" || list[0].From.WorkingM != 70 || list[0].To.WorkingM != 38 {
			t.Fatalf("history %+v", list)
		}
		_, err = h.RevertChange(ctx, h.trainer, fern.ID, list[0].ID)
		h.ok(err)
		if d, _ := h.Dog(ctx, h.trainer, fern.ID); d.Model().Need(exposure.DogOffLead).WorkingM != 70 {
			t.Errorf("taken back: %+v", d.Distances)
		}
	})
}

// TestRevertNeverMakesCalm: taking back what was newly said of a kind takes the
// kind out; it does not make a dog that reacts at no distance.
func TestRevertNeverMakesCalm(t *testing.T) {
	each(t, func(t *testing.T, h *house) {
		ctx := t.Context()
		fern := h.dog("Fern")
		p := profile("Fern")
		p.Needs["dog_off_lead"] = &dogfile.Need{WorkingM: ptr(70.0)}
		_, err := h.SetDog(ctx, h.trainer, fern.ID, 1, p, said(p))
		h.ok(err)
		list, err := h.History(ctx, h.trainer, fern.ID)
		h.ok(err)
		c, err := h.RevertChange(ctx, h.trainer, fern.ID, list[0].ID)
		h.ok(err)
		d, err := h.Dog(ctx, h.trainer, fern.ID)
		h.ok(err)
		if n := d.Model().Need(exposure.DogOffLead); n.WorkingM != 38 || n.ReactionM != 15 {
			t.Errorf("after taking 70 m back the dog has %+v for a dog off lead, want its category's 38 and 15", n)
		}
		if c.ID == "" || c.At.IsZero() || c.Person != h.trainer.Person || c.Reverts != list[0].ID || c.To.WorkingM != 38 {
			t.Errorf("answered %+v", c)
		}
		_, err = h.RevertChange(ctx, h.trainer, fern.ID, c.ID)
		h.ok(err)
		if d, _ = h.Dog(ctx, h.trainer, fern.ID); d.Model().Need(exposure.DogOffLead).WorkingM != 70 {
			t.Errorf("the taking back taken back: %+v", d.Distances)
		}
		// The only thing said of a dog cannot be taken back: one without distances reacts to nothing.
		p = kept.Profile{Name: "Fern", Needs: map[string]*dogfile.Need{"car": {WorkingM: ptr(20.0)}}}
		_, err = h.SetDog(ctx, h.trainer, fern.ID, d.Version, p, said(p))
		h.ok(err)
		list, err = h.History(ctx, h.trainer, fern.ID)
		h.ok(err)
		i := slices.IndexFunc(list, func(c kept.Change) bool { return c.Name == "car" })
		want(t, "the last distance", onlyErr(h.RevertChange(ctx, h.trainer, fern.ID, list[i].ID)), store.ErrConflict)
	})
}
