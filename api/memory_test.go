package api_test

import (
	"context"
	"crypto/rand"
	"encoding/json"
	"fmt"
	"math"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"wideberth/api"
	"wideberth/api/knowledge"
	"wideberth/api/store"
	"wideberth/api/wire"
	"wideberth/api/wire/kept"
	"wideberth/testdata"
)

// memory is a server that remembers, with its store.
func memory(t *testing.T, local bool) (*store.Store, http.Handler) {
	t.Helper()
	m, err := store.Open(context.Background(), filepath.Join(t.TempDir(), "memory.db"), store.Options{Now: noon, Rand: rand.Reader, Count: knowledge.Count})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { m.Close() })
	o := api.Options{Store: m}
	if local {
		if o.Local, err = m.Local(context.Background()); err != nil {
			t.Fatal(err)
		}
	}
	return m, server(t, o).Handler()
}

// send sends one request with a token and headers, wants a status, and decodes.
func send(t *testing.T, h http.Handler, method, path, token, body string, want int, into any, headers ...string) []byte {
	t.Helper()
	req := httptest.NewRequest(method, "http://localhost:8080"+path, strings.NewReader(body))
	req.Header.Set("Content-Type", "application/json")
	if token != "" {
		req.Header.Set("Authorization", "Bearer "+token)
	}
	for i := 0; i+1 < len(headers); i += 2 {
		req.Header.Set(headers[i], headers[i+1])
	}
	rec := httptest.NewRecorder()
	h.ServeHTTP(rec, req)
	keepsDescription(t, method, path, rec.Result(), rec.Body.Bytes())
	if rec.Code != want {
		t.Fatalf("%s %s: status %d, want %d: %s", method, path, rec.Code, want, clip(rec.Body.Bytes()))
	}
	if into != nil {
		if err := json.Unmarshal(rec.Body.Bytes(), into); err != nil {
			t.Fatalf("%s %s: %v: %s", method, path, err, clip(rec.Body.Bytes()))
		}
	}
	return rec.Body.Bytes()
}

const intake = `{"name":"Fern","intake":{"dogs":{"takes_food_at":40,"reacts_at":16}}}`

