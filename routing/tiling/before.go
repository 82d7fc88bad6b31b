package tiling

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"reflect"
	"sync"
	"time"

	"wideberth/osmdata"
	"wideberth/osmdata/change"
	"wideberth/osmdata/cut"
	"wideberth/osmdata/fault"
	"wideberth/osmdata/flatfile"
	"wideberth/routing/contents"
	"wideberth/routing/snapshot"
)

// before is what a folder held when an import into it began: the tiles that its table
// names, and the parts of the map that they were made of. A tile whose part changed is
// made of both, where that is less work.
type before struct {
	dir    string // where the blocks are kept, linked
	counts []Count
	blocks map[string]cut.Block
	tiles  map[string]contents.Tile

	mu      sync.Mutex // guards what follows
	renewed snapshot.Renewed
	tilesOf int // that were renewed
}

// beforeFolder keeps the blocks of the map that is there until another takes its place.
const (
	beforeFolder = ".before"
	beforeList   = "list.json"
)

// kept is what is noted of an import for the next.
type kept struct {
	Settings Settings `json:"settings"`
	MarginM  float64  `json:"margin_m"`
	Bytes    int64    `json:"tile_bytes"`
}

// alike tells whether tiles of one import can be made of those of another: under the same
// settings, whatever was counted.
func (k kept) alike(l kept) bool {
	k.Settings.Counts, l.Settings.Counts = nil, nil
	return reflect.DeepEqual(k, l)
}

func (o *Options) kept() kept { return kept{o.Settings, o.MarginM, o.TileBytes} }

// noted is what a table notes of the import that made it; nothing where it is not legible.
func noted(table contents.Table) (k kept) {
	if json.Unmarshal(table.Settings, &k) != nil {
		return kept{}
	}
	return k
}

// beforeOf keeps what a folder holds, before its blocks are cut anew; nil where nothing of
// it can be used.
func (o *Options) beforeOf(dir string, table contents.Table) (*before, error) {
	if !noted(table).alike(o.kept()) {
		return nil, nil
	}
	b := &before{dir: filepath.Join(dir, beforeFolder), counts: noted(table).Settings.Counts, blocks: map[string]cut.Block{}, tiles: map[string]contents.Tile{}}
	blocks, err := b.keep(dir, table.Made)
	if err != nil {
		return nil, err
	}
	for _, x := range blocks {
		b.blocks[x.Key] = x
	}
	for _, t := range table.Tiles {
		b.tiles[t.Key] = t
	}
	return b, nil
}

// list is what is kept, of the table that was made at a time.
type list struct {
	Made   time.Time   `json:"made"`
	Blocks []cut.Block `json:"blocks"`
}

// keep links the blocks to where they stay, unless an import that was broken off has done
// so.
func (b *before) keep(dir string, made time.Time) ([]cut.Block, error) {
	path := filepath.Join(b.dir, beforeList)
	var l list
	if text, err := os.ReadFile(path); err == nil && json.Unmarshal(text, &l) == nil && l.Made.Equal(made) {
		return l.Blocks, nil
	}
	if err := os.RemoveAll(b.dir); err != nil {
		return nil, err
	}
	if err := os.MkdirAll(b.dir, 0o755); err != nil {
		return nil, err
	}
	// Where they cannot be read all tiles are made without them.
	blocks, err := cut.Read(dir)
	if err != nil {
		blocks = &cut.Blocks{}
	}
	var kept []cut.Block
	for _, x := range blocks.Blocks {
		switch err := link(x.Path(dir), filepath.Join(b.dir, x.File)); {
		case errors.Is(err, fs.ErrNotExist): // lost: its tile is made without it
		case err != nil:
			return nil, err
		default:
			kept = append(kept, x)
		}
	}
	text, err := json.Marshal(list{made, kept})
	if err != nil {
		return nil, fmt.Errorf("write %s: %w", path, err)
	}
	return kept, flatfile.Replace(path, text)
}

