package routing

import (
	"math"

	"wideberth/exposure"
	"wideberth/routing/search"
)

// Refuges: where on or near a leg one gets out of the way best.
const (
	briskMPS     = 1.6  // pace of a handler who makes room; comfortable gait is 1.3 to 1.5 m/s, fast above 1.7 (Bohannon 1997, Age and Ageing 26:15-19)
	refugeReachS = 60.0 // farther than that is no refuge
	sideStepMPS  = 1.0  // off the line, as in the exposure model
)

// roomM is the room that a piece offers off its line: the better side.
func (p *Planner) roomM(edge int32) float64 {
	f := p.snap.Field
	return float64(max(f.Left[edge].LowM, f.Right[edge].LowM))
}

// refuges fills in, for every leg, how many seconds at a brisk pace it takes from
// its worst point to the nearest place with the room that the dog needs from what
// leads the walk; where no such place is within a minute, to the place with the
// most room there.
func (p *Planner) refuges(w *Wish, r *reach, walk *Walk, t *trace) {
	need := p.leadingNeed(walk, &w.Dog)
	router, err := search.NewRouter(&r.star)
	if err != nil {
		return // a reach without vertices has no legs either
	}
	brisk := make([]float32, len(r.piece))
	for a := range r.piece {
		brisk[a] = r.piece[a].lengthM / briskMPS * p.snap.Slopes.factor(&r.piece[a])
	}
	for i := range walk.Legs {
		p.refuge(&walk.Legs[i], r, router, brisk, t, need)
	}
}

// leadingNeed is the working distance for the kind that adds most to a walk.
func (p *Planner) leadingNeed(walk *Walk, dog *exposure.Dog) float64 {
	for _, k := range walk.Kinds {
		if n := dog.Need(k.Kind); n.WorkingM > 0 {
			return n.WorkingM
		}
	}
	return dog.FarthestM()
}

// refuge looks from the middle of a leg along the network for room.
func (p *Planner) refuge(l *Leg, r *reach, router *search.Router, brisk []float32, t *trace, need float64) {
	l.WayOutS, l.WayOutSide, l.WayOutRoomM = 0, l.Keep, max(l.RoomLeftM, l.RoomRightM)
	k := t.middle(l)
	if l.WayOutRoomM >= need || k < 0 {
		return
	}
	arc := t.arcs[k]
	half := float64(brisk[arc]) / 2
	ahead, back := r.star.Head[arc], r.star.Head[r.star.Twin[arc]]
	tree, err := router.Reach([]search.Source{{Vertex: ahead, Offset: half}, {Vertex: back, Offset: half}}, brisk, search.Span{Cutoff: refugeReachS})
	if err != nil {
		return // sources are vertices of the reach
	}
	defer tree.Release()
	best, bestRoom := math.Inf(1), l.WayOutRoomM
	for _, v := range tree.Settled {
		for a := r.star.First[v]; a < r.star.First[v+1]; a++ {
			room := p.roomM(r.piece[a].edge)
			at := tree.Dist(v) + math.Min(room, need)/sideStepMPS
			enough, better := room >= need, room > bestRoom*sideMargin
			if (enough && (bestRoom < need || at < best)) || (!enough && bestRoom < need && better) {
				best, bestRoom = at, math.Min(room, need)
				l.WayOutS, l.WayOutRoomM, l.WayOutSide = at, room, p.whichWay(r, tree, v, ahead)
			}
		}
	}
}

// whichWay says whether the way to a vertex begins ahead or back.
func (p *Planner) whichWay(r *reach, tree *search.Tree, v, ahead int32) string {
	for a := tree.Arc(v); a >= 0; a = tree.Arc(v) {
		v = r.star.Head[r.star.Twin[a]]
	}
	if v == ahead {
		return "ahead"
	}
	return "back"
}

// middle is the index of the arc that a walk is on half way through a leg.
func (t *trace) middle(l *Leg) int {
	at := l.StartS + l.DurationS/2
	for i := range t.arcs {
		if t.enterS[i] <= at && at <= t.enterS[i]+t.timeS[i] {
			return i
		}
	}
	return -1
}
