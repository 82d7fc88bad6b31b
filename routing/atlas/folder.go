package atlas

import (
	"os"
	"path/filepath"

	"wideberth/routing/contents"
	"wideberth/routing/snapshot"
)

// ofFolder is what a folder of tiles holds: its table is read, not its files.
func ofFolder(dir string) ([]*Tile, error) {
	table, err := contents.Read(dir)
	if err != nil {
		return nil, &TileError{Path: contents.Path(dir), Err: err}
	}
	out := make([]*Tile, len(table.Tiles))
	for i, t := range table.Tiles {
		path := filepath.Join(dir, t.File)
		out[i] = &Tile{Path: path, Name: t.Name, Zone: t.Zone, Country: t.Country, Licence: t.Licence, MapTime: table.MapTime,
			Core: Box(t.Core), Served: Box(t.Served), Bytes: t.Bytes, id: path} // its name changes with its bytes
	}
	return out, nil
}

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
