package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"time"

	"wideberth/api/wire"
	"wideberth/api/wire/dogfile"
	"wideberth/osmdata/plane"
	"wideberth/routing"
	"wideberth/routing/briefing"
	"wideberth/routing/reach"
	"wideberth/testdata"
)

type demoCommand struct {
	Snapshot []string `required:"" placeholder:"FILE|DIR|URL" help:"Snapshot written by import, or a folder or bucket of tiles; may be given several times."`
	Dir      string   `default:"." placeholder:"DIR" help:"Where walk.geojson and walk.gpx go."`
	From     string   `placeholder:"PLACE" help:"Where the walk begins; left out: the invented door, or a place of the map."`
	Depart   string   `placeholder:"RFC3339" help:"Departure; left out: tomorrow at 07:10."`
	Minutes  float64  `default:"30" help:"Wished duration."`
	Listen   string   `default:"127.0.0.1:8080" placeholder:"ADDR" help:"Address to answer at afterwards; empty: do not serve."`
}

// Run plans a walk for the invented dog, prints it, writes it beside the
// snapshot and serves.
func (c *demoCommand) Run(ctx context.Context, w *world) error {
	planner, err := openPlanner(w, c.Snapshot, "from", c.From)
	if err != nil {
		return err
	}
	dog, err := dogfile.Decode(bytes.NewReader(testdata.Dog()))
	if err != nil {
		return err
	}
	wish := routing.Wish{Shape: routing.Loop, Minutes: c.Minutes, Dog: *dog}
	if wish.Depart, err = c.departure(planner, w); err != nil {
		return err
	}
	plan, err := c.plan(ctx, planner, &wish)
	if err != nil {
		return err
	}
	out := wire.NewPlan(plan, planner.Frame(), briefing.Words{})
	if err := printPlan(w, plan, &out, &wish); err != nil {
		return err
	}
	if err := c.write(w, &out); err != nil {
		return err
	}
	if c.Listen == "" {
		return nil
	}
	serve := serveCommand{settings{Snapshot: c.Snapshot, Listen: c.Listen, Quiet: true}}
	return serve.Run(ctx, w)
}

func (c *demoCommand) departure(p *routing.Planner, w *world) (time.Time, error) {
	if c.Depart != "" {
		return departure(c.Depart, p, w)
	}
	y, m, d := w.now().In(p.Zone()).Date()
	return time.Date(y, m, d+1, 7, 10, 0, 0, p.Zone()), nil
}

// plan plans from the place asked for, or from the first likely one that has a
// walk.
func (c *demoCommand) plan(ctx context.Context, p *routing.Planner, wish *routing.Wish) (*routing.Plan, error) {
	if c.From != "" {
		at, err := place(p, "from", c.From)
		if err != nil {
			return nil, err
		}
		wish.From = at
		return p.Plan(ctx, *wish)
	}
	var last error
	for _, at := range starts(p) {
		wish.From = at
		plan, err := p.Plan(ctx, *wish)
		var none *reach.Infeasible
		if err == nil || !errors.As(err, &none) {
			return plan, err
		}
		last = err
	}
	return nil, last
}

// mostStarts bounds how many places of a map are tried.
const mostStarts = 50

// starts lists places to begin a walk at: the invented door, else the map's named
// places, else the middle of the map.
func starts(p *routing.Planner) []plane.Point {
	snap := p.Snapshot()
	if snap.Name == testdata.TownName {
		return []plane.Point{p.Frame().Forward(testdata.DoorLon, testdata.DoorLat)}
	}
	var out []plane.Point
	for _, s := range snap.Ground.Places[:min(mostStarts, len(snap.Ground.Places))] {
		out = append(out, s.At)
	}
	return append(out, snap.Bounds.Min.Add(snap.Bounds.Max).Mul(0.5))
}

// write puts the plan beside the snapshot in the two open forms.
func (c *demoCommand) write(w *world, plan *wire.Plan) error {
	for name, form := range map[string]func(io.Writer) error{"walk.geojson": plan.GeoJSON, "walk.gpx": plan.GPX} {
		var b bytes.Buffer
		if err := form(&b); err != nil {
			return err
		}
		path := filepath.Join(c.Dir, name)
		if err := os.WriteFile(path, b.Bytes(), 0o644); err != nil {
			return err
		}
		fmt.Fprintln(w.out, "wrote", path)
	}
	return nil
}
