package main

import (
	"context"
	"crypto/rand"
	"fmt"
	"log/slog"
	"net"
	"path/filepath"
	"strings"
	"time"

	"wideberth/api"
	"wideberth/api/knowledge"
	"wideberth/api/store"
)

type serveCommand struct {
	Snapshot string `required:"" placeholder:"FILE" help:"Snapshot written by import."`
	Listen   string `default:"127.0.0.1:8080" placeholder:"ADDR" help:"Address to answer at; left out: 127.0.0.1:8080."`
	Store    string `placeholder:"FILE|URL" help:"Where dogs and walks are kept: a SQLite file, or a postgres:// URL; left out: the snapshot's name with .db."`
	Clock    string `placeholder:"TIME" help:"Begin at this time, with its zone, instead of now: to rehearse another day. What is kept is dated by it."`
	Quiet    bool   `help:"Do not log requests."`
}

func (c *serveCommand) Run(ctx context.Context, w *world) error {
	now, err := c.clock(w.now)
	if err != nil {
		return err
	}
	w = &world{out: w.out, err: w.err, tty: w.tty, now: now}
	planner, err := openPlanner(c.Snapshot)
	if err != nil {
		return err
	}
	level := slog.LevelInfo
	if c.Quiet {
		level = slog.LevelWarn
	}
	memory, err := openStore(ctx, w, c.Store, c.Snapshot)
	if err != nil {
		return err
	}
	defer memory.Close()
	local, err := c.local(ctx, memory)
	if err != nil {
		return err
	}
	server := api.New(api.Options{
		Planner: planner, Now: w.now, Version: version, Store: memory, Local: local,
		Log: slog.New(slog.NewTextHandler(w.err, &slog.HandlerOptions{Level: level})),
	})
	l, err := (&net.ListenConfig{}).Listen(ctx, "tcp", c.Listen)
	if err != nil {
		return wrong("listen", c.Listen, err.Error()+": give an address and a free port, like 127.0.0.1:8080")
	}
	fmt.Fprintf(w.out, "serving %s at http://%s (API described at /openapi.json)\n", planner.Snapshot().Name, l.Addr())
	return server.Serve(ctx, l)
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
func openStore(ctx context.Context, w *world, where, snapshot string) (*store.Store, error) {
	if where == "" {
		where = strings.TrimSuffix(snapshot, filepath.Ext(snapshot)) + ".db"
	}
	m, err := store.Open(ctx, where, store.Options{Now: w.now, Rand: rand.Reader, Count: knowledge.Count})
	if err == nil && m.Made() {
		fmt.Fprintf(w.err, "wideberth: there was no store: a new and empty one was made, %s\n", store.Redacted(where))
	}
	if err == nil && m.Cramped() {
		fmt.Fprintln(w.err, "wideberth: the disk is full: what is kept is read through one connection, and no other program can read it; make room and start again")
	}
	return m, err
}
