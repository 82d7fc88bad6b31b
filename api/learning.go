package api

import (
	"cmp"
	"context"
	"errors"
	"math"
	"net/http"
	"slices"
	"time"

	"wideberth/api/store"
	"wideberth/exposure"
	"wideberth/exposure/hours"
	"wideberth/exposure/learning"
)

// forecast adds up what a walk is predicted to meet nearer than the dog's working
// distance, by cell, as the map has it: without what walks taught, which it is there
// to teach, but with what people said of sources.
type forecast struct {
	field *exposure.Field
	there *exposure.Factors // what people said of sources, without what walks taught
	dog   *exposure.Dog
	cells map[exposure.Cell]float64
	stays map[stay]stayed
}

// stay is a kind at a source where somebody stays: met once a walk at most.
type stay struct {
	source int32
	kind   exposure.Kind
}

type stayed struct {
	active float64
	cell   exposure.Cell
}

func (s *Server) newForecast(ctx context.Context, dog *exposure.Dog) (*forecast, error) {
	p, learnt, err := s.taught(ctx)
	if err != nil {
		return nil, err
	}
	var spoken *exposure.Factors
	if learnt != nil {
		spoken = &exposure.Factors{There: learnt.There}
	}
	return &forecast{p.Snapshot().Field, spoken, dog, map[exposure.Cell]float64{}, map[stay]stayed{}}, nil
}

// step adds some seconds on an edge.
func (x *forecast) step(edge int32, seconds float64, at hours.Moment) {
	for _, t := range x.field.Explain(edge, x.dog, at, x.there) {
		if t.DistM >= x.dog.Need(t.Kind).WorkingM {
			continue
		}
		cell := exposure.Cell{Kind: t.Kind, Place: x.field.Place[edge], Part: exposure.PartOf(at.Hour())}
		if t.Source < 0 || t.Kind.Info().Motion == exposure.SoundEvent {
			x.cells[cell] += t.RatePerS * seconds
		} else if key := (stay{t.Source, t.Kind}); t.Active > x.stays[key].active {
			x.stays[key] = stayed{t.Active, cell}
		}
	}
}

// stretch adds some seconds on a run of edges, shared out by their length.
func (x *forecast) stretch(edges []int32, seconds float64, at hours.Moment, lengthM []float32) {
	whole := 0.0
	for _, e := range edges {
		if e >= 0 && int(e) < len(lengthM) {
			whole += float64(lengthM[e])
		}
	}
	for _, e := range edges {
		if e >= 0 && int(e) < len(lengthM) && whole > 0 {
			x.step(e, seconds*float64(lengthM[e])/whole, at)
		}
	}
}

// expected is the forecast by cell, in an order that does not change.
func (x *forecast) expected() []store.Expected {
	for _, at := range x.stays {
		x.cells[at.cell] += at.active
	}
	clear(x.stays)
	out := []store.Expected{}
	for c, n := range x.cells {
		out = append(out, store.Expected{Kind: c.Kind.String(), Place: c.Place.String(), Part: c.Part.String(), Inside: n, WorkingM: x.dog.Need(c.Kind).WorkingM})
	}
	slices.SortFunc(out, func(a, b store.Expected) int {
		return cmp.Or(cmp.Compare(a.Kind, b.Kind), cmp.Compare(a.Place, b.Place), cmp.Compare(a.Part, b.Part))
	})
	return out
}

// ProposalInfo is what a dog's meetings say of one of its distances. Nothing
// changes until a person accepts it.
type ProposalInfo struct {
	Name          string          `json:"name" doc:"Kind or category." example:"dog_on_lead"`
	Change        string          `json:"change" enum:"keep,nearer,farther,too_few" doc:"too_few: nothing is claimed."`
	FromWorkingM  float64         `json:"from_working_m"`
	ToWorkingM    float64         `json:"to_working_m"`
	FromReactionM float64         `json:"from_reaction_m"`
	ToReactionM   float64         `json:"to_reaction_m"`
	Evidence      *store.Evidence `json:"evidence,omitempty"`
	Have          float64         `json:"have,omitempty" doc:"Of too_few: the effective number of encounters there are."`
	Need          float64         `json:"need,omitempty" doc:"And that are needed."`
}

