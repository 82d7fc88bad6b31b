package training

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"wideberth/exposure"
	"wideberth/exposure/hours"
	"wideberth/osmdata/fault"
	"wideberth/osmdata/plane"
	"wideberth/routing"
	"wideberth/routing/search"
)

// VantageWish asks for places to stand and watch triggers of some kinds from, at a
// chosen distance.
type VantageWish struct {
	From     plane.Point
	Dog      exposure.Dog
	Kinds    []exposure.Kind // to be watched
	Multiple float64         // distance wished, as a multiple of the working distance
	Nearest  float64         // nothing nearer is offered, as a multiple; 0 for no limit but the band's
	At       time.Time       // when one stands there
	StayS    float64         // how long, 0 for eight minutes
	ReachM   float64         // how far to walk there, 0 for 2,500 m
	Least    Grade           // of the ways out; "" for D from 1.5 times the working distance, B below
	Factors  *exposure.Factors
}

// Vantage is a place to stand and watch from.
type Vantage struct {
	At          plane.Point
	Edge        int32
	Street      string
	Watched     Watched
	DistM       float64     // to the nearest point of what is watched
	Multiple    float64     // that over the working distance
	Sees        plane.Point // the nearest point of it that is in sight
	SightShare  float64     // of the points looked at
	RoomM       float64     // away from it, off the line of the way
	RoomDefault bool
	Grade       Grade
	WaysOut     []plane.Polyline // two that share no edge, or one; the last may lead over open ground
	WaysOutBy   []string         // the street that each goes along the farthest, "" over open ground
	WalkM       float64          // from the start
	OffM        float64          // over open ground from the nearest way, 0 on a way
}

// Watched is what is watched: a source, or the ways that carry a kind.
type Watched struct {
	Name     string
	Sort     string // "dog_park", "road"
	Source   int32  // number in the field, -1 for ways
	At       plane.Point
	WorkingM float64 // of the dog, for the kinds that are watched there
}

// Grade says how well one gets away from a vantage place.
type Grade string

// The grades, best first. A way is never nearer than a share of the distance, and leads
// to where one is a working distance farther off; open ground is 25 m of it away from
// what is watched.
const (
	GradeA Grade = "A" // two ways that share no edge, nine tenths of the distance
	GradeB Grade = "B" // two that keep three quarters; one and open ground; or that over 60 degrees
	GradeC Grade = "C" // one way and 20 m of room beside, or open ground
	GradeD Grade = "D" // one way, nine tenths
)

// Rules of vantage places. Bands, shares and the 600 m come from a measured
// prototype; five to ten minutes at the place are common practice.
const (
	usualStayS      = 480.0
	usualReachM     = 2500.0
	mostReachM      = 5000.0
	bandShare       = 0.1 // a place does for a distance if it is so near to it
	leastMultiple   = 0.5
	mostMultiple    = 3.0
	leastSightShare = 0.3
	sustainedChance = 0.5      // somebody is there more likely than not,
	leastShowing    = math.Ln2 // and shows: one is likelier than none in a stay, else it is a chance meeting
	apartPlacesM    = 40.0     // places nearer to each other are one
	placesPerView   = 4        // told for each thing watched and each distance
	roomGradeM      = 20.0
	oneWayFrom      = 1.5 // one way out does from here on
)

// VantageSearch is what was found, and what was left at each sieve: the numbers
// to say why there is none.
type VantageSearch struct {
	Places   []Place
	Sieve    Sieve
	CutShort bool // the work that one search may do ended it: there may be more, farther off
}

// Place is a vantage place with what it shows at the hour asked for.
type Place struct {
	Vantage
	Showing
}

// Sieve counts what was left over.
type Sieve struct {
	Sources   int     // with the kinds, in reach
	Active    int     // of them where somebody is there then
	InBand    int     // places at the distance
	Standable int     // where one may stand
	InSight   int     // from where it is seen
	WithWays  int     // with ways out of the grade asked for
	Apart     int     // away from other sources
	NearestM  float64 // least distance at which a place sees something with ways out, 0 for none
	NearestAt string  // what is seen from there, and where
}

