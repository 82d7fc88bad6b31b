package api

import "github.com/danielgtaylor/huma/v2"

// OpenAPI lets tests hold answers against the description.
func (s *Server) OpenAPI() *huma.OpenAPI { return s.api.OpenAPI() }