func (s *Server) learningRoutes() {
	m := s.opt.Store
	keep(s, http.MethodGet, "/v1/dogs/{id}/proposals", "proposals", "What a dog's meetings say of its distances", func(ctx context.Context, w store.Who, in *ByID) ([]ProposalInfo, error) {
		return s.proposals(ctx, w, in.ID)
	})
	keep(s, http.MethodPost, "/v1/dogs/{id}/proposals/{name}/acceptance", "accept-proposal", "Accept a proposal; it is worked out anew and must still be the one seen", func(ctx context.Context, w store.Who, in *struct {
		ByID
		Name string `path:"name" maxLength:"40"`
		Body struct {
			FromWorkingM float64 `json:"from_working_m" doc:"The working distance that the proposal started from."`
			ToWorkingM   float64 `json:"to_working_m" doc:"As proposed."`
		}
	}) (store.Change, error) {
		all, err := s.proposals(ctx, w, in.ID)
		if err != nil {
			return store.Change{}, err
		}
		for _, p := range all {
			if p.Name == in.Name && p.Evidence != nil && math.Abs(p.ToWorkingM-in.Body.ToWorkingM) < 0.5 {
				return m.AcceptChange(ctx, w, in.ID, p.Name, in.Body.FromWorkingM, exposure.Need{WorkingM: p.ToWorkingM, ReactionM: p.ToReactionM}, *p.Evidence)
			}
		}
		return store.Change{}, store.ErrConflict
	})
	keep(s, http.MethodPost, "/v1/dogs/{id}/history/{change}/reversion", "revert-change", "Take a change of distances back", func(ctx context.Context, w store.Who, in *struct {
		ByID
		Change string `path:"change" maxLength:"80"`
	}) (store.Change, error) {
		return m.RevertChange(ctx, w, in.ID, in.Change)
	})
}

// learnFrom is the moment from which meetings are looked at: what is older than all
// that counts at a half-life, and than all that a trend is seen against, says nothing.
func learnFrom(now time.Time, halfLife time.Duration) time.Time {
	return now.Add(-max(learning.ForgottenAfter*halfLife, learning.TrendWindow))
}

func (s *Server) proposals(ctx context.Context, w store.Who, dogID string) ([]ProposalInfo, error) {
	now := s.now()
	account, err := s.opt.Store.Account(ctx, w)
	if err != nil {
		return nil, err
	}
	halfLife := time.Duration(account.Settings.HalfLifeDays) * 24 * time.Hour
	dog, said, met, err := s.opt.Store.Evidence(ctx, w, dogID, learnFrom(now, halfLife))
	if err != nil {
		return nil, err
	}
	settings := learning.DefaultSettings()
	settings.HalfLife = halfLife
	learnt, err := learning.Learn(said, met, now, settings)
	if err != nil {
		return nil, err
	}
	out := []ProposalInfo{}
	for _, in := range said {
		name := cmp.Or(in.Kind, in.Category)
		have, _, ok := dog.Of(name)
		if !ok || have.Calm {
			continue
		}
		info, err := proposal(learnt, in, name, have)
		if err != nil {
			return nil, err
		}
		out = append(out, info)
	}
	return out, nil
}

func proposal(learnt learning.Profile, in learning.Intake, name string, have store.Distance) (ProposalInfo, error) {
	info := ProposalInfo{Name: name, Change: "too_few", FromWorkingM: have.WorkingM, ToWorkingM: have.WorkingM, FromReactionM: have.ReactionM, ToReactionM: have.ReactionM}
	p, err := learnt.Propose(learning.Present{Kind: in.Kind, Category: in.Category, WorkingM: have.WorkingM, ReactionM: have.ReactionM})
	var few *learning.TooFew
	switch {
	case errors.As(err, &few):
		info.Have, info.Need = few.Have, few.Need
		return info, nil
	case err != nil:
		return info, err
	}
	info.Change = changeNames[p.Change]
	info.ToWorkingM, info.ToReactionM = tenths(p.ToWorkingM), tenths(p.ToReactionM)
	info.Evidence = &store.Evidence{WorkingLowM: p.WorkingRangeM.Low, WorkingHighM: p.WorkingRangeM.High, ReactionLowM: p.ReactionRangeM.Low,
		ReactionHighM: p.ReactionRangeM.High, EffectiveN: p.EffectiveN, Encounters: p.Encounters, Late: p.Late, LateBias: p.LateBias, Chance: p.Chance, Capped: p.Capped}
	return info, nil
}

var changeNames = map[learning.Change]string{learning.Keep: "keep", learning.Nearer: "nearer", learning.Farther: "farther"}
