package main

import (
	"context"
	"fmt"
	"text/tabwriter"

	"wideberth/api/wire"
	"wideberth/exposure"
	"wideberth/osmdata/fault"
	"wideberth/routing"
	"wideberth/routing/briefing"
)

type planCommand struct {
	wishFlags
	To     string  `placeholder:"PLACE" help:"Where it leads; left out: back to the start."`
	Shape  string  `placeholder:"SHAPE" help:"calmest, loop (loops alone), there_and_back, way or longest_calm; left out: calmest, with --to a way."`
	MaxX   float64 `name:"max-reactions" placeholder:"NUMBER" help:"Of the longest calm walk: expected reactions it may cost."`
	Away   bool    `help:"Where nobody knows dog and handler: keeps off the ground of works, schools and cemeteries, service roads have a price."`
	Walks  int     `placeholder:"NUMBER" help:"How many different walks, 1 to 5; left out: up to 3."`
	Format string  `enum:"table,json,geojson,gpx" default:"table" help:"table, json, geojson or gpx."`
	JSON   bool    `name:"json" help:"The same as --format json."`
}

func (c *planCommand) Run(ctx context.Context, w *world) error {
	planner, wish, err := c.asked(w, c.more)
	if err != nil {
		return err
	}
	plan, err := planner.Plan(ctx, wish)
	if err == nil {
		plan, err = planner.Proved(ctx, wish, plan)
	}
	if err != nil {
		return byFlag(err)
	}
	out := wire.NewPlan(plan, planner.Frame(), briefing.Words{})
	switch {
	case c.JSON || c.Format == "json":
		return w.json(out)
	case c.Format == "geojson":
		return out.GeoJSON(w.out)
	case c.Format == "gpx":
		return out.GPX(w.out)
	}
	return printPlan(w, plan, &out, &wish)
}

// more puts what only a plan has into its body.
func (c *planCommand) more(p *routing.Planner, b *wire.WishBody) (wrong fault.Problems) {
	b.Shape, b.MaxReactions, b.Walks, b.Away = c.Shape, c.MaxX, c.Walks, c.Away
	if c.To != "" {
		to, ps := latLon(p, "to", c.To)
		b.To, wrong = &to, ps
	}
	return wrong
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
