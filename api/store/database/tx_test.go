package database_test

import (
	"context"
	"database/sql"
	"errors"
	"slices"
	"testing"
	"time"

	"wideberth/api/store/database"
)

// TestViewIsOneState: what is committed between two statements of a view is seen by
// neither, on both databases; and a view may not write.
func TestViewIsOneState(t *testing.T) {
	each(t, func(t *testing.T, s *shelf) {
		for name, view := range map[string]func(context.Context, func(*database.Tx) error) error{"view": s.View, "long": s.Long} {
			s.ok(view(t.Context(), func(x *database.Tx) error {
				before, after := 0, 0
				if err := x.Row(`SELECT count(*) FROM thing`, nil, &before); err != nil {
					return err
				}
				if err := s.put(name, ""); err != nil {
					return err
				}
				if err := x.Row(`SELECT count(*) FROM thing`, nil, &after); err != nil {
					return err
				}
				if before != after {
					t.Errorf("%s: %d things, and then %d", name, before, after)
				}
				return nil
			}))
			if view(t.Context(), func(x *database.Tx) error { return x.Do(`DELETE FROM thing`) }) == nil {
				t.Errorf("%s may write", name)
			}
		}
	})
}

// TestAContextThatEndsBetweenStatements: database/sql rolls the transaction back, and
// the next statement meets one that is over; what is told is that nobody waits.
func TestAContextThatEndsBetweenStatements(t *testing.T) {
	s := open(t, newFile(t))
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	err := s.View(ctx, func(x *database.Tx) error {
		cancel()
		for {
			if err := x.Do(`SELECT 1`); err != nil {
				return err
			}
		}
	})
	want(t, "a view that nobody waits for", err, context.Canceled)
}

// TestAllOrNothing: a transaction that fails leaves nothing, whoever fails it.
func TestAllOrNothing(t *testing.T) {
	each(t, func(t *testing.T, s *shelf) {
		mine := errors.New("no more")
		err := s.Update(t.Context(), func(x *database.Tx) error {
			if err := x.Do(`INSERT INTO thing (id, note) VALUES ('a', '')`); err != nil {
				return err
			}
			return mine
		})
		want(t, "an error of the caller", err, mine)
		err = s.Update(t.Context(), func(x *database.Tx) error {
			if err := x.Do(`INSERT INTO thing (id, note) VALUES ('b', '')`); err != nil {
				return err
			}
			return x.Do(`INSERT INTO thing (id, note) VALUES ('b', '')`)
		})
		want(t, "the same key twice", err, database.ErrConflict)
		if n := s.count(); n != 0 {
			t.Errorf("%d things are left", n)
		}
	})
}

// TestErrorsMeanTheSameOnBoth: a reference to nothing and a row that is not there are
// told alike by either driver.
func TestErrorsMeanTheSameOnBoth(t *testing.T) {
	each(t, func(t *testing.T, s *shelf) {
		s.ok(s.put("a", "first"))
		update := func(query string, args ...any) error {
			return s.Update(t.Context(), func(x *database.Tx) error { return x.Must(query, args...) })
		}
		want(t, "a reference to nothing", update(`INSERT INTO thing (id, note, beside) VALUES ('b', '', 'nowhere')`), database.ErrNotFound)
		want(t, "a row that is not there", update(`UPDATE thing SET note = 'x' WHERE id = $1`, "c"), database.ErrNotFound)
		want(t, "reading it", s.find("c"), database.ErrNotFound)
		want(t, "a row that is", update(`UPDATE thing SET note = 'x' WHERE id = $1`, "a"), nil)
		if s.Update(t.Context(), func(x *database.Tx) error { return x.Do(`SELEKT`) }) == nil {
			t.Error("nonsense was run")
		}
	})
}

func TestRowsAreRead(t *testing.T) {
	each(t, func(t *testing.T, s *shelf) {
		for _, id := range []string{"c", "a", "b"} {
			s.ok(s.put(id, "note of "+id))
		}
		scan := func(r *sql.Rows, id *string) error { return r.Scan(id) }
		var got, none []string
		n := int64(0)
		stop := errors.New("stop")
		s.ok(s.Update(t.Context(), func(x *database.Tx) (err error) {
			if got, err = database.All(x, scan, `SELECT id FROM thing ORDER BY id`); err != nil {
				return err
			}
			if none, err = database.All(x, scan, `SELECT id FROM thing WHERE id = $1`, "z"); err != nil {
				return err
			}
			n, err = x.Changed(`UPDATE thing SET note = '' WHERE id < $1`, "c")
			return err
		}))
		if !slices.Equal(got, []string{"a", "b", "c"}) || none == nil || len(none) != 0 || n != 2 {
			t.Errorf("read %q and %q, %d changed", got, none, n)
		}
		seen := 0
		err := s.Long(t.Context(), func(x *database.Tx) error {
			return database.Each(x, scan, func(*string) error { seen++; return stop }, `SELECT id FROM thing`)
		})
		if !errors.Is(err, stop) || seen != 1 {
			t.Errorf("after %d rows: %v", seen, err)
		}
		want(t, "a column too few", s.View(t.Context(), func(x *database.Tx) error {
			_, err := database.All(x, func(r *sql.Rows, id *string) error { return r.Scan(id, id) }, `SELECT id FROM thing`)
			if err != nil {
				return stop
			}
			return nil
		}), stop)
	})
}

// TestClockStandsStill: all of a transaction happens at one moment, in UTC.
func TestClockStandsStill(t *testing.T) {
	o, at := things(), start
	o.Now = func() time.Time { at = at.Add(time.Second); return at.In(time.FixedZone("", 3600)) }
	db, err := database.Open(t.Context(), newFile(t), o)
	ok(t, err)
	defer db.Close()
	ok(t, db.View(t.Context(), func(x *database.Tx) error {
		if first := x.Now; x.Do(`SELECT 1`) != nil || x.Now != first || first.Location() != time.UTC || x.Postgres {
			t.Errorf("%v, then %v", first, x.Now)
		}
		return nil
	}))
}

// TestWatch: every transaction is told with its kind and its end.
func TestWatch(t *testing.T) {
	s := open(t, newFile(t))
	var told []string
	s.Watch(func(writes bool, _ time.Duration, err error) {
		name := "read"
		if writes {
			name = "write"
		}
		if err != nil {
			name += " failed"
		}
		told = append(told, name)
	})
	s.ok(s.put("a", ""))
	_ = s.find("b")
	s.ok(s.Ping(t.Context()))
	if !slices.Equal(told, []string{"write", "read failed", "read"}) {
		t.Errorf("told %q", told)
	}
	if inUse, waits := s.Load(); inUse != 0 || waits < 0 {
		t.Errorf("%d connections in use, %d waits", inUse, waits)
	}
}
