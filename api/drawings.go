package api

import (
	"context"
	"net/http"

	"github.com/danielgtaylor/huma/v2"

	"wideberth/api/encode"
	"wideberth/exposure"
	"wideberth/osmdata/plane"
	"wideberth/routing"
)

// Drawing is one walk as it is drawn: the room along it and how hard it is.
type Drawing struct {
	Need    DrawnNeed    `json:"need" doc:"The distances that lead this walk's expected reactions."`
	Profile Profile      `json:"profile" doc:"Along the walk, for the walk unrolled."`
	Band    []BandPiece  `json:"band" doc:"Pieces of the band of usable room, one level each, merged."`
	Edges   []BandEdge   `json:"edges" doc:"Edges of the band where the room is less than needed."`
	Line    []LevelLine  `json:"line" doc:"The walk in runs of one level."`
	Arcs    []Arc        `json:"arcs" doc:"Outlines of fixed sources at the dog's two distances."`
	Beside  []BesideMark `json:"beside" doc:"Fixed sources beside the walk at their true sideways distance."`
}

// DrawnNeed is the pair of distances that a drawing measures by.
type DrawnNeed struct {
	Kind      string  `json:"kind" example:"dog_on_lead"`
	WorkingM  float64 `json:"working_m"`
	ReactionM float64 `json:"reaction_m"`
}

// Profile samples the walk every StepM metres from its start.
type Profile struct {
	StepM   float64   `json:"step_m"`
	LeftM   []float64 `json:"left_m" doc:"Usable room on the left, smoothed, at most the room needed."`
	RightM  []float64 `json:"right_m"`
	Level   []int     `json:"level" doc:"0 calm to 3 hard."`
	Assumed []bool    `json:"assumed" doc:"The room is a default, not measured."`
	SightM  []float64 `json:"sight_m"`
}

// BandPiece is a piece of the band at one level.
type BandPiece struct {
	Level   string              `json:"level"`
	Polygon [][]encode.Position `json:"polygon"`
}

// BandEdge is an edge of the band.
type BandEdge struct {
	Assumed bool              `json:"assumed"`
	Line    []encode.Position `json:"line"`
}

// LevelLine is a run of the walk at one level.
type LevelLine struct {
	Level string            `json:"level"`
	Line  []encode.Position `json:"line"`
}

// Arc is the outline of a source at one of the dog's distances.
type Arc struct {
	Name    string            `json:"name"`
	TooNear bool              `json:"too_near" doc:"At the reaction distance; else at the working distance."`
	RadiusM float64           `json:"radius_m"`
	Line    []encode.Position `json:"line"`
}

// BesideMark is a source beside the walk.
type BesideMark struct {
	Name  string  `json:"name"`
	FromM float64 `json:"from_m"`
	SideM float64 `json:"side_m" doc:"Negative to the left."`
}

const profileStepM = 4

type drawingsOutput struct {
	Body struct {
		Plan     encode.Plan `json:"plan"`
		Drawings []Drawing   `json:"drawings" doc:"One for each walk."`
	}
}

// drawings answers POST /v1/drawings.
func (s *Server) drawings(ctx context.Context, in *planInput) (*drawingsOutput, error) {
	w, err := s.wish(ctx, &in.Body)
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	out := &drawingsOutput{}
	err = s.searching(ctx, func() error {
		plan, err := s.planner.Plan(ctx, w)
		if err != nil {
			return err
		}
		out.Body.Plan = encode.NewPlan(plan, s.planner.Frame())
		for i := range plan.Walks {
			out.Body.Drawings = append(out.Body.Drawings, s.drawing(&plan.Walks[i], &w.Dog))
		}
		return nil
	})
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	return out, nil
}

// leading is the kind that brings most of a walk's expected reactions.
func leading(walk *routing.Walk) exposure.Kind {
	if len(walk.Kinds) == 0 {
		return exposure.DogOnLead
	}
	return walk.Kinds[0].Kind
}

func (s *Server) drawing(walk *routing.Walk, dog *exposure.Dog) Drawing {
	kind := leading(walk)
	n := dog.Need(kind)
	d := Drawing{Need: DrawnNeed{kind.String(), n.WorkingM, n.ReactionM}, Profile: Profile{StepM: profileStepM},
		Band: []BandPiece{}, Edges: []BandEdge{}, Line: []LevelLine{}, Arcs: []Arc{}, Beside: []BesideMark{}}
	for i := range walk.Legs {
		l := &walk.Legs[i]
		for m := 0.0; m < l.LengthM; m += profileStepM {
			d.Profile.LeftM = append(d.Profile.LeftM, tenths(min(l.RoomLeftM, n.WorkingM)))
			d.Profile.RightM = append(d.Profile.RightM, tenths(min(l.RoomRightM, n.WorkingM)))
			d.Profile.Level = append(d.Profile.Level, int(l.Level))
			d.Profile.Assumed = append(d.Profile.Assumed, l.RoomDefault)
			d.Profile.SightM = append(d.Profile.SightM, tenths(l.SightM))
		}
		d.Line = append(d.Line, LevelLine{l.Level.String(), s.positions(l.Line)})
	}
	return d
}

func (s *Server) positions(l []plane.Point) []encode.Position {
	return encode.NewLineString(s.planner.Frame(), l).Coordinates
}

func (s *Server) drawingRoutes() {
	huma.Register(s.api, huma.Operation{
		OperationID: "drawings", Method: http.MethodPost, Path: "/v1/drawings", Summary: "Plan walks and draw them", Tags: []string{"walks"},
		Description:  "The plan that /v1/plans gives for the same wish, and for each walk what a map and the walk unrolled are drawn from.",
		MaxBodyBytes: maxBodyBytes, Errors: []int{400, 413, 422, 503, 504},
	}, s.drawings)
}
