package kept

import (
	"strings"
	"testing"
	"time"
)

// TestWordsAreHeldToTheirBounds: the last that is taken beside the first that is not.
func TestWordsAreHeldToTheirBounds(t *testing.T) {
	for _, c := range []struct {
		in   WordInput
		want string // pointer, "" for none
	}{
		{WordInput{Helper: "Tilly", Words: "x"}, ""},
		{WordInput{HelperDog: "id", Words: "two\nlines"}, ""},
		{WordInput{Helper: "Tilly", Words: strings.Repeat("ü", 500)}, ""},
		{WordInput{Helper: "Tilly", Words: strings.Repeat("ü", 501)}, "/words"},
		{WordInput{Helper: "Tilly", Words: " \n "}, "/words"},
		{WordInput{Helper: "Tilly", Words: "a\x00b"}, "/words"},
		{WordInput{Helper: strings.Repeat("a", 81), Words: "x"}, "/helper"},
		{WordInput{Words: "x"}, "/helper"},
		{WordInput{Helper: "Tilly", HelperDog: "id", Words: "x"}, "/helper"},
		{WordInput{HelperDog: strings.Repeat("a", 200), Words: "x"}, "/helper_dog"},
	} {
		wrong := c.in.Check()
		if c.want == "" && len(wrong) > 0 || c.want != "" && (len(wrong) != 1 || wrong[0].Pointer != c.want || wrong[0].Mend == "") {
			t.Errorf("%.60v: %v, want %q", c.in, wrong, c.want)
		}
	}
	if wrong := (&WordInput{}).Check(); len(wrong) != 2 || !strings.Contains(wrong[1].Mend, "in writing") {
		t.Errorf("all that is missing is told together: %v", wrong)
	}
}

// TestWhatAWordAllows: this dog and this helper, as it was said, until it is taken back.
func TestWhatAWordAllows(t *testing.T) {
	w := Word{Dog: "d", WordInput: WordInput{Helper: "Tilly"}}
	if !w.Allows("d", "Tilly", "") || w.Allows("e", "Tilly", "") || w.Allows("d", "tilly", "") || w.Allows("d", "", "") || w.Allows("", "Tilly", "") || w.Allows("d", "Tilly", "h") {
		t.Error("of a named helper")
	}
	w.WordInput = WordInput{HelperDog: "h"}
	if !w.Allows("d", "", "h") || w.Allows("d", "Tilly", "h") || w.Allows("d", "", "i") {
		t.Error("of a kept helper")
	}
	at := time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC)
	if w.Withdrawn = &at; w.Allows("d", "", "h") {
		t.Error("taken back")
	}
}
