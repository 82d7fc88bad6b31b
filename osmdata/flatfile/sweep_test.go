//go:build linux || darwin || freebsd || netbsd || openbsd

package flatfile_test

import (
	"errors"
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

// TestReplace: a file gets other bytes and nothing lies beside it, also where that fails.
func TestReplace(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "list.json")
	for _, text := range []string{"old", "new"} {
		if err := flatfile.Replace(path, []byte(text)); err != nil {
			t.Fatal(err)
		}
		if b, err := os.ReadFile(path); err != nil || string(b) != text {
			t.Errorf("%q, %v; want %q", b, err, text)
		}
	}
	folder := filepath.Join(dir, "folder")
	if err := os.MkdirAll(filepath.Join(folder, "full"), 0o700); err != nil {
		t.Fatal(err)
	}
	if err := flatfile.Replace(folder, nil); err == nil {
		t.Error("a folder was replaced by a file")
	}
	if entries, err := os.ReadDir(dir); err != nil || len(entries) != 2 {
		t.Errorf("%v, %v", entries, err)
	}
}

// TestLock: what is held by one is refused to another, until it is released.
func TestLock(t *testing.T) {
	path := filepath.Join(t.TempDir(), "lock")
	release, err := flatfile.Lock(path)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := flatfile.Lock(path); !errors.Is(err, flatfile.ErrInUse) {
		t.Errorf("held twice: %v", err)
	}
	if err := release(); err != nil {
		t.Fatal(err)
	}
	if release, err = flatfile.Lock(path); err != nil {
		t.Fatal(err)
	}
	if err := release(); err != nil {
		t.Error(err)
	}
}
