package osmdata

import (
	"strings"

	"github.com/paulmach/osm"
)

// passage is what an access tag says about going on foot, from best to worst.
type passage uint8

const (
	unsaid      passage = iota // no tag, or one that says nothing
	allowed                    // yes, designated
	permissive                 // open until the owner revokes
	discouraged                // legal, signed against
	destination                // only to get there: the ends of a walk
	denied
)

// accessWords read the values of access, foot and dog tags. Purposes that a walk
// through is not (delivery, customers, permit, forestry ...) are denials.
// Source: the community's documentation of Key:access.
var accessWords = map[string]passage{
	"yes": allowed, "designated": allowed, "official": allowed, "public": allowed, "allowed": allowed,
	"permissive": permissive, "discouraged": discouraged, "destination": destination, "unknown": unsaid, "": unsaid,
	"no": denied, "private": denied, "permit": denied, "delivery": denied, "customers": denied, "residents": denied,
	"agricultural": denied, "forestry": denied, "military": denied, "emergency": denied, "employees": denied,
	"restricted": denied, "prohibited": denied, "use_sidepath": denied, "dismount": allowed,
	// Values of dog=* that say how, not whether.
	"leashed": allowed, "unleashed": allowed, "leash": allowed,
}

// readAccess reads one access value; of a list the strictest part counts.
func readAccess(v string) (p passage, known bool) {
	known = true
	for part := range strings.SplitSeq(v, ";") {
		q, ok := accessWords[strings.TrimSpace(part)]
		known = known && ok
		p = max(p, q)
	}
	return p, known
}

// footDefault says whether people may walk a class of street that has no access
// tags: the community's table for all countries. Motor roads are left to feet
// except motorways; bridleways and cycleways are not, which is the safe reading
// (some countries differ: footByCountry). Source: the wiki's table of default
// access restrictions; steps, track and service are common practice.
var footDefault = [ClassCount]bool{
	ClassOther: true, // highway=road: not yet surveyed
	Motorway:   false, Trunk: true, Primary: true, Secondary: true, Tertiary: true,
	Unclassified: true, Residential: true, LivingStreet: true, Service: true,
	Pedestrian: true, Track: true, Cycleway: false, Bridleway: false,
	Footway: true, Path: true, Steps: true,
}

// footByCountry holds where a country departs from footDefault, by ISO 3166-1
// code. Germany is in the table of footDefault; Britain and the United States,
// where both kinds of way are commonly shared with walkers, are from memory.
var footByCountry = map[string]map[Class]bool{
	"DE": {Trunk: false},
	"GB": {Bridleway: true, Cycleway: true},
	"US": {Bridleway: true, Cycleway: true},
}

// footTable gives the defaults of a country, "" for the general ones.
func footTable(country string) [ClassCount]bool {
	t := footDefault
	for c, foot := range footByCountry[strings.ToUpper(country)] {
		t[c] = foot
	}
	return t
}

// footAccess says whether a person may walk: foot over access over the default.
// A general access tag can only take away: access=yes on a motorway speaks of
// vehicles. A motorroad is closed to feet unless a foot tag opens it.
func footAccess(tags osm.Tags, byDefault bool, note func(kind string)) passage {
	if p := accessTag(tags, "foot", note); p != unsaid {
		return p
	}
	p := accessTag(tags, "access", note)
	if p == denied || !byDefault || tags.Find("motorroad") == "yes" {
		return denied
	}
	return max(p, allowed)
}

// accessTag reads the tag of that key and notes what it cannot read, which then
// says nothing.
func accessTag(tags osm.Tags, key string, note func(kind string)) passage {
	v := tags.Find(key)
	if v == "" {
		return unsaid
	}
	p, known := readAccess(v)
	if !known {
		note("unknown value of " + key)
	}
	return p
}

// dogAccess says whether dogs may be taken. A dog tag adds to foot access and is
// never evidence for it. Source: the community's documentation of Key:dog.
func dogAccess(tags osm.Tags, note func(kind string)) bool {
	return accessTag(tags, "dog", note) != denied
}

// conditional tells whether access depends on hour, season or other conditions
// that are not evaluated.
func conditional(tags osm.Tags) bool {
	for _, t := range tags {
		switch t.Key {
		case "access:conditional", "foot:conditional", "dog:conditional", "opening_hours":
			return true
		case "seasonal":
			if t.Value != "no" {
				return true
			}
		}
	}
	return false
}

// shutBarriers let nobody with a dog through where a street meets them. Every
// other barrier on a street is passed on foot unless its own tags say no: gates,
// bollards, blocks, cycle barriers, stiles, turnstiles, kerbs, cattle grids,
// chains and the like. Source: the community's documentation of Key:barrier and
// common practice. A full-height turnstile stops every dog (our assumption).
var shutBarriers = map[string]bool{
	"wall": true, "fence": true, "hedge": true, "retaining_wall": true,
	"city_wall": true, "ditch": true, "guard_rail": true, "wire_fence": true, "debris": true,
}

// bars tells whether a node with a barrier tag ends a walk with a dog. A foot tag
// that allows opens what is locked, private or shut by its kind: it says that
// walkers get round it. A stile is passed unless it has no way for dogs
// (dog_gate=no) or is a ladder without one (our assumption).
func bars(tags osm.Tags, note func(kind string)) bool {
	kind := tags.Find("barrier")
	if kind == "" || kind == "no" {
		return false
	}
	if !dogAccess(tags, note) {
		return true
	}
	if kind == "full-height_turnstile" || kind == "stile" && noDogOver(tags) {
		return true
	}
	switch accessTag(tags, "foot", note) {
	case denied:
		return true
	case allowed, permissive, discouraged, destination:
		return false
	}
	return shutBarriers[kind] || tags.Find("locked") == "yes" || accessTag(tags, "access", note) == denied
}

func noDogOver(tags osm.Tags) bool {
	gate := tags.Find("dog_gate")
	return gate == "no" || tags.Find("stile") == "ladder" && gate == ""
}
