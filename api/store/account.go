package store

import (
	"context"
	"database/sql"
	"fmt"
	"time"

	"wideberth/api/wire/kept"
	"wideberth/osmdata/fault"
)

var rank = map[kept.Role]int{kept.Handler: 1, kept.Trainer: 2, kept.Keeper: 3}

// Who is the person that asks. Only Authenticate and Local make one.
type Who struct {
	Account string
	Person  string
	Role    kept.Role
}

// may refuses a person whose role is below the one needed.
func (w Who) may(need kept.Role) error {
	if rank[w.Role] < rank[need] {
		return forbid(need)
	}
	return nil
}

// LocalAccount is the name of the account that is served without tokens.
const LocalAccount = "local"

// Local is the keeper of the one account that is served on the machine itself
// without asking; it is made at the first call.
func (s *Store) Local(ctx context.Context) (Who, error) {
	find := func(t *tx, w *Who) error {
		return t.Row(`SELECT a.id, p.id, p.role FROM account a JOIN person p ON p.account = a.id
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
	if ps := append(kept.CheckName("/account", name, true), kept.CheckName("/person", keeper, true)...); len(ps) > 0 {
		return Who{}, ps
	}
	w := Who{Role: kept.Keeper}
	err := s.update(ctx, func(t *tx) (err error) {
		if w.Account, err = s.newID(); err != nil {
			return err
		}
		settings, err := encode(kept.DefaultSettings())
		if err != nil {
			return err
		}
		if err := t.Do(`INSERT INTO account (id, name, settings, created) VALUES ($1, $2, $3, $4)`, w.Account, name, settings, moment(t.Now)); err != nil {
			return err
		}
		w.Person, err = t.addPerson(w.Account, keeper, kept.Keeper)
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
		return t.Row(`SELECT a.id, p.id, p.role FROM account a JOIN person p ON p.account = a.id
			WHERE a.name = $1 AND p.role = 'keeper' ORDER BY p.created, p.id LIMIT 1`, []any{account}, &w.Account, &w.Person, &w.Role)
	})
	return w, err
}

// Account gives the asker's account and who they are.
func (s *Store) Account(ctx context.Context, w Who) (a kept.Account, err error) {
	err = s.view(ctx, func(t *tx) error {
		var body string
		if err := t.Row(`SELECT name, settings FROM account WHERE id = $1`, []any{w.Account}, &a.Name, &body); err != nil {
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
func (s *Store) SetSettings(ctx context.Context, w Who, set kept.Settings) error {
	if err := w.may(kept.Keeper); err != nil {
		return err
	}
	if err := set.Problems().Err(); err != nil {
		return err
	}
	body, err := encode(set)
	if err != nil {
		return err
	}
	err = s.update(ctx, func(t *tx) error {
		return t.Must(`UPDATE account SET settings = $1 WHERE id = $2`, body, w.Account)
	})
	if err != nil {
		return err
	}
	_, err = s.PurgeTracks(ctx)
	return err
}

func (t *tx) settings(account string) (set kept.Settings, err error) {
	var body string
	if err := t.Row(`SELECT settings FROM account WHERE id = $1`, []any{account}, &body); err != nil {
		return set, err
	}
	return set, decode(body, &set)
}

// People lists the people of the account with their dogs and tokens; for keepers.
func (s *Store) People(ctx context.Context, w Who) (people []kept.Person, err error) {
	if err := w.may(kept.Keeper); err != nil {
		return nil, err
	}
	err = s.view(ctx, func(t *tx) (err error) {
		people, err = t.people(w.Account)
		return err
	})
	return people, err
}

func (t *tx) people(account string) ([]kept.Person, error) {
	people, err := all(t, func(r *sql.Rows, p *kept.Person) error {
		p.Dogs, p.Keys = []string{}, []kept.Token{}
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

func scanToken(r *sql.Rows, k *kept.Token) error {
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
func (s *Store) AddPerson(ctx context.Context, w Who, name string, role kept.Role, dogs []string) (id string, err error) {
	if err := w.may(kept.Keeper); err != nil {
		return "", err
	}
	if err := append(kept.CheckName("/name", name, true), checkRole(role)...).Err(); err != nil {
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

func checkRole(r kept.Role) fault.Problems {
	if rank[r] == 0 {
		return fault.Problems{{Pointer: "/role", Value: string(r), Mend: "give handler, trainer or keeper"}}
	}
	return nil
}

func (t *tx) addPerson(account, name string, role kept.Role) (string, error) {
	id, err := t.s.newID()
	if err != nil {
		return "", err
	}
	return id, t.Do(`INSERT INTO person (id, account, name, role, created) VALUES ($1, $2, $3, $4, $5)`, id, account, name, string(role), moment(t.Now))
}

// SetPerson changes a person's name, role and, of a handler, the dogs they are
// given; for keepers. The last keeper stays one.
func (s *Store) SetPerson(ctx context.Context, w Who, id, name string, role kept.Role, dogs []string) error {
	if err := w.may(kept.Keeper); err != nil {
		return err
	}
	if err := append(kept.CheckName("/name", name, true), checkRole(role)...).Err(); err != nil {
		return err
	}
	return s.update(ctx, func(t *tx) error {
		if err := t.Must(`UPDATE person SET name = $1, role = $2 WHERE id = $3 AND account = $4`, name, string(role), id, w.Account); err != nil {
			return err
		}
		if err := t.Do(`DELETE FROM given WHERE person = $1`, id); err != nil {
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
		n, err := t.Changed(`INSERT INTO given (person, dog) SELECT $1, id FROM dog WHERE id = $2 AND account = $3 ON CONFLICT DO NOTHING`, person, dog, account)
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
	if err := w.may(kept.Keeper); err != nil {
		return err
	}
	return s.update(ctx, func(t *tx) error {
		if err := t.Must(`DELETE FROM person WHERE id = $1 AND account = $2`, id, w.Account); err != nil {
			return err
		}
		t.teaches = w.Account // what they said of sources goes with them
		return t.keeperLeft(w.Account)
	})
}

// keeperLeft refuses to leave an account without a keeper.
func (t *tx) keeperLeft(account string) error {
	var n int
	if err := t.Row(`SELECT count(*) FROM person WHERE account = $1 AND role = 'keeper'`, []any{account}, &n); err != nil {
		return err
	}
	if n == 0 {
		return conflict("the account needs a keeper: make somebody else one first")
	}
	return nil
}
