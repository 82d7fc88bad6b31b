package api_test

import (
	"encoding/json"
	"fmt"
	"net/http"
	"strings"
	"testing"

	desk "wideberth/api/memory"
	"wideberth/api/wire/kept"
)

// TestAKeyToOneDogOpensNothingElse: every operation that the interface describes refuses it,
// whatever is named, but the one that it is for; that one refuses every other key and none.
func TestAKeyToOneDogOpensNothingElse(t *testing.T) {
	s := newSchool(t, false)
	s.keep("own")
	var made desk.NewShare
	s.send("POST", "/v1/dogs/"+s.fern.ID+"/shares", s.handler, `{}`, 403, nil)
	s.send("POST", "/v1/dogs/"+s.fern.ID+"/shares", s.trainer, `{"label":"Family Birch","days":7}`, 200, &made)
	s.walk("own", 1, "w1", "2026-11-24T10:00:00Z", fine, over)

	var d desk.SharedDog
	body := s.send("GET", "/v1/shared", made.Key, "", 200, &d)
	if d.Profile.Name != "Fern" || !d.Until.Equal(made.Info.Expires) || d.Distances["dogs"].WorkingM != 38 || d.Note.Dog != "Fern" || d.Note.Walks != 1 || d.Note.CalmWalks != 0 {
		t.Errorf("%+v", d)
	}
	if len(d.Sequences) != 1 || d.Sequences[0].ID != "own" || d.Sequences[0].Step != 1 || !strings.Contains(string(d.Sequences[0].Sequence), "way_in") {
		t.Errorf("%+v", d.Sequences)
	}
	if strings.Contains(string(body), s.oro.ID) || strings.Contains(string(body), "Oro") || strings.Contains(string(body), "colour_of_the_mat") {
		t.Errorf("it shows more than the dog: %s", body)
	}

	var about struct {
		Paths map[string]map[string]json.RawMessage `json:"paths"`
	}
	s.send("GET", "/openapi.json", "", "", 200, &about)
	asked := 0
	for path, methods := range about.Paths {
		if !strings.HasPrefix(path, "/v1/") {
			continue
		}
		for method := range methods {
			if path == desk.SharedPath {
				continue
			}
			asked++
			full := strings.NewReplacer("{id}", s.fern.ID, "{kind}", "visits", "{name}", "dogs", "{change}", "x").Replace(path)
			for _, id := range []string{s.fern.ID, s.oro.ID} {
				res, text := do(t, s.Handler, strings.ToUpper(method), strings.ReplaceAll(full, s.fern.ID, id), made.Key, `{}`)
				if res.StatusCode != http.StatusUnauthorized {
					t.Errorf("%s %s: status %d: %.200s", method, path, res.StatusCode, text)
				}
			}
		}
	}
	if asked < 60 {
		t.Errorf("only %d operations were tried", asked)
	}
	for name, path := range map[string]string{"another dog": "/v1/dogs/" + s.oro.ID, "its plans": "/v1/dogs/" + s.oro.ID + "/plans", "all dogs": "/v1/dogs", "its sequence": "/v1/documents/visits/own",
		"all sequences": "/v1/documents/visits", "no path of its own": "/v1/shared/", "nor below": "/v1/shared/" + s.oro.ID, "nor beside": "/v1/shared?dog=" + s.oro.ID + "&id=x"} {
		res, text := do(t, s.Handler, "GET", path, made.Key, "")
		if strings.Contains(string(text), "Oro") || res.StatusCode < 400 && !strings.HasPrefix(path, "/v1/shared?") {
			t.Errorf("%s: status %d: %.200s", name, res.StatusCode, text)
		}
	}
	for _, method := range []string{"POST", "PUT", "DELETE"} {
		if res, _ := do(t, s.Handler, method, "/v1/shared", made.Key, `{}`); res.StatusCode < 400 {
			t.Errorf("%s: status %d", method, res.StatusCode)
		}
	}
	for name, key := range map[string]string{"the keeper's": s.keeper, "a handler's": s.handler, "made up": strings.Repeat("a", len(made.Key)), "none": ""} {
		if res, text := do(t, s.Handler, "GET", "/v1/shared", key, ""); res.StatusCode != http.StatusUnauthorized {
			t.Errorf("%s key: status %d: %s", name, res.StatusCode, text)
		}
	}
	var list []kept.Share
	s.send("GET", "/v1/dogs/"+s.fern.ID+"/shares", s.trainer, "", 200, &list)
	if len(list) != 1 || list[0].ID != made.Info.ID || list[0].Seen == "" {
		t.Errorf("%+v", list)
	}
	s.send("DELETE", "/v1/shares/"+made.Info.ID, s.handler, "", 403, nil)
	s.send("DELETE", "/v1/shares/"+made.Info.ID, s.trainer, "", 204, nil)
	s.send("GET", "/v1/shared", made.Key, "", 401, nil)
}

