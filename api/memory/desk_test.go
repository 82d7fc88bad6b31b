package memory_test

import (
	"bytes"
	"context"
	"crypto/rand"
	"encoding/json"
	"errors"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"time"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humago"

	"wideberth/api/gate"
	"wideberth/api/memory"
	"wideberth/api/problem"
	"wideberth/api/store"
	"wideberth/api/wire/kept"
	"wideberth/routing/briefing"
)

// office is a desk with a store of its own and nothing else of a server.
type office struct {
	t      testing.TB
	store  *store.Store
	desk   *memory.Desk
	mux    *http.ServeMux
	log    bytes.Buffer
	now    time.Time
	keeper store.Who
}

func newOffice(t testing.TB) *office {
	t.Helper()
	o := &office{t: t, mux: http.NewServeMux(), now: time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)}
	now := func() time.Time { return o.now }
	var err error
	if o.store, err = store.Open(t.Context(), filepath.Join(t.TempDir(), "memory.db"), store.Options{Now: now, Rand: rand.Reader}); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { o.store.Close() })
	if o.keeper, err = o.store.CreateAccount(t.Context(), "Shelter", "Kit"); err != nil {
		t.Fatal(err)
	}
	c := huma.DefaultConfig("desk", "test")
	c.CreateHooks = nil // no $schema in answers
	c.Components.Schemas = huma.NewMapRegistry("#/components/schemas/", func(r reflect.Type, hint string) string {
		return strings.NewReplacer(".", "_", "*", "").Replace(r.String()) + huma.DefaultSchemaNamer(r, hint)
	})
	o.desk = &memory.Desk{API: humago.New(o.mux, c), Store: o.store, Now: now,
		Log: slog.New(slog.NewTextHandler(&o.log, nil)), Gate: gate.New(1, 0, time.Millisecond),
		Problem: func(_ context.Context, err error) error {
			if err == nil {
				return nil
			}
			p, _ := problem.Of(err, briefing.Words{})
			return p
		}}
	o.desk.Routes()
	return o
}

// person adds somebody to the account.
func (o *office) person(role kept.Role, dogs ...string) store.Who {
	o.t.Helper()
	id, err := o.store.AddPerson(o.t.Context(), o.keeper, "Robin", role, dogs)
	if err != nil {
		o.t.Fatal(err)
	}
	return store.Who{Account: o.keeper.Account, Person: id, Role: role}
}

// ask sends one request of somebody; nobody for the zero value.
func (o *office) ask(w store.Who, method, path, body string) *httptest.ResponseRecorder {
	req := httptest.NewRequest(method, path, strings.NewReader(body))
	req.Header.Set("Content-Type", "application/json")
	if w != (store.Who{}) {
		req = req.WithContext(memory.WithWho(req.Context(), w))
	}
	rec := httptest.NewRecorder()
	o.mux.ServeHTTP(rec, req)
	return rec
}

// send is ask where a status is wanted; what is answered is read into into.
func (o *office) send(w store.Who, method, path, body string, want int, into any) string {
	o.t.Helper()
	rec := o.ask(w, method, path, body)
	text := rec.Body.String()
	if rec.Code != want {
		o.t.Fatalf("%s %s: status %d, want %d: %.600s", method, path, rec.Code, want, text)
	}
	if into != nil {
		if err := json.Unmarshal([]byte(text), into); err != nil {
			o.t.Fatalf("%s %s: %v: %.600s", method, path, err, text)
		}
	}
	return text
}

const intake = `{"name":"Fern","intake":{"dogs":{"takes_food_at":40,"reacts_at":16}}}`

// fern adds a dog.
func (o *office) fern() (dog kept.Dog) {
	o.t.Helper()
	o.send(o.keeper, "POST", "/v1/dogs", intake, 200, &dog)
	return dog
}

