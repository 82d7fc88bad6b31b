package main

import (
	"bytes"
	"crypto/rand"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"maps"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"
	"text/tabwriter"

	"wideberth/api/knowledge"
	"wideberth/api/store"
	"wideberth/testdata"
)

// TestFiguresAttack sends what a stranger, or somebody with a key of another account,
// might try at a server in a process of its own, sixteen at a time, and prints class by
// class how much was tried and refused, the longest answer, and the most memory that the
// process had meanwhile. Nothing is answered that should not be, nothing is a fault of
// ours, and the other account is afterwards as it was.
func TestFiguresAttack(t *testing.T) {
	if os.Getenv("WIDEBERTH_FIGURES") == "" {
		t.Skip("measures and prints figures; set WIDEBERTH_FIGURES=1 (make figures)")
	}
	a := newAttack(t)
	before := a.all(a.victim)
	a.class("unknown keys in bodies of 59 and 165 kB", a.unknownKeys())
	a.class("bodies over their limit", a.tooLarge())
	a.class("bodies as large as may be, full of faults", a.large())
	a.class("long values, lists and names", a.longValues())
	a.class("no JSON, no such form", a.noForm())
	a.class("ids of another account in paths", a.foreignIDs())
	a.class("ids of another account in bodies", a.foreignInBodies())
	a.class("no key, wrong keys", a.wrongKeys())
	a.class("tricks with paths", a.pathTricks())
	a.open("kept: plans and timetables up to the bound, lists, exports", a.keepMuch())
	if after := a.all(a.victim); !bytes.Equal(before, after) {
		t.Errorf("the other account was changed:\n%s\n%s", before, after)
	}
	a.keyless()
	a.print()
}

// try is one request of an attack.
type try struct {
	method, path, body string
	key                string
	header             []string // names and values
}

// attacked is what became of a class.
type attacked struct {
	class                  string
	tried, refused, served int
	longest                int
	restMB, mostMB         int
}

type attack struct {
	t         *testing.T
	server    *running
	attacker  string // key
	victim    string
	ids       []string // of the victim's
	dog, plan string   // of the victim
	examples  []example
	results   []attacked
	town      string
}

// example is an operation that takes JSON.
type example struct {
	method, path, body string
	most               int // bytes
}

func newAttack(t *testing.T) *attack {
	t.Helper()
	a := &attack{t: t, town: townFile(t)}
	memory := filepath.Join(t.TempDir(), "memory.db")
	m, err := store.Open(t.Context(), memory, store.Options{Now: standing, Rand: rand.Reader, Count: knowledge.Count})
	if err != nil {
		t.Fatal(err)
	}
	key := func(name string) string {
		w, err := m.CreateAccount(t.Context(), name, "Ada")
		if err != nil {
			t.Fatal(err)
		}
		token, _, err := m.NewToken(t.Context(), w, w.Person, "phone", 365)
		if err != nil {
			t.Fatal(err)
		}
		return token
	}
	a.attacker, a.victim = key("Alder House"), key("Birch House")
	if err := m.Close(); err != nil {
		t.Fatal(err)
	}
	a.server = serving(t, "--snapshot", a.town, "--store", memory, "--clock", standing().Format("2006-01-02T15:04:05Z07:00"))
	a.fill()
	a.describe()
	return a
}

// one sends a request and gives status and answer.
func (a *attack) one(base string, x try) (int, []byte) {
	req, err := http.NewRequestWithContext(a.t.Context(), x.method, base, strings.NewReader(x.body))
	if err != nil {
		a.t.Error(err)
		return 0, nil
	}
	path, query, _ := strings.Cut(x.path, "?")
	if req.URL.RawQuery = query; strings.HasPrefix(path, "//") {
		req.URL.Opaque = "//" + req.URL.Host + path
	} else {
		req.URL.Opaque = path // as it is, whatever it is
	}
	req.Header.Set("Content-Type", "application/json")
	if x.key != "" {
		req.Header.Set("Authorization", "Bearer "+x.key)
	}
	for i := 0; i+1 < len(x.header); i += 2 {
		if x.header[i] == "Host" {
			req.Host = x.header[i+1]
		}
		req.Header.Set(x.header[i], x.header[i+1])
	}
	res, err := http.DefaultClient.Do(req)
	if err != nil {
		if errors.Is(err, io.ErrUnexpectedEOF) || errors.Is(err, io.EOF) || isNet(err) {
			return 413, nil // closed while it was sent
		}
		a.t.Errorf("%s %.80s: %v", x.method, x.path, err)
		return 0, nil
	}
	defer res.Body.Close()
	answer, err := io.ReadAll(res.Body)
	if err != nil {
		a.t.Errorf("%s %.80s: %v", x.method, x.path, err)
	}
	return res.StatusCode, answer
}

