package memory_test

import (
	"encoding/csv"
	"encoding/json"
	"encoding/xml"
	"errors"
	"fmt"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"wideberth/api/memory"
	"wideberth/api/wire"
	"wideberth/api/wire/kept"
)

// met puts down meetings with a dog on the lead, a minute apart.
func (o *office) met(dog string, times int, m func(i int) float64, over func(m float64) string) {
	o.t.Helper()
	for i := range times {
		d := m(i)
		in := kept.EncounterInput{Key: fmt.Sprintf("%s-%d-%g", o.now.Format(time.RFC3339), i, d), Kind: "dog_on_lead", At: o.now.Add(time.Duration(i-times) * time.Minute), Nearest: "exact", DistanceM: &d, Over: over(d), Food: "taken"}
		if in.Over != "" {
			in.Food = ""
		}
		if _, _, err := o.store.AddEncounter(o.t.Context(), o.keeper, dog, in, ""); err != nil {
			o.t.Fatal(err)
		}
	}
}

// offer is what is proposed for dogs on the lead.
func (o *office) offer(dog string) wire.ProposalInfo {
	o.t.Helper()
	var all []wire.ProposalInfo
	o.send(o.keeper, "GET", "/v1/dogs/"+dog+"/proposals", "", 200, &all)
	for _, p := range all {
		if p.Name == "dog_on_lead" {
			return p
		}
	}
	return wire.ProposalInfo{}
}

// TestDogs: plain answers become distances, a change needs the version that was seen, and
// a dog goes with its name.
func TestDogs(t *testing.T) {
	o := newOffice(t)
	if text := o.send(o.keeper, "GET", "/v1/dogs", "", 200, nil); text != "[]\n" {
		t.Errorf("no dogs: %q", text)
	}
	dog := o.fern()
	if d := dog.Distances["dogs"]; d.WorkingM != 40 || d.ReactionM != 16 {
		t.Errorf("distances %+v", dog.Distances)
	}
	if text := o.send(o.keeper, "GET", "/v1/dogs/"+dog.ID+"/history", "", 200, nil); text != "[]\n" {
		t.Errorf("no history: %q", text)
	}
	for _, path := range []string{"/v1/dogs", "/v1/dogs/" + dog.ID} {
		body, method := `{"name":"Fern","intake":{"dogs":{"takes_food_at":10,"reacts_at":16}}}`, "POST"
		if path != "/v1/dogs" {
			body, method = `{"version":1,"profile":`+body+`}`, "PUT"
		}
		if text := o.send(o.keeper, method, path, body, 422, nil); !strings.Contains(text, "intake") {
			t.Errorf("works nearer than it reacts: %s", text)
		}
	}
	o.send(o.keeper, "PUT", "/v1/dogs/"+dog.ID, `{"version":1,"profile":{"name":"Fern","needs":{"dogs":{"working_m":55}}}}`, 200, &dog)
	if dog.Version != 2 || dog.Distances["dogs"].WorkingM != 55 {
		t.Errorf("changed: %+v", dog)
	}
	o.send(o.keeper, "POST", "/v1/dogs/"+dog.ID+"/deletion", `{"name":"Fern"}`, 204, nil)
	o.send(o.keeper, "GET", "/v1/dogs/"+dog.ID, "", 404, nil)
}

// TestProposals: three reactions beyond the distance say farther; only what was proposed
// can be accepted, and only once; it stands in the history and can be taken back.
func TestProposals(t *testing.T) {
	o := newOffice(t)
	dog := o.fern()
	o.met(dog.ID, 3, func(i int) float64 { return 50 + float64(i)/10 }, func(float64) string { return "lunge" })
	p := o.offer(dog.ID)
	if p.Change != "farther" || p.ToWorkingM <= 40 || p.Evidence == nil || p.Evidence.Beyond != 3 {
		t.Fatalf("%+v", p)
	}
	path := "/v1/dogs/" + dog.ID + "/proposals/dog_on_lead/acceptance"
	body := func(from, to float64) string { return fmt.Sprintf(`{"from_working_m":%g,"to_working_m":%g}`, from, to) }
	o.send(o.keeper, "POST", path, body(p.FromWorkingM, p.ToWorkingM+1), 409, nil)
	o.send(o.keeper, "POST", path, body(p.FromWorkingM-5, p.ToWorkingM), 409, nil)
	o.send(o.keeper, "POST", strings.Replace(path, "dog_on_lead", "child", 1), body(p.FromWorkingM, p.ToWorkingM), 409, nil)
	var change kept.Change
	o.send(o.keeper, "POST", path, body(p.FromWorkingM, p.ToWorkingM), 200, &change)
	o.send(o.keeper, "POST", path, body(p.FromWorkingM, p.ToWorkingM), 409, nil)
	var history []kept.Change
	o.send(o.keeper, "GET", "/v1/dogs/"+dog.ID+"/history", "", 200, &history)
	if len(history) != 1 || history[0].ID != change.ID {
		t.Errorf("history %+v", history)
	}
	o.send(o.keeper, "GET", "/v1/dogs/"+dog.ID, "", 200, &dog)
	if d, _, _ := dog.Of("dog_on_lead"); d.WorkingM != p.ToWorkingM || d.ReactionM != p.ToReactionM {
		t.Errorf("accepted %+v, the dog has %+v", p, d)
	}
	o.send(o.keeper, "POST", "/v1/dogs/"+dog.ID+"/history/"+change.ID+"/reversion", "", 200, nil)
	var back kept.Dog
	o.send(o.keeper, "GET", "/v1/dogs/"+dog.ID, "", 200, &back)
	if d, _, _ := back.Of("dog_on_lead"); d.WorkingM != 40 {
		t.Errorf("taken back: %+v", d)
	}
}

