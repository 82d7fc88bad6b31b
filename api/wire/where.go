package wire

import (
	"time"

	"wideberth/api/wire/kept"
	"wideberth/routing"
	"wideberth/routing/briefing"
	"wideberth/routing/errand"
	"wideberth/routing/parking"
	"wideberth/routing/reach"
)

// FreeHours are hours as a planner understands them; nil are the usual.
func FreeHours(f *kept.FreeHours) routing.FreeHours {
	if f == nil {
		return routing.FreeHours{}
	}
	return routing.FreeHours{Spans: f.Spans, Unlit: f.Unlit}
}

// WhereBody asks where to go.
type WhereBody struct {
	WishBody
	DriveMinutes *float64        `json:"drive_minutes,omitempty" doc:"How long the drive may take, one way and with parking, 1 to 60; left out: 15." example:"15"`
	OnFoot       bool            `json:"on_foot,omitempty" doc:"No car: the door alone, now and at a better hour."`
	Most         int             `json:"most,omitempty" doc:"How many places, 1 to 10; left out: five."`
	FreeHours    *kept.FreeHours `json:"free_hours,omitempty" doc:"Left out: those kept with the account, else 06:00-22:00 in daylight or on lit ways."`
}

// usualMinutes is the length of a walk where none is said. Our choice.
const usualMinutes = 30

// Errand is what was asked, for a wish whose dog, departure and the rest are filled in.
func (b *WhereBody) Errand(w routing.Wish) errand.Errand {
	if b.Minutes == nil {
		w.Minutes = usualMinutes
	}
	e := errand.Errand{Wish: w, OnFoot: b.OnFoot, Most: b.Most, DriveMinutes: errand.UsualDriveMinutes}
	if b.DriveMinutes != nil {
		e.DriveMinutes = *b.DriveMinutes
	}
	return e
}

// Where is the JSON form of where to go.
type Where struct {
	Options     []WhereOption `json:"options" doc:"Least expected reactions and strain first."`
	InReach     int           `json:"in_reach" doc:"Places to leave a car that the drive leads to."`
	Looked      int           `json:"looked_at" doc:"Of these, places that a walk was searched for; a calmer one may exist."`
	Notes       []string      `json:"notes" doc:"How the options were found, and what there is not."`
	Assumed     []string      `json:"assumed"`
	TimeZone    string        `json:"time_zone"`
	Attribution string        `json:"attribution"`
	Caution     string        `json:"caution"`
}

// WhereOption is one answer to where to go.
type WhereOption struct {
	Kind         string      `json:"kind" enum:"door_now,door_later,by_car"`
	Name         string      `json:"name" doc:"What the place is called; no two of one answer are alike." example:"Bellevue State Park, Bellefonte"`
	Parking      string      `json:"parking,omitempty" enum:"public,unknown,roadside" doc:"Of a place: a public car park, one of which the map does not say whose it is, or the side of a small road."`
	At           Position    `json:"at" doc:"Where the walk begins: longitude, latitude."`
	ParkAt       *Position   `json:"park_at,omitempty" doc:"Where the drive ends."`
	DriveMinutes int         `json:"drive_minutes,omitempty" doc:"About so long, rounded to five: nobody has held it against a clock."`
	Leave        string      `json:"leave" doc:"The house, RFC 3339." example:"2026-11-25T07:10:00-05:00"`
	Begin        string      `json:"begin" doc:"When the walk begins." example:"2026-11-25T07:21:00-05:00"`
	Saves        WhereSaving `json:"saves"`
	Later        *WhereLater `json:"later,omitempty" doc:"Of a place: what it brings to who leaves at the door's better hour and is home again in time."`
	Notes        []string    `json:"notes" doc:"Rules of the place, and what else to know."`
	Walk         Walk        `json:"walk"`
	Given        *Given      `json:"given,omitempty" doc:"The walk's address: send it back to have it drawn, printed, proved or told again."`
}

// WhereSaving is what an option spares against the door now.
type WhereSaving struct {
	ExpectedReactions float64 `json:"expected_reactions"`
	Strain            float64 `json:"strain"`
	Share             float64 `json:"share" doc:"Of the door's sum of both, as the wish weighs it; 0 where there is no walk from the door now."`
}

// WhereLater is a place at another hour.
type WhereLater struct {
	Leave             string  `json:"leave"`
	Begin             string  `json:"begin"`
	ExpectedReactions float64 `json:"expected_reactions"`
	Strain            float64 `json:"strain"`
}

var parkingNames = map[parking.Sort]string{parking.Public: "public", parking.Lot: "unknown", parking.Roadside: "roadside"}

// NewWhere makes the JSON form of choices on land. sent is the wish as it was sent, for
// the addresses of the walks; nil leaves them out.
func NewWhere(c *errand.Choices, land *reach.Land, sent *WishBody, words briefing.Words) Where {
	out := Where{Options: []WhereOption{}, InReach: c.InReach, Looked: c.Looked, Notes: nonNil(words.Choices(c)), Assumed: words.Assumptions(c.Assumed),
		TimeZone: land.Snap.Zone, Attribution: Attribution, Caution: words.Say("where.caution") + " " + Caution(words)}
	for i := range c.Options {
		out.Options = append(out.Options, newWhereOption(&c.Options[i], land, sent, words))
	}
	return out
}

func newWhereOption(o *errand.Option, land *reach.Land, sent *WishBody, words briefing.Words) WhereOption {
	f := land.Snap.Frame
	begin := o.Wish.Depart.In(o.Leave.Location())
	out := WhereOption{
		Kind: string(o.Kind), Name: briefing.Sentence(words.OptionName(o)), At: NewPosition(f, o.Plan.Snap.At), Leave: o.Leave.Format(time.RFC3339), Begin: begin.Format(time.RFC3339),
		Saves: WhereSaving{round(o.Saves.Reactions, 5), round(o.Saves.Strain, 5), round(o.Saves.Share, 3)},
		Notes: nonNil(words.OptionNotes(o)), Walk: NewWalk(o.Walk(), f, begin, words),
	}
	if o.Spot != nil {
		at := NewPosition(f, o.Spot.Kerb.At)
		out.Parking, out.ParkAt, out.DriveMinutes = parkingNames[o.Spot.Sort], &at, briefing.DriveMinutes(o.DriveS)
	}
	if l := o.Later; l != nil {
		out.Later = &WhereLater{l.Leave.Format(time.RFC3339), l.Begin.Format(time.RFC3339), round(l.Reactions, 5), round(l.Strain, 5)}
	}
	if sent != nil {
		w := *sent
		w.From, w.To, w.Minutes, w.Shape, w.Away = NewLatLon(f, o.Wish.From), nil, &o.Wish.Minutes, string(o.Wish.Shape), o.Wish.Away
		w.Limits.LitOnly = o.Wish.Limits.LitOnly
		out.Given = NewGiven(o.Plan, land, w)
	}
	return out
}
