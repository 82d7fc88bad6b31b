package hours

import "time"

// dateRanges reads "Jan-Mar,Dec 24,26,Dec 31-Jan 2". A bare day takes the
// month before it.
func (p *parser) dateRanges() []dateRange {
	list := []dateRange{p.dateRange(dateSpec{})}
	for p.isSign(0, ",") {
		comma := p.at
		p.next()
		if p.isDate() || p.isDayNumber(0) && !p.isAlways() {
			list = append(list, p.dateRange(list[len(list)-1].to))
			continue
		}
		p.at = comma
		break
	}
	return list
}

func (p *parser) dateRange(before dateSpec) dateRange {
	from := p.dateSpec(before, true)
	r := dateRange{from: from, to: from}
	switch {
	case p.isSign(0, "+") && from.day != 0:
		p.next()
		r.openEnd = true
		if from.year == 0 { // to the end of each year
			const lastDay = 31
			r.openEnd, r.to = false, dateSpec{month: time.December, day: lastDay}
		}
	case p.accept("-"):
		r.to = p.dateSpec(from, false)
		p.checkYears(r)
		if p.accept("/") {
			r.period = p.numeral("period", 1, 366)
		}
	}
	return r
}

func (p *parser) checkYears(r dateRange) {
	switch {
	case r.from.year == 0 && r.to.year != 0:
		p.fail("a year at the end of a range needs one at its start")
	case r.to.year != 0 && r.to.last(r.to.year) < r.from.moved(r.from.year, max(r.from.day, 1)):
		p.fail("range of dates runs backwards")
	}
}

// dateSpec reads [year] month [day], [year] month weekday[n] or [year] easter,
// each with days added or taken. A bare day takes the month of the spec
// before. At the start of a range an nth weekday belongs to the date only if
// the range goes on after it, at the end only if the start is a day: "Nov
// Th[4]" and "Jun-Aug Sa[1]" are months and a weekday.
func (p *parser) dateSpec(before dateSpec, start bool) dateSpec {
	var s dateSpec
	// "Jun-Aug 24/7" is months and always, "Jun 3-24/7" every seventh day.
	noDay := func() bool { return p.isAlways() && (start || before.day == 0) }
	if p.isDayNumber(0) && before.month != 0 && before.nth == 0 && !before.easter {
		s.year, s.month = before.year, before.month
		s.day = p.dayNumber(s.month)
		return s
	}
	if t := p.peek(); t.kind == numberToken && len(t.text) == 4 {
		s.year = p.next().value
	}
	word := p.next().text
	s.month = time.Month(months[word])
	s.easter = word == "easter"
	switch {
	case s.easter:
		s.month = time.March // any month: Easter brings its own
	case s.month == 0:
		p.fail("expected a month")
		s.month = time.January
	case p.isDayNumber(0) && !noDay():
		s.day = p.dayNumber(s.month)
	case start || before.day != 0 || before.nth != 0 || before.easter:
		p.nthInDate(&s, start)
	}
	if s.easter || s.day != 0 || s.nth != 0 {
		s.offset = p.dayOffset()
	}
	return s
}

// nthInDate reads "Su[-1]" after a month. At the start of a range it goes back
// if no range follows.
func (p *parser) nthInDate(s *dateSpec, start bool) {
	weekday, is := weekdays[p.peek().text]
	if !is || !p.isSign(1, "[") {
		return
	}
	back := p.at
	p.next()
	nth := p.nthList()
	if start {
		here := p.at
		p.dayOffset()
		ranged := p.isSign(0, "-")
		p.at = here
		if !ranged {
			p.at = back
			return
		}
	}
	if len(nth) != 1 {
		p.fail("a date needs one weekday of the month")
		return
	}
	s.weekday, s.nth = weekday, nth[0]
}

// isDayNumber tells if a day of the month comes and not a time.
func (p *parser) isDayNumber(ahead int) bool {
	t := p.peekAt(ahead)
	return t.kind == numberToken && len(t.text) <= 2 && !p.isTime(ahead)
}

func (p *parser) dayNumber(month time.Month) int {
	const leapYear = 2000
	return p.numeral("day", 1, daysIn(leapYear, month))
}

var events = map[string]event{"dawn": dawn, "sunrise": sunrise, "sunset": sunset, "dusk": dusk}

// isTime tells if hours and minutes or an event of the sun come.
func (p *parser) isTime(ahead int) bool {
	t := p.peekAt(ahead)
	return t.kind == numberToken && p.isSign(ahead+1, ":") && len(p.peekAt(ahead+2).text) == 2 &&
		p.peekAt(ahead+2).kind == numberToken ||
		p.isSign(ahead, "(") || events[t.text] != noEvent
}

func (p *parser) spans() []span {
	list := []span{p.span()}
	for p.isSign(0, ",") && p.isTime(1) {
		p.next()
		list = append(list, p.span())
	}
	return list
}

func (p *parser) span() span {
	s := span{from: p.clockPoint(minutesPerDay)}
	if p.accept("+") {
		s.openEnd, s.noTo = true, true
		return s
	}
	if !p.accept("-") {
		p.fail("expected - or + after a time; points in time are not opening hours")
	}
	s.to = p.clockPoint(2 * minutesPerDay)
	if p.isSign(0, "/") {
		p.fail("an interval gives points in time, which are not opening hours")
	}
	s.openEnd = p.accept("+")
	return s
}

// clockPoint reads 08:30, sunset or (sunset-01:00).
func (p *parser) clockPoint(latest int) clockPoint {
	if !p.accept("(") {
		if e := events[p.peek().text]; e != noEvent {
			p.next()
			return clockPoint{event: e}
		}
		return clockPoint{minute: p.hourMinute(latest)}
	}
	e := events[p.next().text]
	if e == noEvent {
		p.fail("expected dawn, sunrise, sunset or dusk")
	}
	sign := 1
	if p.accept("-") {
		sign = -1
	} else {
		p.expect("+")
	}
	c := clockPoint{event: e, minute: sign * p.hourMinute(minutesPerDay)}
	p.expect(")")
	return c
}

// hourMinute reads 08:30, also 8:30 pm.
func (p *parser) hourMinute(latest int) int {
	hour := p.numeral("hour", 0, latest/60)
	p.expect(":")
	minute := hour*60 + p.numeral("minute", 0, 59)
	if half := p.peek().text; (half == "am" || half == "pm") && 1 <= hour && hour <= 12 {
		p.next()
		minute -= hour / 12 * 12 * 60 // 12 am is midnight, 12 pm noon
		if half == "pm" {
			minute += minutesPerDay / 2
		}
	}
	if minute > latest {
		p.fail("time after %d:00", latest/60)
	}
	return minute
}
