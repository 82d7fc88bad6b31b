// Package memory answers for what an account keeps where no map is needed: the account
// and its people, dogs and what their meetings propose, reports, documents, exports. It
// also says how any operation on what is kept is registered, and carries who asks
// through a request.
package memory

import (
	"context"
	"log/slog"
	"net/http"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"wideberth/api/body"
	"wideberth/api/gate"
	"wideberth/api/problem"
	"wideberth/api/store"
)

// Desk is where what is kept is asked for. All of its fields are needed.
type Desk struct {
	API     huma.API
	Store   *store.Store
	Now     func() time.Time
	Log     *slog.Logger
	Gate    *gate.Gate                                 // of exports, which read all there is
	Problem func(ctx context.Context, err error) error // what is told outside of any error; nil for nil
}

// Routes registers the operations.
func (d *Desk) Routes() {
	d.dogRoutes()
	d.proposalRoutes()
	d.exportRoutes()
	d.reportRoutes()
	d.accountRoutes()
	d.documentRoutes()
	d.wordRoutes()
	d.shareRoutes()
}

// whoKey is where the person that asks stands in a request's context.
type whoKey struct{}

// WithWho is a context in which somebody asks.
func WithWho(ctx context.Context, w store.Who) context.Context {
	return context.WithValue(ctx, whoKey{}, w)
}

// Who is the person that asks; without a store nobody is anybody, and the error is
// problem.ErrNoMemory.
func Who(ctx context.Context) (store.Who, error) {
	w, ok := ctx.Value(whoKey{}).(store.Who)
	if !ok {
		return w, problem.ErrNoMemory
	}
	return w, nil
}

type answered[T any] struct{ Body T }

// Keep registers an operation on what is kept: who asks is found out first, errors
// become problems last.
func Keep[I, O any](d *Desk, method, path, id, summary string, f func(ctx context.Context, w store.Who, in *I) (O, error)) {
	KeepUpTo(d, body.MostBytes, method, path, id, summary, f)
}

// KeepUpTo is Keep for bodies that may be larger than others.
func KeepUpTo[I, O any](d *Desk, bytes int64, method, path, id, summary string, f func(ctx context.Context, w store.Who, in *I) (O, error)) {
	op := huma.Operation{OperationID: id, Method: method, Path: path, Summary: summary, Tags: []string{"memory"},
		MaxBodyBytes: bytes, Errors: []int{400, 401, 403, 404, 409, 413, 422, 507}}
	huma.Register(d.API, op, func(ctx context.Context, in *I) (*answered[O], error) {
		w, err := Who(ctx)
		if err != nil {
			return nil, d.Problem(ctx, err)
		}
		out, err := f(ctx, w, in)
		if err != nil {
			return nil, d.Problem(ctx, err)
		}
		return &answered[O]{out}, nil
	})
}

// Drop registers an operation that answers with no body: mostly something is gone
// after it.
func Drop[I any](d *Desk, method, path, id, summary string, f func(ctx context.Context, w store.Who, in *I) error) {
	op := huma.Operation{OperationID: id, Method: method, Path: path, Summary: summary, Tags: []string{"memory"},
		DefaultStatus: http.StatusNoContent, MaxBodyBytes: body.MostBytes, Errors: []int{400, 401, 403, 404, 409, 422, 507}}
	huma.Register(d.API, op, func(ctx context.Context, in *I) (*struct{}, error) {
		w, err := Who(ctx)
		if err == nil {
			err = f(ctx, w, in)
		}
		return nil, d.Problem(ctx, err)
	})
}

// ByID names one thing.
type ByID struct {
	ID string `path:"id" maxLength:"80"`
}

// Repeated is the header by which a request that is sent twice is done once.
type Repeated struct {
	Key string `header:"Idempotency-Key" maxLength:"80" doc:"Chosen by the client: what is sent twice under one key is stored once."`
}

// BesideBytes is what a request that keeps a body has beside it.
const BesideBytes = 64 << 10

// OrEmpty is a list that is written as [] where there is nothing, never as null.
func OrEmpty[T any](list []T) []T {
	if list == nil {
		return []T{}
	}
	return list
}
