package elevation_test

import (
	"encoding/binary"
	"errors"
	"math"
	"os"
	"path/filepath"
	"testing"

	"pgregory.net/rapid"

	"wideberth/osmdata/elevation"
)

// TestTobler holds the factor against the speeds of Tobler's function in km/h as
// worked out on the encyclopaedia's page of it: 5.0367 on the flat, 6 at -0.05.
func TestTobler(t *testing.T) {
	for slope, kmh := range map[float64]float64{-.30: 2.5012, -.20: 3.5493, -.10: 5.0367, -.05: 6, 0: 5.0367, .05: 4.2281, .10: 3.5493, .20: 2.5012, .30: 1.7625} {
		if got := 5.0367 / elevation.Slowness(slope); math.Abs(got-kmh) > 2e-4 {
			t.Errorf("slope %g: %.4f km/h, published %.4f", slope, got, kmh)
		}
	}
	if elevation.Slowness(math.Inf(1)) != elevation.Slowness(1) {
		t.Error("a wall is no slope")
	}
}

func TestSymmetryOfTobler(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.Float64Range(0, .9).Draw(t, "slope")
		if a, b := elevation.Slowness(-.05+s), elevation.Slowness(-.05-s); math.Abs(a-b) > 1e-9*a {
			t.Fatalf("%g and %g", a, b)
		}
	})
}

// plateau writes a tile of side n whose height is a plane, with one void.
func writeTile(t *testing.T, name string, n int, at func(row, col int) int16) string {
	t.Helper()
	b := make([]byte, 0, 2*n*n)
	for r := range n {
		for c := range n {
			b = binary.BigEndian.AppendUint16(b, uint16(at(r, c)))
		}
	}
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, name), b, 0o600); err != nil {
		t.Fatal(err)
	}
	return dir
}

func TestHeights(t *testing.T) {
	const n = 11
	dir := writeTile(t, "N47W008.hgt", n, func(r, c int) int16 {
		if r == 0 && c == 0 {
			return math.MinInt16
		}
		return int16(100 + 10*c - 5*r)
	})
	m, err := elevation.Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	for name, c := range map[string]struct {
		lon, lat, want float64
		ok             bool
	}{
		"a sample":          {-7.5, 47.5, 100 + 50 - 25, true},
		"between samples":   {-7.45, 47.55, 100 + 55 - 22.5, true},
		"south-east corner": {-7.0000001, 47, 100 + 100 - 50, true},
		"beside a void":     {-7.99, 47.99, 0, false},
		"no tile":           {-6.5, 47.5, 0, false},
	} {
		got, ok, err := m.At(c.lon, c.lat)
		if err != nil || ok != c.ok || math.Abs(got-c.want) > 1e-3 {
			t.Errorf("%s: %g, %v, %v; want %g, %v", name, got, ok, err, c.want, c.ok)
		}
	}
}

func TestBadTiles(t *testing.T) {
	if _, err := elevation.Open(t.TempDir()); !errors.Is(err, elevation.ErrNoTiles) {
		t.Errorf("empty folder: %v", err)
	}
	if _, err := elevation.Open(filepath.Join(t.TempDir(), "missing")); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("no folder: %v", err)
	}
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "S01E002.hgt"), []byte("odd"), 0o600); err != nil {
		t.Fatal(err)
	}
	m, err := elevation.Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	if _, _, err := m.At(2.5, -.5); err == nil {
		t.Error("three bytes are no tile")
	}
}

func FuzzName(f *testing.F) {
	f.Add("N39W076.hgt", []byte{0, 1, 0, 2, 0, 3, 0, 4})
	f.Fuzz(func(t *testing.T, name string, data []byte) {
		dir := t.TempDir()
		if filepath.Base(name) != name || os.WriteFile(filepath.Join(dir, name), data, 0o600) != nil {
			return
		}
		m, err := elevation.Open(dir)
		if err != nil {
			return
		}
		for lat := -90.0; lat < 90; lat += 17.5 {
			_, _, _ = m.At(lat*1.9, lat)
		}
		_, _, _ = m.At(-75.5, 39.5)
	})
}
