package survey

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"
	"sync"

	"wideberth/exposure"
	"wideberth/exposure/hours"
	"wideberth/exposure/strain"
	"wideberth/osmdata"
	"wideberth/osmdata/elevation"
	"wideberth/osmdata/parallel"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
	"wideberth/routing/survey/beside"
	"wideberth/routing/survey/homes"
)

// Options say how to survey. The zero value is good.
type Options struct {
	Region   strain.Region                     // whose usual speeds hold where no limit is tagged
	Workers  int                               // goroutines; below 1 one per processor
	Progress func(stage string, share float64) // called from one goroutine at a time, may be nil
	Country  string                            // ISO 3166-1 code of the habits; "" for that of the place's time zone
	Heights  *elevation.Model                  // what riders climb; nil takes all ground as level
	Seed     uint64                            // another number draws other routes: to see what is luck

	// Of a part of a map: what is known of the whole, and which places are the part's own.
	// Only edges whose first vertex lies in the core are measured, the rows of others are
	// empty or good for nothing. nil takes the extract for the whole, and all of it.
	Whole *Whole
	Core  func(lonDeg, latDeg float64) bool
}

// Shares of a survey's time by stage, measured on a state-sized extract, so that
// progress tells the truth.
const (
	shareHomes  = 0.08
	shareFlows  = 0.40
	shareRoom   = 0.08
	shareSight  = 0.04
	shareNear   = 0.24
	shareLevel  = 0.08
	shareTouch  = 0.08
	trainsADay  = 20 // on a railway line, both directions; our assumption
	leastWeight = 0.02
)

// rolling is how much those who ride for the ride's sake like a street, 1 for a
// residential one; our assumption.
var rolling = [osmdata.ClassCount]float64{osmdata.ClassOther: .3, osmdata.Motorway: leastWeight, osmdata.Trunk: .1,
	osmdata.Primary: .4, osmdata.Secondary: .6, osmdata.Tertiary: 1, osmdata.Unclassified: 1, osmdata.Residential: 1,
	osmdata.LivingStreet: 1.1, osmdata.Service: .4, osmdata.Pedestrian: .6, osmdata.Track: .6, osmdata.Cycleway: 3,
	osmdata.Bridleway: .2, osmdata.Footway: .15, osmdata.Path: .3, osmdata.Steps: leastWeight}

// allowedGain multiplies the weight of paths on which bicycles are allowed.
const allowedGain = 4

// Survey computes the exposure field of a walkable network from the extract that
// it was built of: flows from homes, room, sight, streams nearby, sources in
// reach. The result is the same for any number of workers. The only error is the
// context's, or that of a network that does not hang together.
func Survey(ctx context.Context, x *osmdata.Extract, g *network.Graph, o Options) (*exposure.Field, error) {
	p := &progress{tell: o.Progress}
	a, t, err := assignAll(ctx, x, g, o, p)
	if err != nil {
		return nil, fmt.Errorf("survey: %w", err)
	}
	f := a.field(g)
	if err := measure(ctx, x, g, f, t, a, o, p); err != nil {
		return nil, fmt.Errorf("survey: %w", err)
	}
	err = parallel.For(ctx, 2, func(i int) error {
		if i == 0 {
			f.Roadside = roadside(x, g, f, t, a.bundles, o.Region, o.Whole.telling(x))
			return nil
		}
		beside.MarkGround(x, g, f)
		beside.MarkPasture(x, g, f)
		beside.MarkLoading(x, g, f)
		return nil
	})
	if err = cmp.Or(err, f.Check()); err != nil {
		return nil, fmt.Errorf("survey: %w", err)
	}
	return f, nil
}

// progress tells how far a survey is.
type progress struct {
	tell  func(string, float64)
	mu    sync.Mutex // guards what follows, and calls of tell
	stage string
	begun float64 // share of all at the stage's begin
	share float64 // of all that the stage takes
	done  float64 // units of the stage
	units float64
}

