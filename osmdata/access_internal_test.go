package osmdata

import (
	"strings"
	"testing"

	"github.com/paulmach/osm"
)

// tagsOf reads "key=value key=value", with ~ for a space.
func tagsOf(s string) (tags osm.Tags) {
	for f := range strings.FieldsSeq(s) {
		k, v, _ := strings.Cut(f, "=")
		tags = append(tags, osm.Tag{Key: k, Value: strings.ReplaceAll(v, "~", " ")})
	}
	return tags
}

func readStreet(country, tags string) (Street, bool, *Report) {
	sr := streetReader{footTable(country), newReport()}
	s, _, ok := sr.read(1, "way", tagsOf(tags))
	return s, ok, sr.report
}

// Foot access by highway value without access tags. Source: the OpenStreetMap
// wiki's table of default access restrictions, "all countries" and the rows of
// Germany (OSM_tags_for_routing/Access-Restrictions, revisions 164643 and 701776).
// steps, track and service are common practice; Britain and the United States from
// memory.
func TestFootDefaults(t *testing.T) {
	tests := []struct {
		country, highway string
		foot             bool
	}{
		{"", "motorway", false}, {"", "motorway_link", false}, {"", "trunk", true}, {"", "primary", true},
		{"", "secondary", true}, {"", "tertiary", true}, {"", "unclassified", true}, {"", "residential", true},
		{"", "living_street", true}, {"", "road", true}, {"", "pedestrian", true}, {"", "footway", true},
		{"", "path", true}, {"", "bridleway", false}, {"", "cycleway", false},
		{"", "steps", true}, {"", "track", true}, {"", "service", true},
		{"DE", "trunk", false}, {"DE", "motorway", false}, {"DE", "primary", true}, {"de", "trunk", false},
		{"GB", "bridleway", true}, {"GB", "cycleway", true}, {"US", "cycleway", true}, {"FR", "cycleway", false},
	}
	for _, tt := range tests {
		s, ok, _ := readStreet(tt.country, "highway="+tt.highway)
		if got := ok && s.Foot; got != tt.foot {
			t.Errorf("%s %s: foot %v, want %v", tt.country, tt.highway, got, tt.foot)
		}
	}
}

// Ways that are no street: not built, for no walker, or indoors (common practice).
func TestNoStreets(t *testing.T) {
	for _, tags := range []string{
		"highway=construction", "highway=proposed", "highway=raceway", "highway=bus_guideway", "highway=corridor",
		"highway=abandoned", "highway=footway indoor=yes", "highway=platform", "route=ferry",
	} {
		if s, ok, _ := readStreet("", tags); ok {
			t.Errorf("%s: a street: %+v", tags, s)
		}
	}
	if _, ok, r := readStreet("", "highway=hyperloop"); ok || r.Odd["unknown value of highway"].Count != 1 {
		t.Error("an unknown highway value is a street or not counted")
	}
}

