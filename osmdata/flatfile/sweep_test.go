//go:build linux || darwin || freebsd || netbsd || openbsd

package flatfile_test

import (
	"os"
	"path/filepath"
	"testing"

	"wideberth/osmdata/flatfile"
)

// TestSweep: what a killed writer left of a file is gone when the file is written
// anew; what somebody writes meanwhile stays, and so does what only looks alike.
func TestSweep(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "map.wb")
	left := filepath.Join(dir, ".map.wb.12345")
	others := []string{filepath.Join(dir, ".map.wb.mine"), filepath.Join(dir, ".map.wb."), filepath.Join(dir, ".other.wb.12345"), filepath.Join(dir, "map.wb")}
	for _, p := range append(others, left) {
		if err := os.WriteFile(p, []byte("half"), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	first, err := flatfile.Create(path, [8]byte{1}, 1)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := os.Stat(left); !os.IsNotExist(err) {
		t.Errorf("what was left is there: %v", err)
	}
	second, err := flatfile.Create(path, [8]byte{1}, 1)
	if err != nil {
		t.Fatal(err)
	}
	for _, w := range []*flatfile.Writer{first, second} {
		if err := w.Close(); err != nil {
			t.Errorf("a file that was being written was swept: %v", err)
		}
	}
	for _, p := range others {
		if _, err := os.Stat(p); err != nil {
			t.Errorf("%s: %v", p, err)
		}
	}
}
