package message_test

import (
	"fmt"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"wideberth/routing/briefing/message"
)

// The slow twin: texts are made together with what they must say, by the rules of the
// ICU User Guide (Formatting Messages) and of CLDR's English plurals (cardinal one:
// i = 1 and v = 0; ordinal one, two, few: the last digit 1, 2, 3 but not 11, 12, 13).

// drawn is a piece of a text: its source, and what it says for a number counted by the
// plural round it.
type drawn struct {
	source string
	says   func(counted int) string
}

// quoted writes text so that it stands for itself: apostrophes twice, what means
// something between apostrophes; # does in a plural only.
func quoted(s string, counting bool) string {
	var b strings.Builder
	for _, r := range s {
		switch r {
		case '\'':
			b.WriteString("''")
		case '{', '}', '#':
			if r != '#' || counting {
				b.WriteString("'" + string(r) + "'")
				continue
			}
			fallthrough
		default:
			b.WriteRune(r)
		}
	}
	return b.String()
}

func cardinal(n int) string {
	if n == 1 || n == -1 { // categories are those of the absolute value (UTS 35, operand n)
		return "one"
	}
	return "other"
}

func ordinal(n int) string {
	n = max(n, -n)
	if tens := n % 100; tens < 11 || tens > 13 {
		switch n % 10 {
		case 1:
			return "one"
		case 2:
			return "two"
		case 3:
			return "few"
		}
	}
	return "other"
}

// drawText draws a run of pieces; values are what places stand for.
func drawText(t *rapid.T, depth int, counting bool, numbers map[string]int, words map[string]string) drawn {
	var all []drawn
	for range rapid.IntRange(0, 3).Draw(t, "pieces") {
		all = append(all, drawPiece(t, depth, counting, numbers, words))
	}
	return drawn{
		func() (s string) {
			for _, d := range all {
				s += d.source
			}
			return s
		}(),
		func(counted int) (s string) {
			for _, d := range all {
				s += d.says(counted)
			}
			return s
		},
	}
}

func drawPiece(t *rapid.T, depth int, counting bool, numbers map[string]int, words map[string]string) drawn {
	sorts := []string{"letters", "sign", "word", "number"}
	if counting {
		sorts = append(sorts, "pound")
	}
	if depth > 0 {
		sorts = append(sorts, "plural", "selectordinal", "select")
	}
	name := rapid.SampledFrom([]string{"a", "b"}).Draw(t, "name")
	number := rapid.SampledFrom([]string{"m", "n"}).Draw(t, "number")
	switch sort := rapid.SampledFrom(sorts).Draw(t, "sort"); sort {
	case "letters":
		s := rapid.StringMatching(`[a-zé ,.\n]{1,6}`).Draw(t, "letters")
		return drawn{s, func(int) string { return s }}
	case "sign": // between letters, so that two quotings never touch
		s := "x" + rapid.SampledFrom([]string{"'", "{", "}", "#"}).Draw(t, "sign") + "y"
		return drawn{quoted(s, counting), func(int) string { return s }}
	case "word":
		return drawn{"{" + name + "}", func(int) string { return words[name] }}
	case "number":
		return drawn{"{ " + number + " , number }", func(int) string { return grouped(numbers[number]) }}
	case "pound":
		return drawn{"#", grouped}
	case "select":
		return drawCases(t, depth, name, sort, []string{"kiln", "lane"}, false, numbers, words, func(key string, _ int) string {
			return map[bool]string{true: words[name], false: "other"}[key == ""]
		})
	default:
		offset := rapid.IntRange(0, 2).Draw(t, "offset")
		x := numbers[number]
		rule, keys := cardinal, []string{"=0", "=1", "=7", "one"}
		if sort == "selectordinal" {
			rule, keys = ordinal, append(keys, "two", "few")
		}
		head := sort
		if offset > 0 {
			head += ", offset:" + strconv.Itoa(offset)
		}
		d := drawCases(t, depth, number, head, keys, true, numbers, words, func(key string, _ int) string {
			if key == "" {
				return "=" + strconv.Itoa(x)
			}
			return rule(x - offset)
		})
		return drawn{d.source, func(int) string { return d.says(x - offset) }}
	}
}

// drawCases draws the cases of a plural or select. choose gives the key to look for
// first (asked with ""), then the one after it; what is not there is "other".
func drawCases(t *rapid.T, depth int, place, head string, keys []string, counting bool, numbers map[string]int, words map[string]string, choose func(string, int) string) drawn {
	cases := map[string]drawn{}
	source := "{" + place + ", " + head
	if !strings.Contains(head, "offset:") {
		source += ","
	}
	for _, key := range append(rapid.SliceOfDistinct(rapid.SampledFrom(keys), rapid.ID[string]).Draw(t, "keys"), "other") {
		cases[key] = drawText(t, depth-1, counting, numbers, words)
		source += " " + key + " {" + cases[key].source + "}"
	}
	return drawn{source + "}", func(counted int) string {
		for _, key := range []string{choose("", counted), choose("next", counted)} {
			if d, ok := cases[key]; ok {
				return d.says(counted)
			}
		}
		return cases["other"].says(counted)
	}}
}

// grouped puts commas between thousands, by counting digits.
func grouped(n int) string {
	s, sign := strconv.Itoa(max(n, -n)), ""
	if n < 0 {
		sign = "-"
	}
	out := ""
	for i, digit := range s {
		if i > 0 && (len(s)-i)%3 == 0 {
			out += ","
		}
		out += string(digit)
	}
	return sign + out
}

// TestAgainstTwin: what is written says what its twin says, however cases, offsets and
// quotings lie in one another.
func TestAgainstTwin(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		number := rapid.OneOf(rapid.IntRange(-2, 25), rapid.IntRange(99, 125), rapid.IntRange(-2_000_000, 2_000_000))
		numbers := map[string]int{"m": number.Draw(t, "m"), "n": number.Draw(t, "n")}
		word := rapid.SampledFrom([]string{"kiln", "lane", "'{#}'", ""})
		words := map[string]string{"a": word.Draw(t, "a"), "b": word.Draw(t, "b")}
		d := drawText(t, 3, false, numbers, words)
		m, err := message.Parse("en-GB", d.source)
		if err != nil {
			t.Fatalf("%q: %v", d.source, err)
		}
		if got, want := m.Text("m", numbers["m"], "n", float64(numbers["n"]), "a", words["a"], "b", words["b"]), d.says(0); got != want {
			t.Fatalf("%q with %v %v: %q, want %q", d.source, numbers, words, got, want)
		}
	})
}

// TestFixedAgainstCounting: decimals by hand, halves away from nought.
func TestFixedAgainstCounting(t *testing.T) {
	for n := -2000; n <= 2000; n++ {
		x := float64(n) / 8 // exact in binary
		abs, sign := max(n, -n), ""
		tenths := (abs*10*2 + 8) / 16 // half up of abs/8 in tenths
		if n < 0 {
			sign = "-"
		}
		if got, want := message.Fixed(x, 1), fmt.Sprintf("%s%d.%d", sign, tenths/10, tenths%10); got != want {
			t.Errorf("%g is told as %s, want %s", x, got, want)
		}
	}
}
