package wire_test

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"encoding/xml"
	"slices"
	"strings"
	"testing"
	"time"

	"wideberth/api/store"
	"wideberth/api/wire"
	"wideberth/exposure/learning"
)

// everything is a dog with a walk that has a track, one that has none, and meetings.
func everything() *store.Everything {
	begun := time.Date(2026, 11, 25, 7, 10, 0, 0, time.UTC)
	lat, lon, d := 39.75, -75.55, 20.0
	e := &store.Everything{Dog: store.Dog{ID: "fern", Profile: store.Profile{Name: "Fern & Co"}},
		Walks: []store.Walk{{ID: "w1", WalkInput: store.WalkInput{Started: begun}, Track: true}, {ID: "w2", WalkInput: store.WalkInput{Started: begun.Add(time.Hour)}}},
		Tracks: map[string][]store.Stamp{"w1": {{Lat: 39.75, Lon: -75.55, At: begun}, {Lat: 39.7501, Lon: -75.5502}, {Lat: 39.7503, Lon: -75.5504, At: begun.Add(10 * time.Minute)}},
			"w2": {{Lat: 1, Lon: 2}}}} // kept no longer: its walk says that it has none
	e.Encounters = []store.Encounter{
		{ID: "e1", EncounterInput: store.EncounterInput{Walk: "=w1", Kind: "dog_on_lead", At: begun, Nearest: "exact", DistanceM: &d, Lat: &lat, Lon: &lon, Note: "=cmd of Fern"}},
		{ID: "e2", EncounterInput: store.EncounterInput{Kind: "child", At: begun, TurnedBack: true, Note: "a, \"b\"\nc"}},
	}
	return e
}

// TestEncountersAsTable: by RFC 4180 as another reader takes it, with what is not
// known left empty, and nothing that a spreadsheet would work out.
func TestEncountersAsTable(t *testing.T) {
	var table bytes.Buffer
	if err := wire.EncountersCSV(everything(), &table); err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(&table).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	want := [][]string{
		{"id", "walk", "at", "kind", "nearest", "distance_m", "to_m", "noticed_m", "duration_s", "food", "turned_back", "over", "sudden", "lat", "lon", "note"},
		{"e1", "'=w1", "2026-11-25T07:10:00Z", "dog_on_lead", "exact", "20", "", "", "", "", "false", "", "false", "39.75", "-75.55", "'=cmd of Fern"},
		{"e2", "", "2026-11-25T07:10:00Z", "child", "", "", "", "", "", "", "true", "", "false", "", "", "a, \"b\"\nc"},
	}
	if !slices.EqualFunc(rows, want, slices.Equal[[]string]) {
		t.Errorf("table %q, want %q", rows, want)
	}
}

// TestTracksAsGPX: what goes out is GPX 1.1 (topografix.com/GPX/1/1/gpx.xsd), and what
// goes out comes in again.
func TestTracksAsGPX(t *testing.T) {
	var doc bytes.Buffer
	e := everything()
	if err := wire.TracksGPX(e, &doc); err != nil {
		t.Fatal(err)
	}
	var gpx struct {
		XMLName xml.Name
		Version string `xml:"version,attr"`
		Wpt     []struct {
			Lat  float64 `xml:"lat,attr"`
			Name string  `xml:"name"`
		} `xml:"wpt"`
		Trk []struct {
			Name string `xml:"name"`
		} `xml:"trk"`
	}
	if err := xml.Unmarshal(doc.Bytes(), &gpx); err != nil {
		t.Fatal(err)
	}
	if gpx.XMLName.Space != "http://www.topografix.com/GPX/1/1" || gpx.Version != "1.1" || len(gpx.Wpt) != 1 || gpx.Wpt[0].Name != "dog_on_lead" || gpx.Wpt[0].Lat != 39.75 ||
		len(gpx.Trk) != 1 || gpx.Trk[0].Name != "Fern & Co 2026-11-25T07:10:00Z" {
		t.Errorf("GPX %s", doc.String())
	}
	points, err := wire.ReadGPX(strings.NewReader(doc.String()), noon())
	if err != nil || len(points) != 3 {
		t.Fatalf("%d points come in again: %v", len(points), err)
	}
	for i, p := range points {
		if store.Stamp(p) != e.Tracks["w1"][i] {
			t.Errorf("point %d went out as %+v and came in as %+v", i, e.Tracks["w1"][i], p)
		}
	}
}

// TestKeptReportOnTheWire: a report is told with what is thought of it, each member
// under its name.
func TestKeptReportOnTheWire(t *testing.T) {
	said := time.Date(2026, 11, 25, 7, 0, 0, 0, time.UTC)
	r := store.Report{ID: "r", ReportInput: store.ReportInput{Kind: "child", There: true, Number: 1}, Created: said, Said: []store.Statement{{When: said, There: true}}}
	text, err := json.Marshal(wire.NewKeptReport(r, learning.Standing{Last: said, Confirm: 3, Dispute: 1, Presence: 0.5, Live: true}))
	if err != nil {
		t.Fatal(err)
	}
	want := `{"id":"r","kind":"child","number":1,"there":true,"created":"2026-11-25T07:00:00Z","spoken":"2026-11-25T07:00:00Z","confirmed_by":3,"disputed_by":1,"presence":0.5,"live":true}`
	if string(text) != want {
		t.Errorf("told as %s, want %s", text, want)
	}
}
