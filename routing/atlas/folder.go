package atlas

import (
	"errors"
	"os"

	"wideberth/routing/snapshot"
)

func ofFolder(dir string) ([]*Tile, error) { return nil, errors.New("not yet") }

// reads says whether a tile's file is there and of this program's version.
func (t *Tile) reads() error {
	if _, err := os.Stat(t.Path); err != nil {
		return &TileError{Path: t.Path, Name: t.Name, Err: err}
	}
	if _, _, err := snapshot.ReadAbout(t.Path); err != nil {
		return &TileError{Path: t.Path, Name: t.Name, Err: err}
	}
	return nil
}
