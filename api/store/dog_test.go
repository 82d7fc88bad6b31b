package store_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"wideberth/api/store"
	"wideberth/exposure"
)

// TestPrior works the derivation by hand. Feet: 1 ft = 0.3048 m exactly
// (international foot, 1959).
func TestPrior(t *testing.T) {
	f := func(v float64) *float64 { return &v }
	cases := map[string]struct {
		in    store.Answers
		w, r  float64
		known bool
	}{
		"all said":          {store.Answers{NoticesM: f(60), TakesFoodM: f(40), StopsEatingM: f(25), ReactsM: f(18)}, 40, 18, true},
		"in feet":           {store.Answers{TakesFoodM: f(100), ReactsM: f(50), Unit: "ft"}, 30.48, 15.24, true},
		"food only":         {store.Answers{TakesFoodM: f(40)}, 40, 20, true},
		"reacts only":       {store.Answers{ReactsM: f(12)}, 24, 12, true},
		"reacts, noticed":   {store.Answers{NoticesM: f(20), ReactsM: f(12)}, 20, 12, true},
		"stops eating only": {store.Answers{StopsEatingM: f(12.915)}, 20, 10, true}, // 2.25^(ln 2 / ln 9) = 1.2915
		"noticing only":     {store.Answers{NoticesM: f(15)}, 15, 7.5, false},
		"nothing known":     {store.Answers{}, 25, 12.5, false},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			p, err := c.in.Prior("/intake/dogs")
			if err != nil {
				t.Fatal(err)
			}
			if math.Abs(p.WorkingM-c.w) > 1e-3 || math.Abs(p.ReactionM-c.r) > 1e-3 || p.Known != c.known {
				t.Errorf("prior %+v, want W %g, R %g, known %v", p, c.w, c.r, c.known)
			}
			if wide := p.LogSD > 0.5; wide == c.known {
				t.Errorf("spread %g with known %v", p.LogSD, c.known)
			}
		})
	}
}

func TestPriorRefusals(t *testing.T) {
	f := func(v float64) *float64 { return &v }
	cases := map[string]struct {
		in      store.Answers
		pointer string
	}{
		"negative":                      {store.Answers{ReactsM: f(-3)}, "/x/reacts_at"},
		"zero":                          {store.Answers{TakesFoodM: f(0)}, "/x/takes_food_at"},
		"absurd":                        {store.Answers{NoticesM: f(1e9)}, "/x/notices_at"},
		"not a number":                  {store.Answers{NoticesM: f(math.NaN())}, "/x/notices_at"},
		"reacts before it stops eating": {store.Answers{StopsEatingM: f(10), ReactsM: f(20)}, "/x/reacts_at"},
		"eats farther than it notices":  {store.Answers{NoticesM: f(10), TakesFoodM: f(20)}, "/x/takes_food_at"},
		"reacts where it eats":          {store.Answers{TakesFoodM: f(20), ReactsM: f(20)}, "/x/reacts_at"},
		"another unit":                  {store.Answers{ReactsM: f(3), Unit: "yd"}, "/x/unit"},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			_, err := c.in.Prior("/x")
			wantProblem(t, name, err, c.pointer)
		})
	}
}

// TestPriorIsAlwaysAPair: whatever answers are accepted, the model can use what
// comes of them.
func TestPriorIsAlwaysAPair(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		draw := func(name string) *float64 {
			if rapid.Bool().Draw(rt, name+" known") {
				return ptr(rapid.Float64Range(0.1, 1000).Draw(rt, name))
			}
			return nil
		}
		a := store.Answers{NoticesM: draw("notices"), TakesFoodM: draw("food"), StopsEatingM: draw("stops"), ReactsM: draw("reacts")}
		p, err := a.Prior("")
		if err != nil {
			return
		}
		if !(p.ReactionM > 0 && p.ReactionM < p.WorkingM) || math.IsNaN((exposure.Need{WorkingM: p.WorkingM, ReactionM: p.ReactionM}).P(10)) {
			rt.Errorf("%+v gives %+v", a, p)
		}
	})
}

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
		changed, err := h.SetDog(ctx, h.trainer, fern.ID, fern.Version, p)
		h.ok(err)
		if changed.Version != 2 || changed.Profile.Name != "Fern II" || changed.Distances["dogs"] != fern.Distances["dogs"] {
			t.Errorf("changed %+v", changed)
		}
		want(t, "a change of an old version", onlyErr(h.SetDog(ctx, h.trainer, fern.ID, 1, p)), store.ErrConflict)
		want(t, "a handler's change", onlyErr(h.SetDog(ctx, h.handler, fern.ID, 2, p)), store.ErrForbidden)

		p.Needs["dogs"].WorkingM = ptr(50.0)
		changed, err = h.SetDog(ctx, h.trainer, fern.ID, 2, p)
		h.ok(err)
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