// TestSnapStopsNearer: after a snap nothing nearer is proposed or can be accepted,
// until a trainer lifts the flag.
func TestSnapStopsNearer(t *testing.T) {
	o := newOffice(t)
	dog := o.fern()
	o.met(dog.ID, 40, func(i int) float64 { return float64(6 + i%20*2) }, func(m float64) string {
		if m < 14 {
			return "bark"
		}
		return ""
	})
	near := o.offer(dog.ID)
	if near.Change != "nearer" {
		t.Fatalf("%+v", near)
	}
	o.now = o.now.Add(time.Hour)
	o.met(dog.ID, 1, func(int) float64 { return 2 }, func(float64) string { return "snap" })
	if p := o.offer(dog.ID); !p.Stopped || p.Change != "keep" || p.ToWorkingM != p.FromWorkingM {
		t.Errorf("after a snap: %+v", p)
	}
	o.send(o.keeper, "POST", "/v1/dogs/"+dog.ID+"/proposals/dog_on_lead/acceptance", fmt.Sprintf(`{"from_working_m":%g,"to_working_m":%g}`, near.FromWorkingM, near.ToWorkingM), 409, nil)
	o.send(o.keeper, "POST", "/v1/dogs/"+dog.ID+"/flag/lifting", "", 200, &dog)
	if p := o.offer(dog.ID); dog.Flag != nil || p.Stopped || p.Change != "nearer" {
		t.Errorf("lifted: flag %+v, %+v", dog.Flag, p)
	}
}

// TestLongMemory: who lets meetings count half after two years has those of three
// years ago looked at; who forgets in two months has not.
func TestLongMemory(t *testing.T) {
	o := newOffice(t)
	dog, now := o.fern(), o.now
	o.now = now.AddDate(-3, 0, 0)
	o.met(dog.ID, 6, func(i int) float64 { return 16 }, func(float64) string { return "bark" })
	o.now = now
	for days, counts := range map[int]bool{60: false, 730: true} {
		o.send(o.keeper, "PUT", "/v1/account/settings", fmt.Sprintf(`{"keep_tracks_days":90,"half_life_days":%d,"units":"m","clock":"24"}`, days), 204, nil)
		if p := o.offer(dog.ID); p.Have > 0 != counts {
			t.Errorf("half-life %d days: %+v", days, p)
		}
	}
}

// TestReports: a reported source counts, more so once another confirms it, less once it
// is disputed, and fades with time.
func TestReports(t *testing.T) {
	o := newOffice(t)
	second, third := o.person(kept.Handler), o.person(kept.Handler)
	var said, confirmed, disputed wire.KeptReport
	o.send(o.keeper, "POST", "/v1/reports", `{"kind":"dog_behind_fence","lat":47.2,"lon":-7,"there":true}`, 200, &said)
	if !said.Live || said.Confirm != 1 || said.Dispute != 0 || !said.Spoken.Equal(o.now) {
		t.Fatalf("%+v", said)
	}
	o.send(second, "POST", "/v1/reports/"+said.ID+"/confirmation", "", 200, &confirmed)
	if confirmed.Confirm != 2 || confirmed.Presence <= said.Presence {
		t.Errorf("confirmed: %+v after %g", confirmed, said.Presence)
	}
	o.send(third, "POST", "/v1/reports/"+said.ID+"/dispute", "", 200, &disputed)
	if disputed.Dispute != 1 || disputed.Presence >= confirmed.Presence {
		t.Errorf("disputed: %+v after %g", disputed, confirmed.Presence)
	}
	var now, later []wire.KeptReport
	o.send(o.keeper, "GET", "/v1/reports", "", 200, &now)
	o.now = o.now.AddDate(2, 0, 0)
	o.send(o.keeper, "GET", "/v1/reports", "", 200, &later)
	if len(now) != 1 || len(later) != 1 || now[0].Presence != disputed.Presence || later[0].Presence >= now[0].Presence {
		t.Errorf("now %+v, in two years %+v", now, later)
	}
	o.send(o.keeper, "DELETE", "/v1/reports/"+said.ID, "", 204, nil)
	if text := o.send(o.keeper, "GET", "/v1/reports", "", 200, nil); text != "[]\n" {
		t.Errorf("left %q", text)
	}
}