func TestIntakePlanLogLearn(t *testing.T) {
	_, h := memory(t, true)
	var dog kept.Dog
	send(t, h, "POST", "/v1/dogs", "", intake, 200, &dog)
	if d := dog.Distances["dogs"]; d.WorkingM != 40 || d.ReactionM != 16 {
		t.Fatalf("distances %+v", dog.Distances)
	}
	var plan json.RawMessage
	send(t, h, "POST", "/v1/plans", "", wish(`,"minutes":20,"dog_id":"`+dog.ID+`"`), 200, &plan)
	var saved kept.Plan
	send(t, h, "POST", "/v1/dogs/"+dog.ID+"/plans", "", `{"plan":`+string(plan)+`}`, 200, &saved)
	var walk kept.Walk
	send(t, h, "POST", "/v1/dogs/"+dog.ID+"/walks", "", `{"started":"2026-11-25T07:10:00Z","plan":"`+saved.ID+`","all_told":true}`, 200, &walk, "Idempotency-Key", "phone/1")
	if len(walk.Expected) == 0 {
		t.Error("the plan predicted nothing to hold the log against")
	}
	var again kept.Walk
	send(t, h, "POST", "/v1/dogs/"+dog.ID+"/walks", "", `{"started":"2026-11-25T07:10:00Z","plan":"`+saved.ID+`","all_told":true}`, 200, &again, "Idempotency-Key", "phone/1")
	if again.ID != walk.ID {
		t.Error("a walk sent twice is two walks")
	}

	// A steady dog that copes from 18 m: nearer than that it goes over.
	for i := range 40 {
		d := 6 + i%20*2
		over := ""
		if d < 14 {
			over = `,"over":"bark"`
		}
		body := fmt.Sprintf(`{"walk":"phone/1","kind":"dog_on_lead","at":"2026-11-%02dT08:%02d:00Z","nearest":"exact","distance_m":%d,"food":"taken"%s}`, 10+i%14, i%60, d, over)
		key := fmt.Sprintf("phone/e%d", i)
		send(t, h, "POST", "/v1/dogs/"+dog.ID+"/encounters", "", body, 200, nil, "Idempotency-Key", key)
		send(t, h, "POST", "/v1/dogs/"+dog.ID+"/encounters", "", body, 200, nil, "Idempotency-Key", key)
	}
	var met []kept.Encounter
	send(t, h, "GET", "/v1/dogs/"+dog.ID+"/encounters", "", "", 200, &met)
	if len(met) != 40 {
		t.Errorf("%d meetings from 40 sent twice", len(met))
	}
	var proposals []wire.ProposalInfo
	send(t, h, "GET", "/v1/dogs/"+dog.ID+"/proposals", "", "", 200, &proposals)
	if len(proposals) == 0 || proposals[0].Evidence == nil || proposals[0].ToWorkingM >= 40 {
		t.Fatalf("proposals %+v", proposals)
	}
	p := proposals[0]
	var change kept.Change
	send(t, h, "POST", "/v1/dogs/"+dog.ID+"/proposals/"+p.Name+"/acceptance", "", fmt.Sprintf(`{"from_working_m":%g,"to_working_m":%g}`, p.FromWorkingM, p.ToWorkingM), 200, &change)
	send(t, h, "GET", "/v1/dogs/"+dog.ID, "", "", 200, &dog)
	if dog.Distances[p.Name].WorkingM != p.ToWorkingM {
		t.Errorf("accepted %g, the dog has %+v", p.ToWorkingM, dog.Distances)
	}
	send(t, h, "POST", "/v1/dogs/"+dog.ID+"/proposals/"+p.Name+"/acceptance", "", fmt.Sprintf(`{"from_working_m":%g,"to_working_m":%g}`, p.FromWorkingM, p.ToWorkingM), 409, nil)
	send(t, h, "POST", "/v1/dogs/"+dog.ID+"/history/"+change.ID+"/reversion", "", "", 200, nil)
	var back kept.Dog
	send(t, h, "GET", "/v1/dogs/"+dog.ID, "", "", 200, &back)
	if d, _, ok := back.Of(p.Name); !ok || d.WorkingM != 40 {
		t.Errorf("taken back, the dog has %+v", back.Distances)
	}
	send(t, h, "GET", "/v1/dogs/"+dog.ID+"/export", "", "", 200, nil)
	send(t, h, "POST", "/v1/dogs/"+dog.ID+"/deletion", "", `{"name":"Fern"}`, 204, nil)
	send(t, h, "GET", "/v1/dogs/"+dog.ID, "", "", 404, nil)
}

// TestForecast holds what a log is held against to what the plan told, by kind:
// the two are added up by different code. A leg's time is shared out by length
// and its clock is that of its beginning, hence the tolerance.
func TestForecast(t *testing.T) {
	_, h := memory(t, true)
	var dog kept.Dog
	send(t, h, "POST", "/v1/dogs", "", `{"name":"Fern","needs":{"dogs":{"working_m":40},"people":{"working_m":60},"sounds":{"working_m":90}}}`, 200, &dog)
	send(t, h, "POST", "/v1/reports", "", fmt.Sprintf(`{"kind":"dog_behind_fence","lat":%g,"lon":%g,"number":3,"there":true}`, testdata.DoorLat+1e-4, testdata.DoorLon), 200, nil)
	var plan json.RawMessage
	send(t, h, "POST", "/v1/plans", "", wish(`,"minutes":40,"dog_id":"`+dog.ID+`"`), 200, &plan)
	var saved kept.Plan
	send(t, h, "POST", "/v1/dogs/"+dog.ID+"/plans", "", `{"plan":`+string(plan)+`}`, 200, &saved)
	var walk kept.Walk
	send(t, h, "POST", "/v1/dogs/"+dog.ID+"/walks", "", `{"started":"2026-11-25T07:10:00Z","plan":"`+saved.ID+`"}`, 200, &walk)
	var told struct {
		Walks []struct {
			Encounters []struct {
				Kind   string
				Inside float64
			}
		}
	}
	if err := json.Unmarshal(plan, &told); err != nil {
		t.Fatal(err)
	}
	sum := map[string]float64{}
	for _, e := range walk.Expected {
		sum[e.Kind] += e.Inside
	}
	kinds := 0
	for _, e := range told.Walks[0].Encounters {
		if e.Inside > 0.05 {
			kinds++
		}
		if math.Abs(sum[e.Kind]-e.Inside) > 0.1*e.Inside+0.005 {
			t.Errorf("%s: the log is held against %g, the plan told %g", e.Kind, sum[e.Kind], e.Inside)
		}
	}
	if kinds < 6 || sum["dog_behind_fence"] == 0 {
		t.Errorf("nothing to compare: %v", sum)
	}
}

