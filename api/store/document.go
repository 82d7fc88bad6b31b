package store

import (
	"bytes"
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"io"

	"wideberth/api/wire/kept"
)

// limitsOf are the most bytes of a document of a kind, and the most of its kind; 0 for
// what is no kind.
func limitsOf(k kept.DocumentKind) (bytes, number int) {
	switch k {
	case kept.Sequences:
		return MostVisitsBytes, mostVisits
	case kept.Outings:
		return MostOutingBytes, mostOutings
	}
	return 0, 0
}

// PutDocument keeps a document; for trainers. Version 0 makes a new one, with an
// id of its own if none is given; else it must be the version that was changed.
// ErrConflict if it is another by now.
func (s *Store) PutDocument(ctx context.Context, w Who, d kept.Document) (kept.Document, error) {
	if err := w.may(kept.Trainer); err != nil {
		return d, err
	}
	if err := append(d.Kind.Check(), kept.CheckKey("/id", d.ID)...).Err(); err != nil {
		return d, err
	}
	most, number := limitsOf(d.Kind)
	if err := checkBody(d.Body, most, "leave out what can be asked for again, such as legs and drawings"); err != nil {
		return d, err
	}
	err := s.update(ctx, func(t *tx) (err error) {
		dogs, err := t.dogsIn(w, &d)
		if err != nil {
			return err
		}
		if err := t.roomForDocument(w.Account, &d, number); err != nil {
			return err
		}
		if d.Dog != "" {
			if _, err := t.dog(w, d.Dog); err != nil {
				return err
			}
		}
		if d.ID == "" {
			if d.ID, err = s.newID(); err != nil {
				return err
			}
		}
		d.Version++
		var n int64
		if d.Version == 1 {
			n, err = t.Changed(`INSERT INTO document (account, kind, id, dog, version, body, bytes, created, updated) VALUES ($1, $2, $3, $4, 1, $5, $6, $7, $7) ON CONFLICT DO NOTHING`,
				w.Account, d.Kind, d.ID, nullable(d.Dog), string(d.Body), len(d.Body), moment(t.Now))
		} else {
			n, err = t.Changed(`UPDATE document SET version = $1, body = $2, bytes = $3, dog = $4, updated = $5 WHERE account = $6 AND kind = $7 AND id = $8 AND version = $9`,
				d.Version, string(d.Body), len(d.Body), nullable(d.Dog), moment(t.Now), w.Account, d.Kind, d.ID, d.Version-1)
		}
		if err != nil {
			return err
		}
		if n == 0 {
			return conflict("the document was changed meanwhile: look at it again")
		}
		if err := t.noteDogs(w, &d, dogs); err != nil {
			return err
		}
		d, err = t.document(w, d.Kind, d.ID)
		return err
	})
	return d, err
}

// dogsIn lists the dogs of the account that a document names: its own, and those whose
// id stands as a text anywhere in its body. They stay until the transaction ends. It
// comes before anything else is held, as deleting a dog holds the dog first.
func (t *tx) dogsIn(w Who, d *kept.Document) (dogs []string, err error) {
	may, err := texts(d.Body)
	if err != nil {
		return nil, err
	}
	may[d.Dog] = true
	all, err := all(t, func(r *sql.Rows, id *string) error { return r.Scan(id) }, `SELECT id FROM dog WHERE account = $1 ORDER BY id`, w.Account)
	if err != nil {
		return nil, err
	}
	for _, id := range all {
		if !may[id] {
			continue
		}
		if t.Postgres {
			n, err := t.Changed(`SELECT 1 FROM dog WHERE id = $1 FOR KEY SHARE`, id)
			if err != nil {
				return nil, err
			}
			if n == 0 {
				continue // it was deleted while we waited
			}
		}
		dogs = append(dogs, id)
	}
	return dogs, nil
}

// noteDogs writes down which dogs a document names, so that deleting one finds it.
func (t *tx) noteDogs(w Who, d *kept.Document, dogs []string) error {
	if err := t.Do(`DELETE FROM named WHERE account = $1 AND kind = $2 AND id = $3`, w.Account, d.Kind, d.ID); err != nil {
		return err
	}
	for _, dog := range dogs {
		if err := t.Do(`INSERT INTO named (account, kind, id, dog) VALUES ($1, $2, $3, $4)`, w.Account, d.Kind, d.ID, dog); err != nil {
			return err
		}
	}
	return nil
}