// Access values. Source: the OpenStreetMap wiki, Key:access (yes, designated,
// permissive, destination open; no, private, delivery, customers, agricultural,
// forestry, use_sidepath not), and the rule that the special key beats the general.
func TestFootAccess(t *testing.T) {
	tests := []struct {
		tags string
		foot bool
		flag StreetFlags
	}{
		{"highway=residential access=yes", true, 0},
		{"highway=residential access=no", false, 0},
		{"highway=residential access=private", false, 0},
		{"highway=residential access=permit", false, 0},
		{"highway=residential access=permissive", true, FlagPermissive},
		{"highway=residential access=destination", true, FlagCustomers},
		{"highway=residential access=delivery", false, 0},
		{"highway=residential access=customers", false, 0},
		{"highway=track access=agricultural", false, 0},
		{"highway=track access=forestry", false, 0},
		{"highway=path foot=designated", true, 0},
		{"highway=path foot=no", false, 0},
		{"highway=path foot=private", false, 0},
		{"highway=path foot=discouraged", true, FlagDiscouraged},
		{"highway=secondary foot=use_sidepath", false, 0},
		{"highway=cycleway foot=yes", true, FlagBicycle},
		{"highway=cycleway foot=designated bicycle=designated", true, FlagBicycle},
		{"highway=cycleway access=yes", false, FlagBicycle}, // a general tag opens nothing
		{"highway=bridleway foot=permissive", true, FlagPermissive},
		{"highway=residential access=no foot=yes", true, 0},
		{"highway=service access=private foot=permissive", true, FlagPermissive},
		{"highway=residential access=yes foot=no", false, 0},
		{"highway=motorway foot=yes", true, 0},
		{"highway=motorway access=yes", false, 0},
		{"highway=trunk motorroad=yes", false, 0},
		{"highway=trunk motorroad=yes foot=yes", true, 0},
		{"highway=path access=no;permissive", false, 0}, // of a list the strictest
		{"highway=path access=yes;permissive", true, FlagPermissive},
		{"highway=path access=unknown", true, 0},
		{"highway=path access=perhaps", true, 0}, // unreadable says nothing, and is counted
		{"highway=residential vehicle=no", true, 0},
		{"highway=path bicycle=yes", true, FlagBicycle},
		{"highway=path bicycle=no", true, 0},
		{"highway=service service=driveway", true, FlagDriveway | FlagDrive},
		{"highway=service service=driveway access=private", false, FlagDriveway | FlagDrive},
		{"highway=service service=driveway foot=yes", true, FlagDriveway},
		{"highway=service service=driveway access=permissive", true, FlagDriveway | FlagPermissive},
		{"highway=service service=parking_aisle", true, FlagDriveway | FlagAisle},
		{"highway=service service=drive-through", false, FlagDriveway},
		{"highway=service service=drive-through foot=yes", false, FlagDriveway},
		{"highway=service service=alley", true, 0},
		{"highway=path foot:conditional=no~@~(22:00-06:00)", true, FlagConditional},
		{"highway=path access=no access:conditional=yes~@~(Mo-Fr)", false, FlagConditional},
		{"highway=path seasonal=winter", true, FlagConditional},
	}
	const looked = FlagPermissive | FlagCustomers | FlagDiscouraged | FlagBicycle | FlagDriveway | FlagDrive | FlagAisle | FlagConditional
	for _, tt := range tests {
		s, _, _ := readStreet("", tt.tags)
		if s.Foot != tt.foot || s.Flags&looked != tt.flag {
			t.Errorf("%s: foot %v flags %b, want %v %b", tt.tags, s.Foot, s.Flags&looked, tt.foot, tt.flag)
		}
	}
	if _, _, r := readStreet("", "highway=path access=perhaps"); r.Odd["unknown value of access"] == nil {
		t.Error("an unknown access value is not counted")
	}
}

// Bicycles. Source: the OpenStreetMap wiki, Key:bicycle and Key:cycleway.
func TestBicycleTags(t *testing.T) {
	const looked = FlagBicycle | FlagNoBicycle | FlagCycleTrack | FlagCycleLane | FlagCycleBothWays
	for tags, want := range map[string]StreetFlags{
		"highway=residential":                                             0,
		"highway=residential bicycle=no":                                  FlagNoBicycle,
		"highway=residential bicycle=use_sidepath":                        0,
		"highway=residential access=private":                              0,
		"highway=residential access=no":                                   FlagNoBicycle,
		"highway=residential access=no bicycle=yes":                       FlagBicycle,
		"highway=pedestrian vehicle=no":                                   FlagNoBicycle,
		"highway=pedestrian vehicle=no bicycle=yes":                       FlagBicycle,
		"highway=footway bicycle=dismount":                                FlagBicycle,
		"highway=primary cycleway=track":                                  FlagCycleTrack,
		"highway=primary cycleway:right=separate":                         FlagCycleTrack,
		"highway=primary cycleway:both=lane":                              FlagCycleLane,
		"highway=residential oneway=yes oneway:bicycle=no":                FlagCycleBothWays,
		"highway=residential oneway=yes cycleway=opposite":                FlagCycleBothWays,
		"highway=residential oneway=yes cycleway:left=opposite_lane":      FlagCycleLane | FlagCycleBothWays,
		"highway=residential cycleway:left=track cycleway:left:oneway=no": FlagCycleTrack | FlagCycleBothWays,
	} {
		s, _, _ := readStreet("", tags)
		if got := s.Flags & looked; got != want {
			t.Errorf("%s: flags %b, want %b", tags, got, want)
		}
	}
}

// Dogs. Source: the OpenStreetMap wiki, Key:dog (yes, no, leashed, unleashed,
// designated): it adds to foot access, and dog=yes opens nothing.
func TestDogAccess(t *testing.T) {
	tests := []struct {
		tags string
		foot bool
		flag StreetFlags
	}{
		{"highway=path", true, 0},
		{"highway=path dog=yes", true, 0},
		{"highway=path dog=designated", true, 0},
		{"highway=path dog=leashed", true, FlagDogLeashed},
		{"highway=path dog=unleashed", true, FlagDogUnleash},
		{"highway=path dog=no", false, 0},
		{"highway=path dog=no foot=designated", false, 0},
		{"highway=path dog=yes foot=no", false, 0},
		{"highway=path dog=unleashed access=private", false, FlagDogUnleash},
		{"highway=path dog:conditional=no~@~(Apr-Sep)", true, FlagConditional},
	}
	for _, tt := range tests {
		s, _, _ := readStreet("", tt.tags)
		if got := s.Flags & (FlagDogLeashed | FlagDogUnleash | FlagConditional); s.Foot != tt.foot || got != tt.flag {
			t.Errorf("%s: foot %v flags %b, want %v %b", tt.tags, s.Foot, got, tt.foot, tt.flag)
		}
	}
}

