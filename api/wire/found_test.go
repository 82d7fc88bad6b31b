package wire_test

import (
	"context"
	"errors"
	"math"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"wideberth/api/wire"
	"wideberth/api/wire/kept"
	"wideberth/exposure"
	"wideberth/osmdata/fault"
	"wideberth/osmdata/plane"
	"wideberth/routing"
	"wideberth/routing/briefing"
	"wideberth/routing/briefing/draw"
	"wideberth/routing/errand"
	"wideberth/routing/parking"
	"wideberth/routing/reach"
	"wideberth/routing/snapshot/maptest"
	"wideberth/routing/training"
	"wideberth/routing/training/setup"
)

// saturday is an hour of the Saturday on which these tests go out.
func saturday(hour, minute int) time.Time {
	return time.Date(2026, 11, 28, hour, minute, 0, 0, time.UTC)
}

// chosen is where to go from the invented door.
var chosen = sync.OnceValues(func() (*errand.Choices, error) {
	p, err := routing.NewPlanner(maptest.Invented(), nil)
	if err != nil {
		return nil, err
	}
	w := routing.Wish{From: maptest.Door(p.Frame()), Minutes: 20, Dog: maptest.Kessa(), Depart: maptest.Morning}
	return errand.New(p).Where(context.Background(), p, errand.Errand{Wish: w, DriveMinutes: 15})
})

// lineOnEarth wants a line where the house has it: a millionth of a degree is 0.11 m.
func lineOnEarth(t *testing.T, what string, f plane.Frame, got wire.LineString, want plane.Polyline) {
	t.Helper()
	if len(got.Coordinates) != len(want) || len(want) == 0 {
		t.Errorf("%s has %d points of %d", what, len(got.Coordinates), len(want))
		return
	}
	for i, at := range got.Coordinates {
		if d := f.Forward(at[0], at[1]).DistanceM(want[i]); d > 0.12 {
			t.Errorf("%s lies %.2f m off at point %d", what, d, i)
		}
	}
}

