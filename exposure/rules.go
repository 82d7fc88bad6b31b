package exposure

import (
	"wideberth/exposure/hours"
	"wideberth/osmdata"
)

// sourceRule is one row of the table from tags to sources.
type sourceRule struct {
	as, noun    string
	rules       []osmdata.Rule
	radiusM     float32 // where the map has a point only
	perHectare  float32 // expected number present at the busiest hour, by mapped area
	least, most float32 // bounds of it; least is the number where no area is mapped
	activity    hours.Activity
	mix         []part
	basis       string
}

// part is a kind's share of the number present, or its events a day.
type part struct {
	kind   Kind
	share  float32
	perDay float32
}

// Where capacities come from: no published table of occupancy was found for any
// of these, but for the stay at playgrounds (mean 32 min, 60 playgrounds, Int. J.
// Env. Res. Public Health 20:4661, 2023) and the 12 % of park users in the dog
// area (six parks, Evenson et al. 2016, RQES 87:165-173).
const (
	capacityAssumed    = "our assumption"
	capacityPlayground = "our assumption about 12 visitors/h staying 32 min (IJERPH 20:4661, 2023): 6 present by Little's law"
)

func tag(key string, values ...string) osmdata.Rule { return osmdata.Rule{Key: key, Values: values} }

// sourceRules, first match decides. A row without a mix is a destination of
// walking trips only.
var sourceRules = []sourceRule{
	{as: "dog_park", noun: "dog park", rules: []osmdata.Rule{tag("leisure", "dog_park"), tag("leisure", "dog_training"), tag("sport", "dog_training")},
		radiusM: 30, perHectare: 6, least: 2, most: 10, activity: hours.DogPark,
		mix: []part{{DogOffLead, .5, 0}, {Adult, .5, 0}}, basis: capacityAssumed},
	{as: "kennel", noun: "kennel", rules: []osmdata.Rule{tag("amenity", "animal_boarding", "animal_shelter", "animal_breeding")},
		radiusM: 25, perHectare: 10, least: 4, most: 20, activity: hours.Dogs,
		mix: []part{{DogBehindFence, .8, 0}, {DogOnLead, .1, 0}, {Adult, .1, 0}}, basis: capacityAssumed},
	{as: "veterinary", noun: "veterinary practice", rules: []osmdata.Rule{tag("amenity", "veterinary")},
		radiusM: 10, least: .8, most: .8, activity: hours.Shops,
		mix: []part{{DogOnLead, .4, 0}, {Adult, .6, 0}}, basis: capacityAssumed},
	{as: "pet_shop", noun: "pet shop", rules: []osmdata.Rule{tag("shop", "pet", "pet_grooming")},
		radiusM: 10, least: .8, most: .8, activity: hours.Shops,
		mix: []part{{DogOnLead, .4, 0}, {Adult, .6, 0}}, basis: capacityAssumed},
	{as: "kindergarten", noun: "kindergarten", rules: []osmdata.Rule{tag("amenity", "kindergarten", "childcare")},
		radiusM: 20, perHectare: 60, least: 10, most: 40, activity: hours.Schoolyard,
		mix: []part{{Child, .85, 0}, {Adult, .15, 0}, {ChildrenNoise, .1, 0}}, basis: capacityAssumed},
	{as: "school", noun: "school", rules: []osmdata.Rule{tag("amenity", "school")},
		radiusM: 60, perHectare: 40, least: 40, most: 200, activity: hours.Schoolyard,
		mix: []part{{Child, .95, 0}, {Adult, .05, 0}, {ChildrenNoise, .05, 0}}, basis: capacityAssumed},
	{as: "skate_spot", noun: "skate spot", rules: []osmdata.Rule{tag("sport", "skateboard", "bmx", "roller_skating"), tag("leisure", "skatepark")},
		radiusM: 15, perHectare: 40, least: 3, most: 12, activity: hours.SkateSpot,
		mix: []part{{BoardOrScooter, .8, 0}, {Child, .2, 0}}, basis: capacityAssumed},
	{as: "playground", noun: "playground", rules: []osmdata.Rule{tag("leisure", "playground")},
		radiusM: 15, perHectare: 60, least: 4, most: 15, activity: hours.Playground,
		mix: []part{{Child, .65, 0}, {Adult, .35, 0}, {ChildrenNoise, .2, 0}}, basis: capacityPlayground},
	{as: "pitch", noun: "sports pitch", rules: []osmdata.Rule{tag("leisure", "pitch")},
		radiusM: 25, perHectare: 4, least: 1.5, most: 6, activity: hours.Pitch,
		mix: []part{{Child, .5, 0}, {Adult, .5, 0}, {ChildrenNoise, .1, 0}}, basis: capacityAssumed},
	{as: "sports_centre", noun: "sports centre", rules: []osmdata.Rule{tag("leisure", "sports_centre", "stadium", "swimming_pool")},
		radiusM: 30, perHectare: 2, least: 2, most: 8, activity: hours.Pitch,
		mix: []part{{Adult, .7, 0}, {Child, .3, 0}}, basis: capacityAssumed},
	{as: "marketplace", noun: "market", rules: []osmdata.Rule{tag("amenity", "marketplace")},
		radiusM: 25, perHectare: 200, least: 20, most: 150, activity: hours.Market,
		mix: []part{{Adult, .9, 0}, {Child, .08, 0}, {DogOnLead, .02, 0}}, basis: capacityAssumed},
	{as: "outdoor_seating", noun: "terrace", rules: []osmdata.Rule{tag("leisure", "outdoor_seating"), tag("amenity", "cafe", "ice_cream", "biergarten", "restaurant", "pub", "bar", "fast_food")},
		radiusM: 8, perHectare: 300, least: 3, most: 30, activity: hours.Cafe,
		mix: []part{{Adult, .9, 0}, {Child, .08, 0}, {DogOnLead, .02, 0}}, basis: capacityAssumed},
	{as: "beach", noun: "beach", rules: []osmdata.Rule{tag("natural", "beach"), tag("leisure", "bathing_place", "beach_resort")},
		radiusM: 30, perHectare: 20, least: 3, most: 60, activity: hours.Beach,
		mix: []part{{Adult, .65, 0}, {Child, .3, 0}, {DogOnLead, .05, 0}}, basis: capacityAssumed},
	{as: "fire_station", noun: "fire station", rules: []osmdata.Rule{tag("amenity", "fire_station")},
		radiusM: 15, activity: hours.Cars, mix: []part{{Siren, 0, 4}}, basis: capacityAssumed},
	{as: "hospital", noun: "hospital", rules: []osmdata.Rule{tag("amenity", "hospital")},
		radiusM: 60, least: 2, most: 2, activity: hours.People,
		mix: []part{{Siren, 0, 6}, {Adult, 1, 0}}, basis: capacityAssumed},
	{as: "police", noun: "police station", rules: []osmdata.Rule{tag("amenity", "police")},
		radiusM: 15, activity: hours.Cars, mix: []part{{Siren, 0, 2}}, basis: capacityAssumed},
	{as: "church", noun: "church", rules: []osmdata.Rule{{Key: "amenity", Values: []string{"place_of_worship"}, Also: []osmdata.Match{{Key: "religion", Values: []string{"christian"}}}}, tag("man_made", "campanile")},
		radiusM: 15, activity: hours.ChurchBells, mix: []part{{Bells, 0, 3}}, basis: capacityAssumed},
	{as: "construction", noun: "building site", rules: []osmdata.Rule{tag("landuse", "construction"), tag("building", "construction")},
		radiusM: 25, least: 1, most: 1, activity: hours.Construction,
		mix: []part{{Construction, 1, 0}}, basis: capacityAssumed},
	{as: "bus_stop", noun: "bus stop", rules: []osmdata.Rule{tag("highway", "bus_stop"), tag("railway", "tram_stop")},
		radiusM: 4, least: .5, most: .5, activity: hours.People, mix: []part{{Adult, .9, 0}, {Child, .1, 0}}, basis: capacityAssumed},
	{as: "station", noun: "railway station", rules: []osmdata.Rule{tag("railway", "station", "halt")},
		radiusM: 40, least: 5, most: 5, activity: hours.People, mix: []part{{Adult, .95, 0}, {Child, .05, 0}}, basis: capacityAssumed},
	{as: "shop", noun: "shop", rules: []osmdata.Rule{tag("shop"), tag("amenity", "pharmacy", "post_office", "bank", "library")}},
	{as: "park", noun: "park", rules: []osmdata.Rule{tag("leisure", "park", "recreation_ground", "common"), tag("landuse", "recreation_ground", "village_green")}},
	{as: "parking", noun: "car park", rules: []osmdata.Rule{tag("amenity", "parking")}},
	{as: "lodging", noun: "lodging", rules: []osmdata.Rule{tag("tourism", "hotel", "motel", "hostel", "guest_house", "apartment", "chalet", "alpine_hut", "camp_site", "caravan_site")}},
	{as: "ski_lift", noun: "ski lift", rules: []osmdata.Rule{tag("aerialway", "chair_lift", "drag_lift", "t-bar", "j-bar", "platter", "gondola", "magic_carpet", "rope_tow")}},
	{as: Campus, noun: "campus", rules: []osmdata.Rule{tag("amenity", "university", "college", "prison", "monastery"), tag("landuse", "education", "military", "religious")}},
	// What homes are held against: how many people live there.
	{as: Settlement, noun: "settlement", rules: []osmdata.Rule{
		{Key: "boundary", Values: []string{"administrative"}, Also: []osmdata.Match{{Key: "population"}}},
		{Key: "place", Values: []string{"city", "town", "village", "hamlet", "suburb", "quarter", "neighbourhood", "borough"}, Also: []osmdata.Match{{Key: "population"}}}}},
}

