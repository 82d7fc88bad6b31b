package store_test

import (
	"encoding/json"
	"testing"
	"time"

	"wideberth/api/store"
	"wideberth/api/wire/kept"
)

// TestWords: a trainer's word is kept with who said it and when, is never changed, and
// stands when they have left; taken back it allows nothing, and the record stays.
func TestWords(t *testing.T) {
	each(t, func(t *testing.T, h *house) {
		ctx := t.Context()
		fern, oro := h.dog("Fern"), h.dog("Oro")
		h.give(h.handler, fern.ID)
		in := kept.WordInput{Helper: "Tilly", Words: "Basket muzzle on Fern.\nNo nearer than 40 m."}
		want(t, "a handler's word", onlyErr(h.AddWord(ctx, h.handler, fern.ID, in)), store.ErrForbidden)
		x, err := h.AddWord(ctx, h.trainer, fern.ID, in)
		h.ok(err)
		if x.By != "trainer one" || x.Person != h.trainer.Person || !x.At.Equal(h.now()) || x.WordInput != in || !x.Allows(fern.ID, "Tilly", "") {
			t.Errorf("%+v", x)
		}
		for name, allowed := range map[string]bool{"another dog": x.Allows(oro.ID, "Tilly", ""), "another helper": x.Allows(fern.ID, "Bram", ""), "a kept helper": x.Allows(fern.ID, "Tilly", oro.ID), "no helper": x.Allows(fern.ID, "", "")} {
			if allowed {
				t.Errorf("the word holds for %s", name)
			}
		}
		seen, err := h.Word(ctx, h.handler, x.ID)
		h.ok(err)
		if seen.ID != x.ID || seen.Words != in.Words {
			t.Errorf("the handler sees %+v", seen)
		}
		h.advance(time.Hour)
		y, err := h.AddWord(ctx, h.trainer, fern.ID, kept.WordInput{HelperDog: oro.ID, Words: "Both know each other."})
		h.ok(err)
		if !y.Allows(fern.ID, "", oro.ID) || y.Allows(fern.ID, "", "") {
			t.Errorf("%+v", y)
		}
		if l := list(h.Words(ctx, h.keeper, fern.ID)); len(l) != 2 || l[0].ID != y.ID || l[1].ID != x.ID {
			t.Errorf("%+v", l)
		}
		for pointer, bad := range map[string]kept.WordInput{"/helper": {Words: "x"}, "/words": {Helper: "Tilly", Words: " "}} {
			wantProblem(t, "a word", onlyErr(h.AddWord(ctx, h.trainer, fern.ID, bad)), pointer)
		}
		wantProblem(t, "two helpers", onlyErr(h.AddWord(ctx, h.trainer, fern.ID, kept.WordInput{Helper: "a", HelperDog: oro.ID, Words: "x"})), "/helper")
		want(t, "a helper that is not there", onlyErr(h.AddWord(ctx, h.trainer, fern.ID, kept.WordInput{HelperDog: "none", Words: "x"})), store.ErrNotFound)
		want(t, "taken back by a handler", h.WithdrawWord(ctx, h.handler, x.ID), store.ErrForbidden)
		h.ok(h.WithdrawWord(ctx, h.keeper, x.ID))
		want(t, "taken back twice", h.WithdrawWord(ctx, h.keeper, x.ID), store.ErrConflict)
		h.ok(h.RemovePerson(ctx, h.keeper, h.trainer.Person))
		if x, err = h.Word(ctx, h.keeper, x.ID); err != nil || x.Withdrawn == nil || !x.Withdrawn.Equal(h.now()) || x.Allows(fern.ID, "Tilly", "") || x.By != "trainer one" || x.Words != in.Words {
			t.Errorf("taken back: %+v, %v", x, err)
		}
	})
}

