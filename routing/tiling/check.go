package tiling

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"wideberth/osmdata/cut"
	"wideberth/osmdata/flatfile"
	"wideberth/osmdata/parallel"
	"wideberth/routing/contents"
	"wideberth/routing/snapshot"
)

// Checked is what became of a folder of tiles that was looked through.
type Checked struct {
	Table     contents.Table
	Breaches  []error  // what keeps it from being served well
	Leftovers []string // files that the table does not name, which the next import removes
	Broken    bool     // an import that did not end stands there, and goes on when it is begun again
}

// Check walks a folder: whether each file that its table names is there, holds what its
// name says, is of this program's version and keeps its own invariants.
func Check(ctx context.Context, dir string) (*Checked, error) {
	table, err := contents.Read(dir)
	if err != nil {
		return nil, err
	}
	c := &Checked{Table: table}
	found := make([][]error, len(table.Tiles))
	tools := make([]string, len(table.Tiles))
	err = parallel.With(ctx, 1, len(table.Tiles), func() func(i int) error { // one at a time: each is read whole
		return func(i int) error {
			found[i], tools[i] = checkTile(dir, table.Tiles[i])
			return nil
		}
	})
	if err != nil {
		return nil, err
	}
	first := ""
	for i, t := range table.Tiles {
		c.Breaches = append(c.Breaches, found[i]...)
		switch {
		case tools[i] == "":
		case first == "":
			first = tools[i]
		case tools[i] != first:
			c.Breaches = append(c.Breaches, fmt.Errorf("tile %s was made by version %s, others by %s: import again", t.Key, tools[i], first))
		}
	}
	if c.Leftovers, err = table.Leftovers(dir); err != nil {
		return nil, err
	}
	if _, err := os.Stat(filepath.Join(dir, cut.Unfinished)); err == nil {
		c.Broken = true
	} else if !errors.Is(err, fs.ErrNotExist) {
		return nil, err
	}
	return c, nil
}

func checkTile(dir string, t contents.Tile) (breaches []error, tool string) {
	if err := t.Verify(dir); err != nil {
		if errors.Is(err, fs.ErrNotExist) {
			err = fmt.Errorf("tile %s: its file %s: %w", t.Key, t.File, flatfile.ErrMissing)
		}
		return []error{err}, ""
	}
	s, err := snapshot.Open(filepath.Join(dir, t.File))
	if err != nil {
		return []error{err}, ""
	}
	for _, b := range s.Check() {
		breaches = append(breaches, fmt.Errorf("tile %s: %w", t.Key, b))
	}
	return breaches, s.Tool
}
