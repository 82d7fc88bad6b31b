package escape

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"wideberth/exposure"
	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
	"wideberth/routing/reach"
	"wideberth/routing/snapshot"
	"wideberth/routing/snapshot/maptest"
)

// crossing is a street of 300 m from the west that meets three of 120 m at right angles, with
// room of 3 m on the left and 7 m on the right of each, walked with its geometry.
func crossing(t testing.TB) (land *reach.Land, at func(x, y float64) plane.Point) {
	t.Helper()
	d := &maptest.Drawing{}
	d.Way("highway=residential", -300, 0, 0, 0, 120, 0)
	d.Way("highway=residential", 0, -120, 0, 0, 0, 120)
	s := d.Map(t)
	n := s.Graph.EdgeCount()
	s.Field = s.Field.WithLevels(nil)
	s.Field.Left, s.Field.Right = slices.Repeat([]exposure.Side{{LowM: 3, LeastM: 3}}, n), slices.Repeat([]exposure.Side{{LowM: 7, LeastM: 7}}, n)
	land, err := reach.NewLand(s, nil)
	if err != nil {
		t.Fatal(err)
	}
	return land, func(x, y float64) plane.Point { return maptest.On(s, x, y) }
}

func kessa() *exposure.Dog {
	d := maptest.Kessa()
	return &d
}

// netOf is the net about a place.
func netOf(t testing.TB, land *reach.Land, at plane.Point) *Net {
	t.Helper()
	n, _, err := netAt(land, at)
	if err != nil {
		t.Fatal(err)
	}
	return n
}

// TestForeseenAtACrossing: who comes from the east and is not known to turn parts at the
// crossing by weights of exp(2 cos turn): straight on e^2, to either side 1, so 0.787, 0.107
// and 0.107 (worked by hand); what comes at 2 m/s is where it can be by then.
func TestForeseenAtACrossing(t *testing.T) {
	land, at := crossing(t)
	n := netOf(t, land, at(-60, 0))
	threat := Threat{At: at(80, 0), SpeedMPS: 2, Kind: exposure.DogOnLead}
	all := n.foresee(threat, at(-60, 0))
	if len(all) != 3 {
		t.Fatalf("%d things that it may do", len(all))
	}
	e2 := math.Exp(2)
	for _, c := range []struct {
		to     plane.Point // after 60 s: 80 m to the crossing, 40 m on
		chance float64
	}{{at(-40, 0), e2 / (e2 + 2)}, {at(0, 40), 1 / (e2 + 2)}, {at(0, -40), 1 / (e2 + 2)}} {
		i := slices.IndexFunc(all, func(s scenario) bool { return s.At[60].DistanceM(c.to) < 0.5 })
		if i < 0 {
			t.Errorf("nothing leads to %v", c.to)
			continue
		}
		if math.Abs(all[i].Chance-c.chance) > 1e-3 {
			t.Errorf("to %v with a chance of %.4f, want %.4f", c.to, all[i].Chance, c.chance)
		}
		if d := all[i].At[20].DistanceM(at(40, 0)); d > 0.5 {
			t.Errorf("after 20 s it is %.1f m off", d)
		}
		// an arm of 120 m is walked to its end, where it stays; the street from the west is longer
		if d := all[i].At[wayOutHorizonS].DistanceM(all[i].At[wayOutHorizonS-1]); d > 0.01 != (c.to == at(-40, 0)) {
			t.Errorf("to %v: in the last second it goes %.2f m", c.to, d)
		}
	}
	// The likeliest comes first, whatever else there is.
	if all[0].Chance < all[1].Chance || all[0].Chance < all[2].Chance {
		t.Errorf("chances %g, %g, %g", all[0].Chance, all[1].Chance, all[2].Chance)
	}
	// One that stands stays.
	threat.SpeedMPS = 0
	if still := n.foresee(threat, at(-60, 0)); len(still) != 1 || still[0].Chance != 1 || still[0].At[0] != threat.At || still[0].At[120] != threat.At {
		t.Errorf("one that stands: %d things", len(still))
	}
	// Off all ways it comes straight, and through.
	off := Threat{At: at(100, 100), SpeedMPS: 1}
	straight := n.foresee(off, at(-60, 0))
	if len(straight) != 1 || straight[0].Chance != 1 {
		t.Fatalf("off the ways: %d things", len(straight))
	}
	toMe := at(-60, 0).Sub(off.At)
	for _, s := range []int{0, 60, 120} {
		want := off.At.Add(toMe.Mul(float64(s) / toMe.NormM()))
		if d := straight[0].At[s].DistanceM(want); d > 1e-6 {
			t.Errorf("after %d s it is %.2f m off the straight way", s, d)
		}
	}
	// At the end of a street it stays there.
	quick := n.foresee(Threat{At: at(100, 0), SpeedMPS: 6}, at(115, 0))
	for i := range quick {
		if d := quick[i].At[110].DistanceM(at(120, 0)); d > 0.5 {
			t.Errorf("from the street's end it goes on, %.1f m", d)
		}
	}
}

