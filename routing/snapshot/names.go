package snapshot

import (
	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/gazetteer"
	"wideberth/routing/network"
)

// townReach is how far the names of settlements carry, by kind: the streets of a city are
// asked for by the city's name and not by that of the next hamlet. Our assumption.
var townReach = map[SettlementKind]float64{Village: 1, Town: 1.5, City: 3}

// landmarks are the features that people begin a walk at and know by name.
var landmarks = map[string]bool{"dog_park": true, "school": true, "kindergarten": true, "playground": true, "pitch": true, "sports_centre": true,
	"beach": true, "park": true, "station": true, "hospital": true, "church": true, "marketplace": true}

// twiceM is how near to each other a ground and a feature of one name are the same place.
const twiceM = 400

// newGazetteer makes the index of an extract's names.
func newGazetteer(x *osmdata.Extract, gp *GroundPlan, g *network.Graph, country string) (*gazetteer.Gazetteer, error) {
	src := gazetteer.Sources{Streets: g, Doors: gp.Addresses, Country: country}
	reaching := false
	for _, p := range gp.Places {
		reaching = reaching || townReach[p.Kind] > 0
	}
	for _, p := range gp.Places {
		reach := townReach[p.Kind]
		if !reaching {
			reach = 1 // a map of one quarter
		}
		src.Towns = append(src.Towns, gazetteer.Town{Name: p.Name, At: p.At, Reach: reach})
	}
	known := map[string][]plane.Point{}
	add := func(name string, at plane.Point) {
		if name == "" {
			return
		}
		for _, other := range known[name] {
			if other.DistanceM(at) < twiceM {
				return
			}
		}
		known[name] = append(known[name], at)
		src.Grounds = append(src.Grounds, gazetteer.Named{Name: name, At: at})
	}
	for i := range x.Features {
		if f := &x.Features[i]; landmarks[f.As] {
			add(f.Name, f.Point)
		}
	}
	for i := range gp.Grounds {
		ground := &gp.Grounds[i]
		if ground.Kind != osmdata.Residentials && ground.Kind != osmdata.Water && ground.Kind != osmdata.Farmland {
			add(ground.Name, ground.Area.Inside())
		}
	}
	return gazetteer.New(src)
}
