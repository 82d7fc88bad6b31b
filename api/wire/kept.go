package wire

import (
	"encoding/csv"
	"encoding/xml"
	"io"
	"strconv"
	"strings"
	"time"

	"wideberth/api/store"
)

// EncountersCSV writes a dog's encounters as a table (RFC 4180) with a header. A cell
// that a spreadsheet would take for a formula begins with an apostrophe.
func EncountersCSV(e *store.Everything, w io.Writer) error {
	out := csv.NewWriter(w)
	if err := out.Write([]string{"id", "walk", "at", "kind", "nearest", "distance_m", "to_m", "noticed_m", "duration_s",
		"food", "turned_back", "over", "sudden", "lat", "lon", "note"}); err != nil {
		return err
	}
	for i := range e.Encounters {
		x := &e.Encounters[i]
		if err := out.Write([]string{x.ID, plainCell(x.Walk), x.At.Format(time.RFC3339), x.Kind, x.Nearest, number(x.DistanceM), number(x.ToM), number(x.NoticedM),
			number(x.DurationS), x.Food, strconv.FormatBool(x.TurnedBack), x.Over, strconv.FormatBool(x.Sudden), number(x.Lat), number(x.Lon), plainCell(x.Note)}); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}

func plainCell(text string) string {
	if text != "" && strings.ContainsRune("=+-@\t\r", rune(text[0])) {
		return "'" + text
	}
	return text
}

func number(x *float64) string {
	if x == nil {
		return ""
	}
	return strconv.FormatFloat(*x, 'g', -1, 64)
}

// TracksGPX writes a dog's tracks as GPX 1.1, one trk a walk, and the encounters with
// a place as waypoints.
func TracksGPX(e *store.Everything, w io.Writer) error {
	type point struct {
		Lat  float64 `xml:"lat,attr"`
		Lon  float64 `xml:"lon,attr"`
		Time string  `xml:"time,omitempty"`
		Name string  `xml:"name,omitempty"`
	}
	type track struct {
		Name   string  `xml:"name"`
		Points []point `xml:"trkseg>trkpt"`
	}
	doc := struct {
		XMLName xml.Name `xml:"http://www.topografix.com/GPX/1/1 gpx"`
		Version string   `xml:"version,attr"`
		Creator string   `xml:"creator,attr"`
		Wpt     []point  `xml:"wpt"`
		Trk     []track  `xml:"trk"`
	}{Version: "1.1", Creator: "Wideberth"}
	for i := range e.Encounters {
		if x := &e.Encounters[i]; x.Lat != nil {
			doc.Wpt = append(doc.Wpt, point{*x.Lat, *x.Lon, stamp(x.At), x.Kind})
		}
	}
	for i := range e.Walks {
		walk := &e.Walks[i]
		if !walk.Track {
			continue
		}
		trk := track{Name: e.Dog.Profile.Name + " " + stamp(walk.Started)}
		for _, p := range e.Tracks[walk.ID] {
			trk.Points = append(trk.Points, point{p.Lat, p.Lon, stamp(p.At), ""})
		}
		doc.Trk = append(doc.Trk, trk)
	}
	if _, err := io.WriteString(w, xml.Header); err != nil {
		return err
	}
	return xml.NewEncoder(w).Encode(doc)
}

func stamp(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.UTC().Format(time.RFC3339)
}
