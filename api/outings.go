package api

import (
	"bytes"
	"cmp"
	"context"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strings"

	"github.com/danielgtaylor/huma/v2"

	"wideberth/api/body"
	"wideberth/api/memory"
	"wideberth/api/page"
	"wideberth/api/store"
	"wideberth/api/wire"
	"wideberth/osmdata/fault"
	"wideberth/routing"
	"wideberth/routing/briefing/draw"
	"wideberth/routing/outing"
	"wideberth/routing/outing/replay"
	"wideberth/routing/outing/week"
)

// outing reads an outing and fills in kept dogs and what the account has learnt.
func (s *Server) outing(ctx context.Context, b *wire.OutingBody) (o outing.Wish, p *routing.Planner, err error) {
	m, err := s.at(ctx, "/gate", b.Gate)
	if err != nil {
		return o, nil, err
	}
	var wrong gathered
	wrong.exchanged(m, "/gate", &b.Gate)
	o, err = b.Outing(m.Planner.Frame(), m.Planner.Zone())
	if err := wrong.take(err); err != nil {
		return o, nil, err
	}
	if len(wrong.list) > 0 {
		return o, nil, wrong.list
	}
	for i := range b.Dogs {
		if b.Dogs[i].DogID == "" {
			continue
		}
		w, err := memory.Who(ctx)
		if err != nil {
			return o, nil, err
		}
		kept, err := s.opt.Store.Dog(ctx, w, b.Dogs[i].DogID)
		if errors.Is(err, store.ErrNotFound) {
			return o, nil, fault.Problems{{Pointer: fmt.Sprintf("/dogs/%d/dog_id", i), Value: b.Dogs[i].DogID, Mend: "give the id of a kept dog that you may see"}}
		}
		if err != nil {
			return o, nil, err
		}
		if o.Dogs[i].Overs, err = s.overs(ctx, b.Dogs[i].DogID); err != nil {
			return o, nil, err
		}
		o.Dogs[i].Dog = *kept.Model()
		o.Dogs[i].Dog.Name = cmp.Or(b.Dogs[i].Name, o.Dogs[i].Dog.Name)
	}
	if p, o.Factors, err = s.taught(ctx, m); err == nil {
		p = p.Under(b.Weather.Weather())
	}
	return o, p, err
}

type timetableOutput struct {
	Body wire.Timetable
}

// planOuting answers POST /v1/outings.
func (s *Server) planOuting(ctx context.Context, in *struct{ Body wire.OutingBody }) (*timetableOutput, error) {
	return s.timetable(ctx, "", &in.Body, func(p *routing.Planner, o outing.Wish) (*outing.Timetable, error) { return outing.Plan(ctx, p, o) })
}

// timetable answers with what plan makes of an outing, which stands at pointer in
// what was sent.
func (s *Server) timetable(ctx context.Context, pointer string, b *wire.OutingBody, plan func(p *routing.Planner, o outing.Wish) (*outing.Timetable, error)) (*timetableOutput, error) {
	o, planner, err := s.outing(ctx, b)
	if err == nil {
		err = o.Check()
	}
	if err != nil {
		return nil, s.problem(ctx, fault.Within(pointer, err))
	}
	var t *outing.Timetable
	if err := s.searching(ctx, func() (err error) {
		t, err = plan(planner, o)
		return err
	}); err != nil {
		return nil, s.problem(ctx, err)
	}
	return &timetableOutput{wire.NewTimetable(t, planner.Frame(), wire.ReaderOf(ctx))}, nil
}

// planOutingWeek answers POST /v1/outings/weeks.
func (s *Server) planOutingWeek(ctx context.Context, in *struct{ Body wire.OutingWeekBody }) (*answered[wire.OutingWeek], error) {
	o, planner, err := s.outing(ctx, &in.Body.Outing)
	if err == nil && !o.Idle() {
		err = o.Check()
	}
	if err != nil {
		return nil, s.problem(ctx, fault.Within("/outing", err))
	}
	skip, err := in.Body.Skipped()
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	var w *week.Week
	if err := s.searching(ctx, func() (err error) {
		w, err = week.Plan(ctx, planner, o, in.Body.Days, skip)
		return err
	}); err != nil {
		return nil, s.problem(ctx, err)
	}
	return &answered[wire.OutingWeek]{wire.NewOutingWeek(w, planner.Frame(), wire.ReaderOf(ctx))}, nil
}

// countGate answers POST /v1/outings/gate.
func (s *Server) countGate(ctx context.Context, in *struct{ Body wire.OutingBody }) (*answered[wire.GateCount], error) {
	o, _, err := s.outing(ctx, &in.Body)
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	g, err := o.GateArithmetic()
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	return &answered[wire.GateCount]{wire.NewGateCount(g)}, nil
}

