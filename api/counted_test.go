package api_test

import (
	"context"
	"encoding/json"
	"fmt"
	"strings"
	"testing"

	"wideberth/api/wire"
	"wideberth/api/wire/kept"
	"wideberth/testdata"
)

// countBody is a count at the invented door.
func countBody(key, start string, more string) string {
	return fmt.Sprintf(`{"key":%q,"lat":%g,"lon":%g,"start":%q,"minutes":30,%s}`, key, testdata.DoorLat, testdata.DoorLon, start, more)
}

// What one person of an account counts changes what another of the account is told,
// and nobody else; the report says how far the model was off; deleted it changes nothing.
func TestCountsByHand(t *testing.T) {
	m, h := memory(t, false)
	ctx := context.Background()
	keys := map[string]string{}
	for _, name := range []string{"Ours", "Theirs"} {
		keeper, err := m.CreateAccount(ctx, name, "Keeper")
		if err != nil {
			t.Fatal(err)
		}
		if keys[name], _, err = m.NewToken(ctx, keeper, keeper.Person, "test", 1); err != nil {
			t.Fatal(err)
		}
		if name == "Ours" {
			p, err := m.AddPerson(ctx, keeper, "Robin", kept.Handler, nil)
			if err != nil {
				t.Fatal(err)
			}
			if keys["Robin"], _, err = m.NewToken(ctx, keeper, p, "test", 1); err != nil {
				t.Fatal(err)
			}
		}
	}
	var place struct {
		Features []struct {
			Properties struct{ Edge int32 }
		}
	}
	box := fmt.Sprintf(`{"bbox":[%g,%g,%g,%g],"depart":"2026-11-24T08:15:00Z"}`, testdata.DoorLon-2e-4, testdata.DoorLat-2e-4, testdata.DoorLon+2e-4, testdata.DoorLat+2e-4)
	send(t, h, "POST", "/v1/hazards", keys["Ours"], box, 200, &place)
	told := func(key string) (hazard float64, counted bool, basis string) {
		for _, f := range place.Features {
			var e wire.Explanation
			send(t, h, "POST", "/v1/explain", key, fmt.Sprintf(`{"edge":%d,"depart":"2026-11-24T08:15:00Z","dog":{"name":"Fern","needs":{"dogs":{"working_m":38}}}}`, f.Properties.Edge), 200, &e)
			hazard, basis = hazard+e.X10, basis+strings.Join(e.Basis, "; ")
			for _, term := range e.Terms {
				counted = counted || term.Evidence == "counted"
			}
		}
		return hazard, counted, basis
	}
	before, _, basis := told(keys["Ours"])
	if !strings.Contains(basis, "nobody has counted them") {
		t.Errorf("before any count: %s", basis)
	}
	var first kept.Count
	send(t, h, "POST", "/v1/counts", keys["Robin"], countBody("a", "2026-11-24T08:00:00Z", `"dogs":90,"people":20`), 200, &first)
	send(t, h, "POST", "/v1/counts", keys["Robin"], countBody("a", "2026-11-24T08:00:00Z", `"dogs":90,"people":20`), 200, nil)
	send(t, h, "POST", "/v1/counts", keys["Ours"], countBody("b", "2026-11-23T08:00:00Z", `"dogs":80`), 200, nil)
	after, counted, basis := told(keys["Ours"])
	if after < 1.3*before || !counted || !strings.Contains(basis, "dogs: counted here") {
		t.Errorf("expected reactions in ten minutes %.3f, before %.3f, counted %v: %s", after, before, counted, basis)
	}
	if theirs, counted, _ := told(keys["Theirs"]); theirs != before || counted {
		t.Errorf("another account is told %.3f, before %.3f", theirs, before)
	}
	var list []kept.Count
	send(t, h, "GET", "/v1/counts", keys["Ours"], "", 200, &list)
	var report wire.CountReport
	send(t, h, "GET", "/v1/counts/report", keys["Ours"], "", 200, &report)
	if len(list) != 2 || len(report.Lines) != 3 || report.Scores[0].What != "dogs" || report.Scores[0].Mean >= 1 || report.Scores[0].N != 2 {
		t.Errorf("%d kept; report %+v", len(list), report)
	}
	for _, l := range report.Lines {
		if l.What == "dogs" && !(l.Predicted < l.Bound && l.Bound < 1.5*l.Counted) {
			t.Errorf("%+v", l)
		}
	}
	table := string(send(t, h, "GET", "/v1/counts/export.csv", keys["Ours"], "", 200, nil))
	if !strings.HasPrefix(table, "lat,lon,start,minutes,dogs,people,wheels,traffic\n") || strings.Count(table, "\n") != 3 {
		t.Errorf("table %s", table)
	}
	send(t, h, "GET", "/v1/counts/report", keys["Theirs"], "", 200, &report)
	if len(report.Lines) != 0 {
		t.Errorf("another account reads %+v", report.Lines)
	}
	for i := range list {
		send(t, h, "DELETE", "/v1/counts/"+list[i].ID, keys["Ours"], "", 204, nil)
	}
	if now, _, _ := told(keys["Robin"]); now != before {
		t.Errorf("after they were deleted %.3f, before %.3f", now, before)
	}
}

