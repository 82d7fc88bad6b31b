package database

import (
	"context"
	"fmt"
	"io/fs"
	"strings"
)

// migrationLock keeps two programs from migrating one PostgreSQL database at the
// same time; any constant will do. SQLite has one writer anyway.
const migrationLock = 7216500425

// migrate brings the database up to date; ErrNewer if it is beyond this program.
func (d *DB) migrate(ctx context.Context) error {
	have, known, err := d.versions(ctx)
	if err != nil {
		return err
	}
	if have > len(known) {
		return fmt.Errorf("%w (its schema is %d, this program knows %d)", ErrNewer, have, len(known))
	}
	for v := have + 1; v <= len(known); v++ {
		if err := d.apply(ctx, v, known[v-1]); err != nil {
			return fmt.Errorf("migration %s: %w", known[v-1], err)
		}
	}
	return nil
}

// versions gives the number of migrations that were applied and the names of all
// that this program knows.
func (d *DB) versions(ctx context.Context) (have int, known []string, err error) {
	if known, err = fs.Glob(d.migrations, "migrations/*.sql"); err != nil {
		return 0, nil, err
	}
	have, err = d.schemaVersion(ctx)
	return have, known, err
}

// schemaVersion is the number of migrations that were applied, 0 for an empty
// database; ErrForeign where there are tables, but none of ours.
func (d *DB) schemaVersion(ctx context.Context) (version int, err error) {
	tables := `SELECT count(*), count(CASE WHEN name = 'schema_step' THEN 1 END) FROM sqlite_schema WHERE type = 'table'`
	if d.postgres {
		tables = `SELECT count(*), count(CASE WHEN table_name = 'schema_step' THEN 1 END) FROM information_schema.tables WHERE table_schema = current_schema()`
	}
	err = d.View(ctx, func(t *Tx) error {
		var count, ours int
		if err := t.Row(tables, nil, &count, &ours); err != nil {
			return err
		}
		if ours == 0 {
			if count > 0 {
				return ErrForeign
			}
			return nil
		}
		return t.Row(`SELECT count(*) FROM schema_step`, nil, &version)
	})
	return version, err
}

// apply runs one migration unless another program just did.
func (d *DB) apply(ctx context.Context, version int, name string) error {
	text, err := fs.ReadFile(d.migrations, name)
	if err != nil {
		return err
	}
	return d.Update(ctx, func(t *Tx) error {
		if d.postgres {
			if err := t.Do(`SELECT pg_advisory_xact_lock($1)`, int64(migrationLock)); err != nil {
				return err
			}
		}
		if err := t.Do(`CREATE TABLE IF NOT EXISTS schema_step (version BIGINT PRIMARY KEY, at BIGINT NOT NULL)`); err != nil {
			return err
		}
		n, err := t.Changed(`INSERT INTO schema_step (version, at) VALUES ($1, $2) ON CONFLICT DO NOTHING`, version, t.Now.UnixMilli())
		if err != nil || n == 0 {
			return err
		}
		for _, statement := range statements(string(text)) {
			if err := t.Do(statement); err != nil {
				return err
			}
		}
		return nil
	})
}

// statements splits a migration at the semicolons that end a line; none of ours
// holds one inside a text.
func statements(text string) (out []string) {
	for _, s := range strings.Split(text, ";\n") {
		if strings.TrimSpace(s) != "" {
			out = append(out, s)
		}
	}
	return out
}
