package main

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"

	"wideberth/api/wire"
	"wideberth/osmdata/fault"
	"wideberth/osmdata/plane"
	"wideberth/routing"
	"wideberth/routing/gazetteer"
)

// numbers is how a place in degrees looks, right or wrong.
var numbers = regexp.MustCompile(`^[-+\d.\s]+(,[-+\d.\s]*)*$`)

// mostNamed is how many places are named where a text may mean several.
const mostNamed = 4

// latLon reads LAT,LON, or finds the one place of the map that a text means.
func latLon(p *routing.Planner, field, text string) (wire.LatLon, fault.Problems) {
	if numbers.MatchString(text) {
		return degrees(field, text)
	}
	found := p.Snapshot().Names.Find(text, nil, 2*mostNamed)
	if mend := unclear(found, text); mend != "" {
		return wire.LatLon{}, fault.One("--"+field, text, mend)
	}
	return wire.NewLatLon(p.Frame(), found[0].At), nil
}

// unclear is what to do about a text that does not mean one place; "" if it does.
func unclear(found []gazetteer.Found, text string) string {
	if len(found) == 0 {
		return "nothing of that name is on this map; give a street with its number and town, or latitude and longitude in degrees, like 39.75,-75.56"
	}
	best := &found[0]
	names := make([]string, 0, mostNamed)
	for i := range found[:min(len(found), mostNamed)] {
		names = append(names, named(&found[i]))
	}
	whole := func(f *gazetteer.Found) bool { return strings.EqualFold(f.Name, strings.TrimSpace(text)) }
	switch {
	case best.Forgiven:
		return "nothing is spelt like that; near it come " + strings.Join(names, "; ")
	case best.Missing != "":
		return fmt.Sprintf("%s has no number %s on this map; leave the number out to begin at its middle", best.Name, best.Missing)
	case len(found) == 1, best.Kind == gazetteer.Door && found[1].Kind != gazetteer.Door, whole(best) && !whole(&found[1]):
		return ""
	}
	return "several places are called like that; say which: " + strings.Join(names, "; ")
}

// named is a place's name with its town.
func named(f *gazetteer.Found) string {
	if f.Town == "" || f.Town == f.Name {
		return f.Name
	}
	return f.Name + ", " + f.Town
}

func degrees(field, text string) (wire.LatLon, fault.Problems) {
	lat, lon, ok := strings.Cut(text, ",")
	la, err1 := strconv.ParseFloat(strings.TrimSpace(lat), 64)
	lo, err2 := strconv.ParseFloat(strings.TrimSpace(lon), 64)
	if !ok || err1 != nil || err2 != nil {
		return wire.LatLon{}, fault.One("--"+field, text, "give latitude and longitude in degrees, like 39.75,-75.56")
	}
	if !(la >= -90 && la <= 90) || !(lo >= -180 && lo <= 180) {
		return wire.LatLon{}, fault.One("--"+field, text, "latitude lies between -90 and 90, longitude between -180 and 180; latitude comes first")
	}
	return wire.LatLon{Lat: la, Lon: lo}, nil
}

// place is latLon on the plane of a map.
func place(p *routing.Planner, field, text string) (plane.Point, error) {
	at, wrong := latLon(p, field, text)
	if len(wrong) == 0 {
		wrong = exchanged(p, field, at)
	}
	return at.In(p.Frame()), wrong.Err()
}
