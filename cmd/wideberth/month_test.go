package main

import (
	"bytes"
	"crypto/rand"
	"encoding/json"
	"fmt"
	"io"
	"math"
	mrand "math/rand/v2"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"
	"text/tabwriter"
	"time"

	"wideberth/api"
	"wideberth/api/knowledge"
	"wideberth/api/store"
	"wideberth/api/wire"
	"wideberth/api/wire/kept"
	"wideberth/exposure"
	"wideberth/osmdata/plane"
	"wideberth/routing"
	"wideberth/routing/atlas"
	"wideberth/routing/snapshot"
	"wideberth/testdata"
)

// The truth of the month, which the program is not told: the dog copes with dogs
// nearer than its people think, and more dogs are out than the map lets expect.
// With children all is as said and predicted.
var (
	saidOf    = map[exposure.Category]exposure.Need{exposure.Dogs: {WorkingM: 38, ReactionM: 17}, exposure.People: {WorkingM: 25, ReactionM: 10}}
	truthOf   = map[exposure.Category]exposure.Need{exposure.Dogs: {WorkingM: 25, ReactionM: 11}, exposure.People: {WorkingM: 25, ReactionM: 10}}
	trueTimes = map[exposure.Category]float64{exposure.Dogs: 2, exposure.People: 1} // what the map predicts
	monthSeed = uint64(20261102)
)

const (
	monthWalks = 60
	monthDog   = `{"name":"Kessa","intake":{"dogs":{"notices_at":80,"takes_food_at":38,"reacts_at":17,"unit":"m"},"child":{"takes_food_at":25,"reacts_at":10}},"drive":"fear","food":"cheese"}`
)

// month is a server, reached over HTTP only, and the place where the dog lives.
type month struct {
	t       *testing.T
	url     string
	planner *routing.Planner
	clock   atomic.Int64
	door    wire.LatLon
	rng     *mrand.Rand
	dog     kept.Dog
}

// TestMonth lives through a month with an invented dog, over HTTP only: intake,
// sixty walks planned and logged, distances proposed and accepted, a source
// reported and one of the map's disputed; and holds the same wish before and after
// against what should have changed. On the demo's town, or on the snapshot named
// in WIDEBERTH_MONTH; make month prints the table.
func TestMonth(t *testing.T) {
	m := newMonth(t)
	t.Logf("seed %d", monthSeed)
	m.post("/v1/dogs", monthDog, &m.dog)
	first := m.look("before any walk")
	edge := longestEdge(&first.plan)
	before := m.dogsPerHour(edge)

	met, over := m.walkAll()
	walked := m.look(fmt.Sprintf("after %d walks, %d meetings with dogs, %d over", monthWalks, met, over))
	after := m.dogsPerHour(edge)
	if factor := after / before; factor < 1.2 || factor > 1.25*trueTimes[exposure.Dogs] {
		t.Errorf("dogs on the same street: %.2f times as many as before the walks, in truth %.1f", factor, trueTimes[exposure.Dogs])
	}
	if told := strings.Join(walked.plan.Assumed, "; "); !strings.Contains(told, fmt.Sprintf("logged walks, %d so far", monthWalks)) {
		t.Errorf("the plan does not say what it learnt from: %s", told)
	}

	accepted := m.accept()
	calmer := m.look("after accepting " + accepted)
	if calmer.x >= walked.x {
		t.Errorf("a dog that copes nearer expects %.3f reactions, before %.3f", calmer.x, walked.x)
	}

	at := calmer.middle
	m.post("/v1/reports", fmt.Sprintf(`{"kind":"dog_behind_fence","what":"dog behind the green fence","lat":%g,"lon":%g,"number":2,"there":true}`, at[1], at[0]), nil)
	reported := m.look("after a report on its way: dog behind a fence")
	nearBefore, nearAfter := m.nearestM(&calmer.plan, at), m.nearestM(&reported.plan, at)
	if nearAfter < nearBefore-1 || nearAfter < nearBefore+1 && reported.x <= calmer.x {
		t.Errorf("after the report the walk passes at %.0f m (before %.0f m) and expects %.3f (before %.3f)", nearAfter, nearBefore, reported.x, calmer.x)
	}

	source := m.busiest()
	m.post("/v1/reports", fmt.Sprintf(`{"mapped":%q,"there":false}`, source.OSM), nil)
	left := m.source(source.OSM).Active
	if left > 0.6*source.Active { // one word right nine times in ten, against a map right nine times in ten: even odds
		t.Errorf("%s was disputed: active %.2f, before %.2f", source.What, left, source.Active)
	}
	disputed := m.look(fmt.Sprintf("after disputing the %s: active %.2f, was %.2f", source.What, left, source.Active))
	if disputed.x > 1.02*reported.x {
		t.Errorf("with one source less %.3f reactions are expected, before %.3f", disputed.x, reported.x)
	}
	m.print([]seen{first, walked, calmer, reported, disputed}, before, after, nearBefore, nearAfter)
}

