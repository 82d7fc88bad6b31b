package kept_test

import (
	"encoding/json"
	"errors"
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"wideberth/api/wire/dogfile"
	"wideberth/api/wire/kept"
	"wideberth/exposure"
	"wideberth/osmdata/fault"
)

// told is what an error says is wrong, nil for none.
func told(err error) []fault.Problem {
	var ps fault.Problems
	if errors.As(err, &ps) {
		return ps
	}
	return nil
}

// TestNamesAndKeys: what a name and a key may be, at both ends of each rule.
func TestNamesAndKeys(t *testing.T) {
	for _, c := range []struct {
		name     string
		required bool
		want     fault.Problems
	}{
		{"Robin", true, nil},
		{"", false, nil},
		{"", true, fault.Problems{{Pointer: "/name", Mend: "missing: give a name"}}},
		{" \t ", true, fault.Problems{{Pointer: "/name", Mend: "missing: give a name"}}},
		{strings.Repeat("ä", 80), true, nil},
		{strings.Repeat("ä", 81), true, fault.Problems{{Pointer: "/name", Value: "81 characters", Mend: "give at most 80"}}},
		{"two\nlines", true, nil},
		{"a b", true, nil},
		{"a\tb", true, fault.Problems{{Pointer: "/name", Mend: "holds control characters: leave them out"}}},
		{"a\x7fb", true, fault.Problems{{Pointer: "/name", Mend: "holds control characters: leave them out"}}},
		{"a\xffb", true, fault.Problems{{Pointer: "/name", Mend: "holds control characters: leave them out"}}},
		{"雪と犬", true, nil},
	} {
		if got := kept.CheckName("/name", c.name, c.required); !slices.Equal(got, c.want) {
			t.Errorf("%q, required %v: %v, want %v", c.name, c.required, got, c.want)
		}
	}
	for key, bad := range map[string]bool{"": false, "phone-7/0042": false, strings.Repeat("k", 80): false, strings.Repeat("k", 81): true, "a\rb": true} {
		if got := kept.CheckKey("/key", key); (len(got) == 1) != bad || bad && got[0].Pointer != "/key" {
			t.Errorf("the key %q: %v", key, got)
		}
	}
}

