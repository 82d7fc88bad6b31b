package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"strconv"
	"strings"
	"text/tabwriter"
	"time"

	"wideberth/api/wire"
	"wideberth/api/wire/dogfile"
	"wideberth/exposure"
	"wideberth/exposure/strain"
	"wideberth/osmdata/fault"
	"wideberth/osmdata/plane"
	"wideberth/routing"
	"wideberth/routing/briefing"
	"wideberth/routing/snapshot"
)

type planCommand struct {
	Snapshot string   `required:"" placeholder:"FILE" help:"Snapshot written by import."`
	From     string   `required:"" placeholder:"LAT,LON" help:"Where the walk begins."`
	To       string   `placeholder:"LAT,LON" help:"Where it leads; left out: back to the start."`
	Minutes  *float64 `placeholder:"MINUTES" help:"Wished duration, 5 to 180; of a way the most it may take. Left out: 30, for a way twice the quickest."`
	Shape    string   `enum:",calmest,loop,there_and_back,way,longest_calm" default:"" placeholder:"SHAPE" help:"calmest, loop (loops alone), there_and_back, way or longest_calm; left out: calmest, with --to a way."`
	Strain   string   `enum:",none,usual,strict" default:"" placeholder:"SETTING" help:"What moving traffic, wide crossings and the dark count: none, usual or strict; left out: usual."`
	Soft     bool     `help:"Rather on grass, earth and wood."`
	MaxX     float64  `name:"max-reactions" placeholder:"NUMBER" help:"Of the longest calm walk: expected reactions it may cost."`
	Dog      string   `placeholder:"FILE.json" help:"The dog and its distances; left out: defaults."`
	Depart   string   `placeholder:"RFC3339" help:"Departure with its zone; left out: now."`
	Walks    int      `placeholder:"NUMBER" help:"How many different walks, 1 to 5; left out: up to 3."`
	weatherFlags
	Format string `enum:"table,json,geojson,gpx" default:"table" help:"table, json, geojson or gpx."`
}

func (c *planCommand) Run(ctx context.Context, w *world) error {
	planner, err := openPlanner(c.Snapshot)
	if err != nil {
		return err
	}
	wish, err := c.wish(planner, w)
	if err != nil {
		return err
	}
	plan, err := planner.Plan(ctx, wish)
	if err != nil {
		return byFlag(err)
	}
	out := wire.NewPlan(plan, planner.Frame())
	switch c.Format {
	case "json":
		return w.json(out)
	case "geojson":
		return out.GeoJSON(w.out)
	case "gpx":
		return out.GPX(w.out)
	}
	return printPlan(w, plan, &out, &wish)
}

// usualMinutes of a walk for which no length was wished. Our choice.
const usualMinutes = wire.UsualMinutes

// openPlanner makes a planner of a snapshot's file.
func openPlanner(path string) (*routing.Planner, error) {
	snap, err := snapshot.Open(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("%w: wideberth import writes one", err)
	}
	if err != nil {
		return nil, err
	}
	return routing.NewPlanner(snap, nil)
}

// wish makes the planner's wish from the command's words.
func (c *planCommand) wish(p *routing.Planner, w *world) (routing.Wish, error) {
	wish := routing.Wish{Shape: routing.Shape(c.Shape), MaxX: c.MaxX, Walks: c.Walks, Strain: strain.Setting(c.Strain), Soft: c.Soft, Weather: c.weather()}
	if wish.Shape == "" {
		wish.Shape = routing.Calmest
		if c.To != "" {
			wish.Shape = routing.Way
		}
	}
	switch {
	case c.Minutes != nil:
		wish.Minutes = *c.Minutes
	case wish.Shape == routing.Calmest || wish.Shape == routing.Loop || wish.Shape == routing.ThereAndBack:
		wish.Minutes = usualMinutes
	}
	from, err := place(p.Frame(), "from", c.From)
	if err != nil {
		return wish, err
	}
	wish.From = from
	if c.To != "" {
		to, err := place(p.Frame(), "to", c.To)
		if err != nil {
			return wish, err
		}
		wish.To = &to
	}
	if wish.Depart, err = departure(c.Depart, p, w); err != nil {
		return wish, err
	}
	dog, err := readDog(c.Dog)
	if err != nil {
		return wish, err
	}
	wish.Dog = *dog
	return wish, nil
}

// place reads LAT,LON.
func place(f plane.Frame, field, text string) (plane.Point, error) {
	lat, lon, ok := strings.Cut(text, ",")
	la, err1 := strconv.ParseFloat(strings.TrimSpace(lat), 64)
	lo, err2 := strconv.ParseFloat(strings.TrimSpace(lon), 64)
	if !ok || err1 != nil || err2 != nil {
		return plane.Point{}, wrong(field, text, "give latitude and longitude in degrees, like 39.75,-75.56")
	}
	if !(la >= -90 && la <= 90) || !(lo >= -180 && lo <= 180) {
		return plane.Point{}, wrong(field, text, "latitude lies between -90 and 90, longitude between -180 and 180; latitude comes first")
	}
	return f.Forward(lo, la), nil
}

