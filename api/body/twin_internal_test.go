package body

import (
	"encoding/json"
	"reflect"
	"testing"

	"github.com/danielgtaylor/huma/v2"
	"pgregory.net/rapid"
)

// TestFaultsAreThoseThatHumaLists: what is counted part by part is what huma lists of the
// whole, through references, lists and members with names of their own.
func TestFaultsAreThoseThatHumaLists(t *testing.T) {
	type part struct {
		Name string         `json:"name" maxLength:"3"`
		Side float64        `json:"side,omitempty" minimum:"0"`
		By   map[string]int `json:"by,omitempty"`
	}
	type whole struct {
		Parts []part `json:"parts"`
		Best  part   `json:"best"`
	}
	registry := huma.NewMapRegistry("#/components/schemas/", huma.DefaultSchemaNamer)
	schema := registry.Schema(reflect.TypeFor[whole](), true, "whole")
	piece := rapid.Custom(func(rt *rapid.T) any {
		p := map[string]any{}
		if rapid.Bool().Draw(rt, "named") {
			p["name"] = rapid.SampledFrom([]any{"ab", "abcd", 1.0, nil}).Draw(rt, "name")
		}
		if rapid.Bool().Draw(rt, "sided") {
			p["side"] = rapid.SampledFrom([]any{2.0, -1.0, "x"}).Draw(rt, "side")
		}
		if rapid.Bool().Draw(rt, "counted") {
			p["by"] = map[string]any{"a": 1.0, "b": rapid.SampledFrom([]any{2.0, "two"}).Draw(rt, "by")}
		}
		if rapid.Bool().Draw(rt, "odd") {
			p["odd"] = true
		}
		return p
	})
	rapid.Check(t, func(rt *rapid.T) {
		v := map[string]any{"parts": rapid.SliceOfN(piece, 0, 5).Draw(rt, "parts"), "best": piece.Draw(rt, "best")}
		sent, err := json.Marshal(v)
		if err != nil {
			rt.Fatal(err)
		}
		var read any
		if err := Unmarshal(sent, &read); err != nil {
			rt.Fatal(err)
		}
		f := faults{registry: registry, path: huma.NewPathBuffer(nil, 0)}
		f.look(schema, read)
		var all huma.ValidateResult
		huma.Validate(registry, schema, huma.NewPathBuffer(nil, 0), huma.ModeWriteToServer, read, &all)
		if f.found != len(all.Errors) {
			rt.Fatalf("%s: counted %d, huma lists %d: %v", sent, f.found, len(all.Errors), all.Errors)
		}
	})
}
