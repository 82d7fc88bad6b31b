package roster

import (
	"bytes"
	"errors"
	"time"

	"wideberth/api/wire"
	"wideberth/osmdata/fault"
)

// Body asks for tables to be read.
type Body struct {
	Dogs    string  `json:"dogs,omitempty" maxLength:"262144" doc:"A table of dogs: name, room, minutes, who, bite in this order, or any columns under a head line." example:"name,room,minutes,who,bite\nOro,60 m,30,exp,yes"`
	People  string  `json:"people,omitempty" maxLength:"262144" doc:"A table of people: name, experience, from, to in this order, or under a head line." example:"name,experience,from,to\nAda,regular,09:00,11:00"`
	Start   string  `json:"start" doc:"First minute of the outing, RFC 3339: hours in the tables are of its day." example:"2026-11-25T09:00:00-05:00"`
	Minutes float64 `json:"minutes,omitempty" minimum:"0" maximum:"720" doc:"How long the outing may take: hours after midnight are of the next day where it lasts until then."`

	Gate *wire.LatLon `json:"gate,omitempty" doc:"Where all walks leave, whose zone hours are in; left out where there is one map alone."`
}

// Lists are what tables hold, as an outing takes them.
type Lists struct {
	Dogs       []wire.OutingDog    `json:"dogs"`
	People     []wire.OutingPerson `json:"people"`
	PassedOver []string            `json:"passed_over" doc:"Columns that are not known: nothing in them was read."`
}

// Read reads both tables, whole or not at all; an empty text is no table.
func (b *Body) Read(zone *time.Location) (Lists, error) {
	out := Lists{Dogs: []wire.OutingDog{}, People: []wire.OutingPerson{}, PassedOver: []string{}}
	start, err := time.Parse(time.RFC3339, b.Start)
	if err != nil {
		return out, fault.One("/start", b.Start, "give a time with its zone, like 2026-11-25T09:00:00-05:00")
	}
	if b.Dogs == "" && b.People == "" {
		return out, fault.One("/dogs", "", "give a table of dogs, of people, or both")
	}
	h := Hours{start.In(zone), b.Minutes}
	var wrong fault.Problems
	if b.Dogs != "" {
		list, over, err := Dogs(b.Dogs, h)
		if wrong, err = gathered(wrong, "/dogs", err); err != nil {
			return out, err
		}
		out.Dogs, out.PassedOver = list, append(out.PassedOver, over...)
	}
	if b.People != "" {
		list, over, err := People(b.People, h)
		if wrong, err = gathered(wrong, "/people", err); err != nil {
			return out, err
		}
		out.People, out.PassedOver = list, append(out.PassedOver, over...)
	}
	return out, wrong.Err()
}

// gathered puts problems to others under a pointer; any other error is given back.
func gathered(wrong fault.Problems, pointer string, err error) (fault.Problems, error) {
	var ps fault.Problems
	if err != nil && !errors.As(fault.Within(pointer, err), &ps) {
		return wrong, err
	}
	return append(wrong, ps...), nil
}

// WrittenBody asks for a table to be written.
type WrittenBody struct {
	Of        string              `json:"of" enum:"dogs,people,walks" doc:"Of an outing its dogs or its people, of a timetable its walks."`
	Start     string              `json:"start,omitempty" doc:"Of the outing, where dogs or people have hours."`
	Minutes   float64             `json:"minutes,omitempty" minimum:"0" maximum:"720"`
	Dogs      []wire.OutingDog    `json:"dogs,omitempty" maxItems:"60"`
	People    []wire.OutingPerson `json:"people,omitempty" maxItems:"40"`
	Timetable *wire.Timetable     `json:"timetable,omitempty"`

	Gate *wire.LatLon `json:"gate,omitempty" doc:"Where all walks leave, whose zone hours are in; left out with a timetable, or where there is one map alone."`
}

// Write writes the table.
func (b *WrittenBody) Write(zone *time.Location) ([]byte, error) {
	var h Hours
	if b.Of != "walks" {
		start, err := time.Parse(time.RFC3339, b.Start)
		if err != nil {
			return nil, fault.One("/start", b.Start, "give a time with its zone, like 2026-11-25T09:00:00-05:00")
		}
		h = Hours{start.In(zone), b.Minutes}
	}
	var out bytes.Buffer
	var err error
	switch {
	case b.Of == "dogs":
		err = fault.Within("/dogs", WriteDogs(&out, b.Dogs, h))
	case b.Of == "people":
		err = fault.Within("/people", WritePeople(&out, b.People, h))
	case b.Timetable == nil:
		err = fault.One("/timetable", "", "give the timetable whose walks are wanted")
	default:
		err = fault.Within("/timetable/rows", WriteWalks(&out, b.Timetable, zone))
	}
	return out.Bytes(), err
}
