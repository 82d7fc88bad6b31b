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
	"wideberth/api/wire/roster"
	"wideberth/routing"
	"wideberth/routing/briefing"
	"wideberth/routing/outing"
	"wideberth/routing/outing/replay"
	"wideberth/routing/outing/week"
)

type outingCommand struct {
	Snapshot []string `required:"" placeholder:"FILE|DIR|URL" help:"Snapshot written by import, or a folder or bucket of tiles; may be given several times."`
	Plan     string   `required:"" placeholder:"FILE.json" help:"Gate, hours, dogs and people: what POST /v1/outings takes."`
	Runs     int      `default:"300" help:"Random replays of the check."`
	Dogs     string   `placeholder:"FILE.csv" help:"A table of dogs in place of the plan's: name, room, minutes, who, bite, or any columns under a head line."`
	People   string   `placeholder:"FILE.csv" help:"A table of people in place of the plan's: name, experience, from, to."`
	Write    string   `enum:",dogs,people" default:"" help:"Print the dogs or the people as such a table, and plan nothing."`
	Days     int      `default:"1" help:"Plan it for so many days, 1 to 7, at the same hours, with loads fair over all of them."`
	Format   string   `enum:"table,json,csv" default:"table" help:"table, json, or csv for the walks alone."`
}

// Run plans an outing, replays it and prints both.
func (c *outingCommand) Run(ctx context.Context, w *world) error {
	if c.Runs < 0 || c.Runs > replay.MostRuns {
		return wrong("runs", fmt.Sprint(c.Runs), fmt.Sprintf("give 0 to %d", replay.MostRuns))
	}
	body, err := c.body()
	if err != nil {
		return err
	}
	p, err := openPlanner(w, c.Snapshot, "plan", fmt.Sprintf("%g,%g", body.Gate.Lat, body.Gate.Lon))
	if err != nil {
		return err
	}
	if err := c.fill(&body, p, w); err != nil {
		return err
	}
	if c.Write != "" {
		written := roster.WrittenBody{Of: c.Write, Start: body.Start, Minutes: body.Minutes, Dogs: body.Dogs, People: body.People}
		return c.printTable(w, &written, p)
	}
	o, err := body.Outing(p.Frame(), p.Zone())
	if err != nil {
		return fmt.Errorf("%s: %w", c.Plan, err)
	}
	p = p.Under(body.Weather.Weather())
	if c.Days != 1 {
		return c.week(ctx, w, p, o)
	}
	t, err := outing.Plan(ctx, p, o)
	if err != nil {
		return err
	}
	report, err := api.Replay(ctx, t, c.Runs, o.Seed)
	if err != nil {
		return err
	}
	check := wire.NewOutingCheck(report, t, p.Frame(), briefing.Words{})
	out := wire.NewTimetable(t, p.Frame(), briefing.Words{})
	switch c.Format {
	case "csv":
		if !check.Kept {
			fmt.Fprintln(w.err, plain(check.Verdict))
		}
		return c.printTable(w, &roster.WrittenBody{Of: "walks", Timetable: &out}, p)
	case "json":
		return w.json(struct {
			Timetable wire.Timetable   `json:"timetable"`
			Check     wire.OutingCheck `json:"check"`
		}{out, check})
	}
	return printOuting(w, t, &out, &check)
}

// body reads the plan's file.
func (c *outingCommand) body() (body wire.OutingBody, err error) {
	text, err := os.ReadFile(c.Plan)
	if err != nil {
		return body, err
	}
	dec := json.NewDecoder(bytes.NewReader(text))
	dec.DisallowUnknownFields()
	if err := dec.Decode(&body); err != nil {
		return body, wrong("plan", c.Plan, "is not an outing in JSON: "+err.Error())
	}
	if dec.More() {
		return body, wrong("plan", c.Plan, "goes on after the outing: give one outing a file")
	}
	return body, nil
}

// fill reads the tables that take the place of the plan's lists.
func (c *outingCommand) fill(body *wire.OutingBody, p *routing.Planner, w *world) error {
	if err := c.tables(body, p, w); err != nil {
		return err
	}
	for i := range body.Dogs {
		if body.Dogs[i].DogID != "" && c.Write == "" {
			return wrong("plan", body.Dogs[i].DogID, "names a kept dog: give its distances here, or ask the server")
		}
	}
	return nil
}

// tables reads the tables of dogs and people; columns that nobody knows are told.
func (c *outingCommand) tables(body *wire.OutingBody, p *routing.Planner, w *world) error {
	asked := roster.Body{Start: body.Start, Minutes: body.Minutes}
	for _, file := range []struct {
		flag, path string
		to         *string
	}{{"dogs", c.Dogs, &asked.Dogs}, {"people", c.People, &asked.People}} {
		if file.path == "" {
			continue
		}
		text, err := os.ReadFile(file.path)
		if err != nil {
			return err
		}
		if *file.to = string(text); *file.to == "" {
			return wrong(file.flag, file.path, "is empty")
		}
	}
	if c.Dogs == "" && c.People == "" {
		return nil
	}
	lists, err := asked.Read(p.Zone())
	if err != nil {
		return err
	}
	if c.Dogs != "" {
		body.Dogs = lists.Dogs
	}
	if c.People != "" {
		body.People = lists.People
	}
	if len(lists.PassedOver) > 0 {
		fmt.Fprintf(w.err, "Passed over, as no column is called so: %s\n", strings.Join(lists.PassedOver, ", "))
	}
	return nil
}

