package wire

import (
	"wideberth/api/wire/kept"
	"wideberth/routing/briefing"
)

// LoggedEncounter is a meeting as it was put down, with what to do now where the dog
// snapped or bit.
type LoggedEncounter struct {
	kept.Encounter
	Advice []string `json:"advice,omitempty" doc:"After a snap or a bite: what to do and whom to call."`
}

// NewLoggedEncounter is a meeting with its advice.
func NewLoggedEncounter(e kept.Encounter, words briefing.Words) LoggedEncounter {
	out := LoggedEncounter{Encounter: e}
	if kept.Harm(e.Over) {
		out.Advice = []string{words.Say("memory.after." + e.Over), words.Say("memory.after")}
	}
	return out
}
