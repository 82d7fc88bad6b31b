package knowledge

import (
	"errors"
	"math"
	"strings"
	"testing"
	"time"

	"wideberth/api/wire/dogfile"
	"wideberth/api/wire/kept"
	"wideberth/exposure"
	"wideberth/exposure/learning"
	"wideberth/osmdata/fault"
)

func ptr[T any](v T) *T { return &v }

// TestMeetingWords goes through the words of a log: how near, and what came of it.
func TestMeetingWords(t *testing.T) {
	when := time.Date(2026, 11, 25, 7, 10, 0, 0, time.UTC)
	near := func(b learning.Bound, m, to float64) learning.Near {
		return learning.Near{Known: true, Bound: b, M: m, ToM: to}
	}
	for _, c := range []struct {
		nearest string
		m, to   *float64
		want    learning.Near
	}{
		{"", nil, nil, learning.Near{}},
		{"exact", ptr(20.0), nil, near(learning.Exact, 20, 0)},
		{"about", ptr(38.0), nil, near(learning.About, 38, 0)},
		{"nearer_than", ptr(38.0), nil, near(learning.NearerThan, 38, 0)},
		{"farther_than", ptr(38.0), nil, near(learning.FartherThan, 38, 0)},
		{"between", ptr(16.0), ptr(36.0), near(learning.Exact, 16, 36)},
		{"about", nil, nil, learning.Near{}}, // a draft, of a kind that the dog has no distance for
	} {
		e := kept.Encounter{EncounterInput: kept.EncounterInput{Kind: "child", At: when, Nearest: c.nearest, DistanceM: c.m, ToM: c.to, NoticedM: ptr(60.0), Sudden: true}, Place: "park"}
		if got, want := Meeting(&e), (learning.Meeting{Name: "child", Place: "park", When: when, Near: c.want, NoticedM: 60, Sudden: true}); got != want {
			t.Errorf("%q: %+v, want %+v", c.nearest, got, want)
		}
	}
	for _, c := range []struct {
		over, food string
		turned     bool
		want       learning.Outcome
	}{
		{"", "", false, learning.StayedUnder}, {"", "taken", false, learning.TookFood}, {"", "taken", true, learning.TurnedBack}, {"", "", true, learning.TurnedBack},
		{"", "refused", true, learning.RefusedFood}, {"freeze", "taken", true, learning.WentOver}, {"bark", "refused", false, learning.WentOver},
	} {
		if got := Meeting(&kept.Encounter{EncounterInput: kept.EncounterInput{Over: c.over, Food: c.food, TurnedBack: c.turned}}).Outcome; got != c.want {
			t.Errorf("%+v: outcome %d", c, got)
		}
	}
}

// TestCountKeepsItsPlaces: what is counted goes with what was expected entry by
// entry, also where a name is no longer in use; a draft waits.
func TestCountKeepsItsPlaces(t *testing.T) {
	expected := []kept.Expected{
		{Kind: "dragon", Place: "park", Part: "morning", Inside: 5, WorkingM: 38},
		{Kind: "dog_on_lead", Place: "park", Part: "dawn", Inside: 5, WorkingM: 38},
		{Kind: "dog_on_lead", Place: "park", Part: "morning", Inside: 1, WorkingM: 38},
		{Kind: "dog_on_lead", Place: "woods", Part: "morning", Inside: 3, WorkingM: 38},
	}
	seen := func(kind, place string) kept.Encounter {
		return kept.Encounter{EncounterInput: kept.EncounterInput{Kind: kind}, Place: place}
	}
	got := Count(expected, []kept.Encounter{seen("dog_on_lead", "park"), seen("dogs", ""), seen("dragon", "park")})
	want := []float64{0, 0, 1.25, 0.75}
	if len(got) != len(want) {
		t.Fatalf("counted %v", got)
	}
	for i := range want {
		if math.Abs(got[i]-want[i]) > 1e-12 {
			t.Errorf("counted %v, want %v", got, want)
			break
		}
	}
	if got := Count(expected, []kept.Encounter{seen("dog_on_lead", ""), seen("", "")}); got != nil {
		t.Errorf("with a draft %v", got)
	}
	back := Expected([]learning.Expected{{Cell: exposure.Cell{Kind: exposure.DogOnLead, Place: exposure.PlaceWoods, Part: exposure.Morning}, Inside: 3, WorkingM: 38}})
	if len(back) != 1 || back[0] != expected[3] {
		t.Errorf("a forecast is kept as %+v", back)
	}
}