// TestWordsAndBoundsOfMeetings: each closed list takes its words and nothing else, each
// number its bounds and nothing past them; what is wrong is told with value and mend.
func TestWordsAndBoundsOfMeetings(t *testing.T) {
	check := func(what string, in kept.EncounterInput, want ...fault.Problem) {
		t.Helper()
		in.At = noon
		if got := told(in.Check(noon)); !slices.Equal(got, want) {
			t.Errorf("%s: %v, want %v", what, fault.Problems(got), fault.Problems(want))
		}
	}
	for _, word := range []string{"", "exact", "about", "nearer_than", "farther_than"} {
		in := kept.EncounterInput{Nearest: word}
		if word != "" {
			in.DistanceM = m(20)
		}
		check(word, in)
	}
	check("between", kept.EncounterInput{Nearest: "between", DistanceM: m(20), ToM: m(20.5)})
	for _, word := range []string{"", "taken", "refused"} {
		check(word, kept.EncounterInput{Food: word})
	}
	for _, word := range []string{"", "bark", "lunge", "freeze", "snap", "bite", "other"} {
		check(word, kept.EncounterInput{Over: word})
	}
	check("food", kept.EncounterInput{Food: "Taken"}, fault.Problem{Pointer: "/food", Value: "Taken", Mend: `give one of ["taken" "refused"], or leave it out`})
	check("over", kept.EncounterInput{Over: "bit"}, fault.Problem{Pointer: "/over", Value: "bit", Mend: `give one of ["bark" "lunge" "freeze" "snap" "bite" "other"], or leave it out`})
	check("kind", kept.EncounterInput{Kind: "dogs"})
	check("kind", kept.EncounterInput{Kind: "child"})
	for metres, ok := range map[float64]bool{0.1: true, 1000: true, 1000.1: false, 0: false, -3: false, math.Inf(1): false, math.NaN(): false} {
		in := kept.EncounterInput{NoticedM: m(metres)}
		if ok {
			check("noticed", in)
			continue
		}
		in.At = noon
		if got := told(in.Check(noon)); len(got) != 1 || got[0].Pointer != "/noticed_m" || got[0].Mend != "give metres above 0 and at most 1000" || got[0].Value == "" {
			t.Errorf("noticed at %g m: %v", metres, got)
		}
	}
	for seconds, ok := range map[float64]bool{0: true, 7200: true, 7200.5: false, -1: false, math.NaN(): false} {
		in := kept.EncounterInput{DurationS: m(seconds), At: noon}
		if got := told(in.Check(noon)); (len(got) == 0) != ok || !ok && (got[0].Pointer != "/duration_s" || got[0].Mend != "give seconds up to 7200") {
			t.Errorf("%g s: %v", seconds, got)
		}
	}
	for _, c := range []struct {
		lat, lon *float64
		want     []fault.Problem
	}{
		{nil, nil, nil}, {m(90), m(180), nil}, {m(-90), m(-180), nil}, {m(0), m(0), nil},
		{m(47), nil, []fault.Problem{{Pointer: "/lat", Mend: "give both lat and lon, or neither"}}},
		{nil, m(7), []fault.Problem{{Pointer: "/lat", Mend: "give both lat and lon, or neither"}}},
		{m(90.5), m(0), []fault.Problem{{Pointer: "/lat", Value: "90.5", Mend: "give -90 to 90 degrees"}}},
		{m(-91), m(0), []fault.Problem{{Pointer: "/lat", Value: "-91", Mend: "give -90 to 90 degrees"}}},
		{m(0), m(180.5), []fault.Problem{{Pointer: "/lon", Value: "180.5", Mend: "give -180 to 180 degrees"}}},
		{m(math.NaN()), m(0), []fault.Problem{{Pointer: "/lat", Value: "NaN", Mend: "give -90 to 90 degrees"}}},
		{m(0), m(math.NaN()), []fault.Problem{{Pointer: "/lon", Value: "NaN", Mend: "give -180 to 180 degrees"}}},
	} {
		check("a place", kept.EncounterInput{Lat: c.lat, Lon: c.lon}, c.want...)
	}
	check("text", kept.EncounterInput{Note: strings.Repeat("n", 1000), Walk: strings.Repeat("w", 80), Key: strings.Repeat("k", 80)})
	check("lines", kept.EncounterInput{Note: "one\ntwo"})
}

// TestNearestHangsTogether: how a distance is meant and what is given of it, all ways that
// fields can be there or not.
func TestNearestHangsTogether(t *testing.T) {
	have := func(in *kept.EncounterInput) (at string) {
		in.At = noon
		if got := told(in.Check(noon)); len(got) > 0 {
			return got[0].Pointer
		}
		return ""
	}
	for _, c := range []struct {
		nearest            string
		distance, to, seen *float64
		want               string
	}{
		{"", nil, nil, nil, ""}, {"", m(5), nil, nil, "/nearest"}, {"", nil, m(5), nil, "/to_m"}, {"", nil, nil, m(5), ""},
		{"exact", nil, nil, nil, "/distance_m"}, {"exact", m(5), nil, nil, ""}, {"exact", m(5), m(9), nil, "/to_m"},
		{"exact", m(5), nil, m(5), ""}, {"exact", m(5), nil, m(4.9), "/noticed_m"},
		{"about", nil, nil, nil, ""}, {"about", m(5), nil, m(4), ""}, {"about", nil, m(5), nil, "/to_m"},
		{"nearer_than", nil, nil, nil, ""}, {"nearer_than", m(5), nil, m(4), ""}, {"farther_than", m(5), m(7), nil, "/to_m"},
		{"between", nil, nil, nil, "/to_m"}, {"between", m(5), nil, nil, "/to_m"}, {"between", nil, m(5), nil, "/to_m"},
		{"between", m(5), m(5), nil, "/to_m"}, {"between", m(5), m(4), nil, "/to_m"}, {"between", m(5), m(6), nil, ""},
	} {
		in := kept.EncounterInput{Nearest: c.nearest, DistanceM: c.distance, ToM: c.to, NoticedM: c.seen}
		if got := have(&in); got != c.want {
			t.Errorf("%s with distance %v, to %v, noticed %v: %q, want %q", c.nearest, c.distance != nil, c.to != nil, c.seen != nil, got, c.want)
		}
	}
}

