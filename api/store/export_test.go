package store

import (
	"context"
	"fmt"
	"time"
)

// NoTime is the zero time, for tests that ask for everything.
var NoTime time.Time

// Pragmas asks a writing and a reading connection what took.
func (s *Store) Pragmas(ctx context.Context, names ...string) (write, read map[string]string, err error) {
	write, read = map[string]string{}, map[string]string{}
	for _, name := range names {
		var w, r string
		if err := s.write.QueryRowContext(ctx, "PRAGMA "+name).Scan(&w); err != nil {
			return nil, nil, err
		}
		if err := s.read.QueryRowContext(ctx, "PRAGMA "+name).Scan(&r); err != nil {
			return nil, nil, err
		}
		write[name], read[name] = w, r
	}
	return write, read, nil
}

// ReadOnlyForTest makes the database one that may only be read.
func (s *Store) ReadOnlyForTest(ctx context.Context) error {
	command := `PRAGMA query_only = 1`
	if s.postgres {
		s.write.SetMaxOpenConns(1)
		command = `SET default_transaction_read_only = on`
	}
	_, err := s.write.ExecContext(ctx, command)
	return err
}

// LimitPagesForTest lets the database grow by no more than a few pages, which is
// what a full disk looks like to SQLite.
func (s *Store) LimitPagesForTest(ctx context.Context) error {
	var pages int
	if err := s.write.QueryRowContext(ctx, `PRAGMA page_count`).Scan(&pages); err != nil {
		return err
	}
	return s.write.QueryRowContext(ctx, fmt.Sprintf(`PRAGMA max_page_count = %d`, pages+20)).Scan(&pages)
}

// RowsLeftForTest counts what is left in all tables but the schema's own.
func (s *Store) RowsLeftForTest(ctx context.Context) (n int, err error) {
	for _, table := range []string{"account", "person", "token", "dog", "given", "distance_change", "plan", "walk", "encounter", "track", "tally", "report", "statement", "document", "taught", "named", "word", "share"} {
		rows := 0
		if err := s.read.QueryRowContext(ctx, "SELECT count(*) FROM "+table).Scan(&rows); err != nil {
			return 0, err
		}
		n += rows
	}
	return n, nil
}

// FillForTest runs an INSERT ... SELECT over the numbers n.i from 1 to most, to
// have as many rows as nobody would make one by one.
func (s *Store) FillForTest(ctx context.Context, most int, insert string, args ...any) error {
	_, err := s.write.ExecContext(ctx, fmt.Sprintf(`WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < %d) %s`, most, insert), args...)
	return err
}