// Check says everything that is wrong with a wish, nil if nothing is.
func (w *VantageWish) check() error {
	var wrong fault.Problems
	bad := func(field string, value any, mend string) {
		wrong = append(wrong, fault.Problem{Pointer: "/" + field, Value: fmt.Sprint(value), Mend: mend})
	}
	if !(w.Multiple >= leastMultiple && w.Multiple <= mostMultiple) {
		bad("multiple", fault.Number(w.Multiple), "ask for 0.5 to 3 times the working distance")
	}
	if w.At.IsZero() {
		bad("at", "missing", "give a time with its zone, like 2026-11-25T17:20:00Z")
	}
	wrong = append(wrong, checkWatching(&w.Dog, w.Kinds, w.ReachM, w.StayS, w.Least)...)
	if len(wrong) > 0 {
		return wrong
	}
	return nil
}

// checkWatching checks what wishes for places and for sequences share.
func checkWatching(dog *exposure.Dog, kinds []exposure.Kind, reachM, stayS float64, least Grade) (wrong fault.Problems) {
	if !slices.ContainsFunc(kinds, func(k exposure.Kind) bool { return dog.Need(k).WorkingM > 0 }) {
		wrong = append(wrong, fault.Problem{Pointer: "/kind", Mend: "the dog has no working distance for it: name a kind or category that it reacts to"})
	}
	if !(reachM >= 0 && reachM <= mostReachM) {
		wrong = append(wrong, fault.Problem{Pointer: "/reach_m", Value: fault.Number(reachM), Mend: "give up to 5,000 m on foot"})
	}
	if stayS != 0 && !(stayS >= 60 && stayS <= 1800) {
		wrong = append(wrong, fault.Problem{Pointer: "/stay_minutes", Value: fault.Number(stayS / 60), Mend: "give 1 to 30 minutes; five to ten are common practice"})
	}
	if least != "" && !slices.Contains([]Grade{GradeA, GradeB, GradeC, GradeD}, least) {
		wrong = append(wrong, fault.Problem{Pointer: "/least_grade", Value: string(least), Mend: "use A, B, C or D"})
	}
	return wrong
}

// Vantages finds places from which triggers of some kinds are seen at the wished
// distance at an hour, best first. Faults of the wish are fault.Problems; that
// there is none is no error: Sieve says why.
func Vantages(ctx context.Context, p *routing.Planner, w VantageWish) (*VantageSearch, error) {
	if err := w.check(); err != nil {
		return nil, err
	}
	w.StayS, w.ReachM = cmp.Or(w.StayS, usualStayS), cmp.Or(w.ReachM, usualReachM)
	s, err := newScout(ctx, p, &w.Dog, w.Kinds, w.From, w.ReachM, w.Factors)
	if err != nil {
		return nil, err
	}
	defer s.walk.Release()
	out := &VantageSearch{}
	m := p.Land().Clock.At(w.At)
	s.band(math.Max(w.Nearest, w.Multiple*(1-bandShare)), w.Multiple*(1+bandShare))
	s.rankedAt = m
	views := s.views([]hours.Moment{m}, w.StayS, &out.Sieve)
	for _, v := range views {
		for _, c := range s.places(v, w.Least, &out.Sieve) {
			if show, ok := s.showing(v, &c, m, w.StayS); ok {
				out.Places = append(out.Places, Place{c, show})
				out.Sieve.Apart++
				out.Sieve.nearest(&c)
			}
		}
		if s.over() {
			break
		}
	}
	if out.CutShort, err = s.ended(); err != nil {
		return nil, err
	}
	slices.SortStableFunc(out.Places, func(a, b Place) int {
		return cmp.Or(cmp.Compare(a.Grade, b.Grade), cmp.Compare(a.OtherX, b.OtherX), cmp.Compare(a.WalkM, b.WalkM))
	})
	return out, nil
}

func (s *Sieve) nearest(c *Vantage) {
	if s.NearestM == 0 || c.DistM < s.NearestM {
		s.NearestM, s.NearestAt = c.DistM, c.Watched.Name+" from "+c.Street
	}
}

