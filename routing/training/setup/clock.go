package setup

import (
	"math"

	"wideberth/osmdata/plane"
	"wideberth/routing/outing/replay"
)

// Paces and waits of the clock (our assumptions): people walk at a metre a second over
// grass, a tenth slower or faster, and leave up to three minutes late.
const (
	paceMPS      = 1.0
	slowShare    = 0.9
	fastShare    = 1.1
	lateMin      = 3
	spareMin     = 1
	standMin     = 2
	passingLines = 2 // the nearest ones: passing asks the most of a dog (common practice)
	stayMin      = 3 // that the helper waits after the dog is back at its car
)

// Role is who walks.
type Role string

// The two.
const (
	DogSide    Role = "dog"
	HelperSide Role = "helper"
)

// Do is what somebody does from a minute on.
type Do string

// What there is to do.
const (
	DoLeave  Do = "leave"  // the car; the dog only after the helper's sign
	DoWait   Do = "wait"   // at one's place
	DoStand  Do = "stand"  // both
	DoOut    Do = "out"    // along the line
	DoBack   Do = "back"   // along the line again
	DoNearer Do = "nearer" // to the next line
	DoEnd    Do = "end"    // to the end of the line, for passing
	DoPlace  Do = "place"  // back to where the helper waits
	DoHome   Do = "home"
)

// Entry is a line of a timetable: not before Min minutes after both stand on the first
// line.
type Entry struct {
	Min  int
	Do   Do
	Mode Mode
	Line int // of the dog's lines, from 0
}

// Phase is what the two do on a line, with the distance that is kept meanwhile.
type Phase struct {
	FromMin, ToMin int
	Mode           Mode
	Line           int
	NeedM          float64
}

// Timetable is the way of one of the two, with its times.
type Timetable struct {
	Role    Role
	Entries []Entry
	Walk    replay.Walk // StartS is counted from the first minute of the clock
}

// Clock is the course of a set-up in minutes from the first line on.
type Clock struct {
	FirstMin int // of anybody's leaving, below 0
	EndMin   int // the dog is back at its car
	Phases   []Phase
	Dog      Timetable
	Helper   Timetable
}

// walking writes down the way of one of the two.
type walking struct {
	Timetable
	at float64
}

func (k *walking) to(p plane.Point) {
	line := &k.Walk.Line
	if n := len(*line); n > 0 {
		if (*line)[n-1] == p {
			return
		}
		k.at += (*line)[n-1].DistanceM(p) / paceMPS
	}
	*line = append(*line, p)
	k.Walk.ProgressS = append(k.Walk.ProgressS, k.at)
}

// say notes an entry; who stands leaves not before it.
func (k *walking) say(e Entry, leaves bool) {
	k.Entries = append(k.Entries, e)
	if !leaves || k.at == 0 {
		return
	}
	holds := &k.Walk.Holds
	if n := len(*holds); n > 0 && (*holds)[n-1].ProgressS == k.at {
		(*holds)[n-1].NotBeforeS = 60 * float64(e.Min)
		return
	}
	*holds = append(*holds, replay.Hold{ProgressS: k.at, NotBeforeS: 60 * float64(e.Min)})
}

// minutes is how long the slowest take for a way.
func minutes(lengthM float64) int { return int(math.Ceil(lengthM / paceMPS / slowShare / 60)) }

