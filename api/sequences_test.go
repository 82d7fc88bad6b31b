package api_test

import (
	"context"
	"crypto/rand"
	"encoding/json"
	"fmt"
	"math"
	"net/http"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"wideberth/api"
	"wideberth/api/knowledge"
	"wideberth/api/problem"
	"wideberth/api/store"
	"wideberth/api/wire"
	"wideberth/api/wire/kept"
	"wideberth/testdata"
)

// school is an account with a trainer, a handler and two dogs; the handler is given
// the first, whose profile has a bite history if asked for.
type school struct {
	*store.Store
	http.Handler
	t                        *testing.T
	keeper, trainer, handler string // tokens
	fern, oro                kept.Dog
}

func newSchool(t *testing.T, bite bool) *school {
	t.Helper()
	ctx := context.Background()
	var seconds atomic.Int64 // each look at the clock is a second later, so that after is after
	clock := func() time.Time { return noon().Add(time.Duration(seconds.Add(1)) * time.Second) }
	m, err := store.Open(ctx, filepath.Join(t.TempDir(), "memory.db"), store.Options{Now: clock, Rand: rand.Reader, Count: knowledge.Count})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { m.Close() })
	h := server(t, api.Options{Store: m, Now: clock}).Handler()
	w, err := m.CreateAccount(ctx, "School", "Keeper")
	if err != nil {
		t.Fatal(err)
	}
	s := &school{Store: m, Handler: h, t: t}
	if s.keeper, _, err = m.NewToken(ctx, w, w.Person, "test", 1); err != nil {
		t.Fatal(err)
	}
	s.send("POST", "/v1/dogs", s.keeper, fmt.Sprintf(`{"name":"Fern","needs":{"dogs":{"working_m":38,"reaction_m":15}},"cautions":{"bite_history":%v}}`, bite), 200, &s.fern)
	s.send("POST", "/v1/dogs", s.keeper, `{"name":"Oro","needs":{"dogs":{"working_m":30,"reaction_m":12}}}`, 200, &s.oro)
	s.trainer = s.person("Tess", "trainer", "")
	s.handler = s.person("Robin", "handler", s.fern.ID)
	return s
}

func (s *school) person(name, role, dog string) string {
	s.t.Helper()
	dogs := "[]"
	if dog != "" {
		dogs = `["` + dog + `"]`
	}
	var p struct{ ID string }
	s.send("POST", "/v1/people", s.keeper, fmt.Sprintf(`{"name":%q,"role":%q,"dogs":%s}`, name, role, dogs), 200, &p)
	var key wire.NewKey
	s.send("POST", "/v1/people/"+p.ID+"/keys", s.keeper, `{"label":"phone"}`, 200, &key)
	return key.Token
}

func (s *school) send(method, path, token, body string, want int, into any) []byte {
	s.t.Helper()
	return send(s.t, s.Handler, method, path, token, body, want, into)
}

// visitsWish is a wish of the demo's town for a kept dog.
func visitsWish(dog, more string) string {
	return fmt.Sprintf(`{"from":{"lat":%g,"lon":%g},"kind":"dogs","dog_id":%q,"max_expected_reactions":2,"times":["2026-11-28T07:20:00Z","2026-11-28T10:00:00Z","2026-11-28T17:20:00Z"]%s}`,
		testdata.DoorLat, testdata.DoorLon, dog, more)
}

// keep plans a sequence for Fern and keeps it as a trainer.
func (s *school) keep(id string) (wire.Sequence, kept.Document) {
	s.t.Helper()
	wish := visitsWish(s.fern.ID, "")
	var seq wire.Sequence
	whole := s.send("POST", "/v1/visits", s.trainer, wish, 200, &seq)
	if len(seq.Visits) < 2 {
		s.t.Fatalf("only %d visits", len(seq.Visits))
	}
	var d kept.Document
	s.send("PUT", "/v1/documents/visits/"+id, s.trainer, fmt.Sprintf(`{"version":0,"dog":%q,"body":{"wish":%s,"sequence":%s,"step":1,"paused":false,"colour_of_the_mat":"green"}}`,
		s.fern.ID, wish, whole), 200, &d)
	return seq, d
}

