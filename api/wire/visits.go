package wire

import (
	"time"

	"wideberth/exposure/learning"
	"wideberth/osmdata/plane"
	"wideberth/routing/briefing"
	"wideberth/routing/reach"
	"wideberth/routing/snapshot"
	"wideberth/routing/training"
	"wideberth/routing/training/setup"
)

// Vantage is a place to stand and watch from, with what it shows at an hour.
type Vantage struct {
	At               Position     `json:"at" doc:"Where to stand: longitude, latitude."`
	Street           string       `json:"street"`
	Watched          Watched      `json:"watched"`
	DistanceM        float64      `json:"distance_m" doc:"To the nearest point of what is watched."`
	Multiple         float64      `json:"multiple" doc:"That over the working distance."`
	Sees             Position     `json:"sees" doc:"Nearest point of it that is in sight."`
	SightShare       float64      `json:"sight_share" doc:"Share of its outline that is in sight."`
	RoomM            float64      `json:"room_m" doc:"Room beside the way, away from it."`
	RoomDefault      bool         `json:"room_default" doc:"Room is a default of the street's class, not measured."`
	Grade            string       `json:"grade" enum:"A,B,C,D" doc:"Ways out: A two that share no edge and keep nine tenths of the distance; B two that keep three quarters, one and open ground, or that over 60 degrees; C one and 20 m of room, or open ground; D one."`
	WaysOut          []LineString `json:"ways_out"`
	WayOutNames      []string     `json:"way_out_names" doc:"By which street each way out goes the farthest: by Kiln Lane."`
	WalkM            float64      `json:"walk_m" doc:"From the door, or from the car."`
	OffWayM          float64      `json:"off_way_m,omitempty" doc:"Of it over open ground from the nearest way; left out on a way."`
	Number           float64      `json:"number" doc:"Triggers expected in the stay, groups once."`
	Low              float64      `json:"low" doc:"Lower end of the 80 % interval of that number."`
	High             float64      `json:"high" doc:"Upper end of the 80 % interval of that number."`
	LastsLowS        float64      `json:"lasts_low_s" doc:"Seconds that one lasts, from"`
	LastsHighS       float64      `json:"lasts_high_s" doc:"to."`
	Chance           float64      `json:"chance" doc:"That at least one shows in the stay."`
	WatchedReactions float64      `json:"watched_reactions" doc:"Expected reactions to what is watched."`
	OtherReactions   float64      `json:"other_reactions" doc:"Expected reactions to everything else during the stay."`
	TreatsLow        int          `json:"treats_low" doc:"Pieces of food for the fewest and shortest triggers that may come, at least one of them, one piece every four seconds;"`
	TreatsHigh       int          `json:"treats_high" doc:"for the most and longest, one every two."`
}

// Watched is what is watched.
type Watched struct {
	Name string `json:"name"`
	Sort string `json:"sort" example:"dog_park"`
	OSM  string `json:"osm,omitempty" doc:"Of a place; left out for ways." example:"way/123"`
}

// Stay is a vantage place at an hour, for so long.
type Stay struct {
	Vantage
	Arrive        string    `json:"arrive" example:"2026-11-26T17:20:00-05:00"`
	StayMinutes   float64   `json:"stay_minutes"`
	AboutReaction float64   `json:"about_reactions" doc:"Of the whole visit, before its ways were planned."`
	AboutBesides  float64   `json:"about_besides" doc:"Of these besides what is watched."`
	Car           *VisitCar `json:"car,omitempty" doc:"Where the car is left; left out where one walks from the door."`
	Class         StepClass `json:"class"`
	Pinned        bool      `json:"pinned"`
	Kept          bool      `json:"kept,omitempty" doc:"One of the places that were to be kept."`
}

// VisitCar is where the car is left for a visit.
type VisitCar struct {
	At           Position `json:"at" doc:"Where the walk begins."`
	Name         string   `json:"name"`
	Parking      string   `json:"parking" enum:"public,unknown,roadside" doc:"A public car park, one of which the map does not say whose it is, or the side of a small road."`
	DriveMinutes int      `json:"drive_minutes" doc:"About so long, with parking, rounded to five: nobody has held it against a clock."`
}

