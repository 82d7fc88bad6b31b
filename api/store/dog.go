package store

import (
	"context"
	"database/sql"
	"fmt"
	"maps"
	"slices"
	"time"

	"wideberth/exposure"
	"wideberth/osmdata/fault"
)

// Profile is what people say of a dog.
type Profile struct {
	Name     string                        `json:"name" maxLength:"80" example:"Fern"`
	SpeedMPS *float64                      `json:"speed_mps,omitempty" doc:"Usual walking pace in m/s; 1.2 if left out." example:"1.1"`
	Needs    map[string]*exposure.NeedFile `json:"needs,omitempty" doc:"Distances by kind or category, in metres; null for one that the dog is calm about."`
	Intake   map[string]Answers            `json:"intake,omitempty" doc:"Plain answers by kind or category, from which distances are derived; needs go first."`
	Drive    string                        `json:"drive,omitempty" enum:"fear,frustration,excitement,unknown" doc:"What drives it: for the advice only, not for the figures."`
	Food     string                        `json:"food,omitempty" maxLength:"200" doc:"What it works for." example:"cheese"`
	RewardS  float64                       `json:"reward_interval_s,omitempty" minimum:"0" maximum:"60" doc:"Seconds between pieces of food while a trigger lasts; 2 to 4 is common practice." example:"3"`
	Cautions exposure.Cautions             `json:"cautions,omitempty"`
}

// Distance is what the program holds for a kind or category of a dog.
type Distance struct {
	Calm bool `json:"calm,omitempty" doc:"The dog does not react to it."`
	exposure.Need
	From  string    `json:"from" enum:"said,intake,unknown,learnt" doc:"Where it comes from; unknown is the stated wide default."`
	Since time.Time `json:"since"`
	Prior Prior     `json:"prior" doc:"What was said before any walk: what learning starts from."`
}

// Dog is a dog as it is kept.
type Dog struct {
	ID        string              `json:"id"`
	Version   int64               `json:"version" doc:"Goes up with each change; send it back to change the dog."`
	Created   time.Time           `json:"created"`
	Updated   time.Time           `json:"updated"`
	Profile   Profile             `json:"profile"`
	Distances map[string]Distance `json:"distances" doc:"By kind or category: what plans use now."`
	Flag      *Flag               `json:"flag,omitempty" doc:"It snapped or bit on a walk; a trainer lifts it."`
	Lifted    *time.Time          `json:"flag_lifted,omitempty" doc:"What was logged before this moment raises no flag."`
}

// Flag says that a dog snapped or bit at a meeting. Until a trainer lifts it, it counts
// as a bite history and nothing nearer is proposed.
type Flag struct {
	Over      string    `json:"over" enum:"snap,bite"`
	At        time.Time `json:"at"`
	Encounter string    `json:"encounter" doc:"The meeting."`
}

// Harm tells outcomes that flag a dog.
func Harm(over string) bool { return over == "snap" || over == "bite" }

// BiteHistory says whether the rules of a dog that has bitten hold for it.
func (d *Dog) BiteHistory() bool { return d.Profile.Cautions.BiteHistory || d.Flag != nil }

// Bounds of texts and intervals of a profile.
const (
	mostFood    = 200
	mostMedical = 500
	mostRewardS = 60
)

var drives = []string{"", "fear", "frustration", "excitement", "unknown"}

// Problems names what cannot be stored of a profile; its name, pace, needs and intake
// are the concern of whoever derives distances from them.
func (p *Profile) Problems() (wrong fault.Problems) {
	if !slices.Contains(drives, p.Drive) {
		wrong = append(wrong, fault.Problem{Pointer: "/drive", Value: p.Drive, Mend: "give fear, frustration, excitement or unknown"})
	}
	if !(p.RewardS >= 0 && p.RewardS <= mostRewardS) {
		wrong = append(wrong, fault.Problem{Pointer: "/reward_interval_s", Value: fmt.Sprint(p.RewardS), Mend: fmt.Sprintf("give seconds up to %d, or leave it out", mostRewardS)})
	}
	wrong = append(wrong, checkText("/food", p.Food, mostFood, false)...)
	return append(wrong, checkText("/cautions/medical", p.Cautions.Medical, mostMedical, false)...)
}

