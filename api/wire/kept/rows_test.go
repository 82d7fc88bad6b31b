package kept_test

import (
	"encoding/json"
	"math"
	"reflect"
	"strings"
	"testing"
	"time"

	"wideberth/api/wire/kept"
	"wideberth/exposure"
)

// TestKeptRowsAreReadAgain: rows as they stand in stores, written out by hand, mean what
// they mean for good: each field is found under its name, and none is lost on the way back.
func TestKeptRowsAreReadAgain(t *testing.T) {
	for _, c := range []struct {
		what, row string
		into      any
		says      func(x any) bool
	}{
		{"a dog", `{"id":"d1","version":3,"created":"2026-11-25T12:00:00Z","updated":"2026-11-26T12:00:00Z","profile":{"name":"Fern","speed_mps":1.1,"needs":{"car":null,"dogs":{"working_m":40,"reaction_m":18}},"intake":{"child":{"notices_at":60,"takes_food_at":null,"stops_eating_at":null,"reacts_at":18,"unit":"ft"}},"drive":"fear","food":"cheese","reward_interval_s":3,"cautions":{"bite_history":true,"medical":"one eye"}},"distances":{"dogs":{"working_m":40,"reaction_m":18,"from":"said","since":"2026-11-25T12:00:00Z","prior":{"working_m":40,"reaction_m":18,"log_sd":0.3,"known":true}}},"flag":{"over":"snap","at":"2026-11-25T12:00:00Z","encounter":"e1"},"flag_lifted":"2026-11-25T13:00:00Z"}`,
			&kept.Dog{}, func(x any) bool {
				d := x.(*kept.Dog)
				return d.Version == 3 && *d.Profile.SpeedMPS == 1.1 && d.Profile.Needs["car"] == nil && *d.Profile.Needs["dogs"].ReactionM == 18 && *d.Profile.Intake["child"].NoticesM == 60 && d.Profile.Intake["child"].TakesFoodM == nil && d.Profile.Intake["child"].Unit == "ft" &&
					d.Profile.RewardS == 3 && d.Distances["dogs"].WorkingM == 40 && d.Distances["dogs"].Prior.LogSD == 0.3 && d.Flag.Over == "snap" && d.Lifted.Hour() == 13 && d.BiteHistory()
			}},
		{"a meeting", `{"id":"e1","dog":"d1","person":"p1","key":"k","walk":"w","kind":"dog_on_lead","at":"2026-11-25T07:27:00-05:00","lat":47,"lon":-7,"leg":4,"noticed_m":60,"nearest":"between","distance_m":20,"to_m":30,"duration_s":12,"food":"taken","turned_back":true,"over":"bark","sudden":true,"note":"n","place_kind":"park","created":"2026-11-25T12:27:00Z"}`,
			&kept.Encounter{}, func(x any) bool {
				e := x.(*kept.Encounter)
				return *e.Leg == 4 && *e.NoticedM == 60 && e.Nearest == "between" && *e.DistanceM == 20 && *e.ToM == 30 && *e.DurationS == 12 && e.TurnedBack && e.Sudden && e.Over == "bark" && e.Place == "park" && !e.Removed && e.At.Equal(e.Created)
			}},
		{"a walk", `{"id":"w1","dog":"d1","key":"k","started":"2026-11-25T07:10:00-05:00","ended":"2026-11-25T07:41:00-05:00","plan":"q","plan_walk":2,"sequence":"s","visit":3,"all_told":true,"note":"n","created":"2026-11-25T12:27:00Z","expected":[{"kind":"child","place":"park","part":"morning","inside":0.5,"working_m":25}],"track":true}`,
			&kept.Walk{}, func(x any) bool {
				w := x.(*kept.Walk)
				return w.Ended.Sub(w.Started) == 31*time.Minute && w.Plan == "q" && w.PlanWalk == 2 && w.Sequence == "s" && w.Visit == 3 && w.AllTold && w.Track && w.Expected[0] == kept.Expected{Kind: "child", Place: "park", Part: "morning", Inside: 0.5, WorkingM: 25}
			}},
		{"a report", `{"id":"r1","kind":"dog_behind_fence","what":"w","radius_m":7,"area":[[-7,47],[-7.1,47],[-7,47.1]],"hours":"Mo 10:00-12:00","number":2,"ends":"2027-03-31T00:00:00Z","mapped":"way/1","there":true,"created":"2026-11-25T12:27:00Z"}`,
			&kept.Report{}, func(x any) bool {
				r := x.(*kept.Report)
				return r.RadiusM == 7 && r.Area[1] == [2]float64{-7.1, 47} && r.Hours == "Mo 10:00-12:00" && r.Number == 2 && r.Ends.Month() == time.March && r.Mapped == "way/1" && r.There
			}},
		{"a count", `{"id":"c1","lat":47,"lon":-7,"start":"2026-11-25T07:10:00-05:00","minutes":10,"dogs":0,"wheels":3,"own":true,"created":"2026-11-25T12:27:00Z"}`,
			&kept.Count{}, func(x any) bool {
				c := x.(*kept.Count)
				model := c.Model()
				n, counted := model.Of(exposure.Dogs)
				_, people := model.Of(exposure.People)
				return counted && n == 0 && !people && *c.Wheels == 3 && c.Minutes == 10 && c.Own
			}},
		{"settings", `{"keep_tracks_days":0,"half_life_days":60,"units":"ft","clock":"12","training_rule":{"visits_in_a_row":2,"handled_share":0.8,"least_triggers":1,"over_for_back":1,"refusals_for_back":2},"free_hours":{"spans":["06:30-08:00"],"unlit":true},"handlers_see_outings":true}`,
			&kept.Settings{}, func(x any) bool {
				s := x.(*kept.Settings)
				return s.KeepTracksDays == 0 && s.Units == "ft" && s.TrainingRule == kept.TrainingRule{VisitsInARow: 2, HandledShare: 0.8, LeastTriggers: 1, OverForBack: 1, RefusalsForBack: 2} && s.FreeHours.Unlit && s.FreeHours.Spans[0] == "06:30-08:00" && s.HandlersSeeOutings
			}},
		{"a change", `{"id":"h1","at":"2026-11-25T12:27:00Z","name":"dog_on_lead","under":"dogs","from":{"working_m":40,"reaction_m":20,"from":"said","since":"2026-11-25T12:27:00Z","prior":{"working_m":40,"reaction_m":20,"log_sd":0.3,"known":true}},"to":{"calm":true,"working_m":0,"reaction_m":0,"from":"learnt","since":"2026-11-25T12:27:00Z","prior":{"working_m":40,"reaction_m":20,"log_sd":0.3,"known":true}},"why":"learnt","evidence":{"working_low_m":20,"working_high_m":40,"reaction_low_m":8,"reaction_high_m":16,"effective_encounters":7.5,"encounters":9,"late":2,"late_bias":true,"chance":0.9,"capped":true,"beyond":1},"reverts":"h0"}`,
			&kept.Change{}, func(x any) bool {
				h := x.(*kept.Change)
				return h.Under == "dogs" && h.To.Calm && h.From.WorkingM == 40 && h.Reverts == "h0" && *h.Evidence == kept.Evidence{WorkingLowM: 20, WorkingHighM: 40, ReactionLowM: 8, ReactionHighM: 16, EffectiveN: 7.5, Encounters: 9, Late: 2, LateBias: true, Chance: 0.9, Capped: true, Beyond: 1}
			}},
		{"a document", `{"kind":"visits","id":"s1","dog":"d1","version":2,"created":"2026-11-25T12:27:00Z","updated":"2026-11-25T12:27:00Z","body":{"visits":[1,2]}}`,
			&kept.Document{}, func(x any) bool {
				d := x.(*kept.Document)
				return d.Kind == kept.Sequences && d.Version == 2 && string(d.Body) == `{"visits":[1,2]}`
			}},
	} {
		dec := json.NewDecoder(strings.NewReader(c.row))
		dec.DisallowUnknownFields()
		if err := dec.Decode(c.into); err != nil {
			t.Errorf("%s: %v", c.what, err)
			continue
		}
		if !c.says(c.into) {
			t.Errorf("%s is read as %+v", c.what, c.into)
		}
		back, err := json.Marshal(c.into)
		if err != nil {
			t.Fatal(err)
		}
		var want, got any
		if json.Unmarshal([]byte(c.row), &want) != nil || json.Unmarshal(back, &got) != nil || !reflect.DeepEqual(got, want) {
			t.Errorf("%s\n%s\nis written again as\n%s", c.what, c.row, back)
		}
	}
}