// TestWhereIsTold holds each place to go against what was found: kind, clock, car and
// savings, and an address by which the very walk is told again.
func TestWhereIsTold(t *testing.T) {
	c, err := chosen()
	if err != nil {
		t.Fatal(err)
	}
	land := townLand(t)
	f := land.Snap.Frame
	minutes := 20.0
	sent := wire.WishBody{From: wire.LatLon{Lat: 1, Lon: 2}, To: &wire.LatLon{Lat: 3, Lon: 4}, Minutes: &minutes, Shape: "loop"}
	out := wire.NewWhere(c, land, &sent, briefing.Words{})
	sound(t, out)
	if out.InReach != c.InReach || out.Looked != c.Looked || out.TimeZone != land.Snap.Zone || out.Attribution != wire.Attribution || !strings.HasSuffix(out.Caution, wire.Caution(briefing.Words{})) || len(out.Caution) <= len(wire.Caution(briefing.Words{})) ||
		len(out.Assumed) < 3 || len(out.Options) != len(c.Options) {
		t.Errorf("%+v", out)
	}
	names, kinds := map[string]bool{}, map[string]int{}
	for i, o := range out.Options {
		of := &c.Options[i]
		names[o.Name] = true
		kinds[o.Kind]++
		onEarth(t, "a beginning", o.At)
		if o.Kind != string(of.Kind) || o.Leave != of.Leave.Format(time.RFC3339) || o.Walk.ExpectedReactions <= 0 || math.Abs(o.Walk.ExpectedReactions-of.Walk().ExpectedReactions) > 1e-4 {
			t.Errorf("%s: %+v", o.Name, o)
		}
		leave, err := time.Parse(time.RFC3339, o.Leave)
		if err != nil {
			t.Fatal(err)
		}
		begin, err := time.Parse(time.RFC3339, o.Begin)
		if err != nil || begin.Before(leave) || begin.Sub(leave).Seconds() < of.DriveS-1 || !begin.Equal(of.Wish.Depart.Truncate(time.Second)) {
			t.Errorf("%s: leaves %s, begins %s after %.0f s, %v", o.Name, o.Leave, o.Begin, of.DriveS, err)
		}
		if byCar := o.Kind == string(errand.ByCar); byCar != (o.ParkAt != nil) || byCar != (o.DriveMinutes > 0) || byCar != (o.Parking != "") || o.DriveMinutes%5 != 0 || math.Abs(float64(o.DriveMinutes)-of.DriveS/60) > 5 {
			t.Errorf("%s is %s: parks at %v (%s) after %d minutes of %.0f s", o.Name, o.Kind, o.ParkAt, o.Parking, o.DriveMinutes, of.DriveS)
		}
		if o.ParkAt != nil {
			if d := f.Forward(o.ParkAt[0], o.ParkAt[1]).DistanceM(of.Spot.Kerb.At); d > 0.12 || o.Parking != map[parking.Sort]string{parking.Public: "public", parking.Lot: "unknown", parking.Roadside: "roadside"}[of.Spot.Sort] {
				t.Errorf("%s: the car stands %.1f m off, %s of %v", o.Name, d, o.Parking, of.Spot.Sort)
			}
		}
		if s := o.Saves; math.Abs(s.ExpectedReactions-of.Saves.Reactions) > 1e-5 || math.Abs(s.Strain-of.Saves.Strain) > 1e-5 || math.Abs(s.Share-of.Saves.Share) > 1e-3 {
			t.Errorf("%s saves %+v of %+v", o.Name, s, of.Saves)
		}
		if (o.Later == nil) != (of.Later == nil) || o.Later != nil && (o.Later.Leave != of.Later.Leave.Format(time.RFC3339) || o.Later.Begin <= o.Later.Leave || math.Abs(o.Later.ExpectedReactions-of.Later.Reactions) > 1e-5 || math.Abs(o.Later.Strain-of.Later.Strain) > 1e-5) {
			t.Errorf("%s later: %+v of %+v", o.Name, o.Later, of.Later)
		}
		// the address is of the option's own wish: its own beginning, no goal
		g := o.Given
		if g == nil || g.ID != g.Address() || g.Wish.To != nil || f.Forward(g.Wish.From.Lon, g.Wish.From.Lat).DistanceM(of.Wish.From) > 0.12 || g.Wish.Away != of.Wish.Away || *g.Wish.Minutes != of.Wish.Minutes || g.Wish.Limits.LitOnly != of.Wish.Limits.LitOnly {
			t.Fatalf("%s: address %+v", o.Name, g)
		}
		list, err := g.Decode(land)
		if err != nil || len(list) != 1 || !slices.EqualFunc(list[0].Course, of.Walk().Course, sameStep) {
			t.Errorf("%s: the address leads elsewhere: %v", o.Name, err)
		}
	}
	if len(names) != len(out.Options) || kinds["by_car"] < 2 || kinds["door_now"] != 1 || kinds["door_later"] != 1 {
		t.Errorf("names %v, kinds %v", names, kinds)
	}
	if *sent.Minutes != 20 || sent.To == nil || sent.From.Lat != 1 {
		t.Errorf("what was sent was changed: %+v", sent)
	}
	for _, o := range wire.NewWhere(c, land, nil, briefing.Words{}).Options {
		if o.Given != nil {
			t.Error("an address of a wish that nobody sent")
		}
	}
	later := *c
	later.Options, later.InReach, later.Looked = slices.Clone(c.Options[:1]), 17, 11
	if few := wire.NewWhere(&later, land, nil, briefing.Words{}); few.InReach != 17 || few.Looked != 11 {
		t.Errorf("%d in reach, %d looked at", few.InReach, few.Looked)
	}
	later.Options[0].Later = &errand.Later{Leave: saturday(14, 0), Begin: saturday(14, 11), Reactions: 0.1234567, Strain: 0.2}
	if l := wire.NewWhere(&later, land, nil, briefing.Words{}).Options[0].Later; l == nil || *l != (wire.WhereLater{Leave: "2026-11-28T14:00:00Z", Begin: "2026-11-28T14:11:00Z", ExpectedReactions: 0.12346, Strain: 0.2}) {
		t.Errorf("later: %+v", l)
	}
	if none := wire.NewWhere(&errand.Choices{NoDoor: errors.New("none"), NoRoads: true}, land, nil, briefing.Words{}); none.Options == nil || len(none.Notes) == 0 {
		t.Errorf("nothing found: %+v", none)
	}
}

