package main

import (
	"context"
	"fmt"
	"strings"
	"text/tabwriter"

	"wideberth/api/wire"
	"wideberth/exposure"
	"wideberth/osmdata/fault"
	"wideberth/osmdata/plane"
	"wideberth/routing"
	"wideberth/routing/briefing"
	"wideberth/routing/parking"
	"wideberth/routing/training"
)

type visitsCommand struct {
	Snapshot     []string `required:"" placeholder:"FILE|DIR|URL" help:"Snapshot written by import, or a folder or bucket of tiles; may be given several times."`
	From         string   `required:"" placeholder:"PLACE" help:"The door."`
	Kind         string   `default:"dogs" help:"What is to be watched: a kind or category of trigger, like dogs, child or wheels."`
	Dog          string   `placeholder:"FILE.json" help:"The dog and its distances; left out: defaults."`
	At           []string `placeholder:"RFC3339" help:"A time at which one could stand there; may be given up to 24 times. Left out: four times a day on the next five days."`
	Farthest     float64  `placeholder:"NUMBER" help:"First distance in multiples of the working distance; left out: 2."`
	Nearest      float64  `placeholder:"NUMBER" help:"Last distance; left out: 1."`
	MaxX         float64  `name:"max-reactions" placeholder:"NUMBER" help:"Expected reactions that one visit may cost besides those to what is watched, ways and all; left out: 0.25."`
	Drive        float64  `name:"drive-minutes" default:"20" placeholder:"MINUTES" help:"How long a drive to a visit may take, one way and with parking; 0: on foot from the door only."`
	Helper       string   `placeholder:"KIND" help:"A known helper, like dog_on_lead: the near half is meetings with it, the far half chance visits."`
	Calmness     string   `enum:"calm,usual,lively" default:"usual" help:"How the helper is: calm, usual or lively."`
	Ground       string   `enum:"parks,green" default:"parks" help:"For the helper: parks and pitches only, or grass as well of which the map does not tell whose it is."`
	Pin          []string `sep:"none" placeholder:"LAT,LON" help:"A place that must be in it; may be given several times."`
	Ban          []string `sep:"none" placeholder:"LAT,LON" help:"A place that must not be; may be given several times."`
	HelperMuzzle bool     `name:"helper-muzzle-trained" help:"The helper dog wears a muzzle calmly, as it was taught to."`
	HelperBite   bool     `help:"The helper dog has bitten."`
	Trainer      bool     `help:"A trainer sets it: a dog with a bite history may be brought nearer than 1.5 times its working distance."`
	Format       string   `enum:"table,json" default:"table" help:"table or json."`
	JSON         bool     `name:"json" help:"The same as --format json."`
	weatherFlags
	limitFlags
}

// Run plans a sequence of training visits and prints it.
func (c *visitsCommand) Run(ctx context.Context, w *world) error {
	p, err := openPlanner(w, c.Snapshot, "from", c.From)
	if err != nil {
		return err
	}
	wish, err := c.wish(p, w)
	if err != nil {
		return err
	}
	var held bool
	wish.Nearest, held, err = biteRule("nearest", c.Trainer, &wish.Dog, wish.Nearest)
	if err != nil {
		return err
	}
	p = p.Under(c.weather())
	seq, err := training.Visits(ctx, p, wish)
	if err != nil {
		return byFlag(err)
	}
	out := wire.NewSequence(seq, p.Land(), briefing.Words{})
	if c.JSON || c.Format == "json" {
		return w.json(out)
	}
	if held {
		out.Cautions = append(out.Cautions, words.Say("caution.trainer"))
	}
	return printVisits(w, seq, &out, &wish.Dog)
}

// biteRule keeps a dog with a bite history at 1.5 times its working distance or
// farther, unless a trainer says otherwise; held says that it moved the nearest distance,
// which the flag named gives.
func biteRule(flag string, trainer bool, dog *exposure.Dog, nearest float64) (limit float64, held bool, err error) {
	switch {
	case trainer || !dog.Cautions.BiteHistory || nearest >= wire.NearStep:
		return nearest, false, nil
	case nearest > 0:
		return 0, false, wrong(flag, fmt.Sprintf("%g", nearest), words.Say("caution.trainer")+" Say --trainer if one does")
	}
	return wire.NearStep, true, nil
}

