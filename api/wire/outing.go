package wire

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"time"

	"wideberth/api/wire/dogfile"
	"wideberth/osmdata/fault"
	"wideberth/osmdata/plane"
	"wideberth/routing/briefing"
	"wideberth/routing/outing"
	"wideberth/routing/outing/replay"
)

// OutingBody asks for a timetable.
type OutingBody struct {
	Gate        LatLon         `json:"gate" doc:"Where every walk begins and ends."`
	ZoneM       float64        `json:"zone_m,omitempty" doc:"Radius round the gate that holds one dog at a time; left out: 60."`
	Start       string         `json:"start" doc:"First minute of the outing, RFC 3339 with its zone." example:"2026-11-25T09:00:00-05:00"`
	Minutes     float64        `json:"minutes" doc:"How long the outing may take, 15 to 720." example:"180"`
	Dogs        []OutingDog    `json:"dogs" minItems:"1" maxItems:"60"`
	People      []OutingPerson `json:"people" minItems:"1" maxItems:"40"`
	Together    [][2]string    `json:"together,omitempty" maxItems:"200" doc:"Names of dogs that may meet: one household, friends."`
	Slack       string         `json:"slack,omitempty" enum:"holds,printed,free" doc:"holds: leave on the minute, wait at printed places (left out: this); printed: leave up to three minutes late, wait at printed places; free: never wait."`
	Limits      LimitsBody     `json:"limits,omitempty"`
	Weather     *WeatherBody   `json:"weather,omitempty" doc:"As somebody says it is on the day; left out: as usual in the season."`
	MinutePrice float64        `json:"minute_price,omitempty" doc:"What a wished minute that is not granted weighs, in minutes of the dog's own best walk; left out: 3."`
	TurnMinutes float64        `json:"turn_minutes,omitempty" doc:"From one dog to the next of the same person, 5 to 60; left out: 10."`
	Waiting     string         `json:"waiting,omitempty" enum:"none,usual,strong" doc:"What waiting indoors weighs: nothing, a tenth or a fifth of a mean walk a minute (assumed); left out: usual."`
	AnyLoads    bool           `json:"any_loads,omitempty" doc:"People need not walk by the hours they are there."`
	Heat        *HeatBody      `json:"heat,omitempty" doc:"What holds if the day is hot: its highest temperature, as said in weather or as usual there, is 25 degrees or more."`
	NoBreaks    bool           `json:"no_breaks,omitempty" doc:"Nobody needs a break; else who is there for two and a half hours has a quarter of an hour in the middle."`
	Seed        uint64         `json:"seed,omitempty" doc:"The same seed gives the same timetable."`
}

// OutingDog is a dog to be walked.
type OutingDog struct {
	Dog         dogfile.File `json:"dog,omitempty" doc:"The dog with its name and distances; its pace is the outing's."`
	DogID       string       `json:"dog_id,omitempty" maxLength:"80" doc:"A kept dog, in place of dog; its cautions hold."`
	Name        string       `json:"name,omitempty" maxLength:"80" doc:"What the timetable calls it, where two dogs have one name; left out: the dog's own."`
	Minutes     float64      `json:"minutes" doc:"Wished, 5 to 90." example:"30"`
	Experience  string       `json:"experience,omitempty" enum:"new,regular,experienced" doc:"Least that whoever walks it must have."`
	BiteHistory bool         `json:"bite_history,omitempty" doc:"Goes with experienced people only."`
	First       bool         `json:"first,omitempty" doc:"Has to go out: its waiting weighs ten times."`
	FinishBy    string       `json:"finish_by,omitempty" doc:"RFC 3339: back by then at the latest; left out: the end of the outing."`
	OnlyWith    []string     `json:"only_with,omitempty" maxItems:"40" doc:"Names of people; left out: anybody."`
	NeverWith   []string     `json:"never_with,omitempty" maxItems:"40"`
	With        string       `json:"with,omitempty" maxLength:"80" doc:"Name of the dog that it is walked with, both by one person and calm with each other; the stricter distances hold for both."`
	People      int          `json:"people,omitempty" enum:"1,2" doc:"Who walk it at once; each of them must be one who may. Left out: 1."`
	Row         string       `json:"row,omitempty" maxLength:"80" doc:"Of its kennel: dogs of one row go in and out a turnaround apart."`
	Apart       string       `json:"apart,omitempty" enum:"ground,last" doc:"For puppies and quarantine. ground: no street that another dog of the outing walks. last: such streets once the others are home. The way from the gate to the first junction is everybody's."`
	Rest        []string     `json:"rest,omitempty" maxItems:"40" enum:"mon,tue,wed,thu,fri,sat,sun" doc:"Days of the week on which it is not walked."`
	Walks       bool         `json:"walks_after_bad_day,omitempty" doc:"The coordinator's word: it is walked although a bad day asks for rest. Of kept dogs only, from what was logged."`
}

