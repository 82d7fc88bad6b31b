package routing_test

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"wideberth/exposure"
	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing"
	"wideberth/routing/plantest"
	"wideberth/routing/reach"
	"wideberth/routing/snapshot"
	"wideberth/routing/snapshot/maptest"
)

// TestEveryWalkHolds asks for walks from random doors of the town and holds each
// against an account that shares no code with the planner: consecutive, from the
// door to the door, in the window, reactions recomputed term by term.
func TestEveryWalkHolds(t *testing.T) {
	p := plantest.Town(t)
	const seed = 11
	rng := rand.New(rand.NewPCG(seed, 1))
	found := 0
	for i, at := range maptest.RandomDoors(p.Snapshot(), 16, rng) {
		w := routing.Wish{Shape: routing.Loop, From: at, Minutes: 15 + 45*rng.Float64(), Dog: maptest.Kessa(), Depart: maptest.Morning.Add(time.Duration(rng.IntN(24*7)) * time.Hour)}
		plan, err := p.Plan(context.Background(), w)
		var none *reach.Infeasible
		if errors.As(err, &none) {
			continue
		}
		if err != nil {
			t.Fatalf("door %d (seed %d): %v", i, seed, err)
		}
		for k := range plan.Walks {
			found++
			validate(t, p, &w, plan, &plan.Walks[k])
		}
	}
	if found < 16 {
		t.Errorf("only %d walks from 16 doors (seed %d)", found, seed)
	}
}

func validate(t *testing.T, p *routing.Planner, w *routing.Wish, plan *routing.Plan, walk *routing.Walk) {
	t.Helper()
	if s := w.Minutes * 60; walk.Shape == routing.Loop && walk.Laps == 1 && (walk.DurationS < 0.97*s-1e-3 || walk.DurationS > 1.1*s+1e-3) {
		t.Errorf("%.0f s for %.0f s", walk.DurationS, s)
	}
	line := walk.Line
	if line[0].DistanceM(plan.Snap.At) > 3 || line[len(line)-1].DistanceM(line[0]) > 0.05 {
		t.Errorf("begins %.1f m from the door, ends %.1f m from its beginning", line[0].DistanceM(plan.Snap.At), line[len(line)-1].DistanceM(line[0]))
	}
	length, x := 0.0, 0.0
	for i := range walk.Legs {
		leg := &walk.Legs[i]
		if i > 0 && leg.Line[0].DistanceM(walk.Legs[i-1].Line[len(walk.Legs[i-1].Line)-1]) > 0.05 {
			t.Errorf("leg %d does not begin where the one before ends", i)
		}
		length += leg.LengthM
		for _, e := range leg.Edges {
			at := p.Clock().At(w.Depart.Add(time.Duration(e.StartS * float64(time.Second))))
			for _, term := range p.Snapshot().Field.Explain(e.Edge, &w.Dog, at, nil) {
				x += term.HazardPerS * e.LengthM / w.Dog.PaceMPS()
			}
		}
	}
	if math.Abs(length-walk.LengthM) > 0.1 || math.Abs(length-walk.DurationS*w.Dog.PaceMPS()) > 0.5 {
		t.Errorf("legs of %.1f m, walk of %.1f m in %.1f s", length, walk.LengthM, walk.DurationS)
	}
	if math.Abs(x-walk.ExpectedReactions) > 0.05*x+1e-4 {
		t.Errorf("reactions %.5f by terms, %.5f in the walk", x, walk.ExpectedReactions)
	}
	if kinds := sumKinds(walk); math.Abs(kinds-walk.ExpectedReactions) > 1e-9 {
		t.Errorf("kinds add up to %g, the walk says %g", kinds, walk.ExpectedReactions)
	}
	if !(walk.CalmLow <= walk.CalmChance && walk.CalmChance <= walk.CalmHigh && walk.CalmHigh <= 1) {
		t.Errorf("calm %g in %g to %g", walk.CalmChance, walk.CalmLow, walk.CalmHigh)
	}
}