func isNet(err error) bool {
	var n *net.OpError
	return errors.As(err, &n)
}

// made sends what must be answered, and notes the id that comes back.
func (a *attack) made(key, method, path, body string) string {
	a.t.Helper()
	status, answer := a.one(a.server.base, try{method: method, path: path, body: body, key: key})
	if status/100 != 2 {
		a.t.Fatalf("%s %s: %d %s", method, path, status, answer)
	}
	var out struct {
		ID   string
		Info struct{ ID string }
	}
	if err := json.Unmarshal(answer, &out); err != nil {
		a.t.Fatal(err)
	}
	return out.ID + out.Info.ID
}

var attackWish = fmt.Sprintf(`{"from":{"lat":%g,"lon":%g},"minutes":15,"depart":"2026-11-25T07:10:00Z"}`, testdata.DoorLat, testdata.DoorLon)

// fill gives the victim one of everything.
func (a *attack) fill() {
	keep := func(id string) string {
		a.ids = append(a.ids, id)
		return id
	}
	a.dog = keep(a.made(a.victim, "POST", "/v1/dogs", aDog))
	_, plan := a.one(a.server.base, try{method: "POST", path: "/v1/plans", body: attackWish, key: a.victim})
	a.plan = keep(a.made(a.victim, "POST", "/v1/dogs/"+a.dog+"/plans", `{"plan":`+string(plan)+`}`))
	keep(a.made(a.victim, "POST", "/v1/dogs/"+a.dog+"/walks", `{"started":"2026-11-25T06:00:00Z","key":"w"}`))
	keep(a.made(a.victim, "POST", "/v1/dogs/"+a.dog+"/encounters", `{"at":"2026-11-25T06:10:00Z","kind":"dogs","walk":"w"}`))
	keep(a.made(a.victim, "POST", "/v1/reports", fmt.Sprintf(`{"kind":"dog_behind_fence","lat":%g,"lon":%g,"there":true}`, testdata.DoorLat, testdata.DoorLon)))
	person := keep(a.made(a.victim, "POST", "/v1/people", `{"name":"Robin","role":"trainer"}`))
	keep(a.made(a.victim, "POST", "/v1/people/"+person+"/keys", `{}`))
	a.made(a.victim, "PUT", "/v1/documents/outings/saturday", `{"version":0,"body":{"note":"ours"}}`)
	keep("saturday")
}

// all is everything of an account that lists show.
func (a *attack) all(key string) []byte {
	var out []byte
	for _, path := range []string{"/v1/dogs", "/v1/people", "/v1/reports", "/v1/documents/outings", "/v1/dogs/" + a.dog + "/export", "/v1/dogs/" + a.dog + "/plans"} {
		_, answer := a.one(a.server.base, try{method: "GET", path: path, key: key})
		out = append(out, answer...)
	}
	return passing.ReplaceAll(out, nil)
}

// passing is what is another from one look to the next.
var passing = regexp.MustCompile(`"(exported|presence)":[^,}]*`)

// describe lists the operations from the server's own description.
func (a *attack) describe() {
	var doc struct {
		Paths map[string]map[string]struct {
			RequestBody struct {
				Content map[string]struct{ Example json.RawMessage }
			}
		}
	}
	_, text := a.one(a.server.base, try{method: "GET", path: "/openapi.json"})
	if err := json.Unmarshal(text, &doc); err != nil {
		a.t.Fatal(err)
	}
	for _, path := range slices.Sorted(maps.Keys(doc.Paths)) {
		for _, method := range slices.Sorted(maps.Keys(doc.Paths[path])) {
			op := doc.Paths[path][method]
			most := 1 << 20
			switch {
			case strings.Contains(path, "/documents/") || strings.HasPrefix(path, "/v1/outings/") && !strings.HasSuffix(path, "/gate"):
				most = 4<<20 + 64<<10
			case path == "/v1/dogs/{id}/plans":
				most = 576 << 10
			}
			a.examples = append(a.examples, example{strings.ToUpper(method), path, string(op.RequestBody.Content["application/json"].Example), most})
		}
	}
	if len(a.examples) < 60 {
		a.t.Fatalf("only %d operations", len(a.examples))
	}
}

func (e *example) at(id string) string {
	return strings.NewReplacer("{kind}", "outings", "{id}", id).Replace(e.path)
}

