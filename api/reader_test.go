package api_test

import (
	"encoding/json"
	"fmt"
	"net/http"
	"net/http/httptest"
	"regexp"
	"strings"
	"testing"

	"wideberth/api"
	"wideberth/testdata"
)

// British words and metres as no American reads them.
var british = regexp.MustCompile(`(?i)\b(on lead|off lead|leads|lead|pavements?|car parks?|metres?|centre|behaviour|prams?|lorr(y|ies)|learnt|turn round)\b|\d\s?(m|km)\b`)

// British finds texts in an answer that are not for Americans.
func britishTexts(v any, at string) (out []string) {
	switch v := v.(type) {
	case string:
		if british.MatchString(v) {
			out = append(out, at+": "+v)
		}
	case []any:
		for _, x := range v {
			out = append(out, britishTexts(x, at)...)
		}
	case map[string]any:
		for k, x := range v {
			if k != "given" { // what was sent
				out = append(out, britishTexts(x, at+"/"+k)...)
			}
		}
	}
	return out
}

// Who asks for American English reads feet, miles and American words everywhere, refusals
// and names that the server makes among them; others what they read before.
func TestAmericansReadAmerican(t *testing.T) {
	h := server(t, api.Options{}).Handler()
	ask := func(path, body, accept string) (any, *httptest.ResponseRecorder) {
		req := httptest.NewRequest(http.MethodPost, "http://localhost:8080"+path, strings.NewReader(body))
		req.Header.Set("Content-Type", "application/json")
		if accept != "" {
			req.Header.Set("Accept-Language", accept)
		}
		rec := httptest.NewRecorder()
		h.ServeHTTP(rec, req)
		var v any
		if err := json.Unmarshal(rec.Body.Bytes(), &v); err != nil {
			t.Fatalf("%s: %v", path, err)
		}
		return v, rec
	}
	undated := func(more string) string {
		return fmt.Sprintf(`{"from":{"lat":%g,"lon":%g}%s%s}`, testdata.DoorLat, testdata.DoorLon, more, kessa)
	}
	box := fmt.Sprintf(`{"bbox":[%g,%g,%g,%g],"depart":"2026-11-25T08:10:00Z"%s}`, testdata.DoorLon-0.008, testdata.DoorLat-0.006, testdata.DoorLon+0.008, testdata.DoorLat+0.006, kessa)
	for _, c := range []struct {
		path, body string
		status     int
	}{
		{"/v1/plans", wish(`,"minutes":20` + kessa), 200},
		{"/v1/plans", wish(`,"minutes":20,"limits":{"max_traffic_per_hour":0}` + kessa), 422},
		{"/v1/plans", strings.Replace(wish(kessa), `"lat":47.2`, `"lat":47.26`, 1), 422},
		{"/v1/where", wish(`,"minutes":15,"drive_minutes":5` + kessa), 200},
		{"/v1/sources", box, 200},
		{"/v1/vantages", undated(`,"kind":"dogs","multiple":1.5,"at":"2026-11-25T15:30:00Z"`), 200},
	} {
		got, rec := ask(c.path, c.body, "en-US,en;q=0.9")
		if rec.Code != c.status || rec.Header().Get("Content-Language") != "en-US" {
			t.Errorf("%s: status %d in %s: %s", c.path, rec.Code, rec.Header().Get("Content-Language"), clip(rec.Body.Bytes()))
		}
		for _, text := range britishTexts(got, c.path) {
			t.Error(text)
		}
	}
	plain, _ := ask("/v1/plans", wish(`,"minutes":20`+kessa), "")
	if n := len(britishTexts(plain, "")); n < 3 {
		t.Errorf("%d texts tell the two apart: nothing was tested", n)
	}
}
