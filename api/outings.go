package api

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"math"
	"net/http"
	"slices"
	"strings"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"wideberth/api/store"
	"wideberth/api/wire"
	"wideberth/exposure"
	"wideberth/osmdata/fault"
	"wideberth/osmdata/plane"
	"wideberth/routing"
	"wideberth/routing/briefing/draw"
	"wideberth/routing/outing"
	"wideberth/routing/outing/replay"
)

// OutingBody asks for a timetable.
type OutingBody struct {
	Gate        LatLon         `json:"gate" doc:"Where every walk begins and ends."`
	ZoneM       float64        `json:"zone_m,omitempty" doc:"Radius round the gate that holds one dog at a time; left out: 60."`
	Start       string         `json:"start" doc:"First minute of the outing, RFC 3339 with its zone." example:"2026-11-25T09:00:00-05:00"`
	Minutes     float64        `json:"minutes" doc:"How long the outing may take, 15 to 720." example:"180"`
	Dogs        []OutingDog    `json:"dogs" minItems:"1" maxItems:"60"`
	People      []OutingPerson `json:"people" minItems:"1" maxItems:"40"`
	Together    [][2]string    `json:"together,omitempty" maxItems:"200" doc:"Names of dogs that may meet: one household, friends."`
	Slack       string         `json:"slack,omitempty" enum:"holds,printed,free" doc:"holds: leave on the minute, wait at printed places (left out: this); printed: leave up to three minutes late, wait at printed places; free: never wait."`
	Limits      LimitsBody     `json:"limits,omitempty"`
	MinutePrice float64        `json:"minute_price,omitempty" doc:"What a wished minute that is not granted weighs, in minutes of the dog's own best walk; left out: 3."`
	Seed        uint64         `json:"seed,omitempty" doc:"The same seed gives the same timetable."`
}

// OutingDog is a dog to be walked.
type OutingDog struct {
	Dog         exposure.DogFile `json:"dog,omitempty" doc:"The dog with its name and distances; its pace is the outing's."`
	DogID       string           `json:"dog_id,omitempty" maxLength:"80" doc:"A kept dog, in place of dog; its cautions hold."`
	Name        string           `json:"name,omitempty" maxLength:"80" doc:"What the timetable calls it, where two dogs have one name; left out: the dog's own."`
	Minutes     float64          `json:"minutes" doc:"Wished, 5 to 90." example:"30"`
	Experience  string           `json:"experience,omitempty" enum:"new,regular,experienced" doc:"Least that whoever walks it must have."`
	BiteHistory bool             `json:"bite_history,omitempty" doc:"Goes with experienced people only."`
}

// OutingPerson is somebody who walks dogs.
type OutingPerson struct {
	Name       string `json:"name" minLength:"1" maxLength:"80" example:"Ada"`
	From       string `json:"from,omitempty" doc:"RFC 3339; left out: the whole outing."`
	To         string `json:"to,omitempty"`
	Experience string `json:"experience,omitempty" enum:"new,regular,experienced"`
}

