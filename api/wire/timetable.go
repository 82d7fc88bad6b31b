package wire

import (
	"fmt"
	"slices"
	"time"

	"wideberth/osmdata/fault"
	"wideberth/osmdata/plane"
	"wideberth/routing/briefing"
	"wideberth/routing/outing"
)

// Timetable is the JSON form of an outing's timetable. It comes back in for a
// check and for re-planning on the day, so nothing needed for these is left out.
type Timetable struct {
	Start             string       `json:"start" doc:"First minute of the outing, RFC 3339." example:"2026-11-25T09:00:00-05:00"`
	Minutes           float64      `json:"minutes" doc:"How long the outing may take."`
	TimeZone          string       `json:"time_zone" example:"America/New_York"`
	Slack             string       `json:"slack" enum:"holds,printed,free"`
	Rules             string       `json:"rules" doc:"What handlers must do for the separation to hold."`
	GatePosition      Position     `json:"gate_position" doc:"Longitude, latitude."`
	ZoneM             float64      `json:"zone_m" doc:"Radius round the gate that holds one dog at a time."`
	Gate              GateCount    `json:"gate" doc:"What the gate lets through, known before any search."`
	Rows              []TimeRow    `json:"rows" doc:"Walks by start."`
	Unserved          []string     `json:"unserved" doc:"Dogs left in."`
	WishedMinutes     float64      `json:"wished_minutes" doc:"Of all dogs together."`
	GrantedMinutes    float64      `json:"granted_minutes" doc:"And granted: never more than wished for any dog."`
	ExpectedReactions float64      `json:"expected_reactions" doc:"Of all walks together."`
	PerMinute         float64      `json:"reactions_per_minute" doc:"Expected reactions for each minute walked at the usual pace."`
	AlonePerMinute    float64      `json:"alone_reactions_per_minute" doc:"The same dogs, each with nobody else out, at its best hour of the outing."`
	MostAtOnce        int          `json:"most_at_once" doc:"Dogs out at one time."`
	Loads             []Load       `json:"loads,omitempty" doc:"What everybody walks."`
	Fairness          float64      `json:"fairness,omitempty" doc:"Jain's index of loads by hours: 1 where all walk the same share of their time."`
	Pinches           []Pinch      `json:"pinches" doc:"How near two dogs can come inside the slack, tightest first."`
	Shortage          *Shortage    `json:"shortage,omitempty"`
	Lead              *Lead        `json:"lead,omitempty" doc:"Why the first walk does not begin with the outing; left out if it does, and on the day."`
	Together          [][2]string  `json:"together" doc:"Dogs that may meet."`
	Resting           []string     `json:"resting,omitempty" doc:"Dogs whose day off it is, or that rest after a bad one."`
	Respites          []DogRespite `json:"respites,omitempty" doc:"What bad days of kept dogs ask for on this one, from what was logged."`
	Hot               *HeatBody    `json:"hot,omitempty" doc:"What holds as the day is hot."`
	TurnMinutes       float64      `json:"turn_minutes,omitempty" doc:"From one dog to the next of the same person."`
	StemM             float64      `json:"stem_m,omitempty" doc:"From the gate: ground that is everybody's."`
	Changed           []string     `json:"changed" doc:"On the day: dogs whose walk is another than before."`
	Unavoidable       []Pinch      `json:"unavoidable" doc:"On the day: pairs already out that may come too near; tell both."`
	Assumed           []string     `json:"assumed"`
	MapTime           string       `json:"map_time,omitempty"`
	Attribution       string       `json:"attribution" example:"© OpenStreetMap contributors"`
	Caution           string       `json:"caution"`
}

// DogRespite is what a bad day of a dog asks for.
type DogRespite struct {
	Dog string `json:"dog"`
	Respite
	Overruled bool `json:"overruled,omitempty" doc:"It is walked all the same: walks_after_bad_day was said, or it had its walk in the timetable before."`
}

// Load is what one person walks.
type Load struct {
	Person       string `json:"person"`
	ThereMinutes int    `json:"there_minutes"`
	WalkMinutes  int    `json:"walk_minutes" doc:"At the slowest pace."`
	Walks        int    `json:"walks"`
	FirstMinute  int    `json:"first_minute" doc:"Minute of the outing of the first walk, -1 for none."`
	BreakMinutes int    `json:"break_minutes" doc:"Longest time without a walk between the first and the last hour there."`
}

