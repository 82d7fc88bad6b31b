package store

import (
	"context"
	"database/sql"
	"fmt"
	"strings"
	"time"
	"unicode/utf8"

	"wideberth/osmdata/fault"
)

// Role is what a person may do.
type Role string

// The roles; each may do what the one before may.
const (
	Handler Role = "handler" // plans, logs and reports for the dogs they are given
	Trainer Role = "trainer" // everything about all dogs and plans
	Keeper  Role = "keeper"  // people, tokens, settings and the account itself too
)

var rank = map[Role]int{Handler: 1, Trainer: 2, Keeper: 3}

// Who is the person that asks. Only Authenticate and Local make one.
type Who struct {
	Account string
	Person  string
	Role    Role
}

// may refuses a person whose role is below the one needed.
func (w Who) may(need Role) error {
	if rank[w.Role] < rank[need] {
		return forbid(need)
	}
	return nil
}

// Settings of an account.
type Settings struct {
	KeepTracksDays int          `json:"keep_tracks_days" minimum:"0" maximum:"3650" doc:"Tracks of walks are deleted after so many days; 0 keeps none." example:"365"`
	HalfLifeDays   int          `json:"half_life_days" minimum:"7" maximum:"730" doc:"A walk counts half after so many days when distances are learnt." example:"60"`
	Units          string       `json:"units" enum:"m,ft" doc:"What distances are shown in; they are kept in metres."`
	Clock          string       `json:"clock" enum:"12,24"`
	TrainingRule   TrainingRule `json:"training_rule,omitzero" doc:"When training moves on; left out: common practice."`

	FreeHours          *FreeHours `json:"free_hours,omitempty" doc:"When its people can go out; left out: 06:00-22:00 in daylight or on lit ways."`
	HandlersSeeOutings bool       `json:"handlers_see_outings,omitempty" doc:"Handlers see timetables whole, with dogs that they are not given. Left out: only those in which all dogs are theirs."`
}

// FreeHours are when people can go out; whether they can be read is not looked at.
type FreeHours struct {
	Spans []string `json:"spans,omitempty" maxItems:"12" doc:"Hours of the clock on the wall." example:"[\"06:30-08:00\",\"17:00-21:30\"]"`
	Unlit bool     `json:"unlit,omitempty" doc:"Also on unlit ways in the dark."`
}

// DefaultSettings are those of a new account.
func DefaultSettings() Settings {
	return Settings{KeepTracksDays: 365, HalfLifeDays: 60, Units: "m", Clock: "24"}
}

// Problems names what cannot be stored; whether the rule can be is not looked at.
func (s Settings) Problems() (wrong fault.Problems) {
	bad := func(field string, value any, mend string) {
		wrong = append(wrong, fault.Problem{Pointer: "/" + field, Value: fmt.Sprint(value), Mend: mend})
	}
	if s.KeepTracksDays < 0 || s.KeepTracksDays > 3650 {
		bad("keep_tracks_days", s.KeepTracksDays, "give 0 to 3650 days")
	}
	if s.HalfLifeDays < 7 || s.HalfLifeDays > 730 {
		bad("half_life_days", s.HalfLifeDays, "give 7 to 730 days")
	}
	if s.Units != "m" && s.Units != "ft" {
		bad("units", s.Units, "give m or ft")
	}
	if s.Clock != "12" && s.Clock != "24" {
		bad("clock", s.Clock, "give 12 or 24")
	}
	return wrong
}

// problems is nil for an empty list, which as an error would not be nil.
func problems(ps fault.Problems) error {
	if len(ps) == 0 {
		return nil
	}
	return ps
}

// mostName is the most characters of any name.
const mostName = 80

// checkText says what is wrong with a short text.
func checkText(pointer, text string, most int, required bool) fault.Problems {
	switch n := utf8.RuneCountInString(text); {
	case required && strings.TrimSpace(text) == "":
		return fault.Problems{{Pointer: pointer, Mend: "missing: give a name"}}
	case n > most:
		return fault.Problems{{Pointer: pointer, Value: fmt.Sprintf("%d characters", n), Mend: fmt.Sprintf("give at most %d", most)}}
	case !utf8.ValidString(text) || strings.ContainsFunc(text, func(r rune) bool { return r < ' ' && r != '\n' || r == 0x7f }):
		return fault.Problems{{Pointer: pointer, Mend: "holds control characters: leave them out"}}
	}
	return nil
}

// LocalAccount is the name of the account that is served without tokens.
const LocalAccount = "local"

// Local is the keeper of the one account that is served on the machine itself
// without asking; it is made at the first call.
func (s *Store) Local(ctx context.Context) (Who, error) {
	find := func(t *tx, w *Who) error {
		return t.row(`SELECT a.id, p.id, p.role FROM account a JOIN person p ON p.account = a.id
			WHERE a.name = $1 AND p.role = 'keeper' ORDER BY p.created, p.id LIMIT 1`, []any{LocalAccount}, &w.Account, &w.Person, &w.Role)
	}
	var w Who
	if err := s.view(ctx, func(t *tx) error { return find(t, &w) }); err == nil {
		return w, nil
	}
	if _, err := s.CreateAccount(ctx, LocalAccount, "me"); err != nil && !isConflict(err) {
		return Who{}, err
	}
	err := s.view(ctx, func(t *tx) error { return find(t, &w) })
	return w, err
}

