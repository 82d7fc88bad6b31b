package api_test

import (
	"bytes"
	"encoding/json"
	"net/http"
	"strings"
	"testing"
	"time"

	"wideberth/api"
	"wideberth/api/wire"
)

func where(t *testing.T, h http.Handler, more string) wire.Where {
	t.Helper()
	res, body := do(t, h, "POST", "/v1/where", "", wish(more+kessa))
	var out wire.Where
	if err := json.Unmarshal(body, &out); err != nil || res.StatusCode != http.StatusOK {
		t.Fatalf("%v, status %d: %s", err, res.StatusCode, clip(body))
	}
	return out
}

// The answer over HTTP: ranked, named, with addresses under which each walk is told
// again as it was answered.
func TestWhere(t *testing.T) {
	h := server(t, api.Options{}).Handler()
	out := where(t, h, `,"minutes":20`)
	if len(out.Options) < 2 || out.InReach < 2 || out.Looked == 0 || len(out.Notes) == 0 || len(out.Assumed) == 0 || !strings.Contains(out.Caution, "signs on the spot") {
		t.Fatalf("%+v", out)
	}
	names := map[string]bool{}
	for i := range out.Options {
		o := &out.Options[i]
		if names[o.Name] || strings.EqualFold(o.Name, "car park") || o.Name == "" {
			t.Errorf("option %d is called %q", i, o.Name)
		}
		names[o.Name] = true
		if o.DriveMinutes%5 != 0 || (o.Kind == "by_car") != (o.DriveMinutes > 0) || (o.Kind == "by_car") != (o.ParkAt != nil) {
			t.Errorf("%s: a drive of %d minutes to %v", o.Kind, o.DriveMinutes, o.ParkAt)
		}
		given, err := json.Marshal(map[string]any{"given": o.Given})
		if err != nil {
			t.Fatal(err)
		}
		res, body := do(t, h, "POST", "/v1/plans/told", "", string(given))
		var plan wire.PlanBody
		if err := json.Unmarshal(body, &plan); err != nil || res.StatusCode != http.StatusOK {
			t.Fatalf("%s told again: %v, status %d: %s", o.Name, err, res.StatusCode, clip(body))
		}
		if got, want := plan.Walks[0].ExpectedReactions, o.Walk.ExpectedReactions; got != want || plan.Depart[:19] != o.Begin[:19] {
			t.Errorf("%s: %g at %s, told again %g at %s", o.Name, want, o.Begin, got, plan.Depart)
		}
	}
}

// Faults of the question are told with what works, all of them together.
func TestWhereFaults(t *testing.T) {
	h := server(t, api.Options{}).Handler()
	for more, want := range map[string][]string{
		`,"drive_minutes":0`:                                   {"/drive_minutes", "give 1 to 60 minutes"},
		`,"drive_minutes":500`:                                 {"/drive_minutes", "give 1 to 60 minutes"},
		`,"free_hours":{"spans":[]},"drive_minutes":-3`:        {"/free_hours", "06:00-22:00", "/drive_minutes"},
		`,"free_hours":{"spans":["8am"]}`:                      {"/free_hours/spans/0", "06:00-22:00"},
		`,"minutes":45,"free_hours":{"spans":["07:00-07:30"]}`: {"/free_hours", "ask for a walk of 30 minutes"},
		`,"strain":"loud"`:                                     {"strain"},
		`,"most":77`:                                           {"/most", "ask for 1 to 10 places"},
	} {
		res, body := do(t, h, "POST", "/v1/where", "", wish(more+kessa))
		for _, part := range want {
			if res.StatusCode != http.StatusUnprocessableEntity || !bytes.Contains(body, []byte(part)) {
				t.Errorf("%s: status %d, no %q in %s", more, res.StatusCode, part, clip(body))
			}
		}
	}
	several := wish(`,"minutes":20,"drive_minutes":500,"most":40,"strain":"usual","limits":{"avoid_ways":["Nowhere"]},"free_hours":{"spans":["08:00-08:10"]}` + kessa)
	res, body := do(t, h, "POST", "/v1/where", "", strings.Replace(several, `"depart":"2026`, `"depart":"noon 2026`, 1))
	for _, pointer := range []string{"depart", "drive_minutes", "most", "avoid_ways", "free_hours"} {
		if res.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(string(body), pointer) {
			t.Errorf("status %d, nothing of %s: %s", res.StatusCode, pointer, clip(body))
		}
	}
}

// Who keeps free hours with the account is offered no others, until a wish says so.
func TestFreeHoursAreKept(t *testing.T) {
	_, h := memory(t, true)
	set := func(free string) int {
		res, body := do(t, h, "PUT", "/v1/account/settings", "", `{"keep_tracks_days":365,"half_life_days":60,"units":"m","clock":"24","free_hours":`+free+`}`)
		if res.StatusCode >= 300 && !bytes.Contains(body, []byte("free_hours")) {
			t.Errorf("%s: %s", free, clip(body))
		}
		return res.StatusCode
	}
	if got := set(`{"spans":[]}`); got != http.StatusUnprocessableEntity {
		t.Errorf("free hours of none are kept: status %d", got)
	}
	if got := set(`{"spans":["20:00-22:30"],"unlit":true}`); got != http.StatusNoContent {
		t.Fatalf("status %d", got)
	}
	later := func(more string) (at time.Time) {
		for _, o := range where(t, h, `,"minutes":20,"on_foot":true`+more).Options {
			if o.Kind == "door_later" {
				at, _ = time.Parse(time.RFC3339, o.Leave)
			}
		}
		return at
	}
	if at := later(""); at.Hour() < 20 || at.Hour() > 22 {
		t.Errorf("leaving at %v is offered to who is free from 20:00 to 22:30", at)
	}
	if at := later(`,"free_hours":{"spans":["12:00-15:00"]}`); at.Hour() < 12 || at.Hour() > 15 {
		t.Errorf("leaving at %v is offered to who says to be free from 12:00 to 15:00", at)
	}
}
