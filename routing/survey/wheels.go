package survey

import (
	"context"
	"math"

	"wideberth/exposure"
	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
	"wideberth/routing/search"
	"wideberth/routing/survey/homes"
	"wideberth/routing/survey/trips"
)

// Trips by bicycle: a country's trips a person and day from homes to what draws
// them, by paths as riders choose them.
const (
	wheelZoneM     = 250.0 // as small as the fit to counts asks for: at 400 it is worse, at 200 no better
	roundTripShare = 0.12  // of the metres ridden: rides without a place to go to; our assumption
	bicycleShare   = exposure.BicyclesAmongWheels
	// People of large towns ride more: 15 % of trips in German metropolises, 6 % in
	// villages (MiD 2023), which is density to the power of ln(1.36/.55)/ln(2000/50).
	rideDensity  = 570.0 // dwellings a km2 at which the country's mean holds
	rideExponent = 0.25
	rideLeast    = 0.5
	rideMost     = 1.4
)

// What a metre costs a rider, by class, 1 for a residential street. Broach, Dill
// and Gliebe 2012 (Transportation Research A 46:1730-1740; 164 riders, 1,449
// trips; figures from memory): paths off the street 16 % less, streets of 10,000
// to 20,000 vehicles without a lane 37 % more, of 20,000 to 30,000 2.4 times; lanes
// offset the traffic. What they do not have is our assumption in their order.
var rideCost = [osmdata.ClassCount]float64{osmdata.ClassOther: 1.2, osmdata.Trunk: 2.4, osmdata.Primary: 1.3, osmdata.Secondary: 1.15,
	osmdata.Tertiary: 1.03, osmdata.Unclassified: 1, osmdata.Residential: 1, osmdata.LivingStreet: 1.1, osmdata.Service: 1.3,
	osmdata.Pedestrian: 1.5, osmdata.Track: 1.2, osmdata.Cycleway: .84, osmdata.Bridleway: 2, osmdata.Footway: 2, osmdata.Path: 2, osmdata.Steps: 10}

const (
	ridePath       = 0.95 // on paths and footways where bicycles are allowed
	rideTrack      = 0.84 // beside any road with a cycle track
	rideLane       = 1.0  // on any road with a lane
	rideUnpaved    = 1.3
	rideAgainst    = 4.0 // against one-way traffic (Hood, Sall and Charlton 2011, Transportation Letters 3:63-75; from memory)
	rideJunctionM  = 30.0
	rideThroughM   = 10.0 // at junctions along through streets and cycleways
	rideGentle     = 1.37 // climbing at 2 to 4 % (Broach et al. 2012, from memory)
	rideSteep      = 2.20 // at 4 to 6 %
	rideVerySteep  = 4.20 // beyond
	rideSlopeStepM = 90.0 // run over which a climb is taken: three cells of the height models
)

// wheels is the network that bicycles use.
type wheels struct {
	g      *network.Graph
	router *search.Router
	census *homes.Census
	sent   *trips.Sent
	flow   []float64 // wheel trips a day by edge
	gates  []trips.Gate
	frame  plane.Frame

	riddenM, residentsM float64 // a day, inside the map and by its people
}

// rides tells whether bicycles use a street at all.
func rides(s *osmdata.Street) bool {
	const never = osmdata.FlagNoBicycle | osmdata.FlagPavement
	return s.Flags&never == 0 && s.Class != osmdata.Motorway && (s.Foot || s.Motor || s.Flags&osmdata.FlagBicycle != 0)
}

// ridable is what can be ridden on, nil where that is nothing.
func ridable(x *osmdata.Extract) (*network.Graph, error) { return netOf(x, x.Barred, rides) }

// newWheels puts the homes on what can be ridden on; nil where that is nothing.
func newWheels(x *osmdata.Extract, g *network.Graph, h *homes.Homes) (*wheels, error) {
	if g == nil {
		return nil, nil
	}
	router, err := search.NewRouter(&g.Star)
	return &wheels{g: g, router: router, census: h.Settle(x, g), frame: x.Frame}, err
}

