package outing

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"wideberth/exposure"
	"wideberth/osmdata/fault"
	"wideberth/osmdata/plane"
	"wideberth/routing"
	"wideberth/routing/reach"
)

// Outing asks for a timetable: which dog walks when, where and with whom, so
// that no two dogs come nearer than the larger of their working distances,
// although people are late and walk slower or faster than planned.
type Wish struct {
	Gate     plane.Point // where every walk begins and ends
	ZoneM    float64     // radius of the zone round the gate that holds one dog at a time, 0 for 60 m
	Start    time.Time   // first minute at which a dog may pass the gate
	Minutes  float64     // how long the outing may take
	Dogs     []Dog
	People   []Person
	Together [][2]string // names of dogs that may meet: one household, friends
	Slack    Slack       // "" for holds
	Limits   reach.Limits
	Factors  *exposure.Factors // learnt from walks and reports, or nil
	// MinutePrice is what a wished minute that is not granted costs, as a multiple
	// of the expected reactions a minute of the dog's own best walk; 0 for 3. Below
	// 1 it would pay to leave dogs in.
	MinutePrice float64
	TurnMin     float64 // minutes from one dog to the next, 0 for 10
	Waiting     Waiting // "" for WaitUsual
	AnyLoads    bool    // people need not have walks by their hours
	NoBreaks    bool    // who is there for long needs no quarter of an hour
	Heat        *Heat   // what holds if the day is hot, nil for nothing
	Seed        uint64  // the same seed gives the same timetable
	Work        int     // budget of the search in walks tried, 0 for the usual
	hot         *Heat   // what holds as the day is hot, nil where it is not
}

// OutingDog is a dog that is to be walked.
type Dog struct {
	Dog        exposure.Dog // the pace is the outing's, as printed times rule it
	Minutes    float64      // wished, at the usual pace
	Experience Experience   // least that whoever walks it must have
	Bite       bool         // bite history: goes with experienced people only
	First      bool         // waiting counts ten times: it has to go out
	FinishBy   time.Time    // home by then at the latest, zero for the end of the outing
	OnlyWith   []string     // names of people, nil for anybody
	NeverWith  []string
	House
}

// Waiting says what waiting indoors costs.
type Waiting string

// The settings: a minute's wait costs a share of the expected reactions a minute of a
// mean walk (our assumption, from a measured prototype: more than a tenth buys little).
const (
	WaitNone   Waiting = "none"
	WaitUsual  Waiting = "usual"  // 0.1
	WaitStrong Waiting = "strong" // 0.2
)

var waitShare = map[Waiting]float64{WaitNone: 0, WaitUsual: 0.1, WaitStrong: 0.2}

// OutingPerson is somebody who walks dogs.
type Person struct {
	Name       string
	From, To   time.Time // zero for the whole outing
	Experience Experience
	Rest       []time.Weekday // on which they do not come
	WalkedMin  float64        // earlier in the week, like the next: loads are fair over all of it
	ThereMin   float64
}

// Experience of a person with reactive dogs, in three steps.
type Experience uint8

// The steps.
const (
	NewHand Experience = iota
	Regular
	Experienced
)

var experienceNames = [...]string{"new", "regular", "experienced"}

// String names the step.
func (e Experience) String() string { return experienceNames[min(int(e), len(experienceNames)-1)] }

// ParseExperience reads a step's name; "" is new.
func ParseExperience(text string) (Experience, error) {
	if text == "" {
		return NewHand, nil
	}
	i := slices.Index(experienceNames[:], text)
	if i < 0 {
		return 0, fmt.Errorf("use %s", strings.Join(experienceNames[:], ", "))
	}
	return Experience(i), nil
}

// Slack says what keeps lateness and pace from growing along a walk.
type Slack string

// The slacks.
const (
	Holds   Slack = "holds"   // leave at the printed minute, wait at quiet places until the printed time
	Printed Slack = "printed" // leave up to three minutes late, wait at quiet places until the printed time
	Free    Slack = "free"    // leave up to three minutes late, never wait
)

