package origin_test

import (
	"context"
	"net/http"
	"net/http/httptest"
	"net/netip"
	"regexp"
	"strings"
	"testing"

	"github.com/labstack/echo/v4"
	"pgregory.net/rapid"

	"wideberth/api/origin"
)

func request(host string, headers map[string]string) *http.Request {
	r := httptest.NewRequest(http.MethodGet, "/v1/map", http.NoBody)
	r.Host = host
	for k, v := range headers {
		r.Header.Set(k, v)
	}
	return r
}

// TestOnlyThisMachineIsHere: by its names and addresses (127.0.0.0/8 of RFC 1122, section
// 3.2.1.3; ::1 of RFC 4291, section 2.5.3), never by a name that somebody else can let point
// here.
func TestOnlyThisMachineIsHere(t *testing.T) {
	for host, want := range map[string]bool{
		"localhost": true, "localhost:8080": true, "127.0.0.1": true, "127.0.0.1:80": true, "127.255.0.9:8080": true, "[::1]": true, "[::1]:8080": true, "::1": true,
		"": false, "localhost.example": false, "localhost.": false, "LOCALHOST.example:80": false, "192.0.2.7": false, "10.0.0.1:8080": false, "0.0.0.0": false, "[2001:db8::1]:80": false,
		"128.0.0.1": false, "127.0.0.1.example": false, "127.1": false, "0177.0.0.1": false, "[::ffff:127.0.0.1]": true, "[::ffff:192.0.2.1]": false, "evil.example:8080": false,
	} {
		if got := origin.FromHere(request(host, nil)); got != want {
			t.Errorf("%q is here: %v", host, got)
		}
	}
}

// TestPagesFromElsewhereAreNot: by Origin (RFC 6454, section 7) and Sec-Fetch-Site (W3C Fetch
// Metadata: same-origin, same-site, cross-site, none).
func TestPagesFromElsewhereAreNot(t *testing.T) {
	const host = "localhost:8080"
	for _, c := range []struct {
		name, value string
		want        bool
	}{
		{"Origin", "http://localhost:8080", true}, {"Origin", "https://localhost:8080", true}, {"Origin", "null", false}, {"Origin", "http://localhost", false}, {"Origin", "http://localhost:80801", false},
		{"Origin", "http://127.0.0.1:8080", false}, {"Origin", "https://evil.example", false}, {"Origin", "http://localhost:8080.evil.example", false}, {"Origin", "ftp://localhost:8080", false},
		{"Sec-Fetch-Site", "same-origin", true}, {"Sec-Fetch-Site", "none", true}, {"Sec-Fetch-Site", "same-site", false}, {"Sec-Fetch-Site", "cross-site", false},
		{"Referer", "https://evil.example/", true}, // says nothing that a request is judged by
	} {
		if got := origin.FromHere(request(host, map[string]string{c.name: c.value})); got != c.want {
			t.Errorf("%s: %s is here: %v", c.name, c.value, got)
		}
	}
}

// TestProxiesSpeakForOthers: any header by which a proxy says for whom it asks, however
// empty and in whatever case, makes the request another's.
func TestProxiesSpeakForOthers(t *testing.T) {
	for _, name := range []string{"Forwarded", "X-Forwarded-For", "x-forwarded-host", "X-FORWARDED-PROTO", "X-Forwarded-Port", "X-Forwarded-Server", "X-Real-IP", "Via"} {
		for _, value := range []string{"127.0.0.1", "for=127.0.0.1", ""} {
			if origin.FromHere(request("localhost", map[string]string{name: value})) {
				t.Errorf("%s: %q is here", name, value)
			}
		}
	}
}