// begin starts a stage that takes a share of the whole, in units; begun runs on
// from the stage before.
func (p *progress) begin(stage string, share float64, units int) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.begun += p.share
	p.stage, p.share, p.done, p.units = stage, share, 0, float64(max(1, units))
	if p.tell != nil {
		p.tell(stage, p.begun)
	}
}

// tick counts units done.
func (p *progress) tick(n int) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.done += float64(n)
	if p.tell != nil {
		p.tell(p.stage, p.begun+p.share*min(1, p.done/p.units))
	}
}

// assignment is the flows of a network while they are made.
type assignment struct {
	ground  *ground
	census  *homes.Census
	homes   *homes.Homes
	riding  *homes.Homes // the same for riders, who ask beside walkers
	habits  exposure.Habits
	parks   []park
	shops   []int32                          // by edge
	few     []bool                           // by vertex: hardly anything but homes is mapped about it
	resort  []bool                           // by vertex: many stay the night about it
	flows   [exposure.PatternCount][]float64 // passes a day by edge
	totals  map[string]float64               //
	workers int                              //
	tick    func(int)                        //
	seed    uint64                           //
	rise    func(plane.Polyline) (float64, float64)
	bundles *bundles       // of pavements
	rides   *network.Graph // of bicycles, nil where nothing can be ridden on
	motor   *traffic       // nil where nothing is driven
	riders  *wheels        // nil where nothing can be ridden on
}

// assignAll makes all flows.
func assignAll(ctx context.Context, x *osmdata.Extract, g *network.Graph, o Options, p *progress) (*assignment, *traffic, error) {
	p.begin("finding homes", shareHomes, 1)
	habits, err := habitsOf(x, o.Country)
	if err != nil {
		return nil, nil, err
	}
	a := &assignment{totals: map[string]float64{}, workers: o.Workers, tick: p.tick, seed: o.Seed, habits: habits}
	var drives *network.Graph
	if err := parallel.For(ctx, 3, func(i int) (err error) {
		switch i {
		case 0:
			a.homes = homes.Find(x, habits.Persons, o.Whole.homes())
		case 1:
			drives, err = drivable(x)
		case 2:
			a.rides, err = ridable(x)
		}
		return err
	}); err != nil {
		return nil, nil, err
	}
	// Only one of the two asks the homes for squares and densities, which they remember.
	if err := parallel.For(ctx, 2, func(i int) (err error) {
		if i == 0 {
			a.motor, err = newTraffic(ctx, x, drives, a.homes, o.Seed, o.Workers)
			return err
		}
		a.census = a.homes.Settle(x, g)
		a.shops = shopsByEdge(x, g)
		if a.ground, err = newGround(g, x.Frame, beside.PlaceKinds(x, g, a.shops)); err == nil {
			a.parks = a.ground.findParks(x)
		}
		return err
	}); err != nil {
		return nil, nil, err
	}
	a.riding = a.homes.Apart()
	if o.Heights != nil {
		a.rise = riseOn(o.Heights, a.riding.Earth)
	}
	for i := range a.flows {
		a.flows[i] = make([]float64, g.EdgeCount())
	}
	p.begin("letting dogs and people walk", shareFlows, len(g.Vertex))
	if err := a.movers(ctx, x); err != nil {
		return nil, nil, err
	}
	a.count()
	return a, a.motor, ctx.Err()
}

// netOf is the network of an extract's streets of some use, cut at barred nodes, with all
// islands; nil where there are none.
func netOf(x *osmdata.Extract, barred osmdata.Barred, use func(*osmdata.Street) bool) (*network.Graph, error) {
	g, _, err := network.Build(x.Streets, barred, network.Options{Use: use, MinIslandM: math.Inf(-1), Frame: x.Frame})
	if errors.Is(err, network.ErrNoStreets) {
		return nil, nil
	}
	return g, err
}

