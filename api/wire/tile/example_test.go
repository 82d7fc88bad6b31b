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
func ExampleLayers_Tile() {
	layers := tile.NewLayers(maptest.Invented(), nil)
	at := maptile.At(orb.Point{testdata.DoorLon, testdata.DoorLat}, 15)
	data, err := layers.Tile(15, uint64(at.X), uint64(at.Y))
	if err != nil {
		fmt.Println(err)
		return
	}
	cut, err := mvt.Unmarshal(data)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, l := range cut {
		if l.Name == "road" || l.Name == "way" {
			fmt.Println(l.Name, len(l.Features) > 0)
		}
	}
	// Output:
	// way true
	// road true
}