// TestMomentsThatCanBe: from 2000 to 2200, both ends taken.
func TestMomentsThatCanBe(t *testing.T) {
	first, last := time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC), time.Date(2200, 1, 1, 0, 0, 0, 0, time.UTC)
	for at, ok := range map[time.Time]bool{first: true, first.Add(-time.Second): false, last: true, last.Add(time.Second): false, {}: false} {
		met, walk := kept.EncounterInput{At: at}, kept.WalkInput{Started: at}
		for field, err := range map[string]error{"/at": met.Check(last), "/started": walk.Check(last)} {
			got := told(err)
			if (len(got) == 0) != ok || !ok && (got[0].Pointer != field || got[0].Value != at.Format(time.RFC3339) || !strings.Contains(got[0].Mend, "put the clock right")) {
				t.Errorf("%s: %v", at, err)
			}
		}
	}
	// What is ahead is told with both times, and is no fault of a field.
	err := kept.CheckAhead(noon.Add(25*time.Hour), noon)
	if !errors.Is(err, kept.ErrAhead) || told(err) != nil || !strings.Contains(err.Error(), "2026-11-26T13:00:00Z") || !strings.Contains(err.Error(), "2026-11-25T12:00:00Z") {
		t.Errorf("a day and an hour ahead: %v", err)
	}
	if errors.Is(err, kept.ErrAhead) == errors.Is(err, errors.ErrUnsupported) {
		t.Error("it is any error")
	}
	// A field that is wrong is told before the clock is asked.
	late := kept.WalkInput{Started: noon.Add(48 * time.Hour), Visit: 1}
	if got := told(late.Check(noon)); len(got) != 1 || got[0].Pointer != "/sequence" {
		t.Errorf("ahead and without a sequence: %v", got)
	}
}

// TestWalksAtTheirBounds: lengths, notes and sequences of walks.
func TestWalksAtTheirBounds(t *testing.T) {
	for _, c := range []struct {
		in   kept.WalkInput
		want []string
	}{
		{kept.WalkInput{}, nil},
		{kept.WalkInput{Ended: noon}, nil},
		{kept.WalkInput{Ended: noon.Add(-1)}, []string{"/ended"}},
		{kept.WalkInput{Note: strings.Repeat("n", 1001), Key: "a\x01"}, []string{"/key", "/note"}},
		{kept.WalkInput{Sequence: strings.Repeat("s", 81), Visit: 1}, []string{"/sequence"}},
		{kept.WalkInput{Sequence: strings.Repeat("s", 80), Visit: 1}, nil},
		{kept.WalkInput{Sequence: "s", Visit: -1}, []string{"/visit"}},
		{kept.WalkInput{Visit: -1}, []string{"/sequence"}},
	} {
		c.in.Started = noon
		var got []string
		for _, p := range told(c.in.Check(noon)) {
			got = append(got, p.Pointer)
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("%+v: %q, want %q", c.in, got, c.want)
		}
	}
}