// TestShares: a key to one dog shows that dog, its sequences and nothing of others; it is
// no token, ends with its day, when it is revoked and with its dog, and is kept nowhere.
func TestShares(t *testing.T) {
	each(t, func(t *testing.T, h *house) {
		ctx := t.Context()
		fern, oro := h.dog("Fern"), h.dog("Oro")
		for id, body := range map[string]string{"own": `{"step":1}`, "both": `{"helper":"` + oro.ID + `"}`} {
			_, err := h.PutDocument(ctx, h.trainer, kept.Document{Kind: kept.Sequences, ID: id, Dog: fern.ID, Body: json.RawMessage(body)})
			h.ok(err)
		}
		_, err := h.PutDocument(ctx, h.trainer, kept.Document{Kind: kept.Sequences, ID: "other", Dog: oro.ID, Body: json.RawMessage(`{}`)})
		h.ok(err)
		_, err = h.PutDocument(ctx, h.trainer, kept.Document{Kind: kept.Outings, ID: "day", Body: json.RawMessage(`{"dogs":["` + fern.ID + `"]}`)})
		h.ok(err)
		for _, d := range []string{fern.ID, oro.ID} {
			_, _, err = h.AddEncounter(ctx, h.trainer, d, kept.EncounterInput{At: h.now(), Kind: "dogs"}, "")
			h.ok(err)
			h.walk(kept.Dog{ID: d}, h.now().Add(-time.Hour))
		}
		want(t, "a handler makes one", second1(h.NewShare(ctx, h.handler, fern.ID, "", 0)), store.ErrForbidden)
		wantProblem(t, "too many days", second1(h.NewShare(ctx, h.trainer, fern.ID, "", 366)), "/days")
		key, info, err := h.NewShare(ctx, h.trainer, fern.ID, "Family Birch", 0)
		h.ok(err)
		if d := info.Expires.Sub(h.now()).Hours() / 24; d != 30 || info.Dog != fern.ID || info.Label != "Family Birch" {
			t.Errorf("%+v holds %g days", info, d)
		}
		want(t, "the key as a token", onlyErr(h.Authenticate(ctx, key)), store.ErrUnknownToken)
		token, _, err := h.NewToken(ctx, h.keeper, h.trainer.Person, "", 1)
		h.ok(err)
		want(t, "a token as a key", onlyErr(h.OpenShare(ctx, token)), store.ErrUnknownToken)
		want(t, "no key", onlyErr(h.OpenShare(ctx, "")), store.ErrUnknownToken)
		g, err := h.OpenShare(ctx, key)
		h.ok(err)
		all, err := h.Shared(ctx, g, h.now().AddDate(0, 0, -1))
		h.ok(err)
		if all.Dog.ID != fern.ID || len(all.Docs) != 1 || all.Docs[0].ID != "own" || len(all.Met) != 1 || all.Met[0].Dog != fern.ID || len(all.Walks) != 1 || all.Walks[0].Dog != fern.ID {
			t.Errorf("%+v", all)
		}
		if l := list(h.Shares(ctx, h.trainer, fern.ID)); len(l) != 1 || l[0].Seen != h.now().Format(time.DateOnly) || l[0].Revoked {
			t.Errorf("%+v", l)
		}
		want(t, "a handler lists them", onlyErr(h.Shares(ctx, h.handler, fern.ID)), store.ErrForbidden)
		want(t, "a handler revokes", h.RevokeShare(ctx, h.handler, info.ID), store.ErrForbidden)
		h.ok(h.RevokeShare(ctx, h.trainer, info.ID))
		want(t, "revoked", onlyErr(h.OpenShare(ctx, key)), store.ErrUnknownToken)
		want(t, "revoked meanwhile", onlyErr(h.Shared(ctx, g, h.now())), store.ErrUnknownToken)
		if l := list(h.Shares(ctx, h.trainer, fern.ID)); len(l) != 1 || !l[0].Revoked {
			t.Errorf("%+v", l)
		}
		h.ok(h.RevokeShare(ctx, h.trainer, info.ID)) // ended before: it is deleted
		if l := list(h.Shares(ctx, h.trainer, fern.ID)); len(l) != 0 {
			t.Errorf("%+v", l)
		}
		day, _, err := h.NewShare(ctx, h.trainer, fern.ID, "", 1)
		h.ok(err)
		long, _, err := h.NewShare(ctx, h.trainer, fern.ID, "", 365)
		h.ok(err)
		h.advance(24 * time.Hour)
		want(t, "on its last moment", onlyErr(h.OpenShare(ctx, day)), store.ErrUnknownToken)
		_, err = h.OpenShare(ctx, long)
		h.ok(err)
		h.ok(h.DeleteDog(ctx, h.trainer, fern.ID, "Fern"))
		want(t, "of a dog that is gone", onlyErr(h.OpenShare(ctx, long)), store.ErrUnknownToken)
	})
}

func TestShareIsNotStored(t *testing.T) {
	path := newFile(t)
	h := newHouse(t, path)
	key, _, err := h.NewShare(t.Context(), h.trainer, h.dog("Fern").ID, "phone", 30)
	h.ok(err)
	if found := inFiles(t, path, key); found != "" {
		t.Errorf("the key itself stands in %s", found)
	}
}
