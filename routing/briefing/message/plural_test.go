package message_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"wideberth/routing/briefing/message"
)

// TestPluralCategories: categories of whole numbers and of decimals in languages of many
// kinds, as in the table "Language Plural Rules" of Unicode CLDR (the examples there, from
// memory).
func TestPluralCategories(t *testing.T) {
	const all = "zero {zero} one {one} two {two} few {few} many {many} other {other}"
	for _, c := range []struct{ lang, kind, numbers, want string }{
		{"en-GB", "plural", "0 1 2 1.5 0.5 100 -1", "other one other other other other one"},
		{"de", "plural", "0 1 2 1.5", "other one other other"},
		{"fr", "plural", "0 1 1.5 2 10", "one one one other other"},
		{"pl", "plural", "0 1 2 4 5 11 12 14 21 22 25 112 1.5", "many one few few many many many many many few many many other"},
		{"cs", "plural", "0 1 2 4 5 1.5", "other one few few other many"},
		{"ar", "plural", "0 1 2 3 10 11 99 100 102 103 111", "zero one two few few many many other other few many"},
		{"sl", "plural", "1 2 3 4 5 101 102 103 1.5", "one two few few other one two few few"},
		{"lt", "plural", "1 2 9 10 11 19 20 21 22 1.5", "one few few other other other other one few many"},
		{"ja", "plural", "0 1 2", "other other other"},
		{"en-GB", "selectordinal", "1 2 3 4 10 11 12 13 21 22 23 101 111 112", "one two few other other other other other one two few one other other"},
		{"it", "selectordinal", "1 8 11 80 800 7", "other many many many many other"},
		{"sv", "selectordinal", "1 2 3 11 12 21 22", "one one other other other one one"},
	} {
		var got []string
		for _, n := range strings.Fields(c.numbers) {
			var x float64
			if _, err := fmt.Sscan(n, &x); err != nil {
				t.Fatal(err)
			}
			got = append(got, text(t, c.lang, "{n, "+c.kind+", "+all+"}", "n", x))
		}
		if say := strings.Join(got, " "); say != c.want {
			t.Errorf("%s %s of %s: %s, want %s", c.lang, c.kind, c.numbers, say, c.want)
		}
	}
}

// TestCasesOfNumbers: an exact case goes before its category and is of the whole number, the
// category of what is left after the offset; # is that too; what is no number takes the case
// for all others.
func TestCasesOfNumbers(t *testing.T) {
	const guests = "{n, plural, offset:1 =0 {nobody} =1 {{who}} one {{who} and # more} other {{who} and # more, of {n, number}}}"
	for _, c := range []struct {
		n    any
		want string
	}{
		{0, "nobody"}, {1, "Fern"}, {2, "Fern and 1 more"}, {3, "Fern and 2 more, of 3"}, {1.0, "Fern"}, {1.5, "Fern and 0.5 more, of 1.5"}, {2001, "Fern and 2,000 more, of 2,001"},
		{-3, "Fern and -4 more, of -3"}, {"many", "Fern and 0 more, of many"}, {math.NaN(), "Fern and 0 more, of NaN"}, {math.Inf(1), "Fern and 0 more, of +Inf"}, {nil, "Fern and 0 more, of "},
		{1e15, "Fern and 999,999,999,999,999 more, of 1,000,000,000,000,000"},
	} {
		if got := text(t, "en", guests, "n", c.n, "who", "Fern"); got != c.want {
			t.Errorf("%v: %q, want %q", c.n, got, c.want)
		}
	}
	if got := text(t, "en", "{n, plural, =-2 {two below} other {#}}", "n", -2); got != "two below" {
		t.Errorf("-2 reads %q", got)
	}
	// The end of a number decides its category, however long it is: 1,000,000,000,021 in
	// English ordinals ends in 21, one of 1,000,000,000,011 in 11.
	for n, want := range map[float64]string{1_000_000_000_021: "st", 1_000_000_000_011: "th", 1_000_000_000_003: "rd"} {
		if got := text(t, "en", "{n, selectordinal, one {st} two {nd} few {rd} other {th}}", "n", n); got != want {
			t.Errorf("%.0f%s, want %s", n, got, want)
		}
	}
}

// TestGivenBadly: odd pairs, names that are none and values of other sorts do no harm.
func TestGivenBadly(t *testing.T) {
	m, err := message.Parse("en", "{a} {b, number} {c, select, x {X} other {-}}")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		pairs []any
		want  string
	}{
		{nil, "  -"}, {[]any{"a"}, "  -"}, {[]any{7, "x", "a", "A"}, "A  -"}, {[]any{"a", true, "b", []int{1}, "c", "x"}, "true [1] X"},
		{[]any{"a", 1.25, "b", 1234.5678, "c", 3}, "1.25 1,234.568 -"}, {[]any{"a", "one", "a", "two"}, "two  -"},
	} {
		if got := m.Text(c.pairs...); got != c.want {
			t.Errorf("%v: %q, want %q", c.pairs, got, c.want)
		}
	}
	if _, err := message.Parse("not a language", "x"); err == nil || !strings.Contains(err.Error(), "not a language") {
		t.Errorf("a language that is none: %v", err)
	}
}