// Sidewalks. Source: the OpenStreetMap wiki, Key:sidewalk (both, left, right, no,
// separate, yes, lane; none is deprecated for no; sidewalk:left, :right, :both), and
// footway=sidewalk, footway=crossing. That a main road yields to its separate
// pavements is our decision.
func TestSidewalks(t *testing.T) {
	tests := []struct {
		tags string
		foot bool
		flag StreetFlags
	}{
		{"highway=residential", true, 0},
		{"highway=residential sidewalk=both", true, FlagSidewalk},
		{"highway=residential sidewalk=left", true, FlagSidewalk},
		{"highway=residential sidewalk=yes", true, FlagSidewalk},
		{"highway=residential sidewalk=no", true, FlagNoSidewalk},
		{"highway=residential sidewalk=none", true, FlagNoSidewalk},
		{"highway=residential sidewalk=separate", true, FlagSidewalk},
		{"highway=residential sidewalk:both=separate", true, FlagSidewalk},
		{"highway=secondary sidewalk=separate", false, FlagSidewalk},
		{"highway=secondary sidewalk:both=separate", false, FlagSidewalk},
		{"highway=secondary sidewalk:left=separate sidewalk:right=no", false, FlagSidewalk},
		{"highway=secondary sidewalk:left=separate sidewalk:right=yes", true, FlagSidewalk},
		{"highway=secondary sidewalk=separate foot=yes", true, FlagSidewalk},
		{"highway=secondary sidewalk=both", true, FlagSidewalk},
		{"highway=footway footway=sidewalk", true, FlagPavement},
		{"highway=footway footway=crossing", true, FlagCrossing},
		{"highway=path path=sidewalk", true, FlagPavement},
		{"highway=cycleway cycleway=crossing foot=yes", true, FlagCrossing},
	}
	const looked = FlagSidewalk | FlagNoSidewalk | FlagPavement | FlagCrossing
	for _, tt := range tests {
		s, _, _ := readStreet("", tt.tags)
		if s.Foot != tt.foot || s.Flags&looked != tt.flag {
			t.Errorf("%s: foot %v flags %b, want %v %b", tt.tags, s.Foot, s.Flags&looked, tt.foot, tt.flag)
		}
	}
}

// Barriers. Source: the OpenStreetMap wiki, Key:barrier (kissing_gate and lift_gate
// let people on foot pass; a gate is ruled by its access tags) and common practice
// for the rest; stile and turnstile with dogs are our assumption.
func TestBars(t *testing.T) {
	tests := []struct {
		tags string
		bars bool
	}{
		{"barrier=gate", false},
		{"barrier=gate access=yes", false},
		{"barrier=gate access=private", true},
		{"barrier=gate access=no", true},
		{"barrier=gate access=private foot=yes", false},
		{"barrier=gate foot=no", true},
		{"barrier=gate dog=no", true},
		{"barrier=gate foot=yes dog=no", true},
		{"barrier=gate locked=yes", true},
		{"barrier=gate locked=no", false},
		{"barrier=gate locked=yes foot=yes", false},
		{"barrier=kissing_gate", false},
		{"barrier=lift_gate", false},
		{"barrier=swing_gate", false},
		{"barrier=bollard", false},
		{"barrier=block", false},
		{"barrier=cycle_barrier", false},
		{"barrier=turnstile", false},
		{"barrier=full-height_turnstile", true},
		{"barrier=full-height_turnstile foot=yes", true},
		{"barrier=entrance", false},
		{"barrier=kerb", false},
		{"barrier=cattle_grid", false},
		{"barrier=chain", false},
		{"barrier=log", false},
		{"barrier=sally_port", false},
		{"barrier=toll_booth", false},
		{"barrier=height_restrictor", false},
		{"barrier=stile", false},
		{"barrier=stile dog_gate=yes", false},
		{"barrier=stile dog_gate=no", true},
		{"barrier=stile stile=ladder", true},
		{"barrier=stile stile=ladder dog_gate=yes", false},
		{"barrier=wall", true},
		{"barrier=fence", true},
		{"barrier=fence foot=yes", false},
		{"barrier=no", false},
		{"highway=crossing", false},
	}
	for _, tt := range tests {
		if got := bars(tagsOf(tt.tags), func(string) {}); got != tt.bars {
			t.Errorf("%s: bars %v, want %v", tt.tags, got, tt.bars)
		}
	}
}

