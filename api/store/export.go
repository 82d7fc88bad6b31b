package store

import (
	"cmp"
	"context"
	"database/sql"
	"encoding/csv"
	"encoding/json"
	"encoding/xml"
	"fmt"
	"io"
	"strconv"
	"strings"
	"time"

	"wideberth/api/wire/kept"
)

// ExportForm is a form that an export comes in.
type ExportForm int

// The forms of an export.
const (
	ExportJSON ExportForm = iota // an Everything
	ExportCSV                    // the meetings, RFC 4180
	ExportGPX                    // the tracks, and the meetings with a place
)

// Export writes all that is kept about a dog, from one state of the database; for
// trainers. It goes out row by row, however much it is, and an error may come when
// part of it is written.
func (s *Store) Export(ctx context.Context, w Who, dogID string, form ExportForm, out io.Writer) error {
	if err := w.may(kept.Trainer); err != nil {
		return err
	}
	return s.long(ctx, func(t *tx) error {
		dog, err := t.dog(w, dogID)
		if err != nil {
			return err
		}
		switch form {
		case ExportCSV:
			return t.exportCSV(dogID, out)
		case ExportGPX:
			return t.exportGPX(w, &dog, out)
		}
		return t.exportJSON(w, &dog, out)
	})
}

const (
	historyOf    = `SELECT person, body FROM distance_change WHERE dog = $1 ORDER BY seq DESC`
	walksOf      = walkColumns + ` WHERE w.dog = $1 ORDER BY w.started DESC, w.id`
	encountersOf = `SELECT person, body FROM encounter WHERE dog = $1 AND removed = 0 ORDER BY at, id`
	wordsOf      = `SELECT body FROM word WHERE dog = $1 ORDER BY created DESC, id`
	plansOf      = `SELECT body FROM plan WHERE dog = $1 ORDER BY created DESC, id`
)

// exportJSON writes an Everything.
func (t *tx) exportJSON(w Who, dog *kept.Dog, out io.Writer) error {
	keep, err := t.keepSince(w.Account)
	if err != nil {
		return err
	}
	j := &jsonObject{out: out}
	j.put("exported", t.Now)
	j.put("dog", dog)
	listed(t, j, "history", scanChange, historyOf, dog.ID)
	var tracked []kept.Walk // id and start only
	listed(t, j, "walks", func(r *sql.Rows, walk *kept.Walk) error {
		err := t.scanWalk(r, keep, walk)
		if walk.Track {
			tracked = append(tracked, kept.Walk{ID: walk.ID})
		}
		return err
	}, walksOf, dog.ID)
	listed(t, j, "encounters", scanEncounter, encountersOf, dog.ID)
	j.begin("tracks", '{')
	for i := range tracked {
		points, err := t.track(tracked[i].ID)
		stamps := make([]kept.Stamp, len(points))
		for k, p := range points {
			stamps[k] = kept.Stamp(p)
		}
		j.fail(err)
		j.put(tracked[i].ID, stamps)
	}
	j.end('}')
	listed(t, j, "plans", scanBody[kept.Plan], plansOf, dog.ID)
	listed(t, j, "words", scanBody[kept.Word], wordsOf, dog.ID)
	listed(t, j, "documents", scanDocument, documentColumns+` WHERE account = $1 AND dog = $2 ORDER BY kind, id`, w.Account, dog.ID)
	return j.close()
}

// jsonObject writes an object member by member; the first error stays.
type jsonObject struct {
	out   io.Writer
	comma bool // the next member or element comes after another
	begun bool
	err   error
}

func (j *jsonObject) write(text []byte) {
	if j.err == nil {
		_, j.err = j.out.Write(text)
	}
}

func (j *jsonObject) fail(err error) { j.err = cmp.Or(j.err, err) }

// begin opens a list or an object under a name.
func (j *jsonObject) begin(name string, bracket byte) {
	if !j.begun {
		j.write([]byte{'{'})
		j.begun = true
	}
	j.next()
	key, err := json.Marshal(name)
	j.fail(err)
	j.write(append(key, ':'))
	if bracket != 0 {
		j.write([]byte{bracket})
		j.comma = false
	}
}

func (j *jsonObject) end(bracket byte) {
	j.write([]byte{bracket})
	j.comma = true
}

func (j *jsonObject) next() {
	if j.comma {
		j.write([]byte{','})
	}
	j.comma = true
}

func (j *jsonObject) value(v any) {
	text, err := json.Marshal(v)
	j.fail(err)
	j.write(text)
}

func (j *jsonObject) put(name string, v any) {
	j.begin(name, 0)
	j.value(v)
}

func (j *jsonObject) close() error {
	j.write([]byte("}\n"))
	return j.err
}

// listed writes the rows of a query as a list.
func listed[T any](t *tx, j *jsonObject, name string, scan func(*sql.Rows, *T) error, query string, args ...any) {
	j.begin(name, '[')
	j.fail(each(t, scan, func(v *T) error {
		j.next()
		j.value(v)
		return j.err
	}, query, args...))
	j.end(']')
}