// taking calls f with every operation that takes JSON.
func (a *attack) taking(f func(e *example) []string) (out []try) {
	for i := range a.examples {
		e := &a.examples[i]
		if e.body == "" {
			continue
		}
		for _, body := range f(e) {
			out = append(out, try{method: e.method, path: e.at("nothing"), body: body, key: a.attacker})
		}
	}
	return out
}

// strangeKeys is an object of so many bytes with nothing in it that is known.
func strangeKeys(bytes int) string {
	var b strings.Builder
	b.WriteByte('{')
	for i := 0; b.Len() < bytes; i++ {
		fmt.Fprintf(&b, `"k%05x":0,`, i)
	}
	return b.String() + `"k":0}`
}

func (a *attack) unknownKeys() []try {
	return a.taking(func(*example) []string {
		small, large := strangeKeys(59_000), strangeKeys(165_000)
		return []string{small, large, `{"dog":` + large + `}`, `{"dog":{"name":"x","needs":` + large + `}}`, "[" + small + "]"}
	})
}

func (a *attack) tooLarge() []try {
	return a.taking(func(e *example) []string {
		return []string{`{"x":"` + strings.Repeat("x", e.most) + `"}`, strings.Repeat(" ", e.most+1), "[" + strings.Repeat("0,", e.most/2) + "0]"}
	})
}

// large are bodies as large as they may be, and refused for what is in them.
func (a *attack) large() []try {
	return a.taking(func(e *example) (out []string) {
		n := e.most - 200
		for _, of := range []string{"0,", "{},", `"x",`, "[],", `{"a":{}},`} {
			out = append(out, `{"timetable":{"rows":[`+strings.Repeat(of, n/len(of))+`0]},"version":0}`, `{"dogs":[`+strings.Repeat(of, n/len(of))+`0]}`)
		}
		return append(out, strangeKeys(n))
	})
}

// swell makes texts and lists of an example far too long.
func swell(v any) any {
	switch v := v.(type) {
	case map[string]any:
		for k, x := range v {
			v[k] = swell(x)
		}
	case []any:
		for i := range v {
			v[i] = swell(v[i])
		}
		if len(v) > 0 {
			return slices.Repeat(v, 12)
		}
	case string:
		return v + strings.Repeat("\u202e\x00é", 400)
	case float64:
		return -1e12 * (v + 1)
	}
	return v
}

func (a *attack) longValues() []try {
	out := a.taking(func(e *example) []string {
		var v any
		if err := json.Unmarshal([]byte(e.body), &v); err != nil {
			a.t.Fatal(err)
		}
		body, err := json.Marshal(swell(v))
		if err != nil {
			a.t.Fatal(err)
		}
		if len(body) > e.most {
			return nil
		}
		return []string{string(body)}
	})
	long := strings.Repeat("x", 8000)
	for i := range a.examples {
		if e := &a.examples[i]; strings.Contains(e.path, "{id}") {
			out = append(out, try{method: e.method, path: e.at(long), body: e.body, key: a.attacker})
		}
	}
	return append(out, try{method: "GET", path: "/v1/dogs", key: strings.Repeat("k", 100_000)},
		try{method: "GET", path: "/tiles/" + long + "/0/0.mvt"}, try{method: "GET", path: "/v1/dogs/x/encounters?walk=" + long, key: a.attacker})
}

func (a *attack) noForm() []try {
	out := a.taking(func(*example) []string {
		return []string{strings.Repeat("[", 60_000), strings.Repeat(`{"from":`, 9_000) + "0" + strings.Repeat("}", 9_000), strings.Repeat("\x00", 60_000), `{"from"`, "null", "[]", "1e999"}
	})
	for i := range out {
		if i%5 == 0 {
			out[i].header = []string{"Content-Type", "text/plain"}
		}
	}
	return out
}

// foreignIDs asks for each of the victim's things by every operation that names one.
func (a *attack) foreignIDs() (out []try) {
	for i := range a.examples {
		e := &a.examples[i]
		if !strings.Contains(e.path, "{id}") {
			continue
		}
		body := e.body
		if strings.HasSuffix(e.path, "/deletion") {
			body = `{"name":"Fenn"}`
		}
		if strings.Contains(e.path, "/documents/") && e.method == "PUT" {
			body = `{"version":1,"body":{"note":"theirs"}}`
		}
		header := []string(nil)
		if strings.HasSuffix(e.path, "/track") && e.method == "POST" {
			body, header = `<gpx xmlns="http://www.topografix.com/GPX/1/1" version="1.1"><trk><trkseg><trkpt lat="47" lon="-7"/></trkseg></trk></gpx>`, []string{"Content-Type", "application/gpx+xml"}
		}
		for _, id := range a.ids {
			out = append(out, try{method: e.method, path: e.at(id), body: body, key: a.attacker, header: header})
		}
	}
	return out
}

