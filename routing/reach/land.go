package reach

import (
	"context"
	"errors"
	"fmt"
	"math"
	"strconv"
	"sync"
	"sync/atomic"
	"time"

	"wideberth/exposure/hours"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
	"wideberth/routing/search"
	"wideberth/routing/search/loop"
	"wideberth/routing/snapshot"
)

// Land is a map made ready to be searched: what every search on it shares. Safe
// for concurrent use.
type Land struct {
	Snap   *snapshot.Snapshot
	Clock  *hours.Clock   // the time of the place
	Router *search.Router // over the whole network
	ArcM   []float32      // length in metres of each arc of the network
	found  *atomic.Int64  // searches for walks so far
	named  func() []int32 // numbers of the names of streets, in the order of foldedOrder
}

// loops are solvers with the memory that they have grown: as much as a neighbourhood takes,
// whatever the map, so that all maps lend from one heap of them.
var loops = sync.Pool{New: func() any { return loop.NewSolver() }}

// NewLand makes a map ready; calendar nil takes that of the country.
func NewLand(snap *snapshot.Snapshot, calendar *hours.Calendar) (*Land, error) {
	zone, err := time.LoadLocation(snap.Zone)
	if err != nil {
		return nil, err
	}
	if calendar == nil {
		calendar = hours.CalendarOf(snap.Country)
	}
	g := snap.Graph
	router, err := search.NewRouter(&g.Star)
	if err != nil {
		return nil, err
	}
	land := &Land{Snap: snap, Router: router, ArcM: make([]float32, g.Star.ArcCount())}
	for a, e := range g.ArcEdge {
		land.ArcM[a] = g.LengthM[e]
	}
	land.Clock = &hours.Clock{Loc: zone, Calendar: calendar, Lat: snap.Frame.Lat0, Lon: snap.Frame.Lon0, Country: snap.Country}
	if _, err := land.bind(snap.Counts); err != nil {
		return nil, err
	}
	land.found = new(atomic.Int64)
	land.named = sync.OnceValue(func() []int32 { return namesInOrder(g.Names) })
	return land, nil
}

// Bytes a vertex and an arc of the network that are derived from a map at opening, and
// scratch of a search over it.
const (
	vertexBytes = 64
	arcBytes    = 32
)

// Bytes is about how much memory is taken beside the map's file.
func (land *Land) Bytes() int64 {
	return int64(vertexBytes*len(land.Snap.Graph.Vertex) + arcBytes*len(land.ArcM))
}

// CountSearch notes that a walk is searched for; Searches tells how often that was,
// on this map and whatever was derived from it.
func (land *Land) CountSearch() { land.found.Add(1) }

// Searches is the number of searches for walks so far.
func (land *Land) Searches() int64 { return land.found.Load() }

// Solver lends a loop solver that ends with a context; done gives it back, with the
// memory it has grown. Where done itself is deferred and a panic is under way, the
// solver is dropped, as nobody knows what it holds then, and the panic goes on.
func (land *Land) Solver(ctx context.Context) (solver *loop.Solver, done func()) {
	solver = loops.Get().(*loop.Solver)
	solver.Until(ctx)
	return solver, func() {
		if damage := recover(); damage != nil {
			panic(damage)
		}
		solver.Until(context.Background())
		loops.Put(solver)
	}
}

// Shows says that a place in degrees lies on the map, or no farther beside it than some
// metres.
func (land *Land) Shows(lat, lon, besideM float64) bool {
	f := land.Snap.Frame // far off it has no metres worth their name
	return math.Abs(lat-f.Lat0) < framedDeg && math.Abs(lon-f.Lon0) < framedDeg && land.Snap.Bounds.Grown(besideM).DistanceM(f.Forward(lon, lat)) <= 0
}

// Exchanged asks about a place in degrees that lies off the map, and on it with its two
// numbers exchanged; "" where that is not so.
func (land *Land) Exchanged(lat, lon float64) string {
	if land.Shows(lat, lon, network.SnapLimitM) || !land.Shows(lon, lat, network.SnapLimitM) {
		return ""
	}
	return fmt.Sprintf("lies off this map, and on it with the two numbers exchanged: did you mean latitude %s, longitude %s?", degrees(lon), degrees(lat))
}

func degrees(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }

// framedDeg is how far from its origin, in degrees, a frame is asked.
const framedDeg = 45

// Place puts a point on the network. What lies off the map or too far from any
// way is an *Infeasible.
func (land *Land) Place(at plane.Point) (network.Place, error) {
	if out := land.Snap.Bounds.Grown(network.SnapLimitM).DistanceM(at); out > 0 {
		return network.Place{}, &Infeasible{Reason: OffTheMap, Field: "from", Short: out, Unit: "m"}
	}
	place, err := land.Snap.Graph.Snap(at, network.SnapLimitM)
	var far *network.TooFarError
	if errors.As(err, &far) {
		return place, &Infeasible{Reason: NoStreetNear, Field: "from", Short: far.DistM, Unit: "m"}
	}
	return place, err
}
