package database

import (
	"context"
	"fmt"
)

// Pragmas asks a writing and a reading connection what took.
func (d *DB) Pragmas(ctx context.Context, names ...string) (write, read map[string]string, err error) {
	write, read = map[string]string{}, map[string]string{}
	for _, name := range names {
		var w, r string
		if err := d.write.QueryRowContext(ctx, "PRAGMA "+name).Scan(&w); err != nil {
			return nil, nil, err
		}
		if err := d.read.QueryRowContext(ctx, "PRAGMA "+name).Scan(&r); err != nil {
			return nil, nil, err
		}
		write[name], read[name] = w, r
	}
	return write, read, nil
}

// ReadOnlyForTest makes the database one that may only be read.
func (d *DB) ReadOnlyForTest(ctx context.Context) error {
	command := `PRAGMA query_only = 1`
	if d.postgres {
		d.write.SetMaxOpenConns(1)
		command = `SET default_transaction_read_only = on`
	}
	_, err := d.write.ExecContext(ctx, command)
	return err
}

// LimitPagesForTest lets the database grow by no more than a few pages, which is
// what a full disk looks like to SQLite.
func (d *DB) LimitPagesForTest(ctx context.Context) error {
	var pages int
	if err := d.write.QueryRowContext(ctx, `PRAGMA page_count`).Scan(&pages); err != nil {
		return err
	}
	return d.write.QueryRowContext(ctx, fmt.Sprintf(`PRAGMA max_page_count = %d`, pages+20)).Scan(&pages)
}