// texts are the texts in a JSON value that are as long as an id, names of members
// included.
func texts(body json.RawMessage) (map[string]bool, error) {
	out := map[string]bool{}
	for dec := json.NewDecoder(bytes.NewReader(body)); ; {
		token, err := dec.Token()
		if errors.Is(err, io.EOF) {
			return out, nil
		}
		if err != nil {
			return nil, fmt.Errorf("read a body: %w", err)
		}
		if text, ok := token.(string); ok && len(text) == letters.EncodedLen(idBytes) {
			out[text] = true
		}
	}
}

// roomForDocument refuses one more document of a kind, or more bytes of an account.
func (t *tx) roomForDocument(account string, d *kept.Document, number int) error {
	if err := t.lock(account); err != nil {
		return err
	}
	if d.Version == 0 {
		if err := t.room(number, "documents of the kind "+string(d.Kind), "account", "delete some first", `SELECT 1 FROM document WHERE account = $1 AND kind = $2`, account, d.Kind); err != nil {
			return err
		}
	}
	return t.roomFor(account, len(d.Body))
}

const (
	headColumns     = `SELECT kind, id, dog, version, created, updated, bytes FROM document`
	documentColumns = `SELECT kind, id, dog, version, created, updated, bytes, body FROM document`
)

func scanHead(r *sql.Rows, d *kept.DocumentHead) error { return scanColumns(r, d) }

func scanDocument(r *sql.Rows, d *kept.Document) error {
	var (
		head kept.DocumentHead
		body string
	)
	err := scanColumns(r, &head, &body)
	*d = kept.Document{Kind: head.Kind, ID: head.ID, Dog: head.Dog, Version: head.Version, Created: head.Created, Updated: head.Updated, Body: json.RawMessage(body)}
	return err
}

// scanColumns reads the columns of a list, and what comes after them.
func scanColumns(r *sql.Rows, d *kept.DocumentHead, more ...any) error {
	var (
		dog              sql.NullString
		created, updated int64
	)
	err := r.Scan(append([]any{&d.Kind, &d.ID, &dog, &d.Version, &created, &updated, &d.Bytes}, more...)...)
	d.Dog, d.Created, d.Updated = dog.String, ofMoment(created), ofMoment(updated)
	return err
}

// document reads a document that the person may see; ErrNotFound for others.
func (t *tx) document(w Who, kind kept.DocumentKind, id string) (d kept.Document, err error) {
	query, args, err := t.seen(w, documentColumns+` WHERE account = $1 AND kind = $2 AND id = $3`, w.Account, kind, id)
	if err != nil {
		return d, err
	}
	list, err := all(t, scanDocument, query, args...)
	if err != nil {
		return d, err
	}
	if len(list) == 0 {
		return d, ErrNotFound
	}
	if list[0].Dog != "" {
		if _, err := t.dog(w, list[0].Dog); err != nil {
			return d, err
		}
	}
	return list[0], nil
}

// Document gives one document.
func (s *Store) Document(ctx context.Context, w Who, kind kept.DocumentKind, id string) (d kept.Document, err error) {
	err = s.view(ctx, func(t *tx) error {
		d, err = t.document(w, kind, id)
		return err
	})
	return d, err
}

// Documents lists the documents of a kind that the person may see, latest first,
// without their bodies.
func (s *Store) Documents(ctx context.Context, w Who, kind kept.DocumentKind) (list []kept.DocumentHead, err error) {
	err = s.view(ctx, func(t *tx) error {
		query, args, err := t.seen(w, headColumns+` WHERE account = $1 AND kind = $2`, w.Account, kind)
		if err != nil {
			return err
		}
		list, err = all(t, scanHead, query+` ORDER BY updated DESC, id`, args...)
		return err
	})
	return list, err
}

// DeleteDocument deletes a document; for trainers. What was logged of it stays.
func (s *Store) DeleteDocument(ctx context.Context, w Who, kind kept.DocumentKind, id string) error {
	if err := w.may(kept.Trainer); err != nil {
		return err
	}
	return s.erase(ctx, func(t *tx) error {
		return t.Must(`DELETE FROM document WHERE account = $1 AND kind = $2 AND id = $3`, w.Account, kind, id)
	})
}
