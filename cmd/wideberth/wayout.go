package main

import (
	"fmt"

	"wideberth/api/wire"
	"wideberth/exposure"
	"wideberth/routing/escape"
)

type wayOutCommand struct {
	Snapshot []string `required:"" placeholder:"FILE|DIR|URL" help:"Snapshot written by import, or a folder or bucket of tiles; may be given several times."`
	At       string   `required:"" placeholder:"PLACE" help:"Where you stand."`
	Threat   string   `required:"" placeholder:"LAT,LON" help:"Where it is, at most 500 m off."`
	Kind     string   `default:"dog_on_lead" help:"What it is: a kind of trigger, like dog_off_lead, runner or bicycle."`
	Speed    float64  `placeholder:"M/S" help:"How fast it comes towards you, up to 15; left out: it stands."`
	Dog      string   `placeholder:"FILE.json" help:"Your dog and its distances; left out: defaults."`
	JSON     bool     `name:"json" help:"For other programs to read."`
}

// mostThreatSpeedMPS is how fast what comes may be.
const mostThreatSpeedMPS = 15

// Run tells the ways out here and now.
func (c *wayOutCommand) Run(w *world) error {
	p, err := openPlanner(w, c.Snapshot, "at", c.At)
	if err != nil {
		return err
	}
	at, err := place(p, "at", c.At)
	if err != nil {
		return err
	}
	threat := escape.Threat{SpeedMPS: c.Speed}
	if threat.At, err = place(p, "threat", c.Threat); err != nil {
		return err
	}
	if threat.Kind, err = exposure.ParseKind(c.Kind); err != nil {
		return wrong("kind", c.Kind, err.Error())
	}
	if !(c.Speed >= 0 && c.Speed <= mostThreatSpeedMPS) {
		return wrong("speed", fmt.Sprintf("%g", c.Speed), "give 0 to 15 m/s")
	}
	if m := threat.At.DistanceM(at); m > wire.MostThreatM {
		return wrong("threat", c.Threat, fmt.Sprintf("lies %.0f m off: beyond %d m nothing needs to be done about it", m, wire.MostThreatM))
	}
	dog, err := readDog(c.Dog)
	if err != nil {
		return err
	}
	calm, brisk, err := escape.WaysOut(p.Land(), at, threat, dog)
	if err != nil {
		return byFlag(err)
	}
	aid, err := escape.AidFrom(p.Land(), at, threat)
	if err != nil {
		return byFlag(err)
	}
	out := wire.NewWaysOut(&calm, &brisk, &aid, p.Frame(), words)
	if c.JSON {
		return w.json(out)
	}
	return c.print(w, &out, dog, threat.Kind)
}

func (c *wayOutCommand) print(w *world, out *wire.WaysOut, dog *exposure.Dog, kind exposure.Kind) error {
	fmt.Fprintf(w.out, "%s, %.0f m off; %s needs %.0f m\n", kind.Info().Noun, out.Calm.PresentM, words.Dog(dog), dog.Need(kind).WorkingM)
	for _, o := range []struct {
		pace string
		way  *wire.WayOutInfo
	}{{"at the dog's pace", &out.Calm}, {"briskly", &out.Brisk}} {
		fmt.Fprintf(w.out, "%s: %s", o.pace, words.Say("wayout.means."+o.way.Means))
		if means := escape.Means(o.way.Means); means == escape.Between || means == escape.Stand { // nothing outruns it: the rest is below
			fmt.Fprintln(w.out)
			continue
		}
		if o.way.AsideM > 0 {
			fmt.Fprintf(w.out, ", %.0f m %s", o.way.AsideM, o.way.Aside)
		}
		if o.way.Seconds < 0 {
			fmt.Fprintf(w.out, "; enough room is not in reach: %.0f m off in the end", o.way.EndsM)
		} else {
			fmt.Fprintf(w.out, "; %.0f s until it is far enough or out of sight, %.0f m off in the end", o.way.Seconds, o.way.EndsM)
		}
		fmt.Fprintf(w.out, ", no nearer than %.0f m on the way\n", o.way.NearestM)
	}
	for _, do := range out.Aid.Words {
		fmt.Fprintln(w.out, plain(do))
	}
	_, err := fmt.Fprintf(w.out, "%s\nMap data %s\n", wire.Caution(words), out.Attribution)
	return err
}