// What cannot be a count is refused by field, and a place is counted once at a time.
func TestCountsRefused(t *testing.T) {
	_, h := memory(t, true)
	send(t, h, "POST", "/v1/counts", "", countBody("a", "2026-11-24T08:00:00Z", `"dogs":3`), 200, nil)
	for name, c := range map[string]struct{ body, at string }{
		"off the map":    {`{"lat":48,"lon":-7,"start":"2026-11-24T08:00:00Z","minutes":10,"dogs":1}`, "lat"},
		"twice":          {countBody("b", "2026-11-24T08:10:00Z", `"people":3`), "start"},
		"negative":       {countBody("b", "2026-11-23T08:10:00Z", `"people":-3`), "people"},
		"absurd":         {countBody("b", "2026-11-23T08:10:00Z", `"people":300000`), "people"},
		"nothing":        {countBody("b", "2026-11-23T08:10:00Z", `"wheels":null`), "wheels"},
		"no zone":        {countBody("b", "2026-11-23T08:10:00", `"people":3`), "start"},
		"to come":        {countBody("b", "2027-11-23T08:10:00Z", `"people":3`), "start"},
		"nothing at all": {countBody("b", "2026-11-23T08:10:00Z", `"key":"b"`), "people"},
	} {
		answer := send(t, h, "POST", "/v1/counts", "", c.body, 422, nil)
		var p struct {
			Errors []struct{ Location string }
		}
		if err := json.Unmarshal(answer, &p); err != nil || len(p.Errors) == 0 || !strings.Contains(string(answer), c.at) || strings.Contains(string(answer), "/others") {
			t.Errorf("%s: %s", name, answer)
		}
	}
	var list []kept.Count
	send(t, h, "GET", "/v1/counts", "", "", 200, &list)
	if len(list) != 1 {
		t.Errorf("%d are kept", len(list))
	}
}

// Weather as somebody says it goes with a wish, into what is told again, and is
// refused where no place on earth has it.
func TestWeatherOverHTTP(t *testing.T) {
	_, h := memory(t, true)
	type plan struct {
		Assumed []string
		Given   json.RawMessage
		Walks   []struct {
			X float64 `json:"expected_reactions"`
		}
	}
	var usual, pouring, again plan
	send(t, h, "POST", "/v1/plans", "", wish(`,"minutes":20,"walks":1`+kessa), 200, &usual)
	send(t, h, "POST", "/v1/plans", "", wish(`,"minutes":20,"walks":1,"weather":{"temperature_c":2,"rain":"heavy"}`+kessa), 200, &pouring)
	if !(pouring.Walks[0].X < usual.Walks[0].X) || !strings.Contains(strings.Join(pouring.Assumed, "; "), "the weather: as you say it is") || strings.Contains(strings.Join(usual.Assumed, "; "), "the weather:") {
		t.Errorf("in the rain %.4f, as usual %.4f; assumed %q", pouring.Walks[0].X, usual.Walks[0].X, pouring.Assumed)
	}
	send(t, h, "POST", "/v1/plans/told", "", `{"given":`+string(pouring.Given)+`}`, 200, &again)
	if again.Walks[0].X != pouring.Walks[0].X {
		t.Errorf("told again %.5f, given %.5f", again.Walks[0].X, pouring.Walks[0].X)
	}
	send(t, h, "POST", "/v1/plans", "", wish(`,"minutes":20,"weather":{"temperature_c":90}`+kessa), 422, nil)
	send(t, h, "POST", "/v1/plans", "", wish(`,"minutes":20,"weather":{"rain":"frogs"}`+kessa), 422, nil)
}
