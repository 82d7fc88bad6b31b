package routing

import (
	"math"
	"time"

	"wideberth/exposure"
	"wideberth/osmdata/plane"
	"wideberth/routing/escape"
	"wideberth/routing/network"
	"wideberth/routing/reach"
)

// trace is a walk as the search gives it: local arcs, when each is entered and
// how long it takes.
type trace struct {
	arcs   []int32
	enterS []float64
	timeS  []float64
	hazard []float32 // expected reactions a second on each arc at its clock
	strain []float64 // of each arc, at its price
	turns  int
}

func newTrace(r *reach.Reach, c *reach.Prices, arcs []int32) *trace {
	t := &trace{arcs: arcs}
	at := 0.0
	for i, a := range arcs {
		if i > 0 && r.Star.Twin[a] == arcs[i-1] {
			t.turns++
		}
		s := float64(c.TimeS[a])
		t.enterS = append(t.enterS, at)
		t.timeS = append(t.timeS, s)
		stretch, slot := c.StretchAt(at), r.Piece[a].Slot
		t.hazard = append(t.hazard, c.Hazard[stretch][slot])
		t.strain = append(t.strain, s*float64(c.Strain[stretch][slot])+float64(c.Cross[a]))
		at += s
	}
	return t
}

// Build makes the whole account of a walk from the arcs walked.
func (p *Planner) Build(w *Wish, r *reach.Reach, c *reach.Prices, arcs []int32) Walk {
	t := newTrace(r, c, arcs)
	parts := p.stretches(r, t)
	walk := Walk{Shape: w.Shape, Laps: 1, TimesBest: 1, Turns: t.turns, Course: r.Course(arcs), Quality: Quality{WithinPct: -1, Checking: true}}
	for i, a := range t.arcs {
		walk.DurationS += t.timeS[i]
		walk.LengthM += float64(r.Piece[a].LengthM)
		walk.Strain += t.strain[i]
		f, e := p.land.Snap.Field, r.Piece[a].Edge
		walk.MainRoadS += t.timeS[i] * f.Roadside.MainShare(e)
		walk.SoftGroundS += t.timeS[i] * float64(f.SoftShare[e])
		walk.ServiceS += t.timeS[i] * p.land.ServiceShare(e)
	}
	tail := tailOf(r, arcs)
	for _, s := range t.timeS[:tail] {
		walk.TailS += s
	}
	if w.Shape == Calmest {
		walk.Shape = Loop
		if 2*tail == len(arcs) {
			walk.Shape = ThereAndBack
		}
	}
	runs := p.runs(parts)
	dose, byLeg := p.doses(w, parts, runs)
	if w.Stacking {
		walk.StackedReactions = p.land.Snap.Field.AlongStacked(&w.Dog, p.steps(w, r, t), w.Factors, exposure.DefaultRecoveryS).Reactions
	}
	walk.RepeatedS = repeated(r, t)
	p.outlook(&walk, w, dose)
	for i, run := range runs {
		leg := p.leg(w, run, walk.Legs)
		leg.Kinds = kindOutlooks(byLeg[i], &w.Dog)
		walk.Legs = append(walk.Legs, leg)
	}
	for _, l := range walk.Legs {
		walk.Line = Joined(walk.Line, l.Line)
	}
	walk.DefaultRoomShare = p.defaultShare(parts)
	p.passed(&walk, w, parts)
	p.watch(&walk, w, parts)
	p.refuges(w, r, &walk, t)
	walk.Care = p.care(w, &walk)
	return walk
}

// tailOf is how many arcs a walk goes out on that are its way home as well: half of
// them on a walk there and back.
func tailOf(r *reach.Reach, arcs []int32) (n int) {
	for n < len(arcs)/2 && arcs[len(arcs)-1-n] == r.Star.Twin[arcs[n]] {
		n++
	}
	return n
}

// steps is a walk as the model wants it: each edge at its own clock.
func (p *Planner) steps(w *Wish, r *reach.Reach, t *trace) []exposure.Step {
	steps := make([]exposure.Step, len(t.arcs))
	for i, a := range t.arcs {
		steps[i] = exposure.Step{Edge: r.Piece[a].Edge, Seconds: t.timeS[i], At: p.land.Clock.At(w.Depart.Add(Seconds(t.enterS[i])))}
	}
	return steps
}

