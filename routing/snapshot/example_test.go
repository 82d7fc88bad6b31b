package snapshot_test

import (
	"context"
	"fmt"
	"os"
	"path/filepath"

	"wideberth/routing/snapshot"
	"wideberth/testdata"
)

// An extract is imported once, written, and opened as often as one likes.
func ExampleImport() {
	dir, err := os.MkdirTemp("", "snapshot")
	if err != nil {
		fmt.Println(err)
		return
	}
	defer os.RemoveAll(dir)
	extract, file := filepath.Join(dir, testdata.TownFile), filepath.Join(dir, "town.wb")
	if err := os.WriteFile(extract, testdata.Town(), 0o600); err != nil {
		fmt.Println(err)
		return
	}
	made, err := snapshot.Import(context.Background(), extract, snapshot.ImportOptions{})
	if err != nil {
		fmt.Println(err)
		return
	}
	if err := made.WriteFile(file); err != nil {
		fmt.Println(err)
		return
	}
	s, err := snapshot.Open(file)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(s.Zone, s.Graph.EdgeCount() > 1000, s.Network == made.Network, len(s.Check()))
	// Output: Etc/GMT true true 0
}
