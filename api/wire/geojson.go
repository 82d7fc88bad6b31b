package wire

import (
	"encoding/json"
	"io"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/geojson"
)

// GeoJSON writes a plan as an RFC 7946 feature collection: one feature a leg
// (property "walk" counts walks from 1, best first) and one a watch point.
func (p *Plan) GeoJSON(w io.Writer) error {
	fc := geojson.NewFeatureCollection()
	fc.ExtraMembers = geojson.Properties{"attribution": Attribution, "licence": LicenceURL, "caution": p.Caution}
	for i, walk := range p.Walks {
		for j, leg := range walk.Legs {
			fc.Append(legFeature(leg, i+1, j+1))
		}
		for _, wp := range walk.WatchPoints {
			ft := geojson.NewFeature(orb.Point(wp.At))
			ft.Properties = geojson.Properties{"walk": i + 1, "watch": wp.What, "name": wp.Name, "from_m": wp.FromM}
			fc.Append(ft)
		}
	}
	if len(fc.Features) > 0 {
		bound := fc.Features[0].Geometry.Bound()
		for _, ft := range fc.Features {
			bound = bound.Union(ft.Geometry.Bound())
		}
		fc.BBox = geojson.NewBBox(bound)
	}
	return json.NewEncoder(w).Encode(fc)
}

func legFeature(leg Leg, walk, number int) *geojson.Feature {
	ft := geojson.NewFeature(lineString(leg.Geometry.Coordinates))
	ft.Properties = geojson.Properties{
		"walk": walk, "leg": number, "name": leg.Name, "turn": leg.Turn, "clock": leg.Clock,
		"duration_s": leg.DurationS, "length_m": leg.LengthM, "expected_reactions": leg.Reactions, "level": leg.Level,
		"room_left_m": leg.RoomLeftM, "room_right_m": leg.RoomRightM, "sight_m": leg.SightM,
	}
	return ft
}

func lineString(at []Position) orb.LineString {
	ls := make(orb.LineString, len(at))
	for i, p := range at {
		ls[i] = orb.Point(p)
	}
	return ls
}
