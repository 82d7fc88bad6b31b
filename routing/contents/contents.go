// Package contents is the table of contents of a folder with a map in tiles: which
// tiles there are, in which files, and where each holds. It hides the form of that file,
// how files are named by what is in them, and how a new table takes the place of the old
// at once.
package contents

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"time"

	"wideberth/osmdata/flatfile"
	"wideberth/osmdata/plane"
)

// Name is what the table is called in its folder.
const Name = "current.json"

// format is raised when what is written changes its meaning.
const format = 1

// Table says what a folder holds. It is not changed after reading and may be shared.
type Table struct {
	Made    time.Time // when the import ended
	MapTime time.Time // of the map, zero where it does not say
	Tiles   []Tile    // sorted by key; no core lies over another

	Settings json.RawMessage // of the import, in its own form; nil where it noted none
}

// Tile is one file of a map in tiles. What its file is called depends on its bytes, so
// that a file of one name never changes.
type Tile struct {
	Key     string `json:"key"` // of the core's quad
	File    string `json:"file"`
	Bytes   int64  `json:"bytes"`
	Core    Box    `json:"core"`   // places in it are this tile's
	Served  Box    `json:"served"` // what its file holds
	Name    string `json:"name"`
	Zone    string `json:"zone"`
	Country string `json:"country"`
	Licence string `json:"licence"`
}

// Box is west, south, east and north in degrees.
type Box [4]float64

// Holds tells whether a place lies in the box. Its south and west sides belong to it,
// the others to its neighbours.
func (b Box) Holds(lonDeg, latDeg float64) bool {
	return lonDeg >= b[0] && lonDeg < b[2] && latDeg >= b[1] && latDeg < b[3]
}

// Meets tells whether two boxes share more than a line.
func (b Box) Meets(o Box) bool {
	return b[0] < o[2] && o[0] < b[2] && b[1] < o[3] && o[1] < b[3]
}

// table is the form of the file.
type table struct {
	Format  int        `json:"format"`
	Made    time.Time  `json:"made"`
	MapTime *time.Time `json:"map_time,omitempty"`
	Tiles   []Tile     `json:"tiles"`

	Settings json.RawMessage `json:"settings,omitempty"`
}

// Path is where the table of a folder is.
func Path(dir string) string { return filepath.Join(dir, Name) }

// Read reads the table of a folder. Where there is none the error is fs.ErrNotExist;
// what does not hold together is flatfile.ErrDamaged, a later format flatfile.ErrVersion.
// Whether the files are there is not looked at.
func Read(dir string) (Table, error) {
	b, err := os.ReadFile(Path(dir))
	if err != nil {
		return Table{}, err
	}
	return Decode(b, Path(dir))
}

// Decode reads a table from its bytes; where is what errors call it.
func Decode(b []byte, where string) (Table, error) {
	var t table
	if err := json.Unmarshal(b, &t); err != nil {
		return Table{}, fmt.Errorf("%s: %w: %w", where, flatfile.ErrDamaged, err)
	}
	if t.Format > format {
		return Table{}, fmt.Errorf("%s: %w: its format is %d, this program reads %d", where, flatfile.ErrVersion, t.Format, format)
	}
	out := Table{Made: t.Made, Tiles: t.Tiles}
	if len(t.Settings) > 0 { // as they were given, without the file's indents
		var plain bytes.Buffer
		if err := json.Compact(&plain, t.Settings); err != nil {
			return Table{}, fmt.Errorf("%s: %w: %w", where, flatfile.ErrDamaged, err)
		}
		out.Settings = plain.Bytes()
	}
	if t.MapTime != nil {
		out.MapTime = *t.MapTime
	}
	if err := out.sound(); err != nil {
		return Table{}, fmt.Errorf("%s: %w: %w", where, flatfile.ErrDamaged, err)
	}
	return out, nil
}

