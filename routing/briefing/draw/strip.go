package draw

import (
	"math"

	"wideberth/exposure"
	"wideberth/osmdata/plane"
	"wideberth/routing/briefing"
)

// Strip is the walk unrolled: columns that are read upwards, the first at the left.
// Ahead is up, so that the handler's left is on the left. All coordinates are
// metres: x across the walk, negative to the left, y along it from the column's
// lower end.
type Strip struct {
	SideM   float64 // room drawn to each side
	NeedM   float64 // room needed; the gauge stands at this distance on both sides if it is not more than side_m
	Note    string  // said when the room needed is wider than drawn
	Columns []Column
}

// Column is one column of a strip.
type Column struct {
	FromM   float64
	ToM     float64
	Start   bool // the walk begins at its lower end
	End     bool // the walk ends at its upper end
	Edges   []StripEdge
	Line    []StripRun
	Minutes []StripMinute
	Legs    []StripLeg
	Watch   []StripWatch
	Sources []StripSource
	ready   []briefing.WatchText
}

// XY is a place of a strip in metres.
type XY [2]float64

// StripEdge is a border where the room falls short.
type StripEdge struct {
	Assumed bool // the room is a default, not measured: draw it broken
	Line    []XY
}

// StripRun is a run of ground of one step, 1 calm for here to 4 hardest here.
type StripRun struct {
	Step  int
	FromM float64
	ToM   float64
}

// StripMinute is a mark of time on the left.
type StripMinute struct {
	Minute int
	AtM    float64
}

// StripLeg is a leg where it begins.
type StripLeg struct {
	Number int
	AtM    float64
	Name   string
	Turn   string
	Room   string
}

// StripWatch is a watch point.
type StripWatch struct {
	Number int
	AtM    float64
}

// StripSource is a fixed source at its true sideways distance: a box from FromM to
// ToM along the walk and from NearM to FarM to the side.
type StripSource struct {
	Name  string
	Right bool
	FromM float64
	ToM   float64
	NearM float64
	FarM  float64
	exposure.Need
}

// minuteMarks is the spacing of minute marks by the walk's minutes.
func minuteMarks(minutes float64) int {
	if minutes <= 90 {
		return 5
	}
	return 10
}

// Unroll makes the strip of the walk in so many columns, at most mostSideM metres
// to each side (0: all the room needed).
func (s *Scene) Unroll(columns int, mostSideM float64) *Strip {
	return s.unroll(columns, mostSideM, 0, s.Walk.Line.LengthM())
}

// unroll does so for a part of the walk.
func (s *Scene) unroll(columns int, mostSideM, fromM, toM float64) *Strip {
	strip := &Strip{NeedM: s.needM(), SideM: s.needM()}
	if mostSideM > 0 && strip.SideM > mostSideM {
		strip.SideM = mostSideM
		w := s.Words
		strip.Note = w.Say("need.wider", "dog", w.Dog(s.Dog), "many", w.Noun(s.Band.Room.Kind, s.Dog, "many"), "distance", w.Own(s.needM()))
	}
	columns = max(1, columns)
	each := (toM - fromM) / float64(columns)
	for i := range columns {
		c := Column{FromM: fromM + each*float64(i), ToM: fromM + each*float64(i+1)}
		c.Start, c.End = i == 0 && fromM == 0, i == columns-1 && toM >= s.Walk.Line.LengthM()-0.5
		s.fillColumn(strip, &c)
		s.markColumn(&c)
		s.sourcesOf(&c)
		strip.Columns = append(strip.Columns, c)
	}
	return strip
}

// crossSection is the band at one place of the strip.
type crossSection struct {
	y           float64
	left, right float64
	sample      *sample
}

// sections are the cross-sections of a column, its ends included.
func (s *Scene) sections(strip *Strip, c *Column) (out []crossSection) {
	all := s.Band.Samples
	between := func(i int, at float64) crossSection {
		a, b := &all[i-1], &all[i]
		t := (at - a.FromM) / max(b.FromM-a.FromM, 1e-9)
		return crossSection{at - c.FromM, a.LeftM + (b.LeftM-a.LeftM)*t, a.RightM + (b.RightM-a.RightM)*t, a}
	}
	for i := range all {
		at := all[i].FromM
		if i > 0 && all[i-1].FromM < c.FromM && at > c.FromM {
			out = append(out, between(i, c.FromM))
		}
		if i > 0 && all[i-1].FromM < c.ToM && at > c.ToM {
			out = append(out, between(i, c.ToM))
			break
		}
		if at >= c.FromM && at <= c.ToM {
			out = append(out, crossSection{at - c.FromM, all[i].LeftM, all[i].RightM, &all[i]})
		}
	}
	for i := range out {
		out[i].left, out[i].right = min(out[i].left, strip.SideM), min(out[i].right, strip.SideM)
	}
	return out
}

