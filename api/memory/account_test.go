package memory_test

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"wideberth/api/store"
	"wideberth/api/wire"
	"wideberth/api/wire/kept"
)

// TestSettings: what is wrong with them is told together, also what stands deeper;
// nothing of it is kept.
func TestSettings(t *testing.T) {
	o := newOffice(t)
	var a kept.Account
	o.send(o.keeper, "GET", "/v1/account", "", 200, &a)
	if a.Name != "Shelter" || a.You.Name != "Kit" || a.You.Role != kept.Keeper || a.Settings != kept.DefaultSettings() {
		t.Errorf("%+v", a)
	}
	const good = `"keep_tracks_days":90,"half_life_days":100,"units":"ft","clock":"12"`
	for _, c := range []struct{ more, want string }{
		{`,"training_rule":{"after":0,"over":3}`, "body.training_rule"},
		{`,"free_hours":{"spans":["25:00-26:00"]}`, "body.free_hours"},
		{`,"free_hours":{"spans":["07:00-07:00"]}`, "body.free_hours"},
	} {
		if text := o.send(o.keeper, "PUT", "/v1/account/settings", `{`+good+c.more+`}`, 422, nil); !strings.Contains(text, c.want) {
			t.Errorf("%s: %s", c.more, text)
		}
	}
	o.send(o.keeper, "PUT", "/v1/account/settings", `{`+good+`,"free_hours":{"spans":["06:30-08:00"],"unlit":true}}`, 204, nil)
	o.send(o.keeper, "GET", "/v1/account", "", 200, &a)
	if s := a.Settings; s.KeepTracksDays != 90 || s.HalfLifeDays != 100 || s.Units != "ft" || s.Clock != "12" || s.FreeHours == nil || !s.FreeHours.Unlit {
		t.Errorf("kept %+v", s)
	}
	var limits []kept.Limit
	if o.send(o.keeper, "GET", "/v1/limits", "", 200, &limits); fmt.Sprint(limits) != fmt.Sprint(store.Limits()) || len(limits) == 0 {
		t.Errorf("limits %+v", limits)
	}
}

// TestPeopleAndKeys: somebody is added, changed, given a key, and removed with it.
func TestPeopleAndKeys(t *testing.T) {
	o := newOffice(t)
	dog := o.fern()
	var robin wire.NewPerson
	o.send(o.keeper, "POST", "/v1/people", `{"name":"Robin","role":"handler"}`, 200, &robin)
	o.send(o.keeper, "PUT", "/v1/people/"+robin.ID, `{"name":"Robin B","role":"handler","dogs":["`+dog.ID+`"]}`, 204, nil)
	var short, long wire.NewKey
	o.send(o.keeper, "POST", "/v1/people/"+robin.ID+"/keys", `{"label":"phone","days":7}`, 200, &short)
	o.send(o.keeper, "POST", "/v1/people/"+robin.ID+"/keys", `{}`, 200, &long)
	if d := short.Info.Expires.Sub(o.now).Hours(); d != 7*24 {
		t.Errorf("a key of a week holds %g hours", d)
	}
	if d := long.Info.Expires.Sub(o.now).Hours() / 24; d != 365 {
		t.Errorf("a key of no said length holds %g days", d)
	}
	w, err := o.store.Authenticate(t.Context(), short.Token)
	if err != nil || w.Person != robin.ID || w.Role != kept.Handler {
		t.Fatalf("the key opens for %+v: %v", w, err)
	}
	o.send(w, "GET", "/v1/dogs/"+dog.ID, "", 200, nil)
	o.send(o.keeper, "DELETE", "/v1/keys/"+short.Info.ID, "", 204, nil)
	if _, err := o.store.Authenticate(t.Context(), short.Token); !errors.Is(err, store.ErrUnknownToken) {
		t.Errorf("revoked: %v", err)
	}
	var people []kept.Person
	o.send(o.keeper, "GET", "/v1/people", "", 200, &people)
	for _, p := range people {
		if p.ID == robin.ID && (p.Name != "Robin B" || len(p.Dogs) != 1 || len(p.Keys) != 2) {
			t.Errorf("%+v", p)
		}
	}
	o.send(o.keeper, "DELETE", "/v1/people/"+robin.ID, "", 204, nil)
	if _, err := o.store.Authenticate(t.Context(), long.Token); !errors.Is(err, store.ErrUnknownToken) {
		t.Errorf("with its person gone: %v", err)
	}
	if o.send(o.keeper, "GET", "/v1/people", "", 200, &people); len(people) != 1 || people[0].Name != "Kit" {
		t.Errorf("left %+v", people)
	}
}