// FuzzTaken: whatever is sent of a meeting and taken lies within what learning can use, and
// in JSON and back it is taken again.
func FuzzTaken(f *testing.F) {
	f.Add(`{"at":"2026-11-25T07:27:00Z","kind":"dogs","nearest":"about","noticed_m":60,"lat":47,"lon":-7}`)
	f.Add(`{"at":"2026-11-25T07:27:00Z","nearest":"between","distance_m":10,"to_m":20}`)
	f.Add(`{"at":"2026-11-25T07:27:00Z","nearest":"exact","distance_m":1e-300,"noticed_m":1e400}`)
	f.Add(`{"at":"2026-11-25T07:27:00+25:00","note":"\u0000"}`)
	f.Add(`{"at":"0000-01-01T00:00:00Z","walk":"\ud800"}`)
	d := kept.Dog{Distances: map[string]kept.Distance{"dogs": {Need: exposure.Need{WorkingM: 40, ReactionM: 16}}}}
	f.Fuzz(func(t *testing.T, text string) {
		var in kept.EncounterInput
		if json.Unmarshal([]byte(text), &in) != nil || in.Check(noon) != nil {
			return
		}
		if in.Fill(&d) == nil {
			for _, x := range []*float64{in.NoticedM, in.DistanceM, in.ToM} {
				if x != nil && !(*x > 0 && *x <= exposure.MostMetM) {
					t.Fatalf("%s has a distance of %g m", text, *x)
				}
			}
			if in.Nearest != "" && in.DistanceM == nil || in.DistanceM != nil && in.ToM != nil && *in.ToM <= *in.DistanceM {
				t.Fatalf("%s is taken as %+v", text, in)
			}
		}
		if (in.Lat == nil) != (in.Lon == nil) || in.Lat != nil && !(math.Abs(*in.Lat) <= 90 && math.Abs(*in.Lon) <= 180) {
			t.Fatalf("%s lies at %v, %v", text, in.Lat, in.Lon)
		}
		again, err := json.Marshal(in)
		if err != nil {
			t.Fatal(err)
		}
		var back kept.EncounterInput
		if err := json.Unmarshal(again, &back); err != nil || back.Check(noon) != nil {
			t.Fatalf("%s, written as %s, is refused: %v, %v", text, again, err, back.Check(noon))
		}
	})
}
