package osmdata

import (
	"strings"

	"wideberth/osmdata/tagvalue"

	"github.com/paulmach/osm"
)

// highwayKind is what a value of the highway tag means.
type highwayKind struct {
	class Class
	motor bool
	link  bool
}

// highways are the values of the highway tag that name a street.
var highways = map[string]highwayKind{
	"motorway": {Motorway, true, false}, "motorway_link": {Motorway, true, true},
	"trunk": {Trunk, true, false}, "trunk_link": {Trunk, true, true},
	"primary": {Primary, true, false}, "primary_link": {Primary, true, true},
	"secondary": {Secondary, true, false}, "secondary_link": {Secondary, true, true},
	"tertiary": {Tertiary, true, false}, "tertiary_link": {Tertiary, true, true},
	"unclassified": {Unclassified, true, false}, "minor": {Unclassified, true, false},
	"residential": {Residential, true, false}, "living_street": {LivingStreet, true, false},
	"service": {Service, true, false}, "road": {ClassOther, true, false},
	"pedestrian": {Pedestrian, false, false}, "track": {Track, false, false},
	"cycleway": {Cycleway, false, false}, "bridleway": {Bridleway, false, false},
	"footway": {Footway, false, false}, "path": {Path, false, false}, "steps": {Steps, false, false},
}

// ignoredHighways are values that name no street one could meet or walk: what is
// not built or no longer there, what lies indoors, and what is not a way at all.
// Values in neither table are counted as unknown.
var ignoredHighways = map[string]bool{
	"proposed": true, "planned": true, "construction": true, "abandoned": true, "disused": true, "razed": true,
	"demolished": true, "dismantled": true, "removed": true, "no": true, "raceway": true, "bus_guideway": true,
	"busway": true, "escape": true, "corridor": true, "via_ferrata": true, "elevator": true, "platform": true,
	"rest_area": true, "services": true, "emergency_bay": true, "traffic_island": true, "ladder": true,
	// Nodes mostly; on a way they are no street either.
	"bus_stop": true, "crossing": true, "traffic_signals": true, "turning_circle": true, "turning_loop": true,
	"stop": true, "give_way": true, "street_lamp": true, "motorway_junction": true, "mini_roundabout": true,
	"milestone": true, "speed_camera": true, "passing_place": true, "emergency_access_point": true,
	"traffic_mirror": true, "toll_gantry": true, "hitchhiking": true, "trailhead": true, "traffic_sign": true,
}

// pavedSurfaces are the surfaces on which a dog's and a walker's feet are on stone,
// tar, wood or metal. All others count as unpaved.
var pavedSurfaces = map[string]bool{
	"paved": true, "asphalt": true, "chipseal": true, "concrete": true, "paving_stones": true, "sett": true,
	"cobblestone": true, "unhewn_cobblestone": true, "bricks": true, "brick": true, "metal": true, "metal_grid": true,
	"wood": true, "rubber": true, "tartan": true, "acrylic": true, "tiles": true, "plastic": true, "stone": true,
	"grass_paver": true,
}

// sideServices are service roads that belong to one property.
var sideServices = map[string]bool{"driveway": true, "parking_aisle": true, "drive-through": true, "emergency_access": true}

// streetReader interprets the tags of ways. It is immutable but for the report,
// into which it notes.
type streetReader struct {
	foot   [ClassCount]bool
	report *Report
}

// read interprets a way with a highway tag. reverse says that traffic runs against
// the drawn direction. A way that nobody walks or drives on is not ok.
func (sr *streetReader) read(id int64, kind string, tags osm.Tags) (s Street, reverse, ok bool) {
	obj := object(kind, id)
	note := func(k string) { sr.report.Note(k, obj) }
	hk, known := highways[tags.Find("highway")]
	if !known {
		if !ignoredHighways[tags.Find("highway")] {
			note("unknown value of highway")
		}
		return s, false, false
	}
	if yes(tags.Find("indoor")) {
		note(oddIndoor)
		return s, false, false
	}
	s = Street{ID: id, Name: tags.Find("name"), Class: hk.class, Motor: hk.motor}
	if hk.link {
		s.Flags |= FlagLink
	}
	sr.access(&s, tags, note)
	reverse = oneWay(&s, tags)
	structure(&s, tags, note)
	comfort(&s, tags)
	sr.sidewalks(&s, tags)
	measure(&s, tags, note)
	return s, reverse, s.Foot || s.Motor || s.Flags&FlagBicycle != 0
}

