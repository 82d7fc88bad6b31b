package main

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"os"

	"wideberth/api/knowledge"
	"wideberth/api/store"
	"wideberth/api/store/database"
)

type tokenCommand struct {
	Store   string `required:"" env:"WIDEBERTH_STORE" placeholder:"FILE|URL" help:"Where dogs and walks are kept."`
	Account string `default:"local" help:"Account: a household, a practice, a shelter; made if it is not there. What serve keeps without a token is in local."`
	Keeper  string `default:"Keeper" help:"Name of the account's keeper, if the account is made. Keys of handlers and trainers are made by the keeper, on the page or with POST /v1/people."`
	Label   string `default:"made on the command line" help:"What the token is for."`
	Days    int    `default:"365" help:"How long it holds."`
}

// Run makes a token for an account's keeper and prints it, once.
func (c *tokenCommand) Run(ctx context.Context, w *world) error {
	m, err := openStore(ctx, w, c.Store, nil)
	if err != nil {
		return err
	}
	defer m.Close()
	keeper, err := m.KeeperOf(ctx, c.Account)
	if errors.Is(err, store.ErrNotFound) {
		if c.Account == store.LocalAccount {
			keeper, err = m.Local(ctx)
		} else {
			keeper, err = m.CreateAccount(ctx, c.Account, c.Keeper)
		}
	}
	if err != nil {
		return err
	}
	token, _, err := m.NewToken(ctx, keeper, keeper.Person, c.Label, c.Days)
	if err != nil {
		return byFlag(err)
	}
	fmt.Fprintln(w.out, token)
	fmt.Fprintln(w.err, "wideberth: this token is shown once; send it as Authorization: Bearer TOKEN")
	return nil
}

type backupCommand struct {
	Store string `required:"" env:"WIDEBERTH_STORE" placeholder:"FILE" help:"SQLite file that dogs and walks are kept in."`
	To    string `required:"" placeholder:"FILE" help:"New file to copy it to, while it is in use or not."`
}

// Run copies a database whole.
func (c *backupCommand) Run(ctx context.Context, w *world) error {
	if !database.IsURL(c.Store) { // opening would make an empty one, and copy that
		if _, err := os.Stat(c.Store); err != nil {
			return err
		}
	}
	m, err := openStore(ctx, w, c.Store, nil)
	if err != nil {
		return err
	}
	defer m.Close()
	if err := m.Backup(ctx, c.To); err != nil {
		return err
	}
	fmt.Fprintln(w.out, "copied to", c.To)
	return nil
}

type restoreCommand struct {
	From  string `required:"" placeholder:"FILE" help:"Backup."`
	Store string `required:"" placeholder:"FILE" help:"SQLite file to put it in the place of; no program may have it open."`

	Unsealed bool `help:"Take a backup that carries no checksum: one of an older program. Only SQLite looks at it then, who misses most damage."`
}

// Run puts a backup in the place of a database.
func (c *restoreCommand) Run(ctx context.Context, w *world) error {
	before, err := store.Restore(ctx, c.From, c.Store, c.Unsealed, store.Options{Now: w.now, Rand: rand.Reader, Count: knowledge.Count})
	if err != nil {
		return err
	}
	fmt.Fprintln(w.out, "restored to", c.Store)
	if before != "" {
		fmt.Fprintln(w.out, "what was there before is kept as", before)
	}
	return nil
}
