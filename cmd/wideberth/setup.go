package main

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"text/tabwriter"

	"wideberth/api/wire"
	"wideberth/osmdata/plane"
	"wideberth/routing"
	"wideberth/routing/briefing"
	"wideberth/routing/briefing/draw"
	"wideberth/routing/training/setup"
)

type setupCommand struct {
	Snapshot     []string  `required:"" placeholder:"FILE|DIR|URL" help:"Snapshot written by import, or a folder or bucket of tiles; may be given several times."`
	From         string    `required:"" placeholder:"PLACE" help:"The door, where the drive begins."`
	Dog          string    `placeholder:"FILE.json" help:"The dog and its distances; left out: defaults."`
	Helper       string    `default:"dog_on_lead" help:"Who is met: a kind of trigger that moves, like dog_on_lead, adult or bicycle."`
	Calmness     string    `enum:"calm,usual,lively" default:"usual" help:"How the helper is: calm, usual or lively."`
	HelperMuzzle bool      `name:"helper-muzzle-trained" help:"The helper dog wears a muzzle calmly, as it was taught to."`
	HelperBite   bool      `help:"The helper dog has bitten."`
	Trainer      bool      `help:"A trainer sets it: a dog with a bite history may be brought nearer than 1.5 times its working distance."`
	Steps        []float64 `placeholder:"NUMBER" help:"Lines in multiples of the working distance, farthest first; left out: 2,1.5,1.25,1."`
	Modes        []string  `placeholder:"MODE" help:"What is done on each line: stand, side_by_side, passing, approach; left out: the first three."`
	At           string    `placeholder:"RFC3339" help:"When both stand on the first line; left out: in an hour."`
	Drive        float64   `name:"drive-minutes" placeholder:"NUMBER" help:"How far to drive; left out: 15."`
	MaxX         float64   `name:"max-reactions" placeholder:"NUMBER" help:"Expected reactions to everything else in 25 minutes; left out: 0.2."`
	Ground       string    `enum:"parks,green" default:"parks" help:"parks: parks and pitches only; green: grass as well, whose owner the map does not tell."`
	Together     bool      `help:"Ground with one way in for both, too: only the clock keeps them apart there."`
	Car          string    `placeholder:"LAT,LON" help:"Only the set-up that begins where this car is left, as an answer had it."`
	Sheet        string    `enum:"none,dog,helper,both" default:"none" help:"Print the best one's sheets as HTML instead, for the dog's side, the helper or both."`
	Format       string    `enum:"table,json" default:"table" help:"table or json."`
}

// Run finds set-ups and prints them.
func (c *setupCommand) Run(ctx context.Context, w *world) error {
	p, err := openPlanner(w, c.Snapshot, "from", c.From)
	if err != nil {
		return err
	}
	wish, from, err := c.wish(p, w)
	if err != nil {
		return err
	}
	drive, release, err := setup.ByCar(p, from, c.minutes())
	if err != nil {
		return err
	}
	defer release()
	found, err := setup.Find(ctx, p, wish, drive)
	if err != nil {
		return byFlag(err)
	}
	if len(found.Setups) == 0 {
		if c.Format == "json" {
			return w.json(wire.NewSetupList(found, &wish, p.Snapshot(), nil, words))
		}
		fmt.Fprintln(w.out, words.SetupLack(found))
		return nil
	}
	proof, err := found.Setups[0].Prove(ctx, 100)
	if err != nil {
		return err
	}
	switch {
	case c.Sheet != "none":
		return c.print(w, p, found, &wish, proof)
	case c.Format == "json":
		return w.json(wire.NewSetupList(found, &wish, p.Snapshot(), proof, words))
	}
	return printSetups(w, p, found, &wish, proof)
}

func (c *setupCommand) minutes() float64 {
	if c.Drive == 0 {
		return setup.UsualDriveMin
	}
	return c.Drive
}

