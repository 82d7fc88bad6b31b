package store

import (
	"context"
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"time"

	"wideberth/api/store/database"
	"wideberth/api/wire/kept"
	"wideberth/osmdata/fault"
)

// Bounds of a token's life, and what it is if nothing is said.
const (
	defaultTokenDays = 365
	mostTokenDays    = 3650
)

// tokenBytes of randomness: 256 bits cannot be guessed.
const tokenBytes = 32

// hashToken is what is kept of a token. One round of SHA-256 is enough: slow
// hashes protect what people think up, and nobody tries 2^256 tokens however
// fast one try is.
func hashToken(token string) string {
	h := sha256.Sum256([]byte(token))
	return hex.EncodeToString(h[:])
}

// drawToken is a new token.
func (s *Store) drawToken() (string, error) {
	var raw [tokenBytes]byte
	if _, err := io.ReadFull(s.rand, raw[:]); err != nil {
		return "", fmt.Errorf("draw a token: %w", err)
	}
	return base64.RawURLEncoding.EncodeToString(raw[:]), nil
}

// NewToken makes a token for a person that runs out after some days (0 for
// DefaultTokenDays), and gives it the only time; for keepers.
func (s *Store) NewToken(ctx context.Context, w Who, person, label string, days int) (token string, info kept.Token, err error) {
	if err := w.may(kept.Keeper); err != nil {
		return "", info, err
	}
	ps := kept.CheckName("/label", label, false)
	if days < 0 || days > mostTokenDays {
		ps = append(ps, fault.Problem{Pointer: "/days", Value: fmt.Sprint(days), Mend: fmt.Sprintf("give 1 to %d days, or leave it out for %d", mostTokenDays, defaultTokenDays)})
	}
	if err := ps.Err(); err != nil {
		return "", info, err
	}
	if days == 0 {
		days = defaultTokenDays
	}
	if token, err = s.drawToken(); err != nil {
		return "", info, err
	}
	err = s.update(ctx, func(t *tx) error {
		if err := t.lock(w.Account); err != nil {
			return err
		}
		if err := t.room(mostKeys, "keys", "person", "remove the person and add them anew", `SELECT 1 FROM token WHERE person = $1`, person); err != nil {
			return err
		}
		if err := t.Do(`INSERT INTO mark (name, at) VALUES ('key', $1) ON CONFLICT DO NOTHING`, moment(t.Now)); err != nil {
			return err
		}
		id, err := s.newID()
		if err != nil {
			return err
		}
		info = kept.Token{ID: id, Label: label, Created: t.Now, Expires: t.Now.Add(time.Duration(days) * 24 * time.Hour)}
		return t.Must(`INSERT INTO token (id, hash, person, label, created, expires)
			SELECT $1, $2, id, $3, $4, $5 FROM person WHERE id = $6 AND account = $7`,
			id, hashToken(token), label, moment(info.Created), moment(info.Expires), person, w.Account)
	})
	if err != nil {
		return "", kept.Token{}, err
	}
	return token, info, nil
}

// RevokeToken ends a token at once; for keepers.
func (s *Store) RevokeToken(ctx context.Context, w Who, id string) error {
	if err := w.may(kept.Keeper); err != nil {
		return err
	}
	return s.update(ctx, func(t *tx) error {
		return t.Must(`UPDATE token SET revoked = $1 WHERE id = $2 AND person IN (SELECT id FROM person WHERE account = $3)`, moment(t.Now), id, w.Account)
	})
}

// Keyed says whether any token was ever made, be it revoked, run out, or gone with
// its person or account: none of that may open the door to everybody. A new one is
// made on the command line.
func (s *Store) Keyed(ctx context.Context) (ever bool, err error) {
	err = s.view(ctx, func(t *tx) error {
		return t.Row(`SELECT EXISTS (SELECT 1 FROM mark WHERE name = 'key')`, nil, &ever)
	})
	return ever, err
}

// Authenticate says who a token belongs to. ErrUnknownToken if nobody, or if it
// is revoked or has run out. The day of its use is noted.
func (s *Store) Authenticate(ctx context.Context, token string) (Who, error) {
	var (
		w    Who
		id   string
		seen int64
		day  time.Time
	)
	err := s.view(ctx, func(t *tx) error {
		day = t.Now.Truncate(24 * time.Hour)
		return t.Row(`SELECT k.id, k.seen, p.account, p.id, p.role FROM token k JOIN person p ON p.id = k.person
			WHERE k.hash = $1 AND k.revoked = 0 AND k.expires > $2`, []any{hashToken(token), moment(t.Now)}, &id, &seen, &w.Account, &w.Person, &w.Role)
	})
	if errors.Is(err, ErrNotFound) {
		return Who{}, ErrUnknownToken
	}
	if err != nil {
		return Who{}, err
	}
	if seen < moment(day) {
		err = s.update(ctx, func(t *tx) error {
			return t.Do(`UPDATE token SET seen = $1 WHERE id = $2`, moment(day), id)
		})
		if errors.Is(err, database.ErrReadOnly) || errors.Is(err, database.ErrFull) {
			err = nil // whoever may only read still may
		}
	}
	return w, err
}

func isConflict(err error) bool { return errors.Is(err, ErrConflict) }
