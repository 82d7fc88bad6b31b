package api_test

import (
	"bytes"
	"encoding/json"
	"net/http"
	"strconv"
	"strings"
	"sync"
	"testing"

	"github.com/danielgtaylor/huma/v2"

	"wideberth/api"
	"wideberth/api/store"
)

// described is the interface with everything in it; nothing is asked of it.
var described = sync.OnceValue(func() *huma.OpenAPI {
	return api.New(api.Options{Version: "test", Store: new(store.Store)}).OpenAPI()
})

// keepsDescription holds an answer against the description: programs that read it
// by generated types, the page among them, get what was described.
func keepsDescription(t testing.TB, method, path string, res *http.Response, body []byte) {
	t.Helper()
	op := operationOf(method, path)
	form, _, _ := strings.Cut(res.Header.Get("Content-Type"), ";")
	if op == nil || form != "application/json" && form != "application/problem+json" {
		return
	}
	answer := op.Responses[strconv.Itoa(res.StatusCode)]
	if answer == nil {
		answer = op.Responses["default"]
	}
	if answer == nil || answer.Content[form] == nil {
		t.Errorf("%s %s: an answer %d that is not described", method, path, res.StatusCode)
		return
	}
	for _, err := range offSchema(t, answer.Content[form].Schema, body) {
		t.Errorf("%s %s answers other than described: %s", method, path, err)
	}
}

// operationOf finds what is described for a request; nil for the page's own files.
func operationOf(method, path string) *huma.Operation {
	path, _, _ = strings.Cut(path, "?")
	parts := strings.Split(path, "/")
	for template, item := range described().Paths {
		if !fits(strings.Split(template, "/"), parts) {
			continue
		}
		op := map[string]*huma.Operation{http.MethodGet: item.Get, http.MethodPost: item.Post, http.MethodPut: item.Put, http.MethodDelete: item.Delete}[method]
		if op != nil && (!strings.Contains(template, "{") || described().Paths[path] == nil) {
			return op
		}
	}
	return nil
}

func fits(template, path []string) bool {
	if len(template) != len(path) {
		return false
	}
	for i, part := range template {
		if part != path[i] && !strings.HasPrefix(part, "{") {
			return false
		}
	}
	return true
}

// offSchema is what of a JSON text is not as a schema says, at most three of it.
func offSchema(t testing.TB, s *huma.Schema, text []byte) []string {
	t.Helper()
	var v any
	if err := json.Unmarshal(text, &v); err != nil {
		return []string{err.Error()}
	}
	var found huma.ValidateResult
	huma.Validate(described().Components.Schemas, s, huma.NewPathBuffer(nil, 0), huma.ModeReadFromServer, v, &found)
	var out []string
	for i, err := range found.Errors {
		if i == 3 {
			return append(out, "and "+strconv.Itoa(len(found.Errors)-i)+" more")
		}
		out = append(out, err.Error())
	}
	return out
}

// TestDescription checks that what is printed without a map is what a server with
// a store answers, and that the check of answers sees what is wrong.
func TestDescription(t *testing.T) {
	printed, err := api.Description("test")
	if err != nil {
		t.Fatal(err)
	}
	_, h := memory(t, true)
	_, served := do(t, h, "GET", "/openapi.json", "", "")
	var one, other bytes.Buffer
	if err := json.Compact(&one, printed); err != nil {
		t.Fatal(err)
	}
	if err := json.Compact(&other, served); err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(one.Bytes(), other.Bytes()) {
		t.Error("what is printed is not what is served")
	}
	person := operationOf("GET", "/v1/people").Responses["200"].Content["application/json"].Schema
	for text, good := range map[string]bool{
		`[]`: true,
		`[{"id":"a","name":"Sam","role":"trainer","dogs":[],"keys":[]}]`:   true,
		`[{"id":"a","name":"Sam","role":"trainer","dogs":null,"keys":[]}]`: false,
		`[{"id":"a","name":"Sam","role":"boss","dogs":[],"keys":[]}]`:      false,
		`[{"id":"a","role":"trainer","dogs":[],"keys":[]}]`:                false,
		`null`: false,
	} {
		if off := offSchema(t, person, []byte(text)); (len(off) == 0) != good {
			t.Errorf("%s: %v", text, off)
		}
	}
}
