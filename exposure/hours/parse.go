package hours

import "fmt"

// Parse reads an opening_hours value by the grammar of the OpenStreetMap wiki
// (Key:opening_hours/specification, version 0.7.2). Case, missing leading
// zeros, am and pm, names of days and months in full, dashes for hyphens and
// the order of a rule's selectors are forgiven.
//
// Anything else is a *SyntaxError. Points in time and intervals ("10:00",
// "10:00-16:00/90") are errors too, since they say nothing about being open.
// It never panics and reads at most MaxBytes.
func Parse(value string) (*Opening, error) {
	tokens, bad := lex(value)
	if bad != nil {
		return nil, bad
	}
	p := parser{value: value, tokens: tokens}
	o := p.opening()
	if p.err != nil {
		return nil, p.err
	}
	return o, nil
}

// parser walks the tokens; after the first error every step is harmless, and
// the loops end because peek then gives the end.
type parser struct {
	value  string
	tokens []token
	at     int
	err    *SyntaxError
}

func (p *parser) peekAt(ahead int) token {
	if p.err != nil || p.at+ahead >= len(p.tokens) {
		return p.tokens[len(p.tokens)-1]
	}
	return p.tokens[p.at+ahead]
}

func (p *parser) peek() token { return p.peekAt(0) }

func (p *parser) next() token {
	t := p.peek()
	if t.kind != endToken {
		p.at++
	}
	return t
}

// isSign tells if the token so far ahead is that sign.
func (p *parser) isSign(ahead int, text string) bool {
	t := p.peekAt(ahead)
	return t.kind == signToken && t.text == text
}

func (p *parser) accept(sign string) bool {
	if p.isSign(0, sign) {
		p.next()
		return true
	}
	return false
}

func (p *parser) expect(sign string) {
	if !p.accept(sign) {
		p.fail("expected %q", sign)
	}
}

func (p *parser) fail(format string, args ...any) {
	if p.err == nil {
		p.err = &SyntaxError{p.value, p.peek().offset, fmt.Sprintf(format, args...)}
	}
}

// numeral reads a number from lowest to highest.
func (p *parser) numeral(what string, lowest, highest int) int {
	t := p.peek()
	if t.kind != numberToken || t.value < lowest || t.value > highest {
		p.fail("expected %s from %d to %d", what, lowest, highest)
		return lowest
	}
	p.next()
	return t.value
}

func (p *parser) opening() *Opening {
	o := &Opening{}
	sep := overrides
	for p.peek().kind != endToken {
		if p.accept(";") { // an empty rule, mostly a trailing semicolon
			sep = overrides
			continue
		}
		r := p.rule(sep)
		undated := len(o.rules) > 0 && !o.rules[len(o.rules)-1].dated()
		r.wipes = sep == overrides && r.state != Closed && (r.dated() || undated)
		o.rules = append(o.rules, r)
		for _, s := range r.spans {
			o.sunny = o.sunny || s.from.event != noEvent || s.to.event != noEvent
		}
		sep = p.separator()
	}
	if len(o.rules) == 0 {
		p.fail("no rule")
	}
	return o
}

func (p *parser) separator() separator {
	switch {
	case p.peek().kind == endToken || p.accept(";"):
		return overrides
	case p.accept(","):
		p.needMore()
		return adds
	case p.accept("||"):
		p.needMore()
		return fallsBack
	}
	p.fail("unexpected %q", p.peek().text)
	return overrides
}

func (p *parser) needMore() {
	if p.peek().kind == endToken {
		p.fail("expected a rule")
	}
}

// rule reads selectors until a modifier or a separator.
func (p *parser) rule(sep separator) rule {
	r := rule{sep: sep, state: Open}
	start := p.at
	vague := p.wideComment()
	for p.err == nil && p.selector(&r) {
	}
	p.modifier(&r)
	if vague && r.state == Open {
		r.state = Unknown
	}
	if p.at == start {
		p.fail("unexpected %q", p.peek().text)
	}
	return r
}

// wideComment skips a comment that stands for a stretch of the year, as in
// "summer": Mo-Fr 08:00-12:00, and tells if there was one. When that is only
// people know, so the rule's hours are Unknown.
func (p *parser) wideComment() bool {
	if p.peek().kind != commentToken || !p.isSign(1, ":") {
		return false
	}
	p.next()
	p.next()
	return true
}

func (p *parser) modifier(r *rule) {
	if t := p.peek(); t.kind == wordToken {
		switch t.text {
		case "open":
			r.state = Open
		case "off", "closed":
			r.state = Closed
		case "unknown":
			r.state = Unknown
		default:
			p.fail("unknown word %q", t.text)
		}
		p.next()
	} else if t.kind == commentToken {
		r.state = Unknown
	}
	if p.peek().kind == commentToken {
		p.next()
	}
}

// selector reads one selector, or the colon that may stand between them, and
// tells if it did. Each kind may come once.
func (p *parser) selector(r *rule) bool {
	t := p.peek()
	switch {
	case p.isAlways():
		p.at += 3
	case p.isTime(0):
		p.once(len(r.spans), "hours")
		r.spans = p.spans()
	case p.isDate():
		p.once(len(r.dates), "dates")
		r.dates = p.dateRanges()
	case t.kind == numberToken && len(t.text) == 4:
		p.once(len(r.years), "years")
		if len(r.days) > 0 {
			p.fail("year after weekdays, or hours without a colon") // "Mo-Fr 1000-1600"
		}
		r.years = p.yearRanges()
	case t.kind == wordToken && t.text == "week":
		p.next()
		p.once(len(r.weeks), "weeks")
		r.weeks = p.weekRanges()
	case p.isDay(0):
		r.days = append(r.days, p.daySelectors())
		p.checkDays(r.days)
	case r.dated() && p.isSign(0, ":"):
		p.next()
	default:
		return false
	}
	return true
}