func loads(all []outing.Load) (out []Load) {
	for _, l := range all {
		out = append(out, Load{l.Person, l.HoursMin, l.WalkMin, l.Walks, l.FirstMin, l.BreakMin})
	}
	return out
}

// GateCount is the arithmetic of the gate.
type GateCount struct {
	OutMinutes float64 `json:"out_minutes" doc:"Minutes that a walk blocks the gate going out."`
	InMinutes  float64 `json:"in_minutes" doc:"And coming home."`
	MostWalks  int     `json:"most_walks" doc:"A ceiling, not a promise."`
	Dogs       int     `json:"dogs"`
	Sufficient bool    `json:"sufficient"`
}

// TimeRow is one walk of a timetable.
type TimeRow struct {
	Dog               string     `json:"dog"`
	Person            string     `json:"person"`
	Second            string     `json:"second,omitempty" doc:"Goes with them, where two people walk the dog."`
	With              string     `json:"with,omitempty" doc:"The dog that is walked with it by the same person."`
	Row               string     `json:"row,omitempty" doc:"Of its kennel."`
	Apart             string     `json:"apart,omitempty" enum:"ground,last"`
	Passes            []string   `json:"passes,omitempty" doc:"Going out: dogs of its row that are in their kennels."`
	BiteHistory       bool       `json:"bite_history"`
	StartMinute       int        `json:"start_minute" doc:"Minute of the outing at which it passes the gate."`
	Meet              string     `json:"meet" doc:"When to be at the gate."`
	Leave             string     `json:"leave" doc:"When to pass the gate."`
	BackBy            string     `json:"back_by" doc:"At the slowest pace."`
	WishedMinutes     float64    `json:"wished_minutes"`
	GrantedMinutes    float64    `json:"granted_minutes"`
	NeedM             float64    `json:"need_m" doc:"Working distance to other dogs."`
	ExpectedReactions float64    `json:"expected_reactions"`
	AlonePerMinute    float64    `json:"alone_reactions_per_minute" doc:"The least that a minute would cost this dog with nobody else out."`
	Geometry          LineString `json:"geometry"`
	ProgressS         []float64  `json:"progress_s" doc:"Usual walking time to each point, seconds."`
	Holds             []Hold     `json:"holds" doc:"Quiet places not to be left before the printed time."`
	Changed           bool       `json:"changed"`
	UnderWay          bool       `json:"under_way" doc:"On the day: begun, cannot be changed."`
	Walk              *Walk      `json:"walk,omitempty" doc:"Leg by leg; may be left out when it is sent back."`
}

// Hold is a place to wait at.
type Hold struct {
	At        Position `json:"at"`
	ProgressS float64  `json:"progress_s"`
	NotBefore string   `json:"not_before" example:"2026-11-25T09:14:20-05:00"`
}

// Pinch is how near two dogs can come.
type Pinch struct {
	Dogs   [2]string `json:"dogs"`
	LeastM float64   `json:"least_m"`
	NeedM  float64   `json:"need_m"`
	At     string    `json:"at" doc:"Clock."`
	Place  Position  `json:"place"`
}

// Shortage is why dogs are left in and what would help.
type Shortage struct {
	Cause   string    `json:"cause" enum:"ground,people,gate,rules,pairs"`
	Text    string    `json:"text"`
	Blocked []Blocked `json:"blocked"`
	Helps   []Help    `json:"helps" doc:"Tried, and every dog is served."`
}

// Lead is why the first walk of a timetable begins when it does.
type Lead struct {
	Cause        string  `json:"cause" enum:"people,room,calmer,spare" doc:"people: nobody who may take the dog can leave sooner. room: another dog would be too near. calmer: sooner, what the walks bring outweighs the wait. spare: the outing has more minutes than the walks need."`
	Dog          string  `json:"dog" doc:"Of the first walk."`
	Person       string  `json:"person"`
	Minute       int     `json:"minute" doc:"Of the outing at which it passes the gate."`
	FromMinute   int     `json:"from_minute" doc:"Of the outing from which somebody who may take the dog can leave."`
	SpareMinutes int     `json:"spare_minutes,omitempty" doc:"Minutes sooner at which its walk would keep every rule; where spare or calmer."`
	All          bool    `json:"all,omitempty" doc:"These hold of all walks, moved as one."`
	TakesMinutes int     `json:"takes_minutes" doc:"From the first dog out to the last one home."`
	Other        string  `json:"other,omitempty" doc:"The dog in its way, where room."`
	NeedM        float64 `json:"need_m,omitempty" doc:"How far the two must stay apart."`
}

