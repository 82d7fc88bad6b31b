package api

import (
	"strings"
	"wideberth/api/wire"

	"github.com/labstack/echo/v4"
)

// answerPolicy is for answers that no browser should show as a page: it may load and
// run nothing, whatever stands in it.
const answerPolicy = "default-src 'none'; frame-ancestors 'none'; base-uri 'none'; form-action 'none'"

// headers go with every answer. What /v1 answers is somebody's own and stays in no
// cache. A picture opened by itself is a document and gets the policy too; the page
// and hand-outs, which need more, say so themselves. A server that drains takes leave
// of each connection with an answer: one that it closed by itself might carry the next
// request just then, and nobody would know whether that was done.
func (s *Server) headers(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		h := c.Response().Header()
		h.Set(echo.HeaderXContentTypeOptions, "nosniff")
		h.Set(echo.HeaderReferrerPolicy, "no-referrer")
		h.Set(echo.HeaderContentSecurityPolicy, answerPolicy)
		if strings.HasPrefix(c.Request().URL.Path, "/v1/") {
			h.Set(echo.HeaderCacheControl, "no-store")
			words := wire.Reader(c.Request().Header.Get("Accept-Language"))
			h.Set("Content-Language", words.Lang())
			h.Add(echo.HeaderVary, "Accept-Language")
			c.SetRequest(c.Request().WithContext(wire.WithReader(c.Request().Context(), words)))
		}
		if s.draining.Load() {
			h.Set(echo.HeaderConnection, "close")
		}
		return next(c)
	}
}
