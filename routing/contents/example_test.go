package contents_test

import (
	"fmt"
	"os"
	"path/filepath"
	"time"

	"wideberth/osmdata/plane"
	"wideberth/routing/contents"
)

func Example() {
	dir, err := os.MkdirTemp("", "contents")
	if err != nil {
		fmt.Println(err)
		return
	}
	defer os.RemoveAll(dir)
	made := filepath.Join(dir, "made")
	if err := os.WriteFile(made, []byte("abc"), 0o600); err != nil {
		fmt.Println(err)
		return
	}
	q := plane.QuadAt(-75.56, 39.75, 7)
	name, bytes, err := contents.FileName(q.Key(), made)
	if err != nil {
		fmt.Println(err)
		return
	}
	if err := os.Rename(made, filepath.Join(dir, name)); err != nil {
		fmt.Println(err)
		return
	}
	west, south, east, north := q.Degrees()
	core := contents.Box{west, south, east, north}
	err = contents.Write(dir, contents.Table{
		Made: time.Date(2026, 11, 30, 19, 0, 0, 0, time.UTC), Tiles: []contents.Tile{{Key: q.Key(), File: name, Bytes: bytes, Core: core, Served: core}},
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	table, err := contents.Read(dir)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, t := range table.Tiles {
		fmt.Println(t.File, t.Core.Holds(-75.56, 39.75), t.Verify(dir))
	}
	// Output: 0320101.ba7816bf8f01.wb true <nil>
}