// TestScenarioAgainstSampling: where it is between two seconds, and the nearest of two who
// walk, by looking at every hundredth of a second.
func TestScenarioAgainstSampling(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 4))
	for range 60 {
		var c scenario
		for i := 1; i < len(c.At); i++ {
			c.At[i] = c.At[i-1].Add(plane.Point{X: 2 * rng.NormFloat64(), Y: 2 * rng.NormFloat64()})
		}
		for range 10 {
			s := rng.Float64() * wayOutHorizonS
			i := int(s)
			want := c.At[i].Mul(1 - s + float64(i))
			if s > float64(i) {
				want = want.Add(c.At[i+1].Mul(s - float64(i)))
			}
			if d := c.where(s).DistanceM(want); d > 1e-9 {
				t.Fatalf("after %g s it is %g m off", s, d)
			}
		}
		if c.where(wayOutHorizonS) != c.At[wayOutHorizonS] {
			t.Error("at the end it is elsewhere")
		}
		from, to := c.At[rng.IntN(100)].Add(plane.Point{X: 9, Y: 3}), c.At[rng.IntN(100)]
		fromS := rng.Float64() * 100
		toS := fromS + rng.Float64()*15
		least := math.Inf(1)
		for k := range 1501 {
			share := float64(k) / 1500
			least = math.Min(least, from.Add(to.Sub(from).Mul(share)).DistanceM(c.where(fromS+share*(toS-fromS))))
		}
		got := c.nearestM(from, to, fromS, toS)
		if got > least+1e-9 || got < least-0.06 {
			t.Fatalf("they come within %g m, looked at %g m", got, least)
		}
	}
}

// TestNetOfAReach: pieces of 10 m at most that make up each edge, arcs with twins, distances
// as by relaxing everything, and places by looking at all.
func TestNetOfAReach(t *testing.T) {
	land, err := reach.NewLand(maptest.Town(t), nil)
	if err != nil {
		t.Fatal(err)
	}
	door := maptest.Door(land.Snap.Frame)
	place, err := land.Place(door)
	if err != nil {
		t.Fatal(err)
	}
	r, err := land.Around(place, nil, 700)
	if err != nil {
		t.Fatal(err)
	}
	n := NewNet(land, r)
	long := map[int32]float64{}
	for v := range int32(len(n.At)) {
		for a := n.First[v]; a < n.First[v+1]; a++ {
			w, b := n.Head[a], n.Twin[a]
			if n.Twin[b] != a || n.Head[b] != v || n.Edge[a] != n.Edge[b] || n.With[a] == n.With[b] {
				t.Fatalf("arc %d and its twin %d do not fit", a, b)
			}
			d := n.At[v].DistanceM(n.At[w])
			run := math.Abs(float64(n.FromM[a] - n.FromM[b]))
			if d > StepM+1e-6 || run > StepM+1e-3 || d > run+0.01 {
				t.Fatalf("a piece of %.2f m on %.2f m of edge", d, run)
			}
			if n.With[a] {
				if n.FromM[a] > n.FromM[b] {
					t.Fatalf("walked with edge %d from %g to %g m", n.Edge[a], n.FromM[a], n.FromM[b])
				}
				long[n.Edge[a]] += run
				line := land.Snap.Graph.EdgeLine(n.Edge[a])
				if off := line.At(float64(n.FromM[a])).DistanceM(n.At[v]); off > 0.05 {
					t.Fatalf("a piece begins %.2f m off its edge", off)
				}
			}
		}
	}
	for _, e := range r.Edges {
		if whole := float64(land.Snap.Graph.LengthM[e]); math.Abs(long[e]-whole) > 0.01 {
			t.Errorf("pieces make %.2f m of %.2f m", long[e], whole)
		}
	}
	for v := range r.Home {
		if home := r.Home[v]; home >= 0 && n.At[v].DistanceM(land.Snap.Graph.Vertex[home]) > reach.JoinM {
			t.Errorf("vertex %d of the reach lies elsewhere on the net", v)
		}
	}
	to := n.At[len(n.At)/3]
	want := make([]float64, len(n.At))
	for v := range want {
		want[v] = math.Inf(1)
	}
	v, ok := n.nearest(to)
	if !ok {
		t.Fatal("a vertex is not near itself")
	}
	want[v] = 0
	for changed := true; changed; {
		changed = false
		for v := range int32(len(n.At)) {
			for a := n.First[v]; a < n.First[v+1]; a++ {
				if d := want[v] + n.At[v].DistanceM(n.At[n.Head[a]]); d < want[n.Head[a]]-1e-9 {
					want[n.Head[a]], changed = d, true
				}
			}
		}
	}
	for v, d := range n.distances(to) {
		if math.Abs(d-want[v]) > 1e-6 {
			t.Fatalf("vertex %d lies %.2f m off, want %.2f m", v, d, want[v])
		}
	}
	if _, ok := n.nearest(plane.Point{X: 1e6}); ok {
		t.Error("a place far off is near")
	}
}