// walk logs a visit with meetings, each a body less its braces.
func (s *school) walk(id string, visit int, key, started string, meetings ...string) {
	s.t.Helper()
	s.send("POST", "/v1/dogs/"+s.fern.ID+"/walks", s.handler, fmt.Sprintf(`{"started":%q,"key":%q,"sequence":%q,"visit":%d}`, started, key, id, visit), 200, nil)
	for i, m := range meetings {
		s.send("POST", "/v1/dogs/"+s.fern.ID+"/encounters", s.handler, fmt.Sprintf(`{"walk":%q,"key":"%s-%d","at":%q,%s}`, key, key, i, started, m), 200, nil)
	}
}

const (
	fine    = `"kind":"dog_on_lead","food":"taken","turned_back":true`
	offered = `"kind":"dog_on_lead","food":"taken"`
	refused = `"kind":"dog_on_lead","food":"refused","turned_back":true`
	over    = `"kind":"dog_off_lead","over":"bark"`
	unknown = `"food":"taken"`
	child   = `"kind":"child","over":"bark"`
)

func (s *school) progress(id string) (p wire.SequenceProgress) {
	s.t.Helper()
	s.send("GET", "/v1/visits/"+id+"/progress", s.handler, "", 200, &p)
	return p
}

// TestSequenceLife: planned, kept, logged like walks, moved on by a person, back,
// paused, and the evidence is the counts of what was logged.
func TestSequenceLife(t *testing.T) {
	s := newSchool(t, false)
	seq, d := s.keep("s")
	p := s.progress("s")
	if p.Step != 1 || p.Of != len(seq.Visits) || p.Proposal != "stay" || p.To != 1 || p.RuleFrom != "default" || len(p.Done) != 0 || !strings.HasPrefix(p.Text, "Next: visit 1, ") {
		t.Errorf("nothing logged: %+v", p)
	}
	s.walk("s", 1, "w1", "2026-11-23T07:20:00Z", fine, offered, unknown, child)
	s.walk("s", 1, "w2", "2026-11-24T07:20:00Z", fine, fine)
	p = s.progress("s")
	want := wire.MoveInfo{Proposal: "on", Text: p.Text, Visits: 2, Triggers: 5, Handled: 5, TurnedBack: 3}
	if p.MoveInfo != want || p.To != 2 || len(p.Done) != 2 || p.Done[0].Triggers != 3 || p.Done[0].Visit != 1 || !p.Done[0].Started.Before(p.Done[1].Started) {
		t.Errorf("two good visits, the child is not what is watched: %+v", p)
	}
	if text := fmt.Sprintf("2 visits, 5 of 5 handled, none over, turned back unprompted 3 times. Move to %s times (%.0f\u202fm)?", strconv.FormatFloat(math.Round(100*seq.Visits[1].Multiple)/100, 'f', -1, 64), seq.Visits[1].DistanceM); p.Text != text {
		t.Errorf("says %q, want %q", p.Text, text)
	}
	var after kept.Document
	s.send("POST", "/v1/visits/s/decisions", s.trainer, fmt.Sprintf(`{"version":%d,"to":2,"note":"well done"}`, d.Version), 200, &after)
	var body struct {
		Step      int
		Paused    bool
		Decisions []wire.Decision
		Mat       string `json:"colour_of_the_mat"`
	}
	if err := json.Unmarshal(after.Body, &body); err != nil {
		t.Fatal(err)
	}
	if after.Version != d.Version+1 || body.Step != 2 || body.Mat != "green" || len(body.Decisions) != 1 || body.Decisions[0].Proposal != "on" ||
		body.Decisions[0].From != 1 || body.Decisions[0].To != 2 || body.Decisions[0].Note != "well done" || body.Decisions[0].Person == "" {
		t.Errorf("decided %+v in version %d", body, after.Version)
	}
	if p = s.progress("s"); p.Step != 2 || p.Proposal != "stay" || p.Visits != 0 || len(p.Done) != 2 {
		t.Errorf("after the decision: %+v", p)
	}
}