// TestMuzzlesAndAWordInWriting: where one of two dogs has bitten and one of them is not
// muzzle-trained they do not meet, whoever asks, but by what a trainer said in writing of
// these two; and who said it stands in the answer and on the sheets.
func TestMuzzlesAndAWordInWriting(t *testing.T) {
	s := newSchool(t, true)
	dog := fmt.Sprintf(`,"dog_id":%q`, s.fern.ID)
	with := func(helper string) string { return setupWish(dog + `,"steps":[2,1.5],"helper":` + helper) }
	for _, who := range []string{s.handler, s.trainer, s.keeper} {
		for _, at := range []string{"/v1/setups", "/v1/setups/handouts", "/v1/setups/pictures"} {
			body := string(s.send("POST", at, who, with(`{"name":"Tilly"}`), 422, nil))
			if !strings.Contains(body, "body.dog.cautions.muzzle_trained") || !strings.Contains(body, "body.helper.muzzle_trained") {
				t.Errorf("%s", body)
			}
		}
	}
	s.send("POST", "/v1/visits", s.trainer, visitsWish(s.fern.ID, `,"helper":{"name":"Tilly"}`), 422, nil)
	// A bicycle needs no muzzle; the dog that has bitten does.
	if body := string(s.send("POST", "/v1/setups", s.trainer, with(`{"kind":"dog_behind_fence"}`), 422, nil)); !strings.Contains(body, "moves") {
		t.Errorf("%s", body)
	}
	// Whoever meets a dog that has bitten is asked for too.
	oro := fmt.Sprintf(`,"dog_id":%q,"helper":{"dog_id":%q}`, s.oro.ID, s.fern.ID)
	if body := string(s.send("POST", "/v1/setups", s.trainer, setupWish(oro), 422, nil)); !strings.Contains(body, "muzzle_trained") {
		t.Errorf("%s", body)
	}
	s.send("POST", "/v1/setups", s.handler, setupWish(fmt.Sprintf(`,"dog_id":%q,"helper":{"dog_id":%q}`, s.fern.ID, s.oro.ID)), 422, nil) // not theirs

	var word kept.Word
	said := `{"helper":"Tilly","words":"Tilly has met Fern twice through a fence. I hold the line."}`
	s.send("POST", "/v1/dogs/"+s.fern.ID+"/words", s.handler, said, 403, nil)
	s.send("POST", "/v1/dogs/"+s.fern.ID+"/words", s.trainer, said, 200, &word)
	by := fmt.Sprintf(`{"name":"Tilly","trainer_word":%q}`, word.ID)
	list := handlerSetups(s, with(by))
	if list.Word == nil || list.Word.By != "Tess" || list.Word.ID != word.ID || !strings.Contains(list.Word.Text, "through a fence") || len(list.Muzzles) != 2 || !strings.Contains(strings.Join(list.Muzzles, " "), "Tilly is not muzzle-trained") {
		t.Errorf("%+v, %v", list.Word, list.Muzzles)
	}
	sheets := string(s.send("POST", "/v1/setups/handouts", s.handler, with(by), 200, nil))
	if n := strings.Count(sheets, "through a fence. I hold the line."); n != 2 || strings.Count(sheets, "Tess") != 2 || strings.Count(sheets, "25 November 2026") < 2 {
		t.Errorf("%d sheets have the word: %s", n, sheets)
	}
	s.send("POST", "/v1/setups", s.handler, setupWish(dog+`,"steps":[2,1],"helper":`+by), 403, nil) // the word is about muzzles, not about steps
	for name, other := range map[string]string{"another helper": with(fmt.Sprintf(`{"name":"Bram","trainer_word":%q}`, word.ID)), "no helper": with(fmt.Sprintf(`{"trainer_word":%q}`, word.ID)),
		"a kept helper": with(fmt.Sprintf(`{"dog_id":%q,"name":"Tilly","trainer_word":%q}`, s.oro.ID, word.ID)), "made up": with(`{"name":"Tilly","trainer_word":"x"}`),
		"another dog": setupWish(fmt.Sprintf(`,"dog_id":%q,"helper":%s`, s.oro.ID, by)), "a dog that is not kept": setupWish(setupDog + `,"bite_history":true,"helper":` + by)} {
		if body := string(s.send("POST", "/v1/setups", s.trainer, other, 422, nil)); !strings.Contains(body, "trainer_word") {
			t.Errorf("%s: %s", name, body)
		}
	}
	s.send("DELETE", "/v1/words/"+word.ID, s.trainer, "", 204, nil)
	s.send("POST", "/v1/setups", s.handler, with(by), 422, nil)

	var fern kept.Dog
	s.send("PUT", "/v1/dogs/"+s.fern.ID, s.trainer, fmt.Sprintf(`{"version":%d,"profile":{"name":"Fern","needs":{"dogs":{"working_m":38,"reaction_m":15}},"cautions":{"bite_history":true,"muzzle_trained":true}}}`, s.fern.Version), 200, &fern)
	if body := string(s.send("POST", "/v1/setups", s.handler, with(`{"name":"Tilly"}`), 422, nil)); strings.Contains(body, "body.dog") || !strings.Contains(body, "body.helper.muzzle_trained") {
		t.Errorf("%s", body)
	}
	if list = handlerSetups(s, with(`{"name":"Tilly","muzzle_trained":true}`)); list.Word != nil || len(list.Muzzles) != 2 || !strings.Contains(list.Muzzles[1], "Tilly is muzzle-trained") {
		t.Errorf("%+v, %v", list.Word, list.Muzzles)
	}
}