// Outing turns what was sent into what a planner understands; dogs that are named
// by id only are left to be filled in. Faults are fault.Problems.
func (b *OutingBody) Outing(f plane.Frame, zone *time.Location) (outing.Wish, error) {
	o := outing.Wish{Gate: f.Forward(b.Gate.Lon, b.Gate.Lat), ZoneM: b.ZoneM, Minutes: b.Minutes, Together: b.Together,
		Slack: outing.Slack(b.Slack), Limits: b.Limits.limits(f), MinutePrice: b.MinutePrice, Seed: b.Seed}
	var wrong fault.Problems
	moment := func(pointer, text string) (t time.Time) {
		t, err := time.Parse(time.RFC3339, text)
		if err != nil {
			wrong = append(wrong, fault.Problem{Pointer: pointer, Value: fmt.Sprintf("%q", text), Mend: "give a time with its zone, like 2026-11-25T09:00:00-05:00"})
		}
		return t.In(zone).Truncate(time.Second)
	}
	step := func(pointer, text string) outing.Experience {
		e, err := outing.ParseExperience(text)
		if err != nil {
			wrong = append(wrong, fault.Problem{Pointer: pointer, Value: fmt.Sprintf("%q", text), Mend: err.Error()})
		}
		return e
	}
	o.Start = moment("/start", b.Start)
	for i := range b.Dogs {
		d, at := &b.Dogs[i], fmt.Sprintf("/dogs/%d", i)
		out := outing.Dog{Minutes: d.Minutes, Experience: step(at+"/experience", d.Experience), Bite: d.BiteHistory}
		if d.DogID == "" {
			dog, err := dogOf(&d.Dog)
			var ps fault.Problems
			switch {
			case errors.As(within(at+"/dog", err), &ps):
				wrong = append(wrong, ps...)
			case err != nil:
				return o, err
			default:
				out.Dog = *dog
				out.Dog.Name = orDefault(d.Name, dog.Name)
			}
		}
		o.Dogs = append(o.Dogs, out)
	}
	for i, p := range b.People {
		at := fmt.Sprintf("/people/%d", i)
		person := outing.Person{Name: p.Name, Experience: step(at+"/experience", p.Experience)}
		if p.From != "" {
			person.From = moment(at+"/from", p.From)
		}
		if p.To != "" {
			person.To = moment(at+"/to", p.To)
		}
		o.People = append(o.People, person)
	}
	if len(wrong) > 0 {
		return o, wrong
	}
	return o, nil
}

// outing reads an outing and fills in kept dogs and what the account has learnt.
func (s *Server) outing(ctx context.Context, b *OutingBody) (o outing.Wish, p *routing.Planner, err error) {
	if o, err = b.Outing(s.planner.Frame(), s.planner.Zone()); err != nil {
		return o, nil, err
	}
	for i := range b.Dogs {
		if b.Dogs[i].DogID == "" {
			continue
		}
		w, err := who(ctx)
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
		o.Dogs[i].Dog = *kept.Model()
		o.Dogs[i].Dog.Name = orDefault(b.Dogs[i].Name, o.Dogs[i].Dog.Name)
		o.Dogs[i].Bite = o.Dogs[i].Bite || kept.Profile.Cautions.BiteHistory
		if kept.Profile.Cautions.ExperiencedOnly {
			o.Dogs[i].Experience = outing.Experienced
		}
	}
	p, o.Factors, err = s.taught(ctx)
	return o, p, err
}

type timetableOutput struct {
	Body wire.Timetable
}

// planOuting answers POST /v1/outings.
func (s *Server) planOuting(ctx context.Context, in *struct{ Body OutingBody }) (*timetableOutput, error) {
	return s.timetable(ctx, "", &in.Body, func(p *routing.Planner, o outing.Wish) (*outing.Timetable, error) { return outing.Plan(ctx, p, o) })
}

// timetable answers with what plan makes of an outing, which stands at pointer in
// what was sent.
func (s *Server) timetable(ctx context.Context, pointer string, b *OutingBody, plan func(p *routing.Planner, o outing.Wish) (*outing.Timetable, error)) (*timetableOutput, error) {
	o, planner, err := s.outing(ctx, b)
	if err == nil {
		err = o.Check()
	}
	if err != nil {
		return nil, s.problem(ctx, within(pointer, err))
	}
	var t *outing.Timetable
	if err := s.searching(ctx, func() (err error) {
		t, err = plan(planner, o)
		return err
	}); err != nil {
		return nil, s.problem(ctx, err)
	}
	return &timetableOutput{wire.NewTimetable(t, s.planner.Frame())}, nil
}