// Blocked is a dog left in and those most in its way.
type Blocked struct {
	Dog string    `json:"dog"`
	By  []Blocker `json:"by"`
}

// Blocker is a dog in the way of another.
type Blocker struct {
	Dog   string  `json:"dog"`
	Share float64 `json:"share" doc:"Of the starts that people leave open, how much it takes."`
	NeedM float64 `json:"need_m"`
}

// Help is a change with which every dog is served.
type Help struct {
	What    string   `json:"what" enum:"holds,minutes,person,together,without"`
	Text    string   `json:"text"`
	Minutes float64  `json:"minutes,omitempty"`
	Dogs    []string `json:"dogs,omitempty"`
}

// NewGateCount is the JSON form of the gate's arithmetic.
func NewGateCount(g outing.GateArithmetic) GateCount {
	return GateCount{round(g.OutMin, 1), round(g.InMin, 1), g.Walks, g.Dogs, g.Sufficient}
}

// mostPinches is how many pairs of a timetable are told.
const mostPinches = 40

// NewTimetable makes the JSON form of a timetable drawn in frame f.
func NewTimetable(t *outing.Timetable, f plane.Frame, words briefing.Words) Timetable {
	out := Timetable{
		Start: t.Start.Format(time.RFC3339), Minutes: t.Minutes, TimeZone: t.Zone, Slack: string(t.Slack), Rules: words.OutingRule(t.Slack),
		GatePosition: NewPosition(f, t.At), ZoneM: t.ZoneM, Gate: NewGateCount(t.Gate),
		Rows: []TimeRow{}, Unserved: nonNil(t.Unserved), WishedMinutes: round(t.WishedMin, 1), GrantedMinutes: round(t.GrantedMin, 1),
		ExpectedReactions: round(t.Reactions, 4), PerMinute: round(t.PerMinute, 6), AlonePerMinute: round(t.AlonePerMin, 6), MostAtOnce: t.MostAtOnce, Loads: loads(t.Loads), Fairness: round(t.Fairness(), 3),
		Pinches: pinches(f, t.Pinches), Unavoidable: pinches(f, t.Unavoidable), Together: append([][2]string{}, t.Together...), Changed: nonNil(t.Changed),
		Assumed: words.Assumptions(t.Assumed), Attribution: Attribution, Caution: Caution(words),
	}
	out.Resting = t.Resting
	for i := range t.Respites {
		r := &t.Respites[i]
		out.Respites = append(out.Respites, DogRespite{r.Dog, newRespite(&r.Respite, words), r.Overruled})
	}
	if houseRules(t) {
		out.TurnMinutes = t.TurnMin
	}
	if h := t.Hot; h != nil {
		out.Hot = &HeatBody{h.MostMin, h.From.Format(time.RFC3339), h.To.Format(time.RFC3339)}
	}
	if slices.ContainsFunc(t.Rows, func(r outing.Row) bool { return r.Apart != "" }) {
		out.StemM = round(t.StemM, 1) + 0.1
	}
	if !t.MapTime.IsZero() {
		out.MapTime = t.MapTime.UTC().Format(time.RFC3339)
	}
	for i := range t.Rows {
		out.Rows = append(out.Rows, newTimeRow(&t.Rows[i], f, words))
	}
	if t.Shortage != nil {
		out.Shortage = newShortage(t.Shortage, words)
	}
	if l := t.Lead; l != nil {
		out.Lead = &Lead{string(l.Cause), l.Dog, l.Person, l.Minute, l.FromMin, l.SpareMin, l.All, l.TakesMin, l.Other, l.NeedM}
	}
	return out
}

// houseRules says that the timetable keeps more rules than distances and hours.
func houseRules(t *outing.Timetable) bool {
	return t.Hot != nil || slices.ContainsFunc(t.Rows, func(r outing.Row) bool { return r.Second+r.With+r.Kennel != "" || r.Apart != "" })
}

