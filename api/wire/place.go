package wire

import (
	"math"
	"time"

	"wideberth/api/wire/dogfile"
	"wideberth/routing/atlas"
	"wideberth/routing/gazetteer"
	"wideberth/routing/snapshot"
)

// Place is somewhere a walk can start, with a name to call it by.
type Place struct {
	Name string `json:"name" example:"Weaver Row 12"`
	At   LatLon `json:"at"`
}

// MapInfo says what is loaded and where a first look should fall.
type MapInfo struct {
	Name        string     `json:"name"`
	BBox        [4]float64 `json:"bbox" doc:"West, south, east, north in degrees."`
	TimeZone    string     `json:"time_zone"`
	MapTime     string     `json:"map_time,omitempty" doc:"Of the extract, RFC 3339."`
	Now         string     `json:"now" doc:"This server's clock, RFC 3339 with the place's offset."`
	Version     string     `json:"version"`
	Attribution string     `json:"attribution"`
	ZoneCredit  string     `json:"time_zone_attribution" doc:"Where the time zone was found."`
	Maps        []MapThere `json:"maps,omitempty" doc:"Where there are several: what each shows. The others of these answers are of the first, or of that of the place asked about; bbox holds all."`
	Demo        *Demo      `json:"demo,omitempty" doc:"There only if the map is the invented town."`
}

// NewMapInfo makes the JSON form of a loaded map.
func NewMapInfo(snap *snapshot.Snapshot, version string, now time.Time) MapInfo {
	w, south := snap.Frame.Inverse(snap.Bounds.Min)
	e, n := snap.Frame.Inverse(snap.Bounds.Max)
	out := MapInfo{Name: snap.Name, BBox: [4]float64{w, south, e, n}, TimeZone: snap.Zone, Version: version,
		Now: now.Format(time.RFC3339), Attribution: Attribution, ZoneCredit: ZoneCredit}
	if !snap.MapTime.IsZero() {
		out.MapTime = snap.MapTime.UTC().Format(time.RFC3339)
	}
	return out
}

// MapThere is one of several maps.
type MapThere struct {
	Name     string     `json:"name"`
	BBox     [4]float64 `json:"bbox" doc:"Places that it answers for: west, south, east, north in degrees."`
	TimeZone string     `json:"time_zone"`
	Country  string     `json:"country,omitempty" doc:"ISO 3166-1."`
	MapTime  string     `json:"map_time,omitempty" doc:"Of the extract, RFC 3339."`
	Licence  string     `json:"licence"`
}

// NewMapsThere is the JSON form of several maps.
func NewMapsThere(tiles []*atlas.Tile) []MapThere {
	out := make([]MapThere, len(tiles))
	for i, t := range tiles {
		out[i] = MapThere{Name: t.Name, BBox: t.Core, TimeZone: t.Zone, Country: t.Country, Licence: t.Licence}
		if !t.MapTime.IsZero() {
			out[i].MapTime = t.MapTime.UTC().Format(time.RFC3339)
		}
	}
	return out
}

// Demo is what the first visit to the invented town begins with.
type Demo struct {
	Dog    dogfile.File `json:"dog"`
	From   Place        `json:"from"`
	Outing DemoOuting   `json:"outing"`
}

// DemoOuting is an outing of invented dogs with invented people.
type DemoOuting struct {
	Minutes float64        `json:"minutes"`
	Dogs    []OutingDog    `json:"dogs"`
	People  []OutingPerson `json:"people"`
}

// PlacesBody asks for a place by its name, or for the name of a place.
type PlacesBody struct {
	Text string  `json:"text,omitempty" maxLength:"200" doc:"Street, with its house number before or after, with a town or a postcode; a park, a school, a settlement, a postcode. Usual abbreviations, beginnings of words and wrong letters are understood." example:"12 Weaver Row"`
	Near *LatLon `json:"near,omitempty" doc:"With a text: of places that fit as well the nearest to here come first."`
	At   *LatLon `json:"at,omitempty" doc:"Instead of a text: what is this place called?"`
}

// FoundPlace is a place that fits what was typed.
type FoundPlace struct {
	Place
	Kind     string  `json:"kind" enum:"settlement,ground,street,door,postcode" doc:"What it is; ground is a park, a wood, a school or the like."`
	Town     string  `json:"town,omitempty" doc:"That it lies in; taken from the nearest settlement."`
	Postcode string  `json:"postcode,omitempty"`
	AwayM    float64 `json:"away_m,omitempty" doc:"From near, in a straight line; of a street, its nearest part."`
	Missing  string  `json:"missing_number,omitempty" doc:"The house number that was typed, where the map does not have it in this street."`
	Forgiven bool    `json:"forgiven,omitempty" doc:"It fits only with letters of the text wrong or missing."`
}

// FoundPlaces answers a search for places.
type FoundPlaces struct {
	Places []FoundPlace `json:"places" doc:"The best first."`
}

var placeKinds = map[gazetteer.Kind]string{gazetteer.Settlement: "settlement", gazetteer.Ground: "ground", gazetteer.Street: "street",
	gazetteer.Door: "door", gazetteer.Postcode: "postcode"}

// NewFoundPlace writes what a gazetteer found at a place.
func NewFoundPlace(at LatLon, p *gazetteer.Found) FoundPlace {
	return FoundPlace{Place: Place{Name: p.Name, At: at}, Kind: placeKinds[p.Kind], Town: p.Town, Postcode: p.Code,
		AwayM: math.Round(p.AwayM), Missing: p.Missing, Forgiven: p.Forgiven}
}