// TestBackFromWhatStands: on a straight street with the trigger standing 25 m ahead the dog
// of 38 m has to go back 13 m: the first vertex of the net from there on does, at the pace.
func TestBackFromWhatStands(t *testing.T) {
	land, at := crossing(t)
	me := at(-150, 0)
	threat := Threat{At: at(-125, 0), Kind: exposure.DogOnLead}
	calm, brisk, err := WaysOut(land, me, threat, kessa())
	if err != nil {
		t.Fatal(err)
	}
	for _, o := range []WayOut{calm, brisk} {
		backM := me.DistanceM(o.Stand)
		if o.Means != GoBack || o.Turn != network.TurnBack || o.Aside != "" || backM < 13-0.01 || backM > 13+StepM || o.Stand.X >= me.X {
			t.Errorf("%+v", o)
		}
		// clear after 13 m, as far as one sees by looks of two seconds at most
		if o.Seconds < 13/o.PaceMPS-0.01 || o.Seconds > 13/o.PaceMPS+substepS || math.Abs(o.PresentM-25) > 0.1 || math.Abs(o.EndsM-25-backM) > 0.1 || o.Kept != 0.9 || math.Abs(o.NearestM-25) > 0.1 || o.Chance != 1 || o.Hidden {
			t.Errorf("%+v", o)
		}
	}
	if calm.PaceMPS != 1.2 || brisk.PaceMPS != 1.6 || brisk.Seconds >= calm.Seconds {
		t.Errorf("at %g m/s %g s, at %g m/s %g s", calm.PaceMPS, calm.Seconds, brisk.PaceMPS, brisk.Seconds)
	}
	// Far enough already: stay.
	threat.At = at(-111, 0)
	if calm, _, err = WaysOut(land, me, threat, kessa()); err != nil || calm.Means != Stay || calm.Seconds != 0 || len(calm.Line) != 1 || calm.Turn != network.TurnStraight {
		t.Errorf("39 m off: %+v, %v", calm, err)
	}
	// A kind that the dog is calm about is kept off as the farthest of those that it is not.
	e, err := escapeFrom(land, me, Threat{At: threat.At, Kind: exposure.Bells}, kessa())
	if err != nil || e.needM != 38 {
		t.Errorf("of a calm kind %g m are needed, %v", e.needM, err)
	}
	if e, _ = escapeFrom(land, me, Threat{At: threat.At, Kind: exposure.Child}, kessa()); e.needM != 25 {
		t.Errorf("of children %g m are needed", e.needM)
	}
	if _, _, err := WaysOut(land, plane.Point{X: 1e5}, threat, kessa()); err == nil {
		t.Error("off the map there is a way out")
	}
}

