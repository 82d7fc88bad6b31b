// Package work shares the steps of an import between machines: jobs on a board in
// PostgreSQL, files in a bucket. A step knows only files, and what its output is called
// depends on all that it is made of: so it may be done twice, and one whose output is
// there is done. It hides the queue, workers that die, and what is tried again.
package work

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	"path/filepath"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"
	"github.com/riverqueue/river"
	"github.com/riverqueue/river/riverdriver/riverpgxv5"
	"github.com/riverqueue/river/rivermigrate"
	"github.com/riverqueue/river/rivertype"

	"wideberth/osmdata/fault"
	"wideberth/routing/depot"
)

// Step is a piece of work on files, which are named below a folder and in the bucket
// alike. Names tell what is in the files.
type Step struct {
	Inputs []string        `json:"inputs"`
	Output string          `json:"output"`
	What   json.RawMessage `json:"what"` // for whoever does it
}

// Options of a board.
type Options struct {
	Depot  *depot.Depot // where files are found and put; its folder is worked in
	Log    *slog.Logger // nil discards
	AtOnce int          // steps that are worked on at once, 0 for one
	// Do makes the output of a step out of its inputs, below the folder. What it
	// says is wrong stays wrong wherever it is tried, but for what the disk says.
	Do func(ctx context.Context, dir string, what json.RawMessage) error
}

// Board is where steps are put up and taken from. Safe for concurrent use.
type Board struct {
	o    Options
	pool *pgxpool.Pool
}

// Open opens the board in a database of PostgreSQL, and makes it there if need be.
// Faults of the address are fault.Problems.
func Open(ctx context.Context, database string, o Options) (*Board, error) {
	if o.Log == nil {
		o.Log = slog.New(slog.DiscardHandler)
	}
	const mend = "give the address of a PostgreSQL database, like postgres://user@host/database"
	config, err := pgxpool.ParseConfig(database)
	if err != nil {
		return nil, fault.Problems{{Pointer: "jobs", Value: "(an address)", Mend: mend}} // the error repeats it, password and all
	}
	o.AtOnce = max(1, o.AtOnce)
	config.MaxConns = int32(o.AtOnce) + queueConns
	pool, err := pgxpool.NewWithConfig(ctx, config)
	if err != nil {
		return nil, fmt.Errorf("open the board of jobs: %w", err)
	}
	if err := makeTables(ctx, pool, o.Log); err != nil {
		pool.Close()
		return nil, fmt.Errorf("make the board of jobs: %w", err)
	}
	return &Board{o: o, pool: pool}, nil
}

// makeTables makes the queue's tables, or brings them up to date: one program at a time,
// as many may start at once on a new database.
func makeTables(ctx context.Context, pool *pgxpool.Pool, log *slog.Logger) error {
	return pgx.BeginFunc(ctx, pool, func(tx pgx.Tx) error { // whose end frees the lock
		if _, err := tx.Exec(ctx, "SELECT pg_advisory_xact_lock($1, $2)", lockClass, tablesLock); err != nil {
			return err
		}
		migrator, err := rivermigrate.New(riverpgxv5.New(pool), &rivermigrate.Config{Logger: quiet(log)})
		if err != nil {
			return err
		}
		_, err = migrator.Migrate(ctx, rivermigrate.DirectionUp, nil)
		return err
	})
}

// quiet is a log without what the queue tells of its everyday.
func quiet(l *slog.Logger) *slog.Logger { return slog.New(warnings{l.Handler()}) }

type warnings struct{ slog.Handler }

func (w warnings) Enabled(ctx context.Context, l slog.Level) bool {
	return l >= slog.LevelWarn && w.Handler.Enabled(ctx, l)
}

// queueConns are the connections that the queue uses for itself: each step holds one more.
const queueConns = 6

// Close lets the database go.
func (b *Board) Close() { b.pool.Close() }

// job is a step on the board. A step is put up again under the next number where the
// one before is not done and never will be.
type job struct {
	Step
	Nth int `json:"nth"`
}

// Kind names the job for the queue.
func (job) Kind() string { return "import_step" }

// InsertOpts say that a step hangs on the board once.
func (job) InsertOpts() river.InsertOpts {
	return river.InsertOpts{UniqueOpts: river.UniqueOpts{ByArgs: true}, MaxAttempts: tries}
}

