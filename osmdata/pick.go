package osmdata

import (
	"slices"

	"github.com/paulmach/osm"
)

// facet is a way in which an object matters to us.
type facet uint16

const (
	asStreet facet = 1 << iota
	asBuilding
	asObstacle // barriers, cliffs, rivers and shores as lines
	asGround
	asRail
	asAddress
	asPlace
	asBarrier // a barrier node
	asFeature // a rule wants it
	asCrossing

	nodeFacets = asAddress | asPlace | asBarrier | asFeature | asCrossing
	areaFacets = asStreet | asBuilding | asGround | asFeature
)

// picker decides by tags what matters. It is immutable and safe for concurrent use.
type picker struct {
	rules []Rule
	byKey map[string][]int // indexes of rules by their key
}

func newPicker(rules []Rule) picker {
	p := picker{rules, map[string][]int{}}
	for i, r := range rules {
		p.byKey[r.Key] = append(p.byKey[r.Key], i)
	}
	return p
}

// Picker tells which elements of a map a reading keeps. It is immutable and safe for
// concurrent use.
type Picker struct{ picker picker }

// NewPicker makes the picker of readings with these rules.
func NewPicker(rules []Rule) *Picker { return &Picker{newPicker(rules)} }

// Node tells whether a node with these tags is kept whatever runs over it.
func (p *Picker) Node(tags osm.Tags) bool { return p.picker.node(tags) }

// Way tells whether a way with these tags is kept whatever relation it belongs to.
func (p *Picker) Way(tags osm.Tags) bool { return p.picker.facets(tags) != 0 }

// Use is what a relation is kept for.
type Use uint8

// The uses; a relation can have several.
const (
	UseArea   Use = 1 << iota // its ways bound an area
	UseBan                    // it bans a turn
	UseBorder                 // it says whose country lies within
)

// Relation tells what a relation is kept for, 0 for nothing.
func (p *Picker) Relation(r *osm.Relation) Use { return p.picker.relation(r) }

// node is Picker.Node.
func (p *picker) node(tags osm.Tags) bool {
	return len(tags) > 0 && p.facets(tags)&nodeFacets != 0
}

// relation is Picker.Relation. A boundary counts as an area if it bounds something
// wanted, such as a park.
func (p *picker) relation(r *osm.Relation) (u Use) {
	if banValue(r.Tags) != "" {
		return UseBan
	}
	if r.Polygon() && p.facets(r.Tags)&areaFacets != 0 {
		u |= UseArea
	}
	if bordered(r.Tags) != "" {
		u |= UseBorder
	}
	return u
}

// facets tells in which ways an object with these tags may matter; what kind of
// object it is narrows that down later.
func (p *picker) facets(tags osm.Tags) facet {
	var f facet
	for _, t := range tags {
		switch t.Key {
		case "highway":
			if _, ok := highways[t.Value]; ok || !ignoredHighways[t.Value] {
				f |= asStreet
			}
			if crossings[t.Value] {
				f |= asCrossing
			}
		case "building":
			if t.Value != "no" {
				f |= asBuilding
			}
		case "barrier":
			f |= asBarrier
			if _, ok := barrierLines[t.Value]; ok {
				f |= asObstacle
			}
		case "railway":
			if railways[t.Value] != 0 {
				f |= asRail
			}
		case "waterway":
			if waterLines[t.Value] {
				f |= asObstacle
			}
		case "addr:housenumber":
			f |= asAddress
		case "place":
			if places[t.Value] {
				f |= asPlace
			}
		}
		if t.Key == "natural" && (t.Value == "cliff" || t.Value == "coastline") {
			f |= asObstacle
		}
		if kinds, ok := grounds[t.Key]; ok {
			if _, ok = kinds[t.Value]; ok {
				f |= asGround
			}
		}
		if _, ok := p.byKey[t.Key]; ok && f&asFeature == 0 && p.rule(tags) >= 0 {
			f |= asFeature
		}
	}
	return f
}

// rule gives the index of the first rule that matches the tags, -1 if none does.
func (p *picker) rule(tags osm.Tags) int {
	best := -1
	for _, t := range tags {
		for _, i := range p.byKey[t.Key] {
			if (best < 0 || i < best) && p.rules[i].matches(t.Value, tags) {
				best = i
			}
		}
	}
	return best
}

// matches tells whether the rule holds for tags in which its key has this value.
func (r *Rule) matches(value string, tags osm.Tags) bool {
	if !oneOf(value, r.Values) {
		return false
	}
	for _, m := range r.Also {
		if !oneOf(tags.Find(m.Key), m.Values) {
			return false
		}
	}
	return true
}

// oneOf tells whether v is one of the values; of no values, whether v says anything
// but no.
func oneOf(v string, values []string) bool {
	if len(values) == 0 {
		return v != "" && v != "no"
	}
	return slices.Contains(values, v)
}