// Model is the dog as the exposure model wants it.
func (d *Dog) Model() *exposure.Dog {
	out := &exposure.Dog{Name: d.Profile.Name, ByCategory: map[exposure.Category]exposure.Need{}, ByKind: map[exposure.Kind]exposure.Need{}, AssumedR: map[string]struct{}{}}
	if d.Profile.SpeedMPS != nil {
		out.SpeedMPS = *d.Profile.SpeedMPS
	}
	out.Food, out.Cautions = d.Profile.Food, d.Profile.Cautions
	out.Cautions.BiteHistory = d.BiteHistory()
	for name, x := range d.Distances {
		if k, err := exposure.ParseKind(name); err == nil {
			out.ByKind[k] = x.Need
		} else if c, err := exposure.ParseCategory(name); err == nil {
			out.ByCategory[c] = x.Need
		}
		if said := d.Profile.Needs[name]; x.From == "said" && said != nil && said.ReactionM == nil {
			out.AssumedR[name] = struct{}{}
		}
	}
	return out
}

// Of gives the distance that counts for a kind or category and the name that it
// stands under: the kind's own, else its category's. False if the dog has none.
func (d *Dog) Of(name string) (Distance, string, bool) { return exposure.Inherited(d.Distances, name) }

// AddDog adds a dog to the account with the distances that follow from its profile;
// for trainers.
func (s *Store) AddDog(ctx context.Context, w Who, p Profile, said map[string]Distance) (d Dog, err error) {
	if err := w.may(Trainer); err != nil {
		return d, err
	}
	if err := p.check(said); err != nil {
		return d, err
	}
	err = s.update(ctx, func(t *tx) error {
		if err := t.lock(w.Account); err != nil {
			return err
		}
		if err := t.room(mostDogs, "dogs", "account", "delete one first", `SELECT 1 FROM dog WHERE account = $1`, w.Account); err != nil {
			return err
		}
		d = Dog{Version: 1, Created: t.now, Updated: t.now, Profile: p, Distances: since(said, t.now)}
		if d.ID, err = s.newID(); err != nil {
			return err
		}
		body, err := encode(d)
		if err != nil {
			return err
		}
		return t.do(`INSERT INTO dog (id, account, version, body, created, updated) VALUES ($1, $2, $3, $4, $5, $5)`, d.ID, w.Account, d.Version, body, moment(t.now))
	})
	return d, err
}

// check says what cannot be stored of a profile with the distances that follow from
// it. One without any would be a dog that reacts to nothing.
func (p *Profile) check(said map[string]Distance) error {
	wrong := append(checkText("/name", p.Name, mostName, true), p.Problems()...)
	if len(said) == 0 {
		wrong = append(wrong, fault.Problem{Pointer: "/needs", Mend: "empty: say something of at least one kind or category"})
	}
	return problems(wrong)
}

// since dates distances that are held from now on.
func since(said map[string]Distance, now time.Time) map[string]Distance {
	out := make(map[string]Distance, len(said))
	for name, x := range said {
		x.Since = now
		out[name] = x
	}
	return out
}

// SetDog replaces what is said of a dog; for trainers. said are the distances that
// follow from it. version is the one that
// was changed: ErrConflict if the dog has another meanwhile. Distances of kinds
// of which the same is said as before stay as they were learnt, also those of kinds
// that inherit from a category; others are noted in the history.
func (s *Store) SetDog(ctx context.Context, w Who, id string, version int64, p Profile, said map[string]Distance) (d Dog, err error) {
	if err := w.may(Trainer); err != nil {
		return d, err
	}
	if err := p.check(said); err != nil {
		return d, err
	}
	err = s.update(ctx, func(t *tx) error {
		if d, err = t.hold(w, id); err != nil {
			return err
		}
		if d.Version != version {
			return conflict(fmt.Sprintf("the dog was changed meanwhile (version %d, not %d): look at it again", d.Version, version))
		}
		fresh := since(said, t.now)
		d.carryLearnt(fresh)
		if err := t.noteSaid(w, &d, fresh); err != nil {
			return err
		}
		d.Profile, d.Distances = p, fresh
		return t.putDog(&d)
	})
	return d, err
}