// What people may stray from the timetable by, and what holds them to it.
const (
	lateS      = 180.0 // late at the gate
	slowPace   = 0.9   // share of the usual pace
	fastPace   = 1.1
	usualZoneM = 60.0

	usualTurnMin = 10.0 // from one dog to the next (our assumption)
	leastTurnMin = 5.0  // with it lateness does not add up over walks
	mostTurnMin  = 60.0
	firstWeighs  = 10.0 // times the waiting of another dog
	fairWeighs   = 4.0  // of loads beside expected reactions a minute (our assumption: at twelve gates dearer loads cost none of these)
	breakMin     = 15   // between the first and the last hour of who
	breakFromMin = 150  // is there for so long (our assumptions; law and rules of the house go first)
	mostWeekMin  = 7 * mostOutingMinutes
	mostNamed    = 40 // people that a dog goes with or not

	usualPaceMPS = exposure.DefaultSpeedMPS // of every walk of an outing
)

// Bounds of an outing: tables and search grow with them.
const (
	mostOutingDogs      = 60
	mostOutingPeople    = 40
	mostOutingMinutes   = 12 * 60
	leastOutingMinutes  = 15
	mostDogMinutes      = 90
	usualMinutePrice    = 3.0
	unservedPrice       = 10.0 // a dog left in costs this many times its whole wish: the last resort
	leastSeparationM    = 0.0
	mostSeparationM     = 400.0
	mostZoneM           = 300.0
	mostOutingWork      = 20_000_000
	usualWorkATrio      = 70 // of dogs: crowded outings need more than their share; four times as much gains under 1 % (measured at six gates)
	leastUsualWork      = 20_000
	mostUsualWork       = 2_000_000
	nameMost            = 80
	pointerDogsFormat   = "/dogs/%d/%s"
	pointerPeopleFormat = "/people/%d/%s"
)

// separationM is how far a dog wants other dogs to be.
func (d *Dog) separationM() float64 { return d.Dog.Need(exposure.DogOnLead).WorkingM }

// needs is the least experience that may walk the dog.
func (d *Dog) needs() Experience {
	if d.hasBitten() || d.Dog.Cautions.ExperiencedOnly {
		return Experienced
	}
	return d.Experience
}

// hasBitten says that the rules of a bite history hold: said of the outing, or of the
// dog itself.
func (d *Dog) hasBitten() bool { return d.Bite || d.Dog.Cautions.BiteHistory }

func (o *Wish) zoneM() float64 {
	if o.ZoneM == 0 {
		return usualZoneM
	}
	return o.ZoneM
}

func (o *Wish) slack() Slack {
	if o.Slack == "" {
		return Holds
	}
	return o.Slack
}

func (o *Wish) turnMin() float64 {
	if o.TurnMin == 0 {
		return usualTurnMin
	}
	return o.TurnMin
}

func (o *Wish) waiting() Waiting {
	if o.Waiting == "" {
		return WaitUsual
	}
	return o.Waiting
}

func (o *Wish) minutePrice() float64 {
	if o.MinutePrice == 0 {
		return usualMinutePrice
	}
	return o.MinutePrice
}

func (o *Wish) work() int {
	if o.Work == 0 {
		return min(mostUsualWork, max(leastUsualWork, usualWorkATrio*len(o.Dogs)*len(o.Dogs)*len(o.Dogs)))
	}
	return o.Work
}

// hours are the minutes of the outing that a person is there.
func (o *Wish) hours(p *Person) (from, to int) {
	from, to = 0, int(o.Minutes)
	if !p.From.IsZero() {
		from = max(from, int(math.Ceil(p.From.Sub(o.Start).Minutes())))
	}
	if !p.To.IsZero() {
		to = min(to, int(math.Floor(p.To.Sub(o.Start).Minutes())))
	}
	return from, to
}

