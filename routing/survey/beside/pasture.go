package beside

import (
	"wideberth/exposure"
	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
)

// Where livestock may stand; all of it our assumption.
const (
	grazedM   = 50.0 // metres of an edge on grazed ground from which on it counts whatever its length
	stockEndM = 1.0  // how far a stile or grid may lie off the way that it stands on
)

// MarkPasture marks the edges on which livestock may be met, by class and ground, once
// the kinds of place are known: ways for feet and tracks in open country over meadows and
// pasture; tracks there whatever the ground, since few maps say; and any way out of town
// on which a stile, a kissing gate or a cattle grid stands, as these are there to hold
// livestock. Roads without such a grid are taken to be fenced.
func MarkPasture(x *osmdata.Extract, g *network.Graph, f *exposure.Field) {
	ground, s := newRaster(x.Frame), Sampler{G: g, Frame: x.Frame}
	for i := range x.Grounds {
		if x.Grounds[i].Grazed {
			ground.fill(x.Grounds[i].Area)
		}
	}
	grazed := ground.eye()
	for e := range int32(g.EdgeCount()) {
		if f.Place[e] != exposure.PlaceOpen || g.Class[e] < osmdata.Track || g.Flags[e]&osmdata.FlagPavement != 0 {
			continue
		}
		on, all := 0.0, 0.0
		for _, at := range s.Samples(e) {
			all += at.WeightM
			if grazed.contains(at.At) {
				on += at.WeightM
			}
		}
		if g.Class[e] == osmdata.Track || on >= min(grazedM, all/2)-tieM {
			f.Marks[e] |= exposure.Pasture
		}
	}
	for _, p := range x.StockEnds {
		markStockEnd(g, f, p)
	}
}

// markStockEnd marks the edges that a stile or grid stands on: one, or those that end at
// it.
func markStockEnd(g *network.Graph, f *exposure.Field, p plane.Point) {
	for _, e := range g.InBox(plane.Box{Min: p, Max: p}.Grown(stockEndM)) {
		if _, _, d := g.EdgeLine(e).Nearest(p); d > stockEndM {
			continue
		}
		switch f.Place[e] {
		case exposure.PlaceOpen, exposure.PlaceWoods, exposure.PlacePark:
			f.Marks[e] |= exposure.Pasture
		}
	}
}
