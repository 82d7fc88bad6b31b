package main

import (
	"bytes"
	"compress/gzip"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"wideberth/api/wire"
	"wideberth/api/wire/kept"
	"wideberth/testdata"
)

// keeping is a household on the real program, with a map that is brought up to date under
// it.
type keeping struct {
	t             *testing.T
	server        *running
	extract, file string
	town          []byte   // the extract, plain
	changes       []string // files, since the extract
	dog           string
}

func newKeeping(t *testing.T) *keeping {
	t.Helper()
	plain, err := gzip.NewReader(bytes.NewReader(testdata.Town()))
	if err != nil {
		t.Fatal(err)
	}
	k := &keeping{t: t, extract: filepath.Join(t.TempDir(), "town.osm")}
	if k.town, err = io.ReadAll(plain); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(k.extract, k.town, 0o600); err != nil {
		t.Fatal(err)
	}
	k.file = townFile(t)
	k.server = serving(t, "--snapshot", k.file, "--store", filepath.Join(t.TempDir(), "kept.db"), "--metrics", "127.0.0.1:0", "--clock", standing().Format(time.RFC3339))
	var dog kept.Dog
	k.send("POST", "/v1/dogs", monthDog, 200, &dog)
	k.dog = dog.ID
	return k
}

// send asks the server and reads its answer.
func (k *keeping) send(method, path, body string, status int, into any) string {
	k.t.Helper()
	req, err := http.NewRequestWithContext(k.t.Context(), method, k.server.base+path, strings.NewReader(body))
	if err != nil {
		k.t.Fatal(err)
	}
	req.Header.Set("Content-Type", "application/json")
	res, err := http.DefaultClient.Do(req)
	if err != nil {
		k.t.Fatal(err)
	}
	defer res.Body.Close()
	text, err := io.ReadAll(res.Body)
	if err != nil {
		k.t.Fatal(err)
	}
	if res.StatusCode != status {
		k.t.Fatalf("%s %s: %d %s", method, path, res.StatusCode, text)
	}
	if into != nil {
		if err := json.Unmarshal(text, into); err != nil {
			k.t.Fatal(err)
		}
	}
	return string(text)
}

// update brings the map up to one more file of changes, and has the server open it.
func (k *keeping) update(changes string) {
	k.t.Helper()
	path := filepath.Join(k.t.TempDir(), "a.osc")
	if err := os.WriteFile(path, []byte(`<osmChange version="0.6">`+changes+`</osmChange>`), 0o600); err != nil {
		k.t.Fatal(err)
	}
	k.changes = append(k.changes, path)
	var said bytes.Buffer
	if code := run(k.t.Context(), &world{out: io.Discard, err: &said, now: standing}, slices.Concat([]string{"update", "--map", k.extract, k.file}, k.changes)); code != 0 {
		k.t.Fatal(said.String())
	}
	res, err := http.Post(k.server.about+"/reload", "application/json", http.NoBody)
	if err != nil {
		k.t.Fatal(err)
	}
	defer res.Body.Close()
	if res.StatusCode != http.StatusOK {
		k.t.Fatalf("reload: %d", res.StatusCode)
	}
}

// named finds the ways of the town that have a name.
func (k *keeping) named(name string) (ids []string) {
	for block := range strings.SplitSeq(string(k.town), "</way>") {
		if i := strings.LastIndex(block, "<way "); i >= 0 && strings.Contains(block[i:], `k="name" v="`+name+`"`) && strings.Contains(block[i:], `k="highway"`) {
			ids = append(ids, wayID.FindStringSubmatch(block[i:])[1])
		}
	}
	return ids
}

var (
	fades  = regexp.MustCompile(`"presence":[0-9.]+`) // by the hour
	wayID  = regexp.MustCompile(`^<way id="(\d+)"`)
	nodeAt = regexp.MustCompile(`<node id="(\d+)"[^>]* lat="([-.0-9]+)" lon="([-.0-9]+)"`)
)

