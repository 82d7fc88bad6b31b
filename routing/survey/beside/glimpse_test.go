package beside

import (
	"math"
	"slices"
	"testing"

	"wideberth/exposure"
	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
	"wideberth/routing/survey/sketch"
)

// glimpsed is what one edge has of a pattern but for those who pass straight on: the
// number of parties on the whole edge and the mean distance.
func glimpsed(g *network.Graph, x *osmdata.Extract, st *Streams, e int32, p exposure.Pattern) (parties, meanM float64) {
	n := newNearer(g, NewTerrain(x, nil), st)
	for i := range st.strips {
		n.found = append(n.found, int32(i))
	}
	n.reach(e)
	run := n.s.Samples(e)
	n.wall(samplesBox(run).Grown(NearM))
	n.turn(e, samplesBox(run).Grown(glimpseM))
	n.link()
	for i := 0; i < len(run); i += 2 {
		n.look(run[i].At)
		n.glimpses(&run[i], glimpsedM(run, i))
	}
	for b := range exposure.BinCount {
		r, d := n.bins[p].In(b)
		parties += r / walker
		meanM += r / walker * d
	}
	return parties, meanM / parties
}

// A T some way beyond the walker's path, with a flow on its stem: parties come down
// the stem towards the walker and leave along the bar, square to the line of sight.
// A walker who walks at the T still comes nearer to them, so nobody is nearest at
// the T; for one who walks away from it everybody is.
func TestTurnOffByHand(t *testing.T) {
	k := sketch.New()
	path := k.Street(osmdata.Path, sketch.Line(0, 0, 40, 0))
	stem := k.Street(osmdata.Path, sketch.Line(80, 0, 700, 0))
	k.Street(osmdata.Path, sketch.Line(80, 0, 80, 600))
	k.Street(osmdata.Path, sketch.Line(80, 0, 80, -600))
	g := k.Net(t)
	q := onStreet(g, stem, exposure.WheelTrips, perDay60)
	for e := range q[exposure.WheelTrips] {
		q[exposure.WheelTrips][e] = max(q[exposure.WheelTrips][e], 1e-9) // every arm is known by its flow
	}
	st := &Streams{}
	st.AddNetwork(g, true, q)
	st.Seal()
	for _, c := range []struct {
		name string
		dirX float64
		want float64
	}{
		{"walking at the T", 1, 0},
		{"walking away from it", -1, 40 / walker * perDay60 / 2 / 3600}, // all who come down the stem meanwhile
	} {
		n := newNearer(g, NewTerrain(&k.X, nil), st)
		for _, s := range n.s.Samples(sketch.EdgeOf(t, g, path)) {
			s.dir = plane.Point{X: c.dirX}
			for i := range st.joint {
				n.look(s.At)
				n.turnOff(&s, &st.joint[i], s.WeightM)
			}
		}
		sum := 0.0
		for b := range exposure.BinCount {
			r, _ := n.bins[exposure.WheelTrips].In(b)
			sum += r / walker
		}
		if math.Abs(sum-c.want) > 1e-6 {
			t.Errorf("%s: %v parties turn off, want %v", c.name, sum, c.want)
		}
	}
}

// All who come to a joint go on somewhere.
func TestEverybodyGoesOn(t *testing.T) {
	k := sketch.New()
	for i := range 7 {
		s, c := math.Sincos(float64(i) * 1.1)
		k.Street(osmdata.Path, sketch.Line(0, 0, 100*c, 100*s))
		k.Street(osmdata.Path, sketch.Line(100*c, 100*s, 150*c, 150*s+40, 200*c, 200*s))
	}
	g := k.Net(t)
	st := &Streams{}
	st.AddNetwork(g, true, [exposure.PatternCount][]float32{exposure.DogWalks: even(g.EdgeCount(), 3)})
	st.Seal()
	most := 0
	for i := range st.joint {
		j := &st.joint[i]
		most = max(most, len(j.ways))
		straight := j.away(len(j.ways)-1, true)
		if len(j.ways) > 1 && math.Abs(straight-1) > 1e-12 {
			t.Errorf("of those who come by one of %d ways, %v go on", len(j.ways), straight)
		}
		if rest := j.away(max(0, len(j.ways)-2), false); len(j.ways) > 2 && math.Abs(rest+straightOn-1) > 1e-12 {
			t.Errorf("of those who come by one of %d ways, %v turn off", len(j.ways), rest)
		}
	}
	if most != 7 {
		t.Errorf("at most %d ways at a joint", most)
	}
}

// A street that walkers and motors have networks of is one way at each joint, and where
// its tags change it goes straight on: nobody turns there, wherever rounding cuts it.
func TestStreetInTwoNetworks(t *testing.T) {
	k := sketch.New()
	k.Street(osmdata.Residential, sketch.Line(-300.3, 1, 0.1, 2.7, 100.2, 3.1))
	k.Street(osmdata.Tertiary, sketch.Line(100.2, 3.1, 333.3, 5.2, 471.9, 5.9)) // on the same edge
	k.Street(osmdata.Residential, sketch.Line(471.9, 5.9, 600, 6))
	k.Street(osmdata.Residential, sketch.Line(471.9, 5.9, 471, 200))
	g := k.Net(t)
	st := &Streams{}
	for _, own := range []bool{true, false} {
		st.AddNetwork(g, own, [exposure.PatternCount][]float32{exposure.WheelTrips: even(g.EdgeCount(), 3)})
	}
	st.Seal()
	crossing := 0
	for i := range st.joint {
		j := &st.joint[i]
		switch {
		case len(j.ways) == 3:
			crossing++
		case len(j.ways) == 1: // the end of a street
		default:
			if len(j.ways) != 2 || j.ways[0].out.Dot(j.ways[1].out) > -.999 {
				t.Errorf("at %v there are %d ways: %v", j.at, len(j.ways), j.ways)
			}
		}
	}
	if crossing != 1 {
		t.Errorf("%d crossings of three streets", crossing)
	}
}

