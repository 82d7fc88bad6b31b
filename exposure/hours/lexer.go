package hours

import (
	"fmt"
	"strconv"
	"strings"
	"unicode/utf8"
)

// maxBytes is the longest value that Parse reads: the 255 characters that the
// OpenStreetMap API stores in a tag value, at four bytes each.
const maxBytes = 4 * 255

// SyntaxError says where and why an opening_hours value is not understood.
// Callers count it and fall back to a Shape.
type SyntaxError struct {
	Value  string // as given, cut at maxBytes
	Offset int    // bytes
	Reason string
}

// Error names the value, the place and what was expected there.
func (e *SyntaxError) Error() string {
	return fmt.Sprintf("opening_hours %q: at byte %d: %s", e.Value, e.Offset, e.Reason)
}

type tokenKind uint8

const (
	endToken tokenKind = iota
	numberToken
	wordToken
	commentToken
	signToken
)

// token is a word in lower case, a number, a quoted comment or one sign of
// , ; - + / : [ ] ( ) or "||".
type token struct {
	kind   tokenKind
	text   string
	value  int // of a number
	offset int
	spaced bool // white space before it
}

// typography maps signs that editors and keyboards put in place of the
// grammar's own.
var typography = strings.NewReplacer(
	"\u2010", "-", "\u2011", "-", "\u2012", "-", "\u2013", "-", "\u2014", "-", "\u2212", "-",
	"\u00a0", " ", "\u202f", " ", "\u201c", `"`, "\u201d", `"`, "\u201e", `"`, "\uff1a", ":",
)

// lex cuts a value into tokens, the last one being an endToken.
func lex(value string) ([]token, *SyntaxError) {
	if len(value) > maxBytes {
		return nil, &SyntaxError{strings.ToValidUTF8(value[:maxBytes], ""), maxBytes,
			fmt.Sprintf("longer than %d bytes", maxBytes)}
	}
	text := typography.Replace(value)
	var list []token
	for at := 0; ; {
		start := at + len(text[at:]) - len(strings.TrimLeft(text[at:], " \t\r\n"))
		if start == len(text) {
			return append(list, token{kind: endToken, offset: len(value)}), nil
		}
		next, err := nextToken(text, start)
		if err != "" {
			return nil, &SyntaxError{value, min(start, len(value)), err}
		}
		at = start + len(next.text)
		next.spaced = start > 0 && strings.ContainsRune(" \t\r\n", rune(text[start-1]))
		next.offset = min(start, len(value))
		if next.kind == wordToken {
			next.text = strings.ToLower(next.text)
		}
		list = append(list, next)
	}
}

func nextToken(text string, at int) (token, string) {
	rest := text[at:]
	switch c := rest[0]; {
	case isDigit(c):
		return number(prefix(rest, isDigit))
	case isLetter(c):
		return token{kind: wordToken, text: prefix(rest, isLetter)}, ""
	case c == '"':
		end := strings.IndexByte(rest[1:], '"')
		if end < 0 {
			return token{}, "comment without closing quote"
		}
		return token{kind: commentToken, text: rest[:end+2]}, ""
	case strings.HasPrefix(rest, "||"):
		return token{kind: signToken, text: "||"}, ""
	case strings.IndexByte(",;-+/:[]()", c) >= 0:
		return token{kind: signToken, text: rest[:1]}, ""
	}
	r, _ := utf8.DecodeRuneInString(rest)
	return token{}, fmt.Sprintf("unexpected character %q", r)
}

func number(digits string) (token, string) {
	const longest = 4 // a year
	if len(digits) > longest {
		return token{}, "number of more than four digits"
	}
	value, err := strconv.Atoi(digits)
	if err != nil {
		return token{}, "not a number"
	}
	return token{kind: numberToken, text: digits, value: value}, ""
}

func prefix(s string, belongs func(byte) bool) string {
	end := 0
	for end < len(s) && belongs(s[end]) {
		end++
	}
	return s[:end]
}

func isDigit(c byte) bool { return '0' <= c && c <= '9' }

func isLetter(c byte) bool { return 'a' <= c|0x20 && c|0x20 <= 'z' }
