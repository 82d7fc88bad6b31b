package wire

import (
	"math"

	"wideberth/exposure"
	"wideberth/osmdata/plane"
	"wideberth/routing/briefing/draw"
)

// Drawing is one walk as it is drawn: the room along it and how hard it is.
type Drawing struct {
	Need    DrawnNeed      `json:"need" doc:"The distances that lead this walk's expected reactions."`
	Profile Profile        `json:"profile" doc:"Along the walk, for the walk unrolled."`
	Line    []StepLine     `json:"line" doc:"The walk in runs of ground of one step."`
	Around  []AroundSource `json:"around" doc:"Fixed sources near the walk with the dog's distances round them."`
	Beside  []StripSource  `json:"beside" doc:"The same in metres along and beside the walk."`
}

// DrawnPlan is a plan with what its walks are drawn from.
type DrawnPlan struct {
	Plan     PlanBody  `json:"plan"`
	Drawings []Drawing `json:"drawings" doc:"One for each walk."`
}

// DrawnNeed is the pair of distances that a drawing measures by; 0 for a dog that
// reacts to nothing.
type DrawnNeed struct {
	Kind string `json:"kind" example:"dog_on_lead"`
	exposure.Need
}

// Profile samples the walk every StepM metres from its start.
type Profile struct {
	StepM        float64   `json:"step_m"`
	LeftM        []float64 `json:"left_m" doc:"Usable room on the left, smoothed, at most the room needed."`
	RightM       []float64 `json:"right_m"`
	Step         []int     `json:"step" doc:"Of the ground among that about the start: 1 calm for here to 4 hardest here."`
	AssumedLeft  []bool    `json:"assumed_left" doc:"The room is a default, not measured."`
	AssumedRight []bool    `json:"assumed_right"`
	SightM       []float64 `json:"sight_m"`
}

// StepLine is a run of the walk on ground of one step.
type StepLine struct {
	Step int        `json:"step" enum:"1,2,3,4"`
	Line []Position `json:"line"`
}

// AroundSource is a fixed source near the walk.
type AroundSource struct {
	Name    string       `json:"name"`
	InSight bool         `json:"in_sight" doc:"Seen from the walk."`
	Watched bool         `json:"watched,omitempty" doc:"It is what a training visit watches."`
	Need    DrawnNeed    `json:"need"`
	Area    [][]Position `json:"area" doc:"Outer outlines, empty where only a place is known."`
	Works   []Position   `json:"works" doc:"Where the dog still works."`
	Reacts  []Position   `json:"reacts" doc:"Where it is too near."`
}

// profileStepM is the spacing of a profile: that of the band's own samples.
const profileStepM = 3

func needOf(kind string, n exposure.Need) DrawnNeed { return DrawnNeed{kind, n} }

// profileOf takes, at even steps, the sample of a band that lies nearest.
func profileOf(b *draw.Band, lengthM float64) Profile {
	p := Profile{StepM: profileStepM, LeftM: []float64{}, RightM: []float64{}, Step: []int{}, AssumedLeft: []bool{}, AssumedRight: []bool{}, SightM: []float64{}}
	if len(b.Samples) == 0 {
		return p
	}
	next := 0
	for m := 0.0; m <= lengthM; m += profileStepM {
		for next+1 < len(b.Samples) && math.Abs(b.Samples[next+1].FromM-m) <= math.Abs(b.Samples[next].FromM-m) {
			next++
		}
		at := &b.Samples[next]
		p.LeftM, p.RightM = append(p.LeftM, round(at.LeftM, 1)), append(p.RightM, round(at.RightM, 1))
		p.Step, p.SightM = append(p.Step, at.Step), append(p.SightM, round(at.SightM, 0))
		p.AssumedLeft, p.AssumedRight = append(p.AssumedLeft, at.Assumed[0]), append(p.AssumedRight, at.Assumed[1])
	}
	return p
}

// StripSource is a fixed source at its true sideways distance: a box from FromM to
// ToM along the walk and from NearM to FarM to the side.
type StripSource struct {
	Name  string  `json:"name"`
	Right bool    `json:"right"`
	FromM float64 `json:"from_m"`
	ToM   float64 `json:"to_m"`
	NearM float64 `json:"near_m"`
	FarM  float64 `json:"far_m"`
	exposure.Need
}

// NewDrawing makes the JSON form of a scene of frame f.
func NewDrawing(scene *draw.Scene, f plane.Frame) Drawing {
	room := &scene.Band.Room
	d := Drawing{Need: needOf(room.Kind.String(), room.Need), Profile: profileOf(scene.Band, scene.Walk.LengthM),
		Line: []StepLine{}, Around: []AroundSource{}, Beside: []StripSource{}}
	for i := range scene.Band.Pieces {
		p := &scene.Band.Pieces[i]
		d.Line = append(d.Line, StepLine{p.Step, positions(f, p.Line)})
	}
	for _, a := range scene.Sources() {
		d.Around = append(d.Around, newAround(&a, f))
	}
	for _, c := range scene.Unroll(1, 2*room.Need.WorkingM).Columns {
		for _, b := range c.Sources {
			d.Beside = append(d.Beside, StripSource(b))
		}
	}
	return d
}

func newAround(a *draw.Around, f plane.Frame) AroundSource {
	out := AroundSource{Name: a.Name, InSight: a.InSight, Need: needOf("", a.Need), Area: [][]Position{}, Works: ring(f, a.Works), Reacts: ring(f, a.Reacts)}
	for i := range a.Area {
		out.Area = append(out.Area, ring(f, a.Area[i].Outer))
	}
	return out
}

func positions(f plane.Frame, l []plane.Point) []Position { return newLineString(f, l).Coordinates }

// ring is an outline whose last place is its first.
func ring(f plane.Frame, r plane.Ring) []Position {
	out := positions(f, r)
	if len(out) > 0 && out[0] != out[len(out)-1] {
		out = append(out, out[0])
	}
	return out
}