// A line is cut at its nodes where they are a hair away, and between them elsewhere.
func TestCutAtNodes(t *testing.T) {
	l := sketch.Line(0, 0, 10, 0, 10, 10, 30, 10)
	for _, c := range []struct {
		from, to float64
		want     plane.Polyline
	}{
		{0, 10.004, l[:2]}, {9.996, 20, l[1:3]}, {10, math.Inf(1), l[1:]}, {20.001, 40, l[2:]}, {0, math.Inf(1), l},
		{5, 25, sketch.Line(5, 0, 10, 0, 10, 10, 15, 10)},
	} {
		if got := cutAtNodes(l, c.from, c.to); !slices.Equal(got, c.want) {
			t.Errorf("from %g to %g: %v, want %v", c.from, c.to, got, c.want)
		}
	}
}

// Parties on a street behind houses, followed one by one: of those who come into
// Sight or go out of it, count the ones that are nearest just then, once each. The
// count knows positions and walls and no rate.
func TestShadowsAgainstMovingParties(t *testing.T) {
	for _, c := range []struct {
		name   string
		walls  []plane.Polyline
		street plane.Polyline
		p      exposure.Pattern
	}{
		{"a cross street between walls", []plane.Polyline{sketch.Line(-300, 8, 90, 8, 90, 250), sketch.Line(500, 8, 110, 8, 110, 250),
			sketch.Line(-300, -8, 90, -8, 90, -250), sketch.Line(500, -8, 110, -8, 110, -250)}, sketch.Line(100, -240, 100, 240), exposure.WalkingTrips},
		{"wheels behind a gap", []plane.Polyline{sketch.Line(-200, 15, 60, 15), sketch.Line(140, 15, 400, 15)}, sketch.Line(-700, 60, 900, 60), exposure.WheelTrips},
		{"a street askew behind a house", []plane.Polyline{sketch.Line(30, 12, 170, 12)}, sketch.Line(-200, 20, 400, 90), exposure.WalkingTrips},
		{"a gap before a street behind", []plane.Polyline{sketch.Line(-200, 15, 80, 15), sketch.Line(120, 15, 400, 15)}, sketch.Line(-300, 60, 500, 60), exposure.WalkingTrips},
		{"a long house before a street behind", []plane.Polyline{sketch.Line(20, 12, 180, 12)}, sketch.Line(-300, 40, 500, 40), exposure.WalkingTrips},
	} {
		var got, d float64
		var k *sketch.Map
		const offsets = 40 // of the samples: a narrow mouth may lie between two
		for i := range offsets {
			k = sketch.New()
			path := k.Street(osmdata.Path, sketch.Line(-.5*float64(i), 0, 200, 0))
			street := k.Street(osmdata.Path, c.street)
			for _, l := range c.walls {
				k.Wall(l)
			}
			g := k.Net(t)
			st := &Streams{}
			st.AddNetwork(g, true, onStreet(g, street, c.p, perDay60))
			st.Seal()
			n, m := glimpsed(g, &k.X, st, sketch.EdgeOf(t, g, path), c.p)
			if n > 0 {
				got, d = got+n/offsets, d+n*m/offsets
			}
		}
		d /= got
		want, dWant := nearestAtTheEdge(NewTerrain(&k.X, nil), c.street, c.p.SpeedMPS())
		t.Logf("%s: %.4f parties at %.1f m, followed %.4f at %.1f m", c.name, got, d, want, dWant)
		if math.Abs(got/want-1) > .15 || math.Abs(d/dWant-1) > .1 {
			t.Errorf("%s: %.4f parties at %.1f m, followed %.4f at %.1f m", c.name, got, d, want, dWant)
		}
	}
}

// nearestAtTheEdge follows the parties of 60 an hour on a straight street past a
// walker on the x axis from 0 to 200 m, and back: one for each second in which they
// set out.
func nearestAtTheEdge(tr *Terrain, street plane.Polyline, u float64) (parties, meanM float64) {
	const seconds, dt = 200 / walker, .25
	run := street[0].DistanceM(street[1])
	way := street[1].Sub(street[0]).Mul(1 / run)
	for _, sign := range []float64{1, -1} {
		from := street[0]
		if sign < 0 {
			from = street[1]
		}
		for out := -run / u; out < seconds; out++ {
			last, seen, lost := math.Inf(1), false, math.Inf(-1)
			for s := max(0, out); s < min(seconds, out+run/u); s += dt {
				at := plane.Point{X: walker * s}
				p := from.Add(way.Mul(sign * u * (s - out)))
				d := at.DistanceM(p)
				now := d <= glimpseM && tr.lines.Visible(at, p, stopsView)
				falls := d < last
				switch {
				case last > glimpseM || s == max(0, out):
				case now && !seen && !falls && s-lost > exposure.DeadTimeS, !now && seen && falls && !again(tr, at, p, way.Mul(sign*u)):
					parties++
					meanM += d
				}
				if seen {
					lost = s
				}
				last, seen = d, now
			}
		}
	}
	const each = perDay60 / 2 / 3600
	return parties * each, meanM / parties
}

// again tells whether two see each other again within the dead time.
func again(tr *Terrain, at, p, v plane.Point) bool {
	for s := .5; s <= exposure.DeadTimeS; s += .5 {
		if tr.lines.Visible(at.Add(plane.Point{X: walker * s}), p.Add(v.Mul(s)), stopsView) {
			return true
		}
	}
	return false
}