func (c *outingCommand) printTable(w *world, asked *roster.WrittenBody, p *routing.Planner) error {
	table, err := asked.Write(p.Zone())
	if err != nil {
		return err
	}
	_, err = w.out.Write(table)
	return err
}

// printOuting prints a timetable for the wall: the gate's arithmetic first.
func printOuting(w *world, t *outing.Timetable, out *wire.Timetable, check *wire.OutingCheck) error {
	g := &out.Gate
	fmt.Fprintf(w.out, "Outing on %s to %s (%s)\n", t.Start.Format("Mon 2 Jan 15:04"), t.Start.Add(time.Duration(t.Minutes)*time.Minute).Format("15:04"), out.TimeZone)
	fmt.Fprintf(w.out, "The gate: a walk keeps it for %.1f min going out and %.1f coming home, so at most %d walks fit in; dogs: %d\n%s\n\n", g.OutMinutes, g.InMinutes, g.MostWalks, g.Dogs, out.Rules)
	tab := tabwriter.NewWriter(w.out, 0, 4, 2, ' ', 0)
	fmt.Fprintln(tab, "be there\tleave\tback by\tdog\twith\tmin\tof\tneeds\texpected reactions\talone\thold until")
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
		fmt.Fprintf(tab, "%s\t%s\t%s\t%s\t%s\t%.0f\t%.0f\t%.0f m\t%.2f\t%.2f\t%s\n", r.Meet.Format("15:04"), r.Leave.Format("15:04"), r.Back.Format("15:04"),
			name, with(r), r.GrantedMin, r.WishedMin, r.NeedM, r.Reactions, r.AloneX(), strings.Join(holds, ", "))
	}
	if err := tab.Flush(); err != nil {
		return err
	}
	if len(t.Resting) > 0 {
		fmt.Fprintf(w.out, "\nResting: %s\n", strings.Join(t.Resting, ", "))
	}
	fmt.Fprintf(w.out, "\nGranted: %d of %d dogs, %.0f of %.0f minutes; at most %d out at once\nExpected reactions: %.2f, against %.2f if each went out alone at its best hour\n", len(t.Rows), len(t.Rows)+len(t.Unserved), t.GrantedMin, t.WishedMin, t.MostAtOnce, t.Reactions, t.AloneX())
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

// with is who walks a dog, and which dog goes along.
func with(r *outing.Row) string {
	out := r.Person
	if r.Second != "" {
		out += " and " + r.Second
	}
	if r.With != "" {
		out += ", beside " + r.With
	}
	return out
}

// week plans all days, has each replayed, and prints what everybody has of them.
func (c *outingCommand) week(ctx context.Context, w *world, p *routing.Planner, o outing.Wish) error {
	all, err := week.Plan(ctx, p, o, c.Days, nil)
	if err != nil {
		return err
	}
	out := wire.NewOutingWeek(all, p.Frame(), briefing.Words{})
	if c.Format == "json" {
		return w.json(out)
	}
	for i := range all.Days {
		t := all.Days[i].Timetable
		if t == nil {
			fmt.Fprintf(w.out, "%s: no outing, every dog rests or nobody comes\n\n", all.Days[i].Start.Format("Mon 2 Jan"))
			continue
		}
		report, err := api.Replay(ctx, t, c.Runs, o.Seed)
		if err != nil {
			return err
		}
		check := wire.NewOutingCheck(report, t, p.Frame(), briefing.Words{})
		if err := printOuting(w, t, out.Days[i].Timetable, &check); err != nil {
			return err
		}
		fmt.Fprintln(w.out)
	}
	tab := tabwriter.NewWriter(w.out, 0, 4, 2, ' ', 0)
	fmt.Fprintln(tab, "dog\twalks\tdays off\tleft in\tmin\tof")
	for _, d := range all.Dogs {
		fmt.Fprintf(tab, "%s\t%d\t%d\t%d\t%.0f\t%.0f\n", d.Name, d.Walks, d.Rests, d.LeftIn, d.GrantedMin, d.WishedMin)
	}
	fmt.Fprintln(tab, "\nperson\twalks\tmin\tof there")
	for _, l := range all.Loads {
		fmt.Fprintf(tab, "%s\t%d\t%d\t%d\n", l.Person, l.Walks, l.WalkMin, l.HoursMin)
	}
	if err := tab.Flush(); err != nil {
		return err
	}
	fmt.Fprintf(w.out, "Fair loads over all days: %.3f (1: all walk the same share of their time)\n", all.Fairness())
	return nil
}
