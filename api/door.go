package api

import (
	"net"
	"net/http"
	"net/netip"
	"slices"
	"strings"

	"github.com/labstack/echo/v4"

	"wideberth/api/problem"
	"wideberth/api/store"
)

// forwarding are the headers by which proxies say for whom they ask: that of RFC 7239
// and those in use before it.
var forwarding = []string{"Forwarded", "X-Forwarded-For", "X-Forwarded-Host", "X-Forwarded-Proto", "X-Forwarded-Port", "X-Forwarded-Server", "X-Real-Ip", "Via"}

// keyless says that nobody is asked for a key: a server for one local account, for
// whose store none was ever made.
func (s *Server) keyless(r *http.Request) (bool, error) {
	if s.opt.Store == nil || !s.local() {
		return false, nil
	}
	if s.keyed.Load() { // once is for good
		return false, nil
	}
	keyed, err := s.opt.Store.Keyed(r.Context())
	if keyed {
		s.keyed.Store(true)
	}
	return !keyed && err == nil, err
}

// local says that this is a server for one local account.
func (s *Server) local() bool { return s.opt.Local != (store.Who{}) }

// door lets nobody in without a key but this machine's own page and programs: not
// even to the map or to what health tells.
func (s *Server) door(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		keyless, err := s.keyless(c.Request())
		switch {
		case err != nil && !free(c.Request().URL.Path):
			return s.tellError(c, err)
		case (keyless || err != nil && s.local()) && !fromHere(c.Request()):
			return s.tell(c, problem.New(http.StatusForbidden, english.Say("problem.local")))
		}
		return next(c)
	}
}

// fromHere says that a request to a server that asks nobody for a key is meant
// for it and comes from its own page or a program. A proxy speaks for somebody
// else, whatever name it gives this server. A page from elsewhere, open in
// a browser on this machine, could reach the port too: by a name of its own that
// it lets point here (then Host is that name), or by sending blindly (then the
// browser says where from, in Origin and Sec-Fetch-Site of the Fetch standard).
func fromHere(r *http.Request) bool {
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

// addressOf finds out where a request comes from: from the connection, or, where
// that is a proxy that is trusted, from what it says in X-Forwarded-For.
func addressOf(trusted []netip.Prefix) echo.IPExtractor {
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
