package api

import (
	"encoding/json"

	"github.com/danielgtaylor/huma/v2"

	"wideberth/api/store"
)

// Description is what /openapi.json answers, without a map and without anything
// kept: for those who generate their types from it. version is told in it.
func Description(version string) ([]byte, error) {
	s := New(Options{Version: version, Store: new(store.Store)}) // both only to be described
	return json.MarshalIndent(s.api.OpenAPI(), "", "  ")
}

// describeFaults says of every operation that whatever else it answers is a
// problem document: who may ask, for how much and how long is found out before
// any of them.
func (s *Server) describeFaults() {
	for _, item := range s.api.OpenAPI().Paths {
		for _, op := range []*huma.Operation{item.Get, item.Post, item.Put, item.Delete} {
			if op != nil && op.Responses["default"] == nil {
				op.Responses["default"] = op.Responses["500"]
			}
		}
	}
}