// once fails if there are some already.
func (p *parser) once(already int, what string) {
	if already > 0 {
		p.fail("%s twice in one rule", what)
	}
}

// isAlways tells if "24/7" comes.
func (p *parser) isAlways() bool {
	return p.peek().text == "24" && p.isSign(1, "/") && p.peekAt(2).text == "7"
}

func (p *parser) yearRanges() []yearRange {
	const first, last = 1900, 9999
	var list []yearRange
	for more := true; more; more = p.listGoesOn(func(t token) bool { return len(t.text) == 4 && t.kind == numberToken }) {
		from := p.numeral("year", first, last)
		y := yearRange{from: from, to: from, step: 1}
		if p.accept("+") {
			y.to = last
		} else if p.accept("-") {
			y.to = p.numeral("year", from, last)
			y.step = p.step()
		}
		list = append(list, y)
	}
	return list
}

// step reads "/2"; without it the step is 1.
func (p *parser) step() int {
	const longest = 366
	if !p.accept("/") {
		return 1
	}
	return p.numeral("step", 1, longest)
}

// listGoesOn steps over a comma if what follows it belongs to the list; if
// not, the comma separates rules.
func (p *parser) listGoesOn(belongs func(token) bool) bool {
	if !p.isSign(0, ",") || !belongs(p.peekAt(1)) {
		return false
	}
	p.next()
	return true
}

func (p *parser) weekRanges() []weekRange {
	const last = 53 // ISO 8601
	var list []weekRange
	for more := true; more; more = p.listGoesOn(func(t token) bool {
		return t.kind == numberToken && len(t.text) <= 2 && !p.isSign(2, ":")
	}) {
		from := p.numeral("week", 1, last)
		w := weekRange{from: from, to: from, step: 1}
		if p.accept("-") {
			w.to = p.numeral("week", 1, last)
			w.step = p.step()
		}
		list = append(list, w)
	}
	return list
}

// weekdays, Monday 0, also under the English names that people write.
var weekdays = withNames([]string{"monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"}, 2, 0)

// withNames numbers names from first, each also by its first few letters and
// by three.
func withNames(names []string, letters, first int) map[string]int {
	numbers := map[string]int{}
	for i, name := range names {
		for _, text := range []string{name, name[:letters], name[:3]} {
			numbers[text] = first + i
		}
	}
	return numbers
}

var holidays = map[string]holiday{"ph": publicHoliday, "sh": schoolHoliday}

func (p *parser) isDay(ahead int) bool { return isDayWord(p.peekAt(ahead)) }

func isDayWord(t token) bool {
	_, weekday := weekdays[t.text]
	return weekday || holidays[t.text] != noHoliday
}

func (p *parser) daySelectors() []daySelector {
	list := []daySelector{p.daySelector()}
	for p.listGoesOn(isDayWord) {
		list = append(list, p.daySelector())
	}
	return list
}

func (p *parser) daySelector() daySelector {
	word := p.next().text
	if kind := holidays[word]; kind != noHoliday {
		return daySelector{holiday: kind, offset: p.dayOffset()}
	}
	s := daySelector{from: weekdays[word], to: weekdays[word]}
	switch {
	case p.isSign(0, "["):
		s.nth = p.nthList()
		s.offset = p.dayOffset()
	case p.isSign(0, "-"):
		p.next()
		to, is := weekdays[p.peek().text]
		if !is {
			p.fail("expected a weekday")
		}
		p.next()
		s.to = to
	}
	return s
}

// checkDays allows a second list for "PH Mo-Fr" only, the weekdays that are
// holidays: two lists of weekdays are mostly a forgotten separator.
func (p *parser) checkDays(lists [][]daySelector) {
	if len(lists) == 1 {
		return
	}
	for _, s := range lists[0] {
		if len(lists) > 2 || s.holiday == noHoliday {
			p.fail("weekdays twice in one rule")
		}
	}
}

// nthList reads [1], [1,3], [1-2] or [-1].
func (p *parser) nthList() []int {
	const most = 5 // of one weekday in a month
	var list []int
	p.expect("[")
	for more := true; more && p.err == nil; more = p.accept(",") {
		if p.accept("-") {
			list = append(list, -p.numeral("number", 1, most))
			continue
		}
		from := p.numeral("number", 1, most)
		to := from
		if p.accept("-") {
			to = p.numeral("number", from, most)
		}
		for ; from <= to; from++ {
			list = append(list, from)
		}
	}
	p.expect("]")
	return list
}

// dayOffset reads "+1 day" or "-2 days"; without it the offset is 0.
func (p *parser) dayOffset() int {
	const furthest = 366
	plus, minus := p.isSign(0, "+"), p.isSign(0, "-")
	unit := p.peekAt(2).text
	if !plus && !minus || unit != "day" && unit != "days" {
		return 0
	}
	p.next()
	n := p.numeral("days", 0, furthest)
	p.next()
	if minus {
		return -n
	}
	return n
}

var months = withNames([]string{"january", "february", "march", "april", "may", "june", "july", "august",
	"september", "october", "november", "december"}, 3, 1)

// isDate tells if a month or Easter comes, perhaps after a year.
func (p *parser) isDate() bool {
	ahead := 0
	if t := p.peek(); t.kind == numberToken && len(t.text) == 4 {
		ahead = 1
	}
	word := p.peekAt(ahead).text
	return months[word] != 0 || word == "easter"
}
