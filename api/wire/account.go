package wire

import (
	"encoding/json"
	"time"

	"wideberth/api/wire/kept"
)

// NewKey is a token that was just made.
type NewKey struct {
	Token string     `json:"token" doc:"Shown once: only its hash is kept."`
	Info  kept.Token `json:"info"`
}

// PersonBody is somebody of the account, as the keeper says it.
type PersonBody struct {
	Name string    `json:"name" minLength:"1" maxLength:"80"`
	Role kept.Role `json:"role" enum:"handler,trainer,keeper"`
	Dogs []string  `json:"dogs,omitempty" maxItems:"500" doc:"Ids of the dogs that a handler is given."`
}

// NewPerson says what the server calls somebody who was added.
type NewPerson struct {
	ID string `json:"id"`
}

// DocumentBody is a document to be kept.
type DocumentBody struct {
	Version int64           `json:"version" minimum:"0" doc:"The one that was changed; 0 makes a new one."`
	Dog     string          `json:"dog,omitempty" maxLength:"80" doc:"The dog that it is about; left out if about several."`
	Body    json.RawMessage `json:"body" doc:"Of the kind visits: wish (as sent to /v1/visits), sequence (its answer) and step, the number of the visit that is next, from 1; paused, note and what else one likes. Of the kind outings: what one likes, such as outing and timetable."`
}

// TrackInfo is what became of a track that was sent.
type TrackInfo struct {
	Points int       `json:"points" doc:"Track points in the file."`
	Kept   bool      `json:"kept" doc:"False where the account keeps tracks for fewer days than the walk is old."`
	Begins time.Time `json:"begins,omitzero" doc:"Time of the first point that has one."`
	Ends   time.Time `json:"ends,omitzero"`
}