// CreateAccount makes an account with its first keeper. ErrConflict if the name
// is taken.
func (s *Store) CreateAccount(ctx context.Context, name, keeper string) (Who, error) {
	if ps := append(checkText("/account", name, mostName, true), checkText("/person", keeper, mostName, true)...); len(ps) > 0 {
		return Who{}, ps
	}
	w := Who{Role: Keeper}
	err := s.update(ctx, func(t *tx) (err error) {
		if w.Account, err = s.newID(); err != nil {
			return err
		}
		settings, err := encode(DefaultSettings())
		if err != nil {
			return err
		}
		if err := t.do(`INSERT INTO account (id, name, settings, created) VALUES ($1, $2, $3, $4)`, w.Account, name, settings, moment(t.now)); err != nil {
			return err
		}
		w.Person, err = t.addPerson(w.Account, keeper, Keeper)
		return err
	})
	if isConflict(err) {
		return Who{}, conflict("there is an account of this name: choose another")
	}
	return w, err
}

// KeeperOf is the first keeper of the account with a name. It is for the
// commands of whoever owns the database, not for requests.
func (s *Store) KeeperOf(ctx context.Context, account string) (Who, error) {
	var w Who
	err := s.view(ctx, func(t *tx) error {
		return t.row(`SELECT a.id, p.id, p.role FROM account a JOIN person p ON p.account = a.id
			WHERE a.name = $1 AND p.role = 'keeper' ORDER BY p.created, p.id LIMIT 1`, []any{account}, &w.Account, &w.Person, &w.Role)
	})
	return w, err
}

// Account is what an account is called and how it is set.
type Account struct {
	Name     string   `json:"name"`
	Settings Settings `json:"settings"`
	You      Person   `json:"you" doc:"The person that the token belongs to."`
}

// Account gives the asker's account and who they are.
func (s *Store) Account(ctx context.Context, w Who) (a Account, err error) {
	err = s.view(ctx, func(t *tx) error {
		var body string
		if err := t.row(`SELECT name, settings FROM account WHERE id = $1`, []any{w.Account}, &a.Name, &body); err != nil {
			return err
		}
		if err := decode(body, &a.Settings); err != nil {
			return err
		}
		people, err := t.people(w.Account)
		for _, p := range people {
			if p.ID == w.Person {
				a.You = p
			}
		}
		return err
	})
	return a, err
}

// SetSettings changes the account's settings; for keepers. Tracks that are now
// kept too long are deleted.
func (s *Store) SetSettings(ctx context.Context, w Who, set Settings) error {
	if err := w.may(Keeper); err != nil {
		return err
	}
	if err := problems(set.Problems()); err != nil {
		return err
	}
	body, err := encode(set)
	if err != nil {
		return err
	}
	err = s.update(ctx, func(t *tx) error {
		return t.must(`UPDATE account SET settings = $1 WHERE id = $2`, body, w.Account)
	})
	if err != nil {
		return err
	}
	_, err = s.PurgeTracks(ctx)
	return err
}

func (t *tx) settings(account string) (set Settings, err error) {
	var body string
	if err := t.row(`SELECT settings FROM account WHERE id = $1`, []any{account}, &body); err != nil {
		return set, err
	}
	return set, decode(body, &set)
}

// Person is somebody of an account.
type Person struct {
	ID   string   `json:"id"`
	Name string   `json:"name" example:"Robin"`
	Role Role     `json:"role" enum:"handler,trainer,keeper"`
	Dogs []string `json:"dogs" doc:"Ids of the dogs that a handler is given; trainers and keepers have all."`
	Keys []Token  `json:"keys"`
}

// Token is what is known of a token; the token itself is shown once and kept
// nowhere.
type Token struct {
	ID      string    `json:"id"`
	Label   string    `json:"label" example:"Robin's phone"`
	Created time.Time `json:"created"`
	Expires time.Time `json:"expires"`
	Revoked bool      `json:"revoked"`
	Seen    string    `json:"seen,omitempty" doc:"Day of its last use."`
}

// People lists the people of the account with their dogs and tokens; for keepers.
func (s *Store) People(ctx context.Context, w Who) (people []Person, err error) {
	if err := w.may(Keeper); err != nil {
		return nil, err
	}
	err = s.view(ctx, func(t *tx) (err error) {
		people, err = t.people(w.Account)
		return err
	})
	return people, err
}