func sumKinds(walk *routing.Walk) (x float64) {
	for _, k := range walk.Kinds {
		x += k.Reactions
	}
	return x
}

// TestBraverDogAndQuieterHour: a braver dog or a quieter hour never makes the
// best walk worse, as the walk found before is still there.
func TestBraverDogAndQuieterHour(t *testing.T) {
	p := plantest.Town(t)
	dog := maptest.Kessa()
	w := routing.Wish{Shape: routing.Loop, From: maptest.Door(p.Frame()), Minutes: 30, Dog: dog, Depart: maptest.Morning.Add(10 * time.Hour)}
	at := func(w routing.Wish) float64 {
		plan, err := p.Plan(context.Background(), w)
		if err != nil {
			t.Fatal(err)
		}
		return plan.Walks[0].ExpectedReactions
	}
	usual := at(w)
	braver := w
	braver.Dog = *dog.Stretch(0.7)
	night := w
	night.Depart = maptest.Morning.Add(-4 * time.Hour)
	if x := at(braver); x > usual {
		t.Errorf("a braver dog: %g instead of %g", x, usual)
	}
	if x := at(night); x > usual {
		t.Errorf("at night: %g instead of %g", x, usual)
	}
}

func TestLimits(t *testing.T) {
	p := plantest.Town(t)
	avoid := func(l reach.Limits) *routing.Plan {
		plan, err := p.Plan(context.Background(), routing.Wish{Shape: routing.Loop, From: maptest.Door(p.Frame()), Minutes: 30, Dog: maptest.Kessa(), Depart: maptest.Morning, Limits: l})
		var none *reach.Infeasible
		if errors.As(err, &none) {
			if none.Limit == (reach.Limit{}) {
				t.Errorf("no walk, and no limit named: %v", err)
			}
			return nil
		}
		if err != nil {
			t.Fatal(err)
		}
		return plan
	}
	free := avoid(reach.Limits{})
	street := ""
	for _, l := range free.Walks[0].Legs {
		if l.Name != "" && l.Name != free.Walks[0].Legs[0].Name {
			street = l.Name
			break
		}
	}
	if plan := avoid(reach.Limits{AvoidWays: []string{strings.ToUpper(street)}}); plan != nil {
		for _, l := range plan.Walks[0].Legs {
			if l.Name == street {
				t.Errorf("walks %s, which was to be avoided", street)
			}
		}
		if plan.Walks[0].ExpectedReactions < free.Walks[0].ExpectedReactions-1e-9 {
			t.Errorf("with a limit X is %g, without %g", plan.Walks[0].ExpectedReactions, free.Walks[0].ExpectedReactions)
		}
	}
	if plan := avoid(reach.Limits{WithinM: 600}); plan != nil {
		for _, q := range plan.Walks[0].Line {
			if q.DistanceM(maptest.Door(p.Frame())) > 600 {
				t.Fatalf("goes %.0f m away", q.DistanceM(maptest.Door(p.Frame())))
			}
		}
	}
	if plan := avoid(reach.Limits{NeverNearer: []reach.Keep{{From: "dog_park", M: 150}}}); plan != nil {
		for _, s := range plan.Walks[0].Passed {
			if s.Sort == "dog_park" && s.Active > 0.3 && s.NearestM < 140 && s.InSight {
				t.Errorf("passes %s at %.0f m", s.Name, s.NearestM)
			}
		}
	}
}

