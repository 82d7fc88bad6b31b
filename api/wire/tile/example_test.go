package tile_test

import (
	"fmt"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/encoding/mvt"
	"github.com/paulmach/orb/maptile"

	"wideberth/api/wire/tile"
	"wideberth/routing/snapshot/maptest"
	"wideberth/testdata"
)

// The tile that the invented door lies in has the streets about it.
func ExampleAtlas_Tile() {
	atlas := tile.NewAtlas(maptest.Invented())
	at := maptile.At(orb.Point{testdata.DoorLon, testdata.DoorLat}, 15)
	data, err := atlas.Tile(15, uint64(at.X), uint64(at.Y))
	if err != nil {
		fmt.Println(err)
		return
	}
	layers, err := mvt.Unmarshal(data)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, l := range layers {
		if l.Name == "road" || l.Name == "way" {
			fmt.Println(l.Name, len(l.Features) > 0)
		}
	}
	// Output:
	// way true
	// road true
}
