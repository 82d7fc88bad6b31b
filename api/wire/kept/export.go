package kept

import "time"

// Everything is all that is kept about a dog.
type Everything struct {
	Exported   time.Time          `json:"exported"`
	Dog        Dog                `json:"dog"`
	History    []Change           `json:"history"`
	Walks      []Walk             `json:"walks"`
	Encounters []Encounter        `json:"encounters"`
	Tracks     map[string][]Stamp `json:"tracks" doc:"By walk."`
	Plans      []Plan             `json:"plans"`
	Words      []Word             `json:"words" doc:"What trainers said in writing of its meetings."`
	Documents  []Document         `json:"documents"`
}
