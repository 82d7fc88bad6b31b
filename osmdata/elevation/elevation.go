// Package elevation reads ground heights from SRTM-format .hgt tiles and says how
// much longer a walk takes uphill and down.
package elevation

import (
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"sync"
)

// ErrNoTiles says that a folder holds no .hgt file.
var ErrNoTiles = errors.New("no .hgt tiles")

// Model gives ground heights from the tiles of a folder. Tiles are read when they
// are first asked for. Safe for concurrent use.
type Model struct {
	dir   string
	names map[corner]string

	mu    sync.Mutex // guards tiles
	tiles map[corner]*tile
}

// corner is the south-west corner of a tile in whole degrees.
type corner struct{ lat, lon int }

// tile is one degree by one degree of heights in metres, rows from north to south.
type tile struct {
	side   int // samples a side: 1201 or 3601, both borders included
	metres []int16
	err    error
}

// void marks a sample without a height.
const void = math.MinInt16

var tileName = regexp.MustCompile(`(?i)^([NS])(\d{2})([EW])(\d{3})\.hgt$`)

// Open lists the tiles of a folder, named like N39W076.hgt after their south-west
// corner.
func Open(dir string) (*Model, error) {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return nil, fmt.Errorf("heights: %w", err)
	}
	m := &Model{dir: dir, names: map[corner]string{}, tiles: map[corner]*tile{}}
	for _, e := range entries {
		if c, ok := parseName(e.Name()); ok {
			m.names[c] = e.Name()
		}
	}
	if len(m.names) == 0 {
		return nil, fmt.Errorf("heights: %w in %s: name them like N39W076.hgt", ErrNoTiles, dir)
	}
	return m, nil
}

func parseName(name string) (corner, bool) {
	p := tileName.FindStringSubmatch(name)
	if p == nil {
		return corner{}, false
	}
	lat, _ := strconv.Atoi(p[2])
	lon, _ := strconv.Atoi(p[4])
	if strings.EqualFold(p[1], "S") {
		lat = -lat
	}
	if strings.EqualFold(p[3], "W") {
		lon = -lon
	}
	return corner{lat, lon}, true
}

// At is the height in metres above the model's datum at a place in degrees, by
// bilinear interpolation; false where no tile or no sample covers it. The error
// is that of a tile that cannot be read.
func (m *Model) At(lonDeg, latDeg float64) (float64, bool, error) {
	c := corner{int(math.Floor(latDeg)), int(math.Floor(lonDeg))}
	t := m.tile(c)
	if t == nil || t.err != nil {
		if t == nil {
			return 0, false, nil
		}
		return 0, false, t.err
	}
	x := (lonDeg - float64(c.lon)) * float64(t.side-1)
	y := (float64(c.lat+1) - latDeg) * float64(t.side-1)
	i, j := min(int(x), t.side-2), min(int(y), t.side-2)
	fx, fy := x-float64(i), y-float64(j)
	nw, ne := t.metres[j*t.side+i], t.metres[j*t.side+i+1]
	sw, se := t.metres[(j+1)*t.side+i], t.metres[(j+1)*t.side+i+1]
	if nw == void || ne == void || sw == void || se == void {
		return 0, false, nil
	}
	north := float64(nw) + fx*(float64(ne)-float64(nw))
	south := float64(sw) + fx*(float64(se)-float64(sw))
	return north + fy*(south-north), true, nil
}

func (m *Model) tile(c corner) *tile {
	name, ok := m.names[c]
	if !ok {
		return nil
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	t := m.tiles[c]
	if t == nil {
		t = readTile(filepath.Join(m.dir, name))
		m.tiles[c] = t
	}
	return t
}

// readTile reads big-endian samples; the side follows from the size.
func readTile(path string) *tile {
	b, err := os.ReadFile(path)
	if err != nil {
		return &tile{err: fmt.Errorf("heights: %w", err)}
	}
	side := int(math.Sqrt(float64(len(b) / 2)))
	if side < 2 || side*side*2 != len(b) {
		return &tile{err: fmt.Errorf("heights: %s has %d bytes: not a square of 16-bit samples", path, len(b))}
	}
	t := &tile{side: side, metres: make([]int16, side*side)}
	for i := range t.metres {
		t.metres[i] = int16(binary.BigEndian.Uint16(b[2*i:]))
	}
	return t
}

// Slowness is the time that a slope takes against level ground, by Tobler's
// hiking function (Tobler 1993, Three presentations on geographical analysis and
// modeling, NCGIA 93-1):
//
//	speed = 6 exp(-3.5 |S + 0.05|) km/h
//
// divided into its speed on the flat, 5.04 km/h. slope is rise over run, positive
// uphill. Beyond a slope of 1 it is held at what it is there.
func Slowness(slope float64) float64 {
	slope = min(1, max(-1, slope))
	return math.Exp(3.5 * (math.Abs(slope+0.05) - 0.05))
}