// Settlement is what Rules call a place or boundary that says how many people live in
// it.
const Settlement = "settlement"

// Campus is what Rules call the ground of a university, of the military, of an order.
const Campus = "campus"

// Rules tells the map's reader which features the model wants. As names the row
// of the table, first match decides.
func Rules() []osmdata.Rule {
	var out []osmdata.Rule
	for i := range sourceRules {
		for _, r := range sourceRules[i].rules {
			r.As = sourceRules[i].as
			out = append(out, r)
		}
	}
	return out
}

func ruleOf(as string) *sourceRule {
	for i := range sourceRules {
		if sourceRules[i].as == as {
			return &sourceRules[i]
		}
	}
	return nil
}

// SourceNoun is what a source is called in sentences: "dog park" for "dog_park";
// the word itself where no rule has it.
func SourceNoun(as string) string {
	if r := ruleOf(as); r != nil {
		return r.noun
	}
	return as
}

// NewSource makes a source of a feature that Rules asked for; false if the
// feature is a mere destination or of no rule. Capacity follows the mapped area
// within bounds; every capacity is an assumption until somebody counts.
func NewSource(ft *osmdata.Feature) (Source, bool) {
	r := ruleOf(ft.As)
	if r == nil || len(r.mix) == 0 {
		return Source{}, false
	}
	s := Source{OSM: ft.OSM, As: ft.As, Name: ft.Name, Area: ft.Areas, At: ft.Point,
		Hours: ft.Tags["opening_hours"], Activity: r.activity, Assumed: true}
	area := 0.0
	for _, g := range ft.Areas {
		area += g.AreaM2()
	}
	s.AreaM2 = float32(area)
	if len(ft.Areas) == 0 {
		s.RadiusM = r.radiusM
	}
	s.Capacity = min(r.most, max(r.least, r.perHectare*s.AreaM2/1e4))
	for _, m := range r.mix {
		s.Mix = append(s.Mix, Presence{Kind: m.kind, Present: m.share * s.Capacity, PerDay: m.perDay})
	}
	return s, true
}
