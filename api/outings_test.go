package api_test

import (
	"encoding/json"
	"fmt"
	"math"
	"net/http"
	"slices"
	"strings"
	"testing"

	"wideberth/api"
	"wideberth/api/wire"
	"wideberth/api/wire/kept"
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
	if res.StatusCode != http.StatusOK {
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
	if testing.Short() {
		t.Skip("runs without the race detector, under which it is long")
	}
	h := server(t, api.Options{}).Handler()
	gate := post[wire.GateCount](t, h, "/v1/outings/gate", shelter(""))
	table := post[wire.Timetable](t, h, "/v1/outings", shelter(""))
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
	check := post[wire.OutingCheck](t, h, "/v1/outings/check", `{"runs":60,"timetable":`+text(t, table)+`}`)
	if !check.Kept || check.Runs != 60 || !strings.Contains(check.Verdict, "Replayed 60 times") {
		t.Errorf("%+v", check)
	}
}

// TestCheckFindsBrokenTimetables: a timetable that somebody has edited does not
// pass.
func TestCheckFindsBrokenTimetables(t *testing.T) {
	if testing.Short() {
		t.Skip("runs without the race detector, under which it is long")
	}
	h := server(t, api.Options{}).Handler()
	table := post[wire.Timetable](t, h, "/v1/outings", shelter(""))
	a, b := &table.Rows[0], &table.Rows[1]
	b.Geometry, b.ProgressS, b.Holds, b.Leave, b.Walk = a.Geometry, a.ProgressS, a.Holds, a.Leave, nil
	check := post[wire.OutingCheck](t, h, "/v1/outings/check", `{"runs":3,"timetable":`+text(t, table)+`}`)
	if check.Kept || check.ZoneSeconds == 0 || !strings.Contains(check.Verdict, "two dogs are at the gate at one time") || check.Pairs[0].LeastM > 20 {
		t.Errorf("two dogs on one walk at one time pass: %+v", check)
	}
	b.ProgressS = b.ProgressS[1:]
	res, body := do(t, h, "POST", "/v1/outings/check", "", `{"timetable":`+text(t, table)+`}`)
	if res.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(string(body), "one time for each") {
		t.Errorf("status %d: %s", res.StatusCode, body)
	}
	table.Rows[0].Leave = "soon"
	if res, body = do(t, h, "POST", "/v1/outings/check", "", `{"timetable":`+text(t, table)+`}`); res.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(string(body), "rows.0.leave") {
		t.Errorf("status %d: %s", res.StatusCode, body)
	}
}

func TestReplanOverHTTP(t *testing.T) {
	if testing.Short() {
		t.Skip("runs without the race detector, under which it is long")
	}
	h := server(t, api.Options{}).Handler()
	table := post[wire.Timetable](t, h, "/v1/outings", shelter(""))
	before := map[string]wire.TimeRow{}
	for i := range table.Rows {
		table.Rows[i].Walk = nil
		before[table.Rows[i].Dog] = table.Rows[i]
	}
	day := func(more string) string {
		return `{"outing":` + shelter("") + `,"before":` + text(t, table) + more + `}`
	}
	still := post[wire.Timetable](t, h, "/v1/outings/replan", day(`,"now":"2026-11-25T09:00:00Z"`))
	if len(still.Changed) != 0 || len(still.Rows) != 3 {
		t.Errorf("nothing happened: changed %v, %d rows", still.Changed, len(still.Rows))
	}
	gone := post[wire.Timetable](t, h, "/v1/outings/replan", day(`,"now":"2026-11-25T08:30:00Z","gone":["Sam"]`))
	if len(gone.Unserved) != 1 || gone.Unserved[0] != "Oro" || gone.Shortage == nil || gone.Shortage.Cause != "people" {
		t.Errorf("without Sam: left in %v, %+v", gone.Unserved, gone.Shortage)
	}
	out := post[wire.Timetable](t, h, "/v1/outings/replan", day(`,"now":"2026-11-25T08:30:00Z","out":["Bram"]`))
	if len(out.Rows) != 2 || len(out.Unserved) != 0 {
		t.Errorf("without Bram: %d rows, left in %v", len(out.Rows), out.Unserved)
	}
	late := post[wire.Timetable](t, h, "/v1/outings/replan", day(`,"now":"2026-11-25T08:58:00Z","late":[{"person":"Ada","minutes":40}]`))
	for _, r := range late.Rows {
		if r.Person == "Ada" && r.Leave < "2026-11-25T09:38" {
			t.Errorf("Ada comes at 9:38 and leaves with %s at %s", r.Dog, r.Leave)
		}
	}
	res, body := do(t, h, "POST", "/v1/outings/replan", "", day(`,"now":"2026-11-25T09:00:00Z","gone":["Nobody"]`))
	if res.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(string(body), "gone.0") {
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
	var table wire.Timetable
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

// TestWalksOfAKeptTimetable: legs are left out when a timetable is kept; drawings
// and hand-outs come from lines and times.
func TestWalksOfAKeptTimetable(t *testing.T) {
	h := server(t, api.Options{}).Handler()
	table := post[wire.Timetable](t, h, "/v1/outings", shelter(""))
	legs := map[string]int{}
	for i := range table.Rows {
		legs[table.Rows[i].Dog] = len(table.Rows[i].Walk.Legs)
		table.Rows[i].Walk = nil
	}
	body := func(more string) string {
		return `{"outing":` + shelter("") + `,"timetable":` + text(t, table) + more + `}`
	}
	drawn := post[[]wire.DrawnOutingWalk](t, h, "/v1/outings/drawings", body(`,"dogs":["Oro"]`))
	if len(drawn) != 1 || drawn[0].Dog != "Oro" || len(drawn[0].Plan.Walks) != 1 || len(drawn[0].Plan.Walks[0].Legs) != legs["Oro"] || len(drawn[0].Drawing.Line) == 0 {
		t.Fatalf("%d walks drawn: %+v", len(drawn), drawn)
	}
	holds := 0
	for _, q := range drawn[0].Plan.Walks[0].WatchPoints {
		if q.What == "hold" && q.NotBefore != "" {
			holds++
		}
	}
	if holds == 0 {
		t.Error("the places to wait at are not among the watch points")
	}
	res, page := do(t, h, "POST", "/v1/outings/handouts", "", body(`,"paper":"letter","units":"us"`))
	if got := strings.Count(string(page), `<main class="sheet">`); res.StatusCode != http.StatusOK || got != 3 || res.Header.Get("Content-Security-Policy") == "" {
		t.Fatalf("status %d, %d sheets", res.StatusCode, got)
	}
	for _, want := range []string{`class="letter"`, "With Sam", "At the gate", "Wait there, not on before", "Bite history: experienced people only.", "OpenStreetMap contributors", "Bram", "Tilly"} {
		if !strings.Contains(string(page), want) {
			t.Errorf("%q is not on the hand-outs", want)
		}
	}
	for _, c := range []struct{ name, body, want string }{
		{"no such dog", body(`,"dogs":["Rex"]`), "name dogs that have a walk"},
		{"another gate", strings.Replace(body(""), fmt.Sprint(testdata.DoorLat), fmt.Sprint(testdata.DoorLat+0.002), 1), "plan the outing again"},
	} {
		for _, path := range []string{"/v1/outings/drawings", "/v1/outings/handouts"} {
			if res, got := do(t, h, "POST", path, "", c.body); res.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(string(got), c.want) {
				t.Errorf("%s, %s: status %d: %.300s", path, c.name, res.StatusCode, got)
			}
		}
	}
}

// TestFramesOfACheck: a check tells minute by minute who is where, and no minute is
// tighter than the verdict.
func TestFramesOfACheck(t *testing.T) {
	if testing.Short() {
		t.Skip("runs without the race detector, under which it is long")
	}
	h := server(t, api.Options{}).Handler()
	table := post[wire.Timetable](t, h, "/v1/outings", shelter(""))
	check := post[wire.OutingCheck](t, h, "/v1/outings/check", `{"runs":30,"timetable":`+text(t, table)+`}`)
	if len(check.Frames) < 20 {
		t.Fatalf("%d frames", len(check.Frames))
	}
	out, least := map[string]int{}, math.Inf(1)
	for i, f := range check.Frames {
		if i > 0 && f.Minute != check.Frames[i-1].Minute+1 {
			t.Errorf("minute %d follows %d", f.Minute, check.Frames[i-1].Minute)
		}
		for _, d := range f.Dogs {
			out[d.Dog]++
		}
		if f.Tightest != nil {
			least = min(least, f.Tightest.LeastM-f.Tightest.NeedM)
		}
	}
	for _, r := range table.Rows {
		if n := float64(out[r.Dog]); n < r.GrantedMinutes*0.9 || n > r.GrantedMinutes*1.5+3 {
			t.Errorf("%s is out for %.0f minutes of %.0f", r.Dog, n, r.GrantedMinutes)
		}
	}
	worst := math.Inf(1)
	for _, p := range append(check.Pairs, check.Directed...) {
		worst = min(worst, p.LeastM-p.NeedM)
	}
	if math.Abs(least-worst) > 0.11 && !(math.IsInf(least, 1) && math.IsInf(worst, 1)) {
		t.Errorf("tightest minute has %.1f m to spare, tightest pair %.1f", least, worst)
	}
}

// TestDemoOuting: the invented outing that a first visit shows is planned whole, and
// everybody in it is used.
func TestDemoOuting(t *testing.T) {
	h := server(t, api.Options{}).Handler()
	res, got := do(t, h, "GET", "/v1/map", "", "")
	var m wire.MapInfo
	if err := json.Unmarshal(got, &m); err != nil || res.StatusCode != http.StatusOK {
		t.Fatal(err, res.StatusCode)
	}
	body := text(t, wire.OutingBody{Gate: m.Demo.From.At, Start: "2026-11-25T09:00:00Z", Minutes: m.Demo.Outing.Minutes, Dogs: m.Demo.Outing.Dogs, People: m.Demo.Outing.People})
	table := post[wire.Timetable](t, h, "/v1/outings", body)
	people := map[string]bool{}
	for _, r := range table.Rows {
		people[r.Person] = true
		if r.BiteHistory && r.Person != "Sam" {
			t.Errorf("%s goes with %s", r.Dog, r.Person)
		}
	}
	if len(table.Rows) != len(m.Demo.Outing.Dogs) || len(people) != len(m.Demo.Outing.People) {
		t.Errorf("%d of %d dogs, %d of %d people", len(table.Rows), len(m.Demo.Outing.Dogs), len(people), len(m.Demo.Outing.People))
	}
}

// TestReplanNamesTheField: a fault is told where it stands in what was sent.
func TestReplanNamesTheField(t *testing.T) {
	h := server(t, api.Options{}).Handler()
	table := post[wire.Timetable](t, h, "/v1/outings", shelter(""))
	plain := text(t, table)
	for _, c := range []struct{ name, path, body, want string }{
		{"now", "/v1/outings/replan", `{"outing":` + shelter("") + `,"before":` + plain + `,"now":"soon"}`, `"body.now"`},
		{"outing", "/v1/outings/replan", `{"outing":` + strings.Replace(shelter(""), `"minutes":30`, `"minutes":3000`, 1) + `,"before":` + plain + `}`, `"body.outing.dogs.0.minutes"`},
		{"outing's dog", "/v1/outings/replan", `{"outing":` + strings.Replace(shelter(""), `"working_m":40`, `"working_m":-4`, 1) + `,"before":` + plain + `}`, `"body.outing.dogs.0.dog.needs`},
		{"before", "/v1/outings/replan", `{"outing":` + shelter("") + `,"before":` + strings.Replace(plain, table.Start, "soon", 1) + `}`, `"body.before.start"`},
		{"another slack", "/v1/outings/replan", `{"outing":` + shelter(`,"slack":"free"`) + `,"before":` + plain + `}`, `"body.outing.slack"`},
		{"another day", "/v1/outings/replan", `{"outing":` + strings.ReplaceAll(shelter(""), "2026-11-25", "2026-11-26") + `,"before":` + plain + `}`, `"body.before.rows.0.leave"`},
		{"check", "/v1/outings/check", `{"timetable":` + strings.Replace(plain, table.Start, "soon", 1) + `}`, `"body.timetable.start"`},
	} {
		t.Run(c.name, func(t *testing.T) {
			res, body := do(t, h, "POST", c.path, "", c.body)
			if res.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(string(body), c.want) {
				t.Errorf("status %d, want 422 at %s: %.600s", res.StatusCode, c.want, body)
			}
		})
	}
}

// TestReplanOfAReplanOverHTTP: what is under way comes back as such.
func TestReplanOfAReplanOverHTTP(t *testing.T) {
	if testing.Short() {
		t.Skip("runs without the race detector, under which it is long")
	}
	h := server(t, api.Options{}).Handler()
	table := post[wire.Timetable](t, h, "/v1/outings", shelter(""))
	first := table.Rows[0]
	day := func(before wire.Timetable, now, more string) string {
		return `{"outing":` + shelter("") + `,"before":` + text(t, before) + `,"now":"` + now + `"` + more + `}`
	}
	late := post[wire.Timetable](t, h, "/v1/outings/replan", day(table, first.Leave, `,"late":[{"person":"`+first.Person+`","minutes":45}]`))
	again := post[wire.Timetable](t, h, "/v1/outings/replan", day(late, first.Leave, ""))
	if i := slices.IndexFunc(again.Rows, func(r wire.TimeRow) bool { return r.Dog == first.Dog }); i < 0 || !again.Rows[i].UnderWay || len(again.Changed) > 0 {
		t.Errorf("%s is out, then changed %v, rows %+v", first.Dog, again.Changed, again.Rows)
	}
}

// TestKeptDogOfAnOutingIsNamed: of many dogs, the fault says which one is not there.
func TestKeptDogOfAnOutingIsNamed(t *testing.T) {
	_, h := memory(t, true)
	body := send(t, h, "POST", "/v1/outings", "", strings.Replace(shelter(""), `{"dog":{"name":"Oro","needs":{"dogs":{"working_m":60}}}`, `{"dog_id":"nosuchdog"`, 1), 422, nil)
	if !strings.Contains(string(body), "body.dogs.1.dog_id") || !strings.Contains(string(body), "nosuchdog") {
		t.Errorf("%s", body)
	}
}

// TestTwoKeptDogsOfOneName: a kennel has two Lunas. Told apart they are planned;
// else the fault says so.
func TestTwoKeptDogsOfOneName(t *testing.T) {
	_, h := memory(t, true)
	var ids [2]string
	for i := range ids {
		var d kept.Dog
		send(t, h, "POST", "/v1/dogs", "", `{"name":"Luna","needs":{"dogs":{"working_m":`+fmt.Sprint(20+30*i)+`}}}`, 200, &d)
		ids[i] = d.ID
	}
	ask := func(second string) string {
		return fmt.Sprintf(`{"gate":{"lat":%g,"lon":%g},"start":"2026-11-25T09:00:00Z","minutes":120,"people":[{"name":"Ada"}],
"dogs":[{"dog_id":"%s","minutes":15},{"dog_id":"%s","minutes":15%s}]}`, testdata.DoorLat, testdata.DoorLon, ids[0], ids[1], second)
	}
	body := send(t, h, "POST", "/v1/outings", "", ask(""), 422, nil)
	if !strings.Contains(string(body), "another dog has this name") {
		t.Errorf("%s", body)
	}
	var table wire.Timetable
	send(t, h, "POST", "/v1/outings", "", ask(`,"name":"Luna of kennel 4"`), 200, &table)
	needs := map[string]float64{}
	for _, r := range table.Rows {
		needs[r.Dog] = r.NeedM
	}
	if len(needs) != 2 || needs["Luna"] != 20 || needs["Luna of kennel 4"] != 50 {
		t.Errorf("%v", needs)
	}
}
