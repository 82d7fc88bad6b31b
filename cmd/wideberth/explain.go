package main

import (
	"fmt"
	"math"
	"text/tabwriter"

	"wideberth/routing"
	"wideberth/routing/briefing"
	"wideberth/routing/snapshot"
)

type explainCommand struct {
	Snapshot []string `required:"" placeholder:"FILE|DIR|URL" help:"Snapshot written by import, or a folder or bucket of tiles; may be given several times."`
	At       string   `required:"" placeholder:"PLACE" help:"A place on or near a way."`
	Dog      string   `placeholder:"FILE.json" help:"The dog and its distances; left out: defaults."`
	Depart   string   `placeholder:"RFC3339" help:"The hour to look at; left out: now."`
	Most     int      `default:"12" help:"How many lines at most."`
	weatherFlags
}

// Run takes the hazard of the way at a place apart, so that it can be argued with.
func (c *explainCommand) Run(w *world) error {
	p, err := openPlanner(w, c.Snapshot, "at", c.At)
	if err != nil {
		return err
	}
	at, err := place(p, "at", c.At)
	if err != nil {
		return err
	}
	when, err := departure(c.Depart, p, w)
	if err != nil {
		return err
	}
	dog, err := readDog(c.Dog)
	if err != nil {
		return err
	}
	edge, err := p.EdgeAt(at)
	if err != nil {
		return err
	}
	if err := c.checkWeather(); err != nil {
		return err
	}
	p = p.Under(c.weather())
	b := p.Explain(edge, dog, when, nil)
	fmt.Fprintf(w.out, "%s, %s: %.3f expected reactions in ten minutes on such ground (%s)\n\n", b.Name,
		when.In(p.Zone()).Format("Mon 2 Jan 15:04"), b.HazardPerS*600, routing.LevelOf(b.HazardPerS))
	t := tabwriter.NewWriter(w.out, 0, 4, 2, ' ', 0)
	fmt.Fprintln(t, "share\tkind\twhat\tnearest\tin sight\tan hour\tsomebody there\tchance\trests on")
	for _, term := range b.Terms[:min(c.Most, len(b.Terms))] {
		sight := "yes"
		if !term.InSight {
			sight = "no"
		}
		fmt.Fprintf(t, "%3.0f %%\t%s\t%s\t%.0f m\t%s\t%.2f\t%.2f\t%.3f\t%s\n", 100*term.Share, term.Kind.Info().Noun, term.What,
			math.Max(0, term.DistM), sight, term.RatePerS*3600, term.Active, term.P, term.Evidence)
	}
	if err := t.Flush(); err != nil {
		return err
	}
	printTraffic(w, &b)
	fmt.Fprintln(w.out)
	for _, a := range p.BasisAt(edge, dog) {
		fmt.Fprintln(w.out, briefing.Sentence(words.Assumption(a)))
	}
	fmt.Fprintln(w.out, snapshot.Licence)
	return nil
}

// printTraffic says what moving traffic counts at a place beside the reactions.
func printTraffic(w *world, b *routing.Breakdown) {
	fmt.Fprintf(w.out, "\nStrain beside that: %.3f in ten minutes", b.StrainPerS*600)
	if b.Dark {
		fmt.Fprint(w.out, ", doubled by the dark")
	}
	fmt.Fprintln(w.out)
	for _, t := range b.Traffic {
		fmt.Fprintf(w.out, "  %3.0f %% of it: %.0f vehicles an hour at %.0f km/h, %s\n", 100*t.Share, t.PerHour, t.SpeedKMH, t.Pavement)
	}
	if b.NoisePerS > 0 {
		fmt.Fprintf(w.out, "  %.3f of it for road noise, %.0f dB(A) by day: our assumption\n", b.NoisePerS*600, b.LevelDB)
	}
	if b.Crossings > 0 {
		fmt.Fprintf(w.out, "  crossings of four lanes or more without help: %.2g\n", b.Crossings)
	}
}