// fillColumn puts ground and borders into a column.
func (s *Scene) fillColumn(strip *Strip, c *Column) {
	cut := s.sections(strip, c)
	for from := 0; from+1 < len(cut); {
		to := from + 1
		for to+1 < len(cut) && cut[to].sample.Step == cut[from].sample.Step {
			to++
		}
		if cut[to].y > cut[from].y {
			c.Line = append(c.Line, StripRun{cut[from].sample.Step, c.FromM + cut[from].y, c.FromM + cut[to].y})
		}
		from = to
	}
	s.edgesOf(c, cut, 0, strip)
	s.edgesOf(c, cut, 1, strip)
}

func (s *Scene) edgesOf(c *Column, cut []crossSection, k int, strip *Strip) {
	var run StripEdge
	flush := func() {
		if len(run.Line) > 1 {
			c.Edges = append(c.Edges, run)
		}
		run.Line = nil
	}
	for i := range cut {
		x := -cut[i].left
		if k == 1 {
			x = cut[i].right
		}
		if math.Abs(x) >= min(strip.SideM, s.needM())-reachedM {
			flush()
			continue
		}
		if a := cut[i].sample.Assumed[k]; a != run.Assumed {
			last := run.Line
			flush()
			if run.Assumed = a; len(last) > 0 {
				run.Line = append(run.Line, last[len(last)-1])
			}
		}
		run.Line = append(run.Line, XY{x, cut[i].y})
	}
	flush()
}

// metresAt is the place at a time, the inverse of secondsAt.
func (s *Scene) metresAt(seconds float64) float64 {
	at := 0.0
	for i := range s.Walk.Legs {
		l := &s.Walk.Legs[i]
		if seconds <= l.StartS+l.DurationS || i == len(s.Walk.Legs)-1 {
			return at + l.LengthM*min(1, max(0, seconds-l.StartS)/max(l.DurationS, 1e-9))
		}
		at += l.LengthM
	}
	return 0
}

// markColumn puts minutes, legs and watch points into a column. A place exactly
// between two columns belongs to the upper one's beginning.
func (s *Scene) markColumn(c *Column) {
	in := func(m float64) bool { return m >= c.FromM && (m < c.ToM || c.End) }
	step := minuteMarks(s.Walk.DurationS / 60)
	for m := step; float64(m*60) < s.Walk.DurationS-endQuietS; m += step {
		if at := s.metresAt(float64(m * 60)); in(at) {
			c.Minutes = append(c.Minutes, StripMinute{m, at})
		}
	}
	for i := range s.Legs {
		l := &s.Legs[i]
		if in(l.FromM) {
			c.Legs = append(c.Legs, StripLeg{l.Number, l.FromM, l.Name, l.Turn, l.Room})
		}
		for _, p := range l.Watch {
			if in(p.FromM) {
				c.Watch = append(c.Watch, StripWatch{p.Number, p.FromM})
				c.ready = append(c.ready, p)
			}
		}
	}
}

// besideM is how far along the walk a source's corners may lie from where it is
// nearest and still be drawn beside it.
const besideM = 120

// sourcesOf puts the sources into a column that come nearer than twice the room
// needed from them.
func (s *Scene) sourcesOf(c *Column) {
	for i := range s.Walk.Passed {
		p := &s.Walk.Passed[i]
		if p.NearestM >= 2*p.Need.WorkingM || p.NearestM < 0.5 || p.FromM < c.FromM || p.FromM > c.ToM {
			continue
		}
		b := StripSource{Name: p.Name, Right: p.Side == "right", NearM: p.NearestM, FarM: p.NearestM, FromM: p.FromM, ToM: p.FromM,
			Need: p.Need}
		for _, q := range outline(s.Snap.Field.Source(p.Source)) {
			at, off := s.beside(q, p.FromM)
			b.FromM, b.ToM, b.FarM = min(b.FromM, at), max(b.ToM, at), max(b.FarM, off)
		}
		b.FromM, b.ToM = max(b.FromM, c.FromM), min(b.ToM, c.ToM)
		c.Sources = append(c.Sources, b)
	}
}

// outline is where a source's triggers are: the points of its area, or of the
// circle assumed round it.
func outline(s *exposure.Source) (pts []plane.Point) {
	for i := range s.Area {
		pts = append(pts, s.Area[i].Outer...)
	}
	if len(pts) > 0 {
		return pts
	}
	const points = 16
	for i := range points {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / points)
		pts = append(pts, s.At.Add(plane.Point{X: cos, Y: sin}.Mul(max(1, float64(s.RadiusM)))))
	}
	return pts
}

// beside is where along the walk, about a place of it, a point lies nearest, and
// how far off.
func (s *Scene) beside(q plane.Point, aboutM float64) (fromM, offM float64) {
	offM = math.Inf(1)
	for i := range s.Band.Samples {
		p := &s.Band.Samples[i]
		if d := p.At.DistanceM(q); math.Abs(p.FromM-aboutM) <= besideM && d < offM {
			fromM, offM = p.FromM, d
		}
	}
	return fromM, offM
}
