package database

import (
	"context"
	"database/sql"
	"errors"
	"time"
)

// Tx is one transaction; its clock stands still. The errors of its methods get their
// meaning where the transaction ends.
type Tx struct {
	Now      time.Time // UTC
	Postgres bool      // not SQLite, which has one writer anyway

	tx  *sql.Tx
	ctx context.Context
}

// Update runs f in one transaction that may write: all of it or nothing.
func (d *DB) Update(ctx context.Context, f func(t *Tx) error) error {
	return d.in(ctx, d.write, nil, f)
}

// View runs f on one state of the database: what is committed meanwhile is not seen,
// by no statement of f.
func (d *DB) View(ctx context.Context, f func(t *Tx) error) error {
	return d.in(ctx, d.read, d.oneState(), f)
}

// Long is View for what may take long, as it goes out to somebody who reads slowly.
func (d *DB) Long(ctx context.Context, f func(t *Tx) error) error {
	return d.run(ctx, d.read, d.oneState(), f)
}

// oneState are the options of a transaction that reads one state of the database.
// SQLite's are so anyway; PostgreSQL gives each statement the state that it finds
// unless asked for more (its manual, 13.2, Transaction Isolation).
func (d *DB) oneState() *sql.TxOptions {
	o := &sql.TxOptions{ReadOnly: true}
	if d.postgres {
		o.Isolation = sql.LevelRepeatableRead
	}
	return o
}

func (d *DB) in(ctx context.Context, db *sql.DB, o *sql.TxOptions, f func(t *Tx) error) error {
	soon, cancel := context.WithTimeoutCause(ctx, transactionTime, ErrUnavailable)
	defer cancel()
	err := d.run(soon, db, o, f)
	if err != nil && ctx.Err() == nil && errors.Is(context.Cause(soon), ErrUnavailable) {
		return ErrUnavailable
	}
	return err
}

func (d *DB) run(ctx context.Context, db *sql.DB, o *sql.TxOptions, f func(t *Tx) error) error {
	if d.watch == nil {
		return d.transact(ctx, db, o, f)
	}
	begin := d.now()
	err := d.transact(ctx, db, o, f)
	d.watch(o == nil, d.now().Sub(begin), err)
	return err
}

// transact runs f in a transaction and gives errors their meaning.
func (d *DB) transact(ctx context.Context, db *sql.DB, o *sql.TxOptions, f func(t *Tx) error) error {
	raw, err := db.BeginTx(ctx, o)
	if err != nil {
		return translate(err)
	}
	defer raw.Rollback() // after a commit it does nothing
	err = f(&Tx{Now: d.now().UTC(), Postgres: d.postgres, tx: raw, ctx: ctx})
	if err == nil {
		err = raw.Commit()
	}
	if errors.Is(err, sql.ErrTxDone) && ctx.Err() != nil {
		return ctx.Err() // the context's end rolled it back between two statements
	}
	return translate(err)
}

// Do runs one statement.
func (t *Tx) Do(query string, args ...any) error {
	_, err := t.tx.ExecContext(t.ctx, query, args...)
	return err
}

// Changed runs one statement and gives the number of rows it changed.
func (t *Tx) Changed(query string, args ...any) (int64, error) {
	r, err := t.tx.ExecContext(t.ctx, query, args...)
	if err != nil {
		return 0, err
	}
	return r.RowsAffected()
}

// Must is Do for a statement that has to find its row; ErrNotFound if it finds none.
func (t *Tx) Must(query string, args ...any) error {
	n, err := t.Changed(query, args...)
	if err == nil && n == 0 {
		err = ErrNotFound
	}
	return err
}

// One is the one row that a query gives, to be scanned.
func (t *Tx) One(query string, args ...any) *sql.Row {
	return t.tx.QueryRowContext(t.ctx, query, args...)
}

// Row reads the one row that a query gives; sql.ErrNoRows if it gives none.
func (t *Tx) Row(query string, args []any, into ...any) error {
	return t.One(query, args...).Scan(into...)
}

// Each gives every row of a query to f, one after another.
func Each[T any](t *Tx, scan func(*sql.Rows, *T) error, f func(*T) error, query string, args ...any) error {
	rows, err := t.tx.QueryContext(t.ctx, query, args...)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		var v T
		if err := scan(rows, &v); err != nil {
			return err
		}
		if err := f(&v); err != nil {
			return err
		}
	}
	return rows.Err()
}

// All reads every row of a query, never nil.
func All[T any](t *Tx, scan func(*sql.Rows, *T) error, query string, args ...any) ([]T, error) {
	out := []T{}
	err := Each(t, scan, func(v *T) error {
		out = append(out, *v)
		return nil
	}, query, args...)
	if err != nil {
		return nil, err
	}
	return out, nil
}