// StepClass says how hard a stay is, in classes.
type StepClass struct {
	Near     int `json:"near" doc:"Eighths of the working distance; less is harder."`
	Busy     int `json:"busy" doc:"Half octaves of the number of triggers; more is harder."`
	Room     int `json:"room" doc:"Tens of metres, at most three; less is harder."`
	Duration int `json:"duration" doc:"Longer is harder."`
}

// Visit is a step of a sequence.
type Visit struct {
	Stay
	Earliest          string   `json:"earliest,omitempty" doc:"When a step of a sequence can be due if all before it go well: one visit a week, as many on each step as the rule wants, on its weekday and at its hour."`
	Leave             string   `json:"leave" doc:"The house."`
	Begin             string   `json:"begin" doc:"When the walk begins: at the door, or at the car."`
	WayIn             Walk     `json:"way_in"`
	WayHome           Walk     `json:"way_home"`
	CalmInMinutes     float64  `json:"calm_in_minutes" doc:"Of the way in, on the two calmer levels of ground; five are wanted."`
	ExpectedReactions float64  `json:"expected_reactions" doc:"Of the whole: ways, stay, and beside the car."`
	BesidesReactions  float64  `json:"besides_reactions" doc:"Of these besides what is watched: what the limit is for."`
	AsideReactions    float64  `json:"aside_reactions,omitempty" doc:"Of these beside the car and over open ground."`
	Harder            []string `json:"harder" doc:"In what it is harder than the step before."`
	Easier            []string `json:"easier"`
	Alternatives      []int    `json:"alternatives" doc:"Indices of options of about its hardness."`
	Cautions          []string `json:"cautions"`

	Given   *GivenVisit   `json:"given,omitempty" doc:"The ground of its ways: send it back to have them told, drawn or printed again."`
	Meeting *VisitMeeting `json:"meeting,omitempty" doc:"Of a step with a known helper; left out for a chance visit."`
}

// VisitMeeting is a set-up as a step of a sequence.
type VisitMeeting struct {
	Ask   SetupBody `json:"ask" doc:"What it answers, but for the door and the dog: sent to /v1/setups with these it is had again, drawn and printed."`
	Setup Setup     `json:"setup"`
	Dark  string    `json:"dark,omitempty" doc:"What to take where it is dark then."`

	Muzzles []string     `json:"muzzles,omitempty" doc:"Who is muzzle-trained and who is not, where one of the two has bitten."`
	Word    *TrainerWord `json:"word,omitempty" doc:"What a trainer said in writing, where the meeting rests on it."`
}

// Lack is a step that cannot be had.
type Lack struct {
	Multiple  float64 `json:"multiple,omitempty"`
	DistanceM float64 `json:"distance_m,omitempty"`
	Why       string  `json:"why" enum:"ground,hours,reactions,way_in,steps,helper,pin,bite,rest,one_hour"`
	Least     float64 `json:"least_reactions,omitempty" doc:"Of the calmest visit there is, besides what is watched, where these forbid."`
	Text      string  `json:"text"`
	Instead   *Stay   `json:"instead,omitempty"`
}

// Sequence is the JSON form of a sequence of training visits.
type Sequence struct {
	Kinds       []string  `json:"kinds"`
	Visits      []Visit   `json:"visits" doc:"From the farthest to the nearest."`
	Order       string    `json:"order,omitempty" enum:"one_harder,never_easier,nearer_eases" doc:"What every step keeps: harder in one respect only; easier in none; nearer, and then perhaps easier in others."`
	Complete    bool      `json:"complete" doc:"Leads from the farthest to the nearest distance asked for."`
	Options     []Stay    `json:"options" doc:"The visits' own, in their order, then the alternatives."`
	Arcs        [][2]int  `json:"arcs" doc:"Which options are next harder than which: the order of all that is shown, less what follows from the rest."`
	Lacks       []Lack    `json:"lacks" doc:"What cannot be had, why, and what comes nearest."`
	Respites    []Respite `json:"respites,omitempty" doc:"Days asked for on which the dog rests, or keeps far, after a bad one."`
	Considered  int       `json:"considered" doc:"Places, hours and stays that were found."`
	CutShort    bool      `json:"cut_short,omitempty" doc:"The ground asked for is too large for one search: what lies farther from the start was not looked at."`
	Cautions    []string  `json:"cautions"`
	Assumed     []string  `json:"assumed"`
	TimeZone    string    `json:"time_zone"`
	MapTime     string    `json:"map_time,omitempty"`
	Attribution string    `json:"attribution" example:"© OpenStreetMap contributors"`
}