// replan answers POST /v1/outings/replan.
func (s *Server) replan(ctx context.Context, in *struct{ Body wire.DayBody }) (*timetableOutput, error) {
	b := &in.Body
	m, err := s.at(ctx, "/outing/gate", b.Outing.Gate)
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	before, err := b.Before.Decode(m.Planner.Frame(), m.Planner.Zone())
	if err != nil {
		return nil, s.problem(ctx, fault.Within("/before", err))
	}
	if slack := cmp.Or(b.Outing.Slack, string(outing.Holds)); slack != b.Before.Slack {
		return nil, s.problem(ctx, fault.Problems{{Pointer: "/outing/slack", Value: slack, Mend: "the timetable was made with " + b.Before.Slack + ", which who is out keeps to: send that"}})
	}
	day := outing.Day{Before: before.Rows, Gone: b.Gone, Out: b.Out, ChangePrice: b.ChangePrice}
	if day.Now, err = s.moment(m, "/now", b.Now); err != nil {
		return nil, s.problem(ctx, err)
	}
	for _, l := range b.Late {
		day.Late = append(day.Late, outing.Late(l))
	}
	return s.timetable(ctx, "/outing", &b.Outing, func(p *routing.Planner, o outing.Wish) (*outing.Timetable, error) {
		return outing.Replan(ctx, p, o, day)
	})
}

const usualRuns = 300

// checkOuting answers POST /v1/outings/check.
func (s *Server) checkOuting(ctx context.Context, in *struct{ Body wire.CheckBody }) (*answered[wire.OutingCheck], error) {
	b := &in.Body
	gate := b.Timetable.GatePosition
	m, err := s.at(ctx, "/timetable/gate_position", wire.LatLon{Lat: gate[1], Lon: gate[0]})
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	f := m.Planner.Frame()
	t, err := b.Timetable.Decode(f, m.Planner.Zone())
	if err != nil {
		return nil, s.problem(ctx, fault.Within("/timetable", err))
	}
	var report *replay.Report
	runs := cmp.Or(b.Runs, usualRuns)
	if err := s.searching(ctx, func() (err error) {
		report, err = Replay(ctx, t, runs, b.Seed)
		return err
	}); err != nil {
		return nil, s.problem(ctx, err)
	}
	out := wire.NewOutingCheck(report, t, f, wire.ReaderOf(ctx))
	if out.Frames, err = wire.NewOutingFrames(report, t, f); err != nil {
		return nil, s.problem(ctx, err)
	}
	return &answered[wire.OutingCheck]{out}, nil
}

// Replay checks a timetable; one that cannot be replayed is fault.Problems.
func Replay(ctx context.Context, t *outing.Timetable, runs int, seed uint64) (*replay.Report, error) {
	walks, rules := t.Replay()
	report, err := replay.Check(ctx, walks, rules, runs, seed)
	if err != nil && ctx.Err() == nil {
		return nil, fault.Problems{{Pointer: "/timetable", Value: "rows", Mend: err.Error()}}
	}
	return report, err
}

// retold makes the walks of a timetable again, each as a plan of its own.
func (s *Server) retold(ctx context.Context, b *wire.OutingWalksBody) (rows []outing.Row, plans []*planned, err error) {
	o, planner, err := s.outing(ctx, &b.Outing)
	if err != nil {
		return nil, nil, err
	}
	t, err := b.Timetable.Decode(planner.Frame(), planner.Zone())
	if err != nil {
		return nil, nil, err
	}
	for _, r := range t.Rows {
		if len(b.Dogs) == 0 || slices.Contains(b.Dogs, r.Dog) {
			rows = append(rows, r)
		}
	}
	if len(rows) == 0 {
		return nil, nil, fault.Problems{{Pointer: "/dogs", Value: strings.Join(b.Dogs, ", "), Mend: "name dogs that have a walk in the timetable"}}
	}
	err = s.searching(ctx, func() error {
		told, err := outing.Retold(ctx, planner, o, rows)
		for i, plan := range told {
			plans = append(plans, &planned{planner: planner, words: wire.ReaderOf(ctx), wish: routing.Wish{Dog: o.Dogs[slices.IndexFunc(o.Dogs, func(d outing.Dog) bool { return d.Dog.Name == rows[i].Dog })].Dog}, plan: plan})
		}
		return err
	})
	return rows, plans, err
}