// TestSequenceGoesBack: over threshold or food refused twice proposes going back;
// refusing counts although the dog turned back with it; nothing is proposed while
// paused; and a rule of the account or of the sequence replaces common practice.
func TestSequenceGoesBack(t *testing.T) {
	s := newSchool(t, false)
	_, d := s.keep("s")
	s.send("POST", "/v1/visits/s/decisions", s.trainer, `{"version":1,"to":2}`, 200, &d)
	if p := s.progress("s"); p.Step != 2 {
		t.Fatalf("step %d", p.Step)
	}
	s.walk("s", 2, "w1", "2026-11-23T07:20:00Z", fine, refused)
	p := s.progress("s")
	if p.Triggers != 2 || p.Handled != 1 || p.RefusedFood != 1 || p.Proposal != "stay" {
		t.Errorf("refused once: %+v", p)
	}
	s.walk("s", 2, "w2", "2026-11-24T07:20:00Z", fine, over)
	if p = s.progress("s"); p.Proposal != "back" || p.To != 1 || p.WentOver != 1 || !strings.Contains(p.Text, ". Go back to 1.") {
		t.Errorf("went over: %+v", p)
	}
	s.send("POST", "/v1/visits/s/decisions", s.trainer, fmt.Sprintf(`{"version":%d,"paused":true}`, d.Version), 200, &d)
	if p = s.progress("s"); !p.Paused || p.Proposal != "stay" || p.To != 2 || p.Text != "Paused: nothing is proposed." {
		t.Errorf("paused: %+v", p)
	}
	s.send("POST", "/v1/visits/s/decisions", s.trainer, fmt.Sprintf(`{"version":%d,"to":1}`, d.Version), 409, nil)
	s.send("POST", "/v1/visits/s/decisions", s.trainer, fmt.Sprintf(`{"version":%d,"to":1,"paused":false}`, d.Version), 200, &d)
}

// TestSequenceRule: a sequence's own rule goes before the account's, that before
// common practice; a rule that cannot be is refused where it is given.
func TestSequenceRule(t *testing.T) {
	if testing.Short() {
		t.Skip("runs without the race detector, under which it is long")
	}
	s := newSchool(t, false)
	_, d := s.keep("s")
	strict := `{"visits_in_a_row":3,"handled_share":0.9,"least_triggers":1,"over_for_back":1,"refusals_for_back":1}`
	settings := `{"keep_tracks_days":365,"half_life_days":60,"units":"m","clock":"24","training_rule":%s}`
	s.send("PUT", "/v1/account/settings", s.trainer, fmt.Sprintf(settings, strict), 403, nil)
	s.send("PUT", "/v1/account/settings", s.keeper, fmt.Sprintf(settings, strings.Replace(strict, "0.9", "1.9", 1)), 422, nil)
	s.send("PUT", "/v1/account/settings", s.keeper, fmt.Sprintf(settings, strict), 204, nil)
	s.walk("s", 1, "w1", "2026-11-23T07:20:00Z", fine, fine)
	s.walk("s", 1, "w2", "2026-11-24T07:20:00Z", fine, fine)
	if p := s.progress("s"); p.RuleFrom != "account" || p.Rule.VisitsInARow != 3 || p.Proposal != "stay" {
		t.Errorf("the account's rule: %+v", p)
	}
	own := strings.Replace(strict, `:3`, `:2`, 1)
	var body map[string]json.RawMessage
	if err := json.Unmarshal(d.Body, &body); err != nil {
		t.Fatal(err)
	}
	for rule, status := range map[string]int{strings.Replace(own, "0.9", "-1", 1): 422, own: 200} {
		body["rule"] = json.RawMessage(rule)
		text, err := json.Marshal(body)
		if err != nil {
			t.Fatal(err)
		}
		s.send("PUT", "/v1/documents/visits/s", s.trainer, fmt.Sprintf(`{"version":1,"dog":%q,"body":%s}`, s.fern.ID, text), status, nil)
	}
	if p := s.progress("s"); p.RuleFrom != "sequence" || p.Proposal != "on" {
		t.Errorf("the sequence's own rule: %+v", p)
	}
}

