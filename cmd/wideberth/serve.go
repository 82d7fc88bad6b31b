package main

import (
	"context"
	"crypto/rand"
	"fmt"
	"log/slog"
	"net"
	"path/filepath"
	"strings"

	"wideberth/api"
	"wideberth/api/knowledge"
	"wideberth/api/store"
)

type serveCommand struct {
	Snapshot string `required:"" placeholder:"FILE" help:"Snapshot written by import."`
	Listen   string `default:"127.0.0.1:8080" placeholder:"ADDR" help:"Address to answer at; left out: 127.0.0.1:8080."`
	Store    string `placeholder:"FILE|URL" help:"Where dogs and walks are kept: a SQLite file, or a postgres:// URL; left out: the snapshot's name with .db."`
	Quiet    bool   `help:"Do not log requests."`
}

func (c *serveCommand) Run(ctx context.Context, w *world) error {
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
	l, err := net.Listen("tcp", c.Listen)
	if err != nil {
		return wrong("listen", c.Listen, err.Error()+": give an address and a free port, like 127.0.0.1:8080")
	}
	fmt.Fprintf(w.out, "serving %s at http://%s (API described at /openapi.json)\n", planner.Snapshot().Name, l.Addr())
	return server.Serve(ctx, l)
}

// local is who everybody is on a server that asks nobody: one that listens on the
// machine itself only and for which no token was made. Any other address without
// tokens is refused, as it would open the account to everybody.
func (c *serveCommand) local(ctx context.Context, m *store.Store) (store.Who, error) {
	has, err := m.HasTokens(ctx)
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
	return store.Open(ctx, where, store.Options{Now: w.now, Rand: rand.Reader, Count: knowledge.Count})
}