// habitsOf are the habits of the country that was named or that the place lies in.
func habitsOf(x *osmdata.Extract, country string) (exposure.Habits, error) {
	if country == "" {
		zone, err := hours.Zone(x.Frame.Lat0, x.Frame.Lon0)
		if err != nil {
			return exposure.Habits{}, fmt.Errorf("find the country: %w", err)
		}
		country = hours.CountryOf(zone.String())
	}
	return exposure.HabitsOf(country), nil
}

// movers assigns everything that moves along the ways but motors: walkers and riders side
// by side, as some of either's work is one worker's.
func (a *assignment) movers(ctx context.Context, x *osmdata.Extract) error {
	return parallel.With(ctx, a.workers, 2, func() func(int) error {
		return func(i int) error {
			if i == 0 {
				return a.walk(ctx, x)
			}
			return a.ride(ctx, x)
		}
	})
}

// walk assigns everybody on foot.
func (a *assignment) walk(ctx context.Context, x *osmdata.Extract) error {
	g := a.ground.g
	a.bundles = findBundles(g) // first, as nobody may be left to run beside at the end
	if err := a.dogs(ctx, x); err != nil {
		return err
	}
	if err := a.people(ctx, x); err != nil {
		return err
	}
	for _, p := range [...]exposure.Pattern{exposure.DogWalks, exposure.WalkingTrips, exposure.SchoolTrips} {
		a.bundles.even(g, a.flows[p])
	}
	return nil
}

// shopsByEdge counts the shops, terraces and markets at each edge.
func shopsByEdge(x *osmdata.Extract, g *network.Graph) []int32 {
	const nearM = 40
	out := make([]int32, g.EdgeCount())
	for i := range x.Features {
		if !contains(shopSorts, x.Features[i].As) {
			continue
		}
		if place, err := g.Snap(x.Features[i].Point, nearM); err == nil {
			out[place.Edge]++
		}
	}
	return out
}

// count writes down totals and losses.
func (a *assignment) count() {
	c := a.totals
	for v := range a.census.Houses {
		c["dwellings in houses"] += a.census.Houses[v]
		c["dwellings in flats"] += a.census.Flats[v]
	}
	a.homes.Count(c)
	c["dwellings lost"] = a.homes.Lost + a.census.Lost
	if w := a.riders; w != nil {
		c["bicycle trips"], c["bicycle trips lost"] = w.sent.Trips, w.sent.Lost
		c["bicycle trips from outside"] = w.sent.Inward + w.sent.Through
		c["bicycle km"], c["bicycle km of residents"] = w.riddenM/1000, w.residentsM/1000
	}
	if a.motor != nil {
		c["vehicle trips lost"] = a.motor.lost
		for e, q := range a.motor.aadt {
			c["vehicle km"] += q * float64(a.motor.g.LengthM[e]) / 1000
		}
	}
}

// field begins the field with flows, kinds of place and marks.
func (a *assignment) field(g *network.Graph) *exposure.Field {
	f := &exposure.Field{Place: a.ground.place, Census: a.totals, Boards: float32(a.habits.BoardsPerBicycle())}
	for p := range f.OwnPerDay {
		f.OwnPerDay[p] = make([]float32, g.EdgeCount())
		for e, q := range a.flows[p] {
			f.OwnPerDay[p][e] = float32(q)
		}
	}
	if a.motor != nil {
		f.OwnPerDay[exposure.CarTraffic], f.OwnPerDay[exposure.HeavyTraffic] = a.motor.carry(g)
	}
	f.Marks = make([]exposure.Mark, g.EdgeCount())
	a.markCut(g, f.Marks)
	a.markResorts(g, f.Marks)
	for e := range f.Marks {
		tail, head := g.Ends(int32(e))
		if a.few[tail] && a.few[head] && a.shops[e] < beside.CentreShops {
			f.Marks[e] |= exposure.FewPlaces
		}
		if !a.homes.Mapped(g.EdgeLine(int32(e)).At(float64(g.LengthM[e]) / 2)) {
			f.Marks[e] |= exposure.HomesFromStreets
		}
		if moving := f.OwnPerDay[exposure.CarTraffic][e] + f.OwnPerDay[exposure.HeavyTraffic][e]; beside.MayCross(g.Class[e]) && moving < beside.MovingPerDay {
			f.Marks[e] |= exposure.MayCross
		}
	}
	return f
}

