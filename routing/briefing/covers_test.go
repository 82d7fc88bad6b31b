package briefing

import (
	"strings"
	"testing"

	"wideberth/routing"
)

// TestCovers: a proof names its walks, its sum and what it leaves out, as the wish
// and the proof are.
func TestCovers(t *testing.T) {
	of := func(shape routing.Shape, weight float64, soft, proved bool) string {
		return plain((Words{}).Covers(routing.Quality{Proved: proved, WithinPct: 2.2,
			Covers: routing.Covered{Shape: shape, MinS: 1746, MaxS: 1980, StrainWeight: weight, Soft: soft}}))
	}
	if got := of("", 1, false, false); got != "" {
		t.Errorf("nothing proved, and yet %q", got)
	}
	for _, c := range []struct {
		got  string
		want []string
		not  []string
	}{
		{of(routing.Calmest, 1, false, true), []string{"no walk of 29 to 33 minutes", "is better by the sum of expected reactions, the strain of", "0.02 for", "ground walked twice", "same direction"}, []string{"in 100", "hard ground", "times the strain"}},
		{of(routing.Calmest, 3, true, false), []string{"more than 3 in 100 better by the sum of", "3 times the strain", "0.003 for each minute on hard ground"}, nil},
		{of(routing.Loop, 0, false, true), []string{"no loop of", "sum of expected reactions and the price of ground walked twice", "turn about"}, []string{"strain", "0.02"}},
		{of(routing.ThereAndBack, 1, false, true), []string{"no walk there and back", "expected reactions and the strain"}, []string{"walked twice", "0.02"}},
	} {
		for _, s := range c.want {
			if !strings.Contains(c.got, s) {
				t.Errorf("%q lacks %q", c.got, s)
			}
		}
		for _, s := range c.not {
			if strings.Contains(c.got, s) {
				t.Errorf("%q has %q", c.got, s)
			}
		}
	}
}

// TestProofNamesWhatItIsAbout: a proof of loops says nothing about walks.
func TestProofNamesWhatItIsAbout(t *testing.T) {
	for shape, want := range map[routing.Shape]string{routing.Calmest: "all walks of this length", routing.Loop: "all loops of this length",
		routing.ThereAndBack: "all ways there and back of this length", "": "all walks like this"} {
		walk := &routing.Walk{Shape: routing.Loop, Quality: routing.Quality{Proved: true, Covers: routing.Covered{Shape: shape}}}
		if got := (Words{}).Proof(walk); !strings.Contains(got, want) {
			t.Errorf("%q: %q lacks %q", shape, got, want)
		}
	}
}

func TestGround(t *testing.T) {
	for _, c := range []struct {
		walk routing.Walk
		want string
	}{
		{routing.Walk{Shape: routing.Loop, MainRoadS: 20, SoftGroundS: 700}, "no main roads · 12 min on soft ground"},
		{routing.Walk{Shape: routing.Loop, MainRoadS: 250, TailS: 130, Turns: 1}, "4 min beside main roads · 0 min on soft ground · a round with a tail of 2 min · turns round once"},
		{routing.Walk{Shape: routing.ThereAndBack, MainRoadS: 250, TailS: 900, Turns: 1}, "4 min beside main roads · 0 min on soft ground · there and back"},
		{routing.Walk{Shape: routing.Loop, Turns: 3}, "no main roads · 0 min on soft ground · turns round 3 times"},
	} {
		if got := plain((Words{}).Ground(&c.walk)); got != c.want {
			t.Errorf("%q, want %q", got, c.want)
		}
	}
}
