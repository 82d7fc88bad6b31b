package store

import (
	"bytes"
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"time"

	"wideberth/exposure"
)

// DocumentKind is what a document is.
type DocumentKind string

// The kinds of documents.
const (
	Sequences DocumentKind = "visits"  // training visits, of one dog
	Outings   DocumentKind = "outings" // timetables, of several
)

// Document is what is kept as a whole: a training sequence, a timetable.
type Document struct {
	Kind    DocumentKind    `json:"kind" maxLength:"40"`
	ID      string          `json:"id" maxLength:"80"`
	Dog     string          `json:"dog,omitempty" doc:"The dog that it is about; left out if about several."`
	Version int64           `json:"version" doc:"Goes up with each change; 0 makes a new one."`
	Created time.Time       `json:"created"`
	Updated time.Time       `json:"updated"`
	Body    json.RawMessage `json:"body"`
}

func (k DocumentKind) check() exposure.Problems {
	if k != Sequences && k != Outings {
		return exposure.Problems{{Pointer: "/kind", Value: string(k), Mend: fmt.Sprintf("give %s or %s", Sequences, Outings)}}
	}
	return nil
}

// PutDocument keeps a document; for trainers. Version 0 makes a new one, with an
// id of its own if none is given; else it must be the version that was changed.
// ErrConflict if it is another by now.
func (s *Store) PutDocument(ctx context.Context, w Who, d Document) (Document, error) {
	if err := w.may(Trainer); err != nil {
		return d, err
	}
	if err := problems(append(d.Kind.check(), checkText("/id", d.ID, mostKey, false)...)); err != nil {
		return d, err
	}
	if err := checkBody(d.Body); err != nil {
		return d, err
	}
	err := s.update(ctx, func(t *tx) (err error) {
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
		n := int64(0)
		if d.Version == 1 {
			n, err = t.changed(`INSERT INTO document (account, kind, id, dog, version, body, created, updated) VALUES ($1, $2, $3, $4, 1, $5, $6, $6) ON CONFLICT DO NOTHING`,
				w.Account, d.Kind, d.ID, nullable(d.Dog), string(d.Body), moment(t.now))
		} else {
			n, err = t.changed(`UPDATE document SET version = $1, body = $2, dog = $3, updated = $4 WHERE account = $5 AND kind = $6 AND id = $7 AND version = $8`,
				d.Version, string(d.Body), nullable(d.Dog), moment(t.now), w.Account, d.Kind, d.ID, d.Version-1)
		}
		if err != nil {
			return err
		}
		if n == 0 {
			return conflict("the document was changed meanwhile: look at it again")
		}
		if err := t.noteDogs(w, &d); err != nil {
			return err
		}
		d, err = t.document(w, d.Kind, d.ID)
		return err
	})
	return d, err
}

// noteDogs writes down which dogs of the account a document names, its own and those
// whose id stands anywhere in its body, so that deleting one of them finds it.
func (t *tx) noteDogs(w Who, d *Document) error {
	if err := t.do(`DELETE FROM named WHERE account = $1 AND kind = $2 AND id = $3`, w.Account, d.Kind, d.ID); err != nil {
		return err
	}
	may, err := texts(d.Body)
	if err != nil {
		return err
	}
	may[d.Dog] = true
	dogs, err := all(t, func(r *sql.Rows, id *string) error { return r.Scan(id) }, `SELECT id FROM dog WHERE account = $1`, w.Account)
	if err != nil {
		return err
	}
	for _, id := range dogs {
		if !may[id] {
			continue
		}
		if err := t.do(`INSERT INTO named (account, kind, id, dog) VALUES ($1, $2, $3, $4)`, w.Account, d.Kind, d.ID, id); err != nil {
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

const documentColumns = `SELECT kind, id, dog, version, body, created, updated FROM document`

func scanDocument(r *sql.Rows, d *Document) error {
	var (
		dog              sql.NullString
		body             string
		created, updated int64
	)
	err := r.Scan(&d.Kind, &d.ID, &dog, &d.Version, &body, &created, &updated)
	d.Dog, d.Body, d.Created, d.Updated = dog.String, json.RawMessage(body), ofMoment(created), ofMoment(updated)
	return err
}

// document reads a document that the person may see: a handler those about no
// one dog, or about one they are given.
func (t *tx) document(w Who, kind DocumentKind, id string) (d Document, err error) {
	list, err := all(t, scanDocument, documentColumns+` WHERE account = $1 AND kind = $2 AND id = $3`, w.Account, kind, id)
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
func (s *Store) Document(ctx context.Context, w Who, kind DocumentKind, id string) (d Document, err error) {
	err = s.view(ctx, func(t *tx) error {
		d, err = t.document(w, kind, id)
		return err
	})
	return d, err
}

// Documents lists the documents of a kind that the person may see, latest first.
func (s *Store) Documents(ctx context.Context, w Who, kind DocumentKind) (list []Document, err error) {
	query, args := documentColumns+` WHERE account = $1 AND kind = $2`, []any{w.Account, kind}
	if w.Role == Handler {
		query += ` AND (dog IS NULL OR dog IN (SELECT dog FROM given WHERE person = $3))`
		args = append(args, w.Person)
	}
	err = s.view(ctx, func(t *tx) error {
		list, err = all(t, scanDocument, query+` ORDER BY updated DESC, id`, args...)
		return err
	})
	return list, err
}

// DeleteDocument deletes a document; for trainers. What was logged of it stays.
func (s *Store) DeleteDocument(ctx context.Context, w Who, kind DocumentKind, id string) error {
	if err := w.may(Trainer); err != nil {
		return err
	}
	return s.erase(ctx, func(t *tx) error {
		return t.must(`DELETE FROM document WHERE account = $1 AND kind = $2 AND id = $3`, w.Account, kind, id)
	})
}
