package exposure

import (
	"testing"

	"pgregory.net/rapid"
)

func TestNeedCurve(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := rapid.Float64Range(.1, 2000).Draw(t, "R")
		n := Need{WorkingM: r * rapid.Float64Range(1.01, 20).Draw(t, "W/R"), ReactionM: r}
		if !agrees(n.P(n.ReactionM), .5, 1e-12) || !agrees(n.P(n.WorkingM), .1, 1e-9) {
			t.Fatalf("P(R) = %g, P(W) = %g", n.P(n.ReactionM), n.P(n.WorkingM))
		}
		d := rapid.Float64Range(0, 5000).Draw(t, "d")
		if n.P(d) < n.P(d*1.1) {
			t.Fatal("P rises with distance")
		}
		if braver := n.stretch(.9); braver.P(d) > n.P(d)+1e-15 {
			t.Fatal("a braver dog reacts more")
		}
	})
	if p := (Need{}).P(0); p != 0 {
		t.Errorf("a dog that does not react: P(0) = %g", p)
	}
	if p := (Need{10, 5}).P(0); p != 1 {
		t.Errorf("P(0) = %g", p)
	}
}

func TestNeedsInherit(t *testing.T) {
	d := &Dog{Name: "Fern", SpeedMPS: 1.1, ByCategory: map[Category]Need{Dogs: {40, 18}},
		ByKind: map[Kind]Need{DogBehindFence: {}, Bicycle: {12, 6}}, AssumedR: map[string]struct{}{"bicycle": {}}}
	for _, c := range []struct {
		kind Kind
		want Need
	}{
		{DogOnLead, Need{40, 18}}, {DogOffLead, Need{40, 18}}, {DogBehindFence, Need{}},
		{Bicycle, Need{12, 6}}, {BoardOrScooter, Need{}}, {Adult, Need{}},
	} {
		if got := d.Need(c.kind); got != c.want {
			t.Errorf("%s: %v, want %v", c.kind, got, c.want)
		}
	}
	if d.FarthestM() != 40 || d.PaceMPS() != 1.1 || d.Name != "Fern" {
		t.Errorf("dog %+v", d)
	}
	if a := d.Assumptions(); len(a) != 1 || a[0].What != AssumedReaction || a[0].Of != "bicycle" {
		t.Errorf("assumed: %+v", a)
	}
	s := d.Stretch(1.5)
	if s.Need(DogOnLead) != (Need{60, 27}) || s.Need(Bicycle) != (Need{18, 9}) || d.Need(Bicycle) != (Need{12, 6}) {
		t.Errorf("stretched %v, %v; before %v", s.Need(DogOnLead), s.Need(Bicycle), d.Need(Bicycle))
	}
	plain := &Dog{}
	if plain.PaceMPS() != DefaultSpeedMPS || len(plain.Assumptions()) != 1 || plain.FarthestM() != 0 {
		t.Errorf("a dog of which nothing is known: %+v", plain)
	}
}