// TestReportChangesPlans: a dog behind a fence that somebody reports beside the
// best walk makes the next plan dearer there, or leads elsewhere.
func TestReportChangesPlans(t *testing.T) {
	_, h := memory(t, true)
	var before, after struct {
		Walks []struct {
			X       float64 `json:"expected_reactions"`
			Quality struct{ Sum float64 }
			Legs    []struct {
				Geometry struct{ Coordinates [][2]float64 }
			}
		}
	}
	ask := wish(`,"minutes":30` + kessa)
	send(t, h, "POST", "/v1/plans", "", ask, 200, &before)
	legs := before.Walks[0].Legs
	at := legs[len(legs)/2].Geometry.Coordinates[0]
	var report kept.Report
	send(t, h, "POST", "/v1/reports", "", fmt.Sprintf(`{"kind":"dog_behind_fence","what":"dog behind the green fence","lat":%g,"lon":%g,"number":2,"there":true}`, at[1], at[0]), 200, &report)
	send(t, h, "POST", "/v1/reports/"+report.ID+"/confirmation", "", "", 200, nil)
	send(t, h, "POST", "/v1/plans", "", ask, 200, &after)
	if x, y := before.Walks[0].Quality.Sum, after.Walks[0].Quality.Sum; y < x*0.999 {
		t.Errorf("with a further dog the sum falls from %g to %g", x, y)
	}
	same := len(after.Walks[0].Legs) == len(legs) && after.Walks[0].X == before.Walks[0].X
	if same {
		t.Error("the report changed nothing")
	}
	send(t, h, "DELETE", "/v1/reports/"+report.ID, "", "", 204, nil)
}

