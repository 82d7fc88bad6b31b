package atlas

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"hash/fnv"
	"io/fs"
	"math"
	"os"
	"slices"
	"strings"
	"time"

	"wideberth/osmdata/plane"
	"wideberth/routing/snapshot"
)

// Box is a part of the earth in degrees: west, south, east, north.
type Box [4]float64

// Holds says that a place lies in the box. West and south edges belong to it, east and
// north ones to its neighbours, so that boxes that meet share no place.
func (b Box) Holds(lon, lat float64) bool {
	return lon >= b[0] && lon < b[2] && lat >= b[1] && lat < b[3]
}

// Meets says that two boxes have a place in common.
func (b Box) Meets(o Box) bool {
	return b[0] <= o[2] && o[0] <= b[2] && b[1] <= o[3] && o[1] <= b[3]
}

// degreeM is a degree of latitude in metres, on the sphere of the earth's mean radius
// (IUGG, 6,371,008.8 m).
const degreeM = 6371008.8 * math.Pi / 180

// AwayM is about how far in metres a place lies off the box, 0 in it: on the sphere, by
// parallels and meridians, which is good enough to say which of several is nearest.
func (b Box) AwayM(lon, lat float64) float64 {
	dx := max(b[0]-lon, lon-b[2], 0) * math.Cos(lat*math.Pi/180)
	return degreeM * math.Hypot(dx, max(b[1]-lat, lat-b[3], 0))
}

// with is the least box that holds both.
func (b Box) with(o Box) Box {
	return Box{min(b[0], o[0]), min(b[1], o[1]), max(b[2], o[2]), max(b[3], o[3])}
}

// String is a box as people read it.
func (b Box) String() string {
	return fmt.Sprintf("latitude %.3f to %.3f, longitude %.3f to %.3f", b[1], b[3], b[0], b[2])
}

// boxOf is a box of a plane in degrees. Parallels and meridians are bent on the plane: what
// lies in the corners may be left out by metres.
func boxOf(f plane.Frame, p plane.Box) Box {
	if p.Empty() {
		return Box{f.Lon0, f.Lat0, f.Lon0, f.Lat0}
	}
	w, s := f.Inverse(p.Min)
	e, n := f.Inverse(p.Max)
	return Box{w, s, e, n}
}

// Tile is one map of an atlas as it is known without being opened.
type Tile struct {
	Path    string // its file; "" of one that was made in memory
	Name    string // what it shows: its largest named place
	Zone    string // IANA name of the time zone
	Country string // ISO 3166-1, "" if not known
	Licence string
	MapTime time.Time // of the extract, zero if it does not say
	Core    Box       // whose places are this tile's to answer for
	Served  Box       // what it shows: the core and, cut from a larger map, a margin round it
	Bytes   int64     // of its file

	id    string                      // of the file as it is: another where it was written anew
	fetch func(context.Context) error // brings the file here, nil where it is

	// glean brings what of it tells the words of its names, and says in which file; nil
	// where the file is here.
	glean func(context.Context) (path string, err error)
}

// Number is one that tells the tile from most others, whenever they are opened; 0 for a
// map in memory.
func (t *Tile) Number() uint16 {
	if t.Path == "" {
		return 0
	}
	sum := fnv.New32a()
	_, _ = sum.Write([]byte(t.Path)) // a hash never fails to write
	n := sum.Sum32()
	return uint16(n>>16 ^ n)
}

// Names are what tiles show, in few words: the first names, and how many more there are.
func Names(tiles []*Tile) string {
	var out []string
	for _, t := range tiles {
		if !slices.Contains(out, t.Name) {
			out = append(out, t.Name)
		}
	}
	if n := len(out) - mostNamed; n > 0 {
		return fmt.Sprintf("%s and %d more", strings.Join(out[:mostNamed], ", "), n)
	}
	return strings.Join(out, ", ")
}

// TileError says that a map cannot be opened.
type TileError struct {
	Path string
	Name string // what it shows, "" if nobody knows
	Err  error
}

func (e *TileError) Error() string {
	mend := "import it anew"
	switch {
	case errors.Is(e.Err, fs.ErrNotExist):
		mend = "put the file back, or name the maps that are there"
	case errors.Is(e.Err, fs.ErrPermission):
		mend = "let the program read it"
	}
	what := e.Path
	if e.Name != "" {
		what += " (" + e.Name + ")"
	}
	return fmt.Sprintf("the map %s cannot be opened: %v: %s", what, e.Err, mend)
}

func (e *TileError) Unwrap() error { return e.Err }

// NowhereError says that a place lies on none of the maps.
type NowhereError struct {
	Lat, Lon float64
	Maps     []Tile // the nearest first
	All      int    // how many there are
	Swapped  string // the map that the place lies on with its two numbers exchanged, "" if none
}

// mostNamed is how many maps a refusal names.
const mostNamed = 4

// Mend says what there is and what to do.
func (e *NowhereError) Mend() string {
	if e.Swapped != "" {
		return fmt.Sprintf("lies on none of the maps, and on %s with the two numbers exchanged: did you mean latitude %g, longitude %g?", e.Swapped, e.Lon, e.Lat)
	}
	var named []string
	for i := range e.Maps {
		named = append(named, fmt.Sprintf("%s (%v)", e.Maps[i].Name, e.Maps[i].Core))
	}
	rest := ""
	if n := e.All - len(named); n > 0 {
		rest = fmt.Sprintf(", and %d more", n)
	}
	return "lies on none of the maps; there are " + strings.Join(named, ", ") + rest
}

func (e *NowhereError) Error() string {
	return fmt.Sprintf("%g,%g %s", e.Lat, e.Lon, e.Mend())
}

// nowhere refuses a place.
func (e *edition) nowhere(lon, lat float64) error {
	out := &NowhereError{Lat: lat, Lon: lon, All: len(e.tiles)}
	near := slices.Clone(e.tiles)
	slices.SortStableFunc(near, func(a, b *Tile) int { return cmp.Compare(a.Core.AwayM(lon, lat), b.Core.AwayM(lon, lat)) })
	for _, t := range near[:min(len(near), mostNamed)] {
		out.Maps = append(out.Maps, *t)
	}
	if i := slices.IndexFunc(e.tiles, func(t *Tile) bool { return t.Core.Holds(lat, lon) }); i >= 0 {
		out.Swapped = e.tiles[i].Name
	}
	return out
}

// ofFile is what a snapshot's file says of itself.
func ofFile(path string) (*Tile, error) {
	about, frame, err := snapshot.ReadAbout(path)
	if err != nil {
		return nil, &TileError{Path: path, Err: err}
	}
	info, err := os.Stat(path)
	if err != nil {
		return nil, &TileError{Path: path, Err: err}
	}
	t := tileOf(&about, frame)
	t.Path, t.Bytes, t.id = path, info.Size(), identity(path, info)
	return t, nil
}

// identity tells a file from one that was later written in its place.
func identity(path string, info fs.FileInfo) string {
	return fmt.Sprintf("%s %d %d", path, info.Size(), info.ModTime().UnixNano())
}

// tileOf is a tile of a map by itself, which is all core.
func tileOf(about *snapshot.About, frame plane.Frame) *Tile {
	box := boxOf(frame, about.Bounds)
	return &Tile{Name: about.Name, Zone: about.Zone, Country: about.Country, Licence: about.Licence, MapTime: about.MapTime, Core: box, Served: box}
}
