package osmdata

import (
	"github.com/paulmach/osm"

	"wideberth/osmdata/plane"
	"wideberth/osmdata/tagvalue"
)

// grounds tells what areas are made of, by key and value.
var grounds = map[string]map[string]GroundKind{
	"leisure": {
		"park": Park, "garden": Park, "recreation_ground": Park, "common": Park, "dog_park": Park, "nature_reserve": Park,
		"golf_course": Grass, "pitch": Grass,
	},
	"landuse": {
		"forest": Wood, "grass": Grass, "meadow": Grass, "village_green": Park, "recreation_ground": Park,
		"farmland": Farmland, "farm": Farmland, "orchard": Farmland, "vineyard": Farmland, "reservoir": Water, "basin": Water,
		"residential": Residentials, "industrial": Industrial, "railway": Industrial, "quarry": Industrial, "port": Industrial,
		"retail": Retail, "commercial": Retail, "cemetery": Cemetery,
	},
	"natural": {
		"wood": Wood, "grassland": Grass, "heath": Grass, "scrub": Wood, "water": Water, "sand": Sand, "beach": Sand,
	},
	"waterway": {"riverbank": Water, "dock": Water},
	"amenity":  {"grave_yard": Cemetery},
}

// groundOf says what kind of ground an area with these tags is. Water that is
// sometimes dry (detention basins) is no water.
func groundOf(tags osm.Tags) (GroundKind, bool) {
	for _, t := range tags {
		k, ok := grounds[t.Key][t.Value]
		if !ok {
			continue
		}
		if k == Water && (underground(tags) || tags.Find("basin") == "detention" || tags.Find("basin") == "infiltration") {
			continue
		}
		return k, true
	}
	return 0, false
}

// dogRules tells whether dogs are often forbidden or bound on ground with these
// tags. That cemeteries, beaches and reserves have such rules is common practice.
func dogRules(kind GroundKind, tags osm.Tags) bool {
	dog := tags.Find("dog")
	return kind == Cemetery || tags.Find("natural") == "beach" || tags.Find("leisure") == "nature_reserve" || dog == "no" || dog == "leashed"
}

// grazed tells whether livestock may stand on ground with these tags: meadows, and
// farmland that is pasture or on which no crop is named. Source: the community's
// documentation of landuse=meadow, farmland=* and crop=*; that farmland is grazed at
// times is our assumption.
func grazed(tags osm.Tags) bool {
	crop := tags.Find("crop")
	switch tags.Find("landuse") {
	case "meadow":
		return true
	case "farmland", "farm":
		return tags.Find("farmland") == "pasture" || crop == "" || crop == "no" || crop == "grass"
	}
	return false
}

// stockEnds are barrier nodes that let people through and hold livestock. Source: the
// community's documentation of Key:barrier.
var stockEnds = map[string]bool{"stile": true, "kissing_gate": true, "cattle_grid": true, "hampshire_gate": true}

// publicGround are the areas that people commonly may stay on: parks and what
// is kept for play (our reading of the tags' documentation on the OpenStreetMap wiki).
var publicGround = map[string]map[string]bool{
	"leisure": {"park": true, "recreation_ground": true, "common": true, "pitch": true},
	"landuse": {"recreation_ground": true, "village_green": true},
}

// neverGround are areas of the kinds Park and Grass on which nobody stays with a dog.
var neverGround = map[string]bool{"garden": true, "dog_park": true, "golf_course": true, "nature_reserve": true}

// standingOn says whether anybody may stay on an area with these tags.
func standingOn(kind GroundKind, tags osm.Tags) Standing {
	switch access := tags.Find("access"); {
	case access == "private", access == "no", access == "customers", access == "members", tags.Find("dog") == "no":
		return StandingNever
	case kind != Park && kind != Grass && kind != Wood, neverGround[tags.Find("leisure")]:
		return StandingNever
	}
	for _, t := range tags {
		if publicGround[t.Key][t.Value] {
			return StandingPublic
		}
	}
	return StandingUnknown
}

// barrierLines are the barriers that stop steps and perhaps the view, as lines.
// Kerbs, bollards, chains, blocks, traffic islands and trees are barriers by key
// but stop nobody on foot, and are not here. A retaining wall is looked over from
// its upper side, so it does not count as a screen.
var barrierLines = map[string]Obstacle{
	"wall":           {Kind: Wall, Blocks: BlocksWay | BlocksView},
	"city_wall":      {Kind: Wall, Blocks: BlocksWay | BlocksView},
	"retaining_wall": {Kind: Wall, Blocks: BlocksWay},
	"jersey_barrier": {Kind: Wall, Blocks: BlocksWay},
	"hedge":          {Kind: Hedge, Blocks: BlocksWay | BlocksView},
	"fence":          {Kind: Fence, Blocks: BlocksWay},
	"wire_fence":     {Kind: Fence, Blocks: BlocksWay},
	"guard_rail":     {Kind: Fence, Blocks: BlocksWay},
	"cable_barrier":  {Kind: Fence, Blocks: BlocksWay},
	"handrail":       {Kind: Fence, Blocks: BlocksWay},
	"yes":            {Kind: Fence, Blocks: BlocksWay},
	"ditch":          {Kind: WaterEdge, Blocks: BlocksWay},
}

// solidFences are fences that cannot be looked through.
var solidFences = map[string]bool{"panel": true, "concrete": true, "corrugated_metal": true, "stone": true, "brick": true}

// eyeLevelM is the height under which a wall or hedge does not screen a standing
// person (our assumption: below an adult's shoulders).
const eyeLevelM = 1.2

// waterLines are watercourses drawn as lines that nobody steps over.
var waterLines = map[string]bool{"river": true, "canal": true, "tidal_channel": true}

