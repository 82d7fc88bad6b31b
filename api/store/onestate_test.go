package store

import (
	"context"
	"crypto/rand"
	"errors"
	"os"
	"path/filepath"
	"testing"
	"time"

	"wideberth/api/store/pgtest"
)

// TestViewIsOneState: what is committed between two statements of a view is seen by
// neither, on both databases.
func TestViewIsOneState(t *testing.T) {
	t.Run("sqlite", func(t *testing.T) { oneState(t, filepath.Join(t.TempDir(), "memory.db")) })
	t.Run("postgres", func(t *testing.T) {
		pg, err := pgtest.Start(false)
		if err != nil {
			if os.Getenv("CI") == "true" {
				t.Fatal(err)
			}
			t.Skipf("no PostgreSQL: %v", err)
		}
		defer pg.Stop()
		url, err := pg.Database()
		if err != nil {
			t.Fatal(err)
		}
		oneState(t, url)
	})
}

func oneState(t *testing.T, where string) {
	ctx := t.Context()
	now := time.Date(2026, 11, 25, 7, 0, 0, 0, time.UTC)
	s, err := Open(ctx, where, Options{Now: func() time.Time { return now }, Rand: rand.Reader})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	for _, c := range []struct {
		name string
		view func(f func(t *tx) error) error
	}{
		{"view", func(f func(t *tx) error) error { return s.view(ctx, f) }},
		{"long", func(f func(t *tx) error) error { return s.long(ctx, f) }},
	} {
		err := c.view(func(x *tx) error {
			before, after := 0, 0
			if err := x.row(`SELECT count(*) FROM account`, nil, &before); err != nil {
				return err
			}
			if _, err := s.CreateAccount(ctx, "Ash House, "+c.name, "Ada"); err != nil {
				return err
			}
			if err := x.row(`SELECT count(*) FROM account`, nil, &after); err != nil {
				return err
			}
			if before != after {
				t.Errorf("%s: %d accounts, and then %d", c.name, before, after)
			}
			return nil
		})
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
		}
		writes := c.view(func(x *tx) error { return x.do(`DELETE FROM account`) })
		if writes == nil {
			t.Errorf("%s may write", c.name)
		}
	}
}

// TestAContextThatEndsBetweenStatements: database/sql rolls the transaction back, and
// the next statement meets one that is over; what is told is that nobody waits.
func TestAContextThatEndsBetweenStatements(t *testing.T) {
	s, err := Open(t.Context(), filepath.Join(t.TempDir(), "memory.db"), Options{Now: func() time.Time { return time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC) }, Rand: rand.Reader})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	err = s.view(ctx, func(x *tx) error {
		cancel()
		for {
			if _, err := x.ExecContext(context.WithoutCancel(ctx), `SELECT 1`); err != nil {
				return err
			}
		}
	})
	if !errors.Is(err, context.Canceled) {
		t.Errorf("%v", err)
	}
}
