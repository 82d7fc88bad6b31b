package routing_test

import (
	"context"
	"encoding/binary"
	"errors"
	"math"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"wideberth/exposure"
	"wideberth/routing"
	"wideberth/routing/plantest"
	"wideberth/routing/reach"
	"wideberth/routing/snapshot"
	"wideberth/routing/snapshot/maptest"
	"wideberth/testdata"
)

// hilly is a planner over the invented town on a plane that rises eastwards by a
// given slope.
func hilly(t *testing.T, slope float64) *routing.Planner {
	t.Helper()
	dir := t.TempDir()
	const n = 1201
	metresPerCol := 111_320 * math.Cos(47.2*math.Pi/180) / (n - 1)
	for k, name := range []string{"N47W008.hgt", "N47W007.hgt"} {
		b := make([]byte, 0, 2*n*n)
		for range n {
			for c := range n {
				b = binary.BigEndian.AppendUint16(b, uint16(int16(math.Round(slope*metresPerCol*float64(c+k*(n-1))))))
			}
		}
		if err := os.WriteFile(filepath.Join(dir, name), b, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	path := filepath.Join(dir, testdata.TownFile)
	if err := os.WriteFile(path, testdata.Town(), 0o600); err != nil {
		t.Fatal(err)
	}
	snap, err := snapshot.Import(context.Background(), path, snapshot.ImportOptions{Heights: dir})
	if err != nil {
		t.Fatal(err)
	}
	if err := snap.WriteFile(filepath.Join(dir, "hilly.wb")); err != nil {
		t.Fatal(err)
	}
	if snap, err = snapshot.Open(filepath.Join(dir, "hilly.wb")); err != nil || len(snap.Check()) > 0 {
		t.Fatal(err, snap.Check())
	}
	p, err := routing.NewPlanner(snap, nil)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// TestSlopes walks on a tilted town: loops keep their wished time, uphill takes
// longer than down by Tobler's function, and a limit on steepness holds.
func TestSlopes(t *testing.T) {
	if testing.Short() {
		t.Skip("a long search; shorter tests go the same way")
	}
	p := hilly(t, 0.08)
	w := routing.Wish{Shape: routing.Loop, From: maptest.Door(p.Frame()), Minutes: 30, Dog: maptest.Kessa(), Depart: maptest.Morning}
	plan, err := p.Plan(context.Background(), w)
	if err != nil {
		t.Fatal(err)
	}
	if s := plan.Walks[0].DurationS; s < 0.97*1800-1 || s > 1.1*1800+1 {
		t.Errorf("%.0f s for half an hour", s)
	}
	if level := plan.Walks[0].LengthM / 1.2; level >= plan.Walks[0].DurationS {
		t.Errorf("%.0f m take %.0f s on a hill, %.0f s on the flat", plan.Walks[0].LengthM, plan.Walks[0].DurationS, level)
	}
	if assumedLevel(plan) {
		t.Error("heights were given, yet the ground is said to be level")
	}
	s := p.Snapshot().Slopes
	for e := range int32(len(s.Along)) {
		line := p.Snapshot().Graph.EdgeLine(e)
		d := line[len(line)-1].Sub(line[0])
		if d.X > 150 && math.Abs(d.Y) < 10 && d.X/line.LengthM() > 0.98 {
			if up, down := float64(s.Along[e]), float64(s.Against[e]); math.Abs(up-1.32) > 0.12 || math.Abs(down-0.93) > 0.12 {
				t.Errorf("an eastward street: up %.3f, down %.3f times the level time; Tobler gives 1.32 and 0.93 at 0.08", up, down)
			}
		}
	}
	w.Limits.MaxSlope = 0.01
	var none *reach.Infeasible
	if _, err := p.Plan(context.Background(), w); !errors.As(err, &none) || none.Limit.What != reach.LimitSlope {
		t.Errorf("no level loop exists here, yet: %v", err)
	}
}

func assumedLevel(p *routing.Plan) bool {
	return slices.ContainsFunc(p.Assumed, func(a exposure.Assumption) bool { return a.What == routing.AssumedLevel })
}

// TestLevelGroundIsSaid: without heights the answer says what it takes for granted.
func TestLevelGroundIsSaid(t *testing.T) {
	p := plantest.Town(t)
	plan, err := p.Plan(context.Background(), routing.Wish{Shape: routing.Loop, From: maptest.Door(p.Frame()), Minutes: 20, Dog: *exposure.DefaultDog(), Depart: maptest.Morning})
	if err != nil {
		t.Fatal(err)
	}
	if !assumedLevel(plan) {
		t.Errorf("assumed: %v", plan.Assumed)
	}
}