func TestWayIsATrade(t *testing.T) {
	p := plantest.Town(t)
	to := maptest.Door(p.Frame()).Add(plane.Point{X: 700, Y: 400})
	plan, err := p.Plan(context.Background(), routing.Wish{Shape: routing.Way, From: maptest.Door(p.Frame()), To: &to, Dog: maptest.Kessa(), Depart: maptest.Morning})
	if err != nil {
		t.Fatal(err)
	}
	for i := 1; i < len(plan.Walks); i++ {
		a, b := &plan.Walks[i-1], &plan.Walks[i]
		if a.DurationS <= b.DurationS || a.ExpectedReactions >= b.ExpectedReactions {
			t.Errorf("way %d: %.0f s and X %.3f after %.0f s and X %.3f is no trade", i, b.DurationS, b.ExpectedReactions, a.DurationS, a.ExpectedReactions)
		}
	}
	for i := range plan.Walks {
		line := plan.Walks[i].Line
		if line[len(line)-1].DistanceM(to) > 300 {
			t.Errorf("way %d ends %.0f m from its goal", i, line[len(line)-1].DistanceM(to))
		}
	}
	short := routing.Wish{Shape: routing.Way, From: maptest.Door(p.Frame()), To: &to, Dog: maptest.Kessa(), Depart: maptest.Morning, Minutes: 1}
	var none *reach.Infeasible
	if _, err := p.Plan(context.Background(), short); !errors.As(err, &none) || none.Reason != reach.TooShort || none.Short <= 0 {
		t.Errorf("one minute: %v", err)
	}
}

func TestNoWalkSaysWhy(t *testing.T) {
	p := plantest.Town(t)
	for name, c := range map[string]struct {
		at   plane.Point
		want reach.Reason
	}{
		"far off the map": {plane.Point{X: 50_000}, reach.OffTheMap},
		"no street near":  {p.Snapshot().Bounds.Min.Add(plane.Point{X: -250, Y: -250}), reach.NoStreetNear},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := p.Plan(context.Background(), routing.Wish{Shape: routing.Loop, From: c.at, Minutes: 30, Dog: maptest.Kessa(), Depart: maptest.Morning})
			var none *reach.Infeasible
			if !errors.As(err, &none) || none.Reason != c.want || none.Short <= 0 {
				t.Errorf("%v (%+v)", err, none)
			}
		})
	}
}

// TestSmallWorlds plans where the ground sets a trap.
func TestSmallWorlds(t *testing.T) {
	middle := func(p *routing.Planner) plane.Point {
		g := p.Snapshot().Graph
		return g.EdgeLine(0).At(float64(g.LengthM[0]) / 2)
	}
	for _, name := range []string{"crossing", "parallel-edges", "loop-edge", "ring-without-junction", "figure-eight", "two-paths-round-a-pond", "cul-de-sac", "pedestrian-area", "zero-length-edge"} {
		t.Run(name, func(t *testing.T) {
			p := plantest.On(t, maptest.World(t, name))
			w := routing.Wish{Shape: routing.Loop, From: middle(p), Minutes: 6, Dog: maptest.Kessa(), Depart: maptest.Morning}
			plan, err := p.Plan(context.Background(), w)
			var none *reach.Infeasible
			if errors.As(err, &none) {
				if none.Error() == "" || none.Reason == "" {
					t.Errorf("no walk without a reason: %+v", none)
				}
				return
			}
			if err != nil {
				t.Fatal(err)
			}
			if plan.Walks[0].LengthM < 6*60*1.2*0.9 {
				t.Errorf("%.0f m in six minutes", plan.Walks[0].LengthM)
			}
		})
	}
}

