package problem_test

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"net/http"
	"slices"
	"strings"
	"testing"
	"time"
	"unicode"
	"unicode/utf8"

	"github.com/danielgtaylor/huma/v2"
	"pgregory.net/rapid"

	"wideberth/api/gate"
	"wideberth/api/problem"
	"wideberth/api/store"
	"wideberth/api/store/database"
	"wideberth/api/wire/kept"
	"wideberth/osmdata/fault"
	"wideberth/routing/briefing"
	"wideberth/routing/reach"
)

// plainErrors are all errors that have a status of their own, with what each becomes.
var plainErrors = []struct {
	err    error
	status int
	kind   string
}{
	{store.ErrNotFound, 404, "not-found"}, {store.ErrConflict, 409, "conflict"}, {store.ErrForbidden, 403, "forbidden"}, {store.ErrUnknownToken, 401, "unauthorized"},
	{store.ErrLimit, 409, "limit"}, {kept.ErrAhead, 409, "ahead"}, {database.ErrUnavailable, 503, "busy"}, {database.ErrInUse, 503, "busy"}, {database.ErrFull, 507, "storage"},
	{database.ErrReadOnly, 507, "storage"}, {problem.ErrNoMemory, 404, "no-memory"}, {gate.ErrBusy, 503, "busy"}, {gate.ErrCrowd, 429, "too-many"},
	{context.DeadlineExceeded, 504, "too-slow"}, {context.Canceled, 503, "busy"}, {errors.New("what nobody foresaw"), 500, "internal"},
}

// TestEveryErrorHasItsDocument: an RFC 9457 document with a type of the list, the status
// of the answer, the title of that status (section 3.1.3) but where the type has one of its
// own, and a detail that says something; however deep the error is wrapped.
func TestEveryErrorHasItsDocument(t *testing.T) {
	for _, c := range plainErrors {
		for _, err := range []error{c.err, fmt.Errorf("one: %w", fmt.Errorf("two: %w", c.err)), errors.Join(errors.New("beside"), c.err)} {
			p, _ := problem.Of(err, briefing.Words{})
			if p.Status != c.status || p.GetStatus() != c.status || p.Type != "urn:wideberth:"+c.kind || p.Error() != p.Detail || len(p.Detail) < 10 || p.ContentType("any") != "application/problem+json" {
				t.Errorf("%v: %+v, want %d of %s", err, p, c.status, c.kind)
			}
			own := c.kind == "limit" || c.kind == "ahead"
			if own == (p.Title == http.StatusText(c.status)) || p.Title == "" {
				t.Errorf("%v: titled %q", err, p.Title)
			}
			text, jerr := json.Marshal(p)
			var members map[string]any
			if jerr != nil || json.Unmarshal(text, &members) != nil || members["status"] != float64(c.status) || len(members) != 4 {
				t.Errorf("%s: more than type, title, status and detail", text)
			}
		}
	}
}

// TestNothingInnerIsTold: what went wrong inside the program, the store or a search is for
// the log; a client is told none of its words.
func TestNothingInnerIsTold(t *testing.T) {
	const secret = "/var/lib/secret.db at 10.0.0.7"
	for _, c := range plainErrors {
		p, ours := problem.Of(fmt.Errorf("%s: %w", secret, c.err), briefing.Words{})
		said := errors.Is(c.err, store.ErrConflict) || errors.Is(c.err, store.ErrForbidden) || errors.Is(c.err, store.ErrLimit) || errors.Is(c.err, kept.ErrAhead) // words made for the asker
		if text, _ := json.Marshal(p); strings.Contains(string(text), "secret") != said {
			t.Errorf("%v: %s", c.err, text)
		}
		want := map[int]string{500: problem.Internal}[c.status]
		if errors.Is(c.err, database.ErrUnavailable) {
			want = "store"
		}
		if ours != want {
			t.Errorf("%v: for the log %q, want %q", c.err, ours, want)
		}
	}
	// words of its own go before those of the sort
	if p, _ := problem.Of(store.ErrConflict, briefing.Words{}); !strings.Contains(p.Detail, store.ErrConflict.Error()) || p.Detail == store.ErrConflict.Error() {
		t.Errorf("a conflict without words of its own says %q, and not how to mend it", p.Detail)
	}
}