// TestDocuments: a sequence lives with a dog and is one; a version is changed once; what is
// kept whole has a size.
func TestDocuments(t *testing.T) {
	o := newOffice(t)
	dog := o.fern()
	const sequence = `"body":{"wish":{"kind":"dogs"},"sequence":{"visits":[{"at":[-7,47.2],"distance_m":76,"multiple":2}]},"step":1}`
	for _, c := range []struct{ body, want string }{
		{`{"version":0,` + sequence + `}`, "body.dog"},
		{`{"version":0,"dog":"` + dog.ID + `","body":{}}`, "body.body.sequence.visits"},
		{`{"version":0,"dog":"` + dog.ID + `",` + strings.Replace(sequence, `"step":1`, `"step":2`, 1) + `}`, "body.body.step"},
	} {
		if text := o.send(o.keeper, "PUT", "/v1/documents/visits/v", c.body, 422, nil); !strings.Contains(text, c.want) {
			t.Errorf("%s: %s", c.body, text)
		}
	}
	var d kept.Document
	o.send(o.keeper, "PUT", "/v1/documents/visits/v", `{"version":0,"dog":"`+dog.ID+`",`+sequence+`}`, 200, &d)
	o.send(o.keeper, "PUT", "/v1/documents/visits/v", `{"version":0,"dog":"`+dog.ID+`",`+sequence+`}`, 409, nil)
	o.send(o.keeper, "PUT", "/v1/documents/visits/v", `{"version":1,"dog":"`+dog.ID+`",`+sequence+`}`, 200, &d)
	var one kept.Document
	o.send(o.keeper, "GET", "/v1/documents/visits/v", "", 200, &one)
	var heads []kept.DocumentHead
	o.send(o.keeper, "GET", "/v1/documents/visits", "", 200, &heads)
	if d.Version != 2 || one.Version != 2 || one.Dog != dog.ID || len(heads) != 1 || heads[0].ID != "v" {
		t.Errorf("%+v, %+v, %+v", d, one, heads)
	}
	if text := o.send(o.keeper, "GET", "/v1/documents/outings", "", 200, nil); text != "[]\n" {
		t.Errorf("no timetables: %q", text)
	}
	o.send(o.keeper, "DELETE", "/v1/documents/visits/v", "", 204, nil)
	o.send(o.keeper, "GET", "/v1/documents/visits/v", "", 404, nil)
	document := func(bytes int) string {
		return `{"version":0,"body":{"rows":"` + strings.Repeat("x", bytes) + `"}}`
	}
	o.send(o.keeper, "PUT", "/v1/documents/outings/a", document(3<<20), 200, nil) // sixty dogs with all their legs
	o.send(o.keeper, "PUT", "/v1/documents/outings/b", document(4<<20), 422, nil)
	o.send(o.keeper, "PUT", "/v1/documents/outings/c", document(5<<20), 413, nil)
}

// TestExports: each form goes out under its type and, as a file, under a name; the
// readers of the standard library take them (RFC 8259, RFC 4180, XML).
func TestExports(t *testing.T) {
	o := newOffice(t)
	dog := o.fern()
	o.met(dog.ID, 2, func(i int) float64 { return 30 }, func(float64) string { return "" })
	for _, c := range []struct {
		path, form, file string
		read             func(text string) error
	}{
		{"/export", "application/json", "", func(text string) error {
			var all kept.Everything
			err := json.Unmarshal([]byte(text), &all)
			if err == nil && (all.Dog.ID != dog.ID || len(all.Encounters) != 2) {
				err = fmt.Errorf("%+v", all)
			}
			return err
		}},
		{"/export.csv", "text/csv; charset=utf-8; header=present", ".csv", func(text string) error {
			rows, err := csv.NewReader(strings.NewReader(text)).ReadAll()
			if err == nil && len(rows) != 3 {
				err = fmt.Errorf("%d rows", len(rows))
			}
			return err
		}},
		{"/export.gpx", "application/gpx+xml", ".gpx", func(text string) error {
			var file struct {
				XMLName xml.Name `xml:"http://www.topografix.com/GPX/1/1 gpx"`
				Version string   `xml:"version,attr"`
			}
			err := xml.Unmarshal([]byte(text), &file)
			if err == nil && file.Version != "1.1" {
				err = errors.New(file.Version)
			}
			return err
		}},
	} {
		rec := o.ask(o.keeper, "GET", "/v1/dogs/"+dog.ID+c.path, "")
		wantFile := ""
		if c.file != "" {
			wantFile = `attachment; filename="dog-` + dog.ID + c.file + `"`
		}
		if h := rec.Header(); rec.Code != 200 || h.Get("Content-Type") != c.form || h.Get("Content-Disposition") != wantFile {
			t.Errorf("%s: status %d, %v", c.path, rec.Code, h)
		}
		if err := c.read(rec.Body.String()); err != nil {
			t.Errorf("%s: %v: %.300s", c.path, err, rec.Body)
		}
	}
	rec := o.ask(o.keeper, "GET", "/v1/dogs/nosuch/export.csv", "")
	if rec.Code != 404 || rec.Header().Get("Content-Type") != "application/problem+json" || rec.Header().Get("Content-Disposition") != "" {
		t.Errorf("of no dog: status %d, %v", rec.Code, rec.Header())
	}
}