// sound says what does not hold together.
func (t *Table) sound() error {
	if len(t.Tiles) == 0 {
		return errors.New("no tiles")
	}
	for i, tile := range t.Tiles {
		if _, err := plane.ParseQuad(tile.Key); err != nil {
			return err
		}
		if i > 0 && tile.Key <= t.Tiles[i-1].Key {
			return fmt.Errorf("tile %q stands after %q", tile.Key, t.Tiles[i-1].Key)
		}
		if i > 0 && strings.HasPrefix(tile.Key, t.Tiles[i-1].Key) {
			return fmt.Errorf("tile %q lies over %q", tile.Key, t.Tiles[i-1].Key)
		}
		if key, ours := keyOf(tile.File); !ours || key != tile.Key {
			return fmt.Errorf("tile %q has a file %q, which is no name of a tile's file", tile.Key, tile.File)
		}
		c, s := tile.Core, tile.Served
		if !(c[0] < c[2] && c[1] < c[3] && s[0] <= c[0] && s[1] <= c[1] && s[2] >= c[2] && s[3] >= c[3]) {
			return fmt.Errorf("tile %q has a core %v in %v", tile.Key, c, s)
		}
	}
	return nil
}

// Write puts a table into a folder in place of the one that is there, at once: whoever
// reads sees the old or the new, also after a power cut. Tiles are sorted. The files
// must be there and on the disk.
func Write(dir string, t Table) error {
	t.Tiles = slices.Clone(t.Tiles)
	slices.SortFunc(t.Tiles, func(a, b Tile) int { return strings.Compare(a.Key, b.Key) })
	if err := t.sound(); err != nil {
		return fmt.Errorf("write %s: %w", Path(dir), err)
	}
	form := table{Format: format, Made: t.Made.UTC().Truncate(time.Second), Tiles: t.Tiles, Settings: t.Settings}
	if !t.MapTime.IsZero() {
		at := t.MapTime.UTC()
		form.MapTime = &at
	}
	b, err := json.MarshalIndent(form, "", " ")
	if err != nil {
		return fmt.Errorf("write %s: %w", Path(dir), err)
	}
	if err := flatfile.Replace(Path(dir), append(b, '\n')); err != nil {
		return fmt.Errorf("write %s: %w", Path(dir), err)
	}
	return nil
}

// Files of tiles are called by key, the first hex digits of the hash of their bytes,
// and an ending.
const (
	hashDigits = 12
	ending     = ".wb"
)

var fileName = regexp.MustCompile(`^([0-3]*)\.[0-9a-f]{12}\.wb$`)

// keyOf is the key in the name of a tile's file; ours tells whether it is one.
func keyOf(name string) (key string, ours bool) {
	m := fileName.FindStringSubmatch(name)
	if m == nil {
		return "", false
	}
	return m[1], true
}

// Ours tells whether a file of this name may be a tile's.
func Ours(name string) bool { return fileName.MatchString(name) }

// FileName is what the file of a tile is called that has these bytes now: it reads the
// file at path and gives its size too.
func FileName(key, path string) (name string, bytes int64, err error) {
	f, err := os.Open(path)
	if err != nil {
		return "", 0, err
	}
	defer f.Close()
	h := sha256.New()
	if bytes, err = io.Copy(h, f); err != nil {
		return "", 0, fmt.Errorf("read %s: %w", path, err)
	}
	return key + "." + hex.EncodeToString(h.Sum(nil))[:hashDigits] + ending, bytes, nil
}

// Verify holds the file of a tile against its name and size. A file that is not there
// is fs.ErrNotExist, one that differs flatfile.ErrDamaged.
func (t Tile) Verify(dir string) error { return t.VerifyFile(filepath.Join(dir, t.File)) }

// VerifyFile is Verify for the tile's file where it has another name still.
func (t Tile) VerifyFile(path string) error {
	name, bytes, err := FileName(t.Key, path)
	switch {
	case err != nil:
		return err
	case bytes != t.Bytes:
		return fmt.Errorf("%s: %w: %d bytes, the table says %d", path, flatfile.ErrDamaged, bytes, t.Bytes)
	case name != t.File:
		return fmt.Errorf("%s: %w: its bytes belong under the name %s", path, flatfile.ErrDamaged, name)
	}
	return nil
}

// Leftovers lists the files of tiles in a folder that the table does not name, sorted:
// those of a table before, or of an import that did not end.
func (t *Table) Leftovers(dir string) ([]string, error) {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return nil, err
	}
	var left []string
	for _, e := range entries {
		if Ours(e.Name()) && !slices.ContainsFunc(t.Tiles, func(tile Tile) bool { return tile.File == e.Name() }) {
			left = append(left, e.Name())
		}
	}
	return left, nil
}
