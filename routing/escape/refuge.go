package escape

import (
	"math"

	"wideberth/routing/reach"
	"wideberth/routing/search"
)

// Refuges: where on or near a leg one gets out of the way best.
const (
	briskMPS     = 1.6  // pace of a handler who makes room; comfortable gait is 1.3 to 1.5 m/s, fast above 1.7 (Bohannon 1997, Age and Ageing 26:15-19)
	refugeReachS = 60.0 // farther than that is no refuge
	sideStepMPS  = 1.0  // off the line, as in the exposure model
	moreRoom     = 1.2  // so many times the room is worth walking for
)

// Refuge is where one gets out of the way.
type Refuge struct {
	Seconds float64 // to get there at a brisk pace; NoneInReach where neither here nor within a minute there is enough or clearly more
	Where   string  // "left" or "right" of the way, or along it "ahead" or "back"; "" for either side or none
	RoomM   float64 // the room there, or here
}

// Refuges finds the refuges of a reach.
type Refuges struct {
	r      *reach.Reach
	router *search.Router
	brisk  []float32 // seconds on each arc
}

// NewRefuges makes a reach ready to look for refuges in.
func NewRefuges(r *reach.Reach) (*Refuges, error) {
	router, err := search.NewRouter(&r.Star)
	if err != nil {
		return nil, err
	}
	return &Refuges{r, router, r.TimesS(briskMPS)}, nil
}

// From gives the refuge of who stands half way along an arc and needs needM metres
// of room: here, if there is enough; else the soonest place with enough within a
// minute; else the place with the most room there, if that is clearly more than here.
func (f *Refuges) From(arc int32, needM float64, here Refuge) Refuge {
	if here.RoomM >= needM {
		return here
	}
	r := f.r
	half := float64(f.brisk[arc]) / 2
	ahead, back := r.Star.Head[arc], r.Star.Head[r.Star.Twin[arc]]
	tree, err := f.router.Reach([]search.Source{{Vertex: ahead, Offset: half}, {Vertex: back, Offset: half}}, f.brisk, search.Span{Cutoff: refugeReachS})
	if err != nil {
		return here // sources are vertices of the reach
	}
	defer tree.Release()
	best, bestS, bestRoom := Refuge{Seconds: NoneInReach, RoomM: here.RoomM}, math.Inf(1), here.RoomM
	for _, v := range tree.Settled {
		for a := r.Star.First[v]; a < r.Star.First[v+1]; a++ {
			room := r.Land.Snap.Field.RoomM(r.Piece[a].Edge)
			at := tree.Dist(v) + math.Min(room, needM)/sideStepMPS
			enough, better := room >= needM, room > bestRoom*moreRoom
			if (enough && (bestRoom < needM || at < bestS)) || (!enough && bestRoom < needM && better) {
				bestS, bestRoom = at, math.Min(room, needM)
				best = Refuge{at, whichWay(r, tree, v, ahead), room}
			}
		}
	}
	return best
}

// whichWay says whether the way to a vertex begins ahead or back.
func whichWay(r *reach.Reach, tree *search.Tree, v, ahead int32) string {
	for a := tree.Arc(v); a >= 0; a = tree.Arc(v) {
		v = r.Star.Head[r.Star.Twin[a]]
	}
	if v == ahead {
		return "ahead"
	}
	return "back"
}