// exposureCautions are those of exposure work: calm, brief, and always there.
func exposureCautions(words briefing.Words) []string {
	return []string{words.Say("visits.caution.stop"), words.Say("caution.professional"), Caution(words)}
}

// nearMultiple is the multiple of the working distance below which every step has
// a caution of its own.
const nearMultiple = 1.5

// Encoder of places of one snapshot.
type vantages struct {
	frame plane.Frame
	snap  *snapshot.Snapshot
	words briefing.Words
}

// NewVantage is the JSON form of a vantage place of a snapshot.
func NewVantage(v *training.Place, snap *snapshot.Snapshot, words briefing.Words) Vantage {
	return vantages{snap.Frame, snap, words}.place(v)
}

func (e vantages) place(v *training.Place) Vantage {
	out := Vantage{
		At: NewPosition(e.frame, v.At), Street: e.words.Called(v.Street), Watched: Watched{Name: e.words.Called(v.Watched.Name), Sort: v.Watched.Sort},
		DistanceM: round(v.DistM, 1), Multiple: round(v.Multiple, 3), Sees: NewPosition(e.frame, v.Sees), SightShare: round(v.SightShare, 2),
		RoomM: round(v.RoomM, 1), RoomDefault: v.RoomDefault, Grade: string(v.Grade), WaysOut: []LineString{}, WayOutNames: []string{}, WalkM: round(v.WalkM, 0), OffWayM: round(v.OffM, 0),
		Number: round(v.Number, 2), Low: v.Low, High: v.High, LastsLowS: round(v.LastsLowS, 0), LastsHighS: round(v.LastsHighS, 0),
		Chance: round(v.Active, 3), WatchedReactions: round(v.WatchX, 4), OtherReactions: round(v.OtherX, 4), TreatsLow: v.TreatsLow, TreatsHigh: v.TreatsHigh,
	}
	if v.Watched.Sort == training.HelperSort {
		out.Watched.Name = e.words.HelperName(v.Watched.Name)
	}
	if v.Watched.Source >= 0 {
		out.Watched.OSM = e.snap.Field.Source(v.Watched.Source).OSM
	}
	for i, l := range v.WaysOut {
		out.WaysOut = append(out.WaysOut, newLineString(e.frame, l))
		out.WayOutNames = append(out.WayOutNames, e.words.WayOut(v.WaysOutBy[i]))
	}
	return out
}

func (e vantages) stay(o *training.Option) Stay {
	out := Stay{Vantage: e.place(&o.Place), Arrive: o.Arrive.Format(time.RFC3339), StayMinutes: round(o.StayS/60, 2), AboutReaction: round(o.AboutX, 4),
		AboutBesides: round(o.BesidesX(), 4), Class: StepClass(o.Class), Pinned: o.Pin > 0, Kept: o.Kept}
	if c := o.Car; c != nil {
		out.Car = &VisitCar{NewPosition(e.frame, c.At()), briefing.Sentence(e.words.Spot(&c.Spot)), parkingNames[c.Spot.Sort], briefing.DriveMinutes(c.DriveS)}
	}
	return out
}

