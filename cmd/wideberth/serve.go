package main

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"path/filepath"
	"strings"
	"time"

	"wideberth/api"
	"wideberth/api/knowledge"
	"wideberth/api/store"
	"wideberth/api/store/database"
	"wideberth/routing/atlas"
	"wideberth/routing/depot"
)

type serveCommand struct {
	settings
}

// Run answers until ctx ends; then it drains and ends.
func (c *serveCommand) Run(ctx context.Context, w *world) error {
	now, err := c.clock(w.now)
	if err != nil {
		return err
	}
	w = &world{out: w.out, err: w.err, tty: w.tty, now: now, hangup: w.hangup}
	options := api.Options{Now: w.now, Version: version, Log: c.logger(w)}
	if options.Proxies, err = c.proxies(); err != nil {
		return err
	}
	if options.Drain, err = c.drain(); err != nil {
		return err
	}
	maps, err := c.maps()
	if err != nil {
		return err
	}
	if options.Atlas, err = openAtlas(c.Snapshot, w.now, maps); err != nil {
		return err
	}
	memory, err := openStore(ctx, w, c.Store, c.Snapshot)
	if err != nil {
		return err
	}
	defer memory.Close()
	options.Store = memory
	if options.Local, err = c.local(ctx, memory); err != nil {
		return err
	}
	var flush func()
	if options.Traces, flush, err = traced(ctx); err != nil {
		return err
	}
	defer flush()
	l, err := (&net.ListenConfig{}).Listen(ctx, "tcp", c.Listen)
	if err != nil {
		return wrong("listen", c.Listen, err.Error()+": give an address and a free port, like 127.0.0.1:8080")
	}
	reload := func(ctx context.Context) (atlas.Change, error) { return readAnew(ctx, options.Atlas, options.Log) }
	ctx, end := context.WithCancel(ctx)
	defer end()
	go hungUp(ctx, w.hangup, end, reload)
	var unmeasure func() error
	if options.Metrics, unmeasure, err = measured(ctx, w, c.Metrics, reload); err != nil {
		return errors.Join(err, l.Close())
	}
	server := api.New(options)
	fmt.Fprintf(w.out, "serving %s at http://%s (API described at /openapi.json)\n", atlas.Names(options.Atlas.Tiles()), l.Addr())
	return errors.Join(server.Serve(ctx, l), unmeasure())
}

// logger writes what happens, in the form asked for.
func (c *settings) logger(w *world) *slog.Logger {
	o := &slog.HandlerOptions{Level: slog.LevelInfo}
	if c.Quiet {
		o.Level = slog.LevelWarn
	}
	if c.Log == "json" {
		return slog.New(slog.NewJSONHandler(w.err, o))
	}
	return slog.New(slog.NewTextHandler(w.err, o))
}

// clock is that of the machine, or one that shows the time asked for now and runs on.
func (c *serveCommand) clock(now func() time.Time) (func() time.Time, error) {
	if c.Clock == "" {
		return now, nil
	}
	first, err := time.Parse(time.RFC3339, c.Clock)
	if err != nil {
		return nil, wrong("clock", c.Clock, "give a time with its zone, like 2026-11-25T07:10:00-05:00")
	}
	begun := now()
	return func() time.Time { return first.Add(now().Sub(begun)) }, nil
}

// local is who everybody is on a server that asks nobody: one that listens on the
// machine itself only and for which no token was made. Any other address without
// tokens is refused, as it would open the account to everybody.
func (c *serveCommand) local(ctx context.Context, m *store.Store) (store.Who, error) {
	has, err := m.Keyed(ctx)
	if err != nil || has {
		return store.Who{}, err
	}
	host, _, err := net.SplitHostPort(c.Listen)
	if err != nil {
		return store.Who{}, wrong("listen", c.Listen, "give an address and a port, like 127.0.0.1:8080")
	}
	if ip := net.ParseIP(host); host != "localhost" && (ip == nil || !ip.IsLoopback()) {
		return store.Who{}, wrong("listen", c.Listen, "others could reach it and no token was made: make one first with wideberth token, or listen on 127.0.0.1")
	}
	return m.Local(ctx)
}

// openStore opens the memory: at a place that was named, or beside the snapshot.
func openStore(ctx context.Context, w *world, where string, snapshots []string) (*store.Store, error) {
	if where == "" && len(snapshots) > 0 && depot.Is(snapshots[0]) {
		return nil, wrong("store", "", "name a file or a database: beside a bucket there is no room for one")
	}
	if where == "" {
		where = storeBeside(snapshots)
	}
	m, err := store.Open(ctx, where, store.Options{Now: w.now, Rand: rand.Reader, Count: knowledge.Count})
	if err == nil && m.Made() {
		fmt.Fprintf(w.err, "wideberth: there was no store: a new and empty one was made, %s\n", database.Redacted(where))
	}
	if err == nil && m.Cramped() {
		fmt.Fprintln(w.err, "wideberth: the disk is full: what is kept is read through one connection, and no other program can read it; make room and start again")
	}
	return m, err
}

// storeBeside is the store of maps that have no other: it is called as the first.
func storeBeside(snapshots []string) string {
	if len(snapshots) == 0 {
		return ""
	}
	snapshot := filepath.Clean(snapshots[0])
	return strings.TrimSuffix(snapshot, filepath.Ext(snapshot)) + ".db"
}