func newMonth(t *testing.T) *month {
	m := &month{t: t, planner: monthPlanner(t), rng: mrand.New(mrand.NewPCG(monthSeed, 1))}
	m.clock.Store(time.Date(2026, 11, 2, 6, 0, 0, 0, m.planner.Zone()).UnixMilli())
	now := func() time.Time { return time.UnixMilli(m.clock.Load()) }
	memory, err := store.Open(t.Context(), filepath.Join(t.TempDir(), "month.db"), store.Options{Now: now, Rand: rand.Reader, Count: knowledge.Count})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { memory.Close() })
	local, err := memory.Local(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	srv := httptest.NewServer(api.New(api.Options{Atlas: atlas.Of(m.planner), Now: now, Store: memory, Local: local, Version: "month"}).Handler())
	t.Cleanup(srv.Close)
	m.url = srv.URL
	for _, at := range starts(m.planner) { // the first place that has a loop
		lon, lat := m.planner.Frame().Inverse(at)
		m.door = wire.LatLon{Lat: lat, Lon: lon}
		if status, _ := m.send("POST", "/v1/plans", m.wish(m.at(0), ""), nil); status == http.StatusOK {
			return m
		}
	}
	t.Fatal("no place of the map has a loop")
	return nil
}

func monthPlanner(t *testing.T) *routing.Planner {
	t.Helper()
	if path := os.Getenv("WIDEBERTH_MONTH"); path != "" {
		p, err := openPlanner(&world{}, []string{path}, "from", "")
		if err != nil {
			t.Fatal(err)
		}
		return p
	}
	path := filepath.Join(t.TempDir(), testdata.TownFile)
	if err := os.WriteFile(path, testdata.Town(), 0o600); err != nil {
		t.Fatal(err)
	}
	snap, err := snapshot.Import(t.Context(), path, snapshot.ImportOptions{})
	if err != nil {
		t.Fatal(err)
	}
	p, err := routing.NewPlanner(snap, nil)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// at is the departure of the month's i-th walk: every day and a half, in the
// morning.
func (m *month) at(i int) time.Time {
	return time.Date(2026, 11, 2+3*i/2, 7, 10, 0, 0, m.planner.Zone())
}

func (m *month) wish(depart time.Time, dogID string) string {
	who := ""
	if dogID != "" {
		who = `,"dog_id":"` + dogID + `"`
	}
	return fmt.Sprintf(`{"from":{"lat":%g,"lon":%g},"minutes":40,"depart":%q%s}`, m.door.Lat, m.door.Lon, depart.Format(time.RFC3339), who)
}

// send sends one request and decodes an answer that is well.
func (m *month) send(method, path, body string, into any) (int, []byte) {
	m.t.Helper()
	req, err := http.NewRequestWithContext(m.t.Context(), method, m.url+path, strings.NewReader(body))
	if err != nil {
		m.t.Fatal(err)
	}
	req.Header.Set("Content-Type", "application/json")
	answer, err := http.DefaultClient.Do(req)
	if err != nil {
		m.t.Fatal(err)
	}
	defer answer.Body.Close()
	text, err := io.ReadAll(answer.Body)
	if err != nil {
		m.t.Fatal(err)
	}
	if answer.StatusCode == http.StatusOK && into != nil {
		if err := json.Unmarshal(text, into); err != nil {
			m.t.Fatalf("%s %s: %v", method, path, err)
		}
	}
	return answer.StatusCode, text
}

func (m *month) post(path, body string, into any) {
	m.t.Helper()
	if status, text := m.send("POST", path, body, into); status != http.StatusOK {
		m.t.Fatalf("POST %s: %d: %s", path, status, text)
	}
}

// seen is the answer to the one wish that is asked again and again.
type seen struct {
	when   string
	plan   wire.Plan
	x      float64
	calm   float64
	middle wire.Position
}

// look asks the same wish, for the same hour after the month.
func (m *month) look(when string) seen {
	m.t.Helper()
	s := seen{when: when}
	m.post("/v1/plans", m.wish(m.at(monthWalks+1), m.dog.ID), &s.plan)
	walk := &s.plan.Walks[0]
	line := walk.Legs[len(walk.Legs)/2].Geometry.Coordinates
	s.x, s.calm, s.middle = walk.ExpectedReactions, walk.CalmChance, line[len(line)/2]
	return s
}

// longestEdge is an edge of the longest leg of the best walk.
func longestEdge(p *wire.Plan) int32 {
	best := &p.Walks[0].Legs[0]
	for i := range p.Walks[0].Legs {
		if l := &p.Walks[0].Legs[i]; l.LengthM > best.LengthM {
			best = l
		}
	}
	return best.Edges[len(best.Edges)/2]
}

// dogsPerHour is how many dogs are met in an hour of walking on an edge.
func (m *month) dogsPerHour(edge int32) (n float64) {
	m.t.Helper()
	var out struct{ Terms []wire.TermInfo }
	m.post("/v1/explain", fmt.Sprintf(`{"edge":%d,"depart":%q,"dog":{"name":"Kessa","needs":{"dogs":{"working_m":38}}}}`, edge, m.at(monthWalks+1).Format(time.RFC3339)), &out)
	for _, t := range out.Terms {
		if k, err := exposure.ParseKind(t.Kind); err == nil && k.Category() == exposure.Dogs && t.Evidence == exposure.FromHomes.String() {
			n += t.PerHour
		}
	}
	return n
}

// walkAll plans, walks and logs the month's walks.
func (m *month) walkAll() (met, over int) {
	for i := range monthWalks {
		depart := m.at(i)
		m.clock.Store(depart.Add(-time.Hour).UnixMilli())
		var raw json.RawMessage
		m.post("/v1/plans", m.wish(depart, m.dog.ID), &raw)
		var kept kept.Plan
		m.post("/v1/dogs/"+m.dog.ID+"/plans", `{"plan":`+string(raw)+`}`, &kept)
		var plan wire.Plan
		if err := json.Unmarshal(raw, &plan); err != nil {
			m.t.Fatal(err)
		}
		m.clock.Store(depart.Add(2 * time.Hour).UnixMilli())
		key := fmt.Sprintf("walk/%d", i)
		n, bad := m.meet(&plan, depart, key)
		met, over = met+n, over+bad
		ended := depart.Add(time.Duration(plan.Walks[0].DurationS) * time.Second)
		m.post("/v1/dogs/"+m.dog.ID+"/walks", fmt.Sprintf(`{"key":%q,"started":%q,"ended":%q,"plan":%q,"all_told":true}`,
			key, depart.Format(time.RFC3339), ended.Format(time.RFC3339), kept.ID), nil)
	}
	return met, over
}

// meet draws the dogs and children that the walk meets and logs them, each as it would come
// from a phone: before the walk itself, and some twice. What is out there is what
// the map lets expect of streams, times the truth, and of places as it is; how
// near it comes is what the ground allows.
func (m *month) meet(plan *wire.Plan, depart time.Time, key string) (dogs, over int) {
	met := 0
	field, length := m.planner.Snapshot().Field, m.planner.Snapshot().Graph.LengthM
	dog := m.dog.Model()
	stayed := map[[2]int32]bool{}
	for i := range plan.Walks[0].Legs {
		leg := &plan.Walks[0].Legs[i]
		at := depart.Add(time.Duration(leg.StartS) * time.Second)
		whole := 0.0
		for _, e := range leg.Edges {
			whole += float64(length[e])
		}
		for _, e := range leg.Edges {
			for _, term := range field.Explain(e, dog, m.planner.Clock().At(at), nil) {
				n := 0
				if dog.Need(term.Kind).WorkingM == 0 || term.DistM > exposure.BinMaxM {
					continue // calm about it, or out of sight
				}
				category := term.Kind.Category()
				if here := [2]int32{term.Source, int32(term.Kind)}; term.Source < 0 {
					n = m.poisson(term.RatePerS * leg.DurationS * float64(length[e]) / whole * trueTimes[category])
				} else if !stayed[here] && m.rng.Float64() < term.Active {
					stayed[here] = term.DistM < saidOf[category].WorkingM
					n = 1
				}
				for range n {
					if m.log(term.Kind, sameSide(term.DistM*math.Exp(0.1*m.rng.NormFloat64()), term.DistM, dog.Need(term.Kind).WorkingM), e, at, key, met) {
						over++
					}
					if met++; category == exposure.Dogs {
						dogs++
					}
				}
			}
		}
	}
	return dogs, over
}

// sameSide is a distance on that side of a working distance where it is predicted: only
// what comes nearer is counted, and what passes just beyond would be counted half of the
// time and be expected never.
func sameSide(distM, predictedM, workingM float64) float64 {
	if predictedM >= workingM {
		return max(distM, workingM+.5)
	}
	return min(distM, workingM-.5)
}

// log logs one meeting at a distance and says whether the dog went over.
func (m *month) log(kind exposure.Kind, distM float64, edge int32, at time.Time, key string, number int) (over bool) {
	said, p := saidOf[kind.Category()], truthOf[kind.Category()].P(distM)
	over = m.rng.Float64() < p
	did := `,"food":"taken"`
	refuses := 2.25 * p / (1 - p) // on the odds, that it goes over or refuses
	switch {
	case over:
		did = `,"over":"bark"`
	case m.rng.Float64() < (refuses/(1+refuses)-p)/(1-p):
		did = `,"food":"refused"`
	}
	near := fmt.Sprintf(`"nearest":"exact","distance_m":%.0f`, max(1, distM))
	switch { // half are judged by the marks that a phone shows
	case m.rng.Float64() < 0.5:
	case distM >= said.WorkingM:
		near = fmt.Sprintf(`"nearest":"farther_than","distance_m":%g`, said.WorkingM)
	case distM >= said.ReactionM:
		near = fmt.Sprintf(`"nearest":"between","distance_m":%g,"to_m":%g`, said.ReactionM, said.WorkingM)
	default:
		near = fmt.Sprintf(`"nearest":"nearer_than","distance_m":%g`, said.ReactionM)
	}
	line := m.planner.Snapshot().Graph.EdgeLine(edge)
	lon, lat := m.planner.Frame().Inverse(line.At(line.LengthM() / 2))
	body := fmt.Sprintf(`{"key":"%s/%d","walk":%q,"kind":%q,"at":%q,"lat":%g,"lon":%g,%s%s}`, key, number, key, kind, at.Format(time.RFC3339), lat, lon, near, did)
	for range 1 + m.rng.IntN(2) {
		m.post("/v1/dogs/"+m.dog.ID+"/encounters", body, nil)
	}
	return over
}

// poisson draws a count, by multiplying uniforms (Knuth).
func (m *month) poisson(mean float64) (n int) {
	for p := m.rng.Float64(); p > math.Exp(-mean); p *= m.rng.Float64() {
		n++
	}
	return n
}

// accept accepts every proposal to come nearer and gives them in words.
func (m *month) accept() string {
	m.t.Helper()
	var proposals []wire.ProposalInfo
	if status, text := m.send("GET", "/v1/dogs/"+m.dog.ID+"/proposals", "", &proposals); status != http.StatusOK {
		m.t.Fatalf("proposals: %d: %s", status, text)
	}
	var said []string
	truth := truthOf[exposure.Dogs].WorkingM
	for _, p := range proposals {
		if p.Change != "nearer" {
			continue
		}
		if e := p.Evidence; p.Name == "dog_on_lead" && !(e.WorkingLowM*0.8 < truth && truth < e.WorkingHighM*1.25) {
			m.t.Errorf("%s: proposed with %+v, in truth %g m", p.Name, e, truth)
		}
		m.post("/v1/dogs/"+m.dog.ID+"/proposals/"+p.Name+"/acceptance", fmt.Sprintf(`{"from_working_m":%g,"to_working_m":%g}`, p.FromWorkingM, p.ToWorkingM), nil)
		said = append(said, fmt.Sprintf("%s %.0f to %.0f m (80 %%: %.0f to %.0f, from %d)", p.Name, p.FromWorkingM, p.ToWorkingM, p.Evidence.WorkingLowM, p.Evidence.WorkingHighM, p.Evidence.Encounters))
	}
	if len(said) == 0 {
		m.t.Fatalf("nothing was proposed: %+v", proposals)
	}
	return strings.Join(said, ", ")
}

// nearestM is how near the best walk comes to a place.
func (m *month) nearestM(p *wire.Plan, at wire.Position) float64 {
	f, best := m.planner.Frame(), math.Inf(1)
	to := f.Forward(at[0], at[1])
	for _, leg := range p.Walks[0].Legs {
		line := make(plane.Polyline, len(leg.Geometry.Coordinates))
		for i, c := range leg.Geometry.Coordinates {
			line[i] = f.Forward(c[0], c[1])
		}
		_, _, d := line.Nearest(to)
		best = min(best, d)
	}
	return best
}

// sources are the fixed sources within some 1.5 km of the door at the wish's hour.
func (m *month) sources() []wire.SourceInfo {
	m.t.Helper()
	var out struct{ Sources []wire.SourceInfo }
	m.post("/v1/sources", fmt.Sprintf(`{"bbox":[%g,%g,%g,%g],"depart":%q,"dog":{"name":"Kessa","needs":{"dogs":{"working_m":38},"child":{"working_m":25}}}}`,
		m.door.Lon-.02, m.door.Lat-.013, m.door.Lon+.02, m.door.Lat+.013, m.at(monthWalks+1).Format(time.RFC3339)), &out)
	return out.Sources
}

// busiest is the map's source that is likeliest to be active.
func (m *month) busiest() (best wire.SourceInfo) {
	m.t.Helper()
	for _, s := range m.sources() {
		if !strings.HasPrefix(s.OSM, "report/") && s.Active > best.Active {
			best = s
		}
	}
	if best.Active == 0 {
		m.t.Fatal("no source is active near the door")
	}
	return best
}

func (m *month) source(osm string) wire.SourceInfo {
	m.t.Helper()
	for _, s := range m.sources() {
		if s.OSM == osm {
			return s
		}
	}
	m.t.Fatalf("source %s is gone", osm)
	return wire.SourceInfo{}
}

// print writes the month as a short table.
func (m *month) print(rows []seen, before, after, nearBefore, nearAfter float64) {
	var text bytes.Buffer
	w := tabwriter.NewWriter(&text, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "  the same wish\texpected\tcalm\tdogs\tinside")
	fmt.Fprintln(w, "  \treactions\t\tmet\t")
	for _, r := range rows {
		met, inside := 0.0, 0.0
		for _, e := range r.plan.Walks[0].Encounters {
			if e.Category == exposure.Dogs.String() {
				met, inside = met+e.Expected, inside+e.Inside
			}
		}
		fmt.Fprintf(w, "  %s\t%.2f\t%.0f of 10\t%.1f\t%.1f\n", r.when, r.x, 10*r.calm, met, inside)
	}
	fmt.Fprintf(w, "  dogs an hour on one street: %.1f before, %.1f after (in truth %.1f times as many as predicted)\n", before, after, trueTimes[exposure.Dogs])
	fmt.Fprintf(w, "  the reported dog is passed at %.0f m, the way had led by at %.0f m; the dog in truth works from %.0f m\n", nearAfter, nearBefore, truthOf[exposure.Dogs].WorkingM)
	if err := w.Flush(); err != nil {
		m.t.Fatal(err)
	}
	fmt.Printf("  A month in %s, seed %d\n%s", m.planner.Snapshot().Name, monthSeed, text.String())
}
