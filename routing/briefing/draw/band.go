package draw

import (
	"math"

	"wideberth/exposure"
	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing"
	"wideberth/routing/snapshot"
)

const (
	// stepM is the spacing of the places along a walk at which room is measured.
	stepM = 3.0
	// smoothM is how far to either side the least room, and then its mean, is taken:
	// raw rays into the gaps between houses look like thorns and promise room that
	// nobody has.
	smoothM = 12.0
	// sightCapM is the farthest that sight counts, as for the whole field.
	sightCapM  = 150.0
	sightStepM = 5.0
	arcStep    = 15 * math.Pi / 180
)

// Room is the comparison that a drawing makes: how far off one kind of trigger must
// be for this dog, and at what speeds the two meet.
type Room struct {
	Kind     exposure.Kind
	Need     exposure.Need
	PaceMPS  float64 // of the walk
	OtherMPS float64 // of the trigger
}

// roomFor is the room for a kind.
func roomFor(k exposure.Kind, d *exposure.Dog) Room {
	return Room{Kind: k, Need: d.Need(k), PaceMPS: d.PaceMPS(), OtherMPS: k.Info().SpeedMPS}
}

// sample is one place of a walk.
type sample struct {
	FromM   float64     // metres into the walk
	At      plane.Point //
	Dir     plane.Point // unit vector in which one walks
	LeftM   float64     // usable room, at most the room needed
	RightM  float64
	Assumed [2]bool // to the left, to the right: the room is a default, not measured
	SightM  float64
	Step    int // of the ground under it among that about: 1 calm for here to 4 hardest here
	hazard  float64
}

// across is the unit vector to the left (0) or right (1).
func (s *sample) across(k int) plane.Point {
	if k == 0 {
		return plane.Point{X: -s.Dir.Y, Y: s.Dir.X}
	}
	return plane.Point{X: s.Dir.Y, Y: -s.Dir.X}
}

// samples measures a walk every few metres. Room to a side is what the field says
// of the edge, never more, and less where a ray meets something nearer; sight
// limits it to what a handler can make of it in time (exposure.Usable). Then the
// least over 12 m to either side and the mean of that.
func samples(walk *routing.Walk, snap *snapshot.Snapshot, r Room, rank *routing.Rank) []sample {
	all := places(walk.Line)
	m := measure{snap: snap, room: r, line: walk.Line}
	m.edges(walk)
	for i := range all {
		m.at(&all[i])
	}
	m.sight(all)
	for i := range all {
		s := &all[i]
		s.LeftM = exposure.Usable(s.LeftM, s.SightM, r.OtherMPS, r.PaceMPS, r.Need.WorkingM)
		s.RightM = exposure.Usable(s.RightM, s.SightM, r.OtherMPS, r.PaceMPS, r.Need.WorkingM)
	}
	smooth(all, rank)
	return all
}

// places puts a sample on both ends of every straight piece of a line and every
// stepM between, so that a corner has one for the way in and one for the way out.
func places(line plane.Polyline) (all []sample) {
	gone := 0.0
	for i := 1; i < len(line); i++ {
		a, b := line[i-1], line[i]
		d := a.DistanceM(b)
		if d < 0.01 {
			continue
		}
		dir := b.Sub(a).Mul(1 / d)
		n := int(math.Ceil(d / stepM))
		for k := 0; k <= n; k++ {
			off := d * float64(k) / float64(n)
			all = append(all, sample{FromM: gone + off, At: a.Add(dir.Mul(off)), Dir: dir})
		}
		gone += d
	}
	return all
}

// measure holds what one walk is measured against.
type measure struct {
	snap  *snapshot.Snapshot
	room  Room
	line  plane.Polyline
	run   []routing.LegEdge
	timeS []float64 // of each run
	next  int       // the run that the last sample lay in
}

// edges lists the network's edges under the walk.
func (m *measure) edges(walk *routing.Walk) {
	for i := range walk.Legs {
		l := &walk.Legs[i]
		for _, e := range l.Edges {
			m.run = append(m.run, e)
			m.timeS = append(m.timeS, e.LengthM*l.DurationS/max(l.LengthM, 1e-9))
		}
	}
}

