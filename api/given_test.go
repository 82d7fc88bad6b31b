package api_test

import (
	"context"
	"encoding/json"
	"math"
	"net/http"
	"strings"
	"testing"

	"wideberth/api"
	"wideberth/api/wire"
)

// shownPlan is what these tests read of a plan.
type shownPlan struct {
	Walks []struct {
		X       float64 `json:"expected_reactions"`
		Quality struct {
			Proved bool    `json:"proved"`
			Within float64 `json:"within_percent"`
		} `json:"quality"`
	} `json:"walks"`
	Given json.RawMessage `json:"given"`
}

// TestOneSearch: a walk that is planned, looked at, drawn, proved, printed and
// exported is searched for once, and is the same walk everywhere.
func TestOneSearch(t *testing.T) {
	s := server(t, api.Options{})
	p, _ := town()
	h := s.Handler()
	before := p.Land().Searches()
	r, body := do(t, h, http.MethodPost, "/v1/plans", "", wish(`,"minutes":30`+kessa))
	if r.StatusCode != http.StatusOK {
		t.Fatalf("%s", body)
	}
	var plan shownPlan
	if err := json.Unmarshal(body, &plan); err != nil || len(plan.Given) == 0 {
		t.Fatal(err, len(plan.Given))
	}
	given := `{"given":` + string(plan.Given)
	for path, in := range map[string]string{
		"/v1/drawings": given + `}`, "/v1/proofs": given + `}`, "/v1/plans/told": given + `}`,
		"/v1/pictures": given + `,"walk":1,"width_px":390,"height_px":600}`, "/v1/handouts": given + `,"walk":1,"paper":"letter"}`,
	} {
		r, body := do(t, h, http.MethodPost, path, "", in)
		if r.StatusCode != http.StatusOK {
			t.Fatalf("%s: %d %s", path, r.StatusCode, body)
		}
		if path == "/v1/plans/told" {
			var told shownPlan
			if err := json.Unmarshal(body, &told); err != nil {
				t.Fatal(err)
			}
			if len(told.Walks) != len(plan.Walks) || string(told.Given) != string(plan.Given) {
				t.Errorf("told %d walks of %d, under another address", len(told.Walks), len(plan.Walks))
			}
			for i := range told.Walks {
				if told.Walks[i] != plan.Walks[i] {
					t.Errorf("walk %d told as %+v, planned as %+v", i, told.Walks[i], plan.Walks[i])
				}
			}
		}
	}
	for _, form := range []string{"application/gpx+xml", "application/geo+json"} {
		if r, body := do(t, h, http.MethodPost, "/v1/plans/told", form, given+`}`); r.StatusCode != http.StatusOK || !strings.HasPrefix(r.Header.Get("Content-Type"), form) {
			t.Errorf("%s: %d %s %.80s", form, r.StatusCode, r.Header.Get("Content-Type"), body)
		}
	}
	if n := p.Land().Searches() - before; n != 1 {
		t.Errorf("%d searches for one walk", n)
	}
}