func newTimeRow(r *outing.Row, f plane.Frame, words briefing.Words) TimeRow {
	out := TimeRow{
		Dog: r.Dog, Person: r.Person, Second: r.Second, With: r.With, Row: r.Kennel, Apart: string(r.Apart), Passes: r.Passes, BiteHistory: r.Bite, StartMinute: r.StartMin, Meet: r.Meet.Format(time.RFC3339), Leave: r.Leave.Format(time.RFC3339),
		BackBy: r.Back.Format(time.RFC3339), WishedMinutes: r.WishedMin, GrantedMinutes: round(r.GrantedMin, 1), NeedM: r.NeedM,
		ExpectedReactions: round(r.Reactions, 5), AlonePerMinute: round(r.AlonePerMin, 6), Geometry: newLineString(f, r.Line),
		Holds: []Hold{}, Changed: r.Changed, UnderWay: r.UnderWay,
	}
	for _, s := range r.ProgressS {
		out.ProgressS = append(out.ProgressS, round(s, 2))
	}
	for _, h := range r.Holds {
		out.Holds = append(out.Holds, Hold{NewPosition(f, h.At), round(h.ProgressS, 2), h.NotBefore.Format(time.RFC3339Nano)})
	}
	if r.Plan != nil {
		walk := NewWalk(&r.Plan.Walks[0], f, r.Leave, words)
		out.Walk = &walk
	}
	return out
}

func pinches(f plane.Frame, list []outing.Pinch) []Pinch {
	out := []Pinch{}
	for _, p := range list[:min(len(list), mostPinches)] {
		out = append(out, Pinch{p.Dogs, round(p.LeastM, 1), p.NeedM, p.At.Format("15:04"), NewPosition(f, p.Place)})
	}
	return out
}

func newShortage(s *outing.Shortage, words briefing.Words) *Shortage {
	out := &Shortage{Cause: string(s.Cause), Text: words.Shortage(s), Blocked: []Blocked{}, Helps: []Help{}}
	for _, b := range s.Blocked {
		row := Blocked{Dog: b.Dog, By: []Blocker{}}
		for _, by := range b.By {
			row.By = append(row.By, Blocker{by.Dog, round(by.Share, 3), by.NeedM})
		}
		out.Blocked = append(out.Blocked, row)
	}
	for i := range s.Helps {
		h := &s.Helps[i]
		help := Help{What: string(h.What), Text: words.Help(h), Minutes: h.Minutes}
		for _, d := range h.Dogs {
			if d != "" {
				help.Dogs = append(help.Dogs, d)
			}
		}
		out.Helps = append(out.Helps, help)
	}
	return out
}

// Decode takes a timetable back in: what a check and re-planning need of it.
// Faults are fault.Problems.
func (t *Timetable) Decode(f plane.Frame, zone *time.Location) (*outing.Timetable, error) {
	var wrong fault.Problems
	moment := func(pointer, text string) time.Time {
		at, err := time.Parse(time.RFC3339Nano, text)
		if err != nil {
			wrong = append(wrong, fault.Problem{Pointer: pointer, Value: text, Mend: "give a time with its zone, as it was answered"})
		}
		return at.In(zone)
	}
	later := func(text string) time.Time { // told on paper only: may be left out
		at, err := time.Parse(time.RFC3339, text)
		if err != nil {
			return time.Time{}
		}
		return at.In(zone)
	}
	out := &outing.Timetable{Start: moment("/start", t.Start), Minutes: t.Minutes, Slack: outing.Slack(t.Slack), ZoneM: t.ZoneM,
		At: t.GatePosition.In(f), Together: t.Together,
		Resting: t.Resting, TurnMin: t.TurnMinutes, StemM: t.StemM}
	if h := t.Hot; h != nil {
		out.Hot = &outing.Heat{MostMin: h.MostMinutes, From: moment("/hot/from", h.From), To: moment("/hot/to", h.To)}
	}
	for i := range t.Rows {
		r, at := &t.Rows[i], fmt.Sprintf("/rows/%d", i)
		row := outing.Row{Dog: r.Dog, Person: r.Person, Second: r.Second, With: r.With, Kennel: r.Row, Apart: outing.Apart(r.Apart), Bite: r.BiteHistory, StartMin: r.StartMinute, Leave: moment(at+"/leave", r.Leave), Meet: later(r.Meet), Back: later(r.BackBy), NeedM: r.NeedM,
			WishedMin: r.WishedMinutes, GrantedMin: r.GrantedMinutes, Reactions: r.ExpectedReactions, ProgressS: r.ProgressS, UnderWay: r.UnderWay}
		row.Line = r.Geometry.In(f)
		for j, h := range r.Holds {
			row.Holds = append(row.Holds, outing.Hold{At: h.At.In(f), ProgressS: h.ProgressS, NotBefore: moment(fmt.Sprintf("%s/holds/%d/not_before", at, j), h.NotBefore)})
		}
		out.Rows = append(out.Rows, row)
	}
	if len(wrong) > 0 {
		return nil, wrong
	}
	return out, nil
}
