// Package testdata carries the invented town, the invented dog and the small
// hand-drawn worlds that tests, the demo and the first visit stand on.
//
// Nothing in it is real. The town lies in open sea, its clock is UTC
// ("Etc/GMT"), and its extract is stamped 1 March 2026.
//
// The go tool leaves directories of this name out of "./...": name the tests.
//
//	go test ./testdata ./testdata/town/generate
package testdata

import (
	"embed"
	"io/fs"
)

const (
	// TownName is the name of the invented town.
	TownName = "Tannerswick"

	// TownFile is the name under which to hand Town to a reader that tells
	// formats by their names: gzipped OSM XML.
	TownFile = "town.osm.gz"

	// DoorName is the address that examples start from, and DoorLat and DoorLon
	// the middle of its front wall in degrees WGS 84.
	DoorName         = "Weaver Row 12"
	DoorLat, DoorLon = 47.2022085, -7.0018089
)

//go:generate go run wideberth/testdata/town/generate -out town/town.osm.gz

//go:embed town/town.osm.gz
var town string

//go:embed town/kessa.json
var dog string

//go:embed town/outing.json
var outing string

//go:embed worlds/*.osm
var worlds embed.FS

// Town is the invented town as gzipped OSM XML. The bytes are the caller's.
func Town() []byte { return []byte(town) }

// Dog is the invented dog as JSON: name, speed_mps, and needs with working_m
// and reaction_m by category or kind. The bytes are the caller's.
func Dog() []byte { return []byte(dog) }

// Outing is an outing of invented dogs with invented people as JSON: minutes, dogs
// and people as POST /v1/outings takes them. The bytes are the caller's.
func Outing() []byte { return []byte(outing) }

// Worlds holds the hand-drawn worlds, one trap a file, as TRAP.osm at its root.
func Worlds() fs.FS {
	sub, err := fs.Sub(worlds, "worlds")
	if err != nil {
		panic(err) // "worlds" is a valid path: it is written above.
	}
	return sub
}