// costs are the generalised metres of each arc.
func (w *wheels) costs(rise func(plane.Polyline) (climb, drop float64)) []float32 {
	g := w.g
	out := make([]float32, g.Star.ArcCount())
	junction := w.junctions()
	for e := range int32(g.EdgeCount()) {
		tail, head := g.Ends(e)
		price := rideJunctionM
		if c := g.Class[e]; c >= osmdata.Primary && c <= osmdata.Tertiary || c == osmdata.Cycleway {
			price = rideThroughM
		}
		price *= (junction[tail] + junction[head]) / 2
		along, against := 0.0, 0.0
		for i := g.PartAt[e]; i < g.PartAt[e+1]; i++ {
			to := float64(g.LengthM[e])
			if i+1 < g.PartAt[e+1] {
				to = float64(g.Parts[i+1].FromM)
			}
			f, b := rideFactors(&g.Parts[i])
			along += f * (to - float64(g.Parts[i].FromM))
			against += b * (to - float64(g.Parts[i].FromM))
		}
		if rise != nil {
			up, down := rise(g.EdgeLine(e))
			along, against = along*up, against*down
		}
		a, scale := g.EdgeArc[e], w.frame.Scale(g.Vertex[tail])
		out[a], out[g.Star.Twin[a]] = float32(along/scale+price), float32(against/scale+price)
	}
	return out
}

// rideFactors is what a metre of a part costs, along the edge and against it.
func rideFactors(p *network.Part) (along, against float64) {
	f := rideCost[p.Class]
	road := p.Class >= osmdata.Trunk && p.Class <= osmdata.Service
	switch {
	case !road && p.Class != osmdata.Cycleway && p.Class != osmdata.Steps && p.Flags&osmdata.FlagBicycle != 0:
		f = min(f, ridePath)
	case road && p.Flags&osmdata.FlagCycleTrack != 0:
		f = min(f, rideTrack)
	case road && p.Flags&osmdata.FlagCycleLane != 0:
		f = min(f, rideLane)
	}
	if p.Flags&osmdata.FlagUnpaved != 0 {
		f *= rideUnpaved
	}
	along, against = f, f
	if p.Flags&osmdata.FlagOneWay != 0 && p.Flags&osmdata.FlagCycleBothWays == 0 {
		if p.Reverse() {
			along *= rideAgainst
		} else {
			against *= rideAgainst
		}
	}
	return along, against
}

// junctions is 1 at each vertex where three streets or cycleways meet, else 0:
// footpaths that join a street stop nobody on it.
func (w *wheels) junctions() []float64 {
	g := w.g
	out := make([]float64, len(g.Vertex))
	for v := range out {
		arms := 0
		for a := g.Star.First[v]; a < g.Star.First[v+1]; a++ {
			if c := g.Class[g.ArcEdge[a]]; c >= osmdata.Trunk && c <= osmdata.LivingStreet || c == osmdata.Cycleway {
				arms++
			}
		}
		if arms > 2 {
			out[v] = 1
		}
	}
	return out
}

// climbFactor is what a climb costs a rider; downhill nothing is gained.
func climbFactor(slope float64) float64 {
	switch {
	case slope > .06:
		return rideVerySteep
	case slope > .04:
		return rideSteep
	case slope > .02:
		return rideGentle
	}
	return 1
}

// riding is how much more or less than the country's mean people ride about a
// place.
func riding(perKM2 float64) float64 {
	return min(rideMost, max(rideLeast, math.Pow(perKM2/rideDensity, rideExponent)))
}

// ride assigns the trips by bicycle to their network.
func (a *assignment) ride(ctx context.Context, x *osmdata.Extract) error {
	w, err := newWheels(x, a.rides, a.riding)
	if w == nil || err != nil {
		return err
	}
	a.riders = w
	h := a.habits
	m := &trips.Gravity{G: w.g, Router: w.router, Costs: trips.Perturbed(w.g, w.costs(a.rise), trips.CostSets, a.seed), LambdaM: h.BicycleM / 2,
		Origin: make([]float64, len(w.g.Vertex)), ZoneM: wheelZoneM, Seed: a.seed, Workers: a.workers, Tick: a.tick}
	for v := range m.Origin {
		if n := w.census.Total(int32(v)); n > 0 {
			m.Origin[v] = n * h.BicycleTrips * h.Persons * riding(a.riding.DwellingsPerKM2(w.g.Vertex[v]))
		}
	}
	m.Pull, _ = a.pulls(x, w.g, w.census, byBicycle)
	m.Gates = a.openGates(w.g, m)
	w.gates = m.Gates
	if w.sent, err = m.Assign(ctx, a.riding.Earth); err != nil {
		return err
	}
	return a.roundTrips(ctx, m)
}

