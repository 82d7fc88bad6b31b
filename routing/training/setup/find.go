package setup

import (
	"cmp"
	"context"
	"errors"
	"math"
	"slices"
	"time"

	"wideberth/exposure"
	"wideberth/exposure/hours"
	"wideberth/osmdata/parallel"
	"wideberth/osmdata/plane"
	"wideberth/routing"
	"wideberth/routing/reach"
	"wideberth/routing/search"
	"wideberth/routing/yard"
)

// Setup is ground for a meeting, with its clock.
type Setup struct {
	Course
	Car    plane.Point
	Place  string // what the ground is called, or the street of the car
	DriveS float64
	X      float64 // expected reactions to everything else in 25 minutes at the nearest line
	Else   []Else  // what that comes from, most first
	Clock  *Clock
	Dark   bool    // the sun is not up all of the time
	LeastM float64 // between the ways of the two, whenever they walk
	score  float64
}

// nearest is the distance between two lines.
func nearest(a, b plane.Polyline) float64 {
	least := math.Inf(1)
	for _, p := range a {
		_, _, d := b.Nearest(p)
		least = math.Min(least, d)
	}
	for _, p := range b {
		_, _, d := a.Nearest(p)
		least = math.Min(least, d)
	}
	for i := 1; i < len(a); i++ {
		for j := 1; j < len(b); j++ {
			if cross(a[i-1], a[i], b[j-1], b[j]) {
				return 0
			}
		}
	}
	return least
}

// cross says that two straight pieces cross each other.
func cross(a, b, c, d plane.Point) bool {
	ab, cd := b.Sub(a), d.Sub(c)
	return ab.Cross(c.Sub(a))*ab.Cross(d.Sub(a)) < 0 && cd.Cross(a.Sub(c))*cd.Cross(b.Sub(c)) < 0
}

// Else is what else comes near.
type Else struct {
	Kind   exposure.Kind
	Source int32 // number in the field, -1 for what passes
	DistM  float64
	X      float64
}

// Found is what a search has found.
type Found struct {
	Setups   []Setup // best first
	InReach  int     // car parks with open ground within the drive
	Quiet    int     // of them where little enough else comes near
	LookedAt int     // whose ground was laid out
	Laid     int     // that have room for the lines
	LeastX   float64 // of those laid out, where all are over the limit; 0 if none were laid out
	WorkingM float64 // that counts as one, for this helper
	MaxX     float64 // that was allowed
	CutShort bool    // the work that it may do ended it: there may be more, farther off
}

// Bounds of a search, from a measured prototype.
const (
	firstSieve  = 2.5 // of the limit, at the car
	mostLooked  = 80
	enough      = 12
	batch       = 16
	apartM      = 500.0 // cars nearer to each other stand for one ground
	wayOffM     = 150.0 // a way so far from the line still counts
	mostElse    = 4
	driveWeight = 0.01 / 60 // expected reactions that a second of driving weighs (our assumption)
	wayWeight   = 0.001     // and a metre of the way in
	better      = 0.05      // and what a screen is worth
	toldX       = 0.05      // levels cannot tell less apart: then the drive decides
	atRestMPS   = 0.01
)