// scout looks for vantage places for one dog and kinds around one start.
type scout struct {
	*memo
	p        *routing.Planner
	dog      *exposure.Dog
	standing *exposure.Dog // the dog at rest: streams pass it, it meets nobody by walking
	kinds    []exposure.Kind
	from     plane.Point
	walk     *search.Tree // metres on foot from the start, by vertex of the network
	reachM   float64
	aisleM   float64 // within which lanes of a car park may be stood on: the car is left there
	fa       *exposure.Factors
	rankedAt hours.Moment // at which posts are ranked
	lo, hi   float64      // distances looked for, as multiples of the working distance
}

// memo is what the scouts of one search share: what they have worked out, and how much
// more work they may do.
type memo struct {
	work     *search.Work
	stop     error // why they look no further, nil while they do
	sources  []*view
	listed   bool   // sources is made
	areas    []area // the ground of the map
	off      offTerms
	activity map[activityKey]float64
	present  map[presentKey]float64
	learnt   map[termsKey][]exposure.Term
}

func newMemo(ctx context.Context) *memo {
	return &memo{work: search.NewWork(ctx, scoutWork), activity: map[activityKey]float64{}, present: map[presentKey]float64{}, learnt: map[termsKey][]exposure.Term{}}
}

type activityKey struct {
	source int32
	minute int64
}

type presentKey struct {
	activityKey
	kind exposure.Kind
}

type termsKey struct {
	edge   int32
	minute int64
}

// atRestMPS is the pace of a dog that stands; 0 would mean the default.
const atRestMPS = 0.01

// scoutWork is what one search for places may do. A usual one on a state does a
// hundredth of it, in half a second; all of it takes ten to twenty.
const scoutWork = 1_000_000_000

// spend counts steps of the search; false when it must end.
func (s *memo) spend(steps int) bool {
	if s.stop == nil {
		s.stop = s.work.Spend(steps)
	}
	return s.stop == nil
}

// over says that the search must end.
func (s *memo) over() bool { return s.stop != nil }

// ended says that the search was cut short as its work was done. The error is that
// of its context.
func (s *memo) ended() (cut bool, err error) {
	if errors.Is(s.stop, search.ErrWork) {
		return true, nil
	}
	return false, s.stop
}

// newScout measures the walk from a start; the caller releases its tree.
func newScout(ctx context.Context, p *routing.Planner, dog *exposure.Dog, kinds []exposure.Kind, from plane.Point, reachM float64, fa *exposure.Factors) (*scout, error) {
	rest := *dog
	rest.SpeedMPS = atRestMPS
	s := &scout{memo: newMemo(ctx), p: p, dog: dog, standing: &rest, kinds: kinds, fa: fa}
	if err := s.setOut(from, reachM); err != nil {
		return nil, err
	}
	return s, nil
}

// setOut moves a scout to a start, from which it goes so far on foot; where it cannot, it
// stays.
func (s *scout) setOut(from plane.Point, reachM float64) error {
	start, err := s.p.Land().Place(from)
	if err != nil {
		return err
	}
	walk, err := s.p.Land().Router.Reach(s.p.Land().Ends(start), s.p.Land().ArcM, search.Span{Cutoff: reachM})
	if err != nil {
		return err
	}
	if s.walk != nil {
		s.walk.Release()
	}
	s.from, s.reachM, s.walk = start.At, reachM, walk
	return nil
}

// band says at which multiples of the working distance places are looked for.
func (s *scout) band(lo, hi float64) { s.lo, s.hi = lo, hi }

// walkM is the way on foot to a place on an edge, +Inf out of reach.
func (s *scout) walkM(edge int32, alongM float64) float64 {
	g := s.p.Land().Snap.Graph
	a := g.EdgeArc[edge]
	tail, head := g.Star.Head[g.Star.Twin[a]], g.Star.Head[a]
	return math.Min(s.walk.Dist(tail)+alongM, s.walk.Dist(head)+float64(g.LengthM[edge])-alongM)
}