func Seconds(s float64) time.Duration { return time.Duration(s * float64(time.Second)) }

// repeated is the time spent on edges walked before.
func repeated(r *reach.Reach, t *trace) (s float64) {
	seen := map[int32]bool{}
	for i, a := range t.arcs {
		e := min(a, r.Star.Twin[a])
		if seen[e] {
			s += t.timeS[i]
		}
		seen[e] = true
	}
	return s
}

// doses is what a walk brings, and each run of its stretches by itself. The stretches of
// an arc have the clock at which the arc is entered, as in the search.
func (p *Planner) doses(w *Wish, parts []stretch, runs [][]stretch) (whole *exposure.Dose, byRun []*exposure.Dose) {
	steps, ends := make([]exposure.Step, len(parts)), make([]int, len(runs))
	for i := range parts {
		steps[i] = exposure.Step{Edge: parts[i].Edge, Seconds: parts[i].timeS, At: p.land.Clock.At(w.Depart.Add(Seconds(parts[i].enterS)))}
	}
	end := 0
	for i, run := range runs {
		end += len(run)
		ends[i] = end
	}
	return p.land.Snap.Field.AlongParts(&w.Dog, steps, ends, w.Factors)
}

// runs parts stretches into those along one street, in their order: what legs are made of.
func (p *Planner) runs(parts []stretch) (runs [][]stretch) {
	for i := range parts {
		if i == 0 || !p.sameStreet(&parts[i-1], &parts[i]) {
			runs = append(runs, nil)
		}
		runs[len(runs)-1] = append(runs[len(runs)-1], parts[i])
	}
	return p.rejoined(withoutScraps(runs))
}

// scrapM is the length under which a nameless run is no leg of its own: the piece
// of pavement between a crossing and a kerb.
const scrapM = 30

// withoutScraps lets nameless runs too short to tell of go under in the stretch
// before them, so that a leg is something a person would say.
func withoutScraps(runs [][]stretch) (out [][]stretch) {
	for i, run := range runs {
		length := 0.0
		for j := range run {
			length += run[j].lengthM
		}
		if len(out) > 0 && i < len(runs)-1 && run[0].part.Name == 0 && length < scrapM {
			out[len(out)-1] = append(out[len(out)-1], run...)
			continue
		}
		out = append(out, run)
	}
	return out
}

// rejoined puts runs together that scraps no longer part.
func (p *Planner) rejoined(runs [][]stretch) (out [][]stretch) {
	for _, run := range runs {
		if n := len(out); n > 0 && run[0].part.Name != 0 && out[n-1][0].part.Name == run[0].part.Name && !turnsBack(out[n-1], run) {
			out[n-1] = append(out[n-1], run...)
			continue
		}
		out = append(out, run)
	}
	return out
}

func turnsBack(before, after []stretch) bool {
	a, b := &before[len(before)-1], &after[0]
	return a.Edge == b.Edge && a.Against() != b.Against()
}

// sameStreet says that one stretch goes on along the street of another: same
// name or, without names, the same sort of way, and no turning back.
func (p *Planner) sameStreet(a, b *stretch) bool {
	if a.Edge == b.Edge && a.Against() != b.Against() {
		return false
	}
	if a.part.Name != 0 || b.part.Name != 0 {
		return a.part.Name == b.part.Name
	}
	if a.part.Sort() != b.part.Sort() {
		return false
	}
	return math.Abs(network.TurnAngle(network.Heading(a.line, true), network.Heading(b.line, false))) < 55*math.Pi/180
}

// sideMargin is how much more room one side must offer, as a share, to be the
// side to keep to.
const sideMargin = 1.2