// access sets who may use the street.
func (sr *streetReader) access(s *Street, tags osm.Tags, note func(string)) {
	p := footAccess(tags, sr.foot[s.Class], note)
	s.Foot = p != denied
	switch p {
	case permissive:
		s.Flags |= FlagPermissive
	case destination:
		s.Flags |= FlagCustomers
	case discouraged:
		s.Flags |= FlagDiscouraged
	}
	if conditional(tags) {
		s.Flags |= FlagConditional
		note(oddConditional)
	}
	switch tags.Find("dog") {
	case "leashed", "leash":
		s.Flags |= FlagDogLeashed
	case "unleashed":
		s.Flags |= FlagDogUnleash
	}
	if !dogAccess(tags, note) {
		s.Foot = false
		note(oddNoDogs)
	}
	sr.bicycle(s, tags)
	sr.motor(s, tags)
	if s.Motor && carAccess(tags) == denied {
		s.Flags |= FlagByLeave
	}
	if s.Class == Service {
		serviceRoad(s, tags)
	}
}

// bicycle sets who may ride where. Only a plain no closes a street, as for motors:
// those who live on a private one ride there, and where bicycles must use a path
// beside the road, that path may not be drawn. A road's cycle track or lane counts
// on any side. Source: the community's documentation of Key:bicycle and
// Key:cycleway.
func (sr *streetReader) bicycle(s *Street, tags osm.Tags) {
	switch p, _ := readAccess(tags.Find("bicycle")); {
	case p == denied:
	case p != unsaid, s.Class == Cycleway:
		s.Flags |= FlagBicycle
	}
	for _, key := range []string{"bicycle", "vehicle", "access"} {
		if v := tags.Find(key); v == "no" {
			s.Flags |= FlagNoBicycle
		} else if v == "" {
			continue
		}
		break
	}
	for _, key := range []string{"cycleway", "cycleway:both", "cycleway:left", "cycleway:right"} {
		switch tags.Find(key) {
		case "track", "separate", "opposite_track":
			s.Flags |= FlagCycleTrack
		case "lane", "opposite_lane", "share_busway":
			s.Flags |= FlagCycleLane
		}
		if v := tags.Find(key); strings.HasPrefix(v, "opposite") || tags.Find(key+":oneway") == "-1" || tags.Find(key+":oneway") == "no" {
			s.Flags |= FlagCycleBothWays
		}
	}
	if tags.Find("oneway:bicycle") == "no" {
		s.Flags |= FlagCycleBothWays
	}
}

// serviceRoad sets what a service road serves. Nobody walks through a lane that
// cars are served in; a drive is its owner's unless a tag opens it.
func serviceRoad(s *Street, tags osm.Tags) {
	service := tags.Find("service")
	if sideServices[service] {
		s.Flags |= FlagDriveway
	}
	switch service {
	case "driveway":
		foot, _ := readAccess(tags.Find("foot"))
		anybody, _ := readAccess(tags.Find("access"))
		if foot == unsaid && anybody != allowed && anybody != permissive {
			s.Flags |= FlagDrive
		}
	case "parking_aisle":
		s.Flags |= FlagAisle
	case "drive-through":
		s.Foot = false
	}
}

// motor corrects the class's idea of motor traffic by the most special of the
// tags for it. Only a plain no stops it all: private traffic is traffic.
func (sr *streetReader) motor(s *Street, tags osm.Tags) {
	for _, key := range []string{"motor_vehicle", "motorcar", "vehicle", "access"} {
		switch v := tags.Find(key); {
		case v == "":
		case v == "no":
			s.Motor = false
			return
		case key != "access" && key != "vehicle":
			p, known := readAccess(v)
			s.Motor = s.Motor || known && p != denied && p != unsaid
			return
		}
	}
}

// oneWay sets the flag for motor traffic in one direction and says whether that is
// against the drawn one.
func oneWay(s *Street, tags osm.Tags) (reverse bool) {
	v := tags.Find("oneway")
	switch v {
	case "yes", "true", "1":
		s.Flags |= FlagOneWay
	case "-1", "reverse":
		s.Flags |= FlagOneWay
		return true
	case "":
		j := tags.Find("junction")
		if j == "roundabout" || j == "circular" || s.Class == Motorway && s.Flags&FlagLink == 0 {
			s.Flags |= FlagOneWay
		}
	}
	return false
}

