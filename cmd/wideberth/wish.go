package main

import (
	"errors"
	"fmt"
	"os"
	"strconv"
	"strings"
	"time"

	"wideberth/api/wire"
	"wideberth/api/wire/dogfile"
	"wideberth/exposure"
	"wideberth/osmdata/fault"
	"wideberth/routing"
)

// wishFlags are what every command that looks for a walk from a door is told. What is
// left out is as over HTTP: both make the same body of it.
type wishFlags struct {
	Snapshot []string `required:"" placeholder:"FILE|DIR|URL" help:"Snapshot written by import, or a folder or bucket of tiles; may be given several times."`
	From     string   `required:"" placeholder:"PLACE" help:"Where the walk begins: latitude and longitude in degrees, or a street with number and town, a park, a settlement of the map."`
	Minutes  *float64 `placeholder:"MINUTES" help:"Wished duration, 5 to 180; of a way the most it may take. Left out: 30, for a way twice the quickest."`
	Strain   string   `placeholder:"SETTING" help:"What moving traffic, wide crossings and the dark count: none, usual or strict; left out: usual."`
	Soft     bool     `help:"Rather on grass, earth and wood."`
	Dog      string   `placeholder:"FILE.json" help:"The dog, its distances and cautions; left out: defaults."`
	Depart   string   `placeholder:"RFC3339" help:"Departure with its zone; left out: now."`
	weatherFlags
	limitFlags
}

// limitFlags are what a handler will not have.
type limitFlags struct {
	NoSteps        bool     `group:"Limits" help:"No steps."`
	LitOnly        bool     `group:"Limits" help:"Only ways tagged as lit, while the sun is down."`
	PavedOnly      bool     `group:"Limits" help:"No unpaved ways."`
	OffRoads       bool     `group:"Limits" help:"No main road without a pavement."`
	CrossingsOnly  bool     `group:"Limits" help:"Cross roads of four lanes and more only at mapped crossings and signals."`
	AnyGround      bool     `group:"Limits" help:"Private drives, ways through buildings and the aisles of car parks too."`
	NeverNearer    []string `group:"Limits" sep:"none" placeholder:"WHAT=METRES" help:"A distance to keep from a sort of place, a kind or a category, like school=60; may be given several times."`
	AvoidWay       []string `group:"Limits" sep:"none" placeholder:"NAME" help:"A street not to walk; may be given several times."`
	Avoid          []string `group:"Limits" sep:"none" placeholder:"LAT,LON,METRES" help:"A place to stay away from; may be given several times."`
	Within         float64  `group:"Limits" placeholder:"METRES" help:"Never farther from the start than this."`
	MaxNoise       float64  `group:"Limits" placeholder:"DB" help:"Most continuous road noise, dB(A)."`
	MaxSlope       float64  `group:"Limits" placeholder:"RATIO" help:"Steepest rise over run, like 0.08; needs a map imported with heights."`
	InsideReaction bool     `group:"Limits" help:"Inside the reaction distance of active sources all the same."`
}

// body is the wish as it would be sent, on a planner's map.
func (f *wishFlags) body(p *routing.Planner) (b wire.WishBody, wrong fault.Problems) {
	b = wire.WishBody{Minutes: f.Minutes, Strain: f.Strain, SoftGround: f.Soft, Depart: f.Depart}
	from, ps := latLon(p, "from", f.From)
	b.From = from
	wrong = append(wrong, ps...)
	if f.Temperature != nil || f.Feel != "" || f.Rain != "" {
		b.Weather = &wire.WeatherBody{TemperatureC: f.Temperature, Feel: f.Feel, Rain: f.Rain}
	}
	b.Limits, ps = f.limitFlags.body()
	return b, append(wrong, ps...)
}