// exportCSV writes the encounters as a table (RFC 4180) with a header. A cell that a
// spreadsheet would take for a formula begins with an apostrophe.
func (t *tx) exportCSV(dogID string, w io.Writer) error {
	out := csv.NewWriter(w)
	if err := out.Write([]string{"id", "walk", "at", "kind", "nearest", "distance_m", "to_m", "noticed_m", "duration_s",
		"food", "turned_back", "over", "sudden", "lat", "lon", "note"}); err != nil {
		return err
	}
	err := each(t, scanEncounter, func(x *kept.Encounter) error {
		return out.Write([]string{x.ID, plainCell(x.Walk), x.At.Format(time.RFC3339), x.Kind, x.Nearest, number(x.DistanceM), number(x.ToM), number(x.NoticedM),
			number(x.DurationS), x.Food, strconv.FormatBool(x.TurnedBack), x.Over, strconv.FormatBool(x.Sudden), number(x.Lat), number(x.Lon), plainCell(x.Note)})
	}, encountersOf, dogID)
	out.Flush()
	return cmp.Or(err, out.Error())
}

// plainCell is a text in one line that no spreadsheet works out: neither behind
// spaces, nor with the signs of full width that some read like the plain ones.
func plainCell(text string) string {
	text = strings.Join(strings.FieldsFunc(text, func(r rune) bool {
		return r == '\n' || r == '\r' || r == '\v' || r == '\f' || r == '\u0085' || r == '\u2028' || r == '\u2029'
	}), " ")
	if first := strings.TrimSpace(text); first != "" && strings.ContainsAny(string([]rune(first)[0]), "=+-@|%\uff1d\uff0b\uff0d\uff20") || strings.HasPrefix(text, "\t") {
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

// gpxPoint is a wpt or trkpt of GPX 1.1.
type gpxPoint struct {
	XMLName xml.Name
	Lat     float64 `xml:"lat,attr"`
	Lon     float64 `xml:"lon,attr"`
	Time    string  `xml:"time,omitempty"`
	Name    string  `xml:"name,omitempty"`
}

// exportGPX writes the tracks as GPX 1.1, one trk a walk, and the encounters with a
// place as waypoints.
func (t *tx) exportGPX(w Who, dog *kept.Dog, out io.Writer) error {
	keep, err := t.keepSince(w.Account)
	if err != nil {
		return err
	}
	if _, err := io.WriteString(out, xml.Header+`<gpx xmlns="http://www.topografix.com/GPX/1/1" version="1.1" creator="Wideberth">`); err != nil {
		return err
	}
	enc := xml.NewEncoder(out)
	err = each(t, scanEncounter, func(x *kept.Encounter) error {
		if x.Lat == nil {
			return nil
		}
		return enc.Encode(gpxPoint{xml.Name{Local: "wpt"}, *x.Lat, *x.Lon, stamp(x.At), x.Kind})
	}, encountersOf, dog.ID)
	if err != nil {
		return err
	}
	var tracked []kept.Walk // id and start only
	err = each(t, func(r *sql.Rows, walk *kept.Walk) error { return t.scanWalk(r, keep, walk) }, func(walk *kept.Walk) error {
		if walk.Track {
			tracked = append(tracked, kept.Walk{ID: walk.ID, WalkInput: kept.WalkInput{Started: walk.Started}})
		}
		return nil
	}, walksOf, dog.ID)
	for i := 0; i < len(tracked) && err == nil; i++ {
		err = t.exportTrack(enc, dog.Profile.Name+" "+stamp(tracked[i].Started), tracked[i].ID)
	}
	if err == nil {
		_, err = io.WriteString(out, "</gpx>\n")
	}
	return err
}

func (t *tx) exportTrack(enc *xml.Encoder, name, walkID string) error {
	points, err := t.track(walkID)
	if err != nil {
		return err
	}
	trk := struct {
		XMLName xml.Name   `xml:"trk"`
		Name    string     `xml:"name"`
		Points  []gpxPoint `xml:"trkseg>trkpt"`
	}{Name: name, Points: make([]gpxPoint, len(points))}
	for i, p := range points {
		trk.Points[i] = gpxPoint{xml.Name{Local: "trkpt"}, p.Lat, p.Lon, stamp(p.At), ""}
	}
	return enc.Encode(trk)
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
	if err := w.may(kept.Trainer); err != nil {
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
		if t.Postgres { // documents that are being written and name it come first, later ones find it gone
			if err := t.Do(`SELECT 1 FROM dog WHERE id = $1 FOR UPDATE`, dogID); err != nil {
				return err
			}
		}
		if err := t.Do(`DELETE FROM document WHERE account = $1 AND EXISTS (SELECT 1 FROM named n
			WHERE n.dog = $2 AND n.account = document.account AND n.kind = document.kind AND n.id = document.id)`, w.Account, dogID); err != nil {
			return err
		}
		t.teaches = w.Account // its walks go with it
		return t.Must(`DELETE FROM dog WHERE id = $1`, dogID)
	})
}

// DeleteAccount deletes an account with everything in it, for good; for keepers.
// name must be the account's. It is gone from the next backup on.
func (s *Store) DeleteAccount(ctx context.Context, w Who, name string) error {
	if err := w.may(kept.Keeper); err != nil {
		return err
	}
	return s.erase(ctx, func(t *tx) error {
		n, err := t.Changed(`DELETE FROM account WHERE id = $1 AND name = $2`, w.Account, name)
		if err == nil && n == 0 {
			err = conflict("give the account's name to delete it")
		}
		if err != nil {
			return err
		}
		return t.Do(`DELETE FROM taught WHERE account = $1`, w.Account)
	})
}

// erase runs f in a transaction and leaves nothing of what it deleted.
func (s *Store) erase(ctx context.Context, f func(t *tx) error) error {
	if err := s.update(ctx, f); err != nil {
		return err
	}
	return s.scrub(ctx)
}
