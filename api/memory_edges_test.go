package api_test

import (
	"slices"
	"strings"
	"testing"

	"wideberth/api/wire/kept"
)

// TestKeptPlanCannotPoisonLearning: a plan that somebody wrote by hand is refused
// where its numbers are no walk's. What is counted against it would otherwise stop
// every later plan of the account.
func TestKeptPlanCannotPoisonLearning(t *testing.T) {
	_, h := memory(t, true)
	var dog kept.Dog
	send(t, h, "POST", "/v1/dogs", "", intake, 200, &dog)
	for name, leg := range map[string]string{
		"time runs backwards": `{"start_s":0,"duration_s":-600,"edges":[0,1,2]}`,
		"endless":             `{"start_s":0,"duration_s":1e300,"edges":[0,1,2]}`,
		"begins never":        `{"start_s":1e300,"duration_s":60,"edges":[0,1,2]}`,
		"more than a street":  `{"start_s":0,"duration_s":60,"edges":[` + strings.Repeat("0,", 20_000) + `0]}`,
	} {
		var saved kept.Plan
		send(t, h, "POST", "/v1/dogs/"+dog.ID+"/plans", "", `{"plan":{"walks":[{"legs":[`+leg+`]}]}}`, 200, &saved)
		body := send(t, h, "POST", "/v1/dogs/"+dog.ID+"/walks", "", `{"started":"2026-11-25T07:10:00Z","plan":"`+saved.ID+`","all_told":true}`, 422, nil)
		if !strings.Contains(string(body), "body.plan") {
			t.Errorf("%s: the fault is not told with its field: %s", name, body)
		}
	}
	send(t, h, "POST", "/v1/plans", "", wish(`,"minutes":15,"walks":1,"dog_id":"`+dog.ID+`"`), 200, nil)
}

// TestUnknownPlanOfAWalk: a plan that is not there is told with the field that
// names it.
func TestUnknownPlanOfAWalk(t *testing.T) {
	_, h := memory(t, true)
	var dog kept.Dog
	send(t, h, "POST", "/v1/dogs", "", intake, 200, &dog)
	body := send(t, h, "POST", "/v1/dogs/"+dog.ID+"/walks", "", `{"started":"2026-11-25T07:10:00Z","plan":"nosuchplan"}`, 422, nil)
	if !strings.Contains(string(body), "body.plan") || !strings.Contains(string(body), "nosuchplan") {
		t.Errorf("%s", body)
	}
}

// TestPlanNamedLater: a walk that is told afterwards which plan it followed, or when
// it really began, is held against that.
func TestPlanNamedLater(t *testing.T) {
	_, h := memory(t, true)
	var dog kept.Dog
	send(t, h, "POST", "/v1/dogs", "", intake, 200, &dog)
	plan := send(t, h, "POST", "/v1/plans", "", wish(`,"minutes":20,"dog_id":"`+dog.ID+`"`), 200, nil)
	var saved kept.Plan
	send(t, h, "POST", "/v1/dogs/"+dog.ID+"/plans", "", `{"plan":`+string(plan)+`}`, 200, &saved)
	var walk, named, noted, later kept.Walk
	send(t, h, "POST", "/v1/dogs/"+dog.ID+"/walks", "", `{"started":"2026-11-25T07:10:00Z","all_told":true}`, 200, &walk)
	send(t, h, "PUT", "/v1/walks/"+walk.ID, "", `{"started":"2026-11-25T07:10:00Z","all_told":true,"plan":"`+saved.ID+`"}`, 200, &named)
	if len(walk.Expected) != 0 || len(named.Expected) == 0 {
		t.Fatalf("expected %v without a plan, %v with one", walk.Expected, named.Expected)
	}
	send(t, h, "PUT", "/v1/walks/"+walk.ID, "", `{"started":"2026-11-25T07:10:00Z","all_told":true,"note":"fog"}`, 200, &noted)
	if !slices.Equal(noted.Expected, named.Expected) {
		t.Errorf("a note changes what was predicted: %v", noted.Expected)
	}
	send(t, h, "PUT", "/v1/walks/"+walk.ID, "", `{"started":"2026-11-25T03:10:00Z","all_told":true,"plan":"`+saved.ID+`"}`, 200, &later)
	if slices.Equal(later.Expected, named.Expected) || len(later.Expected) == 0 || later.Expected[0].Part == named.Expected[0].Part {
		t.Errorf("walked at night, held against the morning: %v", later.Expected)
	}
}

// TestConflictSaysWhichKey: a key that stands for another walk is named.
func TestConflictSaysWhichKey(t *testing.T) {
	_, h := memory(t, true)
	var dog kept.Dog
	send(t, h, "POST", "/v1/dogs", "", intake, 200, &dog)
	send(t, h, "POST", "/v1/dogs/"+dog.ID+"/walks", "", `{"key":"w1","started":"2026-11-25T07:10:00Z"}`, 200, nil)
	body := send(t, h, "POST", "/v1/dogs/"+dog.ID+"/walks", "", `{"key":"w1","started":"2026-11-25T08:10:00Z"}`, 409, nil)
	if !strings.Contains(string(body), `under the key \"w1\"`) {
		t.Errorf("%s", body)
	}
}

// TestLocalAfterDeletion: who deletes everything on their own machine begins anew,
// without starting the program again.
func TestLocalAfterDeletion(t *testing.T) {
	_, h := memory(t, true)
	send(t, h, "POST", "/v1/dogs", "", intake, 200, nil)
	send(t, h, "POST", "/v1/account/deletion", "", `{"name":"local"}`, 204, nil)
	var dogs []kept.Dog
	send(t, h, "GET", "/v1/dogs", "", "", 200, &dogs)
	if len(dogs) != 0 {
		t.Errorf("left %+v", dogs)
	}
	send(t, h, "POST", "/v1/dogs", "", intake, 200, nil)
	var a kept.Account
	send(t, h, "GET", "/v1/account", "", "", 200, &a)
	if a.Name != "local" || a.You.Role != kept.Keeper {
		t.Errorf("%+v", a)
	}
}
