package memory

import (
	"context"
	"net/http"

	"wideberth/api/knowledge"
	"wideberth/api/store"
	"wideberth/api/wire/kept"
)

type dogChange struct {
	ByID
	Body struct {
		Version int64        `json:"version" doc:"The one that was changed."`
		Profile kept.Profile `json:"profile"`
	}
}

func (d *Desk) dogRoutes() {
	m := d.Store
	Keep(d, http.MethodGet, "/v1/dogs", "dogs", "The dogs that one may see", func(ctx context.Context, w store.Who, _ *struct{}) ([]kept.Dog, error) {
		dogs, err := m.Dogs(ctx, w)
		return OrEmpty(dogs), err
	})
	Keep(d, http.MethodPost, "/v1/dogs", "add-dog", "Add a dog: distances, or plain answers from which they follow", func(ctx context.Context, w store.Who, in *struct{ Body kept.Profile }) (kept.Dog, error) {
		said, err := knowledge.Distances(&in.Body)
		if err != nil {
			return kept.Dog{}, err
		}
		return m.AddDog(ctx, w, in.Body, said)
	})
	Keep(d, http.MethodGet, "/v1/dogs/{id}", "dog", "One dog", func(ctx context.Context, w store.Who, in *ByID) (kept.Dog, error) {
		return m.Dog(ctx, w, in.ID)
	})
	Keep(d, http.MethodPut, "/v1/dogs/{id}", "set-dog", "Change what is said of a dog", func(ctx context.Context, w store.Who, in *dogChange) (kept.Dog, error) {
		said, err := knowledge.Distances(&in.Body.Profile)
		if err != nil {
			return kept.Dog{}, err
		}
		return m.SetDog(ctx, w, in.ID, in.Body.Version, in.Body.Profile, said)
	})
	Drop(d, http.MethodPost, "/v1/dogs/{id}/deletion", "delete-dog", "Delete a dog and all that is kept about it, for good", func(ctx context.Context, w store.Who, in *struct {
		ByID
		Body struct {
			Name string `json:"name" doc:"The dog's name, so that nobody deletes another by mistake."`
		}
	}) error {
		return m.DeleteDog(ctx, w, in.ID, in.Body.Name)
	})
	Keep(d, http.MethodGet, "/v1/dogs/{id}/history", "history", "How a dog's distances changed, latest first", func(ctx context.Context, w store.Who, in *ByID) ([]kept.Change, error) {
		list, err := m.History(ctx, w, in.ID)
		return OrEmpty(list), err
	})
}
