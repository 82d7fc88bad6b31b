package api

import (
	"cmp"
	"context"
	"math"
	"net/http"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"wideberth/api/wire"
	"wideberth/routing"
)

type weekBody struct {
	wire.WishBody
	Hours int `json:"hours,omitempty" minimum:"1" maximum:"336" doc:"How many whole hours from the departure's on; left out: a week."`
}

// HourInfo is what one hour offers.
type HourInfo struct {
	Depart            string  `json:"depart" example:"2026-11-25T07:00:00-05:00"`
	Found             bool    `json:"found" doc:"There is a walk that keeps the limits."`
	CalmChance        float64 `json:"calm_chance"`
	ExpectedReactions float64 `json:"expected_reactions"`
	Strain            float64 `json:"strain" doc:"What moving traffic, wide crossings and the dark count beside them; hours are ranked by both."`
	DurationS         float64 `json:"duration_s"`
	Level             string  `json:"level" enum:"calm,some,tight,hard"`
	Most              string  `json:"most" doc:"What adds most to it."`
	MostKind          string  `json:"most_kind"`
	Dark              bool    `json:"dark"`
}

type weekOutput struct {
	Body struct {
		Hours       []HourInfo `json:"hours" doc:"In order of time."`
		Best        []int      `json:"best" doc:"The best three windows as indices of hours, best first; no two on neighbouring hours."`
		TimeZone    string     `json:"time_zone"`
		Attribution string     `json:"attribution"`
		Caution     string     `json:"caution"`
	}
}

const weekHours = 7 * 24

// week answers POST /v1/weeks.
func (s *Server) week(ctx context.Context, in *struct{ Body weekBody }) (*weekOutput, error) {
	w, planner, err := s.wish(ctx, &in.Body.WishBody)
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	n := cmp.Or(in.Body.Hours, weekHours)
	var hours []routing.HourOutlook
	err = s.searching(ctx, func() (err error) {
		hours, err = planner.Week(ctx, w, n)
		return err
	})
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	out := &weekOutput{}
	out.Body.TimeZone, out.Body.Attribution, out.Body.Caution = s.planner.Zone().String(), wire.Attribution, wire.Caution()
	for _, h := range hours {
		info := HourInfo{Depart: h.Depart.Format(time.RFC3339), Found: h.Found, CalmChance: math.Round(h.CalmChance*1e4) / 1e4,
			ExpectedReactions: math.Round(h.Reactions*1e5) / 1e5, Strain: math.Round(h.Strain*1e5) / 1e5, DurationS: math.Round(h.DurationS), Most: h.Most, Dark: h.Dark,
			Level: routing.LevelOf(h.Reactions / max(h.DurationS, 1)).String()}
		if h.Most != "" {
			info.MostKind = h.MostKind.String()
		}
		out.Body.Hours = append(out.Body.Hours, info)
	}
	out.Body.Best = routing.BestWindows(hours, 3)
	return out, nil
}

type quietBody struct {
	wire.WishBody
	AwayM float64 `json:"away_m" doc:"How far to drive, straight line, up to 30,000 m." example:"8000"`
	Most  int     `json:"most,omitempty" minimum:"1" maximum:"20" doc:"How many places; left out: eight."`
}

// QuietPlaceInfo is a place to drive to and its walk.
type QuietPlaceInfo struct {
	Name  string        `json:"name"`
	At    wire.Position `json:"at"`
	AwayM float64       `json:"away_m"`
	Walk  wire.Walk     `json:"walk"`
}

type quietOutput struct {
	Body struct {
		Places      []QuietPlaceInfo `json:"places" doc:"Calmest walk first."`
		Attribution string           `json:"attribution"`
		Caution     string           `json:"caution"`
	}
}

// quietPlaces answers POST /v1/quiet-places.
func (s *Server) quietPlaces(ctx context.Context, in *struct{ Body quietBody }) (*quietOutput, error) {
	w, planner, err := s.wish(ctx, &in.Body.WishBody)
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	var places []routing.QuietPlace
	err = s.searching(ctx, func() (err error) {
		places, err = planner.QuietPlaces(ctx, w, in.Body.AwayM, cmp.Or(in.Body.Most, 8))
		return err
	})
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	out := &quietOutput{}
	out.Body.Attribution, out.Body.Caution = wire.Attribution, wire.Caution()
	for i := range places {
		p := &places[i]
		out.Body.Places = append(out.Body.Places, QuietPlaceInfo{p.Name, wire.NewPosition(s.planner.Frame(), p.At), math.Round(p.AwayM),
			wire.NewWalk(&p.Walk, s.planner.Frame(), w.Depart)})
	}
	return out, nil
}

func (s *Server) weekRoutes() {
	op := func(id, path, summary, text string) huma.Operation {
		return huma.Operation{OperationID: id, Method: http.MethodPost, Path: path, Summary: summary, Description: text, Tags: []string{"walks"}, MaxBodyBytes: maxBodyBytes, Errors: []int{400, 422, 503, 504}}
	}
	huma.Register(s.api, op("week", "/v1/weeks", "Quiet hours", "The same loop hour by hour: the best walk that each hour offers, and the best windows."), s.week)
	huma.Register(s.api, op("quiet-places", "/v1/quiet-places", "Quiet places", "Which start within a driving radius gives the calmest loop at that hour."), s.quietPlaces)
}
