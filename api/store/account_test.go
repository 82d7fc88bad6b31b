package store_test

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"wideberth/api/store"
	"wideberth/api/wire/kept"
)

func TestTokens(t *testing.T) {
	each(t, func(t *testing.T, h *house) {
		ctx := t.Context()
		if has, err := h.Keyed(ctx); err != nil || has {
			t.Fatalf("a new database has tokens: %v, %v", has, err)
		}
		token, info, err := h.NewToken(ctx, h.keeper, h.handler.Person, "phone", 30)
		h.ok(err)
		if len(token) != 43 { // 32 bytes in base64 without padding (RFC 4648)
			t.Errorf("token of %d characters, want 43", len(token))
		}
		who, err := h.Authenticate(ctx, token)
		h.ok(err)
		if who != h.handler {
			t.Errorf("token belongs to %+v, want %+v", who, h.handler)
		}
		for name, bad := range map[string]string{"empty": "", "cut": token[:42], "another": strings.Repeat("a", 43)} {
			if _, err := h.Authenticate(ctx, bad); !errors.Is(err, store.ErrUnknownToken) {
				t.Errorf("%s token: %v", name, err)
			}
		}
		h.advance(days(29))
		if _, err := h.Authenticate(ctx, token); err != nil {
			t.Errorf("after 29 days: %v", err)
		}
		if got := h.named(h.handler.Person).Keys[0].Seen; got != "2026-12-24" {
			t.Errorf("last seen %q, want the day of its last use", got)
		}
		h.advance(days(1))
		if _, err := h.Authenticate(ctx, token); !errors.Is(err, store.ErrUnknownToken) {
			t.Errorf("after 30 days: %v", err)
		}
		if has, err := h.Keyed(ctx); err != nil || !has {
			t.Errorf("one that has run out must count: %v, %v", has, err)
		}
		second, info2, err := h.NewToken(ctx, h.keeper, h.trainer.Person, "", 0)
		h.ok(err)
		if second == token || info2.ID == info.ID {
			t.Error("two tokens alike")
		}
		h.ok(h.RevokeToken(ctx, h.keeper, info2.ID))
		if _, err := h.Authenticate(ctx, second); !errors.Is(err, store.ErrUnknownToken) {
			t.Errorf("revoked: %v", err)
		}
		want(t, "a handler makes a token", second1(h.NewToken(ctx, h.handler, h.handler.Person, "", 1)), store.ErrForbidden)
		want(t, "a token for nobody", second1(h.NewToken(ctx, h.keeper, "nobody", "", 1)), store.ErrNotFound)
		wantProblem(t, "a token for ever", second1(h.NewToken(ctx, h.keeper, h.handler.Person, "", 99999)), "/days")
	})
}

// second1 is the error of a call with three results.
func second1[A, B any](_ A, _ B, err error) error { return err }

// onlyErr is the error of a call with two results.
func onlyErr[A any](_ A, err error) error { return err }

// named finds a person of the house by id.
func (h *house) named(id string) kept.Person {
	h.t.Helper()
	people, err := h.People(h.t.Context(), h.keeper)
	h.ok(err)
	for _, p := range people {
		if p.ID == id {
			return p
		}
	}
	h.t.Fatalf("no person %s among %+v", id, people)
	return kept.Person{}
}

func TestTokenIsNotStored(t *testing.T) {
	path := newFile(t)
	h := newHouse(t, path)
	token, _, err := h.NewToken(t.Context(), h.keeper, h.handler.Person, "phone", 30)
	h.ok(err)
	if found := inFiles(t, path, token); found != "" {
		t.Errorf("the token itself stands in %s", found)
	}
}

func TestLocalAccountIsMadeOnce(t *testing.T) {
	each(t, func(t *testing.T, h *house) {
		a, err := h.Local(t.Context())
		h.ok(err)
		b, err := h.Local(t.Context())
		h.ok(err)
		if a != b || a.Role != kept.Keeper || a.Account == h.keeper.Account {
			t.Errorf("local account %+v, then %+v", a, b)
		}
		again, err := h.KeeperOf(t.Context(), store.LocalAccount)
		h.ok(err)
		if again != a {
			t.Errorf("keeper of the local account: %+v", again)
		}
	})
}

