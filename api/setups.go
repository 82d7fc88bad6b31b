package api

import (
	"bytes"
	"cmp"
	"context"
	"slices"

	"github.com/danielgtaylor/huma/v2"

	"wideberth/api/page"
	"wideberth/api/problem"
	"wideberth/api/wire"
	"wideberth/exposure"
	"wideberth/osmdata/fault"
	"wideberth/routing/briefing/draw"
	"wideberth/routing/snapshot"
	"wideberth/routing/training/setup"
)

// setupAsked is a search for set-ups that has been done.
type setupAsked struct {
	snap  *snapshot.Snapshot
	wish  setup.Wish
	found *setup.Found
	dog   *exposure.Dog
	bite  bool
}

// setupProofRuns is how often the two timetables of a set-up are replayed.
const setupProofRuns = 100

// findSetups looks for set-ups, behind the gate.
func (s *Server) findSetups(ctx context.Context, b *wire.SetupBody) (*setupAsked, error) {
	m, err := s.at(ctx, "/from", b.From)
	if err != nil {
		return nil, err
	}
	dog, bite, p, fa, err := s.watching(ctx, m, &wire.WatchBody{Dog: b.Dog, DogID: b.DogID, Bite: b.Bite})
	if err != nil {
		return nil, err
	}
	w, err := b.Wish(p.Frame(), p.Zone(), s.now())
	if err != nil {
		return nil, err
	}
	w.Dog, w.Factors = *dog, fa
	w.Dog.Cautions.BiteHistory = bite
	if err := s.met(ctx, &b.Helper, b.DogID, &w.Helper); err != nil {
		return nil, err
	}
	if w.Steps, err = s.biteSteps(ctx, bite, w.Steps); err != nil {
		return nil, err
	}
	out := &setupAsked{snap: p.Snapshot(), wish: w, dog: dog, bite: bite}
	err = s.searching(ctx, func() error {
		reach, release, err := setup.ByCar(p, b.From.In(p.Frame()), cmp.Or(b.DriveMinutes, setup.UsualDriveMin))
		if err != nil {
			return err
		}
		defer release()
		out.found, err = setup.Find(ctx, p, w, reach)
		return err
	})
	return out, err
}

// met fills in what is kept of a helper and of a trainer's word.
func (s *Server) met(ctx context.Context, b *wire.HelperBody, dogID string, h *setup.Helper) error {
	if s.desk == nil {
		if b.DogID+b.TrainerWord == "" {
			return nil
		}
		return problem.ErrNoMemory
	}
	return s.desk.Helper(ctx, b, dogID, h)
}

// biteSteps holds the rule of dogs with a bite history for lines.
func (s *Server) biteSteps(ctx context.Context, bite bool, steps []float64) ([]float64, error) {
	nearest := 0.0
	if len(steps) > 0 {
		nearest = slices.Min(steps)
	}
	limit, held, err := s.biteLimit(ctx, bite, nearest)
	if err != nil || !held {
		return steps, err
	}
	return []float64{2, (2 + limit) / 2, limit}, nil
}

// setups answers POST /v1/setups.
func (s *Server) setups(ctx context.Context, in *struct{ Body wire.SetupBody }) (*answered[wire.SetupList], error) {
	a, err := s.findSetups(ctx, &in.Body)
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	var proof *setup.Proof
	if len(a.found.Setups) > 0 {
		if proof, err = a.found.Setups[0].Prove(ctx, setupProofRuns); err != nil {
			return nil, s.problem(ctx, err)
		}
	}
	out := wire.NewSetupList(a.found, &a.wish, a.snap, proof, wordsIn(in.Body.Units, wire.ReaderOf(ctx)))
	if a.bite {
		out.Cautions = append(out.Cautions, wordsIn(in.Body.Units, wire.ReaderOf(ctx)).Say("setup.caution.bite"))
	}
	return &answered[wire.SetupList]{out}, nil
}

// oneSetup finds the set-up that is asked for by its car, or the best.
func (s *Server) oneSetup(ctx context.Context, b *wire.SetupBody) (*setupAsked, *setup.Setup, error) {
	a, err := s.findSetups(ctx, b)
	if err != nil {
		return nil, nil, err
	}
	if len(a.found.Setups) == 0 {
		return nil, nil, fault.Problems{{Pointer: "/car", Mend: wire.ReaderOf(ctx).SetupLack(a.found)}}
	}
	return a, &a.found.Setups[0], nil
}

// printSetup answers POST /v1/setups/handouts.
func (s *Server) printSetup(ctx context.Context, in *struct{ Body wire.SetupSheetBody }) (*handOutOutput, error) {
	b := &in.Body
	a, one, err := s.oneSetup(ctx, &b.SetupBody)
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	proof, err := one.Prove(ctx, setupProofRuns)
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	var sheets []draw.SetupSheet
	for _, role := range []setup.Role{setup.DogSide, setup.HelperSide} {
		if b.Role == "" || b.Role == string(role) {
			sheets = append(sheets, draw.SetupSheet{Role: role, At: a.wish.At, Dog: a.dog, Bite: a.bite, Wish: &a.wish, Proof: proof,
				Paper: draw.Paper(cmp.Or(b.Paper, string(draw.A4))), StyleHref: handOutStyle})
		}
	}
	var out bytes.Buffer
	if err := draw.SetupSheets(&out, a.snap, wordsIn(b.Units, wire.ReaderOf(ctx)), one, sheets); err != nil {
		return nil, s.problem(ctx, err)
	}
	return &handOutOutput{ContentType: "text/html; charset=utf-8", Policy: page.Policy, Body: out.Bytes()}, nil
}

// setupPicture answers POST /v1/setups/pictures.
func (s *Server) setupPicture(ctx context.Context, in *struct{ Body wire.SetupPictureBody }) (*pictureOutput, error) {
	b := &in.Body
	a, one, err := s.oneSetup(ctx, &b.SetupBody)
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	theme, _ := draw.ParseTheme(b.Theme)
	var out bytes.Buffer
	o := draw.MapOptions{WidthPX: cmp.Or(b.WidthPX, 390), HeightPX: cmp.Or(b.HeightPX, 392), Theme: theme}
	if err := draw.SetupMap(&out, a.snap, wordsIn(b.Units, wire.ReaderOf(ctx)), one, setup.Role(b.Role), o); err != nil {
		return nil, s.problem(ctx, err)
	}
	return &pictureOutput{ContentType: "image/svg+xml", Body: out.Bytes()}, nil
}

func (s *Server) setupRoutes() {
	op := trainingOperation
	huma.Register(s.api, op("plan-setup", "/v1/setups", "Ground and minutes for a meeting with a known helper",
		"Open ground within a drive where helper and dog have parallel lines, ways in of their own, room to get away and little else near at that hour; what both do, minute by minute; how near they come at the worst."), s.setups)
	paper := op("print-setup", "/v1/setups/handouts", "The sheets of a set-up", "One page for the dog's side and one for the helper, as HTML to be printed. Name the car of an answer to have that one.")
	paper.Responses = map[string]*huma.Response{"200": {Description: "The pages", Content: map[string]*huma.MediaType{"text/html": {}}}}
	huma.Register(s.api, paper, s.printSetup)
	picture := op("setup-picture", "/v1/setups/pictures", "The ground of a set-up drawn", "Lines, ways in and distances as SVG at true scale.")
	picture.Responses = map[string]*huma.Response{"200": {Description: "The picture", Content: map[string]*huma.MediaType{"image/svg+xml": {}}}}
	huma.Register(s.api, picture, s.setupPicture)
}