// What fails because of the bucket or the disk is tried so often, in all for about five
// minutes.
const (
	tries        = 9
	firstWait    = time.Second
	longestWait  = time.Minute
	lookInterval = 500 * time.Millisecond // at jobs that somebody waits for
)

// patience says when a step that failed is tried again.
type patience struct{}

// NextRetry doubles the wait each time.
func (patience) NextRetry(row *rivertype.JobRow) time.Time {
	wait := min(longestWait, firstWait<<min(len(row.Errors), 10))
	if at := row.AttemptedAt; at != nil {
		return at.Add(wait)
	}
	return row.CreatedAt.Add(wait)
}

// client is one of the queue's; workers nil for one that only puts up jobs.
func (b *Board) client(workers *river.Workers) (*river.Client[pgx.Tx], error) {
	c := &river.Config{Logger: quiet(b.o.Log), RetryPolicy: patience{}, JobTimeout: -1, FetchPollInterval: time.Second}
	if workers != nil {
		c.Workers, c.Queues = workers, map[string]river.QueueConfig{river.QueueDefault: {MaxWorkers: b.o.AtOnce}}
	}
	client, err := river.NewClient(riverpgxv5.New(b.pool), c)
	if err != nil {
		return nil, fmt.Errorf("open the board of jobs: %w", err)
	}
	return client, nil
}

// Work does steps until ctx ends: what is under way then is left to others.
func (b *Board) Work(ctx context.Context) error {
	workers := river.NewWorkers()
	river.AddWorker(workers, &worker{board: b})
	client, err := b.client(workers)
	if err != nil {
		return err
	}
	if err := client.Start(ctx); err != nil {
		return fmt.Errorf("begin to work: %w", err)
	}
	<-ctx.Done()
	stop, cancel := context.WithTimeout(context.WithoutCancel(ctx), longestWait)
	defer cancel()
	return client.StopAndCancel(stop)
}

// worker does one step at a time.
type worker struct {
	river.WorkerDefaults[job]
	board *Board
}

// Work does a step. Who does one holds a lock in the database for as long, which is free
// at once when its process dies.
func (w *worker) Work(ctx context.Context, j *river.Job[job]) error {
	o := &w.board.o
	conn, err := w.board.pool.Acquire(ctx)
	if err != nil {
		return err
	}
	defer conn.Release()
	if _, err := conn.Exec(ctx, "SELECT pg_advisory_lock($1, $2)", lockClass, lockOf(j.ID)); err != nil {
		return err
	}
	defer func() {
		// Without it the pool would hand on a connection that holds the lock.
		if _, err := conn.Exec(context.WithoutCancel(ctx), "SELECT pg_advisory_unlock($1, $2)", lockClass, lockOf(j.ID)); err != nil {
			o.Log.Warn("a lock could not be freed", "err", err)
		}
	}()
	step := j.Args.Step
	if done, err := o.Depot.Has(ctx, step.Output); err != nil || done {
		return err
	}
	for _, name := range step.Inputs {
		if err := o.Depot.Bring(ctx, name); err != nil {
			return err
		}
	}
	if err := o.Do(ctx, o.Depot.Dir(), step.What); err != nil {
		if onDisk := (*fs.PathError)(nil); errors.As(err, &onDisk) || ctx.Err() != nil {
			return err
		}
		return river.JobCancel(err)
	}
	_, err = o.Depot.Push(ctx, step.Output, filepath.Join(o.Depot.Dir(), filepath.FromSlash(step.Output)))
	return err
}

// lockClass tells these locks from others in the database; any number will do.
const lockClass = 0x57_42_4a

// tablesLock is of whoever makes the tables: no job has its number.
const tablesLock = int32(-1)

func lockOf(id int64) int32 { return int32(id & 0x7fffffff) }

// FailedError says that a step cannot be done.
type FailedError struct {
	Output string
	Why    string // as the last who tried was told
}

func (e *FailedError) Error() string { return "make " + e.Output + ": " + e.Why }

