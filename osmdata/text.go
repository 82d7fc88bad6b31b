package osmdata

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// maxValue is the most characters of a tag's value, that of OpenStreetMap's own
// interface (API 0.6, "Maximum string lengths").
const maxValue = 255

// Plain is a text as people see it, on one line: without characters that have no
// width, turn the direction of others, or control a device, by which a name could
// look like another or change the words beside it. Line breaks become spaces, bytes
// that are no text the replacement character. Joiners stay between characters
// beyond ASCII, as scripts that need them have them there (Unicode Standard Annex 31,
// 2.3, in a simple form).
func Plain(text string) string {
	if isPlain(text) {
		return text
	}
	return strings.TrimSpace(plain(text, false))
}

// PlainLines is Plain for what people write as prose: line breaks and tabs stay.
func PlainLines(text string) string {
	if isPlain(text) {
		return text
	}
	return plain(text, true)
}

// isPlain says that a text is printable ASCII: nearly all are.
func isPlain(text string) bool {
	for i := range len(text) {
		if text[i] < ' ' || text[i] >= 0x7f {
			return false
		}
	}
	return true
}

func plain(text string, lines bool) string {
	text = strings.ToValidUTF8(text, string(utf8.RuneError))
	var out strings.Builder
	before := ' '
	for i, r := range text {
		switch {
		case r == '\n' || r == '\t' || r == '\r' || r == '\u0085' || r == '\u2028' || r == '\u2029':
			if !lines {
				r = ' '
			}
		case r == '\u200c' || r == '\u200d': // the joiners
			after, _ := utf8.DecodeRuneInString(text[i+utf8.RuneLen(r):])
			if !joins(before) || !joins(after) {
				continue
			}
		case hidden(r):
			continue
		}
		out.WriteRune(r)
		before = r
	}
	return out.String()
}

// joins says that a joiner beside a character may have a meaning.
func joins(r rune) bool {
	return r > unicode.MaxASCII && r != utf8.RuneError && !hidden(r) && (unicode.IsLetter(r) || unicode.IsMark(r) || unicode.IsSymbol(r))
}

// hidden says that a character controls or formats and shows nothing itself: the
// general categories Cc and Cf, to which all with the property Bidi_Control belong,
// without the soft hyphen, which texts have where they may be cut.
func hidden(r rune) bool {
	return unicode.IsControl(r) || unicode.Is(unicode.Cf, r) && r != '\u00ad'
}