// TestGivenAtAnotherHour: the same courses told for another hour bring what a plan of
// that hour brings, without a search; an hour that is none is refused.
func TestGivenAtAnotherHour(t *testing.T) {
	s := server(t, api.Options{})
	p, _ := town()
	h := s.Handler()
	_, body := do(t, h, http.MethodPost, "/v1/plans", "", wish(`,"minutes":20`+kessa))
	var plan shownPlan
	if err := json.Unmarshal(body, &plan); err != nil {
		t.Fatal(err)
	}
	before := p.Land().Searches()
	tell := func(leave string) (int, shownPlan) {
		r, body := do(t, h, http.MethodPost, "/v1/plans/told", "", `{"given":`+string(plan.Given)+`,"leave":"`+leave+`"}`)
		var told shownPlan
		if r.StatusCode == http.StatusOK {
			if err := json.Unmarshal(body, &told); err != nil {
				t.Fatal(err)
			}
		}
		return r.StatusCode, told
	}
	status, night := tell("2026-11-26T02:30:00Z")
	if status != http.StatusOK || len(night.Walks) != len(plan.Walks) {
		t.Fatalf("%d, %d walks of %d", status, len(night.Walks), len(plan.Walks))
	}
	for i := range night.Walks {
		if night.Walks[i].X >= plan.Walks[i].X {
			t.Errorf("walk %d brings %.3f reactions at half past two in the night, %.3f at the hour planned", i, night.Walks[i].X, plan.Walks[i].X)
		}
	}
	if p.Land().Searches() != before {
		t.Error("searched to tell another hour")
	}
	var again wire.Given
	if err := json.Unmarshal(night.Given, &again); err != nil || again.ID != again.Address() || again.Wish.Depart != "2026-11-26T02:30:00Z" {
		t.Errorf("%v: the answer's own address is %q of %s", err, again.ID, again.Wish.Depart)
	}
	if status, _ := tell("half past two"); status != http.StatusUnprocessableEntity {
		t.Errorf("an hour that is none: %d", status)
	}
}

// TestGivenIsKept: an address that was changed, belongs to another map or is none is
// refused by its field, and the walk that was meant is not guessed.
func TestGivenIsKept(t *testing.T) {
	s := server(t, api.Options{})
	h := s.Handler()
	_, body := do(t, h, http.MethodPost, "/v1/plans", "", wish(`,"minutes":20`+kessa))
	var plan shownPlan
	if err := json.Unmarshal(body, &plan); err != nil {
		t.Fatal(err)
	}
	change := func(edit func(g *wire.Given)) string {
		var g wire.Given
		if err := json.Unmarshal(plan.Given, &g); err != nil {
			t.Fatal(err)
		}
		edit(&g)
		out, err := json.Marshal(map[string]any{"given": &g})
		if err != nil {
			t.Fatal(err)
		}
		return string(out)
	}
	for name, c := range map[string]struct {
		in     string
		status int
		says   string
	}{
		"another hour":   {change(func(g *wire.Given) { g.Wish.Depart = "2026-11-25T18:00:00Z" }), 422, "body.given.id"},
		"another walk":   {change(func(g *wire.Given) { g.Walks[0].Course = "AAAA" }), 422, "body.given.id"},
		"another map":    {change(func(g *wire.Given) { g.Map, g.Walks[0].Line = "elsewhere", ""; g.ID = g.Address() }), 409, "another map"},
		"an odd line":    {change(func(g *wire.Given) { g.Map, g.Walks[0].Line = "elsewhere", "____"; g.ID = g.Address() }), 409, "another map"},
		"changed since":  {change(func(g *wire.Given) { g.Map = "elsewhere"; g.ID = g.Address() }), 200, `"map":"` + mapOf(t, plan.Given)},
		"no such course": {change(func(g *wire.Given) { g.Walks[0].Course = "____"; g.ID = g.Address() }), 422, "body.given.walks.0.course"},
		"nothing":        {`{}`, 422, "one of wish, given and plan"},
		"two things":     {`{"plan":"x","wish":` + wish(`,"minutes":20`) + `}`, 422, "one of wish, given and plan"},
	} {
		r, body := do(t, h, http.MethodPost, "/v1/drawings", "", c.in)
		if r.StatusCode != c.status || !strings.Contains(string(body), c.says) {
			t.Errorf("%s: %d %s", name, r.StatusCode, body)
		}
	}
}

// mapOf is the map that an address belongs to.
func mapOf(t *testing.T, given json.RawMessage) string {
	t.Helper()
	var g wire.Given
	if err := json.Unmarshal(given, &g); err != nil {
		t.Fatal(err)
	}
	return g.Map
}