// TestAddressIsThatOfTheConnection: whatever headers say, unless a proxy that is trusted says
// it; of several it is the last that no trusted proxy wrote. Addresses are those for
// documents (RFC 5737, RFC 3849).
func TestAddressIsThatOfTheConnection(t *testing.T) {
	prefix := netip.MustParsePrefix
	for name, c := range map[string]struct {
		trusted []netip.Prefix
		peer    string
		said    []string
		want    string
	}{
		"nobody trusted":    {nil, "192.0.2.1:999", []string{"198.51.100.7"}, "192.0.2.1"},
		"nobody, IPv6":      {nil, "[2001:db8::1]:999", []string{"198.51.100.7"}, "2001:db8::1"},
		"trusted":           {[]netip.Prefix{prefix("192.0.2.0/24")}, "192.0.2.1:999", []string{"198.51.100.7"}, "198.51.100.7"},
		"not that one":      {[]netip.Prefix{prefix("192.0.2.2/32")}, "192.0.2.1:999", []string{"198.51.100.7"}, "192.0.2.1"},
		"trusted but mute":  {[]netip.Prefix{prefix("192.0.2.0/24")}, "192.0.2.1:999", nil, "192.0.2.1"},
		"written before it": {[]netip.Prefix{prefix("192.0.2.0/24")}, "192.0.2.1:999", []string{"203.0.113.9, 198.51.100.7"}, "198.51.100.7"},
		"two proxies":       {[]netip.Prefix{prefix("192.0.2.0/24"), prefix("198.51.100.0/24")}, "192.0.2.1:999", []string{"203.0.113.9, 198.51.100.7"}, "203.0.113.9"},
		"trusted IPv6":      {[]netip.Prefix{prefix("2001:db8::/32")}, "[2001:db8::1]:999", []string{"198.51.100.7"}, "198.51.100.7"},
		"loopback is not":   {[]netip.Prefix{prefix("192.0.2.0/24")}, "127.0.0.1:999", []string{"198.51.100.7"}, "127.0.0.1"},
		"nor private nets":  {[]netip.Prefix{prefix("192.0.2.0/24")}, "10.0.0.1:999", []string{"198.51.100.7"}, "10.0.0.1"},
		"loopback if said":  {[]netip.Prefix{prefix("127.0.0.0/8")}, "127.0.0.1:999", []string{"198.51.100.7"}, "198.51.100.7"},
	} {
		r := request("wide.example", nil)
		r.RemoteAddr = c.peer
		for _, s := range c.said {
			r.Header.Add("X-Forwarded-For", s)
		}
		if got := origin.AddressOf(c.trusted)(r); got != c.want {
			t.Errorf("%s: %s, want %s", name, got, c.want)
		}
	}
}

// TestEveryRequestHasAnID: its own where that is short and plain, else a new one; the answer
// and the context have the same, and no id can break a line of a log.
func TestEveryRequestHasAnID(t *testing.T) {
	plain := regexp.MustCompile(`\A[A-Za-z0-9_.:-]{1,64}\z`)
	identified := func(id string) (told, inside string) {
		e := echo.New()
		r := request("localhost", nil)
		if id != "" {
			r.Header["X-Request-Id"] = []string{id}
		}
		rec := httptest.NewRecorder()
		err := origin.Identify(func(c echo.Context) error {
			inside = origin.ID(c.Request().Context())
			return nil
		})(e.NewContext(r, rec))
		if err != nil {
			t.Fatal(err)
		}
		return rec.Header().Get("X-Request-Id"), inside
	}
	rapid.Check(t, func(t *rapid.T) {
		id := rapid.OneOf(rapid.String(), rapid.StringMatching(`[A-Za-z0-9_.:-]{1,70}`), rapid.StringMatching(`[a-z]{1,8}\n?`)).Draw(t, "id")
		told, inside := identified(id)
		if told != inside || !plain.MatchString(told) || (told == id) != plain.MatchString(id) {
			t.Fatalf("%q is told as %q and known as %q", id, told, inside)
		}
	})
	one, _ := identified("")
	two, _ := identified(strings.Repeat("a", 65))
	if one == two || one == "" {
		t.Errorf("two requests are called %q and %q", one, two)
	}
}

// TestNamesStandInTheContext: empty until somebody notes one, and the last that was noted.
func TestNamesStandInTheContext(t *testing.T) {
	ctx := context.Background()
	if origin.Asker(ctx) != "" || origin.ID(ctx) != "" {
		t.Error("a name that nobody noted")
	}
	ctx = origin.WithAsker(origin.WithAsker(ctx, "shelter"), "owner")
	type key struct{}
	if got := origin.Asker(context.WithValue(ctx, key{}, "shelter")); got != "owner" {
		t.Errorf("counts under %q", got)
	}
}