// TestReports: a report of something new needs a kind and a place; one of what the map has
// needs its name and nothing else; only the latter can be disputed.
func TestReports(t *testing.T) {
	good := kept.ReportInput{Kind: "dog_behind_fence", There: true, Lat: m(47), Lon: m(-7), RadiusM: 500, Number: 500, Hours: "Th 19:00-20:30", What: strings.Repeat("w", 80)}
	if err := good.Check(); err != nil {
		t.Fatalf("a report with everything: %v", err)
	}
	corners := [][2]float64{{-7, 47}, {-7.01, 47}, {-7, 47.01}}
	for _, c := range []struct {
		what   string
		change func(*kept.ReportInput)
		want   []fault.Problem
	}{
		{"an area", func(in *kept.ReportInput) { in.Lat, in.Lon, in.Area = nil, nil, corners }, nil},
		{"an area and a place", func(in *kept.ReportInput) { in.Area = corners }, nil},
		{"what the map has", func(in *kept.ReportInput) { *in = kept.ReportInput{Mapped: "way/1234", There: true} }, nil},
		{"dispute", func(in *kept.ReportInput) { *in = kept.ReportInput{Mapped: "relation/7"} }, nil},
		{"neither", func(in *kept.ReportInput) { in.Lat, in.Lon = nil, nil }, []fault.Problem{{Pointer: "/lat", Mend: "missing: give a place or an area"}}},
		{"two corners", func(in *kept.ReportInput) { in.Area = corners[:2] }, []fault.Problem{{Pointer: "/area", Value: "2 corners", Mend: "give 3 to 200"}}},
		{"200 corners", func(in *kept.ReportInput) { in.Area = slices.Repeat(corners, 67)[:200] }, nil},
		{"201 corners", func(in *kept.ReportInput) { in.Area = slices.Repeat(corners, 67) }, []fault.Problem{{Pointer: "/area", Value: "201 corners", Mend: "give 3 to 200"}}},
		{"exchanged", func(in *kept.ReportInput) { in.Area = [][2]float64{{-7, 47}, {47, -97}, {-7, 47.1}} }, []fault.Problem{{Pointer: "/area/1", Value: "-97", Mend: "give -90 to 90 degrees (longitude first)"}}},
		{"off the earth", func(in *kept.ReportInput) { in.Area = [][2]float64{{-181, 47}, {-7, 47}, {-7, 47.1}} }, []fault.Problem{{Pointer: "/area/0", Value: "-181", Mend: "give -180 to 180 degrees (longitude first)"}}},
		{"no radius, no number", func(in *kept.ReportInput) { in.RadiusM, in.Number = 0, 0 }, nil},
		{"hours just short enough", func(in *kept.ReportInput) { in.Hours = strings.Repeat("Mo; ", 63) + "Tu " }, nil},
		{"half a place", func(in *kept.ReportInput) { in.Lon = nil }, []fault.Problem{{Pointer: "/lat", Mend: "give both lat and lon, or neither"}}},
		{"fewer than none", func(in *kept.ReportInput) { in.Number = -1 }, []fault.Problem{{Pointer: "/number", Value: "-1", Mend: "give 0 to 500"}}},
		{"radius", func(in *kept.ReportInput) { in.RadiusM = 500.5 }, []fault.Problem{{Pointer: "/radius_m", Value: "500.5", Mend: "give metres up to 500"}}},
		{"radius below", func(in *kept.ReportInput) { in.RadiusM = -1 }, []fault.Problem{{Pointer: "/radius_m", Value: "-1", Mend: "give metres up to 500"}}},
		{"number", func(in *kept.ReportInput) { in.Number = 501 }, []fault.Problem{{Pointer: "/number", Value: "501", Mend: "give 0 to 500"}}},
		{"no number", func(in *kept.ReportInput) { in.Number = math.NaN() }, []fault.Problem{{Pointer: "/number", Value: "NaN", Mend: "give 0 to 500"}}},
		{"not there", func(in *kept.ReportInput) { in.There = false }, []fault.Problem{{Pointer: "/there", Value: "false", Mend: "only a source that the map has can be disputed here: name it in mapped, or dispute the report of it"}}},
		{"long hours", func(in *kept.ReportInput) { in.Hours = strings.Repeat("Mo; ", 64) }, []fault.Problem{{Pointer: "/hours", Mend: "give at most 255 characters"}}},
		{"long words", func(in *kept.ReportInput) { in.What = strings.Repeat("w", 81) }, []fault.Problem{{Pointer: "/what", Value: "81 characters", Mend: "give at most 80"}}},
		{"a name that is none", func(in *kept.ReportInput) { *in = kept.ReportInput{Mapped: "ways/12"} }, []fault.Problem{{Pointer: "/mapped", Value: "ways/12", Mend: "give a source of the map like way/1234"}}},
		{"a name with more", func(in *kept.ReportInput) { *in = kept.ReportInput{Mapped: "way/12 "} }, []fault.Problem{{Pointer: "/mapped", Value: "way/12 ", Mend: "give a source of the map like way/1234"}}},
		{"a name too long", func(in *kept.ReportInput) { *in = kept.ReportInput{Mapped: "way/" + strings.Repeat("1", 20)} }, []fault.Problem{{Pointer: "/mapped", Value: "way/" + strings.Repeat("1", 20), Mend: "give a source of the map like way/1234"}}},
	} {
		in := good
		c.change(&in)
		if got := told(in.Check()); !slices.Equal(got, c.want) {
			t.Errorf("%s: %v, want %v", c.what, fault.Problems(got), fault.Problems(c.want))
		}
	}
	// Two words that other packages read tell more: a kind and opening hours.
	for at, change := range map[string]func(*kept.ReportInput){
		"/kind":  func(in *kept.ReportInput) { in.Kind = "dogs" }, // a category is too little
		"/hours": func(in *kept.ReportInput) { in.Hours = "Th 19:00-" },
	} {
		in := good
		change(&in)
		if got := told(in.Check()); len(got) != 1 || got[0].Pointer != at || got[0].Mend == "" || got[0].Value == "" {
			t.Errorf("%s: %v", at, got)
		}
	}
}

