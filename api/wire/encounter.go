package wire

import "wideberth/api/wire/kept"

// LoggedEncounter is a meeting as it was put down, with what to do now where the dog
// snapped or bit.
type LoggedEncounter struct {
	kept.Encounter
	Advice []string `json:"advice,omitempty" doc:"After a snap or a bite: what to do and whom to call."`
}

// NewLoggedEncounter is a meeting with its advice.
func NewLoggedEncounter(e kept.Encounter) LoggedEncounter {
	out := LoggedEncounter{Encounter: e}
	if kept.Harm(e.Over) {
		out.Advice = []string{english.Say("memory.after." + e.Over), english.Say("memory.after")}
	}
	return out
}