// TestErrandsAreRead: what is left out has its usual value, what is said stays.
func TestErrandsAreRead(t *testing.T) {
	ten, zero, forty := 10.0, 0.0, 40.0
	for _, c := range []struct {
		body    wire.WhereBody
		wish    routing.Wish
		want    errand.Errand
		minutes float64
	}{
		{wire.WhereBody{}, routing.Wish{}, errand.Errand{DriveMinutes: errand.UsualDriveMinutes}, 30},
		{wire.WhereBody{WishBody: wire.WishBody{Minutes: &forty}, DriveMinutes: &ten, Most: 3}, routing.Wish{Minutes: 40}, errand.Errand{DriveMinutes: 10, Most: 3}, 40},
		{wire.WhereBody{DriveMinutes: &zero, OnFoot: true}, routing.Wish{}, errand.Errand{OnFoot: true}, 30},
	} {
		got := c.body.Errand(c.wish)
		if got.DriveMinutes != c.want.DriveMinutes || got.OnFoot != c.want.OnFoot || got.Most != c.want.Most || got.Minutes != c.minutes {
			t.Errorf("%+v is read as %g minutes, %+v", c.body, got.Minutes, got)
		}
	}
	if h := wire.FreeHours(nil); h.Spans != nil || h.Unlit {
		t.Errorf("no hours: %+v", h)
	}
	if h := wire.FreeHours(&kept.FreeHours{Spans: []string{"06:30-08:00"}, Unlit: true}); !slices.Equal(h.Spans, []string{"06:30-08:00"}) || !h.Unlit {
		t.Errorf("%+v", h)
	}
}

