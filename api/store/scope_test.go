package store_test

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"encoding/xml"
	"errors"
	"io"
	"strings"
	"testing"
	"time"

	"wideberth/api/store"
	"wideberth/api/wire/kept"
	"wideberth/exposure"
)

// full is a dog with one of everything.
type full struct {
	dog    kept.Dog
	walk   kept.Walk
	met    kept.Encounter
	plan   kept.Plan
	report kept.Report
	change kept.Change
	word   kept.Word
	share  kept.Share
}

func (h *house) full(name string) (f full) {
	h.t.Helper()
	ctx := h.t.Context()
	var err error
	f.dog = h.dog(name)
	f.plan, err = h.SavePlan(ctx, h.trainer, f.dog.ID, "town", json.RawMessage(`{"walks":[],"note":"plan of `+name+`"}`))
	h.ok(err)
	f.walk, _, err = h.AddWalk(ctx, h.trainer, f.dog.ID, kept.WalkInput{Key: "w1", Started: start.Add(-2 * time.Hour), Plan: f.plan.ID, Note: "walk of " + name}, nil)
	h.ok(err)
	_, err = h.Attach(ctx, h.trainer, f.walk.ID, path3, nil)
	h.ok(err)
	in := meeting("e1")
	in.Note, in.Lat, in.Lon = "=cmd of "+name, ptr(39.75), ptr(-75.55)
	f.met, _, err = h.AddEncounter(ctx, h.trainer, f.dog.ID, in, "park")
	h.ok(err)
	f.change, err = h.AcceptChange(ctx, h.trainer, f.dog.ID, "dogs", 38, exposure.Need{WorkingM: 31, ReactionM: 13}, kept.Evidence{Encounters: 23})
	h.ok(err)
	_, err = h.PutDocument(ctx, h.trainer, kept.Document{Kind: "visits", ID: "v-" + f.dog.ID, Dog: f.dog.ID, Body: json.RawMessage(`{"steps":3}`)})
	h.ok(err)
	f.report, err = h.AddReport(ctx, h.trainer, barker())
	h.ok(err)
	f.word, err = h.AddWord(ctx, h.trainer, f.dog.ID, kept.WordInput{Helper: "Tilly", Words: "word on " + name})
	h.ok(err)
	_, f.share, err = h.NewShare(ctx, h.trainer, f.dog.ID, "key to "+name, 1)
	h.ok(err)
	return f
}

