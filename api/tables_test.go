package api_test

import (
	"net/http"
	"strings"
	"testing"

	"wideberth/api"
	"wideberth/api/wire"
	"wideberth/api/wire/roster"
)

// TestTablesOverHTTP: tables become the lists of an outing that can be planned, and
// come out as they went in; the timetable comes out as a table too.
func TestTablesOverHTTP(t *testing.T) {
	h := server(t, api.Options{}).Handler()
	dogs := "name,room,minutes,who,bite,first,finish by,only with,never with,goes with,people,row,apart,rest,kept as\nBram,40 m,30,any,,,,,,,,,,,\nOro,60 m,20,exp,yes,yes,10:30,Sam,,,,A,,mon,\n"
	lists := post[roster.Lists](t, h, "/v1/outings/tables", `{"start":"2026-11-25T09:00:00Z","dogs":`+text(t, dogs)+`,"people":"Ada,regular\nSam,exp,,10:30"}`)
	if len(lists.Dogs) != 2 || len(lists.People) != 2 || len(lists.PassedOver) != 0 || lists.People[1].To != "2026-11-25T10:30:00Z" {
		t.Fatalf("%+v", lists)
	}
	res, out := do(t, h, "POST", "/v1/outings/table", "", `{"of":"dogs","start":"2026-11-25T09:00:00Z","dogs":`+text(t, lists.Dogs)+`}`)
	if res.StatusCode != http.StatusOK || string(out) != dogs || !strings.HasPrefix(res.Header.Get("Content-Type"), "text/csv") {
		t.Errorf("status %d: %s", res.StatusCode, out)
	}
	body := strings.Split(shelter(""), `"dogs"`)[0] + `"dogs":` + text(t, lists.Dogs) + `,"people":` + text(t, lists.People) + `}`
	table := post[wire.Timetable](t, h, "/v1/outings", body)
	if res, out = do(t, h, "POST", "/v1/outings/table", "", `{"of":"walks","timetable":`+text(t, table)+`}`); res.StatusCode != http.StatusOK || strings.Count(string(out), "\n") != 3 || !strings.Contains(string(out), "Oro,Sam,") {
		t.Errorf("status %d: %s", res.StatusCode, out)
	}
}

// TestTablesAreTakenWhole: what cannot be read is told by table, row and column.
func TestTablesAreTakenWhole(t *testing.T) {
	h := server(t, api.Options{}).Handler()
	for path, body := range map[string]string{
		"/v1/outings/tables": `{"start":"2026-11-25T09:00:00Z","dogs":"name,room\nBram,40\nOro,far","people":"Ada,,noon"}`,
		"/v1/outings/table":  `{"of":"dogs","start":"2026-11-25T09:00:00Z","dogs":[{"dog":{"name":"Oro","needs":{},"food":"cheese"},"minutes":20}]}`,
	} {
		res, out := do(t, h, "POST", path, "", body)
		if res.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(string(out), "dogs") || strings.Contains(string(out), `"Bram"`) {
			t.Errorf("%s: status %d: %s", path, res.StatusCode, out)
		}
		if path == "/v1/outings/tables" && (!strings.Contains(string(out), "dogs.row 3.room") || !strings.Contains(string(out), "people.row 1.from")) {
			t.Errorf("%s", out)
		}
	}
}

