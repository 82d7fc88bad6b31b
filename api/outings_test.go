package api_test

import (
	"encoding/json"
	"fmt"
	"net/http"
	"strings"
	"testing"

	"wideberth/api"
	"wideberth/api/encode"
	"wideberth/testdata"
)

// shelter is an outing from the invented door with further members.
func shelter(more string) string {
	return fmt.Sprintf(`{"gate":{"lat":%g,"lon":%g},"start":"2026-11-25T09:00:00Z","minutes":120,
"dogs":[{"dog":{"name":"Bram","needs":{"dogs":{"working_m":40}}},"minutes":30},
{"dog":{"name":"Oro","needs":{"dogs":{"working_m":60}}},"minutes":20,"bite_history":true},
{"dog":{"name":"Tilly","needs":{"dogs":{"working_m":20}}},"minutes":15,"experience":"regular"}],
"people":[{"name":"Ada","experience":"regular"},{"name":"Sam","experience":"experienced","to":"2026-11-25T10:30:00Z"}]%s}`, testdata.DoorLat, testdata.DoorLon, more)
}

// post sends a body and decodes the answer of a request that must succeed.
func post[T any](t testing.TB, h http.Handler, path, body string) (out T) {
	t.Helper()
	res, got := do(t, h, "POST", path, "", body)
	if res.StatusCode != 200 {
		t.Fatalf("%s: status %d: %.600s", path, res.StatusCode, got)
	}
	if err := json.Unmarshal(got, &out); err != nil {
		t.Fatal(err)
	}
	return out
}

