package memory

import (
	"maps"
	"slices"
	"time"

	"wideberth/api/wire/kept"
	"wideberth/routing/briefing"
)

// adopterDays is how far back a record of a dog looks.
const adopterDays = 90

// AdopterNote is what can be told to somebody who may take a dog home.
type AdopterNote struct {
	Dog         string   `json:"dog"`
	Days        int      `json:"days" doc:"Looked back."`
	Walks       int      `json:"walks" doc:"Of which all was told, or on which something went over."`
	CalmWalks   int      `json:"calm_walks" doc:"Of these, nothing went over."`
	Texts       []string `json:"texts" doc:"In sentences; the caution is the last."`
	BiteHistory bool     `json:"bite_history"`
}

// newAdopterNote counts a dog's walks of the last days with the meetings on them. A walk
// of which not all was told says nothing by its silence; one on which the dog went over
// counts whatever was told.
func newAdopterNote(dog *kept.Dog, walks []kept.Walk, met []kept.Encounter, now time.Time, words briefing.Words) AdopterNote {
	r := briefing.Record{Dog: dog.Profile.Name, Days: adopterDays, Bitten: dog.BiteHistory()}
	for i := range walks {
		w := &walks[i]
		if w.Started.Before(now.AddDate(0, 0, -adopterDays)) {
			continue
		}
		over := slices.ContainsFunc(met, func(e kept.Encounter) bool { return e.Over != "" && !e.Removed && onWalk(&e, w) })
		switch {
		case over:
			r.Walks++
		case w.AllTold:
			r.Walks++
			r.Calm++
		}
	}
	for _, name := range slices.Sorted(maps.Keys(dog.Distances)) {
		d := dog.Distances[name]
		r.Works = append(r.Works, briefing.Works{Of: name, WorkingM: d.WorkingM, Calm: d.Calm, Learnt: d.From == "learnt"})
	}
	return AdopterNote{Dog: r.Dog, Days: r.Days, Walks: r.Walks, CalmWalks: r.Calm, Texts: words.Adopter(&r), BiteHistory: r.Bitten}
}

// onWalk says that a meeting was on a walk: by its key or id, else by the time.
func onWalk(e *kept.Encounter, w *kept.Walk) bool {
	if e.Walk != "" {
		return e.Walk == w.ID || e.Walk == w.Key
	}
	return !w.Ended.IsZero() && !e.At.Before(w.Started) && !e.At.After(w.Ended)
}