func (c *setupCommand) wish(p *routing.Planner, w *world) (wish setup.Wish, from plane.Point, err error) {
	body := wire.SetupBody{Helper: wire.HelperBody{Kind: c.Helper, Calmness: c.Calmness, MuzzleTrained: c.HelperMuzzle, BiteHistory: c.HelperBite}, Steps: c.Steps, Modes: c.Modes, At: c.At,
		MaxReactions: c.MaxX, Ground: c.Ground, Together: c.Together}
	if wish, err = body.Wish(p.Frame(), p.Zone(), w.now()); err != nil {
		return wish, from, byFlag(err)
	}
	if from, err = place(p, "from", c.From); err != nil {
		return wish, from, err
	}
	if c.Car != "" {
		car, err := place(p, "car", c.Car)
		if err != nil {
			return wish, from, err
		}
		wish.Car = &car
	}
	dog, err := readDog(c.Dog)
	if err != nil {
		return wish, from, err
	}
	wish.Dog = *dog
	nearest := 0.0
	if len(wish.Steps) > 0 {
		nearest = slices.Min(wish.Steps)
	}
	if limit, held, err := biteRule("steps", c.Trainer, dog, nearest); err != nil {
		return wish, from, err
	} else if held {
		wish.Steps = []float64{2, (2 + limit) / 2, limit}
	}
	return wish, from, nil
}

// print writes the sheets of the best set-up.
func (c *setupCommand) print(w *world, p *routing.Planner, found *setup.Found, wish *setup.Wish, proof *setup.Proof) error {
	var sheets []draw.SetupSheet
	for _, role := range []setup.Role{setup.DogSide, setup.HelperSide} {
		if c.Sheet == "both" || c.Sheet == string(role) {
			sheets = append(sheets, draw.SetupSheet{Role: role, At: wish.At, Dog: &wish.Dog, Bite: wish.Dog.Cautions.BiteHistory, Wish: wish, Proof: proof, Paper: draw.A4})
		}
	}
	return draw.SetupSheets(w.out, p.Snapshot(), words, &found.Setups[0], sheets)
}

func printSetups(w *world, p *routing.Planner, found *setup.Found, wish *setup.Wish, proof *setup.Proof) error {
	fmt.Fprintf(w.out, "%s meets a known helper (%s): works at %s, %s\n\n", briefing.Sentence(words.Dog(&wish.Dog)),
		words.Noun(wish.Kind, &wish.Dog, "one"), plain(words.Own(found.WorkingM)), words.Date(wish.At)+" "+words.Clock(wish.At))
	tab := tabwriter.NewWriter(w.out, 0, 4, 2, ' ', 0)
	fmt.Fprintln(tab, "ground\tby car\tcar at\telse in 25 min\tways in\tleast\tbehind")
	for i := range found.Setups {
		s := &found.Setups[i]
		lon, lat := p.Frame().Inverse(s.Car)
		ways, behind := "apart", "the car"
		if !s.Apart {
			ways = "one for both"
		}
		if s.Screen != nil {
			behind = plain(words.Distance(s.Screen.DistanceM(s.Lines[0].At[0])))
		}
		fmt.Fprintf(tab, "%s\t%s\t%.5f,%.5f\t%.2f\t%s\t%s\t%s\n", s.Place, plain(words.Minutes(s.DriveS)), lat, lon, s.X, ways, plain(words.Own(s.LeastM)), behind)
	}
	if err := tab.Flush(); err != nil {
		return err
	}
	best := &found.Setups[0]
	fmt.Fprintf(w.out, "\nThe first: %s\n", plain(strings.Join(words.SetupLines(best), ", ")))
	for _, role := range []setup.Role{setup.DogSide, setup.HelperSide} {
		fmt.Fprintf(w.out, "\n%s, not before\n", briefing.Sentence(string(role)))
		for _, l := range words.Setup(best, role, wish.At) {
			fmt.Fprintf(w.out, "  %s  %s\n", l.When, plain(l.What))
		}
	}
	fmt.Fprintln(w.out)
	lines := append(words.SetupSigns(), words.SetupProof(best, proof), words.SetupGround(best), words.SetupElse(best, &wish.Dog))
	lines = append(lines, words.SetupMuzzles(wish)...)
	for _, line := range append(lines, setupEnds()...) {
		fmt.Fprintln(w.out, plain(line))
	}
	fmt.Fprintf(w.out, "Map data %s\n", wire.Attribution)
	return nil
}

// setupEnds are assumptions and cautions.
func setupEnds() (out []string) {
	for _, a := range wire.SetupAssumptions(words) {
		out = append(out, "Assumed: "+a)
	}
	return append(out, words.Say("setup.caution"), words.Say("caution.professional"), wire.Caution(words))
}
