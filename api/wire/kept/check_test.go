package kept_test

import (
	"errors"
	"strings"
	"testing"
	"time"

	"wideberth/api/wire/kept"
	"wideberth/osmdata/fault"
)

var noon = time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)

func m(x float64) *float64 { return &x }

// TestMeetingsRefused: each field that cannot be is named, and nothing else is.
func TestMeetingsRefused(t *testing.T) {
	good := kept.EncounterInput{Kind: "dog_on_lead", At: noon, Nearest: "between", DistanceM: m(10), ToM: m(20), NoticedM: m(40), DurationS: m(20), Food: "taken", Over: "bark", Lat: m(47), Lon: m(-7)}
	if err := good.Check(noon); err != nil {
		t.Fatalf("a meeting with everything: %v", err)
	}
	for at, change := range map[string]func(*kept.EncounterInput){
		"/key":         func(in *kept.EncounterInput) { in.Key = strings.Repeat("k", 81) },
		"/walk":        func(in *kept.EncounterInput) { in.Walk = "a\x00b" },
		"/note":        func(in *kept.EncounterInput) { in.Note = strings.Repeat("n", 1001) },
		"/at":          func(in *kept.EncounterInput) { in.At = time.Date(1999, 12, 31, 0, 0, 0, 0, time.UTC) },
		"/kind":        func(in *kept.EncounterInput) { in.Kind = "dragon" },
		"/lat":         func(in *kept.EncounterInput) { in.Lat = nil },
		"/nearest":     func(in *kept.EncounterInput) { in.Nearest, in.ToM = "roughly", nil },
		"/food":        func(in *kept.EncounterInput) { in.Food = "eaten" },
		"/over":        func(in *kept.EncounterInput) { in.Over = "sang" },
		"/noticed_m":   func(in *kept.EncounterInput) { in.NoticedM = m(-1) },
		"/distance_m":  func(in *kept.EncounterInput) { in.Nearest, in.DistanceM, in.ToM = "exact", nil, nil },
		"/to_m":        func(in *kept.EncounterInput) { in.ToM = m(10) },
		"/duration_s":  func(in *kept.EncounterInput) { in.DurationS = m(7201) },
		"/noticed_m 2": func(in *kept.EncounterInput) { in.Nearest, in.ToM, in.NoticedM = "exact", nil, m(9) },
	} {
		bad := good
		change(&bad)
		var ps fault.Problems
		if err := bad.Check(noon); !errors.As(err, &ps) || len(ps) != 1 || ps[0].Pointer != strings.Fields(at)[0] {
			t.Errorf("%s: %v", at, err)
		}
	}
}

// TestAheadIsNoFault: what is still to come is refused for now only, and only beyond a
// day, by which a telephone may be off.
func TestAheadIsNoFault(t *testing.T) {
	for ahead, want := range map[time.Duration]bool{-time.Hour: false, 24 * time.Hour: false, 24*time.Hour + time.Second: true} {
		met := kept.EncounterInput{At: noon.Add(ahead)}
		walk := kept.WalkInput{Started: noon.Add(ahead)}
		if a, b := errors.Is(met.Check(noon), kept.ErrAhead), errors.Is(walk.Check(noon), kept.ErrAhead); a != want || b != want {
			t.Errorf("%v ahead: meeting %v, walk %v", ahead, a, b)
		}
	}
}

// TestWalksRefused: a walk ends after it began and within a day, and a visit belongs to a
// sequence.
func TestWalksRefused(t *testing.T) {
	for name, c := range map[string]struct {
		in kept.WalkInput
		at string
	}{
		"ends before":         {kept.WalkInput{Started: noon, Ended: noon.Add(-time.Second)}, "/ended"},
		"longer than a day":   {kept.WalkInput{Started: noon, Ended: noon.Add(24*time.Hour + time.Second)}, "/ended"},
		"a day":               {kept.WalkInput{Started: noon, Ended: noon.Add(24 * time.Hour)}, ""},
		"no sequence":         {kept.WalkInput{Started: noon, Visit: 2}, "/sequence"},
		"no visit":            {kept.WalkInput{Started: noon, Sequence: "s"}, "/visit"},
		"the hundredth visit": {kept.WalkInput{Started: noon, Sequence: "s", Visit: 100}, "/visit"},
		"the last visit":      {kept.WalkInput{Started: noon, Sequence: "s", Visit: 99}, ""},
	} {
		err := c.in.Check(noon)
		var ps fault.Problems
		if errors.As(err, &ps) != (c.at != "") || c.at != "" && (len(ps) != 1 || ps[0].Pointer != c.at) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// TestFillTakesTheWorkingDistance: about stands for the dog's own distance, of the kind or
// else of its category; a kind that it is calm about has none.
func TestFillTakesTheWorkingDistance(t *testing.T) {
	d := kept.Dog{Distances: map[string]kept.Distance{"dogs": {}, "car": {Calm: true}}}
	x := d.Distances["dogs"]
	x.WorkingM, x.ReactionM = 40, 16
	d.Distances["dogs"] = x
	met := kept.EncounterInput{Kind: "dog_on_lead", Nearest: "about"}
	if err := met.Fill(&d); err != nil || met.DistanceM == nil || *met.DistanceM != 40 {
		t.Errorf("about: %v, %v", met.DistanceM, err)
	}
	calm := kept.EncounterInput{Kind: "car", Nearest: "about"}
	if err := calm.Fill(&d); err == nil {
		t.Error("a distance for a kind that the dog is calm about")
	}
	measured := kept.EncounterInput{Kind: "dog_on_lead", Nearest: "exact", DistanceM: m(7)}
	if err := measured.Fill(&d); err != nil || *measured.DistanceM != 7 {
		t.Errorf("measured: %v, %v", measured.DistanceM, err)
	}
}
