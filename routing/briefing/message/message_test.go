package message_test

import (
	"encoding/json"
	"fmt"
	"math"
	"math/big"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"wideberth/routing/briefing/message"
)

// text reads and fills in.
func text(t testing.TB, lang, s string, pairs ...any) string {
	t.Helper()
	m, err := message.Parse(lang, s)
	if err != nil {
		t.Fatalf("%q: %v", s, err)
	}
	return m.Text(pairs...)
}

// TestMessages is the table that the page's library is held to as well
// (api/web/test/catalogue.test.mjs): the two read one syntax.
func TestMessages(t *testing.T) {
	b, err := os.ReadFile("testdata/messages.json")
	if err != nil {
		t.Fatal(err)
	}
	var cases []struct {
		From, Lang, Text, Want string
		Places                 map[string]any
	}
	if err := json.Unmarshal(b, &cases); err != nil || len(cases) < 40 {
		t.Fatal(len(cases), err)
	}
	for _, c := range cases {
		var pairs []any
		for name, v := range c.Places {
			pairs = append(pairs, name, v)
		}
		if got := text(t, c.Lang, c.Text, pairs...); got != c.Want {
			t.Errorf("%s: %q with %v: %q, want %q", c.From, c.Text, c.Places, got, c.Want)
		}
	}
}

// TestRefused: what is not read is refused with the place of the fault.
func TestRefused(t *testing.T) {
	for text, want := range map[string]string{
		"{":                                      "no name",
		"{}":                                     "no name",
		"{a b}":                                  "comma or a closing brace",
		"{n":                                     "comma or a closing brace",
		"{n, date}":                              `"date" is no kind`,
		"{n, number, percent}":                   "no style",
		"{n, number, ::compact}":                 "no style",
		"{n, plural}":                            "needs its cases",
		"{n, plural, }":                          `"other" is missing`,
		"{n, plural, one {#}}":                   `"other" is missing`,
		"{n, plural, one {#} one {#} other {#}}": "twice",
		"{n, plural, other}":                     "no text",
		"{n, plural, =x {#} other {#}}":          "whole number",
		"{n, plural, offset:x other {#}}":        "whole number",
		"{n, plural, other {#}":                  "no name",
		"{n, select, =1 {a} other {b}}":          "no name",
		"{n, plural, other {a":                   "not closed",
		strings.Repeat("{n, plural, other {", 18) + strings.Repeat("}}", 18): "deep",
	} {
		if _, err := message.Parse("en-GB", text); err == nil || !strings.Contains(err.Error(), want) || !strings.HasPrefix(err.Error(), "at byte ") {
			t.Errorf("%q: %v, want %q", text, err, want)
		}
	}
	if _, err := message.Parse("no language", "a"); err == nil {
		t.Error("a language that is none was taken")
	}
}

// TestMissing: a text is always a text, whatever it is given.
func TestMissing(t *testing.T) {
	const s = "{a}, {n, plural, =0 {none} one {one} other {many #}}, {b, select, x {x} other {y}}, {c, number}."
	for want, pairs := range map[string][]any{
		", many 0, y, .":       nil,
		"3, one, x, 4,000.":    {"a", 3, "n", 1, "b", "x", "c", 4000},
		"true, many 0, y, no.": {"a", true, "n", "7", "b", 3, "c", "no"},
		", many 0, y, NaN.":    {"n", math.NaN(), "c", math.NaN(), "left over"},
	} {
		if got := text(t, "en-GB", s, pairs...); got != want {
			t.Errorf("%v: %q, want %q", pairs, got, want)
		}
	}
}

func TestPlaces(t *testing.T) {
	m, err := message.Parse("en-GB", "{b} {n, plural, one {{a}} other {# {b}}} {c, select, other {{d, number}}} '{e}'")
	if err != nil {
		t.Fatal(err)
	}
	if got := m.Places(); !slices.Equal(got, []string{"a", "b", "c", "d", "n"}) {
		t.Error(got)
	}
}

// TestNumbersAreReadBack: digits, commas and halves against fractions.
func TestNumbersAreReadBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.Float64Range(-1e9, 1e9).Draw(t, "x")
		if rapid.Bool().Draw(t, "half") {
			x = math.Trunc(x) + float64(rapid.IntRange(0, 15).Draw(t, "sixteenths"))/16
		}
		got := message.Number(x)
		back, ok := new(big.Rat).SetString(strings.ReplaceAll(got, ",", ""))
		if !ok {
			t.Fatalf("%g: %q is no number", x, got)
		}
		exact, _ := new(big.Rat).SetString(strconv.FormatFloat(x, 'f', -1, 64))
		off := new(big.Rat).Abs(new(big.Rat).Sub(back, exact))
		if c := off.Cmp(big.NewRat(1, 2000)); c > 0 || c == 0 && new(big.Rat).Abs(back).Cmp(new(big.Rat).Abs(exact)) < 0 {
			t.Fatalf("%g is told as %s", x, got)
		}
		whole, _, _ := strings.Cut(strings.TrimPrefix(got, "-"), ".")
		for i, group := range strings.Split(whole, ",") {
			if len(group) > 3 || i > 0 && len(group) != 3 {
				t.Fatalf("%g is told as %s", x, got)
			}
		}
	})
}

// FuzzParse: no text ends the program, and what has no brace, apostrophe or
// number sign comes back as it is.
func FuzzParse(f *testing.F) {
	for _, s := range []string{"", "a", "{n, plural, offset:1 =0 {a} one {#} other {''#'{'}}", "{a, select, b {{c}} other {}}", "'{", "{\u2028n}", "}", "{n,number}"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		m, err := message.Parse("en-GB", s)
		if err != nil {
			if strings.ContainsAny(s, "{") {
				return
			}
			t.Fatalf("%q: %v", s, err)
		}
		got := m.Text("n", 1, "a", "b")
		if !strings.ContainsAny(s, "{}'#") && got != s {
			t.Fatalf("%q became %q", s, got)
		}
	})
}

func ExampleMessage_Text() {
	m, err := message.Parse("en-GB", "{n, plural, one {# way out} other {# ways out}}: {names}.")
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(m.Text("n", 1, "names", "Kiln Lane"))
	fmt.Println(m.Text("n", 2, "names", "Kiln Lane, Race Walk"))
	// Output:
	// 1 way out: Kiln Lane.
	// 2 ways out: Kiln Lane, Race Walk.
}
