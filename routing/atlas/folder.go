package atlas

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"os"
	"path/filepath"

	"wideberth/osmdata/fault"
	"wideberth/routing/contents"
	"wideberth/routing/depot"
	"wideberth/routing/snapshot"
)

// ofFolder is what a folder of tiles holds: its table is read, not its files.
func ofFolder(dir string) ([]*Tile, error) {
	table, err := contents.Read(dir)
	if err != nil {
		return nil, &TileError{Path: contents.Path(dir), Err: err}
	}
	return ofTable(dir, table), nil
}

// ofTable is what a table says of a folder.
func ofTable(dir string, table contents.Table) []*Tile {
	out := make([]*Tile, len(table.Tiles))
	for i, t := range table.Tiles {
		path := filepath.Join(dir, t.File)
		out[i] = &Tile{Path: path, Name: t.Name, Zone: t.Zone, Country: t.Country, Licence: t.Licence, MapTime: table.MapTime,
			Core: Box(t.Core), Served: Box(t.Served), Bytes: t.Bytes, id: path} // its name changes with its bytes
	}
	return out
}

// ofBucket is what a bucket holds: its table is read anew, its files when they are needed.
// Where the bucket is not in reach at first, the table that was read last holds, and the
// tiles that are here are served.
func (a *Atlas) ofBucket(ctx context.Context, path string) ([]*Tile, error) {
	where := depot.Redacted(path)
	d := a.depots[path]
	first := d == nil
	if first {
		if a.opt.Cache == "" {
			return nil, fault.One("--cache", "", "name a folder on this machine for the tiles that come from "+where)
		}
		sum := sha256.Sum256([]byte(where))
		var err error
		d, err = depot.Open(ctx, path, depot.Options{Dir: filepath.Join(a.opt.Cache, hex.EncodeToString(sum[:6])), MaxBytes: a.opt.CacheBytes, Now: a.opt.Now})
		if err != nil {
			return nil, err
		}
	}
	table, err := d.Pull(ctx)
	if err != nil && first {
		if old, errOld := contents.Read(d.Dir()); errOld == nil {
			table, err = old, nil
		}
	}
	if err != nil {
		err = &TileError{Path: where, Err: err}
		if first {
			err = errors.Join(err, d.Close())
		}
		return nil, err
	}
	a.depots[path] = d
	tiles := ofTable(d.Dir(), table)
	for i, t := range table.Tiles {
		tiles[i].fetch = func(ctx context.Context) error {
			_, err := d.Fetch(ctx, t)
			return err
		}
		tiles[i].glean = func(ctx context.Context) (string, error) {
			return d.Excerpt(ctx, t, func(path string, read func(at, length int64) ([]byte, error)) error {
				return snapshot.ExcerptWords(path, t.Bytes, read)
			})
		}
	}
	return tiles, nil
}

// bring has the tile's file on this machine.
func (t *Tile) bring(ctx context.Context) error {
	if t.fetch == nil {
		return nil
	}
	return t.fetch(ctx)
}

// here tells whether it is.
func (t *Tile) here() bool {
	if t.fetch == nil {
		return true
	}
	_, err := os.Stat(t.Path)
	return err == nil
}

// reads says whether a tile's file is there and of this program's version. Those of a
// bucket are looked at when they come.
func (t *Tile) reads() error {
	if t.fetch != nil {
		return nil
	}
	if _, err := os.Stat(t.Path); err != nil {
		return &TileError{Path: t.Path, Name: t.Name, Err: err}
	}
	if _, _, err := snapshot.ReadAbout(t.Path); err != nil {
		return &TileError{Path: t.Path, Name: t.Name, Err: err}
	}
	return nil
}
