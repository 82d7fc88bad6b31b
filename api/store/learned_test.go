package store_test

import (
	"math"
	"testing"
	"time"

	"wideberth/api/store"
	"wideberth/exposure"
	"wideberth/exposure/learning"
)

var morningPark = exposure.Cell{Kind: exposure.DogOnLead, Place: exposure.PlacePark, Part: exposure.Morning}

func expect(kind, place string, inside float64) store.Expected {
	return store.Expected{Kind: kind, Place: place, Part: "morning", Inside: inside, WorkingM: 38}
}

// TestWalksTeachRates: Gamma(a, a) with counts y of exposures e becomes
// Gamma(a + y, a + e), the textbook posterior (Gelman et al., Bayesian Data
// Analysis, 3rd ed., section 2.6); with walks in one cell only it holds exactly.
func TestWalksTeachRates(t *testing.T) {
	each(t, func(t *testing.T, h *house) {
		ctx := t.Context()
		fern := h.dog("Fern")
		for i, told := range []bool{true, true, false} { // the third is not wholly told: it must not count
			key := string(rune('a' + i))
			_, _, err := h.AddWalk(ctx, h.trainer, fern.ID, store.WalkInput{Key: key, Started: start.Add(-time.Hour), AllTold: told}, []store.Expected{expect("dog_on_lead", "park", 1.5)})
			h.ok(err)
			for range 4 {
				in := meeting("")
				in.Walk = key
				_, _, err := h.AddEncounter(ctx, h.trainer, fern.ID, in, "park")
				h.ok(err)
			}
		}
		l, err := h.Learned(ctx, h.trainer)
		h.ok(err)
		if got := (learning.Tally{Observed: 8, Expected: 3, Walks: 2}); l.Tallies[morningPark] != got || l.Walks != 2 {
			t.Fatalf("tallies %+v from %d walks", l.Tallies, l.Walks)
		}
		a := exposure.DogOnLead.DoubtShape()
		f := l.Cells[morningPark]
		if math.Abs(f.Mean-(a+8)/(a+3)) > 1e-9 || math.Abs(f.Shape-(a+8)) > 1e-9 {
			t.Errorf("factor %+v, want mean %g and shape %g", f, (a+8)/(a+3), a+8)
		}
		// Cells that nobody walked in lean on it, but less.
		lean := l.Cells[exposure.Cell{Kind: exposure.DogOnLead, Place: exposure.PlaceResidential, Part: exposure.Night}]
		if !(lean.Mean > 1 && lean.Mean < f.Mean && lean.Shape < f.Shape) {
			t.Errorf("a cell never walked: %+v beside %+v", lean, f)
		}
		if _, ok := l.Cells[exposure.Cell{Kind: exposure.Child, Place: exposure.PlacePark, Part: exposure.Morning}]; ok {
			t.Error("a kind that was never counted has a factor")
		}
	})
}

// TestWhatCountsAsMet goes through the ways in which a meeting may or may not
// count against what was predicted nearer than the working distance of 38 m.
func TestWhatCountsAsMet(t *testing.T) {
	cells := []store.Expected{expect("dog_on_lead", "park", 3), expect("dog_on_lead", "woods", 1), expect("dog_off_lead", "park", 4), expect("child", "park", 0)}
	type in = store.EncounterInput
	cases := map[string]struct {
		change func(e *in)
		place  string
		want   [4]float64
		waits  bool
	}{
		"nearer":                  {func(e *in) {}, "park", [4]float64{1, 0, 0, 0}, false},
		"farther":                 {func(e *in) { e.DistanceM = ptr(50.0) }, "park", [4]float64{}, false},
		"about the distance":      {func(e *in) { e.Nearest, e.DistanceM = "about", nil }, "park", [4]float64{1, 0, 0, 0}, false},
		"farther than it":         {func(e *in) { e.Nearest, e.DistanceM = "farther_than", nil }, "park", [4]float64{}, false},
		"nearer than it":          {func(e *in) { e.Nearest, e.DistanceM = "nearer_than", nil }, "park", [4]float64{1, 0, 0, 0}, false},
		"between both":            {func(e *in) { e.Nearest, e.DistanceM, e.ToM = "between", ptr(15.0), ptr(38.0) }, "park", [4]float64{1, 0, 0, 0}, false},
		"nobody knows how near":   {func(e *in) { e.Nearest, e.DistanceM = "", nil }, "park", [4]float64{1, 0, 0, 0}, false},
		"nobody knows where":      {func(e *in) {}, "", [4]float64{.75, .25, 0, 0}, false},
		"somewhere off the walk":  {func(e *in) {}, "industry", [4]float64{.75, .25, 0, 0}, false},
		"some dog":                {func(e *in) { e.Kind = "dogs" }, "park", [4]float64{3. / 7, 0, 4. / 7, 0}, false},
		"what was not expected":   {func(e *in) { e.Kind = "child" }, "park", [4]float64{0, 0, 0, 1}, false},
		"what was not looked for": {func(e *in) { e.Kind = "bicycle" }, "park", [4]float64{}, false},
		"a draft":                 {func(e *in) { *e = in{At: e.At, Walk: e.Walk} }, "park", [4]float64{}, true},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			h := newHouse(t, newFile(t))
			ctx := t.Context()
			fern := h.dog("Fern")
			_, _, err := h.AddWalk(ctx, h.trainer, fern.ID, store.WalkInput{Key: "w1", Started: start.Add(-2 * time.Hour), AllTold: true}, cells)
			h.ok(err)
			e := meeting("")
			c.change(&e)
			kept, _, err := h.AddEncounter(ctx, h.trainer, fern.ID, e, c.place)
			h.ok(err)
			l, err := h.Learned(ctx, h.trainer)
			h.ok(err)
			if c.waits != (l.Walks == 0) {
				t.Errorf("%d walks count", l.Walks)
			}
			for i, x := range cells {
				for cell, sum := range l.Tallies {
					if cell.Kind.String() == x.Kind && cell.Place.String() == x.Place && math.Abs(sum.Observed-c.want[i]) > 1e-12 {
						t.Errorf("%s in %s: %g met, want %g", x.Kind, x.Place, sum.Observed, c.want[i])
					}
				}
			}
			h.ok(h.RemoveEncounter(ctx, h.trainer, kept.ID))
			if l, err = h.Learned(ctx, h.trainer); err != nil || l.Walks != 1 || l.Tallies[morningPark].Observed != 0 {
				t.Errorf("after it was taken back: %+v, %v", l.Tallies, err)
			}
		})
	}
}