// Find looks for set-ups on ground that can be driven to: drive gives the seconds to a
// place, false where it is out of reach. Faults of the wish are fault.Problems; that
// there is none is no error.
func Find(ctx context.Context, p *routing.Planner, w Wish, drive func(at plane.Point) (seconds float64, ok bool)) (*Found, error) {
	if err := w.fill(); err != nil {
		return nil, err
	}
	f := &finder{land: p.Land(), w: &w, fa: w.Factors, m: p.Land().Clock.At(w.At), rest: w.Dog}
	f.rest.SpeedMPS = atRestMPS
	out := &Found{WorkingM: w.workingM(), MaxX: w.MaxX}
	if err := w.spend(sieveSteps * len(f.land.Snap.Yards)); err != nil {
		return out.cut(err)
	}
	list := f.sieve(drive, out)
	l := newLayer(f.land.Snap, &w)
	for begin := 0; begin < len(list) && len(out.Setups) < enough; begin += batch {
		some := list[begin:min(begin+batch, len(list))]
		if err := w.spend(layoutSteps * len(some)); err != nil {
			if _, err = out.cut(err); err != nil {
				return nil, err
			}
			break // what was found until then holds
		}
		laid := make([]*Setup, len(some))
		if err := parallel.For(ctx, len(some), func(i int) error {
			if c, ok := l.best(some[i].yard); ok {
				laid[i] = &Setup{Course: c, Car: some[i].yard.Car, DriveS: some[i].driveS}
			}
			return nil
		}); err != nil {
			return nil, err
		}
		out.LookedAt += len(some)
		for _, s := range laid {
			if s == nil {
				continue
			}
			out.Laid++
			f.measure(s)
			if s.X > w.MaxX {
				if out.LeastX == 0 || s.X < out.LeastX {
					out.LeastX = s.X
				}
				continue
			}
			out.Setups = append(out.Setups, *s)
		}
	}
	if len(out.Setups) > 0 {
		out.LeastX = 0
	}
	out.rank()
	for i := range out.Setups {
		s := &out.Setups[i]
		s.Place = f.placeOf(s)
		s.Clock = newClock(&s.Course, w.Modes)
		end := p.Land().Clock.At(w.At.Add(time.Duration(s.Clock.EndMin) * time.Minute))
		s.Dark = f.m.Light() != hours.Daylight || end.Light() != hours.Daylight
		s.LeastM = nearest(s.Clock.Dog.Walk.Line, s.Clock.Helper.Walk.Line)
	}
	return out, nil
}

// Steps of work of sieving a yard and of laying lines over one, in those of a search for
// places: 66 a microsecond, and 2 microseconds and 3 milliseconds as the prototype
// measured them.
const (
	sieveSteps  = 120
	layoutSteps = 200_000
)

// spend counts steps against the work of whoever asks.
func (w *Wish) spend(steps int) error {
	if w.Work == nil {
		return nil
	}
	return w.Work.Spend(steps)
}

// cut is what has been found where the search must end: short of work it holds, given up
// it is the error.
func (out *Found) cut(err error) (*Found, error) {
	if errors.Is(err, search.ErrWork) {
		out.CutShort = true
		return out, nil
	}
	return nil, err
}

// rank keeps the best set-ups, one for each ground.
func (out *Found) rank() {
	slices.SortStableFunc(out.Setups, func(a, b Setup) int { return cmp.Compare(a.score, b.score) })
	var kept []Setup
	for _, s := range out.Setups {
		if len(kept) < bestOf && !slices.ContainsFunc(kept, func(k Setup) bool { return k.Car.DistanceM(s.Car) < apartM }) {
			kept = append(kept, s)
		}
	}
	out.Setups = kept
}

type finder struct {
	land *reach.Land
	w    *Wish
	fa   *exposure.Factors
	m    hours.Moment
	rest exposure.Dog // the dog at rest
}

type reached struct {
	yard   *yard.Yard
	driveS float64
	order  float64
}

// sieve lists yards in reach where little comes near at the car, the most promising first.
func (f *finder) sieve(drive func(at plane.Point) (float64, bool), out *Found) (list []reached) {
	var edges []int32
	yards := f.land.Snap.Yards
	for i := range yards {
		y := &yards[i]
		if f.w.Car != nil && f.w.Car.DistanceM(y.Car) > sameCarM {
			continue
		}
		if slices.ContainsFunc(f.w.Struck, func(c reach.Circle) bool { return c.At.DistanceM(y.Car) <= c.RadiusM }) {
			continue
		}
		s, ok := drive(y.Car)
		if !ok {
			continue
		}
		place, near := f.land.Snap.Graph.Near(y.Car, carNearM)
		if !near {
			continue
		}
		out.InReach++
		list = append(list, reached{yard: y, driveS: s})
		edges = append(edges, place.Edge)
	}
	order := slices.Clone(edges)
	slices.Sort(order)
	order = slices.Compact(order)
	hazard := f.land.Snap.Field.Sums(&f.rest, order).Hazard(f.m, f.fa, nil)
	kept := list[:0]
	for i, r := range list {
		k, _ := slices.BinarySearch(order, edges[i])
		x := float64(hazard[k]) * usualMinutes * 60
		if x > firstSieve*f.w.MaxX {
			continue
		}
		r.order = x + r.driveS*driveWeight
		kept = append(kept, r)
	}
	out.Quiet = len(kept)
	slices.SortStableFunc(kept, func(a, b reached) int { return cmp.Compare(a.order, b.order) })
	return kept[:min(len(kept), mostLooked)]
}

