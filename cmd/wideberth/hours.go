package main

import (
	"context"
	"fmt"
	"text/tabwriter"

	"wideberth/api/wire"
	"wideberth/routing"
	"wideberth/routing/briefing"
)

type hoursCommand struct {
	wishFlags
	Hours int    `default:"168" placeholder:"NUMBER" help:"How many whole hours from the departure's on, up to 336; left out: a week."`
	Shape string `placeholder:"SHAPE" help:"calmest or loop (loops alone); left out: calmest."`
	JSON  bool   `name:"json" help:"For other programs to read."`
}

// Run looks at the same walk hour by hour.
func (c *hoursCommand) Run(ctx context.Context, w *world) error {
	p, wish, err := c.asked(w, nil)
	if err != nil {
		return err
	}
	switch routing.Shape(c.Shape) {
	case "", routing.Calmest, routing.Loop:
		if c.Shape != "" {
			wish.Shape = routing.Shape(c.Shape)
		}
	default:
		return wrong("shape", c.Shape, "hours are looked at for calmest or loop")
	}
	hours, err := p.Week(ctx, wish, c.Hours)
	if err != nil {
		return byFlag(err)
	}
	out := wire.NewWeek(hours, p.Zone(), briefing.Words{})
	if c.JSON {
		return w.json(out)
	}
	return printHours(w, hours, &out, &wish)
}

// printHours prints the best hours and then all of them: a line a day, how many of ten
// walks stay calm in each hour.
func printHours(w *world, hours []routing.HourOutlook, out *wire.Week, wish *routing.Wish) error {
	fmt.Fprintf(w.out, "%.0f minutes with %s, hour by hour from %s (%s)\n\n", wish.Minutes, words.Dog(&wish.Dog), hours[0].Depart.Format("Mon 2 Jan 15:04"), out.TimeZone)
	t := tabwriter.NewWriter(w.out, 0, 4, 2, ' ', 0)
	for n, i := range out.Best {
		h := &hours[i]
		if n == 0 {
			fmt.Fprintln(t, "best\tstay calm\texpected reactions\tstrain\tmost from\t")
		}
		dark := ""
		if h.Dark {
			dark = "in the dark"
		}
		fmt.Fprintf(t, "%s\t%s\t%.3f\t%.3f\t%s\t%s\n", h.Depart.Format("Mon 15:04"), words.Of(h.CalmChance), h.Reactions, h.Strain, h.Most, dark)
	}
	if len(out.Best) == 0 {
		fmt.Fprintln(t, "No hour has a walk that keeps the limits.")
	}
	if err := t.Flush(); err != nil {
		return err
	}
	fmt.Fprint(w.out, "\nOf ten walks, so many stay calm (. none was found, * in the dark)\n           ")
	for h := range 24 {
		fmt.Fprintf(w.out, " %2d ", h)
	}
	day := ""
	for i := range hours {
		at := hours[i].Depart
		if d := at.Format("Mon 2 Jan"); d != day {
			day = d
			fmt.Fprintf(w.out, "\n%-11s", d)
			for range at.Hour() {
				fmt.Fprint(w.out, "    ")
			}
		}
		fmt.Fprintf(w.out, " %3s", hourCell(&hours[i]))
	}
	_, err := fmt.Fprintf(w.out, "\n\n%s\nMap data %s\n", out.Caution, out.Attribution)
	return err
}

// hourCell is what one hour offers in three letters.
func hourCell(h *routing.HourOutlook) string {
	if !h.Found {
		return ". "
	}
	mark := " "
	if h.Dark {
		mark = "*"
	}
	if most := 0.95; h.CalmChance >= most { // never ten of ten
		return ">9" + mark
	}
	return fmt.Sprintf("%.0f%s", 10*h.CalmChance, mark)
}