// TestSnapshotComesBack writes a snapshot, reads it, and asks both the same.
func TestSnapshotComesBack(t *testing.T) {
	p := plantest.Town(t)
	path := filepath.Join(t.TempDir(), "town.wb")
	if err := p.Snapshot().WriteFile(path); err != nil {
		t.Fatal(err)
	}
	snap, err := snapshot.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	if breaches := snap.Check(); len(breaches) > 0 {
		t.Fatal(breaches)
	}
	again, err := routing.NewPlanner(snap, nil)
	if err != nil {
		t.Fatal(err)
	}
	w := routing.Wish{Shape: routing.Loop, From: maptest.Door(p.Frame()), Minutes: 30, Dog: maptest.Kessa(), Depart: maptest.Morning}
	a, err := p.Plan(context.Background(), w)
	if err != nil {
		t.Fatal(err)
	}
	b, err := again.Plan(context.Background(), w)
	if err != nil {
		t.Fatal(err)
	}
	// Lines, room and shares are rounded in the file.
	if x, y := a.Walks[0].ExpectedReactions, b.Walks[0].ExpectedReactions; math.Abs(x-y) > 1e-3*x || math.Abs(a.Walks[0].LengthM-b.Walks[0].LengthM) > .5 {
		t.Errorf("X %v and %v, length %v and %v", a.Walks[0].ExpectedReactions, b.Walks[0].ExpectedReactions, a.Walks[0].LengthM, b.Walks[0].LengthM)
	}
}

// FuzzSnapshot spoils a snapshot: it is refused, or found damaged, or sound.
func FuzzSnapshot(f *testing.F) {
	p, err := routing.NewPlanner(maptest.Town(f), nil)
	if err != nil {
		f.Fatal(err)
	}
	path := filepath.Join(f.TempDir(), "town.wb")
	if err := p.Snapshot().WriteFile(path); err != nil {
		f.Fatal(err)
	}
	whole, err := os.ReadFile(path)
	if err != nil {
		f.Fatal(err)
	}
	f.Add(uint32(0), byte(1), uint32(len(whole)))
	f.Add(uint32(30), byte(255), uint32(len(whole)))
	f.Add(uint32(len(whole)-20), byte(7), uint32(len(whole)))
	f.Add(uint32(0), byte(0), uint32(len(whole)/2))
	f.Fuzz(func(t *testing.T, at uint32, by byte, length uint32) {
		b := append([]byte(nil), whole[:min(int(length), len(whole))]...)
		if len(b) > 0 {
			b[int(at)%len(b)] ^= by
		}
		path := filepath.Join(t.TempDir(), "spoilt.wb")
		if err := os.WriteFile(path, b, 0o600); err != nil {
			t.Fatal(err)
		}
		snap, err := snapshot.Open(path)
		if err != nil {
			return
		}
		if breaches := snap.Check(); len(breaches) > 0 && len(snap.Verify()) == 0 {
			t.Errorf("opened and whole, but not sound: %v", breaches[0])
		}
		if err := snap.Close(); err != nil {
			t.Error(err)
		}
	})
}

func TestDefaultDogIsSaid(t *testing.T) {
	p := plantest.Town(t)
	plan, err := p.Plan(context.Background(), routing.Wish{Shape: routing.Loop, From: maptest.Door(p.Frame()), Minutes: 30, Dog: *exposure.DefaultDog(), Depart: maptest.Morning})
	if err != nil {
		t.Fatal(err)
	}
	need := exposure.DogOnLead.Info().Default
	if i := slices.IndexFunc(plan.Assumed, func(a exposure.Assumption) bool { return a.What == exposure.AssumedDog }); i < 0 || !slices.Equal(plan.Assumed[i].Numbers, []float64{need.WorkingM, need.ReactionM}) {
		t.Errorf("assumed: %v", plan.Assumed)
	}
}