// TestSetupsAreTold holds the answer to a search for a meeting with a helper against what
// was found: ground, lines, minutes, what else comes near, and the replay of the first.
func TestSetupsAreTold(t *testing.T) {
	p, _ := planned(t)
	snap := p.Snapshot()
	f := snap.Frame
	drive, release, err := setup.ByCar(p, maptest.Door(f), setup.UsualDriveMin)
	if err != nil {
		t.Fatal(err)
	}
	defer release()
	w := setup.Wish{Dog: maptest.Kessa(), Kind: exposure.DogOnLead, Calm: setup.Usual, Ground: setup.Green, At: saturday(6, 30)}
	found, err := setup.Find(t.Context(), p, w, drive)
	if err != nil || len(found.Setups) == 0 {
		t.Fatalf("%+v, %v", found, err)
	}
	proof, err := found.Setups[0].Prove(t.Context(), 10)
	if err != nil {
		t.Fatal(err)
	}
	found.Setups[0].Else = append(found.Setups[0].Else, setup.Else{Kind: exposure.Kind(0), Source: 0, DistM: 44.4, X: 0.01234})
	found.Setups = append(found.Setups, found.Setups[0]) // a second one, of which there is no replay
	out := wire.NewSetupList(found, &w, snap, proof, briefing.Words{})
	sound(t, out)
	if out.At != "2026-11-28T06:30:00Z" || math.Abs(out.WorkingM-found.WorkingM) > 0.05 || out.InReach != found.InReach || out.Quiet != found.Quiet || out.LookedAt != found.LookedAt || out.Laid != found.Laid || out.Lack != "" ||
		len(out.Assumed) != 4 || len(out.Cautions) != 3 || out.Attribution != wire.Attribution || len(out.Setups) != len(found.Setups) {
		t.Errorf("%+v", out)
	}
	for i := range out.Setups {
		s, of := &out.Setups[i], &found.Setups[i]
		if f.Forward(s.Car.Lon, s.Car.Lat).DistanceM(of.Car) > 0.12 || s.Place != of.Place || s.DriveMinutes != math.Round(of.DriveS/60) || math.Abs(s.Other-of.X) > 5e-4 || s.Apart != of.Apart || s.Exits != of.Exits || math.Abs(s.LeastM-of.LeastM) > 0.051 || (s.Screen == nil) != (of.Screen == nil) || s.Ground == "" {
			t.Errorf("set-up %d: %+v", i, s)
		}
		lineOnEarth(t, "the helper's line", f, s.HelperLine, of.Course.Helper)
		lineOnEarth(t, "the dog's way in", f, s.DogIn, of.DogIn)
		lineOnEarth(t, "the helper's way in", f, s.HelperIn, of.HelperIn)
		for k, l := range s.Lines {
			lineOnEarth(t, "a line", f, l.Line, of.Lines[k].At)
			// a working distance of 38 m and a helper as usual: that is what the steps multiply
			if math.Abs(l.DistanceM-38*l.Multiple) > 0.051 {
				t.Errorf("set-up %d: line %d is %g times, %g m", i, k+1, l.Multiple, l.DistanceM)
			}
		}
		for k, ph := range s.Phases {
			of := of.Clock.Phases[k]
			from, err1 := time.Parse(time.RFC3339, ph.From)
			to, err2 := time.Parse(time.RFC3339, ph.To)
			if errors.Join(err1, err2) != nil || from.Sub(w.At) != time.Duration(of.FromMin)*time.Minute || to.Sub(w.At) != time.Duration(of.ToMin)*time.Minute || ph.Line != of.Line+1 || ph.Mode != string(of.Mode) || ph.DistanceM > s.Lines[ph.Line-1].DistanceM {
				t.Errorf("set-up %d, phase %d: %+v of %+v", i, k, ph, of)
			}
		}
		if len(s.Lines) != 4 || len(s.Phases) != len(of.Clock.Phases) || len(s.Dog) < 6 || len(s.Helper) < 6 || s.Dog[0] == s.Helper[0] {
			t.Errorf("set-up %d: %d lines, %d phases, %d and %d entries", i, len(s.Lines), len(s.Phases), len(s.Dog), len(s.Helper))
		}
		if (s.Replay != nil) != (i == 0) {
			t.Errorf("set-up %d: replay %+v", i, s.Replay)
		}
	}
	first := out.Setups[0]
	if r := first.Replay; r.Runs != proof.Runs || math.Abs(r.LeastM-proof.LeastM) > 0.051 || math.Abs(r.Margin-proof.MarginM) > 0.051 || math.Abs(r.LooseM-proof.LooseM) > 0.051 || r.Text == "" {
		t.Errorf("replay %+v of %+v", r, proof)
	}
	if e := first.Else[len(first.Else)-1]; e != (wire.SetupElse{Kind: exposure.Kind(0).String(), Source: snap.Field.Source(0).Label(), DistanceM: 44, Reactions: 0.012}) {
		t.Errorf("what else comes near: %+v", e)
	}
	if us := wire.NewSetupList(found, &w, snap, nil, briefing.Words{Units: briefing.US, TwelveHour: true}); us.Setups[0].Replay != nil || us.Setups[0].Dog[0].NotBefore == first.Dog[0].NotBefore || us.Setups[0].Lines[0].DistanceM != first.Lines[0].DistanceM {
		t.Errorf("for readers of feet and twelve hours: %+v", us.Setups[0].Dog[0])
	}
	none := wire.NewSetupList(&setup.Found{WorkingM: 38, InReach: 3, MaxX: 0.2}, &w, snap, nil, briefing.Words{})
	if sound(t, none); none.Lack == "" || none.Setups == nil {
		t.Errorf("none: %+v", none)
	}
}

