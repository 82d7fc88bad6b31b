package api_test

import (
	"fmt"
	"strings"
	"testing"

	"wideberth/api/wire"
	"wideberth/api/wire/kept"
)

// met logs a meeting of Fern's with a dog at a measured distance.
func (s *school) met(n int, m float64, more string) (out struct {
	kept.Encounter
	Advice []string
}) {
	s.send("POST", "/v1/dogs/"+s.fern.ID+"/encounters", s.handler,
		fmt.Sprintf(`{"key":"m%d","kind":"dog_on_lead","at":"2026-11-25T08:%02d:00Z","nearest":"exact","distance_m":%g%s}`, n, n, m, more), 200, &out)
	return out
}

// offer is what is said of Fern's distance from dogs on the lead.
func (s *school) offer() wire.ProposalInfo {
	var all []wire.ProposalInfo
	s.send("GET", "/v1/dogs/"+s.fern.ID+"/proposals", s.trainer, "", 200, &all)
	for _, p := range all {
		if p.Name == "dog_on_lead" {
			return p
		}
	}
	return wire.ProposalInfo{}
}

// TestFartherAtOnce: what is believed shows from the first meeting; the second or third
// reaction beyond the distance says farther, which whoever walks the dog may take up.
func TestFartherAtOnce(t *testing.T) {
	s := newSchool(t, false)
	var p wire.ProposalInfo
	for i := range 3 {
		s.met(i, 50, `,"over":"lunge"`)
		p = s.offer()
		if b := p.Belief; b == nil || b.Encounters != i+1 || !(b.WorkingLowM < b.WorkingM && b.WorkingM < b.WorkingHighM) || !strings.Contains(p.Text, "planned with 38") {
			t.Fatalf("after %d: %+v", i+1, p)
		}
	}
	if p.Change != "farther" || p.ToWorkingM <= 38 || p.ToWorkingM > 75 || p.Evidence.Beyond != 3 || !strings.Contains(p.Text, "Farther, now") {
		t.Fatalf("after three: %+v", p)
	}
	s.send("POST", "/v1/dogs/"+s.fern.ID+"/proposals/dog_on_lead/acceptance", s.handler, fmt.Sprintf(`{"from_working_m":%g,"to_working_m":%g}`, p.FromWorkingM, p.ToWorkingM), 200, nil)
	if q := s.offer(); q.FromWorkingM != p.ToWorkingM || q.Change == "farther" {
		t.Errorf("taken up: %+v", q)
	}
}

// TestSnapStopsNearer: a snap or a bite flags the dog, says whom to call, and stops
// proposals to go nearer until a trainer lifts the flag; one that was put down by
// mistake flags nothing.
func TestSnapStopsNearer(t *testing.T) {
	s := newSchool(t, false)
	for i := range 40 {
		over := ""
		if d := 6 + i%20*2; d < 14 {
			over = `,"over":"bark"`
		}
		s.met(i, float64(6+i%20*2), `,"food":"taken"`+over)
	}
	near := s.offer()
	if near.Change != "nearer" {
		t.Fatalf("no proposal to stop: %+v", near)
	}
	accept := fmt.Sprintf(`{"from_working_m":%g,"to_working_m":%g}`, near.FromWorkingM, near.ToWorkingM)
	s.send("POST", "/v1/dogs/"+s.fern.ID+"/proposals/dog_on_lead/acceptance", s.handler, accept, 403, nil)

	e := s.met(50, 2, `,"over":"snap"`)
	if len(e.Advice) != 2 || !strings.Contains(e.Advice[1], "Call your vet") {
		t.Errorf("advice %q", e.Advice)
	}
	bite := s.met(51, 1, `,"over":"bite"`)
	if !strings.Contains(strings.Join(bite.Advice, " "), "doctor") {
		t.Errorf("advice %q", bite.Advice)
	}
	flagged := func() *kept.Flag {
		var d kept.Dog
		s.send("GET", "/v1/dogs/"+s.fern.ID, s.handler, "", 200, &d)
		return d.Flag
	}
	if f := flagged(); f == nil || f.Over != "bite" || f.Encounter != bite.ID {
		t.Errorf("flag %+v", f)
	}
	if p := s.offer(); p.Change != "keep" || !p.Stopped || p.ToWorkingM != p.FromWorkingM || !strings.Contains(p.Text, "since it bit") {
		t.Errorf("flagged: %+v", p)
	}
	s.send("POST", "/v1/dogs/"+s.fern.ID+"/proposals/dog_on_lead/acceptance", s.trainer, accept, 409, nil)
	s.send("POST", "/v1/visits", s.handler, visitsWish(s.fern.ID, `,"nearest":1.2`), 403, nil) // as for any bite history

	s.send("POST", "/v1/encounters/"+bite.ID+"/removal", s.handler, "", 204, nil)
	if f := flagged(); f == nil || f.Over != "snap" {
		t.Errorf("without the bite: flag %+v", f)
	}
	s.send("POST", "/v1/dogs/"+s.fern.ID+"/flag/lifting", s.handler, "", 403, nil)
	s.send("POST", "/v1/dogs/"+s.fern.ID+"/flag/lifting", s.trainer, "", 200, nil)
	s.send("POST", "/v1/dogs/"+s.fern.ID+"/flag/lifting", s.trainer, "", 409, nil)
	if f, p := flagged(), s.offer(); f != nil || p.Stopped || p.Change != "nearer" {
		t.Errorf("lifted: flag %+v, %+v", f, p)
	}
}

// TestBiteHistoryOfAnUnkeptDog: the rule holds where the dog comes with the request,
// also where no distances are said of it.
func TestBiteHistoryOfAnUnkeptDog(t *testing.T) {
	s := newSchool(t, false)
	body := strings.Replace(visitsWish("", `,"nearest":1.2`), `"dog_id":""`, `"dog":{"name":"Oro","needs":{},"cautions":{"bite_history":true}}`, 1)
	s.send("POST", "/v1/visits", s.handler, body, 403, nil)
	s.send("POST", "/v1/visits", s.trainer, body, 200, nil)
}
