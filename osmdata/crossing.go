package osmdata

import "github.com/paulmach/osm"

// crossings are the values of the highway tag of nodes where one may cross with
// help.
var crossings = map[string]bool{"crossing": true, "traffic_signals": true}

// helpsAcross tells whether a node with such a tag really helps: a crossing that is
// merely a usual place to cross, without marks or lights, does not. Source: the
// community's documentation of Key:crossing.
func helpsAcross(tags osm.Tags) bool {
	switch tags.Find("crossing") {
	case "no", "unmarked", "informal":
		return false
	}
	return tags.Find("crossing:markings") != "no" || tags.Find("crossing:signals") == "yes" ||
		tags.Find("highway") == "traffic_signals"
}