// openGates makes the gates of a network for an assignment.
func (a *assignment) openGates(g *network.Graph, m *trips.Gravity) []trips.Gate {
	gates, weight := findGates(g, a.riding.Border)
	if len(gates) == 0 {
		return nil
	}
	pull, origin := a.riding.Spread(g.Vertex, m.Pull), a.riding.Spread(g.Vertex, m.Origin)
	openGates(g, gates, weight, depthM(m, a.riding), a.riding.Border.PerimeterM(), pull.PerM2, origin.PerM2)
	return gates
}

// depthM gives how far off in metres of bee line pull falls to 1/e from a place: lambda
// by what a metre of the streets about it costs on average.
func depthM(m *trips.Gravity, h *homes.Homes) func(plane.Point) float64 {
	cost, metres := h.Spread(nil, nil), h.Spread(nil, nil)
	for a, e := range m.G.ArcEdge {
		if c := m.G.Class[e]; c >= osmdata.Primary && c <= osmdata.LivingStreet {
			at := m.G.EdgeLine(e).At(float64(m.G.LengthM[e]) / 2)
			cost.Add(at, float64(m.Costs[0][a]))
			metres.Add(at, float64(m.G.LengthM[e]))
		}
	}
	return func(at plane.Point) float64 {
		paid, _ := cost.Block(at)
		if long, _ := metres.Block(at); paid > 0 {
			return m.LambdaM / straightness * long / paid
		}
		return m.LambdaM / straightness
	}
}

// roundTrips adds the rides that lead nowhere and counts what is ridden.
func (a *assignment) roundTrips(ctx context.Context, m *trips.Gravity) error {
	w := a.riders
	residents := 0.0
	metres, weight := make([]float64, len(m.Origin)), make([]float64, w.g.EdgeCount())
	for v, n := range m.Origin {
		metres[v] = roundTripShare * n * a.habits.BicycleM
		residents += n * a.habits.BicycleM
	}
	for e := range weight {
		weight[e] = rolling[w.g.Class[e]]
		if c := w.g.Class[e]; (c == osmdata.Footway || c == osmdata.Path) && w.g.Flags[e]&osmdata.FlagBicycle != 0 {
			weight[e] *= allowedGain
		}
	}
	own := &ground{g: w.g, router: w.router, cost: make([]float32, w.g.Star.ArcCount())}
	for arc, e := range w.g.ArcEdge {
		own.cost[arc] = w.g.LengthM[e]
	}
	rounds, err := own.killedWalk(ctx, metres, weight, a.habits.BicycleM/2, a.workers)
	if err != nil {
		return err
	}
	ridden := 0.0
	w.flow = make([]float64, len(rounds))
	for e := range rounds {
		bicycles := (1-roundTripShare)*w.sent.Passes[e] + rounds[e]
		ridden += bicycles * float64(w.g.LengthM[e])
		w.flow[e] = bicycles / bicycleShare
	}
	w.riddenM, w.residentsM = ridden, residents
	a.flows[exposure.WheelTrips] = w.carry(a.ground.g)
	return nil
}

// carry brings the wheel trips to another graph of the same streets.
func (w *wheels) carry(g *network.Graph) []float64 {
	out, flows := make([]float64, g.EdgeCount()), newByWay(w.g, w.flow)
	for e, q := range flows.carryTo(g, func(*network.Part) float64 { return 0 }) {
		out[e] = q[0]
	}
	return out
}

// besides is the wheel trips by edge of the riders' own network on ways that a
// walkable one does not have, 0 on all others.
func (w *wheels) besides(walk *network.Graph) []float32 {
	walked, out := walk.WayParts(), make([]float32, w.g.EdgeCount())
	for e := range out {
		if from, to := walked.Of(w.g.Parts[w.g.PartAt[e]].Street); from == to {
			out[e] = float32(w.flow[e])
		}
	}
	return out
}