// TestShapes asks for each shape of walk and holds it to what its name says.
func TestShapes(t *testing.T) {
	p := plantest.Town(t)
	w := routing.Wish{From: maptest.Door(p.Frame()), Minutes: 25, Dog: maptest.Kessa(), Depart: maptest.Morning}

	w.Shape = routing.ThereAndBack
	plan, err := p.Plan(context.Background(), w)
	if err != nil {
		t.Fatal(err)
	}
	line := plan.Walks[0].Line
	for m := 0.0; m < line.LengthM(); m += 20 {
		if d := line.At(m).DistanceM(line.At(line.LengthM() - m)); d > 1 {
			t.Fatalf("there and back: %.0f m out is %.1f m from the way home", m, d)
		}
	}
	validate(t, p, &w, plan, &plan.Walks[0])

	w.Shape, w.MaxX = routing.LongestCalm, 0.8
	plan, err = p.Plan(context.Background(), w)
	if err != nil {
		t.Fatal(err)
	}
	walk := &plan.Walks[0]
	if walk.ExpectedReactions > 0.8*1.02 || walk.CeilingS < walk.DurationS || walk.DurationS > 25*60 {
		t.Errorf("longest: X %.3f of 0.8, %.0f s under a ceiling of %.0f s", walk.ExpectedReactions, walk.DurationS, walk.CeilingS)
	}

	w.Shape, w.MaxX = routing.Loop, 0
	plan, err = p.Plan(context.Background(), w)
	if err != nil {
		t.Fatal(err)
	}
	if len(plan.Walks) < 2 {
		t.Errorf("%d walks to choose from", len(plan.Walks))
	}
	for i := 1; i < len(plan.Walks); i++ {
		if x, y := plan.Walks[i-1].Quality.Sum, plan.Walks[i].Quality.Sum; y < x {
			t.Errorf("walk %d has a sum of %.3f, the one before %.3f", i, y, x)
		}
		validate(t, p, &w, plan, &plan.Walks[i])
	}
	proof, err := p.Prove(context.Background(), w)
	if err != nil {
		t.Fatal(err)
	}
	if q := proof.Walks[0].Quality; q.LowerX <= 0 || q.LowerX > plan.Walks[0].ExpectedReactions*3 || q.Checking {
		t.Errorf("certificate %+v", q)
	}
}

// TestLapsAreSaid: where only a round too short for the wish can be reached, it
// is walked more than once, and the answer says that it is laps.
func TestLapsAreSaid(t *testing.T) {
	p := plantest.On(t, maptest.World(t, "loop-edge"))
	g := p.Snapshot().Graph
	end := slices.Index(g.VertexNode, 7) // of the street without a name
	street := g.ArcEdge[g.Star.First[end]]
	from := g.EdgeLine(street).Reversed()
	if tail, _ := g.Ends(street); tail == int32(end) {
		from = g.EdgeLine(street)
	}
	w := routing.Wish{Shape: routing.Loop, From: from.At(10), Minutes: 11, Dog: maptest.Kessa(), Depart: maptest.Morning}
	plan, err := p.Plan(context.Background(), w)
	if err != nil {
		t.Fatal(err)
	}
	if plan.Walks[0].Laps != 2 || !slices.Contains(plan.Notes, routing.Note{What: routing.NoteLaps, N: 2}) {
		t.Errorf("laps %d, notes %v", plan.Walks[0].Laps, plan.Notes)
	}
}

// TestLitOnlyAfterDark: the limit holds while the sun is down and is no limit by
// day.
func TestLitOnlyAfterDark(t *testing.T) {
	p := plantest.Town(t)
	w := routing.Wish{Shape: routing.Loop, From: maptest.Door(p.Frame()), Minutes: 30, Dog: maptest.Kessa(), Limits: reach.Limits{LitOnly: true}}
	lit := func(at time.Time) (all bool) {
		w.Depart = at
		plan, err := p.Plan(context.Background(), w)
		var none *reach.Infeasible
		if errors.As(err, &none) {
			return true
		}
		if err != nil {
			t.Fatal(err)
		}
		all = true
		g := p.Snapshot().Graph
		for i := range plan.Walks[0].Legs {
			for _, e := range plan.Walks[0].Legs[i].Edges {
				for _, part := range g.Parts[g.PartAt[e.Edge]:g.PartAt[e.Edge+1]] {
					all = all && part.Flags&osmdata.FlagLit != 0
				}
			}
		}
		return all
	}
	if !lit(time.Date(2026, 11, 25, 20, 0, 0, 0, time.UTC)) {
		t.Error("walks unlit ways at eight in the evening")
	}
	if lit(time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)) {
		t.Error("keeps to lit ways at noon")
	}
}
