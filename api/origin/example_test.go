package origin_test

import (
	"fmt"
	"net/http"
	"net/http/httptest"

	"wideberth/api/origin"
)

// A program on this machine may go without a key; a page from elsewhere, open in a
// browser here, may not, nor what a proxy sends on.
func ExampleFromHere() {
	ask := func(name, value string) bool {
		r := httptest.NewRequest(http.MethodGet, "http://localhost:8080/v1/map", http.NoBody)
		r.Header.Set(name, value)
		return origin.FromHere(r)
	}
	fmt.Println(ask("Accept", "application/json"), ask("Origin", "http://localhost:8080"))
	fmt.Println(ask("Origin", "https://elsewhere.example"), ask("Sec-Fetch-Site", "cross-site"), ask("X-Forwarded-For", "192.0.2.7"))
	// Output:
	// true true
	// false false false
}