// TestDistances: what is said outright stays, plain answers are derived, nothing said
// is the stated wide default for other dogs.
func TestDistances(t *testing.T) {
	said, err := Distances(&kept.Profile{Name: "Fern", Needs: map[string]*dogfile.Need{"dogs": {WorkingM: ptr(38.0), ReactionM: ptr(15.0)}, "adult": nil, "child": {WorkingM: ptr(30.0)}},
		Intake: map[string]kept.Answers{"car": {TakesFoodM: ptr(20.0)}, "dogs": {TakesFoodM: ptr(90.0)}, "bells": {}}})
	if err != nil {
		t.Fatal(err)
	}
	pair := func(w, r float64) exposure.Need { return exposure.Need{WorkingM: w, ReactionM: r} }
	for name, want := range map[string]kept.Distance{
		"dogs":  {Need: pair(38, 15), From: "said", Prior: kept.Prior{Need: pair(38, 15), LogSD: learning.DefaultIntakeLogSD, Known: true}}, // needs go first
		"adult": {Calm: true, From: "said", Prior: kept.Prior{LogSD: learning.DefaultIntakeLogSD}},
		"child": {Need: pair(30, 15), From: "said", Prior: kept.Prior{Need: pair(30, 15), LogSD: learning.DefaultIntakeLogSD, Known: true}},
		"car":   {Need: pair(20, 10), From: "intake", Prior: kept.Prior{Need: pair(20, 10), LogSD: learning.DefaultIntakeLogSD, Known: true}},
		"bells": {Need: pair(25, 12.5), From: "unknown", Prior: kept.Prior{Need: pair(25, 12.5), LogSD: learning.DefaultWorkingLogSD}},
	} {
		if said[name] != want {
			t.Errorf("%s: %+v, want %+v", name, said[name], want)
		}
	}
	if len(said) != 5 {
		t.Errorf("%d distances", len(said))
	}
	stray, err := Distances(&kept.Profile{Name: "Stray"})
	if x := stray["dogs"]; err != nil || len(stray) != 1 || x.From != "unknown" || x.WorkingM != 25 || x.Prior.Known || x.Prior.LogSD != 0.8 {
		t.Errorf("the stated wide prior: %+v, %v", stray, err)
	}
	held := Held(&kept.Dog{Distances: said})
	if x := held["car"]; x.WorkingM != 20 || x.Prior.WorkingM != 20 || !x.Prior.Known || x.Calm || !held["adult"].Calm {
		t.Errorf("held %+v", held)
	}
}

func TestDistancesRefusals(t *testing.T) {
	need := func(w, r float64) map[string]*dogfile.Need {
		return map[string]*dogfile.Need{"dogs": {WorkingM: &w, ReactionM: &r}}
	}
	cases := map[string]struct {
		p       kept.Profile
		pointer string
	}{
		"no name":         {kept.Profile{}, "/name"},
		"long name":       {kept.Profile{Name: strings.Repeat("n", 81)}, "/name"},
		"control letters": {kept.Profile{Name: "a\x00b"}, "/name"},
		"unknown kind":    {kept.Profile{Name: "F", Needs: map[string]*dogfile.Need{"dragon": {WorkingM: ptr(3.0)}}}, "/needs/dragon"},
		"unknown intake":  {kept.Profile{Name: "F", Intake: map[string]kept.Answers{"dragon": {}}}, "/needs/dragon"},
		"R above W":       {kept.Profile{Name: "F", Needs: need(10, 20)}, "/needs/dogs/reaction_m"},
		"negative":        {kept.Profile{Name: "F", Needs: need(-1, -2)}, "/needs/dogs/working_m"},
		"bad answer":      {kept.Profile{Name: "F", Intake: map[string]kept.Answers{"dogs": {ReactsM: ptr(-1.0)}}}, "/intake/dogs/reacts_at"},
		"drive":           {kept.Profile{Name: "F", Drive: "hunger"}, "/drive"},
		"interval":        {kept.Profile{Name: "F", RewardS: -1}, "/reward_interval_s"},
		"speed":           {kept.Profile{Name: "F", SpeedMPS: ptr(40.0)}, "/speed_mps"},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			_, err := Distances(&c.p)
			var ps fault.Problems
			if !errors.As(err, &ps) {
				t.Fatalf("error %v", err)
			}
			for _, p := range ps {
				if p.Pointer == c.pointer && p.Mend != "" {
					return
				}
			}
			t.Errorf("problems %v, want one with %s", ps, c.pointer)
		})
	}
	all := kept.Profile{Drive: "hunger", SpeedMPS: ptr(40.0), Intake: map[string]kept.Answers{"dogs": {ReactsM: ptr(-1.0)}}}
	var ps fault.Problems
	if _, err := Distances(&all); !errors.As(err, &ps) || len(ps) < 4 {
		t.Errorf("not every fault is named at once: %v", ps)
	}
}
