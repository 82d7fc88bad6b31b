package strain

import (
	"strings"

	"wideberth/osmdata"
)

// Region is a part of the world with its own usual speeds.
type Region uint8

// The regions.
const (
	Elsewhere    Region = iota // usual speeds as in most of Europe
	UnitedStates               // and as in the United States
)

// RegionOf finds the region by a country's ISO 3166-1 code or, without one, by
// the name of the time zone.
func RegionOf(country, zone string) Region {
	american := strings.HasPrefix(zone, "America/") || zone == "Pacific/Honolulu"
	if strings.EqualFold(country, "US") || country == "" && american {
		return UnitedStates
	}
	return Elsewhere
}

// usualKMH are speeds by class where no limit is tagged: of US practice in steps of
// five miles an hour, and of Europe (a).
var usualKMH = [2][osmdata.ClassCount]float64{
	Elsewhere: {osmdata.ClassOther: 40, osmdata.Motorway: 110, osmdata.Trunk: 90, osmdata.Primary: 70, osmdata.Secondary: 50,
		osmdata.Tertiary: 50, osmdata.Unclassified: 50, osmdata.Residential: 40, osmdata.LivingStreet: 10, osmdata.Service: 15},
	UnitedStates: {osmdata.ClassOther: 40, osmdata.Motorway: 105, osmdata.Trunk: 88, osmdata.Primary: 72, osmdata.Secondary: 64,
		osmdata.Tertiary: 56, osmdata.Unclassified: 48, osmdata.Residential: 40, osmdata.LivingStreet: 15, osmdata.Service: 15},
}

// SpeedKMH is the speed of traffic on a road: the legal one in m/s where it is
// tagged, else the usual one of its class.
func (r Region) SpeedKMH(c osmdata.Class, legalMPS float32) float64 {
	if legalMPS > 0 {
		return float64(legalMPS) * 3.6
	}
	return usualKMH[r][c]
}

// What main roads are driven at where no limit is tagged, by the law of built-up ground:
// 50 km/h in nearly all of Europe; in the business districts of US towns 25 or 30 miles
// an hour by statute (the Uniform Vehicle Code has 30 for urban districts). All from
// memory. US main roads among homes are posted higher, and keep the speed of their class.
const (
	builtUpKMH  = 50
	businessKMH = 48
)

// TownKMH is SpeedKMH on built-up ground: centre or, if not centre, among homes.
func (r Region) TownKMH(c osmdata.Class, legalMPS float32, centre bool) float64 {
	v := r.SpeedKMH(c, legalMPS)
	if legalMPS > 0 || c < osmdata.Primary || c > osmdata.Tertiary {
		return v
	}
	switch {
	case r == Elsewhere:
		return min(v, builtUpKMH)
	case centre:
		return min(v, businessKMH)
	}
	return v
}

// Road is what is known of the pavements of a part of a road.
type Road struct {
	Class    osmdata.Class
	Flags    osmdata.StreetFlags
	SpeedKMH float64
	BuiltUp  bool // on residential or centre ground
	Mapped   bool // a pavement is drawn alongside, as a way of its own
	Telling  bool // the map tags so many pavements that silence means there is none
}

// Speeds from which on a road without a tag is taken to have no pavement (a).
const (
	noneOneWayKMH = 50 // one carriageway of a divided main road
	noneOpenKMH   = 50 // outside settlements
	noneKMH       = 58 // anywhere
)

// TellingShare is the share of the metres of main roads with a tag for pavements
// from which on a map tells by its silence (a).
const TellingShare = 0.3

// Pavement tells what there is to walk on. Tags decide where they are; elsewhere it
// is inferred from class, one-way carriageway, speed and surroundings. Of 13,992 km
// of road in one state 0.16 % are tagged and in two small countries 0 to 2 % of the
// main roads, so nothing calibrates the inference: it is our assumption and has to
// be told with the answer.
func (r *Road) Pavement() Pavement {
	main := r.Class.Main()
	switch {
	case r.Flags&(osmdata.FlagSidewalk|osmdata.FlagPavement) != 0:
		return Separate
	case r.Flags&osmdata.FlagNoSidewalk != 0,
		r.Class == osmdata.Motorway, r.Class == osmdata.Trunk, r.Flags&osmdata.FlagLink != 0,
		main && r.Flags&osmdata.FlagOneWay != 0 && r.SpeedKMH > noneOneWayKMH,
		r.SpeedKMH > noneKMH,
		r.SpeedKMH > noneOpenKMH && !r.BuiltUp,
		r.Mapped, // the walk has the pavement; on the road itself there is none
		main && r.Telling:
		return Carriageway
	}
	return Unknown
}