// Motor traffic: class, then the most special tag (common practice).
func TestMotor(t *testing.T) {
	tests := []struct {
		tags  string
		motor bool
	}{
		{"highway=motorway", true}, {"highway=residential", true}, {"highway=service", true},
		{"highway=pedestrian", false}, {"highway=footway", false}, {"highway=track", false},
		{"highway=track motor_vehicle=yes", true},
		{"highway=residential motor_vehicle=no", false},
		{"highway=residential vehicle=no", false},
		{"highway=residential vehicle=no motor_vehicle=yes", true},
		{"highway=residential motor_vehicle=destination", true},
		{"highway=residential motor_vehicle=private", true},
		{"highway=service access=private", true},
		{"highway=service access=no", false},
		{"highway=pedestrian access=yes", false},
	}
	for _, tt := range tests {
		if s, _, _ := readStreet("", tt.tags); s.Motor != tt.motor {
			t.Errorf("%s: motor %v, want %v", tt.tags, s.Motor, tt.motor)
		}
	}
}

// One way: yes, -1 and roundabouts; motorways imply it (the OpenStreetMap wiki,
// Key:oneway).
func TestOneWay(t *testing.T) {
	tests := []struct {
		tags            string
		oneway, reverse bool
	}{
		{"highway=residential", false, false},
		{"highway=residential oneway=yes", true, false},
		{"highway=residential oneway=1", true, false},
		{"highway=residential oneway=no", false, false},
		{"highway=residential oneway=-1", true, true},
		{"highway=residential junction=roundabout", true, false},
		{"highway=residential junction=roundabout oneway=no", false, false},
		{"highway=motorway", true, false},
		{"highway=motorway oneway=no", false, false},
		{"highway=motorway_link", false, false},
		{"highway=residential oneway=alternating", false, false},
	}
	for _, tt := range tests {
		sr := streetReader{footDefault, newReport()}
		s, reverse, _ := sr.read(1, "way", tagsOf(tt.tags))
		if s.Flags&FlagOneWay != 0 != tt.oneway || reverse != tt.reverse {
			t.Errorf("%s: oneway %v reverse %v, want %v %v", tt.tags, s.Flags&FlagOneWay != 0, reverse, tt.oneway, tt.reverse)
		}
	}
}

func TestStreetFacts(t *testing.T) {
	s, ok, r := readStreet("", "highway=primary_link name=High~Street lanes=3 maxspeed=30~mph width=22' lit=yes "+
		"surface=gravel layer=1 bridge=viaduct")
	want := Street{
		ID: 1, Name: "High Street", Class: Primary, Foot: true, Motor: true, Lanes: 3, SpeedMPS: 13.4112, WidthM: 6.7056, Layer: 1,
		Flags: FlagLink | FlagBridge | FlagLitKnown | FlagLit | FlagUnpaved,
	}
	if !ok || s.Name != want.Name || s.Class != want.Class || s.Flags != want.Flags || s.Lanes != want.Lanes ||
		s.SpeedMPS != want.SpeedMPS || s.WidthM != want.WidthM || s.Layer != want.Layer || !s.Foot || !s.Motor {
		t.Errorf("got %+v, want %+v", s, want)
	}
	if len(r.Odd) != 0 {
		t.Errorf("odd: %v", r.Odd)
	}
	tests := []struct {
		tags string
		flag StreetFlags
	}{
		{"highway=footway tunnel=building_passage", FlagTunnel},
		{"highway=footway covered=yes", FlagTunnel},
		{"highway=footway covered=no tunnel=no bridge=no", 0},
		{"highway=footway lit=no", FlagLitKnown},
		{"highway=footway lit=24/7", FlagLitKnown | FlagLit},
		{"highway=footway surface=concrete:plates", FlagPaved},
		{"highway=footway surface=compacted", FlagUnpaved},
		{"highway=unclassified cutting=yes", FlagCutting},
	}
	for _, tt := range tests {
		if s, _, _ := readStreet("", tt.tags); s.Flags != tt.flag {
			t.Errorf("%s: flags %b, want %b", tt.tags, s.Flags, tt.flag)
		}
	}
	for _, tags := range []string{"maxspeed=quick", "width=wide", "lanes=many", "layer=top"} {
		key, _, _ := strings.Cut(tags, "=")
		if _, _, r := readStreet("", "highway=residential "+tags); r.Odd["unknown value of "+key] == nil {
			t.Errorf("%s: not counted: %v", tags, r.Odd)
		}
	}
}

