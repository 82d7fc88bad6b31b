// Package problem is how a refusal is told over HTTP: an RFC 9457 document of a known type,
// small whatever was sent. It alone knows which error means which status.
package problem

import (
	"cmp"
	"context"
	"errors"
	"net/http"
	"path/filepath"
	"strings"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"wideberth/api/gate"
	"wideberth/api/store"
	"wideberth/api/store/database"
	"wideberth/api/wire"
	"wideberth/api/wire/kept"
	"wideberth/osmdata/fault"
	"wideberth/routing/atlas"
	"wideberth/routing/briefing"
	"wideberth/routing/reach"
)

// Problem is an RFC 9457 problem document. Its type is one of a fixed list, so
// that a program can decide by it.
type Problem struct {
	Type     string              `json:"type" example:"urn:wideberth:no-walk" doc:"What sort of problem; never renamed."`
	Title    string              `json:"title"`
	Status   int                 `json:"status"`
	Detail   string              `json:"detail" doc:"What is wrong and how to mend it."`
	Instance string              `json:"instance,omitempty" doc:"The request's id, for asking about it."`
	Errors   []*huma.ErrorDetail `json:"errors,omitempty" doc:"Fields that are wrong, the first twenty: where, the value if it is short, the mend."`
	Faults   int                 `json:"faults,omitempty" doc:"How many are wrong, where errors does not list all."`
	Reason   string              `json:"reason,omitempty" doc:"Why there is no walk." enum:"no_street_near,not_connected,too_short,no_loop,limits_forbid,map_too_small,off_the_map,nothing_in_range,no_stand,no_way_in,nobody_then"`
	Limit    string              `json:"limit,omitempty" doc:"The limit that forbids."`
	Short    float64             `json:"short,omitempty" doc:"By how much it fails."`
	Unit     string              `json:"unit,omitempty" enum:"m,s"`
	Proved   bool                `json:"proved,omitempty" doc:"The search was exhausted: there is none in the model."`
	Offers   []Offer             `json:"offers,omitempty" doc:"What would help, most useful first."`
	Best     *wire.Walk          `json:"best,omitempty" doc:"The best that can be done instead."`
	wait     time.Duration
}

// Offer is a changed wish that works.
type Offer struct {
	What       string  `json:"what" enum:"leave_at,start_at,shape,minutes,without_limit"`
	Depart     string  `json:"depart,omitempty"`
	Minutes    float64 `json:"minutes,omitempty"`
	Shape      string  `json:"shape,omitempty" enum:"calmest,loop,there_and_back,way,longest_calm"`
	Name       string  `json:"name,omitempty"`
	CalmChance float64 `json:"calm_chance"`
}

func (p *Problem) Error() string { return p.Detail }

// GetStatus is the HTTP status of the problem.
func (p *Problem) GetStatus() int { return p.Status }

// ContentType is that of problem documents.
func (p *Problem) ContentType(string) string { return "application/problem+json" }

// GetHeaders tells a client when to try again.
func (p *Problem) GetHeaders() http.Header {
	h := http.Header{}
	if p.wait > 0 {
		h.Set("Retry-After", seconds(p.wait))
	}
	return h
}

func seconds(d time.Duration) string {
	return strings.TrimSuffix(d.Round(time.Second).String(), "s")
}

// The problem types by status, for errors that carry no more than one.
var typeOf = map[int]string{
	400: "malformed", 401: "unauthorized", 403: "forbidden", 404: "not-found", 405: "method-not-allowed",
	406: "not-acceptable", 409: "conflict", 413: "too-large", 415: "unsupported-media-type", 422: "invalid",
	429: "too-many", 500: "internal", 507: "storage", 503: "busy", 504: "too-slow",
}

// How long to wait before asking again.
const (
	busyWait  = 5 * time.Second
	crowdWait = 2 * time.Second
)

// New makes a problem of a status, with what is wrong field by field.
func New(status int, detail string, errs ...error) *Problem {
	p := &Problem{Type: "urn:wideberth:" + typeOf[status], Title: http.StatusText(status), Status: status, Detail: detail}
	if typeOf[status] == "" {
		p.Type = "about:blank"
	}
	list, all := told(errs)
	p.Errors, p.Detail = list, counted(shortened(detail, mostDetail), len(list), all)
	if len(list) < all {
		p.Faults = all
	}
	return p
}

// huma makes its own errors (validation, unknown types) through this hook, so
// that they look like all others; and it describes lists as they are.
func init() {
	huma.DefaultArrayNullable = false // a list of an answer may be empty, never null
	huma.NewError = func(status int, msg string, errs ...error) huma.StatusError {
		return New(status, msg, errs...)
	}
}

// Internal is the word of a fault of the program itself.
const Internal = "internal"

