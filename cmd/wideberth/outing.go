package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"os"
	"strings"
	"text/tabwriter"
	"time"

	"wideberth/api"
	"wideberth/api/wire"
	"wideberth/routing"
	"wideberth/routing/outing"
	"wideberth/routing/outing/replay"
)

type outingCommand struct {
	Snapshot string `required:"" placeholder:"FILE" help:"Snapshot written by import."`
	Plan     string `required:"" placeholder:"FILE.json" help:"Gate, hours, dogs and people: what POST /v1/outings takes."`
	Runs     int    `default:"300" help:"Random replays of the check."`
	Format   string `enum:"table,json" default:"table" help:"table or json."`
}

// Run plans an outing, replays it and prints both.
func (c *outingCommand) Run(ctx context.Context, w *world) error {
	if c.Runs < 0 || c.Runs > replay.MostRuns {
		return wrong("runs", fmt.Sprint(c.Runs), fmt.Sprintf("give 0 to %d", replay.MostRuns))
	}
	p, err := openPlanner(c.Snapshot)
	if err != nil {
		return err
	}
	o, err := c.outing(p)
	if err != nil {
		return err
	}
	t, err := outing.Plan(ctx, p, o)
	if err != nil {
		return err
	}
	report, err := api.Replay(ctx, t, c.Runs, o.Seed)
	if err != nil {
		return err
	}
	check := wire.NewOutingCheck(report, t, p.Frame())
	out := wire.NewTimetable(t, p.Frame())
	if c.Format == "json" {
		return w.json(struct {
			Timetable wire.Timetable   `json:"timetable"`
			Check     wire.OutingCheck `json:"check"`
		}{out, check})
	}
	return printOuting(w, t, &out, &check)
}

// outing reads the plan's file.
func (c *outingCommand) outing(p *routing.Planner) (outing.Wish, error) {
	text, err := os.ReadFile(c.Plan)
	if err != nil {
		return outing.Wish{}, err
	}
	var body wire.OutingBody
	dec := json.NewDecoder(bytes.NewReader(text))
	dec.DisallowUnknownFields()
	if err := dec.Decode(&body); err != nil {
		return outing.Wish{}, wrong("plan", c.Plan, "is not an outing in JSON: "+err.Error())
	}
	if dec.More() {
		return outing.Wish{}, wrong("plan", c.Plan, "goes on after the outing: give one outing a file")
	}
	for i := range body.Dogs {
		if body.Dogs[i].DogID != "" {
			return outing.Wish{}, wrong("plan", body.Dogs[i].DogID, "names a kept dog: give its distances here, or ask the server")
		}
	}
	o, err := body.Outing(p.Frame(), p.Zone())
	if err != nil {
		return o, fmt.Errorf("%s: %w", c.Plan, err)
	}
	return o, nil
}

// printOuting prints a timetable for the wall: the gate's arithmetic first.
func printOuting(w *world, t *outing.Timetable, out *wire.Timetable, check *wire.OutingCheck) error {
	g := &out.Gate
	fmt.Fprintf(w.out, "Outing on %s to %s (%s)\n", t.Start.Format("Mon 2 Jan 15:04"), t.Start.Add(time.Duration(t.Minutes)*time.Minute).Format("15:04"), out.TimeZone)
	fmt.Fprintf(w.out, "The gate: a walk keeps it for %.1f min going out and %.1f coming home, so at most %d walks fit in; dogs: %d\n%s\n\n", g.OutMinutes, g.InMinutes, g.MostWalks, g.Dogs, out.Rules)
	tab := tabwriter.NewWriter(w.out, 0, 4, 2, ' ', 0)
	fmt.Fprintln(tab, "be there\tleave\tback by\tdog\twith\tmin\tof\tneeds\texpected reactions\thold until")
	for i := range t.Rows {
		r := &t.Rows[i]
		name := r.Dog
		if r.Bite {
			name += " (bite)"
		}
		var holds []string
		for _, h := range r.Holds {
			holds = append(holds, h.NotBefore.Format("15:04"))
		}
		fmt.Fprintf(tab, "%s\t%s\t%s\t%s\t%s\t%.0f\t%.0f\t%.0f m\t%.2f\t%s\n", r.Meet.Format("15:04"), r.Leave.Format("15:04"), r.Back.Format("15:04"),
			name, r.Person, r.GrantedMin, r.WishedMin, r.NeedM, r.Reactions, strings.Join(holds, ", "))
	}
	if err := tab.Flush(); err != nil {
		return err
	}
	fmt.Fprintf(w.out, "\nGranted: %d of %d dogs, %.0f of %.0f minutes; at most %d out at once\n", len(t.Rows), len(t.Rows)+len(t.Unserved), t.GrantedMin, t.WishedMin, t.MostAtOnce)
	var people []string
	for _, l := range t.Loads {
		people = append(people, fmt.Sprintf("%s %d walks, %d of %d min", l.Person, l.Walks, l.WalkMin, l.HoursMin))
	}
	fmt.Fprintf(w.out, "People: %s\n", strings.Join(people, "; "))
	for _, p := range out.Pinches[:min(3, len(out.Pinches))] {
		fmt.Fprintf(w.out, "Tight: %s and %s at %s, no nearer than %.0f m (need %.0f)\n", p.Dogs[0], p.Dogs[1], p.At, p.LeastM, p.NeedM)
	}
	fmt.Fprintln(w.out, plain(check.Verdict))
	if s := out.Shortage; s != nil {
		fmt.Fprintln(w.out, plain(s.Text))
		for _, h := range s.Helps {
			fmt.Fprintln(w.out, "Would help:", plain(h.Text))
		}
	}
	for _, a := range out.Assumed {
		fmt.Fprintln(w.out, "Assumed:", plain(a))
	}
	fmt.Fprintf(w.out, "%s\nMap data %s\n", out.Caution, out.Attribution)
	return nil
}