// TestEveryCallIsScoped tries every call that names a thing with people who may
// not see it: another account's keeper, and a handler who is not given the dog.
func TestEveryCallIsScoped(t *testing.T) {
	each(t, func(t *testing.T, h *house) {
		ctx := t.Context()
		f := h.full("Fern")
		calls := func(w store.Who) map[string]error {
			out := map[string]error{
				"Dog":             onlyErr(h.Dog(ctx, w, f.dog.ID)),
				"SetDog":          onlyErr(h.SetDog(ctx, w, f.dog.ID, 2, profile("Other"), said(profile("Other")))),
				"DeleteDog":       h.DeleteDog(ctx, w, f.dog.ID, "Fern"),
				"History":         onlyErr(h.History(ctx, w, f.dog.ID)),
				"AcceptChange":    onlyErr(h.AcceptChange(ctx, w, f.dog.ID, "dogs", 31, exposure.Need{WorkingM: 20, ReactionM: 10}, kept.Evidence{})),
				"RevertChange":    onlyErr(h.RevertChange(ctx, w, f.dog.ID, f.change.ID)),
				"Export":          h.Export(ctx, w, f.dog.ID, store.ExportJSON, io.Discard),
				"SavePlan":        onlyErr(h.SavePlan(ctx, w, f.dog.ID, "town", json.RawMessage(`{}`))),
				"Plan":            onlyErr(h.Plan(ctx, w, f.plan.ID)),
				"Plans":           onlyErr(h.Plans(ctx, w, f.dog.ID)),
				"DeletePlan":      h.DeletePlan(ctx, w, f.plan.ID),
				"Walk":            onlyErr(h.Walk(ctx, w, f.walk.ID)),
				"Walks":           onlyErr(h.Walks(ctx, w, f.dog.ID, store.NoTime, 9)),
				"SetWalk":         onlyErr(h.SetWalk(ctx, w, f.walk.ID, kept.WalkInput{Started: start}, nil)),
				"DeleteWalk":      h.DeleteWalk(ctx, w, f.walk.ID),
				"Attach":          onlyErr(h.Attach(ctx, w, f.walk.ID, path3, nil)),
				"Track":           onlyErr(h.Track(ctx, w, f.walk.ID)),
				"DetachTrack":     h.DetachTrack(ctx, w, f.walk.ID),
				"Encounter":       onlyErr(h.Encounter(ctx, w, f.met.ID)),
				"Encounters":      onlyErr(h.Encounters(ctx, w, f.dog.ID, "", store.NoTime)),
				"SetEncounter":    onlyErr(h.SetEncounter(ctx, w, f.met.ID, meeting(""), "")),
				"RemoveEncounter": h.RemoveEncounter(ctx, w, f.met.ID),
				"Document":        onlyErr(h.Document(ctx, w, "visits", "v-"+f.dog.ID)),
				"DeleteDocument":  h.DeleteDocument(ctx, w, "visits", "v-"+f.dog.ID),
				"AddWord":         onlyErr(h.AddWord(ctx, w, f.dog.ID, kept.WordInput{Helper: "Tilly", Words: "mine"})),
				"Words":           onlyErr(h.Words(ctx, w, f.dog.ID)),
				"Word":            onlyErr(h.Word(ctx, w, f.word.ID)),
				"WithdrawWord":    h.WithdrawWord(ctx, w, f.word.ID),
				"NewShare":        second1(h.NewShare(ctx, w, f.dog.ID, "", 1)),
				"Shares":          onlyErr(h.Shares(ctx, w, f.dog.ID)),
				"RevokeShare":     h.RevokeShare(ctx, w, f.share.ID),
				"Visits":          onlyErr(h.Visits(ctx, w, f.dog.ID, "v-"+f.dog.ID)),
			}
			_, _, out["AddWalk"] = h.AddWalk(ctx, w, f.dog.ID, kept.WalkInput{Started: start}, nil)
			_, _, out["AddEncounter"] = h.AddEncounter(ctx, w, f.dog.ID, meeting("e1"), "")
			_, _, out["Logged"] = h.Logged(ctx, w, f.dog.ID, store.NoTime)
			return out
		}
		other := h.account("Birch House")
		for name, err := range calls(other) {
			want(t, name+" by another account", err, store.ErrNotFound)
		}
		for name, err := range calls(h.handler) {
			if !errors.Is(err, store.ErrNotFound) && !errors.Is(err, store.ErrForbidden) {
				t.Errorf("%s by a handler who is not given the dog: %v", name, err)
			}
		}
		want(t, "another account's report", onlyErr(h.Report(ctx, other, f.report.ID)), store.ErrNotFound)
		want(t, "a word on another account's report", onlyErr(h.State(ctx, other, f.report.ID, true)), store.ErrNotFound)
		want(t, "deleting another account's report", h.DeleteReport(ctx, other, f.report.ID), store.ErrNotFound)
		for name, n := range map[string]int{"dogs": len(list(h.Dogs(ctx, other))), "reports": len(list(h.Reports(ctx, other))),
			"documents": len(list(h.Documents(ctx, other, "visits"))), "a handler's documents": len(list(h.Documents(ctx, h.handler, "visits")))} {
			if n != 0 {
				t.Errorf("%d %s are seen", n, name)
			}
		}
		if _, err := h.Track(ctx, h.trainer, f.walk.ID); err != nil {
			t.Errorf("something was changed all the same: %v", err)
		}
	})
}

func list[T any](l []T, _ error) []T { return l }

// export is what is written about a dog in a form.
func (h *house) export(dog string, form store.ExportForm) []byte {
	h.t.Helper()
	var out bytes.Buffer
	h.ok(h.Export(h.t.Context(), h.trainer, dog, form, &out))
	return out.Bytes()
}