// drawOuting answers POST /v1/outings/drawings.
func (s *Server) drawOuting(ctx context.Context, in *struct{ Body wire.OutingWalksBody }) (*answered[[]wire.DrawnOutingWalk], error) {
	rows, plans, err := s.retold(ctx, &in.Body)
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	out := []wire.DrawnOutingWalk{}
	for i, p := range plans {
		scene, err := p.scene(0, "")
		if err != nil {
			return nil, s.problem(ctx, err)
		}
		out = append(out, wire.DrawnOutingWalk{Dog: rows[i].Dog, Plan: wire.NewPlan(p.plan, p.planner.Frame(), p.words), Drawing: wire.NewDrawing(scene, p.planner.Frame())})
	}
	return &answered[[]wire.DrawnOutingWalk]{out}, nil
}

// printOuting answers POST /v1/outings/handouts.
func (s *Server) printOuting(ctx context.Context, in *struct{ Body wire.OutingPaper }) (*handOutOutput, error) {
	b := &in.Body
	rows, plans, err := s.retold(ctx, &b.OutingWalksBody)
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	var scenes []*draw.Scene
	var options []draw.HandOutOptions
	for i, p := range plans {
		scene, err := p.scene(0, b.Units)
		if err != nil {
			return nil, s.problem(ctx, err)
		}
		r := &rows[i]
		scenes = append(scenes, scene)
		options = append(options, draw.HandOutOptions{Paper: draw.Paper(cmp.Or(b.Paper, string(draw.A4))), StyleHref: handOutStyle,
			Slip: &draw.Slip{Person: r.Person, Meet: r.Meet, Leave: r.Leave, Back: r.Back, Bite: r.Bite}})
	}
	var out bytes.Buffer
	if err := draw.HandOuts(&out, scenes, options); err != nil {
		return nil, s.problem(ctx, err)
	}
	return &handOutOutput{ContentType: "text/html; charset=utf-8", Policy: page.Policy, Body: out.Bytes()}, nil
}

// maxTimetableBytes is as much as a timetable can have to be kept, and what comes with it.
const maxTimetableBytes = store.MostOutingBytes + memory.BesideBytes

func (s *Server) outingRoutes() {
	op := func(id, path, summary, text string) huma.Operation {
		return huma.Operation{OperationID: id, Method: http.MethodPost, Path: path, Summary: summary, Description: text, Tags: []string{"outings"},
			MaxBodyBytes: maxTimetableBytes, Errors: []int{400, 413, 422, 429, 503, 504}}
	}
	asked := func(o huma.Operation) huma.Operation { // without a timetable
		o.MaxBodyBytes = body.MostBytes
		return o
	}
	huma.Register(s.api, asked(op("plan-outing", "/v1/outings", "Plan an outing that keeps dogs apart",
		"Which dog walks when, where and with whom, so that no two come nearer than the larger of their working distances although people are late, slow or fast; one dog at a time in the gate zone. Dogs that cannot be served are named with the reason and what would help.")), s.planOuting)
	huma.Register(s.api, asked(op("plan-outing-week", "/v1/outings/weeks", "Plan an outing for several days",
		"The same outing from its first day on, loads fair over all days: what somebody walked counts on the days after. Many dogs on many days may take longer than a request has; then ask day by day, with walked_minutes and there_minutes of the people.")), s.planOutingWeek)
	huma.Register(s.api, asked(op("count-gate", "/v1/outings/gate", "How many walks the gate lets through", "Arithmetic only, at once: a ceiling that tells before any search whether an outing has a chance.")), s.countGate)
	huma.Register(s.api, op("replan-outing", "/v1/outings/replan", "Re-plan on the day", "Somebody is late or does not come, a dog stays in: what is under way is fixed, and changing what is not has a price."), s.replan)
	huma.Register(s.api, op("check-outing", "/v1/outings/check", "Replay a timetable", "Second by second, at random and driven to the worst, by a program that knows nothing of the planner; and where everybody is at each minute."), s.checkOuting)
	huma.Register(s.api, op("draw-outing", "/v1/outings/drawings", "Walks of a timetable with what they are drawn from", "For a timetable that was kept: its walks leg by leg again, the places to wait at among the watch points."), s.drawOuting)
	paper := op("print-outing", "/v1/outings/handouts", "Hand-outs of a timetable", "One page a walk, one after the other, as HTML to be printed: when to be at the gate, where to wait and until when, and the walk as on any hand-out.")
	paper.Responses = map[string]*huma.Response{"200": {Description: "The pages", Content: map[string]*huma.MediaType{"text/html": {}}}}
	huma.Register(s.api, paper, s.printOuting)
}