// Of turns any error into what is told outside. It is the only place that knows
// which error means which status. ours is a word for the log where the fault is none of
// the asker's, else empty. It is told in words.
func Of(err error, words briefing.Words) (p *Problem, ours string) {
	var (
		known *Problem
		none  *reach.Infeasible
		wrong fault.Problems
		tile  *atlas.TileError
	)
	switch {
	case errors.As(err, &known):
		return known, ""
	case errors.As(err, &none):
		return infeasible(none, words), ""
	case errors.As(err, &wrong):
		return New(http.StatusUnprocessableEntity, wrong.Error(), details(wrong)...), ""
	case errors.As(err, &tile):
		return Unavailable(words.Say("problem.map", "name", cmp.Or(tile.Name, filepath.Base(tile.Path)))), "map"
	case errors.Is(err, store.ErrNotFound):
		return New(http.StatusNotFound, store.ErrNotFound.Error()), ""
	case errors.Is(err, store.ErrConflict):
		return New(http.StatusConflict, ownWords(err, store.ErrConflict, words.Say("problem.mend.conflict", "what", store.ErrConflict.Error()))), ""
	case errors.Is(err, store.ErrForbidden):
		return New(http.StatusForbidden, ownWords(err, store.ErrForbidden, store.ErrForbidden.Error())), ""
	case errors.Is(err, store.ErrUnknownToken):
		return New(http.StatusUnauthorized, store.ErrUnknownToken.Error()), ""
	case errors.Is(err, store.ErrLimit):
		p = New(http.StatusConflict, err.Error())
		p.Type, p.Title = "urn:wideberth:limit", words.Say("problem.title.limit")
		return p, ""
	case errors.Is(err, kept.ErrAhead):
		p = New(http.StatusConflict, err.Error())
		p.Type, p.Title = "urn:wideberth:ahead", words.Say("problem.title.ahead")
		return p, ""
	case errors.Is(err, database.ErrUnavailable):
		return Unavailable(database.ErrUnavailable.Error()), "store"
	case errors.Is(err, database.ErrInUse):
		return Unavailable(words.Say("problem.database_busy")), ""
	case errors.Is(err, database.ErrFull):
		return New(http.StatusInsufficientStorage, database.ErrFull.Error()), ""
	case errors.Is(err, database.ErrReadOnly):
		return New(http.StatusInsufficientStorage, database.ErrReadOnly.Error()), ""
	case errors.Is(err, ErrNoMemory):
		p = New(http.StatusNotFound, words.Say("problem.no_memory"))
		p.Type = "urn:wideberth:no-memory" // not that of one thing that is gone
		return p, ""
	case errors.Is(err, gate.ErrBusy):
		return Unavailable(words.Say("problem.busy")), ""
	case errors.Is(err, gate.ErrCrowd):
		p = New(http.StatusTooManyRequests, words.Say("problem.crowd"))
		p.wait = crowdWait
		return p, ""
	case errors.Is(err, context.DeadlineExceeded):
		return New(http.StatusGatewayTimeout, words.Say("problem.slow")), ""
	case errors.Is(err, context.Canceled):
		return New(http.StatusServiceUnavailable, words.Say("problem.given_up")), ""
	}
	return New(http.StatusInternalServerError, words.Say("problem.internal")), Internal
}

// Unavailable is a problem that passes.
func Unavailable(detail string) *Problem {
	p := New(http.StatusServiceUnavailable, detail)
	p.wait = busyWait
	return p
}

// ownWords are those of an error of some sort, which say what and how to mend it;
// where it has none, others.
func ownWords(err, sort error, others string) string {
	if text := err.Error(); text != sort.Error() {
		return text
	}
	return others
}

// details lists the single faults in the form that validation errors have.
func details(wrong fault.Problems) []error {
	out := make([]error, len(wrong))
	for i, p := range wrong {
		out[i] = &huma.ErrorDetail{Location: "body" + strings.ReplaceAll(p.Pointer, "/", "."), Value: p.Value, Message: p.Mend}
	}
	return out
}

func infeasible(e *reach.Infeasible, words briefing.Words) *Problem {
	p := New(http.StatusUnprocessableEntity, words.Refusal(e, 0))
	p.Type, p.Title = "urn:wideberth:no-walk", words.Say("none.title")
	p.Reason, p.Limit, p.Short, p.Unit, p.Proved = string(e.Reason), "", e.Short, e.Unit, e.Proved
	if e.Limit != (reach.Limit{}) {
		p.Limit = words.Limit(e.Limit)
	}
	for _, o := range e.Offers {
		offer := Offer{What: o.What, Minutes: o.Minutes, Shape: o.Shape, Name: o.Name, CalmChance: o.Calm}
		if o.Limit != (reach.Limit{}) {
			offer.Name = words.Limit(o.Limit)
		}
		if !o.Depart.IsZero() {
			offer.Depart = o.Depart.Format(time.RFC3339)
		}
		p.Offers = append(p.Offers, offer)
	}
	return p
}

// ErrNoMemory says that this server keeps nothing.
var ErrNoMemory = errors.New("no store")
