package atlas_test

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"wideberth/routing/atlas"
	"wideberth/routing/snapshot/maptest"
	"wideberth/testdata"
)

// Of several maps the one that a place lies on answers; a place on none is told what there
// is.
func ExampleView_At() {
	dir, err := os.MkdirTemp("", "atlas")
	if err != nil {
		fmt.Println(err)
		return
	}
	defer os.RemoveAll(dir)
	files := []string{filepath.Join(dir, "town.wb"), filepath.Join(dir, "again.wb")}
	for _, path := range files {
		if err := maptest.Invented().WriteFile(path); err != nil {
			fmt.Println(err)
			return
		}
	}
	maps, err := atlas.Open(context.Background(), files, atlas.Options{MemoryBytes: 1 << 30})
	if err != nil {
		fmt.Println(err)
		return
	}
	v := maps.View()
	defer v.Close()
	sheet, err := v.At(context.Background(), testdata.DoorLon, testdata.DoorLat)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(sheet.Name, sheet.Planner.Zone())
	_, err = v.At(context.Background(), testdata.DoorLon, -testdata.DoorLat)
	var nowhere *atlas.NowhereError
	fmt.Println(errors.As(err, &nowhere), nowhere.All)
	// Output:
	// Tannerswick Etc/GMT
	// true 2
}
