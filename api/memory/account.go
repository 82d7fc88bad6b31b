package memory

import (
	"context"
	"net/http"

	"wideberth/api/store"
	"wideberth/api/wire"
	"wideberth/api/wire/kept"
)

func (d *Desk) accountRoutes() {
	m := d.Store
	Keep(d, http.MethodGet, "/v1/account", "account", "The account and who you are in it", func(ctx context.Context, w store.Who, _ *struct{}) (kept.Account, error) {
		return m.Account(ctx, w)
	})
	Keep(d, http.MethodGet, "/v1/limits", "limits", "How much can be kept", func(context.Context, store.Who, *struct{}) ([]kept.Limit, error) {
		return store.Limits(), nil
	})
	Drop(d, http.MethodPut, "/v1/account/settings", "set-settings", "Change the account's settings", func(ctx context.Context, w store.Who, in *struct{ Body kept.Settings }) error {
		if in.Body.TrainingRule != (kept.TrainingRule{}) {
			if wrong := wire.WrongRule("/training_rule", &in.Body.TrainingRule); wrong != nil {
				return append(in.Body.Problems(), wrong...)
			}
		}
		if wrong := wire.FreeHours(in.Body.FreeHours).Check(); wrong != nil {
			return append(in.Body.Problems(), wrong...)
		}
		return m.SetSettings(ctx, w, in.Body)
	})
	Drop(d, http.MethodPost, "/v1/account/deletion", "delete-account", "Delete the account with everything in it, for good", func(ctx context.Context, w store.Who, in *struct {
		Body struct {
			Name string `json:"name" doc:"The account's name."`
		}
	}) error {
		return m.DeleteAccount(ctx, w, in.Body.Name)
	})
	Keep(d, http.MethodGet, "/v1/people", "people", "The people of the account", func(ctx context.Context, w store.Who, _ *struct{}) ([]kept.Person, error) {
		list, err := m.People(ctx, w)
		return OrEmpty(list), err
	})
	Keep(d, http.MethodPost, "/v1/people", "add-person", "Add somebody to the account", func(ctx context.Context, w store.Who, in *struct{ Body wire.PersonBody }) (wire.NewPerson, error) {
		id, err := m.AddPerson(ctx, w, in.Body.Name, in.Body.Role, in.Body.Dogs)
		return wire.NewPerson{ID: id}, err
	})
	Drop(d, http.MethodPut, "/v1/people/{id}", "set-person", "Change a person's name, role or dogs", func(ctx context.Context, w store.Who, in *struct {
		ByID
		Body wire.PersonBody
	}) error {
		return m.SetPerson(ctx, w, in.ID, in.Body.Name, in.Body.Role, in.Body.Dogs)
	})
	Drop(d, http.MethodDelete, "/v1/people/{id}", "remove-person", "Remove somebody and their tokens", func(ctx context.Context, w store.Who, in *ByID) error {
		return m.RemovePerson(ctx, w, in.ID)
	})
	Keep(d, http.MethodPost, "/v1/people/{id}/keys", "make-key", "Make a token for a person", func(ctx context.Context, w store.Who, in *struct {
		ByID
		Body struct {
			Label string `json:"label,omitempty" maxLength:"80" example:"Robin's phone"`
			Days  int    `json:"days,omitempty" minimum:"0" maximum:"3650" doc:"How long it holds; left out: a year."`
		}
	}) (wire.NewKey, error) {
		token, info, err := m.NewToken(ctx, w, in.ID, in.Body.Label, in.Body.Days)
		return wire.NewKey{Token: token, Info: info}, err
	})
	Drop(d, http.MethodDelete, "/v1/keys/{id}", "revoke-key", "End a token at once", func(ctx context.Context, w store.Who, in *ByID) error {
		return m.RevokeToken(ctx, w, in.ID)
	})
}