// obstacleOf says what a line with these tags stops.
func obstacleOf(tags osm.Tags) (Obstacle, bool) {
	if o, ok := barrierLines[tags.Find("barrier")]; ok {
		if o.Kind == Fence && solidFences[tags.Find("fence_type")] {
			o.Blocks |= BlocksView
		}
		if h, known := tagvalue.Width(tags.Find("height")); known && h < eyeLevelM {
			o.Blocks &^= BlocksView
		}
		return o, true
	}
	if n := tags.Find("natural"); n == "cliff" {
		return Obstacle{Kind: Cliff, Blocks: BlocksWay}, true
	} else if n == "coastline" {
		return Obstacle{Kind: WaterEdge, Blocks: BlocksWay}, true
	}
	if waterLines[tags.Find("waterway")] && !underground(tags) {
		return Obstacle{Kind: WaterEdge, Blocks: BlocksWay}, true
	}
	return Obstacle{}, false
}

// railUse says what a kind of railway is to us.
type railUse uint8

const (
	railRuns  railUse = 1 << iota // trains run here
	railStops                     // nobody steps over it
)

// railways are the railways in use. Trams run in the street and stop nobody.
var railways = map[string]railUse{
	"rail": railRuns | railStops, "light_rail": railRuns | railStops, "subway": railRuns | railStops,
	"narrow_gauge": railRuns | railStops, "funicular": railRuns | railStops, "preserved": railStops, "tram": railRuns,
}

// places are the values of place=* that name where people live.
var places = map[string]bool{
	"city": true, "town": true, "village": true, "hamlet": true, "suburb": true, "quarter": true, "neighbourhood": true,
	"borough": true, "isolated_dwelling": true,
}

// underground tells whether an object lies below the surface.
func underground(tags osm.Tags) bool {
	layer, _ := tagvalue.Layer(tags.Find("layer"))
	return layer < 0 || tags.Find("location") == "underground" || yes(tags.Find("tunnel"))
}

// standsOpen tells whether a building is a roof on posts, which stops nobody.
func standsOpen(use string) bool { return use == "roof" || use == "carport" || use == "canopy" }

// area takes in what an area of these tags is: building, ground, address. Outlines
// are given as node ids, because only known parts of them become obstacles.
func (b *builder) area(obj string, tags osm.Tags, f facet, s *shape) {
	if f&asBuilding != 0 && !underground(tags) {
		b.building(obj, tags, s)
	}
	if kind, ok := groundOf(tags); ok && f&asGround != 0 {
		for i, g := range s.polygons {
			b.x.Grounds = append(b.x.Grounds, Ground{Kind: kind, Name: tags.Find("name"), Area: g, DogRules: dogRules(kind, tags), Standing: standingOn(kind, tags), Grazed: grazed(tags)})
			if kind == Water && !yes(tags.Find("intermittent")) {
				b.outline(Obstacle{Kind: WaterEdge, Blocks: BlocksWay}, s.rings[i])
			}
		}
		if kind == Water {
			for _, chain := range s.broken {
				b.obstacle(Obstacle{Kind: WaterEdge, Blocks: BlocksWay}, b.indexes(chain))
			}
		}
	}
	if f&asAddress != 0 && len(s.polygons) > 0 {
		b.address(tags, s.polygons[0].Inside())
	}
}

func (b *builder) building(obj string, tags osm.Tags, s *shape) {
	use := tags.Find("building")
	levels, ok := tagvalue.Levels(tags.Find("building:levels"))
	if !ok && tags.HasTag("building:levels") {
		b.note("unknown value of building:levels", obj)
	}
	for i, g := range s.polygons {
		b.x.Buildings = append(b.x.Buildings, Building{
			OSM: obj, Area: g, Use: use, Levels: float32(levels),
			HouseNumber: tags.Find("addr:housenumber"), StreetName: tags.Find("addr:street"),
		})
		if !standsOpen(use) {
			b.outline(Obstacle{Kind: BuildingWall, Blocks: BlocksWay | BlocksView}, s.rings[i])
		}
	}
}

// outline adds closed rings as obstacles.
func (b *builder) outline(o Obstacle, rings []idRing) {
	for _, r := range rings {
		b.obstacle(o, b.indexes(r.closed()))
	}
}

// obstacle adds the known parts of a line of nodes, given as indexes.
func (b *builder) obstacle(o Obstacle, at []int32) {
	for _, l := range b.lines(at) {
		o.Line = l
		b.x.Obstacles = append(b.x.Obstacles, o)
	}
}

// rail takes in a railway line. One on a bridge is passed under.
func (b *builder) rail(tags osm.Tags, at []int32) {
	use := railways[tags.Find("railway")]
	if underground(tags) || yes(tags.Find("indoor")) {
		return
	}
	for _, l := range b.lines(at) {
		if use&railRuns != 0 {
			b.x.Rails = append(b.x.Rails, l)
		}
		if use&railStops != 0 && !yes(tags.Find("bridge")) {
			b.x.Obstacles = append(b.x.Obstacles, Obstacle{Kind: Rail, Blocks: BlocksWay, Line: l})
		}
	}
}

// address takes in a house number that has a street.
func (b *builder) address(tags osm.Tags, at plane.Point) {
	b.x.Countries.add(tags)
	street := tags.Find("addr:street")
	if street == "" {
		street = tags.Find("addr:place")
	}
	if number := tags.Find("addr:housenumber"); street != "" && number != "" {
		b.x.Addresses = append(b.x.Addresses, Address{Street: street, Number: number, City: tags.Find("addr:city"), Postcode: tags.Find("addr:postcode"), At: at})
	}
}