// countGate answers POST /v1/outings/gate.
func (s *Server) countGate(ctx context.Context, in *struct{ Body OutingBody }) (*answered[wire.GateCount], error) {
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

// DayBody is what came between a timetable and the outing.
type DayBody struct {
	Outing      OutingBody     `json:"outing" doc:"As it was asked for."`
	Before      wire.Timetable `json:"before" doc:"The timetable as it stands."`
	Now         string         `json:"now,omitempty" doc:"RFC 3339; left out: now."`
	Late        []LatePerson   `json:"late,omitempty" maxItems:"40"`
	Gone        []string       `json:"gone,omitempty" maxItems:"40" doc:"People who do not come, or leave after what they are walking."`
	Out         []string       `json:"out,omitempty" maxItems:"60" doc:"Dogs that are not walked after all."`
	ChangePrice float64        `json:"change_price,omitempty" doc:"What changing a walk that has not begun weighs, in wished minutes not granted; left out: 10."`
}

// LatePerson is somebody behind time.
type LatePerson struct {
	Person  string `json:"person"`
	Minutes int    `json:"minutes" minimum:"1" maximum:"240" doc:"From now, not from the printed time: whoever has not set out is there so many minutes after now; a walk under way runs so much behind its printed times."`
	NotOut  bool   `json:"not_out,omitempty" doc:"Has not set out, whatever the timetable says."`
}

// replan answers POST /v1/outings/replan.
func (s *Server) replan(ctx context.Context, in *struct{ Body DayBody }) (*timetableOutput, error) {
	b := &in.Body
	before, err := b.Before.Decode(s.planner.Frame(), s.planner.Zone())
	if err != nil {
		return nil, s.problem(ctx, within("/before", err))
	}
	if slack := orDefault(b.Outing.Slack, string(outing.Holds)); slack != b.Before.Slack {
		return nil, s.problem(ctx, fault.Problems{{Pointer: "/outing/slack", Value: slack, Mend: "the timetable was made with " + b.Before.Slack + ", which who is out keeps to: send that"}})
	}
	day := outing.Day{Before: before.Rows, Gone: b.Gone, Out: b.Out, ChangePrice: b.ChangePrice}
	if day.Now, err = s.moment("/now", b.Now); err != nil {
		return nil, s.problem(ctx, err)
	}
	for _, l := range b.Late {
		day.Late = append(day.Late, outing.Late(l))
	}
	return s.timetable(ctx, "/outing", &b.Outing, func(p *routing.Planner, o outing.Wish) (*outing.Timetable, error) {
		return outing.Replan(ctx, p, o, day)
	})
}

type checkBody struct {
	Timetable wire.Timetable `json:"timetable"`
	Runs      int            `json:"runs,omitempty" minimum:"0" maximum:"2000" doc:"Random replays; left out: 300."`
	Seed      uint64         `json:"seed,omitempty"`
}

// OutingCheck is what the independent replay found.
type OutingCheck struct {
	Kept        bool          `json:"kept" doc:"No rule was broken."`
	Verdict     string        `json:"verdict"`
	Runs        int           `json:"runs"`
	Pairs       []wire.Pinch  `json:"pairs" doc:"Least separation of every pair at random, tightest first."`
	Directed    []wire.Pinch  `json:"directed" doc:"The closest that each pair can be driven to, tightest first."`
	ZoneSeconds float64       `json:"zone_seconds" doc:"Seconds with two dogs in the gate zone, in all runs."`
	Frames      []OutingFrame `json:"frames,omitempty" doc:"The timetable minute by minute, from the first dog out to the last one home."`
}

const usualRuns = 300

// checkOuting answers POST /v1/outings/check.
func (s *Server) checkOuting(ctx context.Context, in *struct{ Body checkBody }) (*answered[OutingCheck], error) {
	b := &in.Body
	t, err := b.Timetable.Decode(s.planner.Frame(), s.planner.Zone())
	if err != nil {
		return nil, s.problem(ctx, within("/timetable", err))
	}
	var report *replay.Report
	runs := orDefault(b.Runs, usualRuns)
	if err := s.searching(ctx, func() (err error) {
		report, err = Replay(ctx, t, runs, b.Seed)
		return err
	}); err != nil {
		return nil, s.problem(ctx, err)
	}
	out := NewOutingCheck(report, t, s.planner.Frame())
	if out.Frames, err = outingFrames(report, t, s.planner.Frame()); err != nil {
		return nil, s.problem(ctx, err)
	}
	return &answered[OutingCheck]{out}, nil
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

// NewOutingCheck is a report in the form that leaves the house.
func NewOutingCheck(r *replay.Report, t *outing.Timetable, f plane.Frame) OutingCheck {
	pairs := func(list []replay.Meeting) []wire.Pinch {
		out := []wire.Pinch{}
		for i := range list {
			out = append(out, newPinch(&list[i], t, f))
		}
		return out
	}
	return OutingCheck{Kept: r.Kept(), Verdict: english.Verdict(r, t.Start), Runs: r.Runs, Pairs: pairs(r.Random), Directed: pairs(r.Directed), ZoneSeconds: r.ZoneS}
}

// OutingFrame is one minute of a timetable.
type OutingFrame struct {
	Minute   int           `json:"minute" doc:"Of the outing."`
	Clock    string        `json:"clock" example:"10:24"`
	Dogs     []OutingStand `json:"dogs" doc:"Dogs that are out, where they are if everybody is on time and walks at the usual pace."`
	Tightest *wire.Pinch   `json:"tightest,omitempty" doc:"The pair with the least room to spare in this minute, of all replays and drives; left out where no two dogs are out."`
}

// OutingStand is where a dog is.
type OutingStand struct {
	Dog string        `json:"dog"`
	At  wire.Position `json:"at"`
}

// outingFrames tells a timetable minute by minute.
func outingFrames(r *replay.Report, t *outing.Timetable, f plane.Frame) ([]OutingFrame, error) {
	walks, _ := t.Replay()
	frames, err := replay.Frames(walks)
	if err != nil {
		return nil, err
	}
	out := []OutingFrame{}
	for _, fr := range frames {
		o := OutingFrame{Minute: fr.Minute, Clock: t.Start.Add(time.Duration(fr.Minute) * time.Minute).Format("15:04"), Dogs: []OutingStand{}}
		for _, d := range fr.Dogs {
			o.Dogs = append(o.Dogs, OutingStand{d.Dog, wire.NewPosition(f, d.At)})
		}
		if m := fr.Minute; m >= 0 && m < len(r.Minutes) && !math.IsInf(r.Minutes[m].LeastM, 1) {
			p := newPinch(&r.Minutes[m], t, f)
			o.Tightest = &p
		}
		out = append(out, o)
	}
	return out, nil
}

func newPinch(m *replay.Meeting, t *outing.Timetable, f plane.Frame) wire.Pinch {
	return wire.Pinch{Dogs: m.Dogs, LeastM: tenths(m.LeastM), NeedM: m.NeedM,
		At: t.Start.Add(time.Duration(m.AtS * float64(time.Second))).Format("15:04"), Place: wire.NewPosition(f, m.At)}
}

// OutingWalksBody asks for walks of a timetable that was made before.
type OutingWalksBody struct {
	Outing    OutingBody     `json:"outing" doc:"As it was asked for."`
	Timetable wire.Timetable `json:"timetable"`
	Dogs      []string       `json:"dogs,omitempty" maxItems:"60" doc:"Whose walks; left out: all, by start."`
}

// retold makes the walks of a timetable again, each as a plan of its own.
func (s *Server) retold(ctx context.Context, b *OutingWalksBody) (rows []outing.Row, plans []*planned, err error) {
	o, planner, err := s.outing(ctx, &b.Outing)
	if err != nil {
		return nil, nil, err
	}
	t, err := b.Timetable.Decode(s.planner.Frame(), s.planner.Zone())
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
			plans = append(plans, &planned{planner: planner, wish: routing.Wish{Dog: o.Dogs[slices.IndexFunc(o.Dogs, func(d outing.Dog) bool { return d.Dog.Name == rows[i].Dog })].Dog}, plan: plan})
		}
		return err
	})
	return rows, plans, err
}