func (c *visitsCommand) wish(p *routing.Planner, w *world) (training.Wish, error) {
	body := wire.VisitsBody{Farthest: c.Farthest, Nearest: c.Nearest, MaxReactions: c.MaxX, DriveMinutes: &c.Drive, Times: c.At}
	body.Kind = c.Kind
	if c.Helper != "" {
		body.Helper, body.Ground = &wire.HelperBody{Kind: c.Helper, Calmness: c.Calmness, MuzzleTrained: c.HelperMuzzle, BiteHistory: c.HelperBite}, c.Ground
	}
	var ps fault.Problems
	if body.Limits, ps = c.limitFlags.body(); len(ps) > 0 {
		return training.Wish{}, ps
	}
	if err := c.checkWeather(); err != nil {
		return training.Wish{}, err
	}
	wish, err := body.Wish(p.Frame(), p.Zone(), w.now())
	if err != nil {
		return wish, byFlag(err)
	}
	if wish.DriveMin > 0 {
		wish.Spots = parking.Find(p.Snapshot())
	}
	if wish.From, err = place(p, "from", c.From); err != nil {
		return wish, err
	}
	for _, list := range []struct {
		flag  string
		texts []string
		to    *[]plane.Point
	}{{"pin", c.Pin, &wish.Pins}, {"ban", c.Ban, &wish.Bans}} {
		for _, text := range list.texts {
			at, err := place(p, list.flag, text)
			if err != nil {
				return wish, err
			}
			*list.to = append(*list.to, at)
		}
	}
	dog, err := readDog(c.Dog)
	if err != nil {
		return wish, err
	}
	wish.Dog = *dog
	return wish, nil
}

// printVisits prints a sequence for a trainer.
func printVisits(w *world, seq *training.Sequence, out *wire.Sequence, dog *exposure.Dog) error {
	fmt.Fprintf(w.out, "%s and %s: %s", briefing.Sentence(words.Dog(dog)), strings.Join(out.Kinds, ", "), words.Say("visits.visits", "n", len(out.Visits)))
	if len(out.Visits) > 0 {
		fmt.Fprintf(w.out, "; %s", words.Order(seq.Order))
	}
	fmt.Fprintf(w.out, " (%s)\n\n", out.TimeZone)
	tab := tabwriter.NewWriter(w.out, 0, 4, 2, ' ', 0)
	if len(seq.Visits) > 0 {
		fmt.Fprintln(tab, "visit\tstand there\tstay\tdistance\twhere\twatching\texpect\tway out\troom\treactions besides\tin all\tthan before")
	}
	for i := range seq.Visits {
		v, e := &seq.Visits[i], &out.Visits[i]
		fmt.Fprintf(tab, "%d\t%s\t%.0f min\t%.0f m (%.2f x)\t%s\t%s\t%s\t%s\t%.0f m\t%.2f\t%.2f\t%s\n", i+1, v.Arrive.Format("Mon 15:04"), v.StayS/60, v.DistM, v.Multiple,
			v.Street, e.Watched.Name, plain(words.Expect(&v.Showing)+" "+words.Treats(v.TreatsLow, v.TreatsHigh)), v.Grade, v.RoomM, v.BesidesX(), v.X, strings.Join(append(append([]string{}, v.Harder...), v.Easier...), ", "))
	}
	if err := tab.Flush(); err != nil {
		return err
	}
	for i := range seq.Visits {
		v, e := &seq.Visits[i], &out.Visits[i]
		if m := v.Meeting; m != nil {
			fmt.Fprintf(w.out, "\n%d  with the helper: leave at %s, drive %d min to %s, on the first line at %s, back at the car by %s; wideberth setup prints both sheets", i+1, v.Departs().Format("15:04"),
				briefing.DriveMinutes(m.Setup.DriveS), m.Setup.Place, v.Arrive.Format("15:04"), v.Arrive.Add(routing.Seconds(60*float64(m.Setup.Clock.EndMin))).Format("15:04"))
			continue
		}
		drive, driveS := "", 0.0
		if v.Car != nil {
			drive, driveS = fmt.Sprintf("drive %d min to %s, ", e.Car.DriveMinutes, e.Car.Name), v.Car.DriveS
		}
		fmt.Fprintf(w.out, "\n%d  leave at %s: %s%.0f min on foot by %s, home by %s; %d alternatives", i+1, v.Departs().Format("15:04"), drive, v.In.DurationS/60,
			firstStreet(&v.In), v.Arrive.Add(routing.Seconds(v.StayS+v.OverS+v.Home.DurationS+driveS)).Format("15:04"), len(v.Alternatives))
		fmt.Fprintf(w.out, "\n   away %s (%s: %s)", strings.Join(e.WayOutNames, " or "), v.Grade, plain(words.Grade(v.Grade)))
	}
	if len(seq.Visits) > 0 {
		fmt.Fprint(w.out, "\n\n")
	}
	for _, l := range out.Lacks {
		fmt.Fprintln(w.out, plain(l.Text))
	}
	for _, a := range out.Assumed {
		fmt.Fprintln(w.out, "Assumed:", plain(a))
	}
	for _, a := range out.Cautions {
		fmt.Fprintln(w.out, a)
	}
	fmt.Fprintf(w.out, "Map data %s\n", out.Attribution)
	return nil
}

// firstStreet is the first named street of a way.
func firstStreet(walk *routing.Walk) string {
	for i := range walk.Legs {
		if walk.Legs[i].Name != "" {
			return walk.Legs[i].Name
		}
	}
	return "a way without a name"
}
