package briefing

import (
	"strings"
	"testing"
	"time"

	"wideberth/exposure"
	"wideberth/exposure/learning"
	"wideberth/routing/training/setup"
)

// TestMuzzlesInWords: who is muzzle-trained and who is not, by name where one is known, and
// only where one of the two has bitten; of a helper that is no dog nothing is said.
func TestMuzzlesInWords(t *testing.T) {
	wish := func(kind exposure.Kind, bitten, trained bool, h setup.Helper) *setup.Wish {
		w := &setup.Wish{Kind: kind, Helper: h}
		w.Dog.Name, w.Dog.Cautions.BiteHistory, w.Dog.Cautions.MuzzleTrained = "Oro", bitten, trained
		return w
	}
	for _, c := range []struct {
		w    *setup.Wish
		want string
	}{
		{wish(exposure.DogOnLead, false, false, setup.Helper{}), ""},
		{wish(exposure.DogOnLead, true, false, setup.Helper{}), "Oro is not muzzle-trained, as far as was said.|The helper dog is not muzzle-trained, as far as was said."},
		{wish(exposure.DogOnLead, true, true, setup.Helper{Name: "Tilly"}), "Oro is muzzle-trained.|Tilly is not muzzle-trained, as far as was said."},
		{wish(exposure.DogOnLead, false, false, setup.Helper{Name: "Tilly", Bite: true, MuzzleTrained: true}), "Oro is not muzzle-trained, as far as was said.|Tilly is muzzle-trained."},
		{wish(exposure.Bicycle, true, true, setup.Helper{Name: "Sam"}), "Oro is muzzle-trained."},
		{wish(exposure.Bicycle, false, false, setup.Helper{Name: "Sam", Bite: true}), ""},
		{wish(exposure.DogOnLead, true, true, setup.Helper{Name: strings.Repeat("long ", 40), MuzzleTrained: true}), "*"},
	} {
		got := plain(strings.Join((Words{}).SetupMuzzles(c.w), "|"))
		if c.want == "*" {
			if n := len([]rune(got)); n > 2*MostNameRunes+60 {
				t.Errorf("a long name makes %d characters", n)
			}
		} else if got != c.want {
			t.Errorf("%+v: %q, want %q", c.w.Helper, got, c.want)
		}
	}
}

// TestWordOfATrainer: whole, with who said it and on which day.
func TestWordOfATrainer(t *testing.T) {
	x := &setup.Word{By: "Tess", At: time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC), Text: "No nearer than 40 m. I hold the line; {braces} and all."}
	got := plain((Words{}).SetupWord(x))
	for _, want := range []string{"Tess", "25 November 2026", "“" + x.Text + "”"} {
		if !strings.Contains(got, want) {
			t.Errorf("%q lacks %q", got, want)
		}
	}
}

// TestRespitesInWords: what a day asks for and why; a bite goes before numbers and sends to
// the trainer.
func TestRespitesInWords(t *testing.T) {
	day := time.Date(2026, 11, 26, 0, 0, 0, 0, time.UTC)
	for _, c := range []struct {
		r    learning.Respite
		want []string
	}{
		{learning.Respite{Day: day, Rest: true, Times: 3}, []string{"26 November", "a day of rest", "3 times"}},
		{learning.Respite{Day: day, Times: 1}, []string{"far steps only", "1.5 times the working distance", "threshold once"}},
		{learning.Respite{Day: day, Times: 2}, []string{"far steps only", "threshold 2 times"}},
		{learning.Respite{Day: day, Rest: true, Times: 1, Harm: true}, []string{"a day of rest", "snapped or bit", "trainer"}},
	} {
		got := plain((Words{}).Respite(&c.r))
		for _, want := range c.want {
			if !strings.Contains(got, want) {
				t.Errorf("%+v: %q lacks %q", c.r, got, want)
			}
		}
		if !c.r.Rest && strings.Contains(got, "rest.") || c.r.Harm && strings.Contains(got, "times") {
			t.Errorf("%+v: %q", c.r, got)
		}
	}
}