// drawOuting answers POST /v1/outings/drawings.
func (s *Server) drawOuting(ctx context.Context, in *struct{ Body OutingWalksBody }) (*answered[[]DrawnOutingWalk], error) {
	rows, plans, err := s.retold(ctx, &in.Body)
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	out := []DrawnOutingWalk{}
	for i, p := range plans {
		scene, err := p.scene(0, "")
		if err != nil {
			return nil, s.problem(ctx, err)
		}
		out = append(out, DrawnOutingWalk{rows[i].Dog, wire.NewPlan(p.plan, s.planner.Frame()), s.drawing(scene)})
	}
	return &answered[[]DrawnOutingWalk]{out}, nil
}

// DrawnOutingWalk is one walk of a timetable with what it is drawn from.
type DrawnOutingWalk struct {
	Dog     string    `json:"dog"`
	Plan    wire.Plan `json:"plan"`
	Drawing Drawing   `json:"drawing"`
}

type outingPaper struct {
	OutingWalksBody
	Paper string `json:"paper,omitempty" enum:"a4,letter" doc:"Left out: A4."`
	Units string `json:"units,omitempty" enum:"metric,us"`
}

// printOuting answers POST /v1/outings/handouts.
func (s *Server) printOuting(ctx context.Context, in *struct{ Body outingPaper }) (*handOutOutput, error) {
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
		options = append(options, draw.HandOutOptions{Paper: draw.Paper(orDefault(b.Paper, string(draw.A4))), StyleHref: handOutStyle,
			Slip: &draw.Slip{Person: r.Person, Meet: r.Meet, Leave: r.Leave, Back: r.Back, Bite: r.Bite}})
	}
	var out bytes.Buffer
	if err := draw.HandOuts(&out, scenes, options); err != nil {
		return nil, s.problem(ctx, err)
	}
	return &handOutOutput{ContentType: "text/html; charset=utf-8", Policy: pagePolicy, Body: out.Bytes()}, nil
}

