package kept

import (
	"fmt"
	"regexp"
	"time"

	"wideberth/exposure"
	"wideberth/exposure/hours"
	"wideberth/osmdata/fault"
)

// ReportInput is what somebody says of a source: one that the map lacks, or one
// that the map has.
type ReportInput struct {
	Kind    string       `json:"kind,omitempty" doc:"Kind of trigger; not needed where mapped is given." example:"dog_behind_fence"`
	What    string       `json:"what,omitempty" maxLength:"80" doc:"In a few words." example:"dog behind the green fence"`
	Lat     *float64     `json:"lat,omitempty" minimum:"-90" maximum:"90" example:"39.7501"`
	Lon     *float64     `json:"lon,omitempty" minimum:"-180" maximum:"180" example:"-75.5502"`
	RadiusM float64      `json:"radius_m,omitempty" minimum:"0" maximum:"500" doc:"Extent round the place; 5 m if left out."`
	Area    [][2]float64 `json:"area,omitempty" maxItems:"200" doc:"Or an area: corners as longitude, latitude."`
	Hours   string       `json:"hours,omitempty" maxLength:"255" doc:"When it is there, in the notation of opening_hours; left out: by the usual hours of its kind." example:"Th 19:00-20:30"`
	Number  float64      `json:"number,omitempty" minimum:"0" maximum:"500" doc:"How many are there when it is busy, 1 if left out; of a sound that comes in events, how many a day."`
	Ends    time.Time    `json:"ends,omitzero" doc:"It is gone from then on." example:"2027-03-31T00:00:00Z"`
	Mapped  string       `json:"mapped,omitempty" pattern:"^(node|way|relation)/[0-9]+$" doc:"A source that the map has, to confirm or dispute." example:"way/1234"`
	There   bool         `json:"there" doc:"True: it is there. False disputes a source that the map has: it is not there."`
}

// Report is a source as people speak of it.
type Report struct {
	ID string `json:"id"`
	ReportInput
	Created time.Time   `json:"created"`
	Said    []Statement `json:"-"` // the latest word of each person, oldest first
}

// Statement is one person's word on a source.
type Statement struct {
	When  time.Time
	There bool
}

const (
	mostWhat = 80
	mostArea = 200
	mostSpan = 255
	// DefaultReportRadiusM is the extent of a reported source of which none is told.
	DefaultReportRadiusM = 5
	mostReportRadiusM    = 500
	mostNumber           = 500
)

var mappedName = regexp.MustCompile(`^(node|way|relation)/[0-9]{1,19}$`)

// Check says what is wrong with it, as fault.Problems.
func (in *ReportInput) Check() error {
	wrong := checkText("/what", in.What, mostWhat, false)
	wrong = append(wrong, checkPlace(in.Lat, in.Lon)...)
	bad := func(field, value, mend string) {
		wrong = append(wrong, fault.Problem{Pointer: "/" + field, Value: value, Mend: mend})
	}
	if in.Mapped != "" {
		if !mappedName.MatchString(in.Mapped) {
			bad("mapped", in.Mapped, "give a source of the map like way/1234")
		}
		return wrong.Err()
	}
	if !in.There {
		bad("there", "false", "only a source that the map has can be disputed here: name it in mapped, or dispute the report of it")
	}
	if _, err := exposure.ParseKind(in.Kind); err != nil {
		bad("kind", in.Kind, err.Error())
	}
	if in.Lat == nil && len(in.Area) == 0 {
		bad("lat", "", "missing: give a place or an area")
	}
	if n := len(in.Area); n != 0 && (n < 3 || n > mostArea) {
		bad("area", fmt.Sprintf("%d corners", n), fmt.Sprintf("give 3 to %d", mostArea))
	}
	for i, c := range in.Area {
		for _, p := range checkPlace(&c[1], &c[0]) {
			bad(fmt.Sprintf("area/%d", i), p.Value, p.Mend+" (longitude first)")
		}
	}
	if !(in.RadiusM >= 0 && in.RadiusM <= mostReportRadiusM) {
		bad("radius_m", fmt.Sprintf("%g", in.RadiusM), fmt.Sprintf("give metres up to %d", mostReportRadiusM))
	}
	if !(in.Number >= 0 && in.Number <= mostNumber) {
		bad("number", fmt.Sprintf("%g", in.Number), fmt.Sprintf("give 0 to %d", mostNumber))
	}
	if len(in.Hours) > mostSpan {
		bad("hours", "", fmt.Sprintf("give at most %d characters", mostSpan))
	} else if in.Hours != "" {
		if _, err := hours.Parse(in.Hours); err != nil {
			bad("hours", in.Hours, err.Error())
		}
	}
	return wrong.Err()
}