func TestDogOfWhomNothingIsSaid(t *testing.T) {
	h := newHouse(t, newFile(t))
	d, err := h.AddDog(t.Context(), h.trainer, store.Profile{Name: "Stray"})
	h.ok(err)
	if x := d.Distances["dogs"]; x.From != "unknown" || x.WorkingM != 25 || x.Prior.Known || x.Prior.LogSD != 0.8 {
		t.Errorf("the stated wide prior: %+v", x)
	}
}

func TestDogRefusals(t *testing.T) {
	h := newHouse(t, newFile(t))
	need := func(w, r float64) map[string]*exposure.NeedFile {
		return map[string]*exposure.NeedFile{"dogs": {WorkingM: &w, ReactionM: &r}}
	}
	cases := map[string]struct {
		p       store.Profile
		pointer string
	}{
		"no name":         {store.Profile{}, "/name"},
		"long name":       {store.Profile{Name: strings.Repeat("n", 81)}, "/name"},
		"control letters": {store.Profile{Name: "a\x00b"}, "/name"},
		"unknown kind":    {store.Profile{Name: "F", Needs: map[string]*exposure.NeedFile{"dragon": {WorkingM: ptr(3.0)}}}, "/needs/dragon"},
		"unknown intake":  {store.Profile{Name: "F", Intake: map[string]store.Answers{"dragon": {}}}, "/needs/dragon"},
		"R above W":       {store.Profile{Name: "F", Needs: need(10, 20)}, "/needs/dogs/reaction_m"},
		"negative":        {store.Profile{Name: "F", Needs: need(-1, -2)}, "/needs/dogs/working_m"},
		"bad answer":      {store.Profile{Name: "F", Intake: map[string]store.Answers{"dogs": {ReactsM: ptr(-1.0)}}}, "/intake/dogs/reacts_at"},
		"drive":           {store.Profile{Name: "F", Drive: "hunger"}, "/drive"},
		"interval":        {store.Profile{Name: "F", RewardS: -1}, "/reward_interval_s"},
		"food":            {store.Profile{Name: "F", Food: strings.Repeat("x", 201)}, "/food"},
		"medical":         {store.Profile{Name: "F", Cautions: store.Cautions{Medical: strings.Repeat("x", 501)}}, "/cautions/medical"},
		"speed":           {store.Profile{Name: "F", SpeedMPS: ptr(40.0)}, "/speed_mps"},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			_, err := h.AddDog(t.Context(), h.trainer, c.p)
			wantProblem(t, name, err, c.pointer)
		})
	}
}

func TestChangeAndRevert(t *testing.T) {
	each(t, func(t *testing.T, h *house) {
		ctx := t.Context()
		fern := h.dog("Fern")
		e := store.Evidence{WorkingLowM: 26, WorkingHighM: 37, Encounters: 23, EffectiveN: 17.5, Chance: .93}
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
		_, err := h.AcceptChange(ctx, h.trainer, fern.ID, "dog_off_lead", 38, exposure.Need{WorkingM: 45, ReactionM: 20}, store.Evidence{})
		h.ok(err)
		p := profile("Fern")
		p.Food = "liver"
		d, err := h.SetDog(ctx, h.trainer, fern.ID, 2, p)
		h.ok(err)
		if x := d.Distances["dog_off_lead"]; x.WorkingM != 45 || x.From != "learnt" {
			t.Errorf("after mending the food: %+v", d.Distances)
		}
		// Other distances for the category are another start: what was learnt from the old one goes, and is noted.
		p.Needs["dogs"].WorkingM = ptr(60.0)
		d, err = h.SetDog(ctx, h.trainer, fern.ID, 3, p)
		h.ok(err)
		if _, left := d.Distances["dog_off_lead"]; left {
			t.Errorf("learnt from 38 m, and 60 m is said now: %+v", d.Distances)
		}
		list, err := h.History(ctx, h.trainer, fern.ID)
		h.ok(err)
		if !slices.ContainsFunc(list, func(c store.Change) bool {
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
		p.Needs["dog_off_lead"] = &exposure.NeedFile{WorkingM: ptr(70.0)}
		fern, err := h.AddDog(ctx, h.trainer, p)
		h.ok(err)
		_, err = h.SetDog(ctx, h.trainer, fern.ID, 1, profile("Fern"))
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
		p.Needs["dog_off_lead"] = &exposure.NeedFile{WorkingM: ptr(70.0)}
		_, err := h.SetDog(ctx, h.trainer, fern.ID, 1, p)
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
		_, err = h.SetDog(ctx, h.trainer, fern.ID, d.Version, store.Profile{Name: "Fern", Needs: map[string]*exposure.NeedFile{"car": {WorkingM: ptr(20.0)}}})
		h.ok(err)
		list, err = h.History(ctx, h.trainer, fern.ID)
		h.ok(err)
		i := slices.IndexFunc(list, func(c store.Change) bool { return c.Name == "car" })
		want(t, "the last distance", onlyErr(h.RevertChange(ctx, h.trainer, fern.ID, list[i].ID)), store.ErrConflict)
	})
}