// NewVisit is the JSON form of one visit on land.
func NewVisit(v *training.Visit, land *reach.Land, words briefing.Words) Visit {
	e := vantages{land.Snap.Frame, land.Snap, words}
	out := Visit{
		Stay: e.stay(&v.Option), Earliest: earliest(v), Leave: v.Departs().Format(time.RFC3339), Begin: v.Leave.Format(time.RFC3339), WayIn: NewWalk(&v.In, e.frame, v.Leave, words),
		WayHome: NewWalk(&v.Home, e.frame, v.Arrive.Add(time.Duration((v.StayS+v.OverS)*float64(time.Second))), words), CalmInMinutes: round(v.CalmInS/60, 1),
		ExpectedReactions: round(v.X, 4), BesidesReactions: round(v.BesidesX(), 4), AsideReactions: round(v.AsideX, 4), Harder: nonNil(v.Harder), Easier: nonNil(v.Easier), Alternatives: append([]int{}, v.Alternatives...), Cautions: []string{}, Given: newGivenVisit(v, land),
	}
	if m := v.Meeting; m != nil {
		out.Meeting = &VisitMeeting{Ask: askAgain(m, e.frame), Muzzles: words.SetupMuzzles(&m.Wish), Word: newTrainerWord(m.Wish.Standing(), words), Setup: newSetup(&m.Setup, &m.Wish, e.snap, words)}
		if m.Setup.Dark {
			out.Meeting.Dark = words.Say("setup.dark")
		}
		out.Given = nil
	}
	for _, n := range v.Care() {
		out.Cautions = append(out.Cautions, briefing.Sentence(words.Note(n))+".")
	}
	if v.Changed {
		out.Cautions = append(out.Cautions, words.Say("visits.changed"))
	}
	if v.Multiple < nearMultiple {
		out.Cautions = append(out.Cautions, words.Say("visits.near.caution"))
	}
	return out
}

// earliest is when a step of a sequence can be due, "" for a visit by itself.
func earliest(v *training.Visit) string {
	if v.Earliest.IsZero() {
		return ""
	}
	return v.Earliest.Format(time.RFC3339)
}

// askAgain is what a set-up answers, but for the door and the dog.
func askAgain(m *training.Meeting, f plane.Frame) SetupBody {
	w := &m.Wish
	car := NewLatLon(f, *w.Car)
	return SetupBody{Helper: askHelper(w), Steps: w.Steps, At: w.At.Format(time.RFC3339), MaxReactions: w.MaxX, Ground: string(w.Ground), Together: w.Together, Car: &car}
}

// askHelper is who is met, as it was said.
func askHelper(w *setup.Wish) HelperBody {
	h := &w.Helper
	out := HelperBody{Kind: w.Kind.String(), Calmness: string(w.Calm), DogID: h.ID}
	if h.ID == "" {
		out.Name, out.MuzzleTrained, out.BiteHistory = h.Name, h.MuzzleTrained, h.Bite
	}
	if h.Word != nil {
		out.TrainerWord = h.Word.ID
	}
	return out
}

// Respite is a day that a bad one has taken, or left to far steps.
type Respite struct {
	Day  string `json:"day" doc:"Like 2026-11-26."`
	Rest bool   `json:"rest" doc:"A day of rest; else far steps only."`
	Text string `json:"text" doc:"Why."`
}

func newRespite(r *learning.Respite, words briefing.Words) Respite {
	return Respite{Day: r.Day.Format(time.DateOnly), Rest: r.Rest, Text: words.Respite(r)}
}

// NewSequence is the JSON form of a sequence on land.
func NewSequence(s *training.Sequence, land *reach.Land, words briefing.Words) Sequence {
	e := vantages{land.Snap.Frame, land.Snap, words}
	out := Sequence{
		Kinds: []string{}, Visits: []Visit{}, Order: string(s.Order), Complete: s.Complete, Options: []Stay{}, Arcs: append([][2]int{}, s.Arcs...),
		Lacks: []Lack{}, Considered: s.Considered, CutShort: s.CutShort, Cautions: exposureCautions(words), Assumed: words.Assumptions(s.Assumed), TimeZone: s.Zone, Attribution: Attribution,
	}
	if !s.MapTime.IsZero() {
		out.MapTime = s.MapTime.UTC().Format(time.RFC3339)
	}
	for _, k := range s.Kinds {
		out.Kinds = append(out.Kinds, k.String())
	}
	for i := range s.Respites {
		out.Respites = append(out.Respites, newRespite(&s.Respites[i], words))
	}
	for i := range s.Visits {
		out.Visits = append(out.Visits, NewVisit(&s.Visits[i], land, words))
	}
	for i := range s.Options {
		out.Options = append(out.Options, e.stay(&s.Options[i]))
	}
	for i := range s.Lacks {
		l := &s.Lacks[i]
		row := Lack{Multiple: l.Multiple, DistanceM: round(l.DistM, 1), Why: string(l.Why), Least: round(l.Least, 3), Text: words.Lack(l)}
		if l.Instead != nil {
			stay := e.stay(l.Instead)
			row.Instead = &stay
		}
		out.Lacks = append(out.Lacks, row)
	}
	return out
}
