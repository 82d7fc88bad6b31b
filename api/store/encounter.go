package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"slices"
	"time"

	"wideberth/exposure"
	"wideberth/osmdata/fault"
)

// EncounterInput is what a client sends of one meeting. Only at is required: one
// without a kind is a draft, to be filled in later.
type EncounterInput struct {
	Key        string    `json:"key,omitempty" maxLength:"80" doc:"Chosen by the client: what is sent twice under one key is stored once. The header Idempotency-Key does the same." example:"phone-7/0042"`
	Walk       string    `json:"walk,omitempty" maxLength:"80" doc:"Key or id of its walk, which may arrive later." example:"phone-7/2026-11-25T07:10"`
	Kind       string    `json:"kind,omitempty" doc:"Kind, or category if no more is known; left out: a draft." example:"dog_on_lead"`
	At         time.Time `json:"at" example:"2026-11-25T07:27:00-05:00"`
	Lat        *float64  `json:"lat,omitempty" minimum:"-90" maximum:"90"`
	Lon        *float64  `json:"lon,omitempty" minimum:"-180" maximum:"180"`
	Leg        *int      `json:"leg,omitempty" minimum:"0" maximum:"999" doc:"Leg of the plan, from 0, where no place is known."`
	NoticedM   *float64  `json:"noticed_m,omitempty" doc:"Distance in metres when the dog first noticed."`
	Nearest    string    `json:"nearest,omitempty" enum:"exact,about,nearer_than,farther_than,between" doc:"How distance_m is meant; left out with it: nobody knows."`
	DistanceM  *float64  `json:"distance_m,omitempty" doc:"Nearest distance in metres. Left out with about, nearer_than or farther_than: the dog's working distance." example:"24"`
	ToM        *float64  `json:"to_m,omitempty" doc:"Upper end of between."`
	DurationS  *float64  `json:"duration_s,omitempty" minimum:"0" maximum:"7200"`
	Food       string    `json:"food,omitempty" enum:"taken,refused"`
	TurnedBack bool      `json:"turned_back,omitempty" doc:"Turned back to the handler unprompted."`
	Over       string    `json:"over,omitempty" enum:"bark,lunge,freeze,snap,bite,other" doc:"Went over threshold, and how; left out: it did not. A snap or a bite flags the dog: nothing nearer is proposed until a trainer lifts that."`
	Sudden     bool      `json:"sudden,omitempty" doc:"Appeared without warning."`
	Note       string    `json:"note,omitempty" maxLength:"1000"`
}

// Encounter is a meeting as it is kept.
type Encounter struct {
	ID     string `json:"id"`
	Dog    string `json:"dog"`
	Person string `json:"person,omitempty"`
	EncounterInput
	Place   string    `json:"place_kind,omitempty" doc:"Kind of place, from the map."`
	Created time.Time `json:"created"`
	Removed bool      `json:"removed,omitempty" doc:"It was taken back; nothing but its key is kept."`
}

var (
	nearestWords = []string{"", "exact", "about", "nearer_than", "farther_than", "between"}
	foodWords    = []string{"", "taken", "refused"}
	overWords    = []string{"", "bark", "lunge", "freeze", "snap", "bite", "other"}
)

const mostDurationS = 7200

func (in *EncounterInput) check(now time.Time) error {
	wrong := checkText("/key", in.Key, mostKey, false)
	wrong = append(wrong, checkText("/walk", in.Walk, mostKey, false)...)
	wrong = append(wrong, checkText("/note", in.Note, mostNote, false)...)
	wrong = append(wrong, checkMoment("/at", in.At)...)
	wrong = append(wrong, checkKind("/kind", in.Kind)...)
	wrong = append(wrong, checkPlace(in.Lat, in.Lon)...)
	for _, f := range []struct {
		name, value string
		words       []string
	}{{"nearest", in.Nearest, nearestWords}, {"food", in.Food, foodWords}, {"over", in.Over, overWords}} {
		if !slices.Contains(f.words, f.value) {
			wrong = append(wrong, fault.Problem{Pointer: "/" + f.name, Value: f.value, Mend: fmt.Sprintf("give one of %q, or leave it out", f.words[1:])})
		}
	}
	for _, f := range []struct {
		name string
		m    *float64
	}{{"noticed_m", in.NoticedM}, {"distance_m", in.DistanceM}, {"to_m", in.ToM}} {
		if f.m != nil && !(*f.m > 0 && *f.m <= exposure.MostMetM) {
			wrong = append(wrong, fault.Problem{Pointer: "/" + f.name, Value: fmt.Sprintf("%g", *f.m), Mend: fmt.Sprintf("give metres above 0 and at most %g", exposure.MostMetM)})
		}
	}
	if in.DurationS != nil && !(*in.DurationS >= 0 && *in.DurationS <= mostDurationS) {
		wrong = append(wrong, fault.Problem{Pointer: "/duration_s", Value: fmt.Sprintf("%g", *in.DurationS), Mend: fmt.Sprintf("give seconds up to %d", mostDurationS)})
	}
	if wrong = append(wrong, in.checkNearest()...); len(wrong) > 0 {
		return wrong
	}
	return checkAhead(in.At, now)
}

