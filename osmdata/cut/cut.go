// Package cut cuts an extract of any size into blocks, one for each tile of the Web
// Mercator quadtree: files of their own with all that lies in the tile and in a margin
// about it, that osmdata reads like any extract. It hides the passes, the tables on disk
// in which the places of nodes are found, and how work that was broken off goes on.
// Memory does not depend on the size of the extract.
package cut

import (
	"cmp"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"wideberth/osmdata"
	"wideberth/osmdata/flatfile"
)

// Options say how to cut.
type Options struct {
	Picker    *osmdata.Picker                   // what to keep
	MarginM   float64                           // how far about its core a block reaches
	TileBytes int64                             // what a core holds at most of a PBF file, about; 0 for 8 MB
	Sign      string                            // of all else that blocks depend on; under another nothing goes on
	Program   string                            // named in the blocks as what wrote them
	Progress  func(stage string, share float64) // share of the whole, 0 to 1; may be nil
	Since     *Since                            // blocks that nothing changed in are kept; nil: all are made anew

	atOnce int // records and bytes that are held in memory at once; 0 for the usual
}

// Since says in what an extract differs from one that was cut before. Where the blocks in
// the folder are of another extract, or were cut otherwise, nothing rests on it.
type Since struct {
	Extract io.ReadSeeker // as it was
	Boxes   [][4]float64  // west, south, east, north in degrees: where all that changed was and is
}

// UsualTileBytes is what a core holds at most where nothing else is asked for.
const UsualTileBytes = 8 << 20

// bytesPerNode is how large a PBF file is for each of its nodes, ways and all: measured
// on a state (10.8), rounded.
const bytesPerNode = 11

// Block is one tile's part of a map. Boxes are west, south, east, north in degrees.
type Block struct {
	Key       string     `json:"key"`  // of the core's quad
	File      string     `json:"file"` // in the folder of blocks
	Hash      string     `json:"hash"` // of its content, the map's time left out: SHA-256
	Bytes     int64      `json:"bytes"`
	Core      [4]float64 `json:"core"` // its east and north sides belong to the neighbours
	Box       [4]float64 `json:"box"`  // core and margin
	Nodes     int        `json:"nodes"`
	Ways      int        `json:"ways"`
	Relations int        `json:"relations"`
}

// Blocks is a map cut into tiles.
type Blocks struct {
	Of      string         `json:"of"` // hash of the extract and of how it was cut
	MapTime time.Time      `json:"map_time"`
	Changes int64          `json:"changes"` // number of the last file of changes in the extract, 0 where it does not say
	Odd     map[string]int `json:"odd"`     // what was odd in the extract as a whole, and how often
	Clip    [4]int32       `json:"clip"`    // where the map ends, in units of 1e-7 degrees
	Blocks  []Block        `json:"blocks"`
}

// The folders and files of a cut, in the folder that it was given.
const (
	Folder     = "blocks"
	Unfinished = "unfinished"
	listName   = "blocks.json"
)

// Path is where a block stands in the folder that was given.
func (b Block) Path(dir string) string { return filepath.Join(dir, Folder, b.File) }

// Read reads what a folder was cut into; fs.ErrNotExist where it was not.
func Read(dir string) (*Blocks, error) {
	path := filepath.Join(dir, Folder, listName)
	b, err := os.ReadFile(path)
	if err != nil {
		return nil, err
	}
	out := &Blocks{}
	if err := json.Unmarshal(b, out); err != nil {
		return nil, fmt.Errorf("%s: %w: %w", path, flatfile.ErrDamaged, err)
	}
	return out, nil
}

// there tells whether no block was lost.
func (b *Blocks) there(dir string) bool {
	return !slices.ContainsFunc(b.Blocks, func(x Block) bool {
		info, err := os.Stat(x.Path(dir))
		return err != nil || info.Size() != x.Bytes
	})
}

// Cut cuts an extract into blocks in dir, which must be there and nobody else's. Where
// the same was begun before it goes on; where it was ended and no block was lost it is
// only read. The same extract and options give the same blocks. Errors of the file are those of
// osmdata.Options.Read; where the disk is full, or anything else cannot be written, a
// *fs.PathError; what is whole of the work stays for the next time.
func (o Options) Cut(ctx context.Context, r io.ReadSeeker, dir string) (*Blocks, error) {
	c := &cutter{o: o, dir: dir, work: filepath.Join(dir, Unfinished), r: r}
	if c.o.TileBytes <= 0 {
		c.o.TileBytes = UsualTileBytes
	}
	of, err := c.identity(ctx, r)
	if err != nil {
		return nil, err
	}
	before, err := Read(dir)
	if err == nil && before.Of == of && before.there(dir) {
		return before, os.RemoveAll(c.work)
	}
	if err == nil && o.Since != nil {
		was, err := c.identity(ctx, o.Since.Extract)
		if err != nil {
			return nil, err
		}
		if was == before.Of {
			c.before = before
		}
	}
	if err := c.begin(of); err != nil {
		return nil, err
	}
	if err := c.passes(ctx); err != nil {
		return nil, err
	}
	done, err := c.finish(ctx)
	if err != nil {
		return nil, err
	}
	return done, os.RemoveAll(c.work)
}

// cutter is one cut under way.
type cutter struct {
	o     Options
	dir   string
	work  string
	r     io.ReadSeeker
	state state
	el    *osmdata.Elements

	before *Blocks // of which those may be kept that nothing changed in; nil for none
}

