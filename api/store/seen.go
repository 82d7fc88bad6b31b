package store

import (
	"fmt"

	"wideberth/api/wire/kept"
)

// seen narrows a query for documents to what a person may see. A handler sees those
// that name only dogs that they are given, or none: an outing tells who is where
// at what time, and what other dogs cannot stand. The account may allow them
// timetables of all dogs (Settings.HandlersSeeOutings), never another dog's training.
func (t *tx) seen(w Who, query string, args ...any) (string, []any, error) {
	if w.Role != kept.Handler {
		return query, args, nil
	}
	set, err := t.settings(w.Account)
	if err != nil {
		return query, args, err
	}
	args = append(args, w.Person)
	person := fmt.Sprint("$", len(args))
	rule := `NOT EXISTS (SELECT 1 FROM named WHERE named.account = document.account AND named.kind = document.kind AND named.id = document.id
		AND named.dog NOT IN (SELECT dog FROM given WHERE person = ` + person + `))`
	if set.HandlersSeeOutings {
		rule = `(kind = '` + string(kept.Outings) + `' OR ` + rule + `)`
	}
	return query + ` AND ` + rule, args, nil
}
