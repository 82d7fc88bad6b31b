package knowledge

import (
	"errors"
	"maps"
	"slices"

	"wideberth/api/wire/dogfile"
	"wideberth/api/wire/kept"
	"wideberth/exposure"
	"wideberth/exposure/learning"
	"wideberth/osmdata/fault"
)

// Meeting is a kept meeting as statistics take it.
func Meeting(e *kept.Encounter) learning.Meeting {
	m := learning.Meeting{Name: e.Kind, Place: e.Place, When: e.At, Outcome: outcome(e), Sudden: e.Sudden}
	if e.Nearest != "" && e.DistanceM != nil {
		m.Near = learning.Near{Known: true, Bound: bounds[e.Nearest], M: *e.DistanceM}
		if e.ToM != nil {
			m.Near.ToM = *e.ToM
		}
	}
	if e.NoticedM != nil {
		m.NoticedM = *e.NoticedM
	}
	return m
}

// Meetings are Meeting for many.
func Meetings(list []kept.Encounter) []learning.Meeting {
	out := make([]learning.Meeting, len(list))
	for i := range list {
		out[i] = Meeting(&list[i])
	}
	return out
}

// Overs are the moments of some meetings at which the dog went over threshold.
func Overs(list []kept.Encounter) (out []learning.Over) {
	for i := range list {
		if e := &list[i]; e.Over != "" && !e.Removed {
			out = append(out, learning.Over{At: e.At, Harm: kept.Harm(e.Over)})
		}
	}
	return out
}

// bounds are the words for how a distance is meant; between is exact at both ends.
var bounds = map[string]learning.Bound{"exact": learning.Exact, "between": learning.Exact, "about": learning.About,
	"nearer_than": learning.NearerThan, "farther_than": learning.FartherThan}

func outcome(e *kept.Encounter) learning.Outcome {
	switch {
	case e.Over != "":
		return learning.WentOver
	case e.Food == "refused":
		return learning.RefusedFood
	case e.TurnedBack:
		return learning.TurnedBack
	case e.Food == "taken":
		return learning.TookFood
	}
	return learning.StayedUnder
}

// Count says what a walk of which all is told found of what was expected of it: what
// the store writes down with every change of either.
func Count(expected []kept.Expected, met []kept.Encounter) []float64 {
	cells := make([]learning.Expected, len(expected))
	for i, x := range expected {
		c, ok := exposure.ParseCell(x.Kind, x.Place, x.Part)
		if !ok {
			c.Kind = exposure.KindCount // a name that is no longer in use: nothing is met in it
		}
		cells[i] = learning.Expected{Cell: c, Inside: x.Inside, WorkingM: x.WorkingM}
	}
	observed, _ := learning.Observed(cells, Meetings(met))
	return observed
}

// Expected is a forecast as it is kept.
func Expected(list []learning.Expected) []kept.Expected {
	out := make([]kept.Expected, len(list))
	for i, x := range list {
		out[i] = kept.Expected{Kind: x.Kind.String(), Place: x.Place.String(), Part: x.Part.String(), Inside: x.Inside, WorkingM: x.WorkingM}
	}
	return out
}

// Spoken is what people said of a source.
func Spoken(r *kept.Report) *learning.Spoken {
	s := &learning.Spoken{Mapped: r.Mapped != "", Ends: r.Ends}
	for _, word := range r.Said {
		s.Said = append(s.Said, learning.Statement(word))
	}
	return s
}

// Held are a kept dog's distances as learning takes them.
func Held(d *kept.Dog) learning.Distances {
	out := learning.Distances{}
	for name, x := range d.Distances {
		h := learning.Held{Need: x.Need, Calm: x.Calm, Prior: learning.Prior(x.Prior)}
		if x.From == "learnt" {
			h.Since = x.Since
		}
		out[name] = h
	}
	return out
}

// Distances derives what a dog's plans start from of what is said of it: needs as
// they are, else what the plain answers come to, else the stated wide default for
// other dogs. Every fault is named at once, in fault.Problems.
func Distances(p *kept.Profile) (map[string]kept.Distance, error) {
	wrong := p.Problems()
	out := map[string]kept.Distance{}
	file := dogfile.File{Name: p.Name, SpeedMPS: p.SpeedMPS, Needs: maps.Clone(p.Needs)}
	if file.Needs == nil {
		file.Needs = map[string]*dogfile.Need{}
	}
	answered := func(name string, prior learning.Prior) {
		file.Needs[name] = &dogfile.Need{WorkingM: &prior.WorkingM, ReactionM: &prior.ReactionM}
		from := "intake"
		if !prior.Known {
			from = "unknown"
		}
		out[name] = kept.Distance{Need: prior.Need, From: from, Prior: kept.Prior(prior)}
	}
	for _, name := range slices.Sorted(maps.Keys(p.Intake)) {
		prior, err := learning.Answers(p.Intake[name]).Prior("/intake/" + name)
		if more := (fault.Problems)(nil); errors.As(err, &more) {
			wrong = append(wrong, more...)
		} else if err != nil {
			return nil, err
		} else if _, said := p.Needs[name]; !said {
			answered(name, prior)
		}
	}
	if len(file.Needs) == 0 && len(wrong) == 0 {
		prior, _ := learning.Answers{}.Prior("") // no answer is no fault
		answered(exposure.Dogs.String(), prior)
	}
	dog, err := file.Dog()
	if more := (fault.Problems)(nil); errors.As(err, &more) {
		return nil, append(wrong, more...)
	} else if err != nil {
		return nil, err
	}
	if len(wrong) > 0 {
		return nil, wrong
	}
	for name := range p.Needs {
		n := needOf(dog, name)
		out[name] = kept.Distance{Calm: n.WorkingM == 0, Need: n, From: "said", Prior: kept.Prior(learning.Said(n))}
	}
	return out, nil
}

// needOf is what a dog's file says of a kind or category itself.
func needOf(d *exposure.Dog, name string) exposure.Need {
	if k, err := exposure.ParseKind(name); err == nil {
		return d.ByKind[k]
	}
	c, _ := exposure.ParseCategory(name) // the file was checked: it is one of both
	return d.ByCategory[c]
}