// link gives a file another name, or makes a copy where the file system has no links.
func link(from, to string) error {
	if os.Link(from, to) == nil {
		return nil
	}
	in, err := os.Open(from)
	if err != nil {
		return err
	}
	defer in.Close()
	out, err := os.Create(to)
	if err != nil {
		return err
	}
	_, err = io.Copy(out, in)
	return errors.Join(err, out.Close())
}

// keeps tells whether a block is as it was, and all that was counted about it: then so is
// its tile, if it has one.
func (b *before) keeps(x *cut.Block, now []Count) (tile contents.Tile, walked, kept bool) {
	if b == nil {
		return tile, false, false
	}
	was, had := b.blocks[x.Key]
	if !had || was.Hash != x.Hash || !reflect.DeepEqual(countsIn(b.counts, x.Box), countsIn(now, x.Box)) {
		return tile, false, false
	}
	tile, walked = b.tiles[x.Key]
	if walked {
		path := filepath.Join(b.dir, "..", tile.File)
		info, err := os.Stat(path)
		if kept = err == nil && info.Size() == tile.Bytes; kept {
			_, _, err = snapshot.ReadAbout(path)
			kept = err == nil // else it is damaged, or of another version
		}
	}
	return tile, walked, kept || !walked
}

// of gives the block and the tile that a step's output takes the place of.
func (b *before) of(s *Step) (block, tile string, ok bool) {
	if b == nil {
		return "", "", false
	}
	x, had := b.blocks[s.Key]
	t, made := b.tiles[s.Key]
	if !had || !made || t.Served != s.Served {
		return "", "", false
	}
	return filepath.Join(b.dir, x.File), t.File, true
}

// renew makes the snapshot of a tile of its block, of the block before and of the tile
// that was made of that.
func (s *Step) renew(ctx context.Context, dir, blockBefore, tileBefore string, o snapshot.ImportOptions) (*snapshot.Snapshot, error) {
	old, err := snapshot.Open(filepath.Join(dir, tileBefore))
	if err != nil {
		return nil, err
	}
	defer old.Close()
	was, err := os.Open(blockBefore)
	if err != nil {
		return nil, err
	}
	defer was.Close()
	is, err := os.Open(filepath.Join(dir, filepath.FromSlash(s.Inputs[0])))
	if err != nil {
		return nil, err
	}
	defer is.Close()
	a, err := osmdata.OpenElements(ctx, was, 1, nil)
	if err != nil {
		return nil, err
	}
	b, err := osmdata.OpenElements(ctx, is, 1, nil)
	if err != nil {
		return nil, err
	}
	set := change.NewSet(change.UsualMemory, s.before.dir)
	defer set.Close()
	if err := set.AddDifference(change.Of(a, nil).Objects(ctx), change.Of(b, nil).Objects(ctx)); err != nil {
		return nil, err
	}
	touched, err := set.Touched(ctx, change.Of(a, nil), osmdata.NewPicker(snapshot.Rules()))
	if err != nil {
		return nil, err
	}
	x, err := o.Reading().Read(ctx, is)
	if err != nil {
		return nil, err
	}
	snap, done, err := snapshot.Update(ctx, old, x, s.Settings.Map, snapshot.Change{Boxes: touched.Boxes}, o)
	if err != nil {
		return nil, err
	}
	s.before.mu.Lock()
	defer s.before.mu.Unlock()
	s.before.tilesOf++
	s.before.renewed.Edges += done.Edges
	s.before.renewed.Surveyed += done.Surveyed
	return snap, nil
}

// Kept gives the options of the import that made the map in a folder, and its table, so
// that another can be made alike. Where it noted none the error is fault.Problems.
func Kept(dir string) (Options, contents.Table, error) {
	table, err := contents.Read(dir)
	if err != nil {
		return Options{}, table, err
	}
	k := noted(table)
	if k.MarginM == 0 {
		return Options{}, table, fault.One("dir", dir, "nothing is noted of how it was imported: import it again")
	}
	return Options{Settings: k.Settings, MarginM: k.MarginM, TileBytes: k.Bytes}, table, nil
}
