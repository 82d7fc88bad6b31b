package api_test

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"strings"
	"time"

	"wideberth/api"
	"wideberth/routing"
	"wideberth/routing/atlas"
	"wideberth/routing/snapshot/maptest"
)

// A plan asked for over HTTP from a server that keeps nothing, for a dog that cannot be.
func ExampleNew() {
	p, err := routing.NewPlanner(maptest.Invented(), nil)
	if err != nil {
		fmt.Println(err)
		return
	}
	server := api.New(api.Options{Atlas: atlas.Of(p), Now: func() time.Time { return maptest.Morning }})
	req := httptest.NewRequest(http.MethodPost, "/v1/plans", strings.NewReader(`{"from": {"lat": 47.2022, "lon": -7.0018}, "minutes": 20, "depart": "2026-11-25T07:10:00Z",
		"dog": {"name": "Fern", "needs": {"dogs": {"working_m": 10, "reaction_m": 30}}}}`))
	req.Header.Set("Content-Type", "application/json")
	rec := httptest.NewRecorder()
	server.Handler().ServeHTTP(rec, req)
	fmt.Println(rec.Code, rec.Header().Get("Content-Type"))
	fmt.Println(strings.Contains(rec.Body.String(), "the dog reacts nearer than it works"))
	// Output:
	// 422 application/problem+json
	// true
}
