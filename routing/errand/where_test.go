package errand_test

import (
	"context"
	"errors"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"wideberth/exposure"
	"wideberth/exposure/strain"
	"wideberth/osmdata/plane"
	"wideberth/routing"
	"wideberth/routing/errand"
	"wideberth/routing/parking"
	"wideberth/routing/plantest"
	"wideberth/routing/reach"
	"wideberth/routing/snapshot/maptest"
)

func asked(p *routing.Planner, at plane.Point) errand.Errand {
	return errand.Errand{Wish: routing.Wish{From: at, Minutes: 20, Dog: maptest.Kessa(), Depart: maptest.Morning}, DriveMinutes: 15}
}

// where answers an errand on a planner's map.
func where(ctx context.Context, p *routing.Planner, e errand.Errand) (*errand.Choices, error) {
	return errand.New(p).Where(ctx, p, e)
}

// The answer about the invented town: best first, each with what it saves, places
// planned for the minute of arrival, and the door now as a plan has it.
func TestWhere(t *testing.T) {
	p := plantest.Town(t)
	e := asked(p, maptest.Door(p.Frame()))
	c, err := where(t.Context(), p, e)
	if err != nil {
		t.Fatal(err)
	}
	if c.NoDoor != nil || c.NoRoads || c.InReach < 2 || c.Looked < 2 || len(c.Options) < 2 {
		t.Fatalf("%d options, %d of %d places looked at, no door %v, no roads %v", len(c.Options), c.Looked, c.InReach, c.NoDoor, c.NoRoads)
	}
	count := map[errand.OptionKind]int{}
	names := map[parking.Name]bool{}
	var now *errand.Option
	for i := range c.Options {
		o := &c.Options[i]
		count[o.Kind]++
		if o.Kind == errand.DoorNow {
			now = o
		}
		if i > 0 && cost(&c.Options[i-1]) > cost(o)+1e-12 {
			t.Errorf("option %d is worse than the one after it", i-1)
		}
		if o.Kind == errand.ByCar {
			checkSpot(t, c, o, &e, names)
		}
	}
	if count[errand.DoorNow] != 1 || count[errand.DoorLater] > 1 || count[errand.ByCar] == 0 {
		t.Fatalf("options %v", count)
	}
	checkSavings(t, c, now)
	plain := e.Wish
	plain.Shape, plain.Walks = routing.Calmest, 1
	plan, err := p.Plan(t.Context(), plain)
	if err != nil {
		t.Fatal(err)
	}
	if a, b := cost(now), plan.Walks[0].ExpectedReactions+plan.Walks[0].Strain; a < b-1e-9 || a > 1.02*b {
		t.Errorf("the door now costs %.4f, its plan %.4f", a, b)
	}
	again, err := where(t.Context(), p, e)
	if err != nil || len(again.Options) != len(c.Options) || cost(&again.Options[0]) != cost(&c.Options[0]) {
		t.Errorf("asked again it is another answer: %v", err)
	}
}

// cost is what an option is ranked by, worked out anew.
func cost(o *errand.Option) float64 {
	sum := o.Walk().ExpectedReactions + o.Walk().Strain
	if o.Kind == errand.ByCar {
		sum += o.Walk().ServiceS / 60 * reach.ServicePerMin
	}
	return sum
}

func checkSavings(t *testing.T, c *errand.Choices, now *errand.Option) {
	t.Helper()
	for i := range c.Options {
		o := &c.Options[i]
		if d := now.Walk().ExpectedReactions - o.Walk().ExpectedReactions - o.Saves.Reactions; math.Abs(d) > 1e-12 {
			t.Errorf("option %d saves reactions off by %g", i, d)
		}
		if share := 1 - cost(o)/cost(now); math.Abs(share-o.Saves.Share) > 1e-9 {
			t.Errorf("option %d saves a share of %.3f, told as %.3f", i, share, o.Saves.Share)
		}
		if o.Kind == errand.ByCar && o.Saves.Share < .15 {
			t.Errorf("a drive is offered that saves %.3f", o.Saves.Share)
		}
	}
}

func checkSpot(t *testing.T, c *errand.Choices, o *errand.Option, e *errand.Errand, names map[parking.Name]bool) {
	t.Helper()
	if names[o.Spot.Name] {
		t.Errorf("two places are called %+v", o.Spot.Name)
	}
	names[o.Spot.Name] = true
	if o.DriveS < 120 || o.DriveS > 60*e.DriveMinutes || math.Abs(o.Wish.Depart.Sub(o.Leave).Seconds()-o.DriveS) > 1e-6 || !o.Plan.Depart.Equal(o.Wish.Depart) {
		t.Errorf("a drive of %.0f s, leaving %v, walking from %v, planned for %v", o.DriveS, o.Leave, o.Wish.Depart, o.Plan.Depart)
	}
	if d := o.Plan.Snap.At.DistanceM(o.Spot.Start.At); d > 3 || !o.Wish.Away {
		t.Errorf("the walk begins %.0f m from the place, away %v", d, o.Wish.Away)
	}
	for i := range c.Options {
		if other := &c.Options[i]; other != o && other.Spot != nil && other.Spot.Start.At.DistanceM(o.Spot.Start.At) < 500 {
			t.Errorf("two places are %.0f m apart", other.Spot.Start.At.DistanceM(o.Spot.Start.At))
		}
	}
	for i := range o.Walk().Legs {
		if l := &o.Walk().Legs[i]; l.Ground&(reach.Private|reach.Precincts) != 0 {
			t.Errorf("%+v: over ground of sort %b", o.Spot.Name, l.Ground)
		}
	}
}