// narrow is an answer of which only the first bytes get through.
type narrow struct {
	*httptest.ResponseRecorder
	left int
}

func (n *narrow) Write(p []byte) (int, error) {
	if n.left -= len(p); n.left < 0 {
		return 0, errors.New("the line is cut")
	}
	return n.ResponseRecorder.Write(p)
}

// TestExportBreaksOff: what cannot be ended is broken off, so that nobody takes half of it
// for the whole, and written down; the place at the gate is free again. While it is
// taken, the next is told to come again.
func TestExportBreaksOff(t *testing.T) {
	o := newOffice(t)
	dog := o.fern()
	o.met(dog.ID, 5, func(i int) float64 { return 30 }, func(float64) string { return "" })
	path := "/v1/dogs/" + dog.ID + "/export"
	leave, err := o.desk.Gate.Enter(t.Context(), "somebody")
	if err != nil {
		t.Fatal(err)
	}
	if rec := o.ask(o.keeper, "GET", path, ""); rec.Code != 503 || rec.Header().Get("Retry-After") == "" {
		t.Errorf("at a full gate: status %d, %v", rec.Code, rec.Header())
	}
	leave()
	req := httptest.NewRequest(http.MethodGet, path, nil)
	req = req.WithContext(memory.WithWho(req.Context(), o.keeper))
	func() {
		defer func() {
			if v := recover(); v != http.ErrAbortHandler { //nolint:errorlint // net/http compares it so
				t.Errorf("ended with %v", v)
			}
		}()
		o.mux.ServeHTTP(&narrow{httptest.NewRecorder(), 200}, req)
	}()
	if !strings.Contains(o.log.String(), "export broke off") {
		t.Errorf("log: %s", o.log.String())
	}
	if in := o.desk.Gate.Load(); in.In != 0 {
		t.Errorf("%d still at the gate", in.In)
	}
	o.send(o.keeper, "GET", path, "", 200, nil)
}

// TestAdopterNoteOverHTTP: from what was logged, for whom the dog is theirs to see.
func TestAdopterNoteOverHTTP(t *testing.T) {
	o := newOffice(t)
	dog := o.fern()
	for i := range 3 {
		start := o.now.Add(-time.Duration(24*(i+1)) * time.Hour)
		if _, _, err := o.store.AddWalk(t.Context(), o.keeper, dog.ID, kept.WalkInput{Key: fmt.Sprint("walk ", i), Started: start, Ended: start.Add(30 * time.Minute), AllTold: true}, nil); err != nil {
			t.Fatal(err)
		}
	}
	m := 15.0
	if _, _, err := o.store.AddEncounter(t.Context(), o.keeper, dog.ID, kept.EncounterInput{Key: "loud", Walk: "walk 0", Kind: "dog_on_lead", At: o.now.Add(-24 * time.Hour), Nearest: "exact", DistanceM: &m, Over: "bark"}, ""); err != nil {
		t.Fatal(err)
	}
	var note memory.AdopterNote
	o.send(o.keeper, "GET", "/v1/dogs/"+dog.ID+"/adopter", "", 200, &note)
	if note.Walks != 3 || note.CalmWalks != 2 || note.Dog != "Fern" || len(note.Texts) < 3 {
		t.Errorf("%+v", note)
	}
	o.send(o.person(kept.Handler), "GET", "/v1/dogs/"+dog.ID+"/adopter", "", 404, nil)
	o.send(o.person(kept.Handler, dog.ID), "GET", "/v1/dogs/"+dog.ID+"/adopter", "", 200, nil)
}