func wrong(field, value, mend string) error {
	return fault.Problems{{Pointer: "--" + field, Value: value, Mend: mend}}
}

func departure(text string, p *routing.Planner, w *world) (time.Time, error) {
	if text == "" {
		return w.now().In(p.Zone()), nil
	}
	t, err := time.Parse(time.RFC3339, text)
	if err != nil {
		return t, wrong("depart", text, "give a time with its zone, like 2026-11-25T07:10:00-05:00")
	}
	return t, nil
}

// readDog reads a dog's file; without one it is a dog with the default distances
// for dogs.
func readDog(path string) (*exposure.Dog, error) {
	if path == "" {
		return exposure.DefaultDog(), nil
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	dog, err := dogfile.Decode(f)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	return dog, nil
}

// printPlan prints a plan for a person.
func printPlan(w *world, plan *routing.Plan, p *wire.Plan, wish *routing.Wish) error {
	fmt.Fprintf(w.out, "Walks with %s, leaving %s (%s)\n\n", words.Dog(&wish.Dog), wish.Depart.Format("Mon 2 Jan 15:04"), p.TimeZone)
	t := tabwriter.NewWriter(w.out, 0, 4, 2, ' ', 0)
	fmt.Fprintln(t, "walk\tstay calm\t\tmin\tkm\texpected reactions\tstrain\tmain road\tsoft ground\tmost from")
	for i := range plan.Walks {
		walk := &plan.Walks[i]
		most := "nothing in particular"
		if len(walk.Movers) > 0 {
			most = walk.Movers[0].Name
		}
		fmt.Fprintf(t, "%s\t%s\t%s\t%.0f\t%.1f\t%.3f\t%.3f\t%.0f min\t%.0f min\t%s\n", briefing.Letter(i), words.Of(walk.CalmChance),
			words.Range(walk.CalmLow, walk.CalmHigh), walk.DurationS/60, walk.LengthM/1000, walk.ExpectedReactions,
			walk.Strain, walk.MainRoadS/60, walk.SoftGroundS/60, most)
	}
	if err := t.Flush(); err != nil {
		return err
	}
	for i := 1; i < len(plan.Walks); i++ {
		if than := words.Compare(&plan.Walks[i], &plan.Walks[0], briefing.Letter(0)); than != "" {
			fmt.Fprintln(w.out, words.Say("plan.compare", "letter", briefing.Letter(i), "compare", than))
		}
	}
	if len(plan.Walks) > 0 {
		first := plan.Walks[0]
		first.Quality.Checking = false // nobody goes on to look here
		fmt.Fprintln(w.out, words.Proof(&first))
		if about := p.Walks[0].Quality.Covers; about != "" {
			fmt.Fprintln(w.out, plain(briefing.Sentence(about))+".")
		}
		printLegs(w, &plan.Walks[0], &p.Walks[0], &wish.Dog)
	}
	for _, n := range p.Notes {
		fmt.Fprintln(w.out, "Note:", plain(n))
	}
	for _, a := range p.Assumed {
		fmt.Fprintln(w.out, "Assumed:", plain(a))
	}
	fmt.Fprintf(w.out, "%s\nMap data %s\n", p.Caution, p.Attribution)
	return nil
}

func printLegs(w *world, walk *routing.Walk, told *wire.Walk, dog *exposure.Dog) {
	fmt.Fprintln(w.out)
	for _, m := range words.Meetings(walk, dog) {
		line := m.Near
		if m.Time != "" {
			line += ", " + m.Time
		}
		fmt.Fprintln(w.out, plain(briefing.Sentence(line)+"."))
	}
	for _, p := range words.Watch(walk) {
		fmt.Fprintln(w.out, "Watch", plain(p.Head+" "+p.Text))
	}
	fmt.Fprintf(w.out, "\nWalk A, leg by leg (on an average walk %s; carry more)\n", words.Treats(walk.TreatsLow, walk.TreatsHigh))
	t := tabwriter.NewWriter(w.out, 0, 4, 2, ' ', 0)
	fmt.Fprintln(t, "at\tturn\tway\tm\tground\troom left\tright\tsee ahead")
	for _, l := range told.Legs {
		mark := ""
		if l.RoomDefault {
			mark = "~"
		}
		fmt.Fprintf(t, "%s\t%s\t%s\t%.0f\t%s\t%s%.0f m\t%s%.0f m\t%.0f m\n", l.Clock, words.Say("turn."+l.Turn),
			l.Name, l.LengthM, words.Say("level."+l.Level), mark, l.RoomLeftM, mark, l.RoomRightM, l.SightM)
	}
	_ = t.Flush()
	fmt.Fprintln(w.out, "(~ room is a default of the street's class, not measured)")
}
