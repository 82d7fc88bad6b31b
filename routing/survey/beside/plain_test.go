package beside

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"wideberth/exposure"
	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
	"wideberth/routing/survey/sketch"
)

// plain is what Near means, written down as it is said: every sample against every
// lane by itself, at each speed of each pattern, a ray through the whole index for each
// look. It shares the samples, what is an edge's own way, and the joints' ways with
// Near, and none of its short cuts.
type plain struct {
	g    *network.Graph
	t    *Terrain
	st   *Streams
	bins [exposure.PatternCount]exposure.Bins
}

// plainPiece is a lane with its ground.
type plainPiece struct {
	a, t   plane.Point
	lenM   float64
	flow   *flow
	goesOn bool // from the piece before
	own    bool
}

type plainMark struct {
	at           plane.Point
	inside, seen bool
}

// pieces are all lanes.
func (p *plain) pieces(e int32) (out []plainPiece) {
	parts := p.g.Parts[p.g.PartAt[e]:p.g.PartAt[e+1]]
	for i := range p.st.lanes {
		l := &p.st.lanes[i]
		s := &p.st.strips[l.strip]
		a, b := s.a, s.end
		if l.back {
			a, b = b, a
		}
		d := a.DistanceM(b)
		out = append(out, plainPiece{a, b.Sub(a).Mul(1 / d), d, &p.st.flows[l.flow], l.goesOn,
			l.edge == e || l.edge < 0 && onSameWay(parts, float64(p.g.LengthM[e]), l)})
	}
	return out
}

// sees shoots a ray.
func (p *plain) sees(a, b plane.Point) bool { return p.t.lines.Visible(a, b, stopsView) }

// add counts parties of one speed and direction.
func (p *plain) add(f *flow, speedMPS, weight, distM float64) {
	for k, q := range f.halfPS {
		if exposure.Pattern(k).SpeedMPS() == speedMPS {
			p.bins[k].Add(weight*q, exposure.At(distM))
		}
	}
}

// speeds are those of all patterns, each once.
func speeds() map[float64]bool {
	out := map[float64]bool{}
	for k := range exposure.PatternCount {
		if u := k.SpeedMPS(); u > 0 {
			out[u] = true
		}
	}
	return out
}

func (p *plain) edge(e int32) {
	s := p.t.Sampler(p.g)
	all, pieces := s.Samples(e), p.pieces(e)
	for i := range all {
		if p.g.Parts[all[i].Part].Flags&osmdata.FlagTunnel != 0 {
			continue
		}
		for k := range pieces {
			if !pieces[k].own {
				p.meet(&all[i], &pieces[k])
			}
		}
		if at := i % together; at%2 == 0 {
			weightM := all[i].WeightM
			if at+1 < together && i+1 < len(all) {
				weightM += all[i+1].WeightM
			}
			p.turns(&all[i], e, weightM)
			p.shadows(&all[i], pieces, weightM)
		}
	}
}

func (p *plain) meet(s *sample, m *plainPiece) {
	v := s.dir.Mul(walker)
	for speed := range speeds() {
		for _, u := range []float64{speed, -speed} {
			w := m.t.Mul(u).Sub(v)
			x := s.At.Sub(m.a).Dot(w) / m.t.Dot(w) // where it is seen square to w
			if !(x >= 0 && x < m.lenM) {
				continue
			}
			at := m.a.Add(m.t.Mul(x))
			if d := at.DistanceM(s.At); d <= NearM && p.sees(s.At, at) {
				p.add(m.flow, speed, s.WeightM/speed*w.Dot(w)/max(math.Abs(m.t.Dot(w)), .1*w.NormM()), d)
			}
		}
	}
}

func (p *plain) turns(s *sample, e int32, weightM float64) {
	for i := range p.st.joint {
		j := &p.st.joint[i]
		r := j.at.Sub(s.At)
		if p.st.joints.Segment(int32(i)).Mask == 0 || j.edge == e || r.NormM() > glimpseM || !p.sees(s.At, j.at) {
			continue
		}
		nearing := walker * r.Dot(s.dir)
		for speed := range speeds() {
			for a := range j.ways {
				if -speed*r.Dot(j.ways[a].out) >= nearing {
					continue // not coming nearer
				}
				away := 0.0
				for b := range j.ways {
					if b == a || speed*r.Dot(j.ways[b].out) <= nearing {
						continue
					}
					switch {
					case len(j.ways) == 2:
						away++
					case int(j.ways[a].straight) == b:
						away += straightOn
					default:
						away += (1 - straightOn) / float64(len(j.ways)-2)
					}
				}
				p.add(&p.st.flows[j.ways[a].flow], speed, weightM*away, r.NormM())
			}
		}
	}
}

func (p *plain) shadows(s *sample, pieces []plainPiece, weightM float64) {
	var before plainMark
	for k := range pieces {
		m := &pieces[k]
		if !m.goesOn || pieces[k-1].own {
			before = plainMark{}
		}
		if m.own {
			continue
		}
		n := max(1, math.Round(m.lenM/markM))
		for i := range int(n) {
			at := m.a.Add(m.t.Mul((float64(i) + .5) * m.lenM / n))
			now := plainMark{at: at, inside: at.DistanceM(s.At) <= glimpseM}
			now.seen = now.inside && p.sees(s.At, at)
			if now.inside && before.inside && now.seen != before.seen {
				p.shadow(s, m, before, now, weightM)
			}
			before = now
		}
	}
}