// maxTimetableBytes is as much as a timetable can have to be kept, and what comes with it.
const maxTimetableBytes = store.MostOutingBytes + besideBody

func (s *Server) outingRoutes() {
	op := func(id, path, summary, text string) huma.Operation {
		return huma.Operation{OperationID: id, Method: http.MethodPost, Path: path, Summary: summary, Description: text, Tags: []string{"outings"},
			MaxBodyBytes: maxTimetableBytes, Errors: []int{400, 413, 422, 429, 503, 504}}
	}
	asked := func(o huma.Operation) huma.Operation { // without a timetable
		o.MaxBodyBytes = maxBodyBytes
		return o
	}
	huma.Register(s.api, asked(op("plan-outing", "/v1/outings", "Plan an outing that keeps dogs apart",
		"Which dog walks when, where and with whom, so that no two come nearer than the larger of their working distances although people are late, slow or fast; one dog at a time in the gate zone. Dogs that cannot be served are named with the reason and what would help.")), s.planOuting)
	huma.Register(s.api, asked(op("count-gate", "/v1/outings/gate", "How many walks the gate lets through", "Arithmetic only, at once: a ceiling that tells before any search whether an outing has a chance.")), s.countGate)
	huma.Register(s.api, op("replan-outing", "/v1/outings/replan", "Re-plan on the day", "Somebody is late or does not come, a dog stays in: what is under way is fixed, and changing what is not has a price."), s.replan)
	huma.Register(s.api, op("check-outing", "/v1/outings/check", "Replay a timetable", "Second by second, at random and driven to the worst, by a program that knows nothing of the planner; and where everybody is at each minute."), s.checkOuting)
	huma.Register(s.api, op("draw-outing", "/v1/outings/drawings", "Walks of a timetable with what they are drawn from", "For a timetable that was kept: its walks leg by leg again, the places to wait at among the watch points."), s.drawOuting)
	paper := op("print-outing", "/v1/outings/handouts", "Hand-outs of a timetable", "One page a walk, one after the other, as HTML to be printed: when to be at the gate, where to wait and until when, and the walk as on any hand-out.")
	paper.Responses = map[string]*huma.Response{"200": {Description: "The pages", Content: map[string]*huma.MediaType{"text/html": {}}}}
	huma.Register(s.api, paper, s.printOuting)
}