func (a *attack) foreignInBodies() (out []try) {
	own := a.made(a.attacker, "POST", "/v1/dogs", aDog)
	post := func(path, body string) {
		out = append(out, try{method: "POST", path: path, body: body, key: a.attacker})
	}
	wish := strings.TrimSuffix(attackWish, "}")
	gate := fmt.Sprintf(`{"lat":%g,"lon":%g}`, testdata.DoorLat, testdata.DoorLon)
	for _, id := range append([]string{a.dog, a.plan}, a.ids...) {
		for _, path := range []string{"/v1/plans", "/v1/weeks"} {
			post(path, wish+`,"dog_id":"`+id+`"}`)
		}
		for _, path := range []string{"/v1/plans/told", "/v1/plans/drawings", "/v1/handouts", "/v1/proofs"} {
			post(path, `{"plan":"`+id+`"}`)
		}
		post("/v1/dogs/"+own+"/walks", `{"started":"2026-11-25T06:00:00Z","plan":"`+id+`"}`)
		post("/v1/dogs/"+own+"/walks", `{"started":"2026-11-25T06:00:00Z","sequence":"`+id+`","visit":1}`)
		post("/v1/people", `{"name":"Kit","role":"handler","dogs":["`+id+`"]}`)
		post("/v1/outings", `{"gate":`+gate+`,"start":"2026-11-25T09:00:00Z","minutes":60,"dogs":[{"dog_id":"`+id+`","minutes":15}],"people":[{"name":"Ada"}]}`)
		out = append(out, try{method: "PUT", path: "/v1/documents/outings/mine", body: `{"version":0,"dog":"` + id + `","body":{}}`, key: a.attacker})
	}
	return out
}

func (a *attack) wrongKeys() (out []try) {
	keys := []string{"", "x", a.victim + "x", a.victim[:len(a.victim)-1], strings.ToUpper(a.victim), "' OR 1=1 --", "null", strings.Repeat("A", 4000)}
	for i := range a.examples {
		e := &a.examples[i]
		if !strings.HasPrefix(e.path, "/v1/") {
			continue
		}
		for _, key := range keys {
			out = append(out, try{method: e.method, path: e.at(a.dog), body: e.body, key: key})
		}
	}
	return out
}

func (a *attack) pathTricks() (out []try) {
	for _, path := range []string{"/../etc/passwd", "/..%2f..%2fetc/passwd", "/%2e%2e/%2e%2e/etc/passwd", "/assets/../../go.mod", "/assets/%2e%2e/%2e%2e/go.mod", "/assets/..\\..\\go.mod", "/assets/..%5c..%5cgo.mod",
		"//etc/passwd", "/v1//dogs", "/v1/../v1/dogs", "/v1/./dogs", "/V1/dogs", "/v1/dogs/", "/v1/dogs/%00", "/v1/dogs/..%2f" + a.dog, "/v1/dogs/%2e%2e", "/v1/dogs/" + a.dog + "%2fexport", "/v1/dogs/" + a.dog + "/export.sql",
		"/v1/documents/accounts/x", "/v1/documents/outings/..%2fvisits%2fx", "/tiles/15/-1/0.mvt", "/tiles/99/0/0.mvt", "/tiles/1e9/0/0.mvt", "/tiles/15/99999999999999999999/0.mvt", "/tiles/0x1/0/0.mvt", "/tiles/15/0/0.mvt.gz", "/metrics", "/debug/pprof/", "/.git/config", "/.env", "/server-status"} {
		for _, method := range []string{"GET", "POST", "PUT", "DELETE", "PATCH", "TRACE", "PROPFIND"} {
			out = append(out, try{method: method, path: path, key: a.attacker})
		}
	}
	return out
}

// keepMuch keeps plans and timetables of the greatest size, and asks for lists and
// exports of them.
func (a *attack) keepMuch() (out []try) {
	own := a.made(a.attacker, "POST", "/v1/dogs", aDog)
	plan := `{"plan":{"note":"` + strings.Repeat("x", 511<<10) + `"}}`
	for i := range 48 {
		out = append(out, try{method: "POST", path: "/v1/dogs/" + own + "/plans", body: plan, key: a.attacker},
			try{method: "PUT", path: fmt.Sprintf("/v1/documents/outings/d%d", i), body: `{"version":0,"body":{"note":"` + strings.Repeat("x", 4<<20-100) + `"}}`, key: a.attacker})
	}
	for range 100 {
		for _, path := range []string{"/v1/dogs/" + own + "/plans", "/v1/documents/outings", "/v1/dogs/" + own + "/export", "/v1/documents/outings/d1"} {
			out = append(out, try{method: "GET", path: path, key: a.attacker})
		}
	}
	return out
}

