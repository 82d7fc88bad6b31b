package osmdata

import "github.com/paulmach/osm"

// carKeys are the tags that say where cars may go, the most special first. Source:
// the community's documentation of Key:access.
var carKeys = [...]string{"motorcar", "motor_vehicle", "vehicle", "access"}

// carAccess is what the most special of the tags for cars says.
func carAccess(tags osm.Tags) passage {
	for _, key := range carKeys {
		if p, _ := readAccess(tags.Find(key)); p != unsaid {
			return p
		}
	}
	return unsaid
}

// carStops are barriers on a street that no car passes unless tags say so. Gates,
// lifting gates, cattle grids, kerbs, chains and the like are taken as open.
// Source: the community's documentation of Key:barrier and common practice.
var carStops = map[string]bool{
	"bollard": true, "block": true, "cycle_barrier": true, "motorcycle_barrier": true, "jersey_barrier": true,
	"planter": true, "stile": true, "horse_stile": true, "kissing_gate": true, "turnstile": true,
	"full-height_turnstile": true, "log": true, "debris": true, "wall": true, "fence": true, "hedge": true,
}

// stopsCars tells whether a stranger's car does not get past a node with a barrier
// tag.
func stopsCars(tags osm.Tags) bool {
	kind := tags.Find("barrier")
	if kind == "" || kind == "no" {
		return false
	}
	if p := carAccess(tags); p != unsaid {
		return p == denied
	}
	return carStops[kind] || tags.Find("locked") == "yes"
}