// HeatBody is what holds on a hot day.
type HeatBody struct {
	MostMinutes float64 `json:"most_minutes,omitempty" doc:"Of a walk, 5 to 90; left out: 20 (common practice)."`
	From        string  `json:"from,omitempty" doc:"RFC 3339: nobody is out from then; left out: 11:00 of the day (common practice)."`
	To          string  `json:"to,omitempty" doc:"RFC 3339: until then; left out: 17:00 (common practice)."`
}

// OutingPerson is somebody who walks dogs.
type OutingPerson struct {
	Name       string `json:"name" minLength:"1" maxLength:"80" example:"Ada"`
	From       string `json:"from,omitempty" doc:"RFC 3339; left out: the whole outing."`
	To         string `json:"to,omitempty"`
	Experience string `json:"experience,omitempty" enum:"new,regular,experienced"`

	Rest          []string `json:"rest,omitempty" maxItems:"40" enum:"mon,tue,wed,thu,fri,sat,sun" doc:"Days of the week on which they do not come."`
	WalkedMinutes float64  `json:"walked_minutes,omitempty" doc:"Earlier in the week: loads are fair over all of it."`
	ThereMinutes  float64  `json:"there_minutes,omitempty" doc:"And how long they were there."`
}

// Weekdays are the days of the week as an outing is asked, in the order of time.Weekday.
var Weekdays = [...]string{"sun", "mon", "tue", "wed", "thu", "fri", "sat"}

// Outing turns what was sent into what a planner understands; dogs that are named
// by id only are left to be filled in. Faults are fault.Problems.
func (b *OutingBody) Outing(f plane.Frame, zone *time.Location) (outing.Wish, error) {
	o := outing.Wish{Gate: b.Gate.In(f), ZoneM: b.ZoneM, Minutes: b.Minutes, Together: b.Together,
		Slack: outing.Slack(b.Slack), Limits: b.Limits.limits(f), MinutePrice: b.MinutePrice, Seed: b.Seed,
		TurnMin: b.TurnMinutes, Waiting: outing.Waiting(b.Waiting), AnyLoads: b.AnyLoads, NoBreaks: b.NoBreaks}
	var wrong fault.Problems
	moment := func(pointer, text string) (t time.Time) {
		t, err := time.Parse(time.RFC3339, text)
		if err != nil {
			wrong = append(wrong, fault.Problem{Pointer: pointer, Value: fmt.Sprintf("%q", text), Mend: "give a time with its zone, like 2026-11-25T09:00:00-05:00"})
		}
		return t.In(zone).Truncate(time.Second)
	}
	step := func(pointer, text string) outing.Experience {
		e, err := outing.ParseExperience(text)
		if err != nil {
			wrong = append(wrong, fault.Problem{Pointer: pointer, Value: fmt.Sprintf("%q", text), Mend: err.Error()})
		}
		return e
	}
	o.Start = moment("/start", b.Start)
	wrong = append(wrong, b.Weather.problems("/weather")...)
	if h := b.Heat; h != nil {
		o.Heat = &outing.Heat{MostMin: h.MostMinutes}
		if h.From != "" {
			o.Heat.From = moment("/heat/from", h.From)
		}
		if h.To != "" {
			o.Heat.To = moment("/heat/to", h.To)
		}
	}
	for i := range b.Dogs {
		d, at := &b.Dogs[i], fmt.Sprintf("/dogs/%d", i)
		out := outing.Dog{Minutes: d.Minutes, Experience: step(at+"/experience", d.Experience), Bite: d.BiteHistory,
			First: d.First, OnlyWith: d.OnlyWith, NeverWith: d.NeverWith,
			House: outing.House{With: d.With, People: d.People, Row: d.Row, Apart: outing.Apart(d.Apart), Walks: d.Walks}}
		var ps fault.Problems
		out.Rest, ps = weekdays(at+"/rest", d.Rest)
		wrong = append(wrong, ps...)
		if d.FinishBy != "" {
			out.FinishBy = moment(at+"/finish_by", d.FinishBy)
		}
		if d.DogID == "" {
			dog, err := d.Dog.DogOrTypical()
			var ps fault.Problems
			switch {
			case errors.As(fault.Within(at+"/dog", err), &ps):
				wrong = append(wrong, ps...)
			case err != nil:
				return o, err
			default:
				out.Dog = *dog
				out.Dog.Name = cmp.Or(d.Name, dog.Name)
			}
		}
		o.Dogs = append(o.Dogs, out)
	}
	for i, p := range b.People {
		at := fmt.Sprintf("/people/%d", i)
		person := outing.Person{Name: p.Name, Experience: step(at+"/experience", p.Experience), WalkedMin: p.WalkedMinutes, ThereMin: p.ThereMinutes}
		var ps fault.Problems
		person.Rest, ps = weekdays(at+"/rest", p.Rest)
		wrong = append(wrong, ps...)
		if p.From != "" {
			person.From = moment(at+"/from", p.From)
		}
		if p.To != "" {
			person.To = moment(at+"/to", p.To)
		}
		o.People = append(o.People, person)
	}
	if len(wrong) > 0 {
		return o, wrong
	}
	return o, nil
}

