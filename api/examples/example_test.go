package examples_test

import (
	"encoding/json"
	"fmt"

	"github.com/danielgtaylor/huma/v2"

	"wideberth/api/examples"
)

// An operation of a description gets the example of its body, which is JSON.
func ExampleShow() {
	media := &huma.MediaType{}
	op := &huma.Operation{OperationID: "check-outing", RequestBody: &huma.RequestBody{Content: map[string]*huma.MediaType{"application/json": media}}}
	examples.Show(&huma.OpenAPI{Paths: map[string]*huma.PathItem{"/v1/outings/check": {Post: op}}})
	text, ok := media.Example.(json.RawMessage)
	fmt.Println(ok, json.Valid(text))
	// Output:
	// true true
}
