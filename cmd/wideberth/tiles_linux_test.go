package main

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"testing"
	"unsafe"

	"wideberth/routing/contents"
)

// hamletsFile is a map of three streets, each in a tile of its own.
func hamletsFile(t *testing.T) string {
	t.Helper()
	var b strings.Builder
	b.WriteString(`<osm timestamp="2026-11-01T00:00:00Z">`)
	for i, lon := range []float64{-7, -6.88, -6.76} {
		for k := range 3 {
			fmt.Fprintf(&b, `<node id="%d%d" lon="%.4f" lat="%.4f"/>`, i+1, k, lon+float64(k)*.002, 47.2+float64(k%2)*.002)
		}
		fmt.Fprintf(&b, `<way id="%d"><nd ref="%[1]d0"/><nd ref="%[1]d1"/><nd ref="%[1]d2"/><tag k="highway" v="residential"/></way>`, i+1)
	}
	b.WriteString("</osm>")
	path := filepath.Join(t.TempDir(), "hamlets.osm")
	if err := os.WriteFile(path, []byte(b.String()), 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

// asTiles are the words of an import of that map.
func asTiles(path, dir string) []string {
	return []string{"import", path, "--tiles", "--tile-size", "1", "--country", "GB", "--out", dir}
}

// tilesOf are the files that the table of a folder names, all of which are there.
func tilesOf(t *testing.T, dir string) (files []string) {
	t.Helper()
	table, err := contents.Read(dir)
	if err != nil {
		t.Fatal(err)
	}
	for _, tile := range table.Tiles {
		if err := tile.Verify(dir); err != nil {
			t.Error(err)
		}
		files = append(files, tile.File)
	}
	return files
}

func importedTiles(t *testing.T, path, dir string) (said string) {
	t.Helper()
	out, err := program(t, asTiles(path, dir)...).CombinedOutput()
	if err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	return string(out)
}

// terminal gives both ends of a terminal of the kernel's.
func terminal(t *testing.T) (ours, theirs *os.File) {
	t.Helper()
	ours, err := os.OpenFile("/dev/ptmx", os.O_RDWR|syscall.O_NOCTTY, 0)
	if err != nil {
		t.Skip(err)
	}
	t.Cleanup(func() { _ = ours.Close() })
	var number, locked int32
	for request, arg := range map[uintptr]*int32{syscall.TIOCSPTLCK: &locked, syscall.TIOCGPTN: &number} {
		if _, _, errno := syscall.Syscall(syscall.SYS_IOCTL, ours.Fd(), request, uintptr(unsafe.Pointer(arg))); errno != 0 {
			t.Skip(errno)
		}
	}
	theirs, err = os.OpenFile(fmt.Sprintf("/dev/pts/%d", number), os.O_RDWR|syscall.O_NOCTTY, 0)
	if err != nil {
		t.Skip(err)
	}
	return ours, theirs
}

// TestTilesKilled: the real program, killed in each stage of one import as its progress
// on a terminal tells it, is begun again each time and ends in what it makes undisturbed.
func TestTilesKilled(t *testing.T) {
	path, dir := hamletsFile(t), filepath.Join(t.TempDir(), "map")
	for _, stage := range []string{"reading relations", "reading nodes", "reading ways", "writing the tiles' parts", "tile 1 of 3", "tile 3 of 3"} {
		ours, theirs := terminal(t)
		cmd := program(t, asTiles(path, dir)...)
		cmd.Stderr = theirs
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		_ = theirs.Close() // the program has its own
		told := bufio.NewReader(ours)
		for seen := ""; !strings.Contains(seen, stage); {
			b, err := told.ReadByte()
			if err != nil {
				t.Fatalf("%s was not told, but %q: %v", stage, seen, err)
			}
			seen += string(b)
		}
		if err := cmd.Process.Kill(); err != nil {
			t.Fatal(err)
		}
		_, _ = io.Copy(io.Discard, told) // until nobody holds the other end
		_ = cmd.Wait()                   // killed: that is what was asked for
		if table, err := contents.Read(dir); err == nil && stage != "tile 3 of 3" {
			t.Errorf("killed at %q there is a table: %v", stage, table)
		}
	}
	said := importedTiles(t, path, dir)
	if !strings.Contains(said, "3 tiles") || !strings.Contains(said, "done before and kept: ") {
		t.Errorf("it began anew: %s", said)
	}
	undisturbed := filepath.Join(t.TempDir(), "map")
	importedTiles(t, path, undisturbed)
	if a, b := tilesOf(t, dir), tilesOf(t, undisturbed); !slices.Equal(a, b) || len(a) != 3 {
		t.Errorf("killed and gone on: %v, at once: %v", a, b)
	}
}

// TestTilesFullDisk: where a file can grow no further, before the cutting, in it or after
// it, the path is told and no table names what is half-written; with room again the
// import goes on.
func TestTilesFullDisk(t *testing.T) {
	path := hamletsFile(t)
	for _, c := range []struct {
		kB  int
		cut bool // before the disk is full
	}{{0, false}, {4, false}, {4, true}} {
		dir := filepath.Join(t.TempDir(), "map")
		if c.cut {
			importedTiles(t, path, dir)
			for _, file := range append(tilesOf(t, dir), "steps", contents.Name) {
				if err := os.RemoveAll(filepath.Join(dir, file)); err != nil {
					t.Fatal(err)
				}
			}
		}
		cmd := program(t, asTiles(path, dir)...)
		limited := exec.Command("sh", append([]string{"-c", fmt.Sprintf(`ulimit -f %d; exec "$0" "$@"`, 2*c.kB), cmd.Path}, cmd.Args[1:]...)...)
		limited.Env = cmd.Env
		var said bytes.Buffer
		limited.Stderr = &said
		err := limited.Run()
		if exit := (*exec.ExitError)(nil); !errors.As(err, &exit) || exit.ExitCode() != exitFile || !strings.Contains(said.String(), dir) || !strings.Contains(said.String(), "file too large") {
			t.Errorf("%+v: %v: %s", c, err, said.String())
		}
		if table, err := contents.Read(dir); err == nil {
			t.Errorf("%+v: there is a table: %v", c, table)
		}
		importedTiles(t, path, dir)
		tilesOf(t, dir)
	}
}

// TestTilesTwice: while one program imports into a folder another is refused, and told
// why.
func TestTilesTwice(t *testing.T) {
	path, dir := hamletsFile(t), filepath.Join(t.TempDir(), "map")
	if err := os.Mkdir(dir, 0o700); err != nil {
		t.Fatal(err)
	}
	lock, err := os.Create(filepath.Join(dir, "import.lock"))
	if err != nil {
		t.Fatal(err)
	}
	defer lock.Close()
	if err := syscall.Flock(int(lock.Fd()), syscall.LOCK_EX); err != nil {
		t.Fatal(err)
	}
	out, err := program(t, asTiles(path, dir)...).CombinedOutput()
	if exit := (*exec.ExitError)(nil); !errors.As(err, &exit) || exit.ExitCode() != exitFile || !strings.Contains(string(out), "in use by another process") {
		t.Errorf("%v: %s", err, out)
	}
}