// corner is the street node of the town that lies farthest north of the door.
func (k *keeping) corner() (id string, lat, lon float64) {
	streets := map[string]bool{}
	for block := range strings.SplitSeq(string(k.town), "</way>") {
		if i := strings.LastIndex(block, "<way "); i >= 0 && strings.Contains(block[i:], `k="highway" v="residential"`) {
			for _, part := range strings.Split(block[i:], `<nd ref="`)[1:] {
				streets[part[:strings.IndexByte(part, '"')]] = true
			}
		}
	}
	for _, n := range nodeAt.FindAllStringSubmatch(string(k.town), -1) {
		y, errY := strconv.ParseFloat(n[2], 64)
		x, errX := strconv.ParseFloat(n[3], 64)
		if errX != nil || errY != nil {
			k.t.Fatal(n)
		}
		if streets[n[1]] && (id == "" || y > lat) {
			id, lat, lon = n[1], y, x
		}
	}
	return id, lat, lon
}

// lines are the walks of a plan as they lie on the ground.
func lines(p *wire.PlanBody) (out [][][2]float64) {
	for i := range p.Walks {
		var line [][2]float64
		for j := range p.Walks[i].Legs {
			for _, c := range p.Walks[i].Legs[j].Geometry.Coordinates {
				line = append(line, [2]float64(c))
			}
		}
		out = append(out, line)
	}
	return out
}

// sameGround tells whether two lists of lines are one to a tenth of a metre.
func sameGround(a, b [][][2]float64) bool {
	return slices.EqualFunc(a, b, func(a, b [][2]float64) bool {
		return slices.EqualFunc(a, b, func(p, q [2]float64) bool { return math.Abs(p[0]-q[0]) < 2e-6 && math.Abs(p[1]-q[1]) < 2e-6 })
	})
}

