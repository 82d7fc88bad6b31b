package api_test

import (
	"net/http/httptest"
	"strings"
	"testing"

	"wideberth/api"
)

// FuzzPlanBody sends whatever comes to the planner: an answer or a problem, never
// a fault of ours.
func FuzzPlanBody(f *testing.F) {
	h := server(f, api.Options{}).Handler()
	for _, seed := range []string{wish(`,"minutes":10`), wish(`,"minutes":10` + kessa), wish(`,"minutes":12,"shape":"there_and_back"`),
		wish(`,"to":{"lat":47.205,"lon":-6.999}`), wish(`,"shape":"longest_calm","max_expected_reactions":0.3,"minutes":12`),
		wish(`,"minutes":10,"limits":{"no_steps":true,"never_nearer":[{"from":"school","m":60}],"avoid":[{"at":{"lat":47.2,"lon":-7},"radius_m":50}]}`),
		`{}`, `[]`, `null`, `{"from":null}`, `{"from":{"lat":1e308,"lon":-1e308},"minutes":1e308}`} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, body string) {
		req := httptest.NewRequest("POST", "/v1/plans", strings.NewReader(body))
		req.Header.Set("Content-Type", "application/json")
		rec := httptest.NewRecorder()
		h.ServeHTTP(rec, req)
		if rec.Code >= 500 && rec.Code != 503 && rec.Code != 504 {
			t.Fatalf("status %d for %q: %s", rec.Code, body, rec.Body)
		}
	})
}
