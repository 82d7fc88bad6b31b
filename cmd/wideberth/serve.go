package main

import (
	"context"
	"fmt"
	"log/slog"
	"net"

	"wideberth/api"
	"wideberth/routing"
)

type serveCommand struct {
	Snapshot string `required:"" placeholder:"FILE" help:"Snapshot written by import."`
	Listen   string `default:"127.0.0.1:8080" placeholder:"ADDR" help:"Address to answer at."`
	Quiet    bool   `help:"Do not log requests."`
}

func (c *serveCommand) Run(ctx context.Context, w *world) error {
	snap, err := routing.Open(c.Snapshot)
	if err != nil {
		return err
	}
	planner, err := routing.NewPlanner(snap, nil)
	if err != nil {
		return err
	}
	level := slog.LevelInfo
	if c.Quiet {
		level = slog.LevelWarn
	}
	server := api.New(api.Options{
		Planner: planner, Now: w.now, Version: version,
		Log: slog.New(slog.NewTextHandler(w.err, &slog.HandlerOptions{Level: level})),
	})
	l, err := net.Listen("tcp", c.Listen)
	if err != nil {
		return wrong("listen", c.Listen, err.Error()+": give an address and a free port, like 127.0.0.1:8080")
	}
	fmt.Fprintf(w.out, "serving %s at http://%s (API described at /openapi.json)\n", snap.Name, l.Addr())
	return server.Serve(ctx, l)
}
