package briefing

import "strings"

// Record is how the walks of a dog went, as it is told to somebody who may take it home.
type Record struct {
	Dog    string
	Days   int // looked back
	Walks  int // of which everything was told, or something went over
	Calm   int // of them, nothing went over
	Works  []Works
	Bitten bool
}

// Works is a distance at which the dog still works.
type Works struct {
	Of       string // kind or category
	WorkingM float64
	Calm     bool // does not react to it
	Learnt   bool // from its walks, not from what was said of it
}

// Adopter tells a record in sentences, the caution last.
func (w Words) Adopter(r *Record) (out []string) {
	if r.Walks == 0 {
		out = append(out, w.Say("adopter.none", "dog", r.Dog, "days", r.Days))
	} else {
		out = append(out, w.Say("adopter.walks", "dog", r.Dog, "calm", r.Calm, "walks", r.Walks, "days", r.Days))
	}
	var calm []string
	for _, k := range r.Works {
		switch {
		case k.Calm:
			calm = append(calm, w.manyOf(k.Of))
		case k.Learnt:
			out = append(out, w.Say("adopter.learnt", "distance", w.Own(k.WorkingM), "what", w.manyOf(k.Of)))
		default:
			out = append(out, w.Say("adopter.works", "distance", w.Own(k.WorkingM), "what", w.manyOf(k.Of)))
		}
	}
	if len(calm) > 0 {
		out = append(out, w.Say("adopter.calm", "what", strings.Join(calm, ", ")))
	}
	if r.Bitten {
		out = append(out, w.Say("adopter.bitten"))
	}
	return append(out, w.Say("adopter.caution"))
}