// newClock sets the minutes of a course.
func newClock(c *Course, modes []Mode) *Clock {
	dogStart := -(minutes(c.DogIn.LengthM()) + lateMin + spareMin)
	helperStart := dogStart - (minutes(c.HelperIn.LengthM()) + lateMin + spareMin)
	out := &Clock{FirstMin: helperStart}
	dog, helper := walking{Timetable: Timetable{Role: DogSide}}, walking{Timetable: Timetable{Role: HelperSide}}
	for _, p := range c.DogIn {
		dog.to(p)
	}
	for _, p := range c.HelperIn {
		helper.to(p)
	}
	dog.Entries = []Entry{{Min: dogStart, Do: DoLeave}}
	helper.Entries = []Entry{{Min: helperStart, Do: DoLeave}, {Min: dogStart, Do: DoWait}}
	t := 0
	for i := range c.Lines {
		t = out.line(c, i, modes, t, &dog, &helper)
		if i+1 < len(c.Lines) {
			a, b := c.Lines[i].At[0], c.Lines[i+1].At[0]
			dog.say(Entry{Min: t, Do: DoNearer, Line: i + 1}, true)
			dog.to(b)
			t += max(1, minutes(a.DistanceM(b)))
		}
	}
	dog.say(Entry{Min: t, Do: DoHome}, true)
	for i := len(c.Lines) - 2; i >= 0; i-- {
		dog.to(c.Lines[i].At[0])
	}
	for i := len(c.DogIn) - 1; i >= 0; i-- {
		dog.to(c.DogIn[i])
	}
	back := c.Lines[0].At[0].DistanceM(c.Lines[len(c.Lines)-1].At[0]) + c.DogIn.LengthM()
	out.EndMin = t + minutes(back) + lateMin
	helper.say(Entry{Min: out.EndMin + stayMin, Do: DoHome}, true)
	for i := len(c.HelperIn) - 1; i >= 0; i-- {
		helper.to(c.HelperIn[i])
	}
	out.Dog, out.Helper = dog.Timetable, helper.Timetable
	for _, k := range []*Timetable{&out.Dog, &out.Helper} {
		k.Walk.Dog, k.Walk.NeedM = string(k.Role), c.Lines[len(c.Lines)-1].NeedM
		k.Walk.StartS = 60 * float64(k.Entries[0].Min-out.FirstMin)
		for i := range k.Walk.Holds {
			k.Walk.Holds[i].NotBeforeS -= 60 * float64(out.FirstMin)
		}
	}
	return out
}

// line sets what is done on one of the dog's lines from minute t on, and gives the
// minute at which it is over.
func (k *Clock) line(c *Course, i int, modes []Mode, t int, dog, helper *walking) int {
	l, h := c.Lines[i], c.Helper
	run := minutes(l.At.LengthM())
	phase := func(m Mode, lasts int) {
		k.Phases = append(k.Phases, Phase{FromMin: t, ToMin: t + lasts, Mode: m, Line: i, NeedM: l.NeedM})
		t += lasts
	}
	both := func(do Do, m Mode, a, b plane.Point) {
		dog.say(Entry{t, do, m, i}, true)
		helper.say(Entry{t, do, m, i}, true)
		dog.to(a)
		helper.to(b)
	}
	for _, m := range modes {
		switch m {
		case Stand:
			dog.say(Entry{t, DoStand, m, i}, false)
			helper.say(Entry{t, DoStand, m, i}, false)
			phase(m, standMin)
		case SideBySide:
			both(DoOut, m, l.At[1], h[1])
			t += run
			both(DoBack, m, l.At[0], h[0])
			t -= run
			phase(m, 2*run)
		case Passing:
			if i < len(c.Lines)-passingLines {
				continue
			}
			helper.say(Entry{t, DoEnd, m, i}, true)
			helper.to(h[1])
			t += run
			both(DoOut, m, l.At[1], h[0])
			t += run
			both(DoBack, m, l.At[0], h[1])
			t += run
			helper.say(Entry{t, DoPlace, m, i}, true)
			helper.to(h[0])
			t -= 3 * run
			phase(m, 4*run)
		case Approach:
			if i == 0 {
				continue // the first line is where it comes from
			}
			aside := minutes(l.At[0].DistanceM(c.Lines[0].At[0]))
			dog.say(Entry{t, DoOut, m, 0}, true)
			dog.to(c.Lines[0].At[0])
			dog.say(Entry{t + aside, DoBack, m, i}, true)
			dog.to(l.At[0])
			helper.say(Entry{t, DoStand, m, i}, false)
			phase(m, 2*aside+1)
		}
	}
	return t
}

// NeedAt is the distance in force at a minute: that of the line which the dog is on, or
// goes to half a minute later; on the way in and home that of the last line.
func (k *Clock) NeedAt(minute float64) float64 {
	last := k.Phases[len(k.Phases)-1]
	if minute < float64(k.Phases[0].FromMin)-.5 || minute >= float64(last.ToMin) {
		return last.NeedM
	}
	need := k.Phases[0].NeedM
	for i := range k.Phases {
		p := &k.Phases[i]
		if i > 0 && p.Line > k.Phases[i-1].Line && minute >= float64(k.Phases[i-1].ToMin)-.5 || minute >= float64(p.FromMin)-.5 {
			need = p.NeedM
		}
	}
	return need
}