// TestTold: first moves as seen by who faces the threat to the east, and what a way rests
// on, worked by hand on squared paper.
func TestTold(t *testing.T) {
	line := func(xy ...float64) (l plane.Polyline) {
		for i := 0; i < len(xy); i += 2 {
			l = append(l, plane.Point{X: xy[i], Y: xy[i+1]})
		}
		return l
	}
	e := &flight{threat: Threat{At: plane.Point{X: 30}}}
	for _, c := range []struct {
		what   string
		line   plane.Polyline
		hidden bool
		turn   network.Turn
		means  Means
	}{
		{"nothing to walk", line(0, 0), false, network.TurnStraight, StepAside},
		{"straight back", line(0, 0, -20, 0), false, network.TurnBack, GoBack},
		{"straight back, hidden by a crest", line(0, 0, -20, 0), true, network.TurnBack, GoBack},
		{"back and round a corner", line(0, 0, -20, 0, -20, 20), true, network.TurnBack, SideStreet},
		{"back and round a corner, in sight", line(0, 0, -20, 0, -20, 20), false, network.TurnBack, GoBack},
		{"to the north", line(0, 0, 0, 20), false, network.TurnLeft, GoBack},
		{"to the north, hidden", line(0, 0, 0, 20), true, network.TurnLeft, SideStreet},
		{"to the south, hidden", line(0, 0, 0, -20), true, network.TurnRight, SideStreet},
		{"on", line(0, 0, 20, 0), false, network.TurnStraight, WalkOn},
		{"on, aslant", line(0, 0, 20, 19), false, network.TurnStraight, WalkOn},
		{"more than aslant", line(0, 0, 20, 22), false, network.TurnLeft, WalkOn},
		{"by 70 degrees", line(0, 0, 34, -94), false, network.TurnRight, GoBack},
		{"back, aslant", line(0, 0, -20, 19), false, network.TurnBack, GoBack},
	} {
		if turn, means := e.told(c.line, c.hidden); turn != c.turn || means != c.means {
			t.Errorf("%s: %v and %q, want %v and %q", c.what, turn, means, c.turn, c.means)
		}
	}
}

// TestMoveToByAngle: a move is ahead within 45 degrees of where one faces, back beyond 135,
// else left or right; at every degree and facing.
func TestMoveToByAngle(t *testing.T) {
	for facing := 0; facing < 360; facing += 30 {
		f := rotated(plane.Point{X: 1}, float64(facing)*math.Pi/180)
		if math.Abs(f.NormM()-1) > 1e-12 || math.Abs(math.Mod(math.Atan2(f.Y, f.X)*180/math.Pi+360, 360)-float64(facing)) > 1e-6 {
			t.Fatalf("turned by %d degrees it is %v", facing, f)
		}
		for deg := -179; deg <= 179; deg++ {
			if deg == 45 || deg == -45 || deg == 135 || deg == -135 {
				continue
			}
			want := MoveOn
			switch {
			case deg > 135 || deg < -135:
				want = MoveBack
			case deg > 45:
				want = MoveLeft
			case deg < -45:
				want = MoveRight
			}
			if got := moveTo(f, rotated(f, float64(deg)*math.Pi/180).Mul(7)); got != want {
				t.Errorf("facing %d degrees, %d degrees to the left is %q, want %q", facing, deg, got, want)
			}
		}
	}
}

