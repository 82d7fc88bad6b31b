package draw

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"wideberth/exposure"
	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing"
	"wideberth/routing/briefing"
	"wideberth/routing/briefing/blocktest"
	"wideberth/routing/snapshot"
)

func blockBand(t testing.TB) *Band {
	snap, plan, dog := blocktest.Loop(t)
	k, ok := briefing.Lead(&plan.Walks[0], dog)
	if !ok || k != exposure.DogOnLead {
		t.Fatalf("lead is %s, %t", k, ok)
	}
	return newBand(&plan.Walks[0], snap, roomFor(k, dog), &plan.Ground.Rank)
}

func TestBandWidthsAtKnownPlaces(t *testing.T) {
	b := blockBand(t)
	limit := func(sightM float64) float64 { return exposure.SideSpeedMPS * sightM / (1.1 + 1.2) }
	for _, c := range []struct {
		name        string
		fromM       float64
		left, right float64
	}{
		{"between houses: the fronts, not the gaps", 100, 7, 9},
		{"beside the wall", 320, 3, 8},
		{"open: all that is needed", 550, 38, 38},
		{"nothing mapped: the default", 800, 4.5, 4.5},
	} {
		s := &b.Samples[b.nearest(c.fromM)]
		if !near(s.LeftM, c.left, 0.05) || !near(s.RightM, c.right, 0.05) {
			t.Errorf("%s: %.2f and %.2f m, want %g and %g", c.name, s.LeftM, s.RightM, c.left, c.right)
		}
	}
	corner := &b.Samples[b.nearest(185)]
	if corner.SightM >= sightCapM || corner.RightM > limit(corner.SightM+2*smoothM)+0.01 {
		t.Errorf("before the blind corner one sees %.0f m and has %.1f m", corner.SightM, corner.RightM)
	}
}

func TestBandStepsAndRuns(t *testing.T) {
	b := blockBand(t)
	var said []string
	at := 0.0
	for _, p := range b.Pieces {
		said = append(said, strconv.Itoa(p.Step))
		if p.FromM != at {
			t.Errorf("a piece begins at %g m, the one before ends at %g", p.FromM, at)
		}
		at = p.ToM
		if n := p.Line.LengthM(); !near(n, p.ToM-p.FromM, 0.01) {
			t.Errorf("line of %.2f m for %.2f m", n, p.ToM-p.FromM)
		}
	}
	// At a corner the mean over both legs lies between; the ends are the legs' own.
	if got := strings.Join(said, " "); !strings.HasPrefix(got, "2") || !strings.Contains(got, "4") || !strings.Contains(got, "1") || !strings.HasSuffix(got, "3") {
		t.Errorf("steps %s", got)
	}
	if !near(at, 900, 0.01) {
		t.Errorf("pieces end at %g m", at)
	}
}

// randomWalk is any walk of up to eight pieces among random walls.
func randomWalk(t *rapid.T) (*snapshot.Snapshot, *routing.Walk, Room) {
	coord := rapid.Float64Range(-150, 150)
	n := rapid.IntRange(2, 9).Draw(t, "points")
	walk := &routing.Walk{}
	for len(walk.Line) < n {
		p := plane.Point{X: coord.Draw(t, "x"), Y: coord.Draw(t, "y")}
		if k := len(walk.Line); k == 0 || walk.Line[k-1].DistanceM(p) > 1 {
			walk.Line = append(walk.Line, p)
		}
	}
	gp := &snapshot.GroundPlan{}
	for range rapid.IntRange(0, 12).Draw(t, "walls") {
		a := plane.Point{X: coord.Draw(t, "x"), Y: coord.Draw(t, "y")}
		gp.Obstacles = append(gp.Obstacles, osmdata.Obstacle{Kind: osmdata.Wall, Blocks: osmdata.BlocksWay | osmdata.BlocksView,
			Line: plane.Polyline{a, a.Add(plane.Point{X: coord.Draw(t, "dx"), Y: coord.Draw(t, "dy")})}})
	}
	f := &exposure.Field{}
	at := 0.0
	for i := 1; i < n; i++ {
		m := walk.Line[i-1].DistanceM(walk.Line[i])
		low := rapid.Float32Range(0, 80).Draw(t, "low")
		side := exposure.Side{LowM: low, LeastM: low * rapid.Float32Range(0, 1).Draw(t, "least"), Default: rapid.Bool().Draw(t, "default")}
		f.Left, f.Right = append(f.Left, side), append(f.Right, side)
		f.SightFwdM, f.SightBackM = append(f.SightFwdM, 60), append(f.SightBackM, 60)
		e := routing.LegEdge{Edge: int32(i - 1), FromM: at, LengthM: m, Against: rapid.Bool().Draw(t, "against"), Reactions: rapid.Float64Range(0, 0.1).Draw(t, "x")}
		walk.Legs = append(walk.Legs, routing.Leg{Line: plane.Polyline{walk.Line[i-1], walk.Line[i]}, LengthM: m, DurationS: m, Edges: []routing.LegEdge{e}})
		at += m
	}
	w := rapid.Float64Range(3, 120).Draw(t, "need")
	return &snapshot.Snapshot{Field: f, Ground: gp}, walk, Room{Need: exposure.Need{WorkingM: w, ReactionM: w / 2}, PaceMPS: 1.2, OtherMPS: 1.1}
}