// TestSettingsAtTheirBounds: those of a new account can be kept, each bound is taken and
// nothing past it.
func TestSettingsAtTheirBounds(t *testing.T) {
	if got := kept.DefaultSettings().Problems(); got != nil {
		t.Errorf("those of a new account: %v", got)
	}
	for _, c := range []struct {
		change func(*kept.Settings)
		want   fault.Problems
	}{
		{func(s *kept.Settings) { s.KeepTracksDays, s.HalfLifeDays, s.Units, s.Clock = 0, 7, "ft", "12" }, nil},
		{func(s *kept.Settings) { s.KeepTracksDays, s.HalfLifeDays = 3650, 730 }, nil},
		{func(s *kept.Settings) { s.KeepTracksDays = -1 }, fault.Problems{{Pointer: "/keep_tracks_days", Value: "-1", Mend: "give 0 to 3650 days"}}},
		{func(s *kept.Settings) { s.KeepTracksDays = 3651 }, fault.Problems{{Pointer: "/keep_tracks_days", Value: "3651", Mend: "give 0 to 3650 days"}}},
		{func(s *kept.Settings) { s.HalfLifeDays = 6 }, fault.Problems{{Pointer: "/half_life_days", Value: "6", Mend: "give 7 to 730 days"}}},
		{func(s *kept.Settings) { s.HalfLifeDays = 731 }, fault.Problems{{Pointer: "/half_life_days", Value: "731", Mend: "give 7 to 730 days"}}},
		{func(s *kept.Settings) { s.Units = "yd" }, fault.Problems{{Pointer: "/units", Value: "yd", Mend: "give m or ft"}}},
		{func(s *kept.Settings) { s.Units, s.Clock = "", "" }, fault.Problems{{Pointer: "/units", Mend: "give m or ft"}, {Pointer: "/clock", Mend: "give 12 or 24"}}},
	} {
		s := kept.DefaultSettings()
		c.change(&s)
		if got := s.Problems(); !slices.Equal(got, c.want) {
			t.Errorf("%+v: %v, want %v", s, got, c.want)
		}
	}
}

// TestProfilesAtTheirBounds: drive, reward interval, food and what is medical.
func TestProfilesAtTheirBounds(t *testing.T) {
	for _, drive := range []string{"", "fear", "frustration", "excitement", "unknown"} {
		p := kept.Profile{Drive: drive, RewardS: 60, Food: strings.Repeat("f", 200), Cautions: dogfile.Cautions{Medical: strings.Repeat("ä", 500)}}
		if got := p.Problems(); len(got) != 0 {
			t.Errorf("%q: %v", drive, got)
		}
	}
	p := kept.Profile{Drive: "spite", RewardS: 60.5, Food: strings.Repeat("f", 201), Cautions: dogfile.Cautions{Medical: "a\x00"}}
	want := fault.Problems{{Pointer: "/drive", Value: "spite", Mend: "give fear, frustration, excitement or unknown"}, {Pointer: "/reward_interval_s", Value: "60.5", Mend: "give seconds up to 60, or leave it out"},
		{Pointer: "/food", Value: "201 characters", Mend: "give at most 200"}, {Pointer: "/cautions/medical", Mend: "holds control characters: leave them out"}}
	if got := p.Problems(); !slices.Equal(got, want) {
		t.Errorf("%v, want %v", got, want)
	}
	for _, seconds := range []float64{-1, math.NaN(), math.Inf(1)} {
		if got := (&kept.Profile{RewardS: seconds}).Problems(); len(got) != 1 || got[0].Pointer != "/reward_interval_s" {
			t.Errorf("%g s between rewards: %v", seconds, got)
		}
	}
}