// onTimeMin is how long after coming somebody can leave: with holds, who comes late
// is still on the minute.
func (o *Wish) onTimeMin() int {
	if o.slack() == Holds {
		return lateS / 60
	}
	return 0
}

// dogNamed is the index of a dog, -1 if there is none of that name.
func (o *Wish) dogNamed(name string) int {
	return slices.IndexFunc(o.Dogs, func(d Dog) bool { return d.Dog.Name == name })
}

func (o *Wish) personNamed(name string) int {
	return slices.IndexFunc(o.People, func(p Person) bool { return p.Name == name })
}

// together says that two dogs may meet.
func (o *Wish) together(a, b int) bool {
	x, y := o.Dogs[a].Dog.Name, o.Dogs[b].Dog.Name
	return slices.ContainsFunc(o.Together, func(t [2]string) bool { return t == [2]string{x, y} || t == [2]string{y, x} })
}

// separation is how far two dogs must stay apart.
func (o *Wish) separation(a, b int) float64 {
	return max(o.roomM(a), o.roomM(b))
}

// Check says everything that is wrong with an outing, nil if nothing is.
func (o *Wish) Check() error {
	var wrong fault.Problems
	bad := func(pointer string, value any, mend string) {
		wrong = append(wrong, fault.Problem{Pointer: pointer, Value: fmt.Sprint(value), Mend: mend})
	}
	if !(o.Minutes >= leastOutingMinutes && o.Minutes <= mostOutingMinutes) {
		bad("/minutes", fault.Number(o.Minutes), fmt.Sprintf("let the outing last %d to %d minutes", leastOutingMinutes, mostOutingMinutes))
	}
	if o.Start.IsZero() {
		bad("/start", "missing", "give a time with its zone, like 2026-11-25T09:00:00Z")
	}
	if !(o.ZoneM >= 0 && o.ZoneM <= mostZoneM) {
		bad("/zone_m", fault.Number(o.ZoneM), fmt.Sprintf("give a radius of up to %.0f m, or leave it out", mostZoneM))
	}
	if s := o.slack(); s != Holds && s != Printed && s != Free {
		bad("/slack", string(o.Slack), "use holds, printed or free")
	}
	if o.MinutePrice != 0 && !(o.MinutePrice >= 1 && o.MinutePrice <= 100) {
		bad("/minute_price", fault.Number(o.MinutePrice), "give 1 to 100 times a dog's own expected reactions a minute, or leave it out")
	}
	if o.TurnMin != 0 && !(o.TurnMin >= leastTurnMin && o.TurnMin <= mostTurnMin) {
		bad("/turn_minutes", fault.Number(o.TurnMin), "give 5 to 60 minutes, or leave it out")
	}
	if _, ok := waitShare[o.waiting()]; !ok {
		bad("/waiting", string(o.Waiting), "use none, usual or strong")
	}
	if o.Work < 0 || o.Work > mostOutingWork {
		bad("/work", o.Work, fmt.Sprintf("give at most %d, or leave it out", mostOutingWork))
	}
	o.checkDogs(bad)
	o.checkPeople(bad)
	o.checkHouse(bad)
	for i, pair := range o.Together {
		if o.dogNamed(pair[0]) < 0 || o.dogNamed(pair[1]) < 0 || pair[0] == pair[1] {
			bad(fmt.Sprintf("/together/%d", i), strings.Join(pair[:], " and "), "name two of the dogs")
		}
	}
	wrong = append(wrong, o.Limits.Check()...)
	if len(wrong) == 0 {
		return nil
	}
	return wrong
}

