package main

import (
	"context"
	"errors"
	"fmt"
	"math"
	"text/tabwriter"

	"wideberth/api/wire"
	"wideberth/api/wire/kept"
	"wideberth/osmdata/fault"
	"wideberth/routing"
	"wideberth/routing/briefing"
	"wideberth/routing/errand"
)

type whereCommand struct {
	wishFlags
	Drive  *float64 `placeholder:"MINUTES" help:"How long the drive may take, one way and with parking, 1 to 60; left out: 15."`
	OnFoot bool     `help:"No car: the door alone, now and at a better hour."`
	Most   int      `placeholder:"NUMBER" help:"How many places, 1 to 10; left out: five."`
	Free   []string `placeholder:"HH:MM-HH:MM" help:"Hours in which you can go out, with commas between; left out: 06:00-22:00."`
	Unlit  bool     `help:"Also on unlit ways in the dark; left out: in daylight or on lit ways."`
	Shape  string   `placeholder:"SHAPE" help:"calmest, loop (loops alone) or there_and_back; left out: calmest."`
	Format string   `enum:"table,json" default:"table" help:"table or json."`
}

// Run says where to go, and when.
func (c *whereCommand) Run(ctx context.Context, w *world) error {
	p, asked, err := c.errand(w)
	if err != nil {
		return err
	}
	found, err := errand.New(p).Where(ctx, p, asked)
	if err != nil {
		return byFlag(err)
	}
	out := wire.NewWhere(found, p.Land(), nil, briefing.Words{})
	if c.Format == "json" {
		return w.json(out)
	}
	return printWhere(w, found, &out, &asked)
}

// errand is what the words ask for, by way of the form that HTTP has, so that both have
// the same defaults. All that is wrong is told together.
func (c *whereCommand) errand(w *world) (*routing.Planner, errand.Errand, error) {
	body := wire.WhereBody{DriveMinutes: c.Drive, OnFoot: c.OnFoot, Most: c.Most}
	if c.Free != nil || c.Unlit {
		body.FreeHours = &kept.FreeHours{Spans: c.Free, Unlit: c.Unlit}
	}
	p, wish, err := c.asked(w, func(_ *routing.Planner, b *wire.WishBody) fault.Problems {
		b.Shape = c.Shape
		return nil
	})
	var wrong fault.Problems
	if err != nil && !errors.As(err, &wrong) {
		return nil, errand.Errand{}, err
	}
	wish.Free = wire.FreeHours(body.FreeHours)
	body.Minutes = &wish.Minutes
	e := body.Errand(wish)
	if len(wrong) > 0 { // else the search tells the others, with what the map knows
		wrong = append(append(wrong, wish.Free.Check()...), e.Beside()...)
	}
	return p, e, byFlag(wrong.Err())
}

// printWhere prints the options for a person.
func printWhere(w *world, found *errand.Choices, out *wire.Where, e *errand.Errand) error {
	fmt.Fprintf(w.out, "Where to go for %.0f minutes with %s, asked for %s (%s)\n\n", e.Minutes, words.Dog(&e.Dog), e.Depart.In(found.Options[0].Leave.Location()).Format("Mon 2 Jan 15:04"), out.TimeZone)
	t := tabwriter.NewWriter(w.out, 0, 4, 2, ' ', 0)
	fmt.Fprintln(t, "\twhere\tleave\tdrive\twalk from\tstay calm\texpected reactions\tstrain\tsaves")
	for i := range found.Options {
		o := &found.Options[i]
		by, saves := "", ""
		if o.Spot != nil {
			by = plain(words.Drive(o.DriveS))
		}
		if o.Kind != errand.DoorNow && found.NoDoor == nil {
			saves = fmt.Sprintf("%.0f in 100", math.Round(100*o.Saves.Share))
		}
		walk := o.Walk()
		fmt.Fprintf(t, "%d\t%s\t%s\t%s\t%s\t%s\t%.3f\t%.3f\t%s\n", i+1, plain(out.Options[i].Name), o.Leave.Format("Mon 15:04"), by,
			o.Plan.Depart.Format("15:04"), words.Of(walk.CalmChance), walk.ExpectedReactions, walk.Strain, saves)
	}
	if err := t.Flush(); err != nil {
		return err
	}
	fmt.Fprintln(w.out)
	for i := range found.Options {
		if l := found.Options[i].Later; l != nil {
			fmt.Fprintf(w.out, "%d  leaving %s instead: expected reactions %.3f, strain %.3f\n", i+1, l.Leave.Format("Mon 15:04"), l.Reactions, l.Strain)
		}
		for _, n := range out.Options[i].Notes {
			fmt.Fprintf(w.out, "%d  %s\n", i+1, plain(n))
		}
	}
	for _, n := range out.Notes {
		fmt.Fprintln(w.out, plain(n))
	}
	for _, a := range out.Assumed {
		fmt.Fprintln(w.out, "Assumed:", plain(a))
	}
	fmt.Fprintf(w.out, "%s\nMap data %s\n", out.Caution, out.Attribution)
	return nil
}