// TestNobodyIsAnybody: without somebody who asks nothing is answered, whatever the
// operation; the keeper of another account finds nothing of this one.
func TestNobodyIsAnybody(t *testing.T) {
	o := newOffice(t)
	dog := o.fern()
	other, err := o.store.CreateAccount(t.Context(), "Elsewhere", "Ash")
	if err != nil {
		t.Fatal(err)
	}
	asked := 0
	for path, item := range o.desk.API.OpenAPI().Paths {
		for method, op := range map[string]*huma.Operation{"GET": item.Get, "POST": item.Post, "PUT": item.Put, "DELETE": item.Delete} {
			if op == nil {
				continue
			}
			asked++
			full := strings.NewReplacer("{id}", dog.ID, "{name}", "dogs", "{change}", "x", "{kind}", "outings").Replace(path)
			body := ""
			if op.RequestBody != nil {
				body = `{"name":"Fern","role":"handler","version":1,"profile":{"name":"Mine"},"body":{},"from_working_m":40,"to_working_m":30,` +
					`"keep_tracks_days":1,"half_life_days":60,"units":"m","clock":"24","there":true,"words":"x","helper":"Tilly","kind":"dog_behind_fence","lat":47.2,"lon":-7}`
				if schema := op.RequestBody.Content["application/json"].Schema; schema != nil {
					body = onlyKnown(t, o.desk.API, schema, body)
				}
			}
			if rec := o.ask(store.Who{}, method, full, body); rec.Code != 404 || !strings.Contains(rec.Body.String(), "no-memory") {
				t.Errorf("%s of nobody: status %d: %s", op.OperationID, rec.Code, rec.Body)
			}
			if !strings.Contains(path, "/dogs/{id}") {
				continue
			}
			if rec := o.ask(other, method, full, body); rec.Code != 404 || strings.Contains(rec.Body.String(), "Fern") {
				t.Errorf("%s of another account: status %d: %s", op.OperationID, rec.Code, rec.Body)
			}
		}
	}
	if asked < 30 {
		t.Errorf("only %d operations", asked)
	}
	var same kept.Dog
	if o.send(o.keeper, "GET", "/v1/dogs/"+dog.ID, "", 200, &same); same.Profile.Name != "Fern" || same.Version != dog.Version {
		t.Errorf("changed: %+v", same)
	}
}

// onlyKnown is a body without what a schema does not know.
func onlyKnown(t *testing.T, api huma.API, s *huma.Schema, body string) string {
	t.Helper()
	if s.Ref != "" {
		s = api.OpenAPI().Components.Schemas.SchemaFromRef(s.Ref)
	}
	var all, some = map[string]json.RawMessage{}, map[string]json.RawMessage{}
	if err := json.Unmarshal([]byte(body), &all); err != nil {
		t.Fatal(err)
	}
	for name, v := range all {
		if s.Properties[name] != nil {
			some[name] = v
		}
	}
	text, err := json.Marshal(some)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// TestWho: who asks goes through a request's context, and nowhere else.
func TestWho(t *testing.T) {
	if _, err := memory.Who(t.Context()); !errors.Is(err, problem.ErrNoMemory) {
		t.Errorf("nobody: %v", err)
	}
	in := store.Who{Account: "a", Person: "p", Role: kept.Trainer}
	if out, err := memory.Who(memory.WithWho(t.Context(), in)); err != nil || out != in {
		t.Errorf("%+v, %v", out, err)
	}
}

// TestRegistering: what is registered answers with its body or with none, takes bodies up to
// its size, and turns its errors into problems; lists are never null (RFC 8259 has both,
// and programs read them differently).
func TestRegistering(t *testing.T) {
	o := newOffice(t)
	type note struct{ Body struct{ Text string } }
	memory.KeepUpTo(o.desk, 40, "POST", "/few", "few", "A few bytes", func(_ context.Context, w store.Who, in *note) ([]string, error) {
		if in.Body.Text == "" {
			return memory.OrEmpty[string](nil), nil
		}
		return memory.OrEmpty([]string{in.Body.Text, string(w.Role)}), nil
	})
	memory.Drop(o.desk, "DELETE", "/gone/{id}", "gone", "Gone", func(_ context.Context, _ store.Who, in *memory.ByID) error {
		if in.ID == "there" {
			return nil
		}
		return store.ErrNotFound
	})
	for _, c := range []struct {
		method, path, body string
		status             int
		want               string
	}{
		{"POST", "/few", `{"Text":""}`, 200, "[]\n"},
		{"POST", "/few", `{"Text":"a"}`, 200, `["a","keeper"]` + "\n"},
		{"POST", "/few", `{"Text":"` + strings.Repeat("a", 40) + `"}`, 413, "too-large"},
		{"POST", "/few", `{"Text":1}`, 422, "invalid"},
		{"DELETE", "/gone/there", "", 204, ""},
		{"DELETE", "/gone/away", "", 404, "not-found"},
		{"DELETE", "/gone/" + strings.Repeat("a", 81), "", 422, "invalid"},
	} {
		rec := o.ask(o.keeper, c.method, c.path, c.body)
		got := rec.Body.String()
		if rec.Code != c.status || rec.Code < 300 && got != c.want || !strings.Contains(got, c.want) {
			t.Errorf("%s %s %.30s: status %d, %s", c.method, c.path, c.body, rec.Code, got)
		}
	}
}