func TestPeople(t *testing.T) {
	each(t, func(t *testing.T, h *house) {
		ctx := t.Context()
		fern := h.dog("Fern")
		h.give(h.handler, fern.ID)
		if p := h.named(h.handler.Person); p.Name != "Sam" || len(p.Dogs) != 1 {
			t.Errorf("handler %+v", p)
		}
		want(t, "a trainer lists people", onlyErr(h.People(ctx, h.trainer)), store.ErrForbidden)
		want(t, "the last keeper leaves", h.RemovePerson(ctx, h.keeper, h.keeper.Person), store.ErrConflict)
		want(t, "the last keeper steps down", h.SetPerson(ctx, h.keeper, h.keeper.Person, "Kit", kept.Handler, nil), store.ErrConflict)
		want(t, "two accounts of one name", onlyErr(h.CreateAccount(ctx, "Alder House", "Kit")), store.ErrConflict)
		wantProblem(t, "an unknown role", onlyErr(h.AddPerson(ctx, h.keeper, "Jo", "boss", nil)), "/role")
		wantProblem(t, "no name", onlyErr(h.AddPerson(ctx, h.keeper, " ", kept.Handler, nil)), "/name")

		before := len(list(h.People(ctx, h.keeper)))
		wantProblem(t, "a dog that is not there", onlyErr(h.AddPerson(ctx, h.keeper, "Robin", kept.Handler, []string{fern.ID, "none"})), "/dogs/1")
		if n := len(list(h.People(ctx, h.keeper))); n != before {
			t.Errorf("refused, and yet there are %d people instead of %d", n, before)
		}
		robin, err := h.AddPerson(ctx, h.keeper, "Robin", kept.Handler, []string{fern.ID})
		h.ok(err)
		if p := h.named(robin); !slices.Equal(p.Dogs, []string{fern.ID}) {
			t.Errorf("given %+v", p)
		}

		other := h.account("Birch House")
		want(t, "another account's person", h.RemovePerson(ctx, other, h.handler.Person), store.ErrNotFound)
		wantProblem(t, "another account's dog", h.SetPerson(ctx, other, other.Person, "Kit", kept.Keeper, []string{fern.ID}), "/dogs/0")

		e, _, err := h.AddEncounter(ctx, h.handler, fern.ID, kept.EncounterInput{At: h.now(), Kind: "dogs"}, "")
		h.ok(err)
		h.ok(h.RemovePerson(ctx, h.keeper, h.handler.Person))
		e, err = h.Encounter(ctx, h.keeper, e.ID)
		h.ok(err)
		if e.Person != "" {
			t.Errorf("what a person logged still names them after they left: %+v", e)
		}
	})
}

func TestSettings(t *testing.T) {
	each(t, func(t *testing.T, h *house) {
		ctx := t.Context()
		a, err := h.Account(ctx, h.handler)
		h.ok(err)
		if a.Name != "Alder House" || a.Settings.KeepTracksDays != 365 || a.You.ID != h.handler.Person {
			t.Errorf("account %+v", a)
		}
		set := a.Settings
		set.Units, set.KeepTracksDays = "ft", 30
		h.ok(h.SetSettings(ctx, h.keeper, set))
		a, err = h.Account(ctx, h.handler)
		h.ok(err)
		if a.Settings != set {
			t.Errorf("settings %+v, want %+v", a.Settings, set)
		}
		want(t, "a trainer changes settings", h.SetSettings(ctx, h.trainer, set), store.ErrForbidden)
		for pointer, bad := range map[string]kept.Settings{
			"/units": {KeepTracksDays: 365, HalfLifeDays: 60, Units: "yd", Clock: "24"}, "/clock": {KeepTracksDays: 365, HalfLifeDays: 60, Units: "m", Clock: "13"},
			"/keep_tracks_days": {KeepTracksDays: -1, HalfLifeDays: 60, Units: "m", Clock: "24"}, "/half_life_days": {KeepTracksDays: 365, HalfLifeDays: 1, Units: "m", Clock: "24"},
		} {
			wantProblem(t, "settings", h.SetSettings(ctx, h.keeper, bad), pointer)
		}
	})
}
