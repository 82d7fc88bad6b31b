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
	dogs := "name,room,minutes,who,bite,first,finish by,only with,never with,kept as\nBram,40 m,30,any,,,,,,\nOro,60 m,20,exp,yes,yes,10:30,Sam,,\n"
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
