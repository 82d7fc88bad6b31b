package api_test

import (
	"context"
	"encoding/json"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"wideberth/api/wire/kept"
)

// TestExamplesWork sends every example of the description as it stands to a server
// over the demo's town, on which there are a dog, a walk, a meeting and a second
// person. Each is answered; the one proposal that is not there is a conflict.
func TestExamplesWork(t *testing.T) {
	if testing.Short() {
		t.Skip("runs without the race detector, under which it is long")
	}
	_, h := memory(t, true)
	var doc struct {
		Paths map[string]map[string]struct {
			OperationID string `json:"operationId"`
			RequestBody struct {
				Content map[string]struct{ Example json.RawMessage }
			}
		}
	}
	send(t, h, "GET", "/openapi.json", "", "", 200, &doc)
	tried := 0
	for path, ops := range doc.Paths {
		for method, op := range ops {
			body, takes := op.RequestBody.Content["application/json"]
			if !takes {
				continue
			}
			if len(body.Example) == 0 {
				t.Errorf("%s %s has no example", method, path)
				continue
			}
			tried++
			want := 0
			if op.OperationID == "accept-proposal" {
				want = 409
			}
			if got, text := tryExample(t, method, path, string(body.Example)); got/100 != 2 && got != want {
				t.Errorf("%s %s: the example is answered with %d: %s", method, path, got, text)
			}
		}
	}
	if tried < 38 {
		t.Errorf("only %d examples", tried)
	}
}

// keptBody is the description's own example of a kept sequence.
func keptBody(t *testing.T, h http.Handler) json.RawMessage {
	t.Helper()
	var doc struct {
		Paths map[string]map[string]struct {
			RequestBody struct {
				Content map[string]struct {
					Example json.RawMessage
				}
			}
		}
	}
	send(t, h, "GET", "/openapi.json", "", "", 200, &doc)
	var put struct{ Body json.RawMessage }
	if err := json.Unmarshal(doc.Paths["/v1/documents/{kind}/{id}"]["put"].RequestBody.Content["application/json"].Example, &put); err != nil || len(put.Body) == 0 {
		t.Fatalf("the description shows no sequence: %v", err)
	}
	return put.Body
}

// tryExample sends a body on a server of its own and gives the answer.
func tryExample(t *testing.T, method, path, body string) (int, string) {
	t.Helper()
	m, h := memory(t, true)
	ctx := context.Background()
	keeper, err := m.Local(ctx)
	if err != nil {
		t.Fatal(err)
	}
	var dog kept.Dog
	send(t, h, "POST", "/v1/dogs", "", intake, 200, &dog)
	var walk kept.Walk
	send(t, h, "POST", "/v1/dogs/"+dog.ID+"/walks", "", `{"started":"2026-11-25T07:00:00Z"}`, 200, &walk)
	var met kept.Encounter
	send(t, h, "POST", "/v1/dogs/"+dog.ID+"/encounters", "", `{"at":"2026-11-25T07:20:00Z"}`, 200, &met)
	person, err := m.AddPerson(ctx, keeper, "Sam", kept.Handler, nil)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := m.PutDocument(ctx, keeper, kept.Document{Kind: kept.Sequences, ID: "kept", Dog: dog.ID, Body: keptBody(t, h)}); err != nil {
		t.Fatal(err)
	}
	for prefix, id := range map[string]string{"/v1/dogs/": dog.ID, "/v1/walks/": walk.ID, "/v1/encounters/": met.ID, "/v1/people/": person, "/v1/documents/": "v1", "/v1/visits/": "kept"} {
		if strings.HasPrefix(path, prefix) {
			path = strings.NewReplacer("{id}", id, "{name}", "dogs", "{kind}", "visits").Replace(path)
		}
	}
	body = strings.ReplaceAll(body, "9f2c4b7d1e8a", dog.ID) // the one id that only the server knows
	req := httptest.NewRequest(strings.ToUpper(method), "http://localhost"+path, strings.NewReader(body))
	req.Header.Set("Content-Type", "application/json")
	rec := httptest.NewRecorder()
	h.ServeHTTP(rec, req)
	keepsDescription(t, strings.ToUpper(method), path, rec.Result(), rec.Body.Bytes())
	return rec.Code, clip(rec.Body.Bytes())
}