// TestWhatIsKeptOutlivesAnUpdate: a household keeps a walk, visits, a report and a log;
// the map changes under the running program. Where a street is drawn far off, and every
// edge has another number, walks and visits keep line and answer; where their own street
// goes the walk is refused in words and a visit's ways are found anew, which is said.
// Reports and logs stay whatever happens.
func TestWhatIsKeptOutlivesAnUpdate(t *testing.T) {
	if os.Getenv("WIDEBERTH_SLOW") == "" {
		t.Skip("an import and two updates of the town, on the program itself: WIDEBERTH_SLOW")
	}
	k := newKeeping(t)
	door := fmt.Sprintf(`{"lat":%g,"lon":%g}`, testdata.DoorLat, testdata.DoorLon)
	plan := k.send("POST", "/v1/plans", fmt.Sprintf(`{"from":%s,"minutes":20,"shape":"loop","depart":"2026-11-26T17:00:00Z","dog_id":%q}`, door, k.dog), 200, nil)
	var saved kept.Plan
	k.send("POST", "/v1/dogs/"+k.dog+"/plans", `{"plan":`+plan+`}`, 200, &saved)
	k.send("POST", "/v1/reports", fmt.Sprintf(`{"kind":"dog_behind_fence","what":"green fence","lat":%g,"lon":%g,"number":1,"there":true}`, testdata.DoorLat+.001, testdata.DoorLon), 200, nil)
	k.send("POST", "/v1/dogs/"+k.dog+"/walks", fmt.Sprintf(`{"started":"2026-11-25T06:00:00Z","key":"w","plan":%q,"plan_walk":0,"all_told":true}`, saved.ID), 200, nil)
	k.send("POST", "/v1/dogs/"+k.dog+"/encounters", `{"at":"2026-11-25T06:10:00Z","kind":"dogs","walk":"w"}`, 200, nil)
	// What was logged has been learnt before anything is held against it.
	ask := fmt.Sprintf(`{"from":%s,"dog_id":%q,"kind":"dogs","drive_minutes":0,"max_expected_reactions":2,"times":["2026-11-28T17:20:00Z"]}`, door, k.dog)
	var seq wire.Sequence
	visits := k.send("POST", "/v1/visits", ask, 200, &seq)
	if len(seq.Visits) == 0 {
		t.Fatal("no visits")
	}
	k.send("PUT", "/v1/documents/visits/v", fmt.Sprintf(`{"version":0,"dog":%q,"body":{"wish":%s,"sequence":%s,"step":1,"paused":false}}`, k.dog, ask, visits), 200, nil)
	var before wire.PlanBody
	k.send("GET", "/v1/plans/"+saved.ID, "", 200, &before)
	log := func() string {
		return fades.ReplaceAllString(k.send("GET", "/v1/dogs/"+k.dog+"/encounters", "", 200, nil)+k.send("GET", "/v1/dogs/"+k.dog+"/walks", "", 200, nil)+k.send("GET", "/v1/reports", "", 200, nil), "")
	}
	logged := log()
	visit := fmt.Sprintf(`{"sequence":"v","visit":1,"arrive":%q}`, seq.Visits[0].Arrive)
	ways := func(v *wire.Visit) [][][2]float64 {
		return lines(&wire.PlanBody{Plan: wire.Plan{Walks: []wire.Walk{v.WayIn, v.WayHome}}})
	}

	id, lat, lon := k.corner()
	k.update(fmt.Sprintf(`<create><node id="99000001" version="1" timestamp="2026-11-02T00:00:00Z" lat="%.7f" lon="%.7f"/><way id="99000001" version="1" timestamp="2026-11-02T00:00:00Z"><nd ref="%s"/><nd ref="99000001"/><tag k="highway" v="footway"/></way></create>`,
		lat+.0004, lon+.0001, id))
	var after wire.PlanBody
	k.send("GET", "/v1/plans/"+saved.ID, "", 200, &after)
	if after.Given.Map == before.Given.Map || !sameGround(lines(&after), lines(&before)) {
		t.Errorf("after a street far off the kept walks lead elsewhere (map %s, was %s)", after.Given.Map, before.Given.Map)
	}
	for i := range after.Walks {
		if a, b := after.Walks[i].ExpectedReactions, before.Walks[i].ExpectedReactions; math.Abs(a-b) > .01*b {
			t.Errorf("walk %d brings %g, kept with %g", i, a, b)
		}
	}
	var drawn wire.VisitDrawn
	k.send("POST", "/v1/visits/drawings", visit, 200, &drawn)
	if says := strings.Join(drawn.Visit.Cautions, " "); !sameGround(ways(&drawn.Visit), ways(&seq.Visits[0])) || strings.Contains(says, "found anew") {
		t.Errorf("the visit leads elsewhere: %s", says)
	}
	if now := log(); now != logged {
		t.Errorf("what was logged reads otherwise:\n%s\nwas\n%s", now, logged)
	}

	longest := func(w *wire.Walk, but string) (name string) {
		least := 0.0
		for i := range w.Legs {
			if l := &w.Legs[i]; len(k.named(l.Name)) > 0 && l.LengthM > least && l.Name != "Weaver Row" && l.Name != but {
				name, least = l.Name, l.LengthM
			}
		}
		return name
	}
	gone := map[string]bool{}
	changes := ""
	for _, name := range []string{longest(&before.Walks[0], seq.Visits[0].Street), longest(&seq.Visits[0].WayIn, seq.Visits[0].Street)} {
		for _, id := range k.named(name) {
			if !gone[id] {
				changes += fmt.Sprintf(`<delete><way id="%s" version="99" timestamp="2026-11-03T00:00:00Z"/></delete>`, id)
			}
			gone[id] = true
		}
	}
	if len(gone) == 0 {
		t.Fatal("the walks follow no street with a name")
	}
	k.update(changes)
	if says := k.send("GET", "/v1/plans/"+saved.ID, "", 422, nil); !strings.Contains(says, "the ground has changed") {
		t.Errorf("%s", says)
	}
	k.send("POST", "/v1/visits/drawings", visit, 200, &drawn)
	if says := strings.Join(drawn.Visit.Cautions, " "); !strings.Contains(says, "found anew") || sameGround(ways(&drawn.Visit), ways(&seq.Visits[0])) {
		t.Errorf("its street is gone, and the visit says %q", says)
	}
	if says := k.send("POST", "/v1/visits/handouts", visit, 200, nil); !strings.Contains(says, "found anew") {
		t.Error("the sheet does not say that the ways were found anew")
	}
	if now := log(); now != logged {
		t.Errorf("what was logged reads otherwise:\n%s\nwas\n%s", now, logged)
	}
	k.send("POST", "/v1/plans", fmt.Sprintf(`{"from":%s,"minutes":20,"shape":"loop","depart":"2026-11-26T17:00:00Z","dog_id":%q}`, door, k.dog), 200, nil)
}