// TestGivenOutlivesItsMap: on a map whose edges are numbered otherwise the walks that were
// given are the same ground, bring the same and have an address of the map that is there.
func TestGivenOutlivesItsMap(t *testing.T) {
	h := server(t, api.Options{}).Handler()
	_, body := do(t, h, http.MethodPost, "/v1/plans", "", wish(`,"minutes":20`+kessa))
	var plan shownPlan
	if err := json.Unmarshal(body, &plan); err != nil {
		t.Fatal(err)
	}
	var g wire.Given
	if err := json.Unmarshal(plan.Given, &g); err != nil {
		t.Fatal(err)
	}
	here := g.Map
	g.Map = "as it was before"
	for i := range g.Walks {
		g.Walks[i].Course = "AAAA" // of other edges
	}
	g.ID = g.Address()
	old, err := json.Marshal(&g)
	if err != nil {
		t.Fatal(err)
	}
	r, body := do(t, h, http.MethodPost, "/v1/plans/told", "", `{"given":`+string(old)+`}`)
	var told shownPlan
	if err := json.Unmarshal(body, &told); err != nil || r.StatusCode != http.StatusOK || len(told.Walks) != len(plan.Walks) {
		t.Fatalf("%d, %v: %s", r.StatusCode, err, body)
	}
	for i := range told.Walks {
		if a, b := told.Walks[i].X, plan.Walks[i].X; math.Abs(a-b) > 1e-3*max(a, b) {
			t.Errorf("walk %d brings %g reactions, before %g", i, a, b)
		}
	}
	if got := mapOf(t, told.Given); got != here {
		t.Errorf("its address is of map %q", got)
	}
}

// TestKeptPlanIsTold: a kept plan has an address of its own, for who may see its dog.
func TestKeptPlanIsTold(t *testing.T) {
	m, h := memory(t, false)
	tokens := map[string]string{}
	for _, name := range []string{"Ours", "Theirs"} {
		keeper, err := m.CreateAccount(context.Background(), name, "Keeper")
		if err != nil {
			t.Fatal(err)
		}
		if tokens[name], _, err = m.NewToken(context.Background(), keeper, keeper.Person, "test", 1); err != nil {
			t.Fatal(err)
		}
	}
	owner, stranger := tokens["Ours"], tokens["Theirs"]
	var dog struct{ ID string }
	send(t, h, "POST", "/v1/dogs", owner, `{"name":"Zorrowind","needs":{"dogs":{"working_m":38}}}`, 200, &dog)
	plan := send(t, h, "POST", "/v1/plans", owner, wish(`,"minutes":20`+kessa), 200, nil)
	var kept struct{ ID string }
	send(t, h, "POST", "/v1/dogs/"+dog.ID+"/plans", owner, `{"plan":`+string(plan)+`}`, 200, &kept)
	p, _ := town()
	before := p.Land().Searches()
	var told, was shownPlan
	send(t, h, "GET", "/v1/plans/"+kept.ID, owner, "", 200, &told)
	send(t, h, "POST", "/v1/drawings", owner, `{"plan":"`+kept.ID+`"}`, 200, nil)
	if err := json.Unmarshal(plan, &was); err != nil || string(told.Given) != string(was.Given) {
		t.Errorf("%v: told under another address than kept", err)
	}
	if p.Land().Searches() != before {
		t.Error("searched for a kept walk")
	}
	send(t, h, "GET", "/v1/plans/"+kept.ID, stranger, "", 404, nil)
	send(t, h, "GET", "/v1/plans/none", owner, "", 404, nil)

	moved := strings.ReplaceAll(string(plan), p.Snapshot().Network, "OlderMapOlde")
	send(t, h, "POST", "/v1/dogs/"+dog.ID+"/plans", owner, `{"plan":`+moved+`}`, 200, &kept)
	var matched shownPlan
	send(t, h, "GET", "/v1/plans/"+kept.ID, owner, "", 200, &matched)
	if len(matched.Walks) != len(was.Walks) || matched.Walks[0].X < was.Walks[0].X-0.01 || matched.Walks[0].X > was.Walks[0].X+0.01 {
		t.Errorf("a plan of an older map was found again as %+v, was %+v", matched.Walks, was.Walks)
	}
}