// Speeds and lanes come from the next best tag where the first is missing.
func TestMeasureFallbacks(t *testing.T) {
	s, _, _ := readStreet("", "highway=residential lanes:forward=2 lanes:backward=1 source:maxspeed=DE:urban est_width=4")
	if s.Lanes != 3 || s.WidthM != 4 || s.SpeedMPS < 13.88 || s.SpeedMPS > 13.89 {
		t.Errorf("lanes %v, width %v, speed %v", s.Lanes, s.WidthM, s.SpeedMPS)
	}
	s, _, _ = readStreet("", "highway=residential maxspeed:forward=50 maxspeed:backward=30")
	if s.SpeedMPS < 13.88 || s.SpeedMPS > 13.89 {
		t.Errorf("of two directions: %v", s.SpeedMPS)
	}
}

// Obstacles: what stops steps and view. Kerbs, bollards and trees stop nobody.
func TestObstacleOf(t *testing.T) {
	tests := []struct {
		tags   string
		kind   ObstacleKind
		blocks Block
		ok     bool
	}{
		{"barrier=wall", Wall, BlocksWay | BlocksView, true},
		{"barrier=wall height=0.8", Wall, BlocksWay, true},
		{"barrier=wall height=2~m", Wall, BlocksWay | BlocksView, true},
		{"barrier=city_wall", Wall, BlocksWay | BlocksView, true},
		{"barrier=retaining_wall", Wall, BlocksWay, true},
		{"barrier=hedge", Hedge, BlocksWay | BlocksView, true},
		{"barrier=fence", Fence, BlocksWay, true},
		{"barrier=fence fence_type=panel", Fence, BlocksWay | BlocksView, true},
		{"barrier=wire_fence", Fence, BlocksWay, true},
		{"barrier=guard_rail", Fence, BlocksWay, true},
		{"barrier=yes", Fence, BlocksWay, true},
		{"natural=cliff", Cliff, BlocksWay, true},
		{"waterway=river", WaterEdge, BlocksWay, true},
		{"waterway=river tunnel=culvert", 0, 0, false},
		{"waterway=stream", 0, 0, false},
		{"barrier=kerb", 0, 0, false},
		{"barrier=bollard", 0, 0, false},
		{"barrier=chain", 0, 0, false},
		{"barrier=traffic_island", 0, 0, false},
		{"barrier=gate", 0, 0, false},
		{"natural=tree_row", 0, 0, false},
	}
	for _, tt := range tests {
		o, ok := obstacleOf(tagsOf(tt.tags))
		if ok != tt.ok || o.Kind != tt.kind || o.Blocks != tt.blocks {
			t.Errorf("%s: %+v %v, want %v %b %v", tt.tags, o, ok, tt.kind, tt.blocks, tt.ok)
		}
	}
}

func TestRules(t *testing.T) {
	p := newPicker([]Rule{
		{Key: "sport", Values: []string{"skateboard", "bmx"}, As: "wheels"},
		{Key: "leisure", Values: []string{"pitch"}, Also: []Match{{Key: "lit"}}, As: "lit pitch"},
		{Key: "leisure", Values: []string{"pitch"}, Also: []Match{{Key: "sport", Values: []string{"soccer"}}}, As: "soccer"},
		{Key: "leisure", As: "leisure"},
	})
	tests := []struct{ tags, as string }{
		{"leisure=pitch sport=skateboard", "wheels"}, // the first rule that matches decides
		{"sport=bmx leisure=pitch", "wheels"},        // whatever the order of tags
		{"leisure=pitch lit=yes sport=soccer", "lit pitch"},
		{"leisure=pitch lit=no sport=soccer", "soccer"}, // no is not a value that "any" takes
		{"leisure=pitch", "leisure"},
		{"leisure=no", ""},
		{"sport=tennis", ""},
		{"", ""},
	}
	for _, tt := range tests {
		got := ""
		if i := p.rule(tagsOf(tt.tags)); i >= 0 {
			got = p.rules[i].As
		}
		if got != tt.as {
			t.Errorf("%q: %q, want %q", tt.tags, got, tt.as)
		}
		if isFeature := p.facets(tagsOf(tt.tags))&asFeature != 0; isFeature != (tt.as != "") {
			t.Errorf("%q: feature %v", tt.tags, isFeature)
		}
	}
}