// Share puts steps on the board and waits until all are done, by whom ever; done is
// told of each, and what it finds wrong ends the wait. Steps whose output is in the
// bucket are done. One that cannot be done is a *FailedError, and the others go on.
func (b *Board) Share(ctx context.Context, steps []Step, done func(Step) error) error {
	client, err := b.client(nil)
	if err != nil {
		return err
	}
	waiting := map[int64]*wait{} // by their numbers on the board
	for _, s := range steps {
		if err := b.putUp(ctx, client, &job{Step: s}, waiting, done); err != nil {
			return err
		}
	}
	look := time.NewTicker(lookInterval)
	defer look.Stop()
	for len(waiting) > 0 {
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-look.C:
		}
		if err := b.look(ctx, client, waiting, done); err != nil {
			return err
		}
	}
	return nil
}

// putUp hangs a step on the board, if it is not done.
func (b *Board) putUp(ctx context.Context, client *river.Client[pgx.Tx], j *job, waiting map[int64]*wait, done func(Step) error) error {
	if has, err := b.o.Depot.Has(ctx, j.Output); err != nil {
		return err
	} else if has {
		return done(j.Step)
	}
	for {
		r, err := client.Insert(ctx, *j, nil)
		if err != nil {
			return fmt.Errorf("put %s on the board: %w", j.Output, err)
		}
		if r.Job.State != rivertype.JobStateCompleted { // then its output was thrown away
			waiting[r.Job.ID] = &wait{job: j}
			return nil
		}
		j.Nth++
	}
}

// look asks how the jobs fare that are waited for.
func (b *Board) look(ctx context.Context, client *river.Client[pgx.Tx], waiting map[int64]*wait, done func(Step) error) error {
	ids := make([]int64, 0, len(waiting))
	for id := range waiting {
		if ids = append(ids, id); len(ids) == mostAtOnce {
			break
		}
	}
	list, err := client.JobList(ctx, river.NewJobListParams().IDs(ids...).First(len(ids)))
	if err != nil {
		return fmt.Errorf("look at the board: %w", err)
	}
	rows := map[int64]*rivertype.JobRow{}
	for _, row := range list.Jobs {
		rows[row.ID] = row
	}
	for _, id := range ids {
		j, row := waiting[id], rows[id]
		again, err := b.lost(ctx, row)
		if err != nil {
			return err
		}
		if j.lost++; !again {
			j.lost = 0
		}
		switch {
		case j.lost == lostLooks:
			delete(waiting, id)
			j.Nth++
			if err := b.putUp(ctx, client, j.job, waiting, done); err != nil {
				return err
			}
		case row.State == rivertype.JobStateCompleted:
			delete(waiting, id)
			if err := done(j.Step); err != nil {
				return err
			}
		case row.State == rivertype.JobStateDiscarded || row.State == rivertype.JobStateCancelled:
			return &FailedError{j.Output, why(row)}
		}
	}
	return nil
}

// mostAtOnce is how many jobs are looked at in one go.
const mostAtOnce = 1000

// wait is a job that somebody waits for.
type wait struct {
	*job
	lost int // looks in a row at which it seemed lost
}

// lostLooks is after how many looks a job that seems lost is given up: one that was
// taken a moment ago seems so, too. A job that was given up wrongly is done twice.
const lostLooks = 4

// lost tells whether a job seems never to be done: it is gone from the board, or whoever
// ran it is.
func (b *Board) lost(ctx context.Context, row *rivertype.JobRow) (bool, error) {
	if row == nil {
		return true, nil
	}
	if row.State != rivertype.JobStateRunning {
		return false, nil
	}
	var free bool
	err := b.pool.QueryRow(ctx, "SELECT NOT EXISTS (SELECT FROM pg_locks WHERE locktype = 'advisory' AND database = (SELECT oid FROM pg_database WHERE datname = current_database()) AND classid = $1 AND objid = $2 AND objsubid = 2)", lockClass, lockOf(row.ID)).Scan(&free)
	if err != nil {
		return false, fmt.Errorf("look at who works: %w", err)
	}
	return free, nil
}

// why is what the last who tried was told.
func why(row *rivertype.JobRow) string {
	if len(row.Errors) == 0 {
		return "it was taken off the board"
	}
	return row.Errors[len(row.Errors)-1].Error
}