// at fills in room and hazard of a sample; samples come in walking order.
func (m *measure) at(s *sample) {
	for m.next+1 < len(m.run) && s.FromM > m.run[m.next].FromM+m.run[m.next].LengthM {
		m.next++
	}
	if len(m.run) == 0 {
		return
	}
	e := &m.run[m.next]
	s.hazard = e.Reactions / max(m.timeS[m.next], 1e-9)
	beside := m.snap.Field.Sides(e.Edge, e.Against)
	var out [2]float64
	for k, side := range [2]exposure.Side{beside.Left, beside.Right} {
		out[k], s.Assumed[k] = float64(side.LowM), side.Default
		if side.Default {
			continue
		}
		reach := s.At.Add(s.across(k).Mul(out[k]))
		if h, ok := m.snap.Ground.Index().FirstHit(s.At, reach, uint8(osmdata.BlocksWay)); ok {
			out[k] = max(h.DistM, float64(side.LeastM))
		}
	}
	s.LeftM, s.RightM = out[0], out[1]
}

// sight looks from every second sample along the way ahead; those between see what
// the worse neighbour sees. A way that ends is seen to its end.
func (m *measure) sight(all []sample) {
	for i := 0; i < len(all); i += 2 {
		all[i].SightM = m.see(all, i)
	}
	for i := 1; i < len(all); i += 2 {
		all[i].SightM = all[i-1].SightM
		if i+1 < len(all) {
			all[i].SightM = min(all[i-1].SightM, all[i+1].SightM)
		}
	}
}

// see is how far ahead, along the way, a walker sees it from a sample.
func (m *measure) see(all []sample, i int) float64 {
	next := sightStepM
	for j := i + 1; j < len(all); j++ {
		d := all[j].FromM - all[i].FromM
		if d > sightCapM {
			break
		}
		if d < next {
			continue
		}
		if !m.snap.Ground.Visible(all[i].At, all[j].At) {
			return max(d-sightStepM/2, 1)
		}
		next = d + sightStepM
	}
	return sightCapM
}

// smooth takes the least over smoothM to either side, then the mean, of both sides,
// and the step of the mean hazard.
func smooth(all []sample, rank *routing.Rank) {
	n := len(all)
	least := make([][2]float64, n)
	window := func(i int, visit func(*sample, int)) {
		for j := i; j >= 0 && all[i].FromM-all[j].FromM <= smoothM; j-- {
			visit(&all[j], j)
		}
		for j := i + 1; j < n && all[j].FromM-all[i].FromM <= smoothM; j++ {
			visit(&all[j], j)
		}
	}
	for i := range all {
		least[i] = [2]float64{all[i].LeftM, all[i].RightM}
		window(i, func(s *sample, _ int) {
			least[i][0], least[i][1] = min(least[i][0], s.LeftM), min(least[i][1], s.RightM)
		})
	}
	for i := range all {
		var left, right, hazard, count float64
		window(i, func(s *sample, j int) {
			left, right, hazard, count = left+least[j][0], right+least[j][1], hazard+s.hazard, count+1
		})
		all[i].LeftM, all[i].RightM = left/count, right/count
		all[i].Step = rank.Step(hazard / count)
	}
}

// Band is the room along a walk, and how hard its ground is.
type Band struct {
	Room    Room
	Samples []sample
	Pieces  []BandPiece // runs of one step in walking order
}

// BandPiece is a run of one step.
type BandPiece struct {
	Step       int
	FromM, ToM float64
	Line       plane.Polyline // of the walk
}

// newBand measures a walk for one kind of trigger, its ground compared by rank.
func newBand(walk *routing.Walk, snap *snapshot.Snapshot, r Room, rank *routing.Rank) *Band {
	b := &Band{Room: r, Samples: samples(walk, snap, r, rank)}
	for from := 0; from < len(b.Samples); {
		to := from + 1
		for to < len(b.Samples) && b.Samples[to].Step == b.Samples[from].Step {
			to++
		}
		// The first sample of the next run closes this one.
		b.piece(from, min(to, len(b.Samples)-1))
		from = to
	}
	return b
}

func (b *Band) piece(from, to int) {
	if to <= from {
		return
	}
	p := BandPiece{Step: b.Samples[from].Step, FromM: b.Samples[from].FromM, ToM: b.Samples[to].FromM}
	for i := from; i <= to; i++ {
		if at := b.Samples[i].At; len(p.Line) == 0 || p.Line[len(p.Line)-1] != at {
			p.Line = append(p.Line, at)
		}
	}
	b.Pieces = append(b.Pieces, p)
}

// reachedM is how near the room must come to what is needed to be all of it.
const reachedM = 0.25