// TestFaultsKeepTheirPlace: a JSON pointer (RFC 6901) becomes the location that the
// description's own faults have; value and mend go with it; what is known goes before what
// it wraps.
func TestFaultsKeepTheirPlace(t *testing.T) {
	wrong := fault.Problems{{Pointer: "/dogs/3/finish_by", Value: `"noon"`, Mend: "give a time"}, {Pointer: "", Mend: "needs a dog"}, {Pointer: "/line 7", Value: "x", Mend: "not a time"}}
	p, ours := problem.Of(fmt.Errorf("asked: %w", wrong), briefing.Words{})
	if p.Status != http.StatusUnprocessableEntity || p.Type != "urn:wideberth:invalid" || ours != "" || p.Detail != wrong.Error() || p.Faults != 0 || len(p.Errors) != 3 {
		t.Fatalf("%+v", p)
	}
	for i, want := range []huma.ErrorDetail{{Location: "body.dogs.3.finish_by", Value: `"noon"`, Message: "give a time"}, {Location: "body", Value: "", Message: "needs a dog"}, {Location: "body.line 7", Value: "x", Message: "not a time"}} {
		if *p.Errors[i] != want {
			t.Errorf("fault %d: %+v, want %+v", i, *p.Errors[i], want)
		}
	}
	both := fmt.Errorf("%w: %w", store.ErrNotFound, wrong)
	if p, _ := problem.Of(both, briefing.Words{}); p.Status != http.StatusUnprocessableEntity {
		t.Errorf("faults within what is not found are %d", p.Status)
	}
}

// TestNoWalkSaysWhy: reason, limit, by how much, and what would help, with times as RFC 3339
// writes them.
func TestNoWalkSaysWhy(t *testing.T) {
	at := time.Date(2026, 11, 25, 21, 0, 0, 0, time.FixedZone("", -5*3600))
	school := reach.Limit{What: reach.LimitNever, Name: "school", M: 60}
	e := &reach.Infeasible{Reason: reach.LimitsForbid, Limit: school, Short: 3.5, Unit: "s", Proved: true,
		Offers: []reach.Offer{{What: "leave_at", Depart: at, Calm: 0.8}, {What: "without_limit", Limit: school, Name: "unused", Calm: 0.4}, {What: "start_at", Name: "Kiln Lane"}, {What: "minutes", Minutes: 25}, {What: "shape", Shape: "there_and_back"}}}
	p, ours := problem.Of(fmt.Errorf("plan: %w", e), briefing.Words{})
	if p.Status != http.StatusUnprocessableEntity || p.Type != "urn:wideberth:no-walk" || p.Reason != "limits_forbid" || p.Short != 3.5 || p.Unit != "s" || !p.Proved || ours != "" || !strings.Contains(p.Limit, "school") || p.Title == http.StatusText(http.StatusUnprocessableEntity) {
		t.Errorf("%+v", p)
	}
	want := []problem.Offer{{What: "leave_at", Depart: "2026-11-25T21:00:00-05:00", CalmChance: 0.8}, {What: "without_limit", Name: p.Limit, CalmChance: 0.4}, {What: "start_at", Name: "Kiln Lane"}, {What: "minutes", Minutes: 25}, {What: "shape", Shape: "there_and_back"}}
	if !slices.Equal(p.Offers, want) {
		t.Errorf("offers %+v, want %+v", p.Offers, want)
	}
	for _, r := range []reach.Reason{reach.NoStreetNear, reach.NotConnected, reach.TooShort, reach.NoLoop, reach.LimitsForbid, reach.MapTooSmall, reach.OffTheMap, reach.NothingInRange, reach.NoStand, reach.NoWayIn, reach.NobodyThen} {
		if p, _ := problem.Of(&reach.Infeasible{Reason: r}, briefing.Words{}); p.Reason != string(r) || p.Limit != "" || p.Offers != nil || len(p.Detail) < 10 {
			t.Errorf("%s: %+v", r, p)
		}
	}
}