// TestNobodySeesAnothersThings walks every operation of the contract with the
// token of another account: never data, never a change.
func TestNobodySeesAnothersThings(t *testing.T) {
	m, h := memory(t, false)
	ctx := context.Background()
	tokens := map[string]string{}
	for _, name := range []string{"Ours", "Theirs"} {
		keeper, err := m.CreateAccount(ctx, name, "Keeper")
		if err != nil {
			t.Fatal(err)
		}
		if tokens[name], _, err = m.NewToken(ctx, keeper, keeper.Person, "test", 1); err != nil {
			t.Fatal(err)
		}
	}
	ours := tokens["Ours"]
	var dog kept.Dog
	send(t, h, "POST", "/v1/dogs", ours, `{"name":"Zorrowind","needs":{"dogs":{"working_m":40}}}`, 200, &dog)
	var walk kept.Walk
	send(t, h, "POST", "/v1/dogs/"+dog.ID+"/walks", ours, `{"started":"2026-11-25T07:10:00Z","key":"w","note":"Zorrowind"}`, 200, &walk)
	var met kept.Encounter
	send(t, h, "POST", "/v1/dogs/"+dog.ID+"/encounters", ours, `{"walk":"w","kind":"child","at":"2026-11-25T07:20:00Z","key":"e","note":"Zorrowind"}`, 200, &met)
	var report kept.Report
	send(t, h, "POST", "/v1/reports", ours, fmt.Sprintf(`{"kind":"dog_off_lead","what":"Zorrowind","lat":%g,"lon":%g,"there":true}`, testdata.DoorLat, testdata.DoorLon), 200, &report)
	var sequence kept.Document
	send(t, h, "PUT", "/v1/documents/visits/v", ours, fmt.Sprintf(`{"version":0,"dog":%q,"body":{"note":"Zorrowind","wish":{"kind":"dogs"},"sequence":{"visits":[{"at":[-7,47.2],"distance_m":76,"multiple":2}]},"step":1}}`, dog.ID), 200, &sequence)
	var me struct{ You kept.Person }
	send(t, h, "GET", "/v1/account", ours, "", 200, &me)

	_, text := do(t, h, "GET", "/openapi.json", "", "")
	var doc struct {
		Paths map[string]map[string]struct{ Tags []string }
	}
	if err := json.Unmarshal(text, &doc); err != nil {
		t.Fatal(err)
	}
	tried := 0
	for path, ops := range doc.Paths {
		if !strings.Contains(path, "{id}") {
			continue
		}
		for method := range ops {
			for _, id := range []string{dog.ID, walk.ID, met.ID, report.ID, me.You.ID, "w", "e", "v"} {
				full := strings.NewReplacer("{id}", id, "{name}", "dogs", "{change}", "x", "{kind}", "visits").Replace(path)
				req := httptest.NewRequest(strings.ToUpper(method), full, strings.NewReader(bodyFor(path, method)))
				req.Header.Set("Content-Type", "application/json")
				req.Header.Set("Authorization", "Bearer "+tokens["Theirs"])
				rec := httptest.NewRecorder()
				h.ServeHTTP(rec, req)
				tried++
				if strings.Contains(rec.Body.String(), "Zorrowind") {
					t.Errorf("%s %s shows another account's data", method, full)
				}
				if rec.Code < 300 && (strings.Contains(path, "/dogs/{id}") || strings.Contains(path, "/visits/{id}")) {
					t.Errorf("%s %s gives %d to another account", method, full, rec.Code)
				}
			}
		}
	}
	if tried < 100 {
		t.Errorf("only %d requests", tried)
	}
	send(t, h, "GET", "/v1/dogs/"+dog.ID, ours, "", 200, &dog)
	var list []kept.Encounter
	send(t, h, "GET", "/v1/dogs/"+dog.ID+"/encounters", ours, "", 200, &list)
	send(t, h, "GET", "/v1/documents/visits/v", ours, "", 200, &sequence)
	if dog.Profile.Name != "Zorrowind" || len(list) != 1 || sequence.Version != 1 {
		t.Errorf("another account changed something: %+v, %d meetings, sequence version %d", dog.Profile, len(list), sequence.Version)
	}
	for _, path := range []string{"/v1/visits/replan", "/v1/visits/handouts"} { // these name it in the body
		if text := send(t, h, "POST", path, tokens["Theirs"], `{"sequence":"v","visit":1,"arrive":"2026-11-28T07:20:00Z"}`, 404, nil); strings.Contains(string(text), "Zorrowind") {
			t.Errorf("%s shows another account's data", path)
		}
	}
	send(t, h, "GET", "/v1/dogs", "", "", 401, nil)
	send(t, h, "GET", "/v1/dogs", "nonsense", "", 401, nil)
	send(t, h, "POST", "/v1/plans", "", wish(`,"minutes":20`), 401, nil)
}

// bodyFor is a body that the operation would take, so that what refuses it is not
// its form.
func bodyFor(path, method string) string {
	switch {
	case method == "get" || method == "delete":
		return ""
	case strings.HasSuffix(path, "/decisions"):
		return `{"version":1,"to":2}`
	case strings.HasSuffix(path, "/copy"):
		return `{"dog":"Zorrowind"}`
	case strings.HasSuffix(path, "/deletion"):
		return `{"name":"Zorrowind"}`
	case strings.HasSuffix(path, "/walks"), strings.HasPrefix(path, "/v1/walks"):
		return `{"started":"2026-11-25T07:10:00Z"}`
	case strings.Contains(path, "encounters"):
		return `{"at":"2026-11-25T07:20:00Z","kind":"child"}`
	case strings.HasSuffix(path, "/plans"):
		return `{"plan":{"walks":[]}}`
	case strings.HasSuffix(path, "/acceptance"):
		return `{"from_working_m":40,"to_working_m":30}`
	case strings.HasPrefix(path, "/v1/dogs"):
		return `{"version":1,"profile":{"name":"Other"}}`
	case strings.HasSuffix(path, "/keys"):
		return `{"label":"phone"}`
	case strings.HasPrefix(path, "/v1/people"):
		return `{"name":"Other","role":"keeper"}`
	case strings.HasPrefix(path, "/v1/documents"):
		return `{"version":0,"body":{}}`
	}
	return `{}`
}

