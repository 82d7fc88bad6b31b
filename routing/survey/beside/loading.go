package beside

import (
	"wideberth/exposure"
	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
)

// What makes a service road one on which lorries and cars come, load and turn, rather
// than an alley: all our assumption.
const (
	loadingM2    = 4000.0 // of ground under the building beside it: works, a warehouse, a large shop
	loadingM     = 25.0   // how far off its wall may stand
	loadingShare = 0.5    // of the road's length beside such buildings
)

// loadingUses are buildings that goods are brought to; most maps say no more than yes.
var loadingUses = map[string]bool{"yes": true, "industrial": true, "warehouse": true, "manufacture": true, "factory": true,
	"retail": true, "commercial": true, "supermarket": true, "hangar": true, "storage": true}

// MarkLoading marks the service roads without a name that lead along large buildings of
// works and shops. Those on ground where people live are their own.
func MarkLoading(x *osmdata.Extract, g *network.Graph, f *exposure.Field) {
	var walls []plane.Segment
	for i := range x.Buildings {
		b := &x.Buildings[i]
		if !loadingUses[b.Use] || b.Area.AreaM2() < loadingM2 {
			continue
		}
		ring := b.Area.Outer
		for k := range ring {
			walls = append(walls, plane.Segment{A: ring[k], B: ring[(k+1)%len(ring)], Mask: 1})
		}
	}
	if len(walls) == 0 {
		return
	}
	index, s := plane.NewIndex(walls, terrainCellM), Sampler{G: g, Frame: x.Frame}
	for e := range int32(g.EdgeCount()) {
		if g.Class[e] != osmdata.Service || f.Place[e] == exposure.PlaceResidential || g.Flags[e]&(osmdata.FlagSidewalk|osmdata.FlagPavement) != 0 {
			continue
		}
		beside, all := 0.0, 0.0
		for _, at := range s.Samples(e) {
			all += at.WeightM
			if _, near := index.Nearest(at.At, loadingM, 1); near && g.Parts[at.Part].Name == 0 {
				beside += at.WeightM
			}
		}
		if beside > loadingShare*all+tieM {
			f.Marks[e] |= exposure.Loading
		}
	}
}