// DayBody is what came between a timetable and the outing.
type DayBody struct {
	Outing      OutingBody   `json:"outing" doc:"As it was asked for."`
	Before      Timetable    `json:"before" doc:"The timetable as it stands."`
	Now         string       `json:"now,omitempty" doc:"RFC 3339; left out: now."`
	Late        []LatePerson `json:"late,omitempty" maxItems:"40"`
	Gone        []string     `json:"gone,omitempty" maxItems:"40" doc:"People who do not come, or leave after what they are walking."`
	Out         []string     `json:"out,omitempty" maxItems:"60" doc:"Dogs that are not walked after all."`
	ChangePrice float64      `json:"change_price,omitempty" doc:"What changing a walk that has not begun weighs, in wished minutes not granted; left out: 10."`
}

// LatePerson is somebody behind time.
type LatePerson struct {
	Person  string `json:"person"`
	Minutes int    `json:"minutes" minimum:"1" maximum:"240" doc:"From now, not from the printed time: whoever has not set out is there so many minutes after now; a walk under way runs so much behind its printed times."`
	NotOut  bool   `json:"not_out,omitempty" doc:"Has not set out, whatever the timetable says."`
}

// CheckBody asks for the replay of a timetable.
type CheckBody struct {
	Timetable Timetable `json:"timetable"`
	Runs      int       `json:"runs,omitempty" minimum:"0" maximum:"2000" doc:"Random replays; left out: 300."`
	Seed      uint64    `json:"seed,omitempty"`
}

// OutingCheck is what the independent replay found.
type OutingCheck struct {
	Kept        bool          `json:"kept" doc:"No rule was broken."`
	Verdict     string        `json:"verdict"`
	Runs        int           `json:"runs"`
	Breaches    []Breach      `json:"breaches" doc:"Rules of the house that the timetable breaks."`
	Pairs       []Pinch       `json:"pairs" doc:"Least separation of every pair at random, tightest first."`
	Directed    []Pinch       `json:"directed" doc:"The closest that each pair can be driven to, tightest first."`
	ZoneSeconds float64       `json:"zone_seconds" doc:"Seconds with two dogs in the gate zone, in all runs."`
	Frames      []OutingFrame `json:"frames,omitempty" doc:"The timetable minute by minute, from the first dog out to the last one home."`
}

