package flatfile_test

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"wideberth/osmdata/flatfile"
)

// TestExcerpt: a file of some sections of another opens as that one would, of which little
// else was read; sections left out are damaged to who checks them. What cannot be made
// leaves nothing behind.
func TestExcerpt(t *testing.T) {
	dir := t.TempDir()
	whole, path := filepath.Join(dir, "whole"), filepath.Join(dir, "part")
	numbers := make([]uint32, 100_000)
	for i := range numbers {
		numbers[i] = uint32(i * i)
	}
	write := func(sections int) (all []byte) {
		t.Helper()
		w, err := flatfile.Create(whole, magic, version)
		if err != nil {
			t.Fatal(err)
		}
		flatfile.Put(w, "many", numbers)
		flatfile.Put(w, "few", []uint16{7, 8})
		flatfile.Put(w, "none", []uint16{})
		flatfile.Put(w, "more", numbers[1:])
		for i := range sections { // so that the directory is as long as one likes
			flatfile.Put(w, fmt.Sprint(strings.Repeat("x", 500), i), []byte{1})
		}
		if err := w.Close(); err != nil {
			t.Fatal(err)
		}
		if all, err = os.ReadFile(whole); err != nil {
			t.Fatal(err)
		}
		return all
	}
	read := 0
	from := func(all []byte) func(at, length int64) ([]byte, error) {
		read = 0
		return func(at, length int64) ([]byte, error) {
			read += int(length)
			return slices.Clone(all[at:min(at+length, int64(len(all)))]), nil
		}
	}
	for _, sections := range []int{0, 300} {
		all := write(sections)
		if err := flatfile.Excerpt(path, int64(len(all)), magic, version, from(all), "many", "none"); err != nil {
			t.Fatal(err)
		}
		if most := 16 + 4*len(numbers) + 1<<16 + 1000*sections; read > most {
			t.Errorf("%d bytes of %d were read, want at most %d", read, len(all), most)
		}
		f, err := flatfile.Open(path, magic, version)
		if err != nil {
			t.Fatal(err)
		}
		if got, err := flatfile.TakeSure[uint32](f, "many"); err != nil || !slices.Equal(got, numbers) {
			t.Errorf("a section that was asked for: %d numbers, %v", len(got), err)
		}
		if got, err := flatfile.TakeSure[uint16](f, "none"); err != nil || len(got) != 0 {
			t.Errorf("an empty one: %v, %v", got, err)
		}
		if _, err := flatfile.TakeSure[uint32](f, "more"); sections > 0 && !errors.Is(err, flatfile.ErrDamaged) {
			t.Errorf("one that was left out: %v", err)
		}
		if err := f.Close(); err != nil {
			t.Fatal(err)
		}
	}
	all := write(0)
	harmed := slices.Clone(all)
	harmed[100] ^= 1
	broken := errors.New("the line is cut")
	for _, c := range []struct {
		what    string
		size    int
		version uint32
		from    func(at, length int64) ([]byte, error)
		section string
		want    error
	}{
		{"no such section", len(all), version, from(all), "nothing", flatfile.ErrMissing},
		{"another version", len(all), version + 1, from(all), "many", flatfile.ErrVersion},
		{"a damaged section", len(all), version, from(harmed), "many", flatfile.ErrDamaged},
		{"a shorter file", len(all) - 8, version, from(all[:len(all)-8]), "many", flatfile.ErrTruncated},
		{"a file shorter than it should be", len(all) + 8, version, from(all), "many", flatfile.ErrTruncated},
		{"a file of nothing", 10, version, from(all), "many", flatfile.ErrTruncated},
		{"a line that is cut", len(all), version, func(at, length int64) ([]byte, error) {
			if at == 16 || length > 1<<16 {
				return nil, broken
			}
			return from(all)(at, length)
		}, "many", broken},
	} {
		if err := os.RemoveAll(path); err != nil {
			t.Fatal(err)
		}
		if err := flatfile.Excerpt(path, int64(c.size), magic, c.version, c.from, c.section); !errors.Is(err, c.want) {
			t.Errorf("%s: %v, want %v", c.what, err, c.want)
		}
		if left, err := os.ReadDir(dir); err != nil || len(left) != 1 {
			t.Errorf("%s: left behind are %v, %v", c.what, left, err)
		}
	}
}