// TestFirstSeen: a threat comes into sight on the walk ahead and behind, straight off to the
// sides, as far off as the dog's distance or the eye reaches, and never nearer than 6 m.
func TestFirstSeen(t *testing.T) {
	land, at := crossing(t)
	walk := plane.Polyline{at(-200, 0), at(0, 0), at(0, 200)}
	ahead := plane.Point{X: 1}
	for _, c := range []struct {
		what  string
		m     float64
		ahead plane.Point
		side  Side
		needM float64
		want  plane.Point
	}{
		{"ahead, on the walk", 100, ahead, SideAhead, 40, at(-60, 0)},
		{"ahead, round the corner", 180, ahead, SideAhead, 40, at(0, 20)},
		{"behind, on the walk", 100, ahead, SideBehind, 40, at(-140, 0)},
		{"behind, before its begin", 10, ahead, SideBehind, 40, at(-230, 0)},
		{"ahead, beyond its end", 390, plane.Point{Y: 1}, SideAhead, 40, at(0, 230)},
		{"left", 100, ahead, SideLeft, 40, at(-100, 40)},
		{"right", 100, ahead, SideRight, 40, at(-100, -40)},
		{"at most 100 m", 100, ahead, SideLeft, 300, at(-100, 100)},
		{"at least 12 m", 100, ahead, SideLeft, 3, at(-100, 12)},
	} {
		rad := 0.0
		for _, s := range turned {
			if s.side == c.side {
				rad = s.rad
			}
		}
		if got := firstSeen(land, walk, c.m, c.ahead, c.side, rad, c.needM); got.DistanceM(c.want) > 0.2 {
			t.Errorf("%s: %v, want %v", c.what, got, c.want)
		}
	}
	// A wall 22 m to the left: what is beyond is not seen; 20 m off it is, as looks go by 5 m.
	walled := *land.Snap
	walled.Ground = &snapshot.GroundPlan{Obstacles: []osmdata.Obstacle{{Kind: osmdata.Wall, Blocks: osmdata.BlocksView, Line: plane.Polyline{at(-300, 22), at(300, 22)}}}}
	blind := *land
	blind.Snap = &walled
	if got := firstSeen(&blind, walk, 100, ahead, SideLeft, math.Pi/2, 40); got.DistanceM(at(-100, 20)) > 0.2 {
		t.Errorf("before a wall it is seen at %v", got)
	}
	walled.Ground = &snapshot.GroundPlan{Obstacles: []osmdata.Obstacle{{Kind: osmdata.Wall, Blocks: osmdata.BlocksView, Line: plane.Polyline{at(-300, 4), at(300, 4)}}}}
	if got := firstSeen(&blind, walk, 100, ahead, SideLeft, math.Pi/2, 40); got.DistanceM(at(-100, 6)) > 0.2 {
		t.Errorf("beside a wall it is seen at %v", got)
	}
}

// TestDeeds: what to do about which kind, and in which order.
func TestDeeds(t *testing.T) {
	some := []Cover{{DistM: 5}}
	for _, c := range []struct {
		kind  exposure.Kind
		cover []Cover
		sideM float64
		want  []AidDeed
	}{
		{exposure.DogOffLead, some, 3, []AidDeed{FoodOnTheGround, SomethingBetween, CallOut}},
		{exposure.DogOffLead, nil, 3, []AidDeed{FoodOnTheGround, CallOut}},
		{exposure.DogOnLead, some, 3, nil}, {exposure.Adult, some, 3, nil}, {exposure.Bells, some, 3, nil},
		{exposure.Bicycle, some, 3, []AidDeed{StepOff}}, {exposure.Car, nil, 3, []AidDeed{StepOff}}, {exposure.BoardOrScooter, nil, -1, nil},
	} {
		if got := deedsFor(c.kind, &Aid{Cover: c.cover, SideM: c.sideM}); !slices.Equal(got, c.want) {
			t.Errorf("about a %s with %d things near and %g m aside: %v, want %v", c.kind, len(c.cover), c.sideM, got, c.want)
		}
	}
	for speed, want := range map[float64]bool{0: false, 0.5: true} {
		if got := (&Threat{Kind: exposure.DogOffLead, SpeedMPS: speed}).looseDog(); got != want {
			t.Errorf("a loose dog at %g m/s comes: %v", speed, got)
		}
	}
	if (&Threat{Kind: exposure.DogOnLead, SpeedMPS: 2}).looseDog() {
		t.Error("a dog on a lead is loose")
	}
}

// TestFirstMovesLeadAway: for ten seconds no way leads to within nine tenths of the present
// distance of the threat; after that it may.
func TestFirstMovesLeadAway(t *testing.T) {
	e := &flight{threat: Threat{At: plane.Point{X: 100}}, presentM: 100}
	for _, c := range []struct {
		toX, atS float64
		want     bool
	}{{5, 3, false}, {9.9, 3, false}, {10.1, 3, true}, {20, 10, true}, {20, 10.1, false}, {-50, 3, false}} {
		if got := e.closesIn(plane.Point{X: c.toX}, c.atS); got != c.want {
			t.Errorf("%g m towards it after %g s: %v", c.toX, c.atS, got)
		}
	}
}

