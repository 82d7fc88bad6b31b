package network

import "wideberth/osmdata"

// Sort says what a way is where it has no name, in a word.
func (part *Part) Sort() string {
	switch {
	case part.Flags&osmdata.FlagCrossing != 0:
		return "crossing"
	case part.Flags&osmdata.FlagPavement != 0:
		return "pavement"
	case part.Flags&osmdata.FlagTunnel != 0:
		return "passage"
	case part.Flags&osmdata.FlagDriveway != 0:
		return "drive"
	}
	switch part.Class {
	case osmdata.Steps:
		return "steps"
	case osmdata.Track:
		return "track"
	case osmdata.Cycleway:
		return "cycle path"
	case osmdata.Bridleway:
		return "bridleway"
	case osmdata.Footway, osmdata.Path:
		return "footpath"
	case osmdata.Pedestrian:
		return "pedestrian street"
	case osmdata.Service:
		return "service road"
	}
	return "street"
}

// Role is what a way is on a map: what is walked along, and what only leads across a
// road or to somebody's door.
type Role uint8

// The roles.
const (
	Street  Role = iota
	Path         // without motor traffic: footpaths, pavements, steps, cycle paths
	Across       // a crossing
	Drive        // a drive, the aisle of a car park and the like
	Service      // any other service road
)

// String names the role as in tiles and answers.
func (r Role) String() string {
	return [...]string{"street", "path", "crossing", "drive", "service"}[r]
}

// Minor tells what belongs to another way or to a property: it is not counted where
// streets are compared.
func (r Role) Minor() bool { return r >= Across }

// Role says what a way is on a map.
func (part *Part) Role() Role {
	switch {
	case part.Flags&osmdata.FlagCrossing != 0:
		return Across
	case part.Flags&osmdata.FlagDriveway != 0:
		return Drive
	}
	switch part.Class {
	case osmdata.Pedestrian, osmdata.Track, osmdata.Cycleway, osmdata.Bridleway, osmdata.Footway, osmdata.Path, osmdata.Steps:
		return Path
	case osmdata.Service:
		return Service
	}
	return Street
}

// RoleOf is what an edge is on a map: the role of most of its length, and how many
// metres of it are no crossing, drive or service road.
func (g *Graph) RoleOf(e int32) (most Role, countedM float64) {
	var metres [Service + 1]float64
	for p := g.PartAt[e]; p < g.PartAt[e+1]; p++ {
		to := float64(g.LengthM[e])
		if p+1 < g.PartAt[e+1] {
			to = float64(g.Parts[p+1].FromM)
		}
		metres[g.Parts[p].Role()] += to - float64(g.Parts[p].FromM)
	}
	for r := range metres {
		if metres[r] > metres[most] {
			most = Role(r)
		}
	}
	return most, metres[Street] + metres[Path]
}
