// Package gazetteer knows what the places of a map are called: its quarters, streets and
// doors, by a part of their names and by where they are.
package gazetteer

import (
	"cmp"
	"slices"
	"strings"

	"wideberth/osmdata/plane"
	"wideberth/routing/network"
	"wideberth/routing/snapshot"
)

const (
	mostPlaces  = 8
	nameWithinM = 60 // a place this near an address is called by it
)

// Ranks of places, of which the first comes first.
const (
	quarters = iota
	streets
	doors
)

// Gazetteer lists what places of a map are called. Not changed once made; may be shared.
type Gazetteer struct {
	graph   *network.Graph
	entries []entry
}

// Place is somewhere with a name.
type Place struct {
	Name string
	At   plane.Point
}

type entry struct {
	Place
	folded string
	rank   uint8 // quarters before streets before doors
}

// New lists the quarters, streets and doors of a map.
func New(snap *snapshot.Snapshot) *Gazetteer {
	g := Gazetteer{graph: snap.Graph}
	for _, p := range snap.Ground.Places {
		g.add(p.Name, p.At, quarters)
	}
	longest := make([]float64, len(snap.Graph.Names))
	middle := make([]plane.Point, len(snap.Graph.Names))
	for e := range int32(snap.Graph.EdgeCount()) {
		name := snap.Graph.Parts[snap.Graph.PartAt[e]].Name
		if l := float64(snap.Graph.LengthM[e]); name != 0 && l > longest[name] {
			longest[name], middle[name] = l, snap.Graph.EdgeLine(e).At(l/2)
		}
	}
	for i, name := range snap.Graph.Names {
		if longest[i] > 0 {
			g.add(name, middle[i], streets)
		}
	}
	for _, a := range snap.Ground.Addresses {
		if a.Street != "" && a.Number != "" {
			g.add(a.Street+" "+a.Number, a.At, doors)
		}
	}
	return &g
}

func (g *Gazetteer) add(name string, at plane.Point, rank uint8) {
	g.entries = append(g.entries, entry{Place{name, at}, strings.ToLower(name), rank})
}

// Find gives the places whose names begin with a text first, then those that hold it;
// at most eight.
func (g *Gazetteer) Find(text string) (out []Place) {
	text = strings.ToLower(strings.Join(strings.Fields(text), " "))
	if text == "" {
		return nil
	}
	var first, second []entry
	for _, e := range g.entries {
		switch at := strings.Index(e.folded, text); {
		case at == 0:
			first = append(first, e)
		case at > 0:
			second = append(second, e)
		}
	}
	byRank := func(a, b entry) int {
		return cmp.Or(cmp.Compare(len(a.Name), len(b.Name)), cmp.Compare(a.rank, b.rank), cmp.Compare(a.Name, b.Name))
	}
	slices.SortFunc(first, byRank)
	slices.SortFunc(second, byRank)
	found := append(first, second...)
	for _, e := range found[:min(len(found), mostPlaces)] {
		out = append(out, e.Place)
	}
	return out
}

// Called is what a place is called: by the door next to it or, where none is near, by its
// street; false where neither has a name.
func (g *Gazetteer) Called(at plane.Point) (name string, ok bool) {
	bestM := 0.0
	for _, e := range g.entries {
		if e.rank != doors {
			continue
		}
		if d := e.At.DistanceM(at); d < nameWithinM && (!ok || d < bestM) {
			name, bestM, ok = e.Name, d, true
		}
	}
	if ok {
		return name, true
	}
	place, err := g.graph.Snap(at, nameWithinM)
	if err != nil {
		return "", false
	}
	name = g.graph.Names[g.graph.Parts[g.graph.PartAt[place.Edge]].Name]
	return name, name != ""
}
