package main

import (
	"context"
	"encoding/json"
	"fmt"
	"log/slog"
	"path/filepath"

	"wideberth/api/store/database"
	"wideberth/api/work"
	"wideberth/routing/depot"
	"wideberth/routing/tiling"
)

// sharing says where machines find each other's files and work.
type sharing struct {
	Bucket string `env:"WIDEBERTH_BUCKET" placeholder:"URL" help:"Bucket for the tiles, where other machines find them: s3://name?region=..., or file:///folder that they share. Left out: none."`
	Jobs   string `env:"WIDEBERTH_JOBS" placeholder:"URL" help:"PostgreSQL database through which workers take part in the import: postgres://user@host/database. Left out: this machine does all."`
}

// check says what does not go together.
func (c *sharing) check(tiles bool) error {
	switch {
	case c.Bucket != "" && !tiles:
		return wrong("bucket", depot.Redacted(c.Bucket), "goes with --tiles: one file has no need of it")
	case c.Jobs != "" && c.Bucket == "":
		return wrong("jobs", database.Redacted(c.Jobs), "workers find the files in a bucket: name it with --bucket")
	}
	return nil
}

// shared is an import that other machines take part in, or only take the tiles of; the
// zero value is one of this machine alone.
type shared struct {
	depot *depot.Depot
	board *work.Board
}

// open opens what is named; dir is the folder that files come to.
func (c *sharing) open(ctx context.Context, w *world, dir string) (s shared, err error) {
	if c.Bucket == "" {
		return s, nil
	}
	if s.depot, err = depot.Open(ctx, c.Bucket, depot.Options{Dir: dir, Now: w.now}); err != nil {
		return s, err
	}
	if c.Jobs != "" {
		if s.board, err = work.Open(ctx, c.Jobs, work.Options{Depot: s.depot, Log: slog.New(slog.NewTextHandler(w.err, nil))}); err != nil {
			s.close()
		}
	}
	return s, err
}

func (s *shared) close() {
	if s.board != nil {
		s.board.Close()
	}
	if s.depot != nil {
		_ = s.depot.Close() // nothing is under way
	}
}

// share is how steps are shared out, nil where they are not.
func (s *shared) share() func(context.Context, []*tiling.Step, func(int)) error {
	if s.board == nil {
		return nil
	}
	return func(ctx context.Context, due []*tiling.Step, done func(i int)) error {
		steps, index := make([]work.Step, len(due)), map[string]int{}
		for i, step := range due {
			for _, name := range step.Inputs {
				if _, err := s.depot.Push(ctx, name, filepath.Join(s.depot.Dir(), filepath.FromSlash(name))); err != nil {
					return err
				}
			}
			what, err := json.Marshal(step)
			if err != nil {
				return fmt.Errorf("describe a step: %w", err)
			}
			steps[i], index[step.Output] = work.Step{Inputs: step.Inputs, Output: step.Output, What: what}, i
		}
		return s.board.Share(ctx, steps, func(w work.Step) error {
			if err := s.depot.Bring(ctx, w.Output); err != nil {
				return err
			}
			done(index[w.Output])
			return nil
		})
	}
}

// publish puts the tiles and then their table into the bucket.
func (s *shared) publish(ctx context.Context, w *world, dir string) error {
	if s.depot == nil {
		return nil
	}
	n, err := s.depot.Publish(ctx, dir)
	if err == nil {
		fmt.Fprintf(w.out, "%s put into the bucket\n", number(n, "new tile"))
	}
	return err
}

type workerCommand struct {
	sharing
	Dir    string `required:"" placeholder:"DIR" help:"Folder for the files that are worked on; it can be thrown away when no worker runs."`
	AtOnce int    `default:"1" placeholder:"N" help:"Steps at once; each takes up to 1 GB of memory and one core. Left out: 1."`
}

// Run does steps until ctx ends.
func (c *workerCommand) Run(ctx context.Context, w *world) error {
	switch {
	case c.Bucket == "":
		return wrong("bucket", "", "name the bucket of the imports, like s3://name?region=eu-west-1")
	case c.Jobs == "":
		return wrong("jobs", "", "name the database of the imports, like postgres://user@host/database")
	case c.AtOnce < 1 || c.AtOnce > mostAtOnce:
		return wrong("at-once", fmt.Sprint(c.AtOnce), fmt.Sprintf("give 1 to %d", mostAtOnce))
	}
	d, err := depot.Open(ctx, c.Bucket, depot.Options{Dir: c.Dir, Now: w.now})
	if err != nil {
		return err
	}
	defer d.Close()
	log := slog.New(slog.NewTextHandler(w.err, nil))
	board, err := work.Open(ctx, c.Jobs, work.Options{Depot: d, AtOnce: c.AtOnce, Log: log, Do: func(ctx context.Context, dir string, what json.RawMessage) error {
		return doStep(ctx, log, dir, what)
	}})
	if err != nil {
		return err
	}
	defer board.Close()
	fmt.Fprintln(w.out, "working; a signal ends it")
	return board.Work(ctx)
}

// mostAtOnce is more steps than one machine does well.
const mostAtOnce = 256

// doStep does a step of an import by a program of the same version: others make other
// files.
func doStep(ctx context.Context, log *slog.Logger, dir string, what json.RawMessage) error {
	var s tiling.Step
	if err := json.Unmarshal(what, &s); err != nil {
		return fmt.Errorf("read a step: %w", err)
	}
	if s.Settings.Tool != version {
		return fmt.Errorf("the import runs wideberth %s, this worker %s: let both be the same", s.Settings.Tool, version)
	}
	log.Info("begins", "step", s.Output)
	err := s.Do(ctx, dir, nil)
	if err == nil {
		log.Info("done", "step", s.Output)
	}
	return err
}