// structure sets what the street lies on, under and between.
func structure(s *Street, tags osm.Tags, note func(string)) {
	if yes(tags.Find("bridge")) {
		s.Flags |= FlagBridge
	}
	if yes(tags.Find("tunnel")) || yes(tags.Find("covered")) {
		s.Flags |= FlagTunnel
	}
	if yes(tags.Find("cutting")) || yes(tags.Find("embankment")) {
		s.Flags |= FlagCutting
	}
	layer, ok := tagvalue.Layer(tags.Find("layer"))
	if !ok {
		note("unknown value of layer")
	}
	s.Layer = layer
}

// comfort sets light and surface.
func comfort(s *Street, tags osm.Tags) {
	switch lit := tags.Find("lit"); lit {
	case "", "unknown":
	case "no", "disused":
		s.Flags |= FlagLitKnown
	default: // yes, automatic, hours: there are lamps
		s.Flags |= FlagLitKnown | FlagLit
	}
	// "concrete:plates" and "wood;asphalt" are known by their first word.
	surface, _, _ := strings.Cut(tags.Find("surface"), ";")
	surface, _, _ = strings.Cut(surface, ":")
	switch {
	case surface == "":
	case pavedSurfaces[surface]:
		s.Flags |= FlagPaved
	default:
		s.Flags |= FlagUnpaved
	}
}

// sidewalks sets what is known of pavements. On a main road whose pavements are
// mapped as ways of their own on every side that has one, people walk those: the
// carriageway is closed to the walk unless a foot tag opens it. Smaller streets stay
// open, because walkers cross them anywhere and separate pavements are often
// mapped in pieces.
func (sr *streetReader) sidewalks(s *Street, tags osm.Tags) {
	foot, path := tags.Find("footway"), tags.Find("path")
	if foot == "sidewalk" || path == "sidewalk" {
		s.Flags |= FlagPavement
	}
	if foot == "crossing" || path == "crossing" || tags.Find("cycleway") == "crossing" {
		s.Flags |= FlagCrossing
	}
	pavement, separate, none := sides(tags)
	switch {
	case pavement || separate:
		s.Flags |= FlagSidewalk
	case none:
		s.Flags |= FlagNoSidewalk
	}
	main := s.Class >= Trunk && s.Class <= Tertiary
	if main && separate && !pavement && tags.Find("foot") == "" {
		s.Foot = false
		sr.report.Note(oddSeparate, object("way", s.ID))
	}
}

// sides reads the sidewalk tags: whether some side has a pavement drawn with the
// road, some side one of its own, or the tags say that there is none.
// Source: the community's documentation of Key:sidewalk.
func sides(tags osm.Tags) (pavement, separate, none bool) {
	for _, key := range []string{"sidewalk", "sidewalk:both", "sidewalk:left", "sidewalk:right"} {
		switch tags.Find(key) {
		case "both", "left", "right", "yes", "lane":
			pavement = true
		case "separate":
			separate = true
		case "no", "none":
			none = true
		}
	}
	return pavement, separate, none
}

// measure sets lanes, speed and width, and notes what it cannot read.
func measure(s *Street, tags osm.Tags, note func(string)) {
	s.Lanes = float32(largest(tags, tagvalue.Lanes, note, "lanes"))
	if s.Lanes == 0 {
		forward, _ := tagvalue.Lanes(tags.Find("lanes:forward"))
		backward, _ := tagvalue.Lanes(tags.Find("lanes:backward"))
		s.Lanes = float32(forward + backward)
	}
	s.SpeedMPS = float32(largest(tags, tagvalue.Speed, note, "maxspeed", "maxspeed:forward", "maxspeed:backward"))
	if s.SpeedMPS == 0 {
		s.SpeedMPS = float32(largest(tags, tagvalue.Speed, func(string) {}, "maxspeed:type", "source:maxspeed", "zone:maxspeed"))
	}
	s.WidthM = float32(largest(tags, tagvalue.Width, note, "width"))
	if s.WidthM == 0 {
		s.WidthM = float32(largest(tags, tagvalue.Width, func(string) {}, "width:carriageway", "est_width"))
	}
}

// largest reads the tags of those keys and gives the largest value, 0 if none is known.
func largest(tags osm.Tags, parse func(string) (float64, bool), note func(string), keys ...string) float64 {
	best := 0.0
	for _, key := range keys {
		v := tags.Find(key)
		if v == "" {
			continue
		}
		x, ok := parse(v)
		if !ok {
			note("unknown value of " + key)
		}
		best = max(best, x)
	}
	return best
}

// yes tells whether a tag is there and does not say no.
func yes(v string) bool { return v != "" && v != "no" && v != "false" && v != "0" }
