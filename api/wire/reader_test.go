package wire_test

import (
	"context"
	"strings"
	"testing"

	"wideberth/api/wire"
	"wideberth/routing/briefing"
)

// The first row is the header that RFC 9110 shows in 12.5.4; the others follow from its
// rules: weights order, "en" stands for no country.
func TestReader(t *testing.T) {
	for accept, want := range map[string]string{
		"da, en-gb;q=0.8, en;q=0.7":           "en-GB",
		"da, en;q=0.5, en-us;q=0.9":           "en-US",
		"en-US,en;q=0.9":                      "en-US",
		"en-GB;q=0.4, en-US;q=0.6":            "en-US",
		"en-US;q=0.4, en-AU":                  "en-GB",
		"en":                                  "en-GB",
		"es-US":                               "en-GB",
		"":                                    "en-GB",
		"*":                                   "en-GB",
		"en-US\x00":                           "en-GB",
		strings.Repeat("en-US-x-a,", 100_000): "en-GB",
	} {
		if got := wire.Reader(accept).Lang(); got != want {
			t.Errorf("%.40q is told in %s, want %s", accept, got, want)
		}
	}
	ctx := context.Background()
	if us := (briefing.Words{Units: briefing.US, TwelveHour: true}); wire.ReaderOf(ctx) != (briefing.Words{}) || wire.ReaderOf(wire.WithReader(ctx, us)) != us {
		t.Error("what is noted is not what is read")
	}
}