// shadow is the formula of nearer.shadow.
func (p *plain) shadow(s *sample, m *plainPiece, from, to plainMark, weightM float64) {
	out, into := to.at, 1.0
	if to.seen {
		out, into = from.at, -1
	}
	hit, _ := p.t.lines.FirstHit(s.At, out, stopsView)
	at, v := from.at.Add(to.at).Mul(.5), s.dir.Mul(walker)
	r := at.Sub(s.At)
	d := max(leastCornerM, r.NormM())
	square := plane.Point{X: -r.Y / d, Y: r.X / d}
	across := m.t.Dot(square)
	across = math.Copysign(max(math.Abs(across), leastAcross), across)
	h := max(leastCornerM, min(hit.DistM, d))
	edge := -v.Dot(square) * (d - h) / h / across
	for speed := range speeds() {
		for _, u := range []float64{speed, -speed} {
			party := m.t.Mul(u)
			lost := (u-edge)*into > 0
			again := false
			for tau := lookAgainS; tau <= exposure.DeadTimeS; tau += lookAgainS {
				when := tau
				if !lost {
					when = -tau
				}
				again = again || p.sees(s.At.Add(v.Mul(when)), at.Add(party.Mul(when)))
			}
			if lost == (r.Dot(party.Sub(v)) < 0) && !again {
				p.add(m.flow, speed, weightM*math.Abs(u-edge)/speed, d)
			}
		}
	}
}

// difference tells in which bin two gatherings differ by more than rounding.
func difference(a, b *[exposure.PatternCount]exposure.Bins) string {
	for p := range exposure.PatternCount {
		for i := range exposure.BinCount {
			r, d := a[p].In(i)
			r2, d2 := b[p].In(i)
			if math.Abs(r-r2) > 1e-9*r2+1e-12 || math.Abs(d-d2) > 1e-7 {
				return fmt.Sprintf("%v bin %d: %v/s at %v m, want %v/s at %v m", p, i, r, d, r2, d2)
			}
		}
	}
	return ""
}

// Streets with bends on the networks of walkers and of motors, a way of several parts,
// a railway, houses and walls, a tunnel: whatever Near leaves out, joins or looks up
// makes no difference to what it means. Where a mark lies on a wall to the last bit
// rounding would decide: places are as random as numbers are.
func TestNearIsWhatItMeans(t *testing.T) {
	const seed, maps = 17, 5
	r := rand.New(rand.NewPCG(seed, seed))
	for m := range maps {
		k := sketch.New()
		at := func() plane.Point { return plane.Point{X: 400*r.Float64() - 100, Y: 300*r.Float64() - 100} }
		k.Street(osmdata.Residential, plane.Polyline{{X: 0, Y: 0}, {X: 5 + 300*r.Float64(), Y: 10}, at()})
		for i := range 1 + r.IntN(5) {
			s := k.Street([]osmdata.Class{osmdata.Residential, osmdata.Path, osmdata.Secondary}[r.IntN(3)], plane.Polyline{at(), at(), at(), at(), at()})
			if i == 3 {
				s.Flags = osmdata.FlagTunnel
			}
		}
		k.Street(osmdata.Residential, plane.Polyline{k.X.Streets[0].Line[1], k.X.Streets[1].Line[1], at()})
		for range r.IntN(20) {
			p := at()
			k.House(p.X, p.Y, 5+20*r.Float64())
		}
		if r.IntN(2) == 0 {
			k.Wall(plane.Polyline{at(), at(), at()})
		}
		g := k.Net(t)
		motor, _, err := network.Build(k.X.Streets, nil, network.Options{MinIslandM: -1, Use: func(s *osmdata.Street) bool { return s.Motor }})
		if err != nil {
			t.Fatal(err)
		}
		st := &Streams{}
		st.AddNetwork(g, true, [exposure.PatternCount][]float32{exposure.DogWalks: even(g.EdgeCount(), 10),
			exposure.SchoolTrips: even(g.EdgeCount(), 7), exposure.WheelTrips: even(g.EdgeCount(), 5)})
		st.AddNetwork(motor, false, [exposure.PatternCount][]float32{exposure.CarTraffic: even(motor.EdgeCount(), 900), exposure.HeavyTraffic: even(motor.EdgeCount(), 30)})
		st.AddRail(plane.Polyline{at(), at()}, 40)
		st.Seal()
		terr := NewTerrain(&k.X, nil)
		n := newNearer(g, terr, st)
		for e := range int32(g.EdgeCount()) {
			want := plain{g: g, t: terr, st: st}
			n.edge(e)
			want.edge(e)
			if d := difference(&n.bins, &want.bins); d != "" {
				t.Fatalf("seed %d, map %d, edge %d of %d, %v", seed, m, e, g.EdgeCount(), d)
			}
		}
	}
}
