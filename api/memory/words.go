package memory

import (
	"context"
	"errors"
	"net/http"

	"wideberth/api/store"
	"wideberth/api/wire"
	"wideberth/api/wire/kept"
	"wideberth/osmdata/fault"
	"wideberth/routing/training/setup"
)

// wordRoutes keep what trainers say in writing.
func (d *Desk) wordRoutes() {
	m := d.Store
	Keep(d, http.MethodGet, "/v1/dogs/{id}/words", "words", "What trainers said in writing of a dog's meetings, latest first", func(ctx context.Context, w store.Who, in *ByID) ([]kept.Word, error) {
		list, err := m.Words(ctx, w, in.ID)
		return OrEmpty(list), err
	})
	Keep(d, http.MethodPost, "/v1/dogs/{id}/words", "add-word", "A trainer says in writing why a dog may meet a helper although one has bitten and one is not muzzle-trained", func(ctx context.Context, w store.Who, in *struct {
		ByID
		Body kept.WordInput
	}) (kept.Word, error) {
		return m.AddWord(ctx, w, in.ID, in.Body)
	})
	Drop(d, http.MethodDelete, "/v1/words/{id}", "withdraw-word", "Take a trainer's word back; the record stays", func(ctx context.Context, w store.Who, in *ByID) error {
		return m.WithdrawWord(ctx, w, in.ID)
	})
}

// Helper fills in who is met by a dog: what is kept of a helper that is a kept dog, and
// what a trainer said in writing of the two. Faults are fault.Problems.
func (d *Desk) Helper(ctx context.Context, b *wire.HelperBody, dog string, h *setup.Helper) error {
	if b.DogID == "" && b.TrainerWord == "" {
		return nil
	}
	w, err := Who(ctx)
	if err != nil {
		return err
	}
	if b.DogID != "" {
		other, err := d.Store.Dog(ctx, w, b.DogID)
		switch {
		case errors.Is(err, store.ErrNotFound):
			return fault.Problems{{Pointer: "/helper/dog_id", Value: b.DogID, Mend: "give the id of a kept dog that you may see"}}
		case err != nil:
			return err
		case b.DogID == dog:
			return fault.Problems{{Pointer: "/helper/dog_id", Value: b.DogID, Mend: "a dog cannot meet itself: give another"}}
		}
		h.Name, h.MuzzleTrained = other.Profile.Name, other.Profile.Cautions.MuzzleTrained
		h.Bite = h.Bite || other.BiteHistory()
	}
	if b.TrainerWord == "" {
		return nil
	}
	x, err := d.Store.Word(ctx, w, b.TrainerWord)
	if err != nil && !errors.Is(err, store.ErrNotFound) {
		return err
	}
	name := b.Name
	if b.DogID != "" {
		name = ""
	}
	if err != nil || dog == "" || !x.Allows(dog, name, b.DogID) {
		return fault.Problems{{Pointer: "/helper/trainer_word", Value: b.TrainerWord, Mend: "give the id of a word that stands, of this kept dog and this helper: POST /v1/dogs/{id}/words"}}
	}
	h.Word = &setup.Word{ID: x.ID, By: x.By, At: x.At, Text: x.Words}
	return nil
}