// state is how far a cut is. It is written anew after each pass, when all that the pass
// made is on the disk.
type state struct {
	Of      string              `json:"of"`
	Stage   stage               `json:"stage"`
	Stated  *[4]float64         `json:"stated,omitempty"` // bounds that the file states
	MapTime time.Time           `json:"map_time"`
	Changes int64               `json:"changes"`
	Clip    [4]int32            `json:"clip"` // where the map ends, as far as that is believed
	Tiles   []string            `json:"tiles,omitempty"`
	Odd     map[string]int      `json:"odd"`
	Spilt   map[string]spillSum `json:"spilt,omitempty"`
	Kept    []Block             `json:"kept,omitempty"` // of the blocks that were there
}

type stage int

const (
	begun stage = iota
	relationsKept
	nodesKept
	spread
)

// at is where a file of the work stands.
func (c *cutter) at(name ...string) string {
	return filepath.Join(append([]string{c.work}, name...)...)
}

const stateName = "state.json"

func (c *cutter) tell(stage string, share float64) {
	if c.o.Progress != nil {
		c.o.Progress(stage, share)
	}
}

func (c *cutter) note(kind string, n int) {
	if n > 0 {
		c.state.Odd[kind] += n
	}
}

// Shares of a cut's time, measured on a state.
const (
	identityShare = 0.02
	passesShare   = 0.6
)

// identity is the hash of what is cut and how.
func (c *cutter) identity(ctx context.Context, r io.ReadSeeker) (string, error) {
	h := sha256.New()
	fmt.Fprintf(h, "cut 1, margin %g m, tiles of %d bytes, %s\n", c.o.MarginM, c.o.TileBytes, c.o.Sign)
	size, err := r.Seek(0, io.SeekEnd)
	if err != nil {
		return "", fmt.Errorf("find the size of the extract: %w", err)
	}
	if _, err := r.Seek(0, io.SeekStart); err != nil {
		return "", fmt.Errorf("go to the start of the extract: %w", err)
	}
	const step = 16 << 20
	for done := int64(0); ; done += step {
		c.tell("looking at the file", identityShare*float64(done)/float64(max(size, 1)))
		if err := ctx.Err(); err != nil {
			return "", err
		}
		if _, err := io.CopyN(h, r, step); errors.Is(err, io.EOF) {
			return hex.EncodeToString(h.Sum(nil)), nil
		} else if err != nil {
			return "", fmt.Errorf("read the extract: %w", err)
		}
	}
}

// begin finds the state of the same cut, or begins anew.
func (c *cutter) begin(of string) error {
	b, err := os.ReadFile(c.at(stateName))
	if err == nil && json.Unmarshal(b, &c.state) == nil && c.state.Of == of {
		return nil
	}
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	c.state = state{Of: of, Odd: map[string]int{}}
	if err := os.RemoveAll(c.work); err != nil {
		return err
	}
	for _, d := range []string{c.work, filepath.Join(c.dir, Folder)} {
		if err := os.MkdirAll(d, 0o755); err != nil {
			return err
		}
	}
	return c.reach(begun)
}

// reach notes that a stage is done.
func (c *cutter) reach(s stage) error {
	c.state.Stage = s
	return writeJSON(c.at(stateName), c.state)
}

func writeJSON(path string, v any) error {
	b, err := json.Marshal(v)
	if err != nil {
		return fmt.Errorf("write %s: %w", path, err)
	}
	return flatfile.Replace(path, b)
}

// passes goes through the extract as often as is still needed.
func (c *cutter) passes(ctx context.Context) (err error) {
	if c.state.Stage >= spread {
		return nil
	}
	c.el, err = osmdata.OpenElements(ctx, c.r, 3, func(p osmdata.Progress) {
		c.tell(p.Stage, identityShare+(passesShare-identityShare)*float64(p.Done)/float64(max(p.Total, 1)))
	})
	if err != nil {
		return err
	}
	for _, pass := range []struct {
		to stage
		do func(context.Context) error
	}{{relationsKept, c.keepRelations}, {nodesKept, c.keepNodes}, {spread, c.spread}} {
		if c.state.Stage >= pass.to {
			continue
		}
		odd := c.state.Odd
		c.state.Odd = cloned(odd)
		if err := pass.do(ctx); err != nil {
			c.state.Odd = odd
			return err
		}
		if err := c.reach(pass.to); err != nil {
			return err
		}
	}
	return nil
}

func cloned(m map[string]int) map[string]int {
	out := make(map[string]int, len(m))
	for k, v := range m {
		out[k] = v
	}
	return out
}

// finish makes the blocks of what was spread, and the list of them.
func (c *cutter) finish(ctx context.Context) (*Blocks, error) {
	out := &Blocks{Of: c.state.Of, MapTime: c.state.MapTime, Changes: c.state.Changes, Odd: c.state.Odd, Clip: c.state.Clip}
	blocks, err := c.blocks(ctx)
	if err != nil {
		return nil, err
	}
	out.Blocks = append(blocks, c.state.Kept...)
	slices.SortFunc(out.Blocks, func(a, b Block) int { return cmp.Compare(a.Key, b.Key) })
	if err := writeJSON(filepath.Join(c.dir, Folder, listName), out); err != nil {
		return nil, err
	}
	return out, c.sweep(out)
}

// sweep removes blocks that the list does not name: those of another cut.
func (c *cutter) sweep(named *Blocks) error {
	entries, err := os.ReadDir(filepath.Join(c.dir, Folder))
	if err != nil {
		return err
	}
	for _, e := range entries {
		ours := slices.ContainsFunc(named.Blocks, func(b Block) bool { return b.File == e.Name() })
		if !ours && (strings.HasSuffix(e.Name(), ".osm.pbf") || strings.HasSuffix(e.Name(), making)) {
			if err := os.Remove(filepath.Join(c.dir, Folder, e.Name())); err != nil {
				return err
			}
		}
	}
	return nil
}