func text(t testing.TB, v any) string {
	t.Helper()
	b, err := json.Marshal(v)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

func TestOutingThereAndBack(t *testing.T) {
	h := server(t, api.Options{}).Handler()
	gate := post[encode.GateCount](t, h, "/v1/outings/gate", shelter(""))
	table := post[encode.Timetable](t, h, "/v1/outings", shelter(""))
	if len(table.Rows) != 3 || len(table.Unserved) != 0 || table.Slack != "holds" || table.Attribution != "© OpenStreetMap contributors" || table.Caution == "" || table.Rules == "" {
		t.Fatalf("%d rows, left in %v, slack %q", len(table.Rows), table.Unserved, table.Slack)
	}
	if gate.Dogs != 3 || gate.MostWalks < 20 || !gate.Sufficient || table.Gate.Dogs != 3 {
		t.Errorf("gate %+v, in the timetable %+v", gate, table.Gate)
	}
	for _, r := range table.Rows {
		if r.Dog == "Oro" && (r.Person != "Sam" || !r.BiteHistory) {
			t.Errorf("Oro goes with %s, bite history %v", r.Person, r.BiteHistory)
		}
		if r.Walk == nil || len(r.Walk.Legs) == 0 || len(r.ProgressS) != len(r.Geometry.Coordinates) || r.Meet >= r.Leave {
			t.Errorf("%s: walk %v, %d times for %d points, meet %s, leave %s", r.Dog, r.Walk != nil, len(r.ProgressS), len(r.Geometry.Coordinates), r.Meet, r.Leave)
		}
	}
	check := post[api.OutingCheck](t, h, "/v1/outings/check", `{"runs":60,"timetable":`+text(t, table)+`}`)
	if !check.Kept || check.Runs != 60 || !strings.Contains(check.Verdict, "Replayed 60 times") {
		t.Errorf("%+v", check)
	}
}

// TestCheckFindsBrokenTimetables: a timetable that somebody has edited does not
// pass.
func TestCheckFindsBrokenTimetables(t *testing.T) {
	h := server(t, api.Options{}).Handler()
	table := post[encode.Timetable](t, h, "/v1/outings", shelter(""))
	a, b := &table.Rows[0], &table.Rows[1]
	b.Geometry, b.ProgressS, b.Holds, b.Leave, b.Walk = a.Geometry, a.ProgressS, a.Holds, a.Leave, nil
	check := post[api.OutingCheck](t, h, "/v1/outings/check", `{"runs":3,"timetable":`+text(t, table)+`}`)
	if check.Kept || check.ZoneSeconds == 0 || !strings.Contains(check.Verdict, "gate zone") || check.Pairs[0].LeastM > 20 {
		t.Errorf("two dogs on one walk at one time pass: %+v", check)
	}
	b.ProgressS = b.ProgressS[1:]
	res, body := do(t, h, "POST", "/v1/outings/check", "", `{"timetable":`+text(t, table)+`}`)
	if res.StatusCode != 422 || !strings.Contains(string(body), "one time for each") {
		t.Errorf("status %d: %s", res.StatusCode, body)
	}
	table.Rows[0].Leave = "soon"
	if res, body = do(t, h, "POST", "/v1/outings/check", "", `{"timetable":`+text(t, table)+`}`); res.StatusCode != 422 || !strings.Contains(string(body), "rows.0.leave") {
		t.Errorf("status %d: %s", res.StatusCode, body)
	}
}

func TestReplanOverHTTP(t *testing.T) {
	h := server(t, api.Options{}).Handler()
	table := post[encode.Timetable](t, h, "/v1/outings", shelter(""))
	before := map[string]encode.TimeRow{}
	for i := range table.Rows {
		table.Rows[i].Walk = nil
		before[table.Rows[i].Dog] = table.Rows[i]
	}
	day := func(more string) string {
		return `{"outing":` + shelter("") + `,"before":` + text(t, table) + more + `}`
	}
	still := post[encode.Timetable](t, h, "/v1/outings/replan", day(`,"now":"2026-11-25T09:00:00Z"`))
	if len(still.Changed) != 0 || len(still.Rows) != 3 {
		t.Errorf("nothing happened: changed %v, %d rows", still.Changed, len(still.Rows))
	}
	gone := post[encode.Timetable](t, h, "/v1/outings/replan", day(`,"now":"2026-11-25T08:30:00Z","gone":["Sam"]`))
	if len(gone.Unserved) != 1 || gone.Unserved[0] != "Oro" || gone.Shortage == nil || gone.Shortage.Cause != "people" {
		t.Errorf("without Sam: left in %v, %+v", gone.Unserved, gone.Shortage)
	}
	out := post[encode.Timetable](t, h, "/v1/outings/replan", day(`,"now":"2026-11-25T08:30:00Z","out":["Bram"]`))
	if len(out.Rows) != 2 || len(out.Unserved) != 0 {
		t.Errorf("without Bram: %d rows, left in %v", len(out.Rows), out.Unserved)
	}
	late := post[encode.Timetable](t, h, "/v1/outings/replan", day(`,"now":"2026-11-25T08:58:00Z","late":[{"person":"Ada","minutes":40}]`))
	for _, r := range late.Rows {
		if r.Person == "Ada" && r.Leave < "2026-11-25T09:38" {
			t.Errorf("Ada comes at 9:38 and leaves with %s at %s", r.Dog, r.Leave)
		}
	}
	res, body := do(t, h, "POST", "/v1/outings/replan", "", day(`,"now":"2026-11-25T09:00:00Z","gone":["Nobody"]`))
	if res.StatusCode != 422 || !strings.Contains(string(body), "gone.0") {
		t.Errorf("status %d: %s", res.StatusCode, body)
	}
}

func TestOutingFaultsOverHTTP(t *testing.T) {
	h := server(t, api.Options{}).Handler()
	for _, c := range []struct{ name, body, want string }{
		{"start", strings.Replace(shelter(""), "2026-11-25T09:00:00Z", "nine", 1), "body.start"},
		{"experience", strings.Replace(shelter(""), `"regular"`, `"expert"`, 1), "experience"},
		{"dog's needs", strings.Replace(shelter(""), `"working_m":40`, `"working_m":-4`, 1), "body.dogs.0.dog.needs"},
		{"same name", strings.Replace(shelter(""), "Oro", "Bram", 1), "another dog has this name"},
		{"together", shelter(`,"together":[["Bram","Nobody"]]`), "body.together.0"},
		{"kept dog without a store", strings.Replace(shelter(""), `"dog":{"name":"Bram","needs":{"dogs":{"working_m":40}}}`, `"dog_id":"x"`, 1), "keeps no dogs"},
		{"unknown member", shelter(`,"colour":"blue"`), "colour"},
	} {
		t.Run(c.name, func(t *testing.T) {
			for _, path := range []string{"/v1/outings", "/v1/outings/gate"} {
				res, body := do(t, h, "POST", path, "", c.body)
				if res.StatusCode < 400 || res.StatusCode >= 500 || !strings.Contains(string(body), c.want) || res.Header.Get("Content-Type") != "application/problem+json" {
					t.Errorf("%s: status %d, %s, want %q: %s", path, res.StatusCode, res.Header.Get("Content-Type"), c.want, body)
				}
			}
		})
	}
}

// TestKeptDogsGoOut: a kept dog goes by its id, with its cautions; the timetable is
// kept as a document.
func TestKeptDogsGoOut(t *testing.T) {
	_, h := memory(t, true)
	var dog struct {
		ID string `json:"id"`
	}
	send(t, h, "POST", "/v1/dogs", "", `{"name":"Rusk","needs":{"dogs":{"working_m":40}},"cautions":{"bite_history":true}}`, 200, &dog)
	body := strings.Replace(shelter(""), `"dog":{"name":"Bram","needs":{"dogs":{"working_m":40}}}`, fmt.Sprintf(`"dog_id":%q`, dog.ID), 1)
	var table encode.Timetable
	send(t, h, "POST", "/v1/outings", "", body, 200, &table)
	found := false
	for _, r := range table.Rows {
		if r.Dog == "Rusk" {
			found = true
			if r.Person != "Sam" || !r.BiteHistory {
				t.Errorf("a dog with a kept bite history goes with %s", r.Person)
			}
		}
	}
	if !found {
		t.Errorf("Rusk stays in: %v, %+v", table.Unserved, table.Shortage)
	}
	for i := range table.Rows {
		table.Rows[i].Walk = nil
	}
	send(t, h, "PUT", "/v1/documents/outings/wednesday", "", `{"version":0,"body":`+text(t, table)+`}`, 200, nil)
}