func (f *limitFlags) body() (b wire.LimitsBody, wrong fault.Problems) {
	b = wire.LimitsBody{NoSteps: f.NoSteps, LitOnly: f.LitOnly, PavedOnly: f.PavedOnly, OffRoads: f.OffRoads, CrossAtCrossings: f.CrossingsOnly,
		AnyGround: f.AnyGround, AvoidWays: f.AvoidWay, WithinM: f.Within, MaxLevelDB: f.MaxNoise, MaxSlope: f.MaxSlope, InsideReaction: f.InsideReaction}
	for _, text := range f.NeverNearer {
		what, metres, ok := strings.Cut(text, "=")
		m, err := strconv.ParseFloat(metres, 64)
		if !ok || err != nil {
			wrong = append(wrong, fault.Problem{Pointer: "--never-nearer", Value: text, Mend: "give what and metres, like school=60"})
			continue
		}
		b.NeverNearer = append(b.NeverNearer, wire.KeepBody{From: strings.TrimSpace(what), M: m})
	}
	for _, text := range f.Avoid {
		cut := strings.LastIndex(text, ",")
		radius, err := strconv.ParseFloat(strings.TrimSpace(text[cut+1:]), 64)
		if cut < 0 || err != nil || !strings.Contains(text[:cut], ",") {
			wrong = append(wrong, fault.Problem{Pointer: "--avoid", Value: text, Mend: "give a place and metres round it, like 39.75,-75.56,100"})
			continue
		}
		at, ps := degrees("avoid", text[:cut])
		wrong = append(wrong, ps...)
		b.Avoid = append(b.Avoid, wire.Circle{At: at, RadiusM: radius})
	}
	return b, wrong
}

// asked opens the map and makes a planner's wish of a body; shape and more may be put
// in before. All that is wrong is told together.
func (f *wishFlags) asked(w *world, more func(p *routing.Planner, b *wire.WishBody) fault.Problems) (*routing.Planner, routing.Wish, error) {
	p, err := openPlanner(w, f.Snapshot, "from", f.From)
	if err != nil {
		return nil, routing.Wish{}, err
	}
	b, wrong := f.body(p)
	if more != nil {
		wrong = append(wrong, more(p, &b)...)
	}
	if len(wrong) == 0 {
		wrong = append(wrong, exchanged(p, "from", b.From)...)
		if b.To != nil {
			wrong = append(wrong, exchanged(p, "to", *b.To)...)
		}
	}
	wish := b.Wish(p.Frame())
	var ps fault.Problems
	if wish.Depart, err = wire.ParseTime("--depart", f.Depart, w.now(), p.Zone()); errors.As(err, &ps) {
		wrong, wish.Depart = append(wrong, ps...), w.now()
	}
	dog, err := readDog(f.Dog)
	if errors.As(err, &ps) {
		wrong = append(wrong, ps...)
	} else if err != nil {
		return p, wish, err
	} else {
		wish.Dog = *dog
	}
	if err := byFlag(p.Check(&wish)); errors.As(err, &ps) {
		wrong = append(wrong, ps...)
	}
	return p, wish, wrong.Err()
}

// exchanged asks about a place whose two numbers seem to be exchanged.
func exchanged(p *routing.Planner, field string, at wire.LatLon) (wrong fault.Problems) {
	if mend := p.Land().Exchanged(at.Lat, at.Lon); mend != "" {
		wrong = fault.One("--"+field, fmt.Sprintf("%g,%g", at.Lat, at.Lon), mend)
	}
	return wrong
}

func wrong(field, value, mend string) error {
	return fault.Problems{{Pointer: "--" + field, Value: value, Mend: mend}}
}

// departure is the hour of a command that has one.
func departure(text string, p *routing.Planner, w *world) (time.Time, error) {
	return wire.ParseTime("--depart", text, w.now(), p.Zone())
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
	var ps fault.Problems
	if errors.As(err, &ps) { // the file's name stands with each
		for i := range ps {
			ps[i].Pointer = path + ": " + ps[i].Pointer
		}
		return nil, ps
	}
	return dog, err
}

// flagOf are flags whose names are not those of the fields they fill.
var flagOf = map[string]string{"times": "at", "max_expected_reactions": "max-reactions", "weather": "temperature", "never_nearer": "never-nearer",
	"avoid_ways": "avoid-way", "within_m": "within", "max_road_noise_db": "max-noise", "cross_at_crossings": "crossings-only", "soft_ground": "soft",
	"drive_minutes": "drive", "free_hours": "free"}

// byFlag names the flag that a fault is in, in place of the field of the wish.
func byFlag(err error) error {
	var wrong fault.Problems
	if !errors.As(err, &wrong) {
		return err
	}
	for i := range wrong {
		if strings.HasPrefix(wrong[i].Pointer, "--") {
			continue
		}
		field := strings.TrimPrefix(strings.TrimPrefix(wrong[i].Pointer, "/"), "limits/")
		field, _, _ = strings.Cut(field, "/")
		if flag, other := flagOf[field]; other {
			field = flag
		}
		wrong[i].Pointer = "--" + strings.ReplaceAll(field, "_", "-")
	}
	return wrong
}
