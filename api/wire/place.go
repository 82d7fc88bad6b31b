package wire

import (
	"time"

	"wideberth/api/wire/dogfile"
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
	Text string  `json:"text,omitempty" maxLength:"200" doc:"Street with or without a number, or the name of a quarter." example:"Weaver Row 12"`
	At   *LatLon `json:"at,omitempty" doc:"Instead of a text: what is this place called?"`
}