// TestBandProperties: never wider than what is needed or than the field says; pieces
// follow each other without a gap.
func TestBandProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		snap, walk, room := randomWalk(t)
		b := newBand(walk, snap, room, &routing.Rank{Minutes: [3]float64{40, 20, 10}})
		most := 0.0
		for _, s := range snap.Field.Left {
			most = max(most, float64(s.LowM))
		}
		for _, s := range b.Samples {
			for k := range 2 {
				if s.side(k) > room.Need.WorkingM+1e-9 || s.side(k) > most+1e-6 || s.side(k) < 0 || math.IsNaN(s.side(k)) {
					t.Fatalf("at %g m the band is %g m wide; need %g, field at most %g", s.FromM, s.side(k), room.Need.WorkingM, most)
				}
			}
		}
		at := 0.0
		for _, p := range b.Pieces {
			if p.FromM != at || p.ToM <= p.FromM {
				t.Fatalf("piece from %g to %g m after one that ended at %g", p.FromM, p.ToM, at)
			}
			at = p.ToM
		}
		if n := walk.Line.LengthM(); !near(at, n, 1e-6) {
			t.Fatalf("pieces cover %g of %g m", at, n)
		}
	})
}

// TestSmoothNaive compares the window passes with a plain double loop.
func TestSmoothNaive(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 60).Draw(t, "n")
		all := make([]sample, n)
		at := 0.0
		for i := range all {
			at += rapid.SampledFrom([]float64{0, 1, 2.5, 3, 7}).Draw(t, "gap")
			all[i] = sample{FromM: at, LeftM: rapid.Float64Range(0, 50).Draw(t, "left"), RightM: 1}
		}
		want := make([]float64, n)
		least := make([]float64, n)
		for i := range all {
			least[i] = math.Inf(1)
			for j := range all {
				if math.Abs(all[i].FromM-all[j].FromM) <= smoothM {
					least[i] = min(least[i], all[j].LeftM)
				}
			}
		}
		for i := range all {
			sum, count := 0.0, 0.0
			for j := range all {
				if math.Abs(all[i].FromM-all[j].FromM) <= smoothM {
					sum, count = sum+least[j], count+1
				}
			}
			want[i] = sum / count
		}
		smooth(all, &routing.Rank{})
		for i := range all {
			if !near(all[i].LeftM, want[i], 1e-9) || !near(all[i].RightM, 1, 1e-12) {
				t.Fatalf("sample %d: %g and %g, want %g and 1", i, all[i].LeftM, all[i].RightM, want[i])
			}
		}
	})
}

func BenchmarkBand(b *testing.B) {
	snap, plan, dog := blocktest.Loop(b)
	for b.Loop() {
		newBand(&plan.Walks[0], snap, roomFor(exposure.DogOnLead, dog), &plan.Ground.Rank)
	}
}

// side is the room to the left (0) or right (1).
func (s *sample) side(k int) float64 {
	if k == 0 {
		return s.LeftM
	}
	return s.RightM
}