// measure fills in what the ground gives and takes: room, sight, streams on other
// ways, sources in reach.
func measure(ctx context.Context, x *osmdata.Extract, g *network.Graph, f *exposure.Field, motor *traffic, a *assignment, o Options, p *progress) (err error) {
	n, workers := g.EdgeCount(), o.Workers
	t := beside.NewTerrain(x, motor.driven())
	t.Measured = inCore(x, g, o.Core)
	var streams *beside.Streams
	err = parallel.For(ctx, 2, func(i int) (err error) {
		if i == 0 { // what the next stage looks at
			streams = allStreams(x, g, f, motor, a.riders)
			return nil
		}
		p.begin("measuring room", shareRoom, n)
		if f.Left, f.Right, err = beside.Room(ctx, g, t, f.Marks, workers, p.tick); err != nil {
			return err
		}
		p.begin("looking ahead", shareSight, n)
		f.SightFwdM, f.SightBackM, err = beside.Sight(ctx, g, t, workers, p.tick)
		return err
	})
	if err != nil {
		return err
	}
	p.begin("looking to other ways", shareNear, n)
	if f.Near, err = beside.Near(ctx, g, t, streams, workers, p.tick); err != nil {
		return err
	}
	gardens := a.homes.Gardens(x, a.habits.DogHomes)
	for _, n := range gardens.Dogs {
		f.Census["dogs behind garden fences"] += n
	}
	if f.Near[exposure.GardenDogs], err = beside.Gardens(ctx, g, t, gardens.At, gardens.Dogs, workers, nil); err != nil {
		return err
	}
	p.begin("listening to the roads", shareLevel, n)
	if f.LevelDB, err = levels(ctx, g, t, motor, workers, p.tick); err != nil {
		return err
	}
	p.begin("finding sources", shareTouch, n)
	f.Sources = beside.Sources(x)
	f.TouchAt, f.Touches, err = beside.Touches(ctx, g, t, f.Sources, workers, p.tick)
	return err
}

// inCore tells by edge whether its first vertex lies in the core; nil where all do.
func inCore(x *osmdata.Extract, g *network.Graph, core func(lonDeg, latDeg float64) bool) []bool {
	if core == nil {
		return nil
	}
	earth, out := plane.NewEarth(x.Frame), make([]bool, g.EdgeCount())
	for e := range out {
		tail, _ := g.Ends(int32(e))
		out[e] = core(earth.Degrees(g.Vertex[tail]))
	}
	return out
}

// allStreams is everything that moves: walkers and wheels on the walkable network,
// motors on theirs, wheels on ways that nobody walks, trains.
func allStreams(x *osmdata.Extract, g *network.Graph, f *exposure.Field, motor *traffic, riders *wheels) *beside.Streams {
	s := &beside.Streams{}
	walking := f.OwnPerDay
	walking[exposure.CarTraffic], walking[exposure.HeavyTraffic] = nil, nil
	s.AddNetwork(g, true, walking)
	if motor != nil {
		var driven [exposure.PatternCount][]float32
		driven[exposure.CarTraffic], driven[exposure.HeavyTraffic] = motor.carry(motor.g)
		s.AddNetwork(motor.g, false, driven)
	}
	if riders != nil {
		var ridden [exposure.PatternCount][]float32
		ridden[exposure.WheelTrips] = riders.besides(g)
		s.AddNetwork(riders.g, false, ridden)
	}
	for _, l := range x.Rails {
		s.AddRail(l, trainsADay)
	}
	s.Seal()
	return s
}
