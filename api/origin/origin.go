// Package origin says where a request comes from: from this machine's own page or
// programs, from which address, under which id, and on whose account it counts.
package origin

import (
	"context"
	"net"
	"net/http"
	"net/netip"
	"regexp"
	"slices"
	"strings"

	"github.com/labstack/echo/v4"
	"github.com/labstack/echo/v4/middleware"
)

// forwarding are the headers by which proxies say for whom they ask: that of RFC 7239
// and those in use before it.
var forwarding = []string{"Forwarded", "X-Forwarded-For", "X-Forwarded-Host", "X-Forwarded-Proto", "X-Forwarded-Port", "X-Forwarded-Server", "X-Real-Ip", "Via"}

// FromHere says that a request to a server that asks nobody for a key is meant
// for it and comes from its own page or a program. A proxy speaks for somebody
// else, whatever name it gives this server. A page from elsewhere, open in
// a browser on this machine, could reach the port too: by a name of its own that
// it lets point here (then Host is that name), or by sending blindly (then the
// browser says where from, in Origin and Sec-Fetch-Site of the Fetch standard).
func FromHere(r *http.Request) bool {
	if slices.ContainsFunc(forwarding, func(name string) bool { return len(r.Header.Values(name)) > 0 }) {
		return false
	}
	host := r.Host
	if h, _, err := net.SplitHostPort(host); err == nil {
		host = h
	}
	if ip := net.ParseIP(strings.Trim(host, "[]")); host != "localhost" && (ip == nil || !ip.IsLoopback()) {
		return false
	}
	if site := r.Header.Get("Sec-Fetch-Site"); site == "cross-site" || site == "same-site" {
		return false
	}
	origin := r.Header.Get(echo.HeaderOrigin)
	return origin == "" || origin == "http://"+r.Host || origin == "https://"+r.Host
}

// AddressOf finds out where a request comes from: from the connection, or, where
// that is a proxy that is trusted, from what it says in X-Forwarded-For.
func AddressOf(trusted []netip.Prefix) echo.IPExtractor {
	if len(trusted) == 0 {
		return echo.ExtractIPDirect()
	}
	options := []echo.TrustOption{echo.TrustLoopback(false), echo.TrustLinkLocal(false), echo.TrustPrivateNet(false)}
	for _, p := range trusted {
		bits := 32
		if p.Addr().Is6() {
			bits = 128
		}
		options = append(options, echo.TrustIPRange(&net.IPNet{IP: p.Addr().AsSlice(), Mask: net.CIDRMask(p.Bits(), bits)}))
	}
	return echo.ExtractIPFromXFFHeader(options...)
}

// requestKey is where the id of a request stands in its context.
type requestKey struct{}

// ID is the id of a request, for the lines of the log.
func ID(ctx context.Context) string {
	id, _ := ctx.Value(requestKey{}).(string)
	return id
}

// plainID is an id that a client or a proxy may give a request.
var plainID = regexp.MustCompile(`^[A-Za-z0-9_.:-]{1,64}$`)

// Identify gives each request an id: the one that it comes with, if that is short and
// plain, else one of its own.
func Identify(next echo.HandlerFunc) echo.HandlerFunc {
	fresh := middleware.DefaultRequestIDConfig.Generator
	return func(c echo.Context) error {
		id := c.Request().Header.Get(echo.HeaderXRequestID)
		if !plainID.MatchString(id) {
			id = fresh()
		}
		c.Response().Header().Set(echo.HeaderXRequestID, id)
		c.SetRequest(c.Request().WithContext(context.WithValue(c.Request().Context(), requestKey{}, id)))
		return next(c)
	}
}

// askerKey is where the name stands in a request's context under which it counts.
type askerKey struct{}

// WithAsker notes under which name a request counts.
func WithAsker(ctx context.Context, name string) context.Context {
	return context.WithValue(ctx, askerKey{}, name)
}

// Asker is the name under which a request counts, empty if nobody has noted one.
func Asker(ctx context.Context) string {
	name, _ := ctx.Value(askerKey{}).(string)
	return name
}
