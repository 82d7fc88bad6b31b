package body_test

import (
	"strings"
	"testing"

	"github.com/danielgtaylor/huma/v2"

	"wideberth/api/body"
)

// Faults are counted wherever they lie, and one too many is too many: unknown members,
// members that lack, items of another type, one level down too.
func TestFaulty(t *testing.T) {
	item := &huma.Schema{Type: huma.TypeObject, Required: []string{"a", "b"}, AdditionalProperties: false,
		Properties: map[string]*huma.Schema{"a": {Type: huma.TypeString}, "b": {Type: huma.TypeString}}}
	schema := &huma.Schema{Type: huma.TypeObject, Properties: map[string]*huma.Schema{"list": {Type: huma.TypeArray, Items: item}}, AdditionalProperties: false}
	for _, s := range []*huma.Schema{item, schema} {
		s.PrecomputeMessages()
	}
	registry := huma.NewMapRegistry("#/components/schemas/", huma.DefaultSchemaNamer)
	list := func(one string, n int) string { return `{"list":[` + strings.Repeat(one+",", n-1) + one + `]}` }
	for _, c := range []struct {
		name, sent string
		want       bool
	}{
		{"none", list(`{"a":"x","b":"y"}`, body.MostFaults+1), false},
		{"two lack in each, as many as are looked for", list(`{}`, body.MostFaults/2), false},
		{"one more", list(`{}`, body.MostFaults/2+1), true},
		{"unknown members", list(`{"a":"x","b":"y","c":1}`, body.MostFaults+1), true},
		{"another type", list(`3`, body.MostFaults+1), true},
		{"no JSON", strings.Repeat("[", body.MostFaults+1), false}, // told as one fault
	} {
		if got := body.Faulty(registry, schema, []byte(c.sent)); got != c.want {
			t.Errorf("%s: %v", c.name, got)
		}
	}
	if body.Faulty(registry, nil, []byte(list(`{}`, body.MostFaults+1))) {
		t.Error("faults without a schema")
	}
}
