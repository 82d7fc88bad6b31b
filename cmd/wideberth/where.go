package main

import (
	"context"
	"fmt"
	"math"
	"text/tabwriter"

	"wideberth/api/wire"
	"wideberth/api/wire/kept"
	"wideberth/routing"
	"wideberth/routing/errand"
)

type whereCommand struct {
	Snapshot string   `required:"" placeholder:"FILE" help:"Snapshot written by import."`
	From     string   `required:"" placeholder:"LAT,LON" help:"The door."`
	Minutes  float64  `placeholder:"MINUTES" default:"30" help:"Wished duration of the walk, 5 to 180; left out: 30."`
	Drive    *float64 `placeholder:"MINUTES" help:"How long the drive may take, one way and with parking, 1 to 60; left out: 15."`
	OnFoot   bool     `help:"No car: the door alone, now and at a better hour."`
	Most     int      `placeholder:"NUMBER" help:"How many places, 1 to 10; left out: five."`
	Free     []string `placeholder:"HH:MM-HH:MM" help:"Hours in which you can go out, with commas between; left out: 06:00-22:00."`
	Unlit    bool     `help:"Also on unlit ways in the dark; left out: in daylight or on lit ways."`
	Shape    string   `enum:",calmest,loop,there_and_back" default:"" placeholder:"SHAPE" help:"calmest, loop (loops alone) or there_and_back; left out: calmest."`
	Strain   string   `enum:",none,usual,strict" default:"" placeholder:"SETTING" help:"What moving traffic, wide crossings and the dark count: none, usual or strict; left out: usual."`
	Soft     bool     `help:"Rather on grass, earth and wood."`
	Dog      string   `placeholder:"FILE.json" help:"The dog and its distances; left out: defaults."`
	Depart   string   `placeholder:"RFC3339" help:"Leaving the house, with its zone; left out: now."`
	weatherFlags
	Format string `enum:"table,json" default:"table" help:"table or json."`
}

// Run says where to go, and when.
func (c *whereCommand) Run(ctx context.Context, w *world) error {
	p, err := openPlanner(c.Snapshot)
	if err != nil {
		return err
	}
	asked, err := c.errand(p, w)
	if err != nil {
		return err
	}
	found, err := errand.New(p).Where(ctx, p, asked)
	if err != nil {
		return byFlag(err)
	}
	out := wire.NewWhere(found, p.Land(), nil)
	if c.Format == "json" {
		return w.json(out)
	}
	return printWhere(w, found, &out, &asked)
}

// errand is what the words ask for, by way of the form that HTTP has, so that both have
// the same defaults.
func (c *whereCommand) errand(p *routing.Planner, w *world) (errand.Errand, error) {
	body := wire.WhereBody{DriveMinutes: c.Drive, OnFoot: c.OnFoot, Most: c.Most}
	body.Shape, body.Minutes, body.Strain, body.SoftGround = c.Shape, &c.Minutes, c.Strain, c.Soft
	if c.Free != nil || c.Unlit {
		body.FreeHours = &kept.FreeHours{Spans: c.Free, Unlit: c.Unlit}
	}
	wish := body.Wish(p.Frame())
	wish.Minutes, wish.Weather, wish.Free = c.Minutes, c.weather(), wire.FreeHours(body.FreeHours)
	var err error
	if wish.From, err = place(p, "from", c.From); err != nil {
		return errand.Errand{}, err
	}
	if wish.Depart, err = departure(c.Depart, p, w); err != nil {
		return errand.Errand{}, err
	}
	dog, err := readDog(c.Dog)
	if err != nil {
		return errand.Errand{}, err
	}
	wish.Dog = *dog
	e := body.Errand(wish)
	e.Minutes = c.Minutes
	return e, nil
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