// checkNearest holds the fields of the nearest distance against each other.
func (in *EncounterInput) checkNearest() fault.Problems {
	bad := func(field, mend string) fault.Problems {
		return fault.Problems{{Pointer: "/" + field, Mend: mend}}
	}
	switch {
	case in.Nearest == "" && in.DistanceM != nil:
		return bad("nearest", "missing: say how distance_m is meant, like exact or about")
	case in.Nearest == "exact" && in.DistanceM == nil:
		return bad("distance_m", "missing: an exact distance needs its metres; if nobody measured, use about, nearer_than or farther_than")
	case in.Nearest == "between" && (in.DistanceM == nil || in.ToM == nil):
		return bad("to_m", "missing: between needs distance_m and to_m")
	case in.Nearest == "between" && *in.ToM <= *in.DistanceM:
		return bad("to_m", "must be more than distance_m")
	case in.Nearest != "between" && in.ToM != nil:
		return bad("to_m", "goes with between only")
	case in.NoticedM != nil && in.Nearest == "exact" && *in.NoticedM < *in.DistanceM:
		return bad("noticed_m", "must be at least distance_m: it cannot come nearer than it did")
	}
	return nil
}

// checkKind accepts a kind, a category, or nothing.
func checkKind(pointer, name string) fault.Problems {
	if name == "" {
		return nil
	}
	if _, err := exposure.ParseCategory(name); err == nil {
		return nil
	}
	if _, err := exposure.ParseKind(name); err != nil {
		return fault.Problems{{Pointer: pointer, Value: name, Mend: err.Error()}}
	}
	return nil
}

// checkPlace accepts a place in degrees, or none.
func checkPlace(lat, lon *float64) fault.Problems {
	switch {
	case lat == nil && lon == nil:
		return nil
	case lat == nil || lon == nil:
		return fault.Problems{{Pointer: "/lat", Mend: "give both lat and lon, or neither"}}
	case !(*lat >= -90 && *lat <= 90):
		return fault.Problems{{Pointer: "/lat", Value: fmt.Sprintf("%g", *lat), Mend: "give -90 to 90 degrees"}}
	case !(*lon >= -180 && *lon <= 180):
		return fault.Problems{{Pointer: "/lon", Value: fmt.Sprintf("%g", *lon), Mend: "give -180 to 180 degrees"}}
	}
	return nil
}

// fill puts in the dog's working distance where a distance is told relative to
// it, so that a later change of the dog does not change what was seen.
func (in *EncounterInput) fill(d *Dog) error {
	if in.Nearest == "" || in.DistanceM != nil {
		return nil
	}
	x, _, ok := d.Of(in.Kind)
	if !ok || x.Calm || x.WorkingM > exposure.MostMetM {
		return fault.Problems{{Pointer: "/distance_m", Mend: "missing: the dog has no working distance for this kind that it could stand for"}}
	}
	in.DistanceM = &x.WorkingM
	return nil
}

// AddEncounter logs a meeting of a dog. place is the kind of place, "" if not
// known. The second result is false for a repetition, which changes nothing and
// does not bring back what was taken away; other contents under the same key are
// ErrConflict.
func (s *Store) AddEncounter(ctx context.Context, w Who, dogID string, in EncounterInput, place string) (e Encounter, fresh bool, err error) {
	digest, err := printOf(in)
	if err != nil {
		return e, false, err
	}
	err = s.update(ctx, func(t *tx) error {
		dog, err := t.hold(w, dogID)
		if err != nil {
			return err
		}
		if id, err := t.repeated("encounter", dogID, in.Key, digest); err != nil || id != "" {
			if err == nil {
				e, err = t.encounter(w, id)
			}
			return err
		}
		if err := t.room(mostEncounters, "meetings", "dog", "delete walks that are long past first", `SELECT 1 FROM encounter WHERE dog = $1`, dogID); err != nil {
			return err
		}
		if e, err = t.newEncounter(w, &dog, in, place); err != nil {
			return err
		}
		body, err := encode(e)
		if err != nil {
			return err
		}
		fresh = true
		if err := t.do(`INSERT INTO encounter (id, dog, key, print, walk, person, at, body, created) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)`,
			e.ID, dogID, e.Key, digest, e.Walk, w.Person, moment(e.At), body, moment(t.now)); err != nil {
			return err
		}
		return errors.Join(t.reflag(&dog, "", e.Over), t.retallyKey(w, dogID, e.Walk))
	})
	return e, fresh, err
}

