package api_test

import (
	"fmt"
	"net/http"
	"strings"
	"testing"

	"wideberth/api/wire"
	"wideberth/testdata"
)

// setupWish asks for a set-up in the invented town.
func setupWish(more string) string {
	return fmt.Sprintf(`{"from":{"lat":%g,"lon":%g},"at":"2026-11-28T06:30:00Z","ground":"green"%s}`, testdata.DoorLat, testdata.DoorLon, more)
}

const setupDog = `,"dog":{"name":"Kessa","needs":{"dogs":{"working_m":38,"reaction_m":15}}}`

// TestSetupOverHTTP: an answer can be drawn and printed by the place of its car, and is
// then the same.
func TestSetupOverHTTP(t *testing.T) {
	_, h := memory(t, true)
	list := post[wire.SetupList](t, h, "/v1/setups", setupWish(setupDog))
	if len(list.Setups) == 0 {
		t.Fatalf("none: %s", list.Lack)
	}
	s := list.Setups[0]
	if s.Replay == nil || s.Replay.Margin < 0 || s.Replay.LooseM < 38 || !s.Apart {
		t.Errorf("%+v, apart %v", s.Replay, s.Apart)
	}
	if s.Other > 0.2 || len(s.Lines) != 4 || s.Lines[0].DistanceM != 76 || len(list.Cautions) == 0 || len(list.Assumed) == 0 || list.Attribution == "" {
		t.Errorf("%+v", s)
	}
	for i := 1; i < len(s.Phases); i++ {
		if s.Phases[i].From < s.Phases[i-1].To {
			t.Errorf("phase %d begins at %s, the one before ends at %s", i, s.Phases[i].From, s.Phases[i-1].To)
		}
	}
	again := post[wire.SetupList](t, h, "/v1/setups", setupWish(setupDog+fmt.Sprintf(`,"car":{"lat":%g,"lon":%g}`, s.Car.Lat, s.Car.Lon)))
	if len(again.Setups) != 1 || text(t, again.Setups[0]) != text(t, s) {
		t.Errorf("by its car:\n%s\n%s", text(t, again.Setups), text(t, s))
	}
	_, page := do(t, h, "POST", "/v1/setups/handouts", "", setupWish(setupDog+`,"units":"us","paper":"letter"`))
	for _, want := range []string{"Kessa meets a known helper", "For the helper: a set-up with Kessa", "249", `lang="en-US"`, "leash", `class="letter"`} {
		if !strings.Contains(string(page), want) {
			t.Errorf("the sheets lack %q", want)
		}
	}
	if n := strings.Count(string(page), `<main class="sheet setup">`); n != 2 {
		t.Errorf("%d sheets", n)
	}
	if _, picture := do(t, h, "POST", "/v1/setups/pictures", "", setupWish(setupDog+`,"role":"helper"`)); !strings.HasPrefix(string(picture), "<svg") {
		t.Errorf("%.80s", picture)
	}
}

// TestNoSetup says why, in numbers.
func TestNoSetup(t *testing.T) {
	_, h := memory(t, true)
	list := post[wire.SetupList](t, h, "/v1/setups", setupWish(setupDog+`,"max_expected_reactions":0.0001`))
	if len(list.Setups) != 0 || !strings.Contains(list.Lack, "Try another hour") {
		t.Errorf("%q, %d found", list.Lack, len(list.Setups))
	}
	res, body := do(t, h, "POST", "/v1/setups/handouts", "", setupWish(setupDog+`,"max_expected_reactions":0.0001`))
	if res.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(string(body), "Try another hour") {
		t.Errorf("status %d: %s", res.StatusCode, body)
	}
}

// TestSetupsOfADogThatBit: nearer than 1.5 times its distance only by a trainer.
func TestSetupsOfADogThatBit(t *testing.T) {
	s := newSchool(t, true)
	s.send("PUT", "/v1/dogs/"+s.fern.ID, s.trainer, fmt.Sprintf(`{"version":%d,"profile":{"name":"Fern","needs":{"dogs":{"working_m":38,"reaction_m":15}},"cautions":{"bite_history":true,"muzzle_trained":true}}}`, s.fern.Version), 200, nil)
	dog := fmt.Sprintf(`,"dog_id":%q,"helper":{"muzzle_trained":true}`, s.fern.ID)
	list := handlerSetups(s, setupWish(dog))
	for _, c := range list.Setups {
		if last := c.Lines[len(c.Lines)-1]; last.Multiple < 1.5 {
			t.Errorf("a handler is sent to %g times the distance", last.Multiple)
		}
	}
	if !strings.Contains(strings.Join(list.Cautions, " "), "bite history: muzzle on") {
		t.Errorf("cautions: %q", list.Cautions)
	}
	s.send("POST", "/v1/setups", s.handler, setupWish(dog+`,"steps":[2,1]`), 403, nil)
	s.send("POST", "/v1/setups", s.trainer, setupWish(dog+`,"steps":[2,1]`), 200, &list)
}

// handlerSetups asks for set-ups as a handler.
func handlerSetups(s *school, body string) (list wire.SetupList) {
	s.t.Helper()
	s.send("POST", "/v1/setups", s.handler, body, 200, &list)
	return list
}