func TestWhereOnFoot(t *testing.T) {
	p := plantest.Town(t)
	e := asked(p, maptest.Door(p.Frame()))
	e.OnFoot, e.DriveMinutes = true, 0
	c, err := where(t.Context(), p, e)
	if err != nil {
		t.Fatal(err)
	}
	for i := range c.Options {
		if c.Options[i].Kind == errand.ByCar {
			t.Error("a drive is offered to who has no car")
		}
	}
}

// In the evening of a winter's day the better hour is a free one, and light or lit.
func TestWhereAtNight(t *testing.T) {
	p := plantest.Town(t)
	e := asked(p, maptest.Door(p.Frame()))
	e.Depart = time.Date(2026, 11, 25, 17, 30, 0, 0, time.UTC)
	c, err := where(t.Context(), p, e)
	if err != nil {
		t.Fatal(err)
	}
	for i := range c.Options {
		o := &c.Options[i]
		if o.Dark && o.Kind != errand.DoorNow && !o.Wish.Limits.LitOnly {
			t.Errorf("%s in the dark without lamps", o.Kind)
		}
		if o.Kind != errand.DoorLater {
			continue
		}
		if h := o.Leave.Hour(); h < 6 || h >= 22 {
			t.Errorf("leaving at %v is offered", o.Leave)
		}
		if o.Leave.Sub(e.Depart) > 24*time.Hour || !o.Leave.After(e.Depart) {
			t.Errorf("leaving at %v is offered at %v", o.Leave, e.Depart)
		}
	}
	e.Free.Spans = []string{"02:00-04:00"} // dark, and hardly a lit street in the town
	c, err = where(t.Context(), p, e)
	if err != nil {
		t.Fatal(err)
	}
	for i := range c.Options {
		if o := &c.Options[i]; o.Kind == errand.DoorLater && !o.Wish.Limits.LitOnly {
			t.Errorf("leaving at %v is offered without lamps", o.Leave)
		}
	}
}

// A dog that minds nothing has no expected reactions: strain ranks, and nothing is
// divided by nothing.
func TestWhereForACalmDog(t *testing.T) {
	p := plantest.Town(t)
	e := asked(p, maptest.Door(p.Frame()))
	e.Dog = exposure.Dog{Name: "Oro", ByCategory: map[exposure.Category]exposure.Need{}, ByKind: map[exposure.Kind]exposure.Need{}}
	for _, setting := range []strain.Setting{strain.Usual, strain.None} {
		e.Strain = setting
		c, err := where(t.Context(), p, e)
		if err != nil {
			t.Fatal(err)
		}
		for i := range c.Options {
			if o := &c.Options[i]; math.IsNaN(o.Saves.Share) || math.IsInf(o.Saves.Share, 0) || o.Walk().ExpectedReactions != 0 {
				t.Errorf("saves %v, expected reactions %g", o.Saves, o.Walk().ExpectedReactions)
			}
		}
	}
}

// lane is a map of a lane, in which nodes lie so many metres east along it.
func lane(t *testing.T, tags string, more string) *routing.Planner {
	t.Helper()
	var b strings.Builder
	b.WriteString(`<osm version="0.6">`)
	for i := range 41 {
		b.WriteString(osmNode(1+i, float64(i)*50, 0))
	}
	b.WriteString(`<way id="1" version="1">`)
	for i := range 41 {
		b.WriteString(ref(1 + i))
	}
	b.WriteString(tags + `</way>` + more + `</osm>`)
	file := filepath.Join(t.TempDir(), "lane.osm")
	if err := os.WriteFile(file, []byte(b.String()), 0o600); err != nil {
		t.Fatal(err)
	}
	p, err := routing.NewPlanner(maptest.Import(t, file), nil)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// A map without roads for cars answers from the door, and says why there is no more.
func TestWhereWithoutRoads(t *testing.T) {
	p := lane(t, `<tag k="highway" v="path"/>`, "")
	e := asked(p, p.Frame().Forward(-7+1000/75_960., 47))
	e.Minutes = 27 // to one of the ends, where one can turn, and back
	c, err := where(t.Context(), p, e)
	if err != nil {
		t.Fatal(err)
	}
	if !c.NoRoads || len(c.Options) == 0 || c.Options[0].Kind == errand.ByCar {
		t.Errorf("no roads %v, %d options", c.NoRoads, len(c.Options))
	}
}

// Off the map, far from all streets, and on an island of drives it is said why.
func TestWhereFromNowhere(t *testing.T) {
	p := plantest.Town(t)
	var none *reach.Infeasible
	if _, err := where(t.Context(), p, asked(p, plane.Point{X: 1e6})); !errors.As(err, &none) || none.Reason != reach.OffTheMap {
		t.Errorf("off the map: %v", err)
	}
	q := lane(t, `<tag k="highway" v="path"/>`, islandOfDrives())
	c, err := where(t.Context(), q, asked(q, q.Frame().Forward(-7+500/75_960., 47+1000/111_170.)))
	switch {
	case errors.As(err, &none):
		if none.Reason == "" {
			t.Error("no reason")
		}
	case err != nil:
		t.Errorf("on an island of drives: %v", err)
	case c.NoDoor == nil && len(c.Options[0].Walk().Legs) == 0:
		t.Error("on an island of drives: a walk of nothing")
	}
}

func TestWhereIsCancelled(t *testing.T) {
	p := plantest.Town(t)
	ctx, stop := context.WithCancel(t.Context())
	stop()
	if _, err := where(ctx, p, asked(p, maptest.Door(p.Frame()))); !errors.Is(err, context.Canceled) {
		t.Errorf("with nobody waiting: %v", err)
	}
}