// TestRoles: what a handler, a trainer and a keeper may do. The table is written down
// from what each role is said to be (kept.Role), not from the code.
func TestRoles(t *testing.T) {
	o := newOffice(t)
	dog, hidden := o.fern(), o.fern()
	people := [3]store.Who{o.person(kept.Handler, dog.ID), o.person(kept.Trainer), o.keeper}
	for _, c := range []struct {
		method, path, body string
		want               [3]int // of handler, trainer, keeper
	}{
		{"GET", "/v1/account", "", [3]int{200, 200, 200}},
		{"GET", "/v1/limits", "", [3]int{200, 200, 200}},
		{"GET", "/v1/dogs/" + dog.ID, "", [3]int{200, 200, 200}},
		{"GET", "/v1/dogs/" + hidden.ID, "", [3]int{404, 200, 200}},
		{"GET", "/v1/dogs/" + hidden.ID + "/history", "", [3]int{404, 200, 200}},
		{"GET", "/v1/dogs/" + hidden.ID + "/proposals", "", [3]int{404, 200, 200}},
		{"GET", "/v1/dogs/" + dog.ID + "/proposals", "", [3]int{200, 200, 200}},
		{"GET", "/v1/dogs/" + dog.ID + "/export", "", [3]int{403, 200, 200}},
		{"POST", "/v1/dogs", intake, [3]int{403, 200, 200}},
		{"POST", "/v1/dogs/" + hidden.ID + "/deletion", `{"name":"Other"}`, [3]int{403, 409, 409}},
		{"POST", "/v1/dogs/" + dog.ID + "/flag/lifting", "", [3]int{403, 409, 409}},
		{"POST", "/v1/reports", `{"kind":"dog_behind_fence","lat":47.2,"lon":-7,"there":true}`, [3]int{200, 200, 200}},
		{"PUT", "/v1/documents/outings/a", `{"version":0,"body":{}}`, [3]int{403, 200, 409}},
		{"GET", "/v1/people", "", [3]int{403, 403, 200}},
		{"POST", "/v1/people", `{"name":"Sam","role":"handler"}`, [3]int{403, 403, 200}},
		{"POST", "/v1/people/" + people[0].Person + "/keys", `{}`, [3]int{403, 403, 200}},
		{"DELETE", "/v1/people/" + people[2].Person, "", [3]int{403, 403, 409}}, // the last keeper
		{"PUT", "/v1/account/settings", `{"keep_tracks_days":90,"half_life_days":60,"units":"m","clock":"24"}`, [3]int{403, 403, 204}},
		{"POST", "/v1/account/deletion", `{"name":"Other"}`, [3]int{403, 403, 409}},
	} {
		for i, w := range people {
			if rec := o.ask(w, c.method, c.path, c.body); rec.Code != c.want[i] {
				t.Errorf("%s %s of a %s: status %d, want %d: %.300s", c.method, c.path, w.Role, rec.Code, c.want[i], rec.Body)
			}
		}
	}
}

// TestConflictsSayWhat: a conflict and a refusal are told in their own words, not
// as if all were one.
func TestConflictsSayWhat(t *testing.T) {
	o := newOffice(t)
	dog := o.fern()
	handler := o.person(kept.Handler)
	for _, c := range []struct {
		who                      store.Who
		method, path, body, want string
		status                   int
	}{
		{o.keeper, "POST", "/v1/dogs/" + dog.ID + "/deletion", `{"name":"Bram"}`, `give its name`, 409},
		{o.keeper, "PUT", "/v1/dogs/" + dog.ID, `{"version":7,"profile":{"name":"Fern"}}`, `version 1, not 7`, 409},
		{o.keeper, "DELETE", "/v1/people/" + o.keeper.Person, "", "needs a keeper", 409},
		{handler, "POST", "/v1/dogs", intake, "takes a trainer", 403},
	} {
		if text := o.send(c.who, c.method, c.path, c.body, c.status, nil); !strings.Contains(text, c.want) {
			t.Errorf("%s %s: %s", c.method, c.path, text)
		}
	}
}

// TestAccountGoes: with its name an account goes, and everything in it.
func TestAccountGoes(t *testing.T) {
	o := newOffice(t)
	o.fern()
	o.send(o.keeper, "POST", "/v1/account/deletion", `{"name":"Shelter"}`, 204, nil)
	if _, err := o.store.Account(t.Context(), o.keeper); err == nil {
		t.Error("it is still there")
	}
	if dogs, err := o.store.Dogs(t.Context(), o.keeper); err == nil && len(dogs) > 0 {
		t.Errorf("its dogs are still there: %+v", dogs)
	}
}
