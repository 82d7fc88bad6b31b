package api

import "github.com/danielgtaylor/huma/v2"

// OpenAPI lets tests hold answers against the description.
func (s *Server) OpenAPI() *huma.OpenAPI { return s.api.OpenAPI() }

// Readdress gives a plan that was changed the address that it would have.
func (g *Given) Readdress() { g.ID = g.id() }
