package store

import (
	"context"
	"encoding/csv"
	"encoding/xml"
	"fmt"
	"io"
	"strconv"
	"strings"
	"time"
)

// Everything is all that is kept about a dog.
type Everything struct {
	Exported   time.Time          `json:"exported"`
	Dog        Dog                `json:"dog"`
	History    []Change           `json:"history"`
	Walks      []Walk             `json:"walks"`
	Encounters []Encounter        `json:"encounters"`
	Tracks     map[string][]Stamp `json:"tracks" doc:"By walk."`
	Plans      []Plan             `json:"plans"`
	Documents  []Document         `json:"documents"`
}

// Stamp is a point of a track in an export.
type Stamp struct {
	Lat float64   `json:"lat"`
	Lon float64   `json:"lon"`
	At  time.Time `json:"at,omitzero"`
}

// mostExport is more rows of one sort than any dog has.
const mostExport = 1 << 30

// Export gathers all that is kept about a dog, from one state of the database;
// for trainers.
func (s *Store) Export(ctx context.Context, w Who, dogID string) (e Everything, err error) {
	if err := w.may(Trainer); err != nil {
		return e, err
	}
	err = s.view(ctx, func(t *tx) error {
		e = Everything{Exported: t.now, Tracks: map[string][]Stamp{}}
		if e.Dog, err = t.dog(w, dogID); err != nil {
			return err
		}
		if e.History, err = t.history(dogID); err != nil {
			return err
		}
		if e.Walks, err = t.walks(w, dogID, t.now.Add(clockSlack), mostExport); err != nil {
			return err
		}
		if e.Encounters, err = t.encounters(dogID, "", time.Time{}); err != nil {
			return err
		}
		if e.Plans, err = t.plans(dogID, mostExport); err != nil {
			return err
		}
		for _, walk := range e.Walks {
			if !walk.Track {
				continue
			}
			points, err := t.track(walk.ID)
			if err != nil {
				return err
			}
			for _, p := range points {
				e.Tracks[walk.ID] = append(e.Tracks[walk.ID], Stamp(p))
			}
		}
		e.Documents, err = all(t, scanDocument, documentColumns+` WHERE account = $1 AND dog = $2 ORDER BY kind, id`, w.Account, dogID)
		return err
	})
	return e, err
}

// CSV writes the encounters as a table (RFC 4180) with a header. A cell that a
// spreadsheet would take for a formula begins with an apostrophe.
func (e *Everything) CSV(w io.Writer) error {
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

// GPX writes the tracks as GPX 1.1, one trk a walk, and the encounters with a
// place as waypoints.
func (e *Everything) GPX(w io.Writer) error {
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

// DeleteDog deletes a dog and all that is kept about it, for good; for trainers.
// A timetable of several dogs with this one in it goes as a whole: it is to be
// planned anew anyway.
// name must be the dog's, so that nobody deletes another by mistake. Backups made
// before still hold it: it is gone from the next backup on.
func (s *Store) DeleteDog(ctx context.Context, w Who, dogID, name string) error {
	if err := w.may(Trainer); err != nil {
		return err
	}
	return s.erase(ctx, func(t *tx) error {
		d, err := t.dog(w, dogID)
		if err != nil {
			return err
		}
		if d.Profile.Name != name {
			return conflict(fmt.Sprintf("the dog is called %q: give its name to delete it", d.Profile.Name))
		}
		// an id is random and too long to stand in a body by chance
		if err := t.do(`DELETE FROM document WHERE account = $1 AND body LIKE '%"' || $2 || '"%'`, w.Account, dogID); err != nil {
			return err
		}
		return t.must(`DELETE FROM dog WHERE id = $1`, dogID)
	})
}

// DeleteAccount deletes an account with everything in it, for good; for keepers.
// name must be the account's. It is gone from the next backup on.
func (s *Store) DeleteAccount(ctx context.Context, w Who, name string) error {
	if err := w.may(Keeper); err != nil {
		return err
	}
	return s.erase(ctx, func(t *tx) error {
		n, err := t.changed(`DELETE FROM account WHERE id = $1 AND name = $2`, w.Account, name)
		if err == nil && n == 0 {
			err = conflict("give the account's name to delete it")
		}
		return err
	})
}

// erase runs f in a transaction and leaves nothing of what it deleted.
func (s *Store) erase(ctx context.Context, f func(t *tx) error) error {
	if err := s.update(ctx, f); err != nil {
		return err
	}
	return s.scrub(ctx)
}
