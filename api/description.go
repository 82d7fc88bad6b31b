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

// keyScheme is what the description calls the way in: a key in the header
// Authorization (RFC 6750).
const keyScheme = "key"

// describeFaults says of every operation under /v1 that it takes a key, and of every
// one that whatever else it answers is a problem document: who may ask, for how much
// and how long is found out before any of them.
func (s *Server) describeFaults() {
	for path, item := range s.api.OpenAPI().Paths {
		for _, op := range []*huma.Operation{item.Get, item.Post, item.Put, item.Delete} {
			if op == nil {
				continue
			}
			if !free(path) {
				op.Security = []map[string][]string{{keyScheme: {}}}
			}
			if op.Responses["default"] == nil {
				op.Responses["default"] = op.Responses["500"]
			}
		}
	}
}