// TestDocumentKinds: the two that there are, and nothing else.
func TestDocumentKinds(t *testing.T) {
	for _, k := range []kept.DocumentKind{kept.Sequences, kept.Outings} {
		if got := k.Check(); got != nil {
			t.Errorf("%s: %v", k, got)
		}
	}
	for _, k := range []kept.DocumentKind{"", "visit", "Outings"} {
		if got := k.Check(); len(got) != 1 || got[0] != (fault.Problem{Pointer: "/kind", Value: string(k), Mend: "give visits or outings"}) {
			t.Errorf("%q: %v", k, got)
		}
	}
}

// TestModelOfADog: what plans use of a dog is what is kept: distances under kinds and
// categories, a reaction distance that nobody said as assumed, and a bite history where
// either people or a flag say so.
func TestModelOfADog(t *testing.T) {
	pace := 1.1
	d := kept.Dog{Profile: kept.Profile{Name: "Fern", SpeedMPS: &pace, Food: "cheese",
		Needs:    map[string]*dogfile.Need{"dogs": {WorkingM: m(40)}, "child": {WorkingM: m(25), ReactionM: m(10)}, "car": nil, "bicycle": {WorkingM: m(30)}},
		Cautions: dogfile.Cautions{Muzzle: true, Medical: "one eye"}},
		Distances: map[string]kept.Distance{"dogs": {Need: exposure.Need{WorkingM: 40, ReactionM: 20}, From: "said"}, "child": {Need: exposure.Need{WorkingM: 25, ReactionM: 10}, From: "said"},
			"car": {Calm: true, From: "said"}, "bicycle": {Need: exposure.Need{WorkingM: 22, ReactionM: 9}, From: "learnt"}, "gone_from_the_list": {}}}
	got := d.Model()
	if got.Name != "Fern" || got.SpeedMPS != 1.1 || got.Food != "cheese" || got.Cautions != (exposure.Cautions{Muzzle: true, Medical: "one eye"}) {
		t.Errorf("%+v", got)
	}
	if len(got.ByKind) != 3 || len(got.ByCategory) != 1 || got.Need(exposure.DogOffLead).WorkingM != 40 || got.Need(exposure.Child).ReactionM != 10 || got.Need(exposure.Bicycle).WorkingM != 22 || got.Need(exposure.Car) != (exposure.Need{}) {
		t.Errorf("distances %v and %v", got.ByKind, got.ByCategory)
	}
	if want := map[string]struct{}{"dogs": {}}; !reflect.DeepEqual(got.AssumedR, want) {
		t.Errorf("assumed are the reaction distances to %v, want %v", got.AssumedR, want)
	}
	if d.BiteHistory() || got.Cautions.BiteHistory {
		t.Error("it has bitten nobody")
	}
	d.Flag = &kept.Flag{Over: "snap"}
	if !d.BiteHistory() || !d.Model().Cautions.BiteHistory || d.Profile.Cautions.BiteHistory {
		t.Error("a flag counts as a bite history, and changes nothing that people said")
	}
	d.Flag, d.Profile.Cautions.BiteHistory = nil, true
	if !d.BiteHistory() || !d.Model().Cautions.BiteHistory {
		t.Error("what people say counts")
	}
	if (&kept.Dog{}).Model().SpeedMPS != 0 {
		t.Error("a pace that nobody gave")
	}
	for over, want := range map[string]bool{"snap": true, "bite": true, "bark": false, "": false, "other": false, "lunge": false} {
		if kept.Harm(over) != want {
			t.Errorf("%q is harm: %v", over, !want)
		}
	}
	if x, under, ok := d.Of("dog_on_lead"); !ok || under != "dogs" || x.WorkingM != 40 {
		t.Errorf("of dogs on a lead: %+v under %q", x, under)
	}
	if x, under, ok := d.Of("child"); !ok || under != "child" || x.WorkingM != 25 {
		t.Errorf("of children: %+v under %q", x, under)
	}
	if _, _, ok := d.Of("siren"); ok {
		t.Error("a distance that it does not have")
	}
}