func TestExport(t *testing.T) {
	each(t, func(t *testing.T, h *house) {
		f := h.full("Fern")
		h.full("Miko") // must not come along
		var e kept.Everything
		text := h.export(f.dog.ID, store.ExportJSON)
		h.ok(json.Unmarshal(text, &e))
		if e.Dog.Profile.Name != "Fern" || len(e.Walks) != 1 || len(e.Encounters) != 1 || len(e.Tracks[f.walk.ID]) != 3 || len(e.Plans) != 1 || len(e.History) != 1 || len(e.Documents) != 1 {
			t.Errorf("export %+v", e)
		}
		if bytes.Contains(text, []byte("Miko")) {
			t.Error("another dog came along")
		}
		rows, err := csv.NewReader(bytes.NewReader(h.export(f.dog.ID, store.ExportCSV))).ReadAll()
		h.ok(err)
		if len(rows) != 2 || rows[0][0] != "id" || rows[1][3] != "dog_on_lead" || rows[1][5] != "20" {
			t.Errorf("table %q", rows)
		}
		if note := rows[1][len(rows[1])-1]; !strings.HasPrefix(note, "'=") {
			t.Errorf("a note that a spreadsheet would work out: %q", note)
		}
		doc := h.export(f.dog.ID, store.ExportGPX)
		var gpx struct {
			XMLName xml.Name
			Version string `xml:"version,attr"`
			Wpt     []struct {
				Name string `xml:"name"`
			} `xml:"wpt"`
			Points []struct {
				Lat float64 `xml:"lat,attr"`
			} `xml:"trk>trkseg>trkpt"`
		}
		h.ok(xml.Unmarshal(doc, &gpx))
		if gpx.XMLName.Space != "http://www.topografix.com/GPX/1/1" || gpx.Version != "1.1" || len(gpx.Points) != 3 || len(gpx.Wpt) != 1 || gpx.Points[0].Lat != 39.75 {
			t.Errorf("GPX %s", doc)
		}
		want(t, "a handler's export", h.Export(t.Context(), h.handler, f.dog.ID, store.ExportJSON, io.Discard), store.ErrForbidden)
	})
}

func TestDeletion(t *testing.T) {
	each(t, func(t *testing.T, h *house) {
		ctx := t.Context()
		f, g := h.full("Fern"), h.full("Miko")
		want(t, "another name", h.DeleteDog(ctx, h.trainer, f.dog.ID, "Miko"), store.ErrConflict)
		want(t, "a handler", h.DeleteDog(ctx, h.handler, f.dog.ID, "Fern"), store.ErrForbidden)
		outing := func(id string, dogs ...string) {
			body, err := json.Marshal(map[string]any{"dogs": dogs})
			h.ok(err)
			_, err = h.PutDocument(ctx, h.trainer, kept.Document{Kind: "outings", ID: id, Body: body})
			h.ok(err)
		}
		outing("both", f.dog.ID, g.dog.ID)
		outing("other", g.dog.ID)
		h.ok(h.DeleteDog(ctx, h.trainer, f.dog.ID, "Fern"))
		want(t, "an outing with the deleted dog", onlyErr(h.Document(ctx, h.trainer, "outings", "both")), store.ErrNotFound)
		if _, err := h.Document(ctx, h.trainer, "outings", "other"); err != nil {
			t.Errorf("an outing without it is gone: %v", err)
		}
		for name, err := range map[string]error{"dog": onlyErr(h.Dog(ctx, h.trainer, f.dog.ID)), "walk": onlyErr(h.Walk(ctx, h.trainer, f.walk.ID)),
			"meeting": onlyErr(h.Encounter(ctx, h.trainer, f.met.ID)), "plan": onlyErr(h.Plan(ctx, h.trainer, f.plan.ID)),
			"visits": onlyErr(h.Document(ctx, h.trainer, "visits", "v-"+f.dog.ID))} {
			want(t, "the deleted dog's "+name, err, store.ErrNotFound)
		}
		if _, err := h.Track(ctx, h.trainer, g.walk.ID); err != nil {
			t.Errorf("another dog lost its track: %v", err)
		}
		want(t, "another account's name", h.DeleteAccount(ctx, h.keeper, "Birch House"), store.ErrConflict)
		want(t, "a trainer deletes the account", h.DeleteAccount(ctx, h.trainer, "Alder House"), store.ErrForbidden)
		h.ok(h.DeleteAccount(ctx, h.keeper, "Alder House"))
		want(t, "a dog of the deleted account", onlyErr(h.Dog(ctx, h.trainer, g.dog.ID)), store.ErrNotFound)
		n, err := h.RowsLeftForTest(ctx)
		h.ok(err)
		if n != 0 {
			t.Errorf("%d rows are left of the only account", n)
		}
	})
}

// TestDeletedIsOverwritten looks into the files themselves.
func TestDeletedIsOverwritten(t *testing.T) {
	path := newFile(t)
	h := newHouse(t, path)
	f := h.full("Zorrowind")
	if inFiles(t, path, "Zorrowind") == "" || inFiles(t, path, "39.7503") == "" {
		t.Fatal("the search finds nothing before the deletion either")
	}
	h.ok(h.DeleteDog(t.Context(), h.trainer, f.dog.ID, "Zorrowind"))
	for _, text := range []string{"Zorrowind", "39.7503", f.dog.ID} {
		if found := inFiles(t, path, text); found != "" {
			t.Errorf("%q still stands in %s", text, found)
		}
	}
}
