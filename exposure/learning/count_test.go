package learning

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"wideberth/exposure"
)

func inPark(k exposure.Kind, inside float64) Expected { return in(k, exposure.PlacePark, inside) }

func in(k exposure.Kind, p exposure.PlaceKind, inside float64) Expected {
	return Expected{exposure.Cell{Kind: k, Place: p, Part: exposure.Morning}, inside, 38}
}

// TestWhatCountsAsMet goes through the ways in which a meeting may or may not count
// against what was predicted nearer than the working distance of 38 m.
func TestWhatCountsAsMet(t *testing.T) {
	cells := []Expected{inPark(exposure.DogOnLead, 3), in(exposure.DogOnLead, exposure.PlaceWoods, 1), inPark(exposure.DogOffLead, 4), inPark(exposure.Child, 0)}
	seen := Meeting{Name: "dog_on_lead", Place: "park", Near: exactly(20), Outcome: TookFood}
	cases := map[string]struct {
		change func(m *Meeting)
		want   [4]float64
		waits  bool
	}{
		"nearer":                  {func(*Meeting) {}, [4]float64{1, 0, 0, 0}, false},
		"farther":                 {func(m *Meeting) { m.Near.M = 50 }, [4]float64{}, false},
		"about the distance":      {func(m *Meeting) { m.Near = Near{Known: true, Bound: About, M: 38} }, [4]float64{1, 0, 0, 0}, false},
		"farther than it":         {func(m *Meeting) { m.Near = Near{Known: true, Bound: FartherThan, M: 38} }, [4]float64{}, false},
		"nobody knows how near":   {func(m *Meeting) { m.Near = Near{} }, [4]float64{1, 0, 0, 0}, false},
		"nobody knows where":      {func(m *Meeting) { m.Place = "" }, [4]float64{.75, .25, 0, 0}, false},
		"somewhere off the walk":  {func(m *Meeting) { m.Place = "industry" }, [4]float64{.75, .25, 0, 0}, false},
		"some dog":                {func(m *Meeting) { m.Name = "dogs" }, [4]float64{3. / 7, 0, 4. / 7, 0}, false},
		"what was not expected":   {func(m *Meeting) { m.Name = "child" }, [4]float64{0, 0, 0, 1}, false},
		"what was not looked for": {func(m *Meeting) { m.Name = "bicycle" }, [4]float64{}, false},
		"what nobody knows now":   {func(m *Meeting) { m.Name = "a kind no longer in use" }, [4]float64{}, false},
		"a draft":                 {func(m *Meeting) { *m = Meeting{} }, [4]float64{}, true},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			m := seen
			c.change(&m)
			got, counts := Observed(cells, []Meeting{m})
			if counts == c.waits {
				t.Errorf("counts: %v", counts)
			}
			for i := range got {
				if math.Abs(got[i]-c.want[i]) > 1e-12 {
					t.Errorf("%v: %g met, want %g", cells[i].Cell, got[i], c.want[i])
				}
			}
		})
	}
	// A cell whose kind is no longer in use is kept in its place and counts nothing.
	gone := []Expected{{Cell: exposure.Cell{Kind: exposure.KindCount}, Inside: 9, WorkingM: 38}, cells[0]}
	if got, ok := Observed(gone, []Meeting{seen}); !ok || got[0] != 0 || got[1] != 1 {
		t.Errorf("beside a kind no longer in use: %v, %v", got, ok)
	}
}

// TestObservedProperties: every meeting is shared out whole or not at all, one after
// another as all at once, and never to what it cannot be.
func TestObservedProperties(t *testing.T) {
	cell := rapid.Custom(func(t *rapid.T) Expected {
		return Expected{exposure.Cell{Kind: rapid.SampledFrom([]exposure.Kind{exposure.DogOnLead, exposure.DogOffLead, exposure.Child, exposure.Bells}).Draw(t, "kind"),
			Place: rapid.SampledFrom([]exposure.PlaceKind{exposure.PlacePark, exposure.PlaceWoods}).Draw(t, "place")},
			rapid.Float64Range(0, 5).Draw(t, "inside"), rapid.Float64Range(1, 90).Draw(t, "working")}
	})
	rapid.Check(t, func(t *rapid.T) {
		cells := rapid.SliceOfNDistinct(cell, 0, 6, func(x Expected) exposure.Cell { return x.Cell }).Draw(t, "cells")
		met := rapid.SliceOfN(anyMeeting().Filter(func(m Meeting) bool { return m.Name != "" }), 0, 6).Draw(t, "met")
		all, ok := Observed(cells, met)
		if !ok {
			t.Fatal("a walk without drafts waits")
		}
		sum := make([]float64, len(cells))
		for i := range met {
			one, _ := Observed(cells, met[i:i+1])
			whole := 0.0
			for j, x := range one {
				whole += x
				sum[j] += x
				if x > 0 && !met[i].mayBe(cells[j].Kind) {
					t.Fatalf("%+v counts as %v", met[i], cells[j].Kind)
				}
			}
			if whole != 0 && math.Abs(whole-1) > 1e-9 {
				t.Fatalf("%+v counts %g times", met[i], whole)
			}
		}
		for j := range sum {
			if math.Abs(sum[j]-all[j]) > 1e-9 {
				t.Fatalf("cell %d: %g at once, %g one by one", j, all[j], sum[j])
			}
		}
	})
}

// TestTalliesTeachRates: Gamma(a, a) with counts y of exposures e becomes
// Gamma(a + y, a + e), the textbook posterior (Gelman et al., Bayesian Data
// Analysis, 3rd ed., section 2.6); with walks in one cell only it holds exactly.
func TestTalliesTeachRates(t *testing.T) {
	morningPark := inPark(exposure.DogOnLead, 0).Cell
	tallies := Tallies{}
	for range 2 {
		tallies.Add(morningPark, 4, 1.5)
	}
	if got := tallies[morningPark]; got != (Tally{8, 3, 2}) {
		t.Fatalf("tally %+v", got)
	}
	cells, err := tallies.Factors()
	if err != nil {
		t.Fatal(err)
	}
	a := exposure.DogOnLead.DoubtShape()
	f := cells[morningPark]
	if math.Abs(f.Mean-(a+8)/(a+3)) > 1e-9 || math.Abs(f.Shape-(a+8)) > 1e-9 {
		t.Errorf("factor %+v, want mean %g and shape %g", f, (a+8)/(a+3), a+8)
	}
	// Cells that nobody walked in lean on it, but less.
	lean := cells[exposure.Cell{Kind: exposure.DogOnLead, Place: exposure.PlaceResidential, Part: exposure.Night}]
	if !(lean.Mean > 1 && lean.Mean < f.Mean && lean.Shape < f.Shape) {
		t.Errorf("a cell never walked: %+v beside %+v", lean, f)
	}
	if _, ok := cells[inPark(exposure.Child, 0).Cell]; ok || len(cells) != int(exposure.PlaceKindCount)*int(exposure.DayPartCount) {
		t.Errorf("%d factors, of a kind that was never counted: %v", len(cells), ok)
	}
	tallies.Add(morningPark, -9, 1)
	if _, err := tallies.Factors(); err == nil {
		t.Error("a count below nothing teaches")
	}
	if none, err := (Tallies{}).Factors(); err != nil || len(none) != 0 {
		t.Errorf("nothing counted teaches %v, %v", none, err)
	}
}