// newEncounter checks what was sent and makes a meeting of it.
func (t *tx) newEncounter(w Who, dog *Dog, in EncounterInput, place string) (e Encounter, err error) {
	if err := in.check(t.now); err != nil {
		return e, err
	}
	if err := in.fill(dog); err != nil {
		return e, err
	}
	e = Encounter{Dog: dog.ID, Person: w.Person, EncounterInput: in, Place: place, Created: t.now}
	if e.ID, err = t.s.newID(); err != nil {
		return e, err
	}
	if e.Key == "" {
		e.Key = e.ID
	}
	e.Walk, err = t.walkKey(dog.ID, in.Walk)
	return e, err
}

// walkKey turns a walk's id into its key; a key stays as it is, known or not.
func (t *tx) walkKey(dogID, walk string) (string, error) {
	key := walk
	err := t.row(`SELECT key FROM walk WHERE id = $1 AND dog = $2`, []any{walk, dogID}, &key)
	if errors.Is(err, sql.ErrNoRows) {
		err = nil
	}
	return key, err
}

// SetEncounter changes a meeting.
func (s *Store) SetEncounter(ctx context.Context, w Who, id string, in EncounterInput, place string) (e Encounter, err error) {
	err = s.update(ctx, func(t *tx) error {
		dog, err := t.holdOf(w, "encounter", id)
		if err != nil {
			return err
		}
		old, err := t.encounter(w, id)
		if err != nil {
			return err
		}
		if old.Removed {
			return ErrNotFound
		}
		in.Key = old.Key
		if e, err = t.newEncounter(w, &dog, in, place); err != nil {
			return err
		}
		e.ID, e.Created, e.Person = old.ID, old.Created, old.Person
		body, err := encode(e)
		if err != nil {
			return err
		}
		if err := t.must(`UPDATE encounter SET walk = $1, at = $2, body = $3 WHERE id = $4`, e.Walk, moment(e.At), body, id); err != nil {
			return err
		}
		return errors.Join(t.reflag(&dog, old.Over, e.Over), t.retallyKey(w, e.Dog, old.Walk), t.retallyKey(w, e.Dog, e.Walk))
	})
	return e, err
}

// RemoveEncounter takes a meeting back. Its key stays, so that a repetition that
// is still on its way does not bring it back.
func (s *Store) RemoveEncounter(ctx context.Context, w Who, id string) error {
	return s.update(ctx, func(t *tx) error {
		dog, err := t.holdOf(w, "encounter", id)
		if err != nil {
			return err
		}
		e, err := t.encounter(w, id)
		if err != nil {
			return err
		}
		if e.Removed {
			return nil
		}
		gone := Encounter{ID: e.ID, Dog: e.Dog, EncounterInput: EncounterInput{Key: e.Key}, Created: e.Created, Removed: true}
		body, err := encode(gone)
		if err != nil {
			return err
		}
		if err := t.must(`UPDATE encounter SET removed = $1, walk = '', at = 0, body = $2 WHERE id = $3`, moment(t.now), body, id); err != nil {
			return err
		}
		return errors.Join(t.reflag(&dog, e.Over, ""), t.retallyKey(w, e.Dog, e.Walk))
	})
}

func scanEncounter(r *sql.Rows, e *Encounter) error {
	var (
		person sql.NullString
		body   string
	)
	if err := r.Scan(&person, &body); err != nil {
		return err
	}
	err := decode(body, e)
	e.Person = person.String
	return err
}

// encounter reads a meeting of a dog that the person may see.
func (t *tx) encounter(w Who, id string) (e Encounter, err error) {
	found, err := all(t, scanEncounter, `SELECT person, body FROM encounter WHERE id = $1`, id)
	if err != nil {
		return e, err
	}
	if len(found) == 0 {
		return e, ErrNotFound
	}
	_, err = t.dog(w, found[0].Dog)
	return found[0], err
}

// Encounters lists a dog's meetings since a moment (zero for all), oldest first;
// of one walk if walk is its key or id.
func (s *Store) Encounters(ctx context.Context, w Who, dogID, walk string, since time.Time) (list []Encounter, err error) {
	err = s.view(ctx, func(t *tx) error {
		if _, err := t.dog(w, dogID); err != nil {
			return err
		}
		key, err := t.walkKey(dogID, walk)
		if err != nil {
			return err
		}
		list, err = t.encounters(dogID, key, since)
		return err
	})
	return list, err
}

// Logged gives a dog with its meetings since a moment, oldest first, from one state of
// the database.
func (s *Store) Logged(ctx context.Context, w Who, dogID string, since time.Time) (d Dog, met []Encounter, err error) {
	err = s.view(ctx, func(t *tx) error {
		if d, err = t.dog(w, dogID); err != nil {
			return err
		}
		met, err = t.encounters(dogID, "", since)
		return err
	})
	return d, met, err
}

func (t *tx) encounters(dogID, walkKey string, since time.Time) ([]Encounter, error) {
	query := `SELECT person, body FROM encounter WHERE dog = $1 AND removed = 0 AND at >= $2`
	args := []any{dogID, moment(since)}
	if walkKey != "" {
		query += ` AND walk = $3`
		args = append(args, walkKey)
	}
	return all(t, scanEncounter, query+` ORDER BY at, id`, args...)
}
