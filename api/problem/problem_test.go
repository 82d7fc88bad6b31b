package problem_test

import (
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/danielgtaylor/huma/v2"

	"wideberth/api/gate"
	"wideberth/api/problem"
	"wideberth/api/store"
	"wideberth/api/store/database"
	"wideberth/routing/briefing"
	"wideberth/routing/reach"
)

// However many faults there are and however long, what is told of them stays small, says
// how many there were, and hides nothing.
func TestManyFaultsStaySmall(t *testing.T) {
	var errs []error
	for i := range 5000 {
		errs = append(errs, &huma.ErrorDetail{Message: strings.Repeat("é", 5000), Location: fmt.Sprintf("body.dogs[%d]", i), Value: map[string]any{"deep": errs}})
	}
	p := problem.New(http.StatusUnprocessableEntity, strings.Repeat("wrong\u202e", 1000), errs...)
	text, err := json.Marshal(p)
	if err != nil {
		t.Fatal(err)
	}
	if len(text) > 64<<10 || len(p.Errors) != 20 || p.Faults != 5000 || !strings.Contains(p.Detail, "5000 faults, of which 20") {
		t.Errorf("%d bytes, %d of %d told", len(text), len(p.Errors), p.Faults)
	}
	if strings.Contains(p.Detail, "\u202e") || p.Errors[0].Value != nil || utf8.RuneCountInString(p.Errors[0].Message) != 601 {
		t.Errorf("detail %.40q, value %v, a message of %d characters", p.Detail, p.Errors[0].Value, utf8.RuneCountInString(p.Errors[0].Message))
	}
	if few := problem.New(http.StatusUnprocessableEntity, "wrong", errs[0], nil); few.Faults != 0 || few.Detail != "wrong" || len(few.Errors) != 1 {
		t.Errorf("one fault: %+v", few)
	}
}

// What passes by itself says when to try again, whatever it is wrapped in; what is refused
// for good does not.
func TestWhatPassesSaysWhen(t *testing.T) {
	for _, c := range []struct {
		err    error
		status int
		wait   string
	}{
		{gate.ErrBusy, 503, "5"}, {gate.ErrCrowd, 429, "2"}, {database.ErrUnavailable, 503, "5"}, {database.ErrInUse, 503, "5"},
		{store.ErrNotFound, 404, ""}, {database.ErrFull, 507, ""}, {store.ErrForbidden, 403, ""}, {problem.ErrNoMemory, 404, ""},
	} {
		p, ours := problem.Of(fmt.Errorf("asked: %w", c.err), briefing.Words{})
		if p.Status != c.status || p.GetHeaders().Get("Retry-After") != c.wait || (ours != "") != errors.Is(c.err, database.ErrUnavailable) {
			t.Errorf("%v: %d, try again in %q, ours %q", c.err, p.Status, p.GetHeaders().Get("Retry-After"), ours)
		}
	}
	known := problem.New(http.StatusTeapot, "as it is")
	if p, _ := problem.Of(fmt.Errorf("again: %w", known), briefing.Words{}); p != known || p.Type != "about:blank" {
		t.Errorf("a problem becomes another: %+v", p)
	}
	none := &reach.Infeasible{Reason: reach.NoStreetNear, Short: 12, Unit: "m"}
	if p, _ := problem.Of(none, briefing.Words{}); p.Reason != "no_street_near" || p.Type != "urn:wideberth:no-walk" || p.Short != 12 || p.Unit != "m" {
		t.Errorf("no walk: %+v", p)
	}
}