func (o *Wish) checkDogs(bad func(pointer string, value any, mend string)) {
	if len(o.Dogs) == 0 || len(o.Dogs) > mostOutingDogs {
		bad("/dogs", len(o.Dogs), fmt.Sprintf("give 1 to %d dogs", mostOutingDogs))
	}
	for i := range o.Dogs {
		d := &o.Dogs[i]
		at := func(field string) string { return fmt.Sprintf(pointerDogsFormat, i, field) }
		if strings.TrimSpace(d.Dog.Name) == "" || len(d.Dog.Name) > nameMost {
			bad(at("dog/name"), d.Dog.Name, "every dog needs a name of at most 80 bytes: it is how the timetable tells them apart")
		} else if o.dogNamed(d.Dog.Name) != i {
			bad(at("dog/name"), d.Dog.Name, "another dog has this name: tell them apart, by a name for this outing")
		}
		if !(d.Minutes >= routing.LeastMinutes && d.Minutes <= mostDogMinutes) {
			bad(at("minutes"), fault.Number(d.Minutes), fmt.Sprintf("ask for %d to %d minutes", routing.LeastMinutes, mostDogMinutes))
		}
		if t := d.FinishBy; !t.IsZero() && t.Sub(o.Start).Minutes() < d.Minutes*leastGranted {
			bad(at("finish_by"), t.Format(time.RFC3339), "give a time that leaves room for a walk after the start")
		}
		for _, list := range []struct {
			field string
			names []string
		}{{"only_with", d.OnlyWith}, {"never_with", d.NeverWith}} {
			if len(list.names) > mostNamed {
				bad(at(list.field), len(list.names), "name up to 40 people")
			}
			for k, name := range list.names {
				if o.personNamed(name) < 0 {
					bad(at(fmt.Sprintf("%s/%d", list.field, k)), name, "name one of the people of this outing")
				}
			}
		}
		if d.Experience > Experienced {
			bad(at("experience"), d.Experience, "use new, regular or experienced")
		}
		if w := d.separationM(); !(w >= leastSeparationM && w <= mostSeparationM) {
			bad(at("dog/needs"), fault.Number(w), fmt.Sprintf("a working distance to other dogs of more than %.0f m cannot be kept by a timetable", mostSeparationM))
		}
	}
}

func (o *Wish) checkPeople(bad func(pointer string, value any, mend string)) {
	if len(o.People) == 0 || len(o.People) > mostOutingPeople {
		bad("/people", len(o.People), fmt.Sprintf("give 1 to %d people", mostOutingPeople))
	}
	for i := range o.People {
		p := &o.People[i]
		at := func(field string) string { return fmt.Sprintf(pointerPeopleFormat, i, field) }
		if strings.TrimSpace(p.Name) == "" || len(p.Name) > nameMost {
			bad(at("name"), p.Name, "everybody needs a name of at most 80 bytes")
		} else if o.personNamed(p.Name) != i {
			bad(at("name"), p.Name, "somebody else has this name: tell them apart")
		}
		if p.Experience > Experienced {
			bad(at("experience"), p.Experience, "use new, regular or experienced")
		}
		checkDays(p.Rest, func(k int, day any, mend string) { bad(at(fmt.Sprintf("rest/%d", k)), day, mend) })
		for _, m := range []struct {
			field string
			min   float64
		}{{"walked_minutes", p.WalkedMin}, {"there_minutes", p.ThereMin}} {
			if !(m.min >= 0 && m.min <= mostWeekMin) {
				bad(at(m.field), fault.Number(m.min), "give minutes of one week")
			}
		}
		if !p.From.IsZero() && !p.To.IsZero() && !p.To.After(p.From) {
			bad(at("to"), p.To.Format(time.RFC3339), "must come after from")
		} else if end := o.Start.Add(routing.Seconds(60 * min(o.Minutes, mostOutingMinutes))); !p.From.IsZero() && !p.From.Before(end) {
			bad(at("from"), p.From.Format(time.RFC3339), "the outing is over by then ("+end.Format(time.RFC3339)+"): mend the day or the hour, or leave the person out")
		} else if !p.To.IsZero() && !p.To.After(o.Start) {
			bad(at("to"), p.To.Format(time.RFC3339), "the outing has not begun by then ("+o.Start.Format(time.RFC3339)+"): mend the day or the hour, or leave the person out")
		}
	}
}