// NewOutingCheck is a report in the form that leaves the house.
func NewOutingCheck(r *replay.Report, t *outing.Timetable, f plane.Frame, words briefing.Words) OutingCheck {
	pairs := func(list []replay.Meeting) []Pinch {
		out := []Pinch{}
		for i := range list {
			out = append(out, newPinch(&list[i], t, f))
		}
		return out
	}
	out := OutingCheck{Kept: r.Kept(), Verdict: words.Verdict(r, t.Start), Runs: r.Runs, Pairs: pairs(r.Random), Directed: pairs(r.Directed), ZoneSeconds: r.ZoneS}
	out.Breaches = []Breach{}
	for _, b := range r.Breaches {
		at := t.Start.Add(time.Duration(b.AtS * float64(time.Second))).Format("15:04")
		out.Breaches = append(out.Breaches, Breach{Rule: string(b.Rule), Dogs: b.Dogs, At: at})
	}
	return out
}

// Breach is a rule of the house that a timetable breaks.
type Breach struct {
	Rule string    `json:"rule" enum:"hands,beside,row,ground,rest,heat" doc:"hands: one person has two walks at once, or too soon one after the other. beside: two that go together do not. row: two of one row pass each other's kennels. ground: ground that is not to be shared, or not yet. rest: a dog that rests walks. heat: out in the hours, or for longer, than a hot day has."`
	Dogs [2]string `json:"dogs" doc:"The second is empty where one dog alone breaks it."`
	At   string    `json:"at" doc:"Clock."`
}

// OutingFrame is one minute of a timetable.
type OutingFrame struct {
	Minute   int           `json:"minute" doc:"Of the outing."`
	Clock    string        `json:"clock" example:"10:24"`
	Dogs     []OutingStand `json:"dogs" doc:"Dogs that are out, where they are if everybody is on time and walks at the usual pace."`
	Tightest *Pinch        `json:"tightest,omitempty" doc:"The pair with the least room to spare in this minute, of all replays and drives; left out where no two dogs are out."`
}

// OutingStand is where a dog is.
type OutingStand struct {
	Dog string   `json:"dog"`
	At  Position `json:"at"`
}

// NewOutingFrames tells a timetable minute by minute.
func NewOutingFrames(r *replay.Report, t *outing.Timetable, f plane.Frame) ([]OutingFrame, error) {
	walks, _ := t.Replay()
	frames, err := replay.Frames(walks)
	if err != nil {
		return nil, err
	}
	out := []OutingFrame{}
	for _, fr := range frames {
		o := OutingFrame{Minute: fr.Minute, Clock: t.Start.Add(time.Duration(fr.Minute) * time.Minute).Format("15:04"), Dogs: []OutingStand{}}
		for _, d := range fr.Dogs {
			o.Dogs = append(o.Dogs, OutingStand{d.Dog, NewPosition(f, d.At)})
		}
		if m := fr.Minute; m >= 0 && m < len(r.Minutes) && !math.IsInf(r.Minutes[m].LeastM, 1) {
			p := newPinch(&r.Minutes[m], t, f)
			o.Tightest = &p
		}
		out = append(out, o)
	}
	return out, nil
}

func newPinch(m *replay.Meeting, t *outing.Timetable, f plane.Frame) Pinch {
	return Pinch{Dogs: m.Dogs, LeastM: round(m.LeastM, 1), NeedM: m.NeedM,
		At: t.Start.Add(time.Duration(m.AtS * float64(time.Second))).Format("15:04"), Place: NewPosition(f, m.At)}
}

// OutingWalksBody asks for walks of a timetable that was made before.
type OutingWalksBody struct {
	Outing    OutingBody `json:"outing" doc:"As it was asked for."`
	Timetable Timetable  `json:"timetable"`
	Dogs      []string   `json:"dogs,omitempty" maxItems:"60" doc:"Whose walks; left out: all, by start."`
}

// DrawnOutingWalk is one walk of a timetable with what it is drawn from.
type DrawnOutingWalk struct {
	Dog     string  `json:"dog"`
	Plan    Plan    `json:"plan"`
	Drawing Drawing `json:"drawing"`
}

// OutingPaper asks for hand-outs of a timetable.
type OutingPaper struct {
	OutingWalksBody
	Paper string `json:"paper,omitempty" enum:"a4,letter" doc:"Left out: A4."`
	Units string `json:"units,omitempty" enum:"metric,us"`
}