// class sends tries that all have to be refused.
func (a *attack) class(name string, tries []try) {
	a.t.Helper()
	r := a.send(name, a.server, tries)
	if r.served > 0 {
		a.t.Errorf("%s: %d of %d were answered", name, r.served, r.tried)
	}
}

// open sends tries of which some are right.
func (a *attack) open(name string, tries []try) { a.send(name, a.server, tries) }

func (a *attack) send(name string, p *running, tries []try) attacked {
	r := attacked{class: name, tried: len(tries), restMB: p.mostMBSince()}
	var mu sync.Mutex // guards r
	next := make(chan try)
	var all sync.WaitGroup
	for range 16 {
		all.Go(func() {
			for x := range next {
				status, answer := a.one(p.base, x)
				mu.Lock()
				r.longest = max(r.longest, len(answer))
				switch {
				case status >= 500 && status != 503:
					a.t.Errorf("%s: %s %.80s: %d %.200s", name, x.method, x.path, status, answer)
				case status >= 400:
					r.refused++
				default:
					if r.served++; r.served <= 3 {
						a.t.Logf("%s: %s %.100s: %d %.100s", name, x.method, x.path, status, x.body)
					}
				}
				mu.Unlock()
			}
		})
	}
	for _, x := range tries {
		next <- x
	}
	close(next)
	all.Wait()
	r.mostMB = p.mostMB()
	a.results = append(a.results, r)
	return r
}

// keyless tries headers and names of hosts at a server that asks nobody for a key.
func (a *attack) keyless() {
	p := serving(a.t, "--snapshot", a.town, "--store", filepath.Join(a.t.TempDir(), "memory.db"))
	var out []try
	for _, path := range []string{"/", "/healthz", "/readyz", "/openapi.json", "/v1/dogs", "/v1/map", "/tiles/15/15740/11498.mvt"} {
		for _, header := range [][]string{{"Host", "evil.example"}, {"Host", "127.0.0.1.evil.example"}, {"Host", "0.0.0.0"}, {"Host", "10.0.0.1"}, {"Host", "[::ffff:10.0.0.1]"},
			{"Origin", "http://evil.example"}, {"Origin", "null"}, {"Sec-Fetch-Site", "cross-site"}, {"X-Forwarded-For", "127.0.0.1"}, {"X-Forwarded-Host", "localhost"}, {"X-Forwarded-Proto", "https"},
			{"X-Real-Ip", "127.0.0.1"}, {"Forwarded", "for=127.0.0.1"}, {"Via", "1.1 proxy"}, {"Host", "localhost", "X-Forwarded-Server", "a"}} {
			for _, method := range []string{"GET", "POST"} {
				out = append(out, try{method: method, path: path, header: header})
			}
		}
	}
	if r := a.send("forged hosts, origins and forwarding, without keys", p, out); r.served > 0 {
		a.t.Errorf("%d of %d forged requests were answered", r.served, r.tried)
	}
}

// mostMBSince begins to measure the most memory anew (proc(5): 5 to clear_refs), and
// gives what it is now.
func (p *running) mostMBSince() int {
	if err := os.WriteFile(fmt.Sprintf("/proc/%d/clear_refs", p.cmd.Process.Pid), []byte("5"), 0); err != nil {
		p.t.Log("the most memory is that since its start:", err)
	}
	return p.mostMB()
}

func (a *attack) print() {
	w := tabwriter.NewWriter(os.Stdout, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintln(w, "  attack\ttried\trefused\tanswered\tlongest answer, bytes\tmemory before, MB\tmost, MB\t")
	sum := attacked{class: "all"}
	for _, r := range a.results {
		fmt.Fprintf(w, "  %s\t%d\t%d\t%d\t%d\t%d\t%d\t\n", r.class, r.tried, r.refused, r.served, r.longest, r.restMB, r.mostMB)
		sum.tried, sum.refused, sum.served, sum.mostMB = sum.tried+r.tried, sum.refused+r.refused, sum.served+r.served, max(sum.mostMB, r.mostMB)
	}
	fmt.Fprintf(w, "  %s\t%d\t%d\t%d\t\t\t%d\t\n", sum.class, sum.tried, sum.refused, sum.served, sum.mostMB)
	w.Flush()
}
