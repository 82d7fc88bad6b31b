package message

import (
	"fmt"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/language"
)

// mostDepth is how deep places may stand in places: deeper is a mistake.
const mostDepth = 16

// Parse reads a text in a language, an IETF tag like "en-GB". The error says what
// is wrong at which byte.
func Parse(lang, text string) (*Message, error) {
	tag, err := language.Parse(lang)
	if err != nil {
		return nil, fmt.Errorf("language %q: %w", lang, err)
	}
	p := &parser{text: text}
	nodes, err := p.message(0, false)
	if err != nil {
		return nil, err
	}
	return &Message{tag, nodes}, nil
}

type parser struct {
	text string
	at   int
}

func (p *parser) wrong(format string, args ...any) error {
	return fmt.Errorf("at byte %d: %s", p.at, fmt.Sprintf(format, args...))
}

// message reads to the end, or in a case to the brace that closes it. counted says
// that # stands for a number here: the case is one of a plural.
func (p *parser) message(depth int, counted bool) (nodes []node, err error) {
	if depth > mostDepth {
		return nil, p.wrong("places stand more than %d deep in places", mostDepth)
	}
	var b strings.Builder
	flush := func() {
		if b.Len() > 0 {
			nodes = append(nodes, node{what: literal, text: b.String()})
			b.Reset()
		}
	}
	for p.at < len(p.text) {
		c := p.text[p.at]
		switch {
		case c == '{':
			flush()
			n, err := p.argument(depth)
			if err != nil {
				return nil, err
			}
			nodes = append(nodes, n)
		case c == '}' && depth > 0:
			flush()
			return nodes, nil
		case c == '#' && counted:
			flush()
			nodes = append(nodes, node{what: pound})
			p.at++
		case c == '\'':
			p.quoted(&b, counted)
		default:
			b.WriteByte(c)
			p.at++
		}
	}
	if depth > 0 {
		return nil, p.wrong("a brace is not closed")
	}
	flush()
	return nodes, nil
}

// quoted reads an apostrophe: two are one; before a brace, or # in a plural, it
// begins a quotation up to the next; else it is itself. The page's library also
// quotes angle brackets.
func (p *parser) quoted(b *strings.Builder, counted bool) {
	p.at++
	next := byte(0)
	if p.at < len(p.text) {
		next = p.text[p.at]
	}
	switch {
	case next == '\'':
		b.WriteByte('\'')
		p.at++
		return
	case next != 0 && strings.IndexByte("{}<>", next) >= 0, next == '#' && counted:
	default:
		b.WriteByte('\'')
		return
	}
	for p.at < len(p.text) {
		if p.text[p.at] != '\'' {
			b.WriteByte(p.text[p.at])
			p.at++
			continue
		}
		p.at++
		if p.at == len(p.text) || p.text[p.at] != '\'' {
			return
		}
		b.WriteByte('\'')
		p.at++
	}
}

// argument reads a place from its opening brace to the closing one.
func (p *parser) argument(depth int) (n node, err error) {
	p.at++
	p.space()
	n = node{what: place, text: p.name()}
	if n.text == "" {
		return n, p.wrong("a place has no name")
	}
	p.space()
	if p.take('}') {
		return n, nil
	}
	if !p.take(',') {
		return n, p.wrong("after the name of a place comes a comma or a closing brace")
	}
	p.space()
	kind := p.name()
	p.space()
	switch kind {
	case "number":
		n.what = number
		if !p.take('}') {
			return n, p.wrong("a number has no style here")
		}
		return n, nil
	case "plural":
		n.what = cardinal
	case "selectordinal":
		n.what = ordinal
	case "select":
		n.what = choose
	default:
		return n, p.wrong("%q is no kind of place that is read here", kind)
	}
	if !p.take(',') {
		return n, p.wrong("a %s needs its cases", kind)
	}
	return n, p.cases(&n, depth)
}

// cases reads the cases of a plural or select to its closing brace.
func (p *parser) cases(n *node, depth int) error {
	p.space()
	if n.what != choose && strings.HasPrefix(p.text[p.at:], "offset:") {
		p.at += len("offset:")
		p.space()
		x, err := strconv.Atoi(p.integer())
		if err != nil {
			return p.wrong("an offset is a whole number")
		}
		n.offset = float64(x)
	}
	for {
		p.space()
		if p.take('}') {
			break
		}
		key := p.name()
		if key == "" && n.what != choose && p.take('=') {
			x := p.integer()
			if _, err := strconv.Atoi(x); err != nil {
				return p.wrong("after = comes a whole number")
			}
			key = "=" + x
		}
		if key == "" {
			return p.wrong("a case has no name")
		}
		for i := range n.cases {
			if n.cases[i].key == key {
				return p.wrong("the case %q stands there twice", key)
			}
		}
		p.space()
		if !p.take('{') {
			return p.wrong("the case %q has no text", key)
		}
		nodes, err := p.message(depth+1, n.what != choose)
		if err != nil {
			return err
		}
		p.at++ // its closing brace
		n.cases = append(n.cases, choice{key, nodes})
	}
	for i := range n.cases {
		if n.cases[i].key == other {
			return nil
		}
	}
	return p.wrong("the case %q is missing", other)
}

func (p *parser) take(c byte) bool {
	if p.at < len(p.text) && p.text[p.at] == c {
		p.at++
		return true
	}
	return false
}

func (p *parser) space() {
	for p.at < len(p.text) {
		r, n := utf8.DecodeRuneInString(p.text[p.at:])
		if !unicode.IsSpace(r) {
			return
		}
		p.at += n
	}
}

// name reads letters, digits and low lines.
func (p *parser) name() string {
	from := p.at
	for p.at < len(p.text) {
		r, n := utf8.DecodeRuneInString(p.text[p.at:])
		if r != '_' && !unicode.IsLetter(r) && !unicode.IsDigit(r) {
			break
		}
		p.at += n
	}
	return p.text[from:p.at]
}

// integer reads a sign and digits.
func (p *parser) integer() string {
	from := p.at
	p.take('-')
	for p.at < len(p.text) && p.text[p.at] >= '0' && p.text[p.at] <= '9' {
		p.at++
	}
	return p.text[from:p.at]
}
