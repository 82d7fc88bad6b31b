package api

import (
	"context"
	"encoding/json"
	"net/http"

	"wideberth/api/store"
	"wideberth/routing"
)

// NewKey is a token that was just made.
type NewKey struct {
	Token string      `json:"token" doc:"Shown once: only its hash is kept."`
	Info  store.Token `json:"info"`
}

type personBody struct {
	Name string     `json:"name" minLength:"1" maxLength:"80"`
	Role store.Role `json:"role" enum:"handler,trainer,keeper"`
	Dogs []string   `json:"dogs,omitempty" maxItems:"500" doc:"Ids of the dogs that a handler is given."`
}

func (s *Server) accountRoutes() {
	m := s.opt.Store
	keep(s, http.MethodGet, "/v1/account", "account", "The account and who you are in it", func(ctx context.Context, w store.Who, _ *struct{}) (store.Account, error) {
		return m.Account(ctx, w)
	})
	keep(s, http.MethodGet, "/v1/limits", "limits", "How much can be kept", func(context.Context, store.Who, *struct{}) ([]store.Limit, error) {
		return store.Limits(), nil
	})
	drop(s, http.MethodPut, "/v1/account/settings", "set-settings", "Change the account's settings", func(ctx context.Context, w store.Who, in *struct{ Body store.Settings }) error {
		if in.Body.TrainingRule != (store.TrainingRule{}) {
			if wrong := wrongRule("/training_rule", &in.Body.TrainingRule); wrong != nil {
				return append(in.Body.Problems(), wrong...)
			}
		}
		if f := in.Body.FreeHours; f != nil {
			if wrong := (routing.FreeHours{Spans: f.Spans, Unlit: f.Unlit}).Check(); wrong != nil {
				return append(in.Body.Problems(), wrong...)
			}
		}
		return m.SetSettings(ctx, w, in.Body)
	})
	drop(s, http.MethodPost, "/v1/account/deletion", "delete-account", "Delete the account with everything in it, for good", func(ctx context.Context, w store.Who, in *struct {
		Body struct {
			Name string `json:"name" doc:"The account's name."`
		}
	}) error {
		return m.DeleteAccount(ctx, w, in.Body.Name)
	})
	keep(s, http.MethodGet, "/v1/people", "people", "The people of the account", func(ctx context.Context, w store.Who, _ *struct{}) ([]store.Person, error) {
		list, err := m.People(ctx, w)
		return orEmpty(list), err
	})
	keep(s, http.MethodPost, "/v1/people", "add-person", "Add somebody to the account", func(ctx context.Context, w store.Who, in *struct{ Body personBody }) (NewPerson, error) {
		id, err := m.AddPerson(ctx, w, in.Body.Name, in.Body.Role, in.Body.Dogs)
		return NewPerson{id}, err
	})
	drop(s, http.MethodPut, "/v1/people/{id}", "set-person", "Change a person's name, role or dogs", func(ctx context.Context, w store.Who, in *struct {
		ByID
		Body personBody
	}) error {
		return m.SetPerson(ctx, w, in.ID, in.Body.Name, in.Body.Role, in.Body.Dogs)
	})
	drop(s, http.MethodDelete, "/v1/people/{id}", "remove-person", "Remove somebody and their tokens", func(ctx context.Context, w store.Who, in *ByID) error {
		return m.RemovePerson(ctx, w, in.ID)
	})
	keep(s, http.MethodPost, "/v1/people/{id}/keys", "make-key", "Make a token for a person", func(ctx context.Context, w store.Who, in *struct {
		ByID
		Body struct {
			Label string `json:"label,omitempty" maxLength:"80" example:"Robin's phone"`
			Days  int    `json:"days,omitempty" minimum:"0" maximum:"3650" doc:"How long it holds; left out: a year."`
		}
	}) (NewKey, error) {
		token, info, err := m.NewToken(ctx, w, in.ID, in.Body.Label, in.Body.Days)
		return NewKey{token, info}, err
	})
	drop(s, http.MethodDelete, "/v1/keys/{id}", "revoke-key", "End a token at once", func(ctx context.Context, w store.Who, in *ByID) error {
		return m.RevokeToken(ctx, w, in.ID)
	})
}

// NewPerson says what the server calls somebody who was added.
type NewPerson struct {
	ID string `json:"id"`
}

// DocumentPath names one document.
type DocumentPath struct {
	Kind store.DocumentKind `path:"kind" enum:"visits,outings"`
	ID   string             `path:"id" maxLength:"80"`
}

type documentBody struct {
	Version int64           `json:"version" minimum:"0" doc:"The one that was changed; 0 makes a new one."`
	Dog     string          `json:"dog,omitempty" maxLength:"80" doc:"The dog that it is about; left out if about several."`
	Body    json.RawMessage `json:"body" doc:"Of the kind visits: wish (as sent to /v1/visits), sequence (its answer) and step, the number of the visit that is next, from 1; paused, note and what else one likes. Of the kind outings: what one likes, such as outing and timetable."`
}

// documentRoutes keep what is kept as a whole: training sequences, timetables.
func (s *Server) documentRoutes() {
	m := s.opt.Store
	keep(s, http.MethodGet, "/v1/documents/{kind}", "documents", "Kept sequences or timetables, latest first, without their bodies", func(ctx context.Context, w store.Who, in *struct {
		Kind store.DocumentKind `path:"kind" enum:"visits,outings"`
	}) ([]store.DocumentHead, error) {
		list, err := m.Documents(ctx, w, in.Kind)
		return orEmpty(list), err
	})
	keep(s, http.MethodGet, "/v1/documents/{kind}/{id}", "document", "One of them", func(ctx context.Context, w store.Who, in *DocumentPath) (store.Document, error) {
		return m.Document(ctx, w, in.Kind, in.ID)
	})
	keepUpTo(s, store.MostOutingBytes+besideBody, http.MethodPut, "/v1/documents/{kind}/{id}", "put-document", "Keep one; version 0 makes a new one", func(ctx context.Context, w store.Who, in *struct {
		DocumentPath
		Body documentBody
	}) (store.Document, error) {
		return s.putDocument(ctx, w, store.Document{Kind: in.Kind, ID: in.ID, Dog: in.Body.Dog, Version: in.Body.Version, Body: in.Body.Body})
	})
	drop(s, http.MethodDelete, "/v1/documents/{kind}/{id}", "delete-document", "Delete one", func(ctx context.Context, w store.Who, in *DocumentPath) error {
		return m.DeleteDocument(ctx, w, in.Kind, in.ID)
	})
}