// TestSequenceFaults: each fault is told with the field it is in.
func TestSequenceFaults(t *testing.T) {
	s := newSchool(t, false)
	seq, _ := s.keep("s")
	at := fmt.Sprintf(`{"at":[%g,%g],"distance_m":76,"multiple":2,"stay_minutes":8}`, seq.Visits[0].At[0], seq.Visits[0].At[1])
	put := func(dog, body string) string { return fmt.Sprintf(`{"version":0,"dog":%q,"body":%s}`, dog, body) }
	cases := map[string]struct {
		method, path, body string
		status             int
		says               string
	}{
		"no dog":           {"PUT", "/v1/documents/visits/n", `{"version":0,"body":{"wish":{"kind":"dogs"},"sequence":{"visits":[` + at + `]},"step":1}}`, 422, "body.dog"},
		"no wish":          {"PUT", "/v1/documents/visits/n", put(s.fern.ID, `{"sequence":{"visits":[`+at+`]},"step":1}`), 422, "wish"},
		"no visits":        {"PUT", "/v1/documents/visits/n", put(s.fern.ID, `{"wish":{"kind":"dogs"},"sequence":{"visits":[]},"step":1}`), 422, "sequence"},
		"step 0":           {"PUT", "/v1/documents/visits/n", put(s.fern.ID, `{"wish":{"kind":"dogs"},"sequence":{"visits":[`+at+`]}}`), 422, "step"},
		"step beyond":      {"PUT", "/v1/documents/visits/n", put(s.fern.ID, `{"wish":{"kind":"dogs"},"sequence":{"visits":[`+at+`]},"step":2}`), 422, "1 to 1"},
		"visit no place":   {"PUT", "/v1/documents/visits/n", put(s.fern.ID, `{"wish":{"kind":"dogs"},"sequence":{"visits":[{"multiple":2,"distance_m":76}]},"step":1}`), 422, "sequence.visits.0"},
		"a text":           {"PUT", "/v1/documents/visits/n", put(s.fern.ID, `"far to near"`), 422, "not a sequence"},
		"unknown dog":      {"PUT", "/v1/documents/visits/n", put("nobody", `{"wish":{"kind":"dogs"},"sequence":{"visits":[`+at+`]},"step":1}`), 404, ""},
		"no such sequence": {"GET", "/v1/visits/none/progress", "", 404, ""},
		"old version":      {"POST", "/v1/visits/s/decisions", `{"version":7,"to":2}`, 409, ""},
		"beyond":           {"POST", "/v1/visits/s/decisions", `{"version":1,"to":99}`, 422, fmt.Sprintf("%d visits", len(seq.Visits))},
		"negative":         {"POST", "/v1/visits/s/decisions", `{"version":1,"to":-1}`, 422, "to"},
		"walk elsewhere":   {"POST", "/v1/dogs/" + s.oro.ID + "/walks", `{"started":"2026-11-24T07:20:00Z","sequence":"s","visit":1}`, 422, "sequence"},
		"walk of none":     {"POST", "/v1/dogs/" + s.fern.ID + "/walks", `{"started":"2026-11-24T07:20:00Z","sequence":"none","visit":1}`, 422, "sequence"},
		"walk, no visit":   {"POST", "/v1/dogs/" + s.fern.ID + "/walks", `{"started":"2026-11-24T07:20:00Z","sequence":"s"}`, 422, "visit"},
		"visit, no walk":   {"POST", "/v1/dogs/" + s.fern.ID + "/walks", `{"started":"2026-11-24T07:20:00Z","visit":1}`, 422, "sequence"},
		"walk beyond":      {"POST", "/v1/dogs/" + s.fern.ID + "/walks", `{"started":"2026-11-24T07:20:00Z","sequence":"s","visit":98}`, 422, "visits"},
		"replan nothing":   {"POST", "/v1/visits/replan", `{"arrive":"2026-11-28T07:20:00Z"}`, 422, "wish"},
		"replan beyond":    {"POST", "/v1/visits/replan", `{"sequence":"s","visit":98,"arrive":"2026-11-28T07:20:00Z"}`, 422, "visit"},
		"replan never":     {"POST", "/v1/visits/replan", `{"sequence":"s","visit":1,"arrive":"tomorrow"}`, 422, "arrive"},
		"replan none":      {"POST", "/v1/visits/replan", `{"sequence":"none","visit":1,"arrive":"2026-11-28T07:20:00Z"}`, 404, ""},
		"copy to nobody":   {"POST", "/v1/visits/s/copy", `{"dog":"nobody"}`, 404, ""},
		"copy over one":    {"POST", "/v1/visits/s/copy", fmt.Sprintf(`{"dog":%q,"id":"s","times":["2026-11-28T07:20:00Z"]}`, s.fern.ID), 409, ""},
		"copy, bad time":   {"POST", "/v1/visits/s/copy", fmt.Sprintf(`{"dog":%q,"times":["noon"]}`, s.oro.ID), 422, "times"},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			if text := send(t, s.Handler, c.method, c.path, s.trainer, c.body, c.status, nil); !strings.Contains(string(text), c.says) {
				t.Errorf("says %s, without %q", text, c.says)
			}
		})
	}
}

