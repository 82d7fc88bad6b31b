package api

import (
	"net/http"

	"github.com/labstack/echo/v4"

	"wideberth/api/origin"
	"wideberth/api/problem"
	"wideberth/api/store"
	"wideberth/api/wire"
)

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
		case (keyless || err != nil && s.local()) && !origin.FromHere(c.Request()):
			return s.tell(c, problem.New(http.StatusForbidden, wire.ReaderOf(c.Request().Context()).Say("problem.local")))
		}
		return next(c)
	}
}