// TestStatusesThatAreKnown: each status that is told has a type of its own; others are
// "about:blank" (RFC 9457, section 4.2.1), and huma's own errors go the same way.
func TestStatusesThatAreKnown(t *testing.T) {
	seen := map[string]int{}
	for status := 400; status < 600; status++ {
		p := problem.New(status, "why")
		if p.Status != status || p.Title != http.StatusText(status) || p.Errors != nil {
			t.Errorf("%d: %+v", status, p)
		}
		if p.Type == "about:blank" {
			continue
		}
		if before := seen[p.Type]; before != 0 {
			t.Errorf("%d and %d are both %s", before, status, p.Type)
		}
		seen[p.Type] = status
	}
	for kind, status := range map[string]int{"malformed": 400, "unauthorized": 401, "forbidden": 403, "not-found": 404, "method-not-allowed": 405, "not-acceptable": 406, "conflict": 409, "too-large": 413,
		"unsupported-media-type": 415, "invalid": 422, "too-many": 429, "internal": 500, "busy": 503, "too-slow": 504, "storage": 507} {
		if seen["urn:wideberth:"+kind] != status {
			t.Errorf("%s is told of %d, want %d", kind, seen["urn:wideberth:"+kind], status)
		}
		delete(seen, "urn:wideberth:"+kind)
	}
	if len(seen) > 0 {
		t.Errorf("types that nobody is told of: %v", seen)
	}
	e := huma.NewError(422, "wrong", &huma.ErrorDetail{Location: "body.x", Message: "no", Value: 3})
	if p, ok := e.(*problem.Problem); !ok || p.Type != "urn:wideberth:invalid" || p.Errors[0].Location != "body.x" || p.Errors[0].Value != 3 {
		t.Errorf("huma's own: %+v", e)
	}
	if huma.DefaultArrayNullable {
		t.Error("lists are described as null")
	}
}

// TestValuesAreToldPlainly: numbers, truth and short texts as they are; nothing that has
// members; a number that JSON cannot write loses its fault and is counted all the same.
func TestValuesAreToldPlainly(t *testing.T) {
	for _, v := range []any{true, 1.5, float32(2.5), 3, int64(4), int32(5), uint64(6), json.Number("7"), "short"} {
		if p := problem.New(422, "w", &huma.ErrorDetail{Value: v}); p.Errors[0].Value != v {
			t.Errorf("%v of %T becomes %v", v, v, p.Errors[0].Value)
		}
	}
	for _, v := range []any{nil, []int{1}, map[string]any{"a": 1}, struct{}{}, &v0} {
		if p := problem.New(422, "w", &huma.ErrorDetail{Value: v}); p.Errors[0].Value != nil {
			t.Errorf("%v of %T becomes %v", v, v, p.Errors[0].Value)
		}
	}
	p := problem.New(422, "w", &huma.ErrorDetail{Value: math.Inf(1)}, errors.New("plain"))
	if len(p.Errors) != 1 || p.Errors[0].Message != "plain" || p.Faults != 2 || p.Detail != "w (2 faults, of which 1 are listed)" {
		t.Errorf("%+v", p)
	}
	if none := problem.New(422, "w", nil, nil); none.Errors != nil || none.Faults != 0 {
		t.Errorf("no fault is told as %+v", none)
	}
}

var v0 int

// TestTextsAreCutCleanly: whatever is sent back is valid UTF-8, holds nothing that is not
// seen, and is no longer than its bound; what is short and plain is not touched.
func TestTextsAreCutCleanly(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.OneOf(rapid.String(), rapid.Custom(func(t *rapid.T) string { return string(rapid.SliceOf(rapid.Byte()).Draw(t, "bytes")) }),
			rapid.Custom(func(t *rapid.T) string { return strings.Repeat(rapid.StringN(1, 3, -1).Draw(t, "bit"), 2500) })).Draw(t, "text")
		p := problem.New(422, text, &huma.ErrorDetail{Message: text, Location: text, Value: text})
		for what, c := range map[string]struct {
			got  string
			most int
		}{"detail": {p.Detail, 2000}, "message": {p.Errors[0].Message, 600}, "location": {p.Errors[0].Location, 200}, "value": {p.Errors[0].Value.(string), 60}} {
			n := utf8.RuneCountInString(c.got)
			if !utf8.ValidString(c.got) || n > c.most+1 || n == c.most+1 && !strings.HasSuffix(c.got, "…") {
				t.Fatalf("%s of %d characters: %.80q", what, n, c.got)
			}
			if strings.ContainsFunc(c.got, func(r rune) bool { return unicode.Is(unicode.C, r) }) {
				t.Fatalf("%s holds what is not seen: %.80q", what, c.got)
			}
			seen := !strings.ContainsFunc(text, func(r rune) bool { return unicode.Is(unicode.C, r) || r == utf8.RuneError })
			if whole := utf8.RuneCountInString(text) <= c.most; whole && seen && c.got != text {
				t.Fatalf("%s %q became %q", what, text, c.got)
			}
		}
	})
	if p := problem.New(422, "one\ntwo\tthree\x00\u202e"); p.Detail != "one two three\ufffd\ufffd" {
		t.Errorf("%q", p.Detail)
	}
}
