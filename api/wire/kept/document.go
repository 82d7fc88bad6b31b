package kept

import (
	"encoding/json"
	"fmt"
	"time"

	"wideberth/osmdata/fault"
)

// DocumentKind is what a document is.
type DocumentKind string

// The kinds of documents.
const (
	Sequences DocumentKind = "visits"  // training visits, of one dog
	Outings   DocumentKind = "outings" // timetables, of several
)

// Check says what is no kind.
func (k DocumentKind) Check() fault.Problems {
	if k != Sequences && k != Outings {
		return fault.Problems{{Pointer: "/kind", Value: string(k), Mend: fmt.Sprintf("give %s or %s", Sequences, Outings)}}
	}
	return nil
}

// DocumentHead is a document in a list.
type DocumentHead struct {
	Kind    DocumentKind `json:"kind" maxLength:"40"`
	ID      string       `json:"id" maxLength:"80"`
	Dog     string       `json:"dog,omitempty" doc:"The dog that it is about; left out if about several."`
	Version int64        `json:"version" doc:"Goes up with each change; 0 makes a new one."`
	Created time.Time    `json:"created"`
	Updated time.Time    `json:"updated"`
	Bytes   int          `json:"bytes" doc:"Of its body, which is asked for by its id."`
}

// Document is what is kept as a whole: a training sequence, a timetable.
type Document struct {
	Kind    DocumentKind    `json:"kind" maxLength:"40"`
	ID      string          `json:"id" maxLength:"80"`
	Dog     string          `json:"dog,omitempty" doc:"The dog that it is about; left out if about several."`
	Version int64           `json:"version" doc:"Goes up with each change; 0 makes a new one."`
	Created time.Time       `json:"created"`
	Updated time.Time       `json:"updated"`
	Body    json.RawMessage `json:"body"`
}

// Plan is a plan as it was answered, kept with the wish it answers.
type Plan struct {
	ID      string          `json:"id"`
	Dog     string          `json:"dog"`
	Person  string          `json:"person,omitempty"`
	Created time.Time       `json:"created"`
	Map     string          `json:"map" doc:"What identifies the map that it was made on."`
	Body    json.RawMessage `json:"body" doc:"The plan as it was answered."`
}

// PlanHead is a kept plan in a list.
type PlanHead struct {
	ID      string    `json:"id"`
	Dog     string    `json:"dog"`
	Person  string    `json:"person,omitempty"`
	Created time.Time `json:"created"`
	Bytes   int       `json:"bytes" doc:"Of its body, which is asked for by its id."`
}
