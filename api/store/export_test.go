package store

import (
	"context"
	"fmt"
	"time"
)

// NoTime is the zero time, for tests that ask for everything.
var NoTime time.Time

// RowsLeftForTest counts what is left in all tables but the schema's own.
func (s *Store) RowsLeftForTest(ctx context.Context) (n int, err error) {
	err = s.view(ctx, func(t *tx) error {
		for _, table := range []string{"account", "person", "token", "dog", "given", "distance_change", "plan", "walk", "encounter", "track", "tally", "report", "statement", "document", "taught", "named", "word", "share"} {
			rows := 0
			if err := t.Row("SELECT count(*) FROM "+table, nil, &rows); err != nil {
				return err
			}
			n += rows
		}
		return nil
	})
	return n, err
}

// FillForTest runs an INSERT ... SELECT over the numbers n.i from 1 to most, to
// have as many rows as nobody would make one by one.
func (s *Store) FillForTest(ctx context.Context, most int, insert string, args ...any) error {
	return s.update(ctx, func(t *tx) error {
		return t.Do(fmt.Sprintf(`WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < %d) %s`, most, insert), args...)
	})
}