// TestSequenceRoles: handlers see, log, reschedule and print what is of a dog they
// are given, and nothing else.
func TestSequenceRoles(t *testing.T) {
	if testing.Short() {
		t.Skip("runs without the race detector, under which it is long")
	}
	s := newSchool(t, false)
	_, d := s.keep("s")
	again := `{"sequence":"s","visit":1,"arrive":"2026-11-28T10:30:00Z"}`
	var v wire.Visit
	s.send("POST", "/v1/visits/replan", s.handler, again, 200, &v)
	if !strings.HasPrefix(v.Arrive, "2026-11-28T10:30:00") || len(v.WayOutNames) != len(v.WaysOut) || len(v.WaysOut) == 0 || !strings.HasPrefix(v.WayOutNames[0], "by ") && !strings.HasPrefix(v.WayOutNames[0], "over ") {
		t.Errorf("again at %s, ways out %v", v.Arrive, v.WayOutNames)
	}
	if page := s.send("POST", "/v1/visits/handouts", s.handler, again, 200, nil); !strings.Contains(string(page), "<html") {
		t.Errorf("printed %.200s", page)
	}
	s.send("GET", "/v1/documents/visits/s", s.handler, "", 200, nil)
	body, _ := json.Marshal(map[string]any{"version": 1, "dog": s.fern.ID, "body": d.Body})
	s.send("PUT", "/v1/documents/visits/s", s.handler, string(body), 403, nil)
	s.send("POST", "/v1/visits/s/decisions", s.handler, `{"version":1,"to":2}`, 403, nil)
	s.send("POST", "/v1/visits/s/decisions", s.handler, `{"version":1,"paused":true}`, 403, nil)
	s.send("POST", "/v1/visits/s/copy", s.handler, fmt.Sprintf(`{"dog":%q}`, s.fern.ID), 403, nil)
	stranger := s.person("Kim", "handler", s.oro.ID)
	for path, body := range map[string]string{"/v1/visits/replan": again, "/v1/visits/handouts": again, "/v1/visits/s/decisions": `{"version":1,"to":2}`, "/v1/visits/s/copy": fmt.Sprintf(`{"dog":%q}`, s.oro.ID)} {
		s.send("POST", path, stranger, body, 404, nil)
	}
	s.send("GET", "/v1/visits/s/progress", stranger, "", 404, nil)
	s.send("GET", "/v1/visits/s/progress", "", "", 401, nil)
}