// TestFillOfWhatIsFar: a working distance that no meeting can have stands for none.
func TestFillOfWhatIsFar(t *testing.T) {
	for metres, ok := range map[float64]bool{1000: true, 1000.5: false} {
		d := kept.Dog{Distances: map[string]kept.Distance{"siren": {Need: exposure.Need{WorkingM: metres, ReactionM: 100}}}}
		met := kept.EncounterInput{Kind: "siren", Nearest: "nearer_than"}
		err := met.Fill(&d)
		if (err == nil) != ok || ok != (met.DistanceM != nil) || !ok && told(err)[0].Pointer != "/distance_m" {
			t.Errorf("%g m: %v", metres, err)
		}
	}
	unknown := kept.EncounterInput{Kind: "car", Nearest: "about"}
	if got := told(unknown.Fill(&kept.Dog{Distances: map[string]kept.Distance{"dogs": {Need: exposure.Need{WorkingM: 40}}}})); len(got) != 1 || got[0].Pointer != "/distance_m" || unknown.DistanceM != nil {
		t.Errorf("a kind that nothing was said of: %v", got)
	}
	silent := kept.EncounterInput{Kind: "siren"}
	if err := silent.Fill(&kept.Dog{}); err != nil || silent.DistanceM != nil {
		t.Errorf("nobody said how near: %v", err)
	}
	// What was filled in does not follow the dog.
	d := kept.Dog{Distances: map[string]kept.Distance{"dogs": {Need: exposure.Need{WorkingM: 40}}}}
	met := kept.EncounterInput{Kind: "dogs", Nearest: "about"}
	if err := met.Fill(&d); err != nil {
		t.Fatal(err)
	}
	d.Distances["dogs"] = kept.Distance{Need: exposure.Need{WorkingM: 30}}
	if *met.DistanceM != 40 {
		t.Errorf("the meeting became one at %g m", *met.DistanceM)
	}
}

// TestMeetingsComeBackAsSent: whatever a meeting that is taken says, in JSON and back it
// says the same, and is taken again.
func TestMeetingsComeBackAsSent(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		metres := rapid.Float64Range(0.1, 1000)
		maybe := func(name string) *float64 {
			if !rapid.Bool().Draw(t, name) {
				return nil
			}
			return m(metres.Draw(t, name+" m"))
		}
		in := kept.EncounterInput{Key: rapid.StringMatching(`[a-z/0-9]{0,12}`).Draw(t, "key"), At: noon.Add(time.Duration(rapid.IntRange(-1e6, 0).Draw(t, "s")) * time.Second),
			Kind: rapid.SampledFrom([]string{"", "dogs", "child", "bicycle"}).Draw(t, "kind"), Nearest: rapid.SampledFrom([]string{"", "exact", "about", "between"}).Draw(t, "nearest"),
			DistanceM: maybe("distance"), ToM: maybe("to"), NoticedM: maybe("noticed"), Note: rapid.StringMatching(`[ -~äß\n]{0,30}`).Draw(t, "note"),
			TurnedBack: rapid.Bool().Draw(t, "turned"), Sudden: rapid.Bool().Draw(t, "sudden")}
		if in.Check(noon) != nil {
			return
		}
		text, err := json.Marshal(in)
		if err != nil {
			t.Fatal(err)
		}
		var back kept.EncounterInput
		if err := json.Unmarshal(text, &back); err != nil || !reflect.DeepEqual(back, in) || back.Check(noon) != nil {
			t.Fatalf("%s came back as %+v, %v", text, back, err)
		}
	})
}

// TestProfileThatSaysNothing: a dog needs a name and a word on at least one kind; a word is
// one whether it is a distance, a plain answer or that the dog is calm.
func TestProfileThatSaysNothing(t *testing.T) {
	some := map[string]kept.Distance{"dogs": {}}
	p := kept.Profile{Name: "Fern"}
	if err := p.Check(some); err != nil {
		t.Errorf("with a distance: %v", err)
	}
	if got, want := told(p.Check(nil)), []fault.Problem{{Pointer: "/needs", Mend: "empty: say something of at least one kind or category"}}; !slices.Equal(got, want) {
		t.Errorf("%v, want %v", got, want)
	}
	bad := kept.Profile{Drive: "spite"}
	var at []string
	for _, p := range told(bad.Check(nil)) {
		at = append(at, p.Pointer)
	}
	if want := []string{"/name", "/drive", "/needs"}; !slices.Equal(at, want) {
		t.Errorf("%q, want %q", at, want)
	}
	p.Needs, p.Intake = map[string]*dogfile.Need{"car": nil}, map[string]kept.Answers{"dogs": {}}
	for name, want := range map[string]bool{"car": true, "dogs": true, "dog_on_lead": false, "": false} {
		if p.Names(name) != want {
			t.Errorf("it has a word on %q: %v", name, !want)
		}
	}
}