// TestVisitsAreDrawn: a drawn visit is the whole of it as one walk, what is watched
// stands first and once, and the arc keeps the stand's distance; its ways have an address
// that leads along the same ground.
func TestVisitsAreDrawn(t *testing.T) {
	p, _ := planned(t)
	f, land := p.Frame(), p.Land()
	seq, err := training.Visits(t.Context(), p, training.Wish{From: maptest.Door(f), Dog: maptest.Kessa(), Kinds: exposure.Dogs.Kinds(), MaxX: 2, Times: []time.Time{saturday(17, 20)}})
	if err != nil || len(seq.Visits) == 0 {
		t.Fatalf("%d visits, %v", len(seq.Visits), err)
	}
	v := &seq.Visits[len(seq.Visits)-1]
	dog := maptest.Kessa()
	whole := v.Whole()
	scene, err := draw.NewScene(p.Snapshot(), &routing.Plan{Walks: []routing.Walk{whole}, Depart: v.Leave, Zone: p.Zone().String(), Ground: p.Ranked(whole.Line[0], &dog, v.Leave, nil)}, 0, &dog, briefing.Words{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	body := wire.NewVisit(v, land, briefing.Words{})
	out := wire.NewVisitDrawn(v, body, scene, f)
	sound(t, out)
	if math.Abs(out.Walk.DurationS-(v.In.DurationS+2*v.OverS+v.StayS+v.Home.DurationS)) > 1 || math.Abs(out.Walk.LengthM-(v.In.LengthM+v.Home.LengthM)) > 1 || len(out.Walk.Legs) != len(v.In.Legs)+len(v.Home.Legs) {
		t.Errorf("%.0f s and %.0f m in %d legs; in %.0f, stay %.0f, home %.0f s", out.Walk.DurationS, out.Walk.LengthM, len(out.Walk.Legs), v.In.DurationS, v.StayS, v.Home.DurationS)
	}
	around := out.Drawing.Around
	if len(around) == 0 || !around[0].Watched || around[0].Name != v.Watched.Name || slices.ContainsFunc(around[1:], func(a wire.AroundSource) bool { return a.Watched || a.Name == v.Watched.Name }) {
		t.Errorf("around it: %+v", around)
	}
	if drawn := wire.NewDrawing(scene, f).Around; len(drawn) > 0 { // what is drawn anyway is not told twice
		other := *v
		other.Watched.Name = drawn[0].Name
		told := wire.NewVisitDrawn(&other, body, scene, f).Drawing.Around
		if n := len(slices.DeleteFunc(slices.Clone(told), func(a wire.AroundSource) bool { return a.Name != drawn[0].Name })); n != 1 || !told[0].Watched {
			t.Errorf("%s stands there %d times", drawn[0].Name, n)
		}
	} else {
		t.Error("nothing else is around")
	}
	onEarth(t, "the arc", out.Arc...)
	stand := math.Inf(1)
	for _, at := range out.Arc {
		stand = min(stand, f.Forward(at[0], at[1]).DistanceM(v.At))
	}
	if len(out.Arc) < 10 || stand > 2 {
		t.Errorf("%d points of the arc, the nearest %.1f m from the stand", len(out.Arc), stand)
	}
	g := body.Given
	if g == nil || g.Map != land.Snap.Network {
		t.Fatalf("address %+v", g)
	}
	ways, err := g.Decode(land)
	if err != nil || !slices.EqualFunc(ways.In, v.In.Course, sameStep) || !slices.EqualFunc(ways.Home, v.Home.Course, sameStep) {
		t.Errorf("the address leads elsewhere: %v", err)
	}
	for field, broken := range map[string]wire.GivenVisit{"/way_in": {In: "*", Home: g.Home}, "/way_home": {In: g.In, Home: g.Home + "_"}} {
		var wrong fault.Problems
		if _, err := broken.Decode(land); !errors.As(err, &wrong) || wrong[0].Pointer != field || !strings.Contains(err.Error(), reach.ErrNoCourse.Error()) {
			t.Errorf("%s: %v", field, err)
		}
	}
}