// TestEvidence: what is learnt from starts at what was said, not at what was
// accepted since, or the same walks would count twice.
func TestEvidence(t *testing.T) {
	each(t, func(t *testing.T, h *house) {
		ctx := t.Context()
		fern := h.dog("Fern")
		cases := []func(e *store.EncounterInput){
			func(e *store.EncounterInput) {},
			func(e *store.EncounterInput) { e.Nearest, e.DistanceM, e.ToM = "between", ptr(16.0), ptr(36.0) },
			func(e *store.EncounterInput) { e.Nearest, e.DistanceM, e.Food = "nearer_than", nil, "refused" },
			func(e *store.EncounterInput) { e.Nearest, e.DistanceM, e.TurnedBack = "farther_than", nil, true },
			func(e *store.EncounterInput) { e.Nearest, e.Over, e.NoticedM = "about", "lunge", ptr(20.0) },
			func(e *store.EncounterInput) { e.Kind, e.Food, e.Sudden = "dogs", "", true },
			func(e *store.EncounterInput) { e.Kind = "adult" },                 // calm about: nothing to learn
			func(e *store.EncounterInput) { e.Kind = "child" },                 // no distances: nothing to start from
			func(e *store.EncounterInput) { e.Nearest, e.DistanceM = "", nil }, // nobody knows how near
			func(e *store.EncounterInput) { e.At = start.Add(-days(400)) },     // too long ago
		}
		for i, change := range cases {
			e := meeting("")
			e.At = start.Add(-days(100 - i))
			change(&e)
			_, _, err := h.AddEncounter(ctx, h.trainer, fern.ID, e, "")
			h.ok(err)
		}
		_, err := h.AcceptChange(ctx, h.trainer, fern.ID, "dogs", 38, exposure.Need{WorkingM: 31, ReactionM: 13}, store.Evidence{})
		h.ok(err)
		d, said, met, err := h.Evidence(ctx, h.trainer, fern.ID, start.Add(-days(365)))
		h.ok(err)
		if d.Distances["dogs"].WorkingM != 31 {
			t.Errorf("dog %+v", d.Distances)
		}
		wanted := []learning.Encounter{
			{Kind: "dog_on_lead", Category: "dogs", DistanceM: 20, Outcome: learning.TookFood},
			{Kind: "dog_on_lead", Category: "dogs", DistanceM: 24, Bound: learning.About, Outcome: learning.TookFood},
			{Kind: "dog_on_lead", Category: "dogs", DistanceM: 38, Bound: learning.NearerThan, Outcome: learning.RefusedFood},
			{Kind: "dog_on_lead", Category: "dogs", DistanceM: 38, Bound: learning.FartherThan, Outcome: learning.TurnedBack},
			{Kind: "dog_on_lead", Category: "dogs", DistanceM: 20, Bound: learning.About, Outcome: learning.WentOver, FirstNoticeM: 20},
			{Kind: "", Category: "dogs", DistanceM: 20, Outcome: learning.StayedUnder, Sudden: true},
		}
		if len(met) != len(wanted) {
			t.Fatalf("%d meetings say something, want %d: %+v", len(met), len(wanted), met)
		}
		for i, m := range met {
			m.When = time.Time{}
			if m != wanted[i] {
				t.Errorf("meeting %d: %+v, want %+v", i, m, wanted[i])
			}
		}
		for _, in := range said {
			if in.Category != "dogs" || in.WorkingM != 38 || in.ReactionM != 15 {
				t.Errorf("learning starts at %+v, want what was said: 38 and 15 m", in)
			}
		}
		if len(said) != 2 { // the category, and the kind that was met
			t.Errorf("%d starts: %+v", len(said), said)
		}
		if _, err := learning.Learn(said, met, h.now(), learning.DefaultSettings()); err != nil {
			t.Errorf("learning refuses it: %v", err)
		}
	})
}