// carryLearnt puts into the distances that follow from a new profile those that
// were learnt from what it says too: of names that it names, and of kinds that
// neither profile names, whose category started them.
func (d *Dog) carryLearnt(fresh map[string]Distance) {
	for name, old := range d.Distances {
		x, named := fresh[name]
		if !named && !d.Profile.names(name) {
			if k, err := exposure.ParseKind(name); err == nil {
				x, named = fresh[k.Category().String()]
			}
		}
		if named && old.Calm == x.Calm && old.Prior == x.Prior {
			fresh[name] = old
		}
	}
}

// names says that a profile has a word on a kind or category itself.
func (p *Profile) names(name string) bool {
	_, need := p.Needs[name]
	_, intake := p.Intake[name]
	return need || intake
}

// noteSaid notes what a new profile changes: distances that differ, and those that
// it takes out.
func (t *tx) noteSaid(w Who, d *Dog, fresh map[string]Distance) error {
	after := Dog{Distances: fresh}
	named := maps.Clone(fresh)
	maps.Copy(named, d.Distances)
	for _, name := range slices.Sorted(maps.Keys(named)) {
		old, had := d.Distances[name]
		x, has := fresh[name]
		if had == has && old == x {
			continue
		}
		c := Change{Name: name, Why: "said"}
		c.From, c.Under, _ = d.Of(name)
		c.To, _, _ = after.Of(name)
		if err := t.note(w, d.ID, &c); err != nil {
			return err
		}
	}
	return nil
}

// putDog writes a dog that was read in the same transaction.
func (t *tx) putDog(d *Dog) error {
	was := d.Version
	d.Version, d.Updated = was+1, t.now
	body, err := encode(d)
	if err != nil {
		return err
	}
	n, err := t.changed(`UPDATE dog SET version = $1, body = $2, updated = $3 WHERE id = $4 AND version = $5`, d.Version, body, moment(t.now), d.ID, was)
	if err == nil && n == 0 {
		err = ErrConflict
	}
	return err
}

// dog reads a dog that the person may see.
func (t *tx) dog(w Who, id string) (d Dog, err error) {
	var body string
	query := `SELECT body FROM dog WHERE id = $1 AND account = $2`
	args := []any{id, w.Account}
	if w.Role == Handler {
		query += ` AND id IN (SELECT dog FROM given WHERE person = $3)`
		args = append(args, w.Person)
	}
	if err := t.row(query, args, &body); err != nil {
		return d, err
	}
	return d, decode(body, &d)
}

// hold reads a dog like dog, and keeps other transactions that hold it waiting
// until this one ends: what is counted from several rows of a dog must not be
// counted by two at a time. SQLite has one writer anyway.
func (t *tx) hold(w Who, id string) (Dog, error) {
	if t.s.postgres {
		if err := t.do(`SELECT 1 FROM dog WHERE id = $1 AND account = $2 FOR NO KEY UPDATE`, id, w.Account); err != nil {
			return Dog{}, err
		}
	}
	return t.dog(w, id)
}

// holdOf is hold for the dog of a row in a table of this package.
func (t *tx) holdOf(w Who, table, id string) (d Dog, err error) {
	var dog string
	if err := t.row(`SELECT dog FROM `+table+` WHERE id = $1`, []any{id}, &dog); err != nil {
		return d, err
	}
	return t.hold(w, dog)
}

// Dog gives a dog of the account; a handler's only if they are given it.
func (s *Store) Dog(ctx context.Context, w Who, id string) (d Dog, err error) {
	err = s.view(ctx, func(t *tx) (err error) {
		d, err = t.dog(w, id)
		return err
	})
	return d, err
}

// Dogs lists the dogs that the person may see, oldest first.
func (s *Store) Dogs(ctx context.Context, w Who) (dogs []Dog, err error) {
	query := `SELECT body FROM dog WHERE account = $1`
	args := []any{w.Account}
	if w.Role == Handler {
		query += ` AND id IN (SELECT dog FROM given WHERE person = $2)`
		args = append(args, w.Person)
	}
	err = s.view(ctx, func(t *tx) (err error) {
		dogs, err = all(t, scanBody[Dog], query+` ORDER BY created, id`, args...)
		return err
	})
	return dogs, err
}

// scanBody reads a row that is a body only.
func scanBody[T any](r *sql.Rows, v *T) error {
	var body string
	if err := r.Scan(&body); err != nil {
		return err
	}
	return decode(body, v)
}