func TestHandlersAreHeldToTheirRole(t *testing.T) {
	m, h := memory(t, false)
	ctx := context.Background()
	keeper, err := m.CreateAccount(ctx, "Shelter", "Keeper")
	if err != nil {
		t.Fatal(err)
	}
	key, _, err := m.NewToken(ctx, keeper, keeper.Person, "keeper", 1)
	if err != nil {
		t.Fatal(err)
	}
	var dog kept.Dog
	send(t, h, "POST", "/v1/dogs", key, intake, 200, &dog)
	var person struct{ ID string }
	send(t, h, "POST", "/v1/people", key, `{"name":"Robin","role":"handler"}`, 200, &person)
	var made wire.NewKey
	send(t, h, "POST", "/v1/people/"+person.ID+"/keys", key, `{"label":"phone"}`, 200, &made)
	send(t, h, "GET", "/v1/dogs/"+dog.ID, made.Token, "", 404, nil)
	send(t, h, "PUT", "/v1/people/"+person.ID, key, `{"name":"Robin","role":"handler","dogs":["`+dog.ID+`"]}`, 204, nil)
	send(t, h, "GET", "/v1/dogs/"+dog.ID, made.Token, "", 200, nil)
	send(t, h, "POST", "/v1/dogs", made.Token, intake, 403, nil)
	send(t, h, "GET", "/v1/people", made.Token, "", 403, nil)
	send(t, h, "DELETE", "/v1/keys/"+made.Info.ID, key, "", 204, nil)
	send(t, h, "GET", "/v1/dogs/"+dog.ID, made.Token, "", 401, nil)
	if d := made.Info.Expires.Sub(noon()); d < 300*24*time.Hour {
		t.Errorf("the token holds %v", d)
	}
}

// TestLocalAnswersItsOwnMachineOnly: without tokens, a page from elsewhere that is
// open in a browser here must not get at the account, neither by a name of its own
// for this machine nor by sending blindly; and the first token that is made ends
// the time without.
func TestLocalAnswersItsOwnMachineOnly(t *testing.T) {
	m, h := memory(t, true)
	cases := []struct {
		name, host string
		headers    map[string]string
		want       int
	}{
		{"a program", "127.0.0.1:8080", nil, 200},
		{"by name", "localhost:8080", nil, 200},
		{"over IPv6", "[::1]:8080", nil, 200},
		{"without a port", "localhost", nil, 200},
		{"its own page", "localhost:8080", map[string]string{"Origin": "http://localhost:8080", "Sec-Fetch-Site": "same-origin"}, 200},
		{"typed into the browser", "localhost:8080", map[string]string{"Sec-Fetch-Site": "none"}, 200},
		{"another name for this machine", "walks.example:8080", nil, 403},
		{"another name that begins alike", "localhost.example:8080", nil, 403},
		{"the machine's address outside", "192.0.2.7:8080", nil, 403},
		{"a page from elsewhere", "localhost:8080", map[string]string{"Origin": "https://elsewhere.example"}, 403},
		{"a page without a name", "localhost:8080", map[string]string{"Origin": "null"}, 403},
		{"a page on another port", "localhost:8080", map[string]string{"Origin": "http://localhost:9090", "Sec-Fetch-Site": "same-site"}, 403},
		{"a picture in a page from elsewhere", "localhost:8080", map[string]string{"Sec-Fetch-Site": "cross-site"}, 403},
	}
	ask := func(host string, headers map[string]string) int {
		req := httptest.NewRequest(http.MethodGet, "/v1/dogs", nil)
		req.Host = host
		for k, v := range headers {
			req.Header.Set(k, v)
		}
		rec := httptest.NewRecorder()
		h.ServeHTTP(rec, req)
		return rec.Code
	}
	for _, c := range cases {
		if got := ask(c.host, c.headers); got != c.want {
			t.Errorf("%s: status %d, want %d", c.name, got, c.want)
		}
	}
	w, err := m.Local(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	token, _, err := m.NewToken(context.Background(), w, w.Person, "phone", 1)
	if err != nil {
		t.Fatal(err)
	}
	if got := ask("localhost:8080", nil); got != 401 {
		t.Errorf("after a token was made: status %d without it, want 401", got)
	}
	if got := ask("walks.example", map[string]string{"Authorization": "Bearer " + token}); got != 200 {
		t.Errorf("with the token, by any name: status %d", got)
	}
}