// TestBiteHistory looks for ways round the rule that a trainer sets steps nearer
// than 1.5 times the working distance for a dog with a bite history.
func TestBiteHistory(t *testing.T) {
	if testing.Short() {
		t.Skip("runs without the race detector, under which it is long")
	}
	s := newSchool(t, true)
	var seq wire.Sequence
	s.send("POST", "/v1/visits", s.handler, visitsWish(s.fern.ID, ""), 200, &seq)
	held := false
	for _, l := range seq.Lacks {
		held = held || l.Why == "bite"
	}
	if !held || len(seq.Options) == 0 {
		t.Errorf("the limit is not told: %+v", seq.Lacks)
	}
	for _, o := range seq.Options {
		if o.Multiple < 1.5 {
			t.Errorf("a handler is offered %.2f times", o.Multiple)
		}
	}
	s.send("POST", "/v1/visits", s.handler, visitsWish(s.fern.ID, `,"nearest":1.2`), 403, nil)
	near := fmt.Sprintf(`{"from":{"lat":%g,"lon":%g},"kind":"dogs","dog_id":%q,"at":"2026-11-28T07:20:00Z","reach_m":4000,"least_grade":"D","multiple":`, testdata.DoorLat, testdata.DoorLon, s.fern.ID)
	var list wire.VantageList
	s.send("POST", "/v1/vantages", s.handler, near+`1.4}`, 403, nil)
	s.send("POST", "/v1/vantages", s.trainer, near+`1.5}`, 200, &list)
	nearer := 0
	for _, p := range list.Places {
		if p.Multiple < 1.5 {
			nearer++
		}
	}
	if nearer == 0 {
		t.Fatal("the band about 1.5 has nothing nearer: the next check would pass without the rule")
	}
	s.send("POST", "/v1/vantages", s.handler, near+`1.5}`, 200, &list)
	for _, p := range list.Places {
		if p.Multiple < 1.5 {
			t.Errorf("a handler is shown %.2f times within the band about 1.5", p.Multiple)
		}
	}
	kept, _ := s.keep("s")
	last := &kept.Visits[len(kept.Visits)-1]
	if last.Multiple >= 1.5 {
		t.Fatalf("a trainer's sequence ends at %.2f times", last.Multiple)
	}
	byPlace := fmt.Sprintf(`{"wish":%s,"at":{"lat":%g,"lon":%g},"watched":%q,"arrive":%q,"stay_minutes":%g%%s}`, visitsWish(s.fern.ID, ""), last.At[1], last.At[0], last.Watched.OSM, last.Arrive, last.StayMinutes)
	s.send("POST", "/v1/visits/replan", s.handler, fmt.Sprintf(byPlace, ""), 403, nil)
	s.send("POST", "/v1/visits/handouts", s.handler, fmt.Sprintf(byPlace, ""), 403, nil)
	s.send("POST", "/v1/visits/replan", s.trainer, fmt.Sprintf(byPlace, ""), 200, nil)
	var v wire.Visit
	byNumber := fmt.Sprintf(`{"sequence":"s","visit":%d,"arrive":%q%%s}`, len(kept.Visits), last.Arrive)
	s.send("POST", "/v1/visits/replan", s.handler, fmt.Sprintf(byNumber, ""), 200, &v)
	if !strings.Contains(strings.Join(v.Cautions, " "), "Bite history") {
		t.Errorf("nearer than 1.5 times without the caution: %q", v.Cautions)
	}
	// The wish that comes with a number is not looked at: neither another dog's nor another place.
	s.send("POST", "/v1/visits/replan", s.handler, fmt.Sprintf(byNumber, `,"wish":`+visitsWish(s.oro.ID, "")+`,"at":{"lat":0,"lon":0}`), 200, &v)
	if v.At != last.At {
		t.Errorf("stands at %v, the trainer set %v", v.At, last.At)
	}
	// The dog needs more distance than when the trainer set it: the same place is nearer now.
	middle := 0
	for i, v := range kept.Visits {
		if v.Multiple < 1.45 && v.Multiple > 1.15 {
			middle = i + 1
		}
	}
	if middle == 0 {
		t.Fatal("no visit between 1.15 and 1.45 times")
	}
	byNumber = fmt.Sprintf(`{"sequence":"s","visit":%d,"arrive":%q}`, middle, kept.Visits[middle-1].Arrive)
	s.send("POST", "/v1/visits/replan", s.handler, byNumber, 200, nil)
	s.send("PUT", "/v1/dogs/"+s.fern.ID, s.trainer, `{"version":1,"profile":{"name":"Fern","needs":{"dogs":{"working_m":42,"reaction_m":15}},"cautions":{"bite_history":true}}}`, 200, nil)
	s.send("POST", "/v1/visits/replan", s.handler, byNumber, 403, nil)
	s.send("POST", "/v1/visits/replan", s.trainer, byNumber, 200, nil)
}

// TestSequenceCopy: another dog gets the places with its own distances.
func TestSequenceCopy(t *testing.T) {
	s := newSchool(t, false)
	s.keep("s")
	var d kept.Document
	s.send("POST", "/v1/visits/s/copy", s.trainer, fmt.Sprintf(`{"dog":%q,"id":"copy"}`, s.oro.ID), 200, &d)
	var body struct {
		Wish struct {
			DogID string `json:"dog_id"`
		}
		Sequence   wire.Sequence
		Step       int
		CopiedFrom string `json:"copied_from"`
	}
	if err := json.Unmarshal(d.Body, &body); err != nil {
		t.Fatal(err)
	}
	if d.ID != "copy" || d.Dog != s.oro.ID || body.Wish.DogID != s.oro.ID || body.CopiedFrom != "s" || body.Step != 1 || len(body.Sequence.Visits) == 0 {
		t.Fatalf("copied %+v of dog %s", body, d.Dog)
	}
	kept := 0
	for _, v := range body.Sequence.Visits {
		if v.DistanceM/v.Multiple < 29.5 || v.DistanceM/v.Multiple > 30.5 {
			t.Errorf("%.1f m is %.2f times 30 m", v.DistanceM, v.Multiple)
		}
		if v.Kept {
			kept++
		}
	}
	if kept == 0 {
		t.Error("no place of the old sequence was kept")
	}
	s.send("GET", "/v1/visits/copy/progress", s.trainer, "", 200, nil)
}

