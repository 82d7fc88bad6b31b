// Package message reads texts written in the syntax of ICU MessageFormat and fills
// them in: "{n, plural, one {# dog} other {# dogs}} from {street}". The page reads
// the same texts with a library of its own; a table of cases holds the two to one
// answer. It hides quoting, nesting, plural categories and how numbers are grouped.
//
// Read are {place}, {place, number}, {place, plural, ...} with offset and exact
// cases, {place, selectordinal, ...}, {place, select, ...}, # and apostrophes in
// their default mode (ICU User Guide, Formatting Messages). Dates, times, number
// styles and skeletons are refused: what is told of them is decided by code.
package message

import (
	"fmt"
	"math"
	"math/big"
	"slices"
	"strconv"
	"strings"

	"golang.org/x/text/feature/plural"
	"golang.org/x/text/language"
)

// Message is a text that was read. Not changed once made; may be shared between
// goroutines.
type Message struct {
	lang  language.Tag
	nodes []node
}

// node is a piece of a text.
type node struct {
	what   sort
	text   string // of a literal, or the name of the place
	offset float64
	cases  []choice
}

type sort uint8

const (
	literal sort = iota
	place
	number
	pound
	cardinal
	ordinal
	choose
)

// choice is a case of a plural or select: a keyword, or "=3".
type choice struct {
	key   string
	nodes []node
}

// other is the case that every plural and select has.
const other = "other"

// Text fills a text in. Pairs are names and values: a value is a string, an int or
// a float64. A place without a value stays empty; a plural without a number takes
// its case for all others.
func (m *Message) Text(pairs ...any) string {
	values := make(map[string]any, len(pairs)/2)
	for i := 0; i+1 < len(pairs); i += 2 {
		if name, ok := pairs[i].(string); ok {
			values[name] = pairs[i+1]
		}
	}
	var b strings.Builder
	m.write(&b, m.nodes, values, 0)
	return b.String()
}

func (m *Message) write(b *strings.Builder, nodes []node, values map[string]any, counted float64) {
	for i := range nodes {
		n := &nodes[i]
		switch n.what {
		case literal:
			b.WriteString(n.text)
		case place:
			b.WriteString(plain(values[n.text]))
		case number:
			if x, ok := numeric(values[n.text]); ok {
				b.WriteString(Number(x))
			} else {
				b.WriteString(plain(values[n.text]))
			}
		case pound:
			b.WriteString(Number(counted))
		case cardinal, ordinal:
			if x, ok := numeric(values[n.text]); ok {
				m.write(b, n.counted(m.lang, x), values, x-n.offset)
			} else {
				m.write(b, n.pick(other), values, 0)
			}
		case choose:
			m.write(b, n.pick(plain(values[n.text])), values, counted)
		}
	}
}

// pick is the case of a key, that for all others if there is none.
func (n *node) pick(key string) []node {
	for _, want := range []string{key, other} {
		if i := slices.IndexFunc(n.cases, func(c choice) bool { return c.key == want }); i >= 0 {
			return n.cases[i].nodes
		}
	}
	return nil
}

// counted is the case of a plural for a number: the exact one, else that of the
// number's category less the offset.
func (n *node) counted(lang language.Tag, x float64) []node {
	if i := slices.IndexFunc(n.cases, func(c choice) bool { return c.key == "="+plain(x) }); i >= 0 {
		return n.cases[i].nodes
	}
	rules := plural.Cardinal
	if n.what == ordinal {
		rules = plural.Ordinal
	}
	return n.pick(category(rules, lang, x-n.offset))
}

// The names of plural categories in CLDR.
var categories = map[plural.Form]string{plural.Zero: "zero", plural.One: "one", plural.Two: "two", plural.Few: "few", plural.Many: "many", plural.Other: other}

// category is the plural category of a number as it is written: operands i, v, w,
// f, t of UTS 35.
func category(rules *plural.Rules, lang language.Tag, x float64) string {
	whole, part, _ := strings.Cut(digits(math.Abs(x)), ".")
	if len(whole) > mostPluralDigits {
		whole = whole[len(whole)-mostPluralDigits:] // rules look at the end
	}
	i, _ := strconv.Atoi(whole)
	f, _ := strconv.Atoi("0" + part)
	return categories[rules.MatchPlural(lang, i, len(part), len(part), f, f)]
}

// mostPluralDigits of a whole number are looked at.
const mostPluralDigits = 9

func plain(v any) string {
	switch x := v.(type) {
	case nil:
		return ""
	case string:
		return x
	case float64:
		return strconv.FormatFloat(x, 'f', -1, 64)
	}
	return fmt.Sprint(v)
}

func numeric(v any) (float64, bool) {
	switch x := v.(type) {
	case int:
		return float64(x), true
	case float64:
		return x, !math.IsNaN(x) && !math.IsInf(x, 0)
	}
	return 0, false
}

// mostDecimals is how many decimals a number is written with at most: the default
// of ECMA-402's NumberFormat and of ICU.
const mostDecimals = 3

// digits writes a number with at most three decimals. As in ICU, halves are those
// of the shortest decimal that is read back as the number, and go away from nought.
func digits(x float64) string {
	short := strconv.FormatFloat(x, 'f', -1, 64)
	r, ok := new(big.Rat).SetString(short)
	if !ok {
		return short
	}
	return strings.TrimSuffix(strings.TrimRight(r.FloatString(mostDecimals), "0"), ".")
}

// Fixed writes a number with so many decimals. Halves go away from nought and are
// halves of the exact value, as ECMAScript's toFixed has it for numbers above it;
// strconv would take them to the even digit.
func Fixed(x float64, decimals int) string {
	r := new(big.Rat).SetFloat64(x)
	if r == nil {
		return strconv.FormatFloat(x, 'f', decimals, 64) // no number at all
	}
	return r.FloatString(decimals)
}

// Number writes a number as English does: commas between thousands, at most three
// decimals.
func Number(x float64) string {
	s := digits(x)
	sign := ""
	if strings.HasPrefix(s, "-") {
		sign, s = "-", s[1:]
	}
	end := len(s)
	if i := strings.IndexByte(s, '.'); i >= 0 {
		end = i
	}
	for i := end - 3; i > 0; i -= 3 {
		s = s[:i] + "," + s[i:]
	}
	return sign + s
}

// Places are the names that a text can be filled with, each once, sorted.
func (m *Message) Places() []string {
	var out []string
	var walk func(nodes []node)
	walk = func(nodes []node) {
		for i := range nodes {
			if n := &nodes[i]; n.what != literal && n.what != pound {
				out = append(out, n.text)
				for j := range n.cases {
					walk(n.cases[j].nodes)
				}
			}
		}
	}
	walk(m.nodes)
	slices.Sort(out)
	return slices.Compact(out)
}
