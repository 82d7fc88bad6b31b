package memory

import (
	"context"
	"math"
	"net/http"
	"time"

	"wideberth/api/knowledge"
	"wideberth/api/store"
	"wideberth/api/wire"
	"wideberth/api/wire/kept"
	"wideberth/exposure"
	"wideberth/exposure/learning"
)

func (d *Desk) proposalRoutes() {
	m := d.Store
	Keep(d, http.MethodGet, "/v1/dogs/{id}/proposals", "proposals", "What a dog's meetings say of its distances", func(ctx context.Context, w store.Who, in *ByID) ([]wire.ProposalInfo, error) {
		return d.proposals(ctx, w, in.ID)
	})
	Keep(d, http.MethodPost, "/v1/dogs/{id}/proposals/{name}/acceptance", "accept-proposal", "Accept a proposal; it is worked out anew and must still be the one seen", func(ctx context.Context, w store.Who, in *struct {
		ByID
		Name string `path:"name" maxLength:"40"`
		Body struct {
			FromWorkingM float64 `json:"from_working_m" doc:"The working distance that the proposal started from."`
			ToWorkingM   float64 `json:"to_working_m" doc:"As proposed."`
		}
	}) (kept.Change, error) {
		all, err := d.proposals(ctx, w, in.ID)
		if err != nil {
			return kept.Change{}, err
		}
		for _, p := range all {
			if p.Name == in.Name && p.Evidence != nil && math.Abs(p.ToWorkingM-in.Body.ToWorkingM) < 0.5 {
				return m.AcceptChange(ctx, w, in.ID, p.Name, in.Body.FromWorkingM, exposure.Need{WorkingM: p.ToWorkingM, ReactionM: p.ToReactionM}, *p.Evidence)
			}
		}
		return kept.Change{}, store.ErrConflict
	})
	Keep(d, http.MethodGet, "/v1/dogs/{id}/adopter", "adopter-note", "What can be told to somebody who may take a dog home: how its walks went, from where it works", func(ctx context.Context, w store.Who, in *ByID) (AdopterNote, error) {
		return d.adopterNote(ctx, w, in.ID)
	})
	Keep(d, http.MethodPost, "/v1/dogs/{id}/flag/lifting", "lift-flag", "Lift the flag of a snap or a bite, once a professional has seen the dog", func(ctx context.Context, w store.Who, in *ByID) (kept.Dog, error) {
		return m.LiftFlag(ctx, w, in.ID)
	})
	Keep(d, http.MethodPost, "/v1/dogs/{id}/history/{change}/reversion", "revert-change", "Take a change of distances back", func(ctx context.Context, w store.Who, in *struct {
		ByID
		Change string `path:"change" maxLength:"80"`
	}) (kept.Change, error) {
		return m.RevertChange(ctx, w, in.ID, in.Change)
	})
}

// proposals tell what a dog's meetings say of its distances.
func (d *Desk) proposals(ctx context.Context, w store.Who, dogID string) ([]wire.ProposalInfo, error) {
	now := d.Now()
	account, err := d.Store.Account(ctx, w)
	if err != nil {
		return nil, err
	}
	halfLife := time.Duration(account.Settings.HalfLifeDays) * 24 * time.Hour
	dog, met, err := d.Store.Logged(ctx, w, dogID, learning.Since(now, halfLife))
	if err != nil {
		return nil, err
	}
	offers, err := learning.Offers(knowledge.Held(&dog), knowledge.Meetings(met), now, halfLife)
	if err != nil {
		return nil, err
	}
	out := make([]wire.ProposalInfo, len(offers))
	for i := range offers {
		out[i] = wire.NewProposalInfo(&offers[i], dog.Flag, wire.ReaderOf(ctx))
	}
	return out, nil
}

// mostAdopterWalks are counted: more than six a day.
const mostAdopterWalks = 600

// adopterNote tells a dog's record.
func (d *Desk) adopterNote(ctx context.Context, w store.Who, dogID string) (out AdopterNote, err error) {
	now := d.Now()
	dog, err := d.Store.Dog(ctx, w, dogID)
	if err != nil {
		return out, err
	}
	walks, err := d.Store.Walks(ctx, w, dogID, time.Time{}, mostAdopterWalks)
	if err != nil {
		return out, err
	}
	met, err := d.Store.Encounters(ctx, w, dogID, "", now.AddDate(0, 0, -adopterDays))
	if err != nil {
		return out, err
	}
	return newAdopterNote(&dog, walks, met, now, wire.ReaderOf(ctx)), nil
}