func (t *tx) people(account string) ([]Person, error) {
	people, err := all(t, func(r *sql.Rows, p *Person) error {
		p.Dogs, p.Keys = []string{}, []Token{}
		return r.Scan(&p.ID, &p.Name, &p.Role)
	}, `SELECT id, name, role FROM person WHERE account = $1 ORDER BY created, id`, account)
	if err != nil {
		return nil, err
	}
	for i := range people {
		p := &people[i]
		if p.Dogs, err = all(t, func(r *sql.Rows, id *string) error { return r.Scan(id) },
			`SELECT dog FROM given WHERE person = $1 ORDER BY dog`, p.ID); err != nil {
			return nil, err
		}
		if p.Keys, err = all(t, scanToken, `SELECT id, label, created, expires, revoked, seen FROM token WHERE person = $1 ORDER BY created, id`, p.ID); err != nil {
			return nil, err
		}
	}
	return people, nil
}

func scanToken(r *sql.Rows, k *Token) error {
	var created, expires, revoked, seen int64
	if err := r.Scan(&k.ID, &k.Label, &created, &expires, &revoked, &seen); err != nil {
		return err
	}
	k.Created, k.Expires, k.Revoked = ofMoment(created), ofMoment(expires), revoked != 0
	if seen != 0 {
		k.Seen = ofMoment(seen).Format(time.DateOnly)
	}
	return nil
}

// AddPerson adds somebody to the account with, of a handler, the dogs they are
// given; for keepers.
func (s *Store) AddPerson(ctx context.Context, w Who, name string, role Role, dogs []string) (id string, err error) {
	if err := w.may(Keeper); err != nil {
		return "", err
	}
	if err := problems(append(checkText("/name", name, mostName, true), checkRole(role)...)); err != nil {
		return "", err
	}
	err = s.update(ctx, func(t *tx) (err error) {
		if err := t.lock(w.Account); err != nil {
			return err
		}
		if err := t.room(mostPeople, "people", "account", "remove one first", `SELECT 1 FROM person WHERE account = $1`, w.Account); err != nil {
			return err
		}
		if id, err = t.addPerson(w.Account, name, role); err != nil {
			return err
		}
		return t.give(w.Account, id, dogs)
	})
	return id, err
}

func checkRole(r Role) fault.Problems {
	if rank[r] == 0 {
		return fault.Problems{{Pointer: "/role", Value: string(r), Mend: "give handler, trainer or keeper"}}
	}
	return nil
}

func (t *tx) addPerson(account, name string, role Role) (string, error) {
	id, err := t.s.newID()
	if err != nil {
		return "", err
	}
	return id, t.do(`INSERT INTO person (id, account, name, role, created) VALUES ($1, $2, $3, $4, $5)`, id, account, name, string(role), moment(t.now))
}

// SetPerson changes a person's name, role and, of a handler, the dogs they are
// given; for keepers. The last keeper stays one.
func (s *Store) SetPerson(ctx context.Context, w Who, id, name string, role Role, dogs []string) error {
	if err := w.may(Keeper); err != nil {
		return err
	}
	if err := problems(append(checkText("/name", name, mostName, true), checkRole(role)...)); err != nil {
		return err
	}
	return s.update(ctx, func(t *tx) error {
		if err := t.must(`UPDATE person SET name = $1, role = $2 WHERE id = $3 AND account = $4`, name, string(role), id, w.Account); err != nil {
			return err
		}
		if err := t.do(`DELETE FROM given WHERE person = $1`, id); err != nil {
			return err
		}
		if err := t.give(w.Account, id, dogs); err != nil {
			return err
		}
		return t.keeperLeft(w.Account)
	})
}

// give lets a person see dogs of the account.
func (t *tx) give(account, person string, dogs []string) error {
	for i, dog := range dogs {
		n, err := t.changed(`INSERT INTO given (person, dog) SELECT $1, id FROM dog WHERE id = $2 AND account = $3 ON CONFLICT DO NOTHING`, person, dog, account)
		if err != nil {
			return err
		}
		if n == 0 {
			return fault.Problems{{Pointer: fmt.Sprintf("/dogs/%d", i), Value: dog, Mend: "give the id of a dog of this account, each once"}}
		}
	}
	return nil
}

// RemovePerson removes somebody and their tokens; for keepers. What they logged
// stays, without their name. The last keeper stays.
func (s *Store) RemovePerson(ctx context.Context, w Who, id string) error {
	if err := w.may(Keeper); err != nil {
		return err
	}
	return s.update(ctx, func(t *tx) error {
		if err := t.must(`DELETE FROM person WHERE id = $1 AND account = $2`, id, w.Account); err != nil {
			return err
		}
		t.teaches = w.Account // what they said of sources goes with them
		return t.keeperLeft(w.Account)
	})
}

// keeperLeft refuses to leave an account without a keeper.
func (t *tx) keeperLeft(account string) error {
	var n int
	if err := t.row(`SELECT count(*) FROM person WHERE account = $1 AND role = 'keeper'`, []any{account}, &n); err != nil {
		return err
	}
	if n == 0 {
		return conflict("the account needs a keeper: make somebody else one first")
	}
	return nil
}