// TestLabelsThatAreNoBetter: a partial way is dropped only where one that is there by then
// holds for all that this one holds for and is done with all that it is done with; or where
// seven are there already.
func TestLabelsThatAreNoBetter(t *testing.T) {
	held := escapeLabel{vertex: 0, atS: 5, alive: 0b011, done: 0b001}
	for _, c := range []struct {
		name string
		l    escapeLabel
		want bool
	}{
		{"the same", held, true},
		{"later, for less, done with less", escapeLabel{atS: 9, alive: 0b001}, true},
		{"sooner", escapeLabel{atS: 4, alive: 0b001}, false},
		{"for another scenario", escapeLabel{atS: 9, alive: 0b100}, false},
		{"done with more", escapeLabel{atS: 9, alive: 0b011, done: 0b011}, false},
	} {
		e := &flight{labels: []escapeLabel{held}, at: [][]int32{{0}}}
		if got := e.dominated(&c.l); got != c.want {
			t.Errorf("%s: %v", c.name, got)
		}
	}
	e := &flight{labels: []escapeLabel{held}, at: [][]int32{slices.Repeat([]int32{0}, labelsPerNode)}}
	if !e.dominated(&escapeLabel{atS: 1, alive: 0b111, done: 0b111}) {
		t.Error("an eighth label is taken")
	}
}

// TestLooseDogAlongAWalk: from a loose dog one goes to what can be put between, here a gate
// 12 m ahead of each place, only where that does not lead up to it: not where the dog comes
// from ahead.
func TestLooseDogAlongAWalk(t *testing.T) {
	land, at := crossing(t)
	s := *land.Snap
	own := *land
	own.Snap = &s
	walk := plane.Polyline{at(-300, 0), at(-100, 0)}
	s.Ground = &snapshot.GroundPlan{}
	for m := 0.0; m < 200; m += AlongStepM {
		s.Ground.Covers = append(s.Ground.Covers, snapshot.Cover{Kind: snapshot.Gate, At: at(-288+m, 0)})
	}
	got, err := WaysOutAlong(t.Context(), &own, walk, exposure.DogOffLead, kessa())
	if err != nil || len(got) != 4*5 {
		t.Fatalf("%d answers, %v", len(got), err)
	}
	for i := range got {
		o := &got[i]
		want := Between
		if o.Side == SideAhead {
			want = Stand
		}
		if o.Out.Means != want || len(o.Aid.Cover) != 1 || want == Between && math.Abs(o.Out.Stand.DistanceM(walk.At(o.AtM))-12) > 0.1 || want == Stand && o.First != MoveNone {
			t.Errorf("at %.0f m with it %s: %s, %s, cover %+v", o.AtM, o.Side, o.Out.Means, o.First, o.Aid.Cover)
		}
	}
}

// TestAtTheEndOfLongWays: who stands at the end of a lane of a kilometre, or where four such
// lanes meet, is where they stand, with the way along each of them, and turns back from what
// stands 40 m off.
func TestAtTheEndOfLongWays(t *testing.T) {
	d := &maptest.Drawing{}
	d.Way("highway=residential", -1000, 0, 0, 0, 1000, 0)
	d.Way("highway=residential", 0, -1000, 0, 0, 0, 1000)
	s := d.Map(t)
	land, err := reach.NewLand(s, nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		x, awayX float64
		arms     int32
	}{{-1000, -1040, 1}, {1000, 1040, 1}, {0, 40, 4}, {-500, -460, 2}} {
		at, threat := maptest.On(s, c.x, 0), maptest.On(s, c.awayX, 0)
		n, start, err := netAt(land, at)
		if err != nil || start.DistanceM(at) > 0.5 {
			t.Errorf("at %g: the net begins at %v, %v", c.x, start, err)
			continue
		}
		for v := range n.At {
			if arms := n.First[v+1] - n.First[v]; n.At[v] == start && arms != c.arms {
				t.Errorf("at %g: %d arms, want %d", c.x, arms, c.arms)
			}
		}
		_, brisk, err := WaysOut(land, at, Threat{At: threat, Kind: exposure.DogOnLead}, kessa())
		if err != nil || math.Abs(brisk.PresentM-40) > 0.5 || brisk.NearestM < 36 || brisk.Line[0].DistanceM(at) > 0.5 {
			t.Errorf("at %g: %+v, %v", c.x, brisk, err)
		}
	}
}