// TestVisitThatCannotBeHadAgain: an hour at which nobody is there, and a place that
// nothing is watched from, are refusals with their reason, in JSON and on paper.
func TestVisitThatCannotBeHadAgain(t *testing.T) {
	s := newSchool(t, false)
	kept, _ := s.keep("s")
	v := &kept.Visits[0]
	at := func(lat, lon float64, more string) string {
		return fmt.Sprintf(`{"wish":%s,"at":{"lat":%g,"lon":%g},"watched":%q,"arrive":%q,"stay_minutes":%g}`, visitsWish(s.fern.ID, more), lat, lon, v.Watched.OSM, v.Arrive, v.StayMinutes)
	}
	for reason, body := range map[string]string{
		"nobody_then": `{"sequence":"s","visit":1,"arrive":"2026-11-28T02:30:00Z"}`,
		"no_stand":    at(testdata.DoorLat, testdata.DoorLon, ""),
		"no_way_in":   at(v.At[1], v.At[0], `,"limits":{"within_m":60}`),
	} {
		for _, path := range []string{"/v1/visits/replan", "/v1/visits/handouts"} {
			var p problem.Problem
			s.send("POST", path, s.handler, body, 422, &p)
			if p.Reason != reason || p.Detail == "" {
				t.Errorf("%s: %s: %q, %q", path, reason, p.Reason, p.Detail)
			}
		}
	}
}

// TestSequenceWithAHelper: the near half of a sequence is meetings with the helper; what a
// step answers gives the same meeting again, on paper too; and it is no visit to be
// planned for another hour.
func TestSequenceWithAHelper(t *testing.T) {
	s := newSchool(t, false)
	wish := strings.Replace(visitsWish(s.fern.ID, `,"helper":{"calmness":"usual"},"ground":"green"`), `"times":[`, `"times":["2026-11-28T06:30:00Z",`, 1)
	var seq wire.Sequence
	whole := s.send("POST", "/v1/visits", s.trainer, wish, 200, &seq)
	i := slices.IndexFunc(seq.Visits, func(v wire.Visit) bool { return v.Meeting != nil })
	if i < 0 || !seq.Complete {
		t.Fatalf("no meeting in %d visits: %+v", len(seq.Visits), seq.Lacks)
	}
	v := &seq.Visits[i]
	m := v.Meeting
	if v.Watched.Sort != "helper" || v.Watched.Name != "your helper (a dog on lead)" || v.Multiple > 1.5 || m.Dark == "" || v.Given != nil {
		t.Errorf("%+v, dark %q", v.Stay, m.Dark)
	}
	m.Ask.From, m.Ask.DogID = wire.LatLon{Lat: testdata.DoorLat, Lon: testdata.DoorLon}, s.fern.ID
	ask := text(t, m.Ask)
	var again wire.SetupList
	s.send("POST", "/v1/setups", s.trainer, ask, 200, &again)
	if len(again.Setups) != 1 || text(t, again.Setups[0].Lines) != text(t, m.Setup.Lines) || text(t, again.Setups[0].Dog) != text(t, m.Setup.Dog) {
		t.Errorf("again: %s\nplanned: %s", text(t, again.Setups), text(t, m.Setup))
	}
	if page := s.send("POST", "/v1/setups/handouts", s.trainer, ask, 200, nil); !strings.Contains(string(page), "<html") {
		t.Error("no sheets")
	}
	s.send("PUT", "/v1/documents/visits/h", s.trainer, fmt.Sprintf(`{"version":0,"dog":%q,"body":{"wish":%s,"sequence":%s,"step":1,"paused":false}}`, s.fern.ID, wish, whole), 200, nil)
	s.send("POST", "/v1/visits/replan", s.trainer, fmt.Sprintf(`{"sequence":"h","visit":%d,"arrive":"2026-11-28T10:00:00Z"}`, i+1), 422, nil)
	s.send("GET", "/v1/visits/h/progress", s.trainer, "", 200, nil)
	s.send("POST", "/v1/visits", s.trainer, strings.Replace(wish, `"ground"`, `"drive_minutes":0,"ground"`, 1), 422, nil)
}