func (p *Planner) leg(w *Wish, run []stretch, before []Leg) Leg {
	f := p.land.Snap.Field
	l := Leg{Name: p.land.Snap.Graph.Names[run[0].part.Name], Class: run[0].part.Sort(), StartS: run[0].startS,
		Turn: network.TurnStart, LeastRoomM: math.Inf(1), SightM: math.Inf(1), WayOutS: -1}
	if len(before) > 0 {
		l.Turn = network.TurnOf(before[len(before)-1].Line, run[0].line)
	}
	for i := range run {
		s := &run[i]
		beside := f.Sides(s.Edge, s.Against())
		left, right := beside.Left, beside.Right
		l.RoomLeftM += float64(left.LowM) * s.lengthM
		l.RoomRightM += float64(right.LowM) * s.lengthM
		l.LeastRoomM = min(l.LeastRoomM, float64(max(left.LeastM, right.LeastM)))
		l.SightM = min(l.SightM, beside.SightM)
		l.LevelDB = max(l.LevelDB, float64(f.LevelDB[s.Edge]))
		l.RoomDefault = l.RoomDefault || (left.Default && right.Default)
		l.LengthM += s.lengthM
		l.DurationS += s.timeS
		l.Reactions += s.hazard * s.timeS
		l.Strain += s.strain
		l.DogRules = l.DogRules || f.Marks[s.Edge]&exposure.DogRules != 0
		l.Ground |= p.land.GroundAt(s.Edge, p.land.Clock.At(w.Depart.Add(Seconds(s.startS))))
		l.Line = Joined(l.Line, s.line)
		l.Edges = append(l.Edges, LegEdge{Edge: s.Edge, StartS: s.startS, Against: s.Against(), Reactions: s.hazard * s.timeS,
			Level: LevelOf(s.hazard), FromM: s.startM, LengthM: s.lengthM})
	}
	l.RoomLeftM /= max(l.LengthM, 1e-9)
	l.RoomRightM /= max(l.LengthM, 1e-9)
	l.Level = LevelOf(l.Reactions / max(l.DurationS, 1e-9))
	switch {
	case l.RoomLeftM > sideMargin*l.RoomRightM:
		l.Keep = "left"
	case l.RoomRightM > sideMargin*l.RoomLeftM:
		l.Keep = "right"
	}
	return l
}

// Joined appends a line to another without its first point where they meet.
func Joined(a, b plane.Polyline) plane.Polyline {
	if len(a) > 0 && len(b) > 0 && a[len(a)-1].DistanceM(b[0]) < 0.01 {
		b = b[1:]
	}
	return append(a, b...)
}

// defaultShare is the share of the length whose room is a default on both sides.
func (p *Planner) defaultShare(parts []stretch) float64 {
	all, assumed := 0.0, 0.0
	for i := range parts {
		all += parts[i].lengthM
		if b := p.land.Snap.Field.Sides(parts[i].Edge, false); b.Left.Default && b.Right.Default {
			assumed += parts[i].lengthM
		}
	}
	return assumed / max(all, 1e-9)
}

// refuges fills in, for every leg, the refuge of who is half way along it, for the
// room that the dog needs from what leads the walk.
func (p *Planner) refuges(w *Wish, r *reach.Reach, walk *Walk, t *trace) {
	need := leadingNeed(walk, &w.Dog)
	all, err := escape.NewRefuges(r)
	if err != nil {
		return // a reach without vertices has no legs either
	}
	for i := range walk.Legs {
		l := &walk.Legs[i]
		out := escape.Refuge{Where: l.Keep, RoomM: max(l.RoomLeftM, l.RoomRightM)}
		if k := t.middle(l); k >= 0 {
			if across := p.land.Snap.Field.RoomM(r.Piece[t.arcs[k]].Edge); across > out.RoomM {
				out.RoomM = across // the other takes one side, the handler the other
			}
			out = all.From(t.arcs[k], need, out)
		}
		l.WayOutS, l.WayOutSide, l.WayOutRoomM = out.Seconds, out.Where, out.RoomM
		if mid := l.LengthM / 2; out.Seconds < 0 {
			l.Cover = escape.CoverAbout(p.land, l.Line.At(mid), l.Line.DirectionAt(mid))
		}
	}
}

// leadingNeed is the working distance for the kind that adds most to a walk.
func leadingNeed(walk *Walk, dog *exposure.Dog) float64 {
	for _, k := range walk.Kinds {
		if n := dog.Need(k.Kind); n.WorkingM > 0 {
			return n.WorkingM
		}
	}
	return dog.FarthestM()
}

// middle is the index of the arc that a walk is on half way through a leg.
func (t *trace) middle(l *Leg) int {
	at := l.StartS + l.DurationS/2
	for i := range t.arcs {
		if t.enterS[i] <= at && at <= t.enterS[i]+t.timeS[i] {
			return i
		}
	}
	return -1
}
