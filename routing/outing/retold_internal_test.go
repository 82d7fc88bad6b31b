package outing

import (
	"context"
	"errors"
	"math"
	"slices"
	"testing"

	"wideberth/osmdata/fault"
	"wideberth/osmdata/plane"
	"wideberth/routing"
)

// TestRetold: from line and times alone comes the walk that was planned, leg by
// leg, with its holds; also where the line was rounded on its way through JSON.
func TestRetold(t *testing.T) {
	p, o := townOuting(t, 6)
	tt, err := Plan(context.Background(), p, *o)
	if err != nil {
		t.Fatal(err)
	}
	rows := slices.Clone(tt.Rows)
	for i := range rows {
		rows[i].Plan = nil
		rows[i].Line = slices.Clone(rows[i].Line)
		for j := range rows[i].Line {
			rows[i].Line[j] = rows[i].Line[j].Add(plane.Point{X: 0.05 * float64(j%3-1), Y: 0.04})
		}
	}
	plans, err := Retold(context.Background(), p, *o, rows)
	if err != nil {
		t.Fatal(err)
	}
	for i := range plans {
		got, want := &plans[i].Walks[0], &tt.Rows[i].Plan.Walks[0]
		if len(got.Legs) != len(want.Legs) || math.Abs(got.LengthM-want.LengthM) > 1e-6 || math.Abs(got.ExpectedReactions-want.ExpectedReactions) > 1e-9 || got.Shape != want.Shape {
			t.Errorf("%s: %d legs, %.1f m, %.5f, %s; planned %d legs, %.1f m, %.5f, %s", rows[i].Dog, len(got.Legs), got.LengthM, got.ExpectedReactions, got.Shape,
				len(want.Legs), want.LengthM, want.ExpectedReactions, want.Shape)
		}
		if !plans[i].Depart.Equal(rows[i].Leave) {
			t.Errorf("%s leaves at %v, want %v", rows[i].Dog, plans[i].Depart, rows[i].Leave)
		}
		holds := 0
		for j, q := range got.Watch {
			if j > 0 && q.FromM < got.Watch[j-1].FromM {
				t.Errorf("%s: watch point %d is out of order", rows[i].Dog, j)
			}
			if q.What == HoldPoint {
				h := rows[i].Holds[holds]
				if !q.NotBefore.Equal(h.NotBefore) || q.Name == "" || got.Line.At(q.FromM).DistanceM(h.At) > 2 {
					t.Errorf("%s: hold %d at %.0f m, %v, %q; the line is %.1f m off it", rows[i].Dog, holds, q.FromM, q.NotBefore, q.Name, got.Line.At(q.FromM).DistanceM(h.At))
				}
				holds++
			}
		}
		if holds != len(rows[i].Holds) {
			t.Errorf("%s: %d holds told of %d", rows[i].Dog, holds, len(rows[i].Holds))
		}
	}
	moved := *o
	moved.Gate = moved.Gate.Add(plane.Point{X: 300})
	var wrong fault.Problems
	if _, err := Retold(context.Background(), p, moved, rows); !errors.As(err, &wrong) {
		t.Errorf("from another gate: %v", err)
	}
	rows[0].Dog = "nobody"
	if _, err := Retold(context.Background(), p, *o, rows); !errors.As(err, &wrong) || wrong[0].Pointer != "/rows/0" {
		t.Errorf("a dog that is not of the outing: %v", err)
	}
}

// TestRetoldThereAndBack: a way and the same way home is told as that.
func TestRetoldThereAndBack(t *testing.T) {
	p, o := townOuting(t, 1)
	g, pool := townPool(t, p, o)
	l := pool[0]
	half := l.arcs[:len(l.arcs)/3]
	there := poolLoop{arcs: slices.Clone(half)}
	for i := range half {
		there.arcs = append(there.arcs, g.reach.Star.Twin[half[len(half)-1-i]])
	}
	g.draw(&there)
	got, ok := g.found(there.line)
	if !ok || !slices.Equal(got.arcs, there.arcs) || got.shape != routing.ThereAndBack {
		t.Errorf("found %v, %v; want %v there and back", got, ok, there.arcs)
	}
	if again, ok := g.found(l.line); !ok || !slices.Equal(again.arcs, l.arcs) || again.shape != routing.Loop {
		t.Errorf("the loop itself: %v, %v", again, ok)
	}
}