// sameCarM is how far a place may lie from one that went out in degrees and came back.
const sameCarM = 1.0

// carNearM is how far from a way a car park may lie.
const carNearM = 80.0

// measure fills in what else comes near a set-up, and its score.
func (f *finder) measure(s *Setup) {
	near := s.Lines[len(s.Lines)-1].At
	for i := range 3 {
		if x, what := f.elseAt(near.At(near.LengthM() * float64(i) / 2)); x > s.X || s.Else == nil {
			s.X, s.Else = x, what
		}
	}
	s.score = math.Max(s.X, toldX) + s.DriveS*driveWeight + wayWeight*s.DogIn.LengthM()
	if s.Screen != nil {
		s.score -= better
	}
}

// elseAt is what comes near a place off the way in 25 minutes. The nearest way knows what
// passes on others and where somebody stays; what passes on the way itself is met as far
// off as the way lies.
func (f *finder) elseAt(at plane.Point) (x float64, what []Else) {
	place, near := f.land.Snap.Graph.Near(at, wayOffM)
	if !near {
		return 0, []Else{}
	}
	for _, t := range f.land.Snap.Field.Explain(place.Edge, &f.rest, f.m, f.fa) {
		hazard, dist := t.HazardPerS, t.DistM
		switch {
		case t.Own:
			dist = place.DistM
			hazard = t.RatePerS * f.rest.Need(t.Kind).P(dist)
		case t.Source >= 0:
			dist, _ = f.land.Snap.Field.Source(t.Source).Nearest(at)
			hazard *= share(f.rest.Need(t.Kind).P(dist), t.P)
		}
		if n := hazard * usualMinutes * 60; n > 0 {
			x += n
			what = append(what, Else{t.Kind, t.Source, dist, n})
		}
	}
	slices.SortStableFunc(what, func(a, b Else) int { return cmp.Compare(b.X, a.X) })
	return x, what[:min(len(what), mostElse)]
}

// share is how much of a hazard is left where the place is nearer or farther than the
// way that it was counted for.
func share(p, pWay float64) float64 {
	if pWay <= 0 {
		return 1
	}
	return math.Max(0, p/pWay)
}

// Public says that all lines lie in parks or on pitches.
func (c *Course) Public() bool { return c.Cell == yard.Public }

// placeOf is what the ground of a set-up is called: the smallest named area that its
// helper's place lies in, else the nearest street that has a name.
func (f *finder) placeOf(s *Setup) string {
	best, least := "", math.Inf(1)
	grounds := f.land.Snap.Ground.AllGrounds()
	for i := range grounds {
		a := &grounds[i]
		if a.Name == "" || !a.Area.Box().Contains(s.Course.Helper[0]) || !a.Area.Contains(s.Course.Helper[0]) {
			continue
		}
		if m := a.Area.AreaM2(); m < least {
			best, least = a.Name, m
		}
	}
	if best != "" {
		return best
	}
	g, nearest := f.land.Snap.Graph, streetNearM
	for _, e := range g.InBox(plane.Box{Min: s.Car, Max: s.Car}.Grown(streetNearM)) {
		name := g.Names[g.Parts[g.PartAt[e]].Name]
		if _, _, d := g.EdgeLine(e).Nearest(s.Car); name != "" && d < nearest {
			best, nearest = name, d
		}
	}
	return best
}

// streetNearM is how far the street may lie that a place is called by.
const streetNearM = 300.0
