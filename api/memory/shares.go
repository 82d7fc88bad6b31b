package memory

import (
	"context"
	"encoding/json"
	"net/http"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"wideberth/api/problem"
	"wideberth/api/store"
	"wideberth/api/wire"
	"wideberth/api/wire/kept"
)

// SharedPath is what a key to one dog opens, and all that it opens.
const SharedPath = "/v1/shared"

// NewShare is a key to one dog, shown once.
type NewShare struct {
	Key  string     `json:"key" doc:"Shown now and never again. It opens GET /v1/shared and nothing else, as a bearer token."`
	Info kept.Share `json:"info"`
}

// SharedDog is one dog as a client sees it.
type SharedDog struct {
	Until     time.Time                `json:"until" doc:"The key ends then."`
	Profile   kept.Profile             `json:"profile"`
	Distances map[string]kept.Distance `json:"distances"`
	Flag      *kept.Flag               `json:"flag,omitempty"`
	Note      AdopterNote              `json:"note"`
	Sequences []SharedSequence         `json:"sequences" doc:"Training visits of this dog alone; with a helper that is another kept dog they are left out."`
}

// SharedSequence is a kept sequence of training visits without what trainers noted.
type SharedSequence struct {
	ID       string          `json:"id"`
	Updated  time.Time       `json:"updated"`
	Step     int             `json:"step" doc:"The visit that is next, from 1."`
	Paused   bool            `json:"paused"`
	Sequence json.RawMessage `json:"sequence" doc:"As POST /v1/visits answered it."`
}

// guestKey is where the guest of a request stands in its context.
type guestKey struct{}

// WithGuest is a context in which somebody with a key to one dog asks.
func WithGuest(ctx context.Context, g store.Guest) context.Context {
	return context.WithValue(ctx, guestKey{}, g)
}

// shareRoutes are those of keys to one dog, and what they open.
func (d *Desk) shareRoutes() {
	m := d.Store
	Keep(d, http.MethodGet, "/v1/dogs/{id}/shares", "shares", "The keys that open a dog to somebody outside the account, latest first", func(ctx context.Context, w store.Who, in *ByID) ([]kept.Share, error) {
		list, err := m.Shares(ctx, w, in.ID)
		return OrEmpty(list), err
	})
	Keep(d, http.MethodPost, "/v1/dogs/{id}/shares", "make-share", "Make a key that opens one dog to be read, for a client", func(ctx context.Context, w store.Who, in *struct {
		ByID
		Body struct {
			Label string `json:"label,omitempty" maxLength:"80" example:"Family Birch"`
			Days  int    `json:"days,omitempty" minimum:"0" maximum:"365" doc:"How long it holds; left out: 30."`
		}
	}) (NewShare, error) {
		key, info, err := m.NewShare(ctx, w, in.ID, in.Body.Label, in.Body.Days)
		return NewShare{Key: key, Info: info}, err
	})
	Drop(d, http.MethodDelete, "/v1/shares/{id}", "revoke-share", "End a key to a dog at once; one that has ended is deleted", func(ctx context.Context, w store.Who, in *ByID) error {
		return m.RevokeShare(ctx, w, in.ID)
	})
	huma.Register(d.API, huma.Operation{OperationID: "shared", Method: http.MethodGet, Path: SharedPath, Summary: "The one dog that a client's key opens", Tags: []string{"memory"},
		Errors: []int{401, 404}}, func(ctx context.Context, _ *struct{}) (*answered[SharedDog], error) {
		g, ok := ctx.Value(guestKey{}).(store.Guest)
		if !ok {
			return nil, d.Problem(ctx, problem.ErrNoMemory)
		}
		out, err := d.shared(ctx, g)
		if err != nil {
			return nil, d.Problem(ctx, err)
		}
		return &answered[SharedDog]{out}, nil
	})
}

// shared is the dog of a guest.
func (d *Desk) shared(ctx context.Context, g store.Guest) (out SharedDog, err error) {
	now := d.Now()
	all, err := d.Store.Shared(ctx, g, now.AddDate(0, 0, -adopterDays))
	if err != nil {
		return out, err
	}
	out = SharedDog{Until: all.Share.Expires, Profile: all.Dog.Profile, Distances: all.Dog.Distances, Flag: all.Dog.Flag,
		Note: newAdopterNote(&all.Dog, all.Walks, all.Met, now, wire.ReaderOf(ctx)), Sequences: []SharedSequence{}}
	for i := range all.Docs {
		s := SharedSequence{ID: all.Docs[i].ID, Updated: all.Docs[i].Updated}
		if err := json.Unmarshal(all.Docs[i].Body, &s); err != nil {
			continue // kept before its form was looked at
		}
		s.ID, s.Updated = all.Docs[i].ID, all.Docs[i].Updated
		out.Sequences = append(out.Sequences, s)
	}
	return out, nil
}
