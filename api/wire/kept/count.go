package kept

import (
	"time"

	"wideberth/exposure"
)

// CountInput is what somebody counted by hand.
type CountInput struct {
	Key string `json:"key,omitempty" maxLength:"80" doc:"Chosen by the client: what is sent twice under one key is kept once."`
	exposure.Count
}

// Count is a count as it is kept.
type Count struct {
	ID string `json:"id"`
	exposure.Count
	Own     bool      `json:"own" doc:"The asker counted."`
	Created time.Time `json:"created"`
}