// TestHouseOverHTTP: what a kennel asks goes in, shows in the timetable, and comes back to
// the check, which finds one that is edited.
func TestHouseOverHTTP(t *testing.T) {
	h := server(t, api.Options{}).Handler()
	body := strings.Split(shelter(""), `"dogs"`)[0] + `"dogs":[
{"dog":{"name":"Bram","needs":{"dogs":{"working_m":40}}},"minutes":20,"with":"Tilly","row":"A"},
{"dog":{"name":"Tilly","needs":{"dogs":{"working_m":20}}},"minutes":20},
{"dog":{"name":"Oro","needs":{"dogs":{"working_m":30}}},"minutes":15,"people":2,"row":"A","apart":"last"},
{"dog":{"name":"Pip","needs":{"dogs":{"working_m":30}}},"minutes":15,"rest":["wed"]}],
"people":[{"name":"Ada"},{"name":"Sam"}],"heat":{"most_minutes":12,"from":"2026-11-25T13:00:00Z"},"weather":{"temperature_c":30}}`
	table := post[wire.Timetable](t, h, "/v1/outings", body)
	rows := map[string]*wire.TimeRow{}
	for i := range table.Rows {
		rows[table.Rows[i].Dog] = &table.Rows[i]
		table.Rows[i].Walk = nil
	}
	oro := rows["Oro"]
	if len(rows) != 3 || rows["Bram"].With != "Tilly" || rows["Tilly"].Leave != rows["Bram"].Leave || oro.Second == "" || oro.Row != "A" || oro.Apart != "last" || len(oro.Passes) != 1 {
		t.Fatalf("%+v", table.Rows)
	}
	if len(table.Resting) != 1 || table.Hot == nil || table.Hot.MostMinutes != 12 || table.TurnMinutes != 10 || table.StemM == 0 {
		t.Errorf("resting %v, hot %+v, %g minutes, stem %g m", table.Resting, table.Hot, table.TurnMinutes, table.StemM)
	}
	check := post[wire.OutingCheck](t, h, "/v1/outings/check", `{"runs":5,"timetable":`+text(t, table)+`}`)
	if !check.Kept || len(check.Breaches) != 0 {
		t.Errorf("%+v", check.Breaches)
	}
	table.Hot.MostMinutes, table.Resting, oro.Person = 1, []string{"Bram"}, rows["Bram"].Person
	check = post[wire.OutingCheck](t, h, "/v1/outings/check", `{"runs":5,"timetable":`+text(t, table)+`}`)
	rules := map[string]bool{}
	for _, b := range check.Breaches {
		rules[b.Rule] = true
	}
	if check.Kept || !rules["heat"] || !rules["rest"] || !strings.Contains(check.Verdict, "Do not use this timetable") {
		t.Errorf("%s: %+v", check.Verdict, check.Breaches)
	}
	res, out := do(t, h, "POST", "/v1/outings", "", strings.Replace(body, `"wed"`, `"day"`, 1))
	if res.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(string(out), "rest") {
		t.Errorf("status %d: %s", res.StatusCode, out)
	}
}

// TestOutingWeek: the same on two days, with days off, and what everybody has in all.
func TestOutingWeek(t *testing.T) {
	if testing.Short() {
		t.Skip("runs without the race detector, under which it is long")
	}
	h := server(t, api.Options{}).Handler()
	base := strings.Replace(shelter(""), `"name":"Ada","experience":"regular"`, `"name":"Ada","experience":"regular","rest":["fri"]`, 1)
	week := post[wire.OutingWeek](t, h, "/v1/outings/weeks", `{"outing":`+base+`,"days":3,"skip":["thu"]}`)
	if len(week.Days) != 2 || week.Days[1].Start != "2026-11-27T09:00:00Z" || len(week.Days[0].Timetable.Rows) != 3 || week.Days[0].Timetable.Rows[0].Walk != nil {
		t.Fatalf("%d days", len(week.Days))
	}
	for _, r := range week.Days[1].Timetable.Rows {
		if r.Person != "Sam" {
			t.Errorf("%s comes on a day off", r.Person)
		}
	}
	walks := 0
	for _, d := range week.Days {
		walks += len(d.Timetable.Rows)
	}
	for _, l := range week.Loads {
		walks -= l.Walks
	}
	if walks != 0 || len(week.Dogs) != 3 || week.Fairness <= 0 || week.Fairness > 1 {
		t.Errorf("%d walks too many, %+v, fairness %g", walks, week.Dogs, week.Fairness)
	}
	for pointer, body := range map[string]string{"skip": `{"outing":` + base + `,"days":2,"skip":["day"]}`, "outing": `{"outing":` + strings.Replace(base, `"minutes":120`, `"minutes":1`, 1) + `,"days":2}`, "days": `{"outing":` + base + `,"days":8}`} {
		if res, out := do(t, h, "POST", "/v1/outings/weeks", "", body); res.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(string(out), pointer) {
			t.Errorf("%s: status %d: %.300s", pointer, res.StatusCode, out)
		}
	}
}
