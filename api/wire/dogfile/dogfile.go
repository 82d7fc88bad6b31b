// Package dogfile is a dog as people write it down in JSON, in files and in requests:
// its name, its pace and its distances by kind or category. What is wrong is told all
// at once, each with its pointer.
package dogfile

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"maps"
	"math"
	"slices"
	"strings"
	"unicode/utf8"

	"wideberth/exposure"
	"wideberth/osmdata/fault"
)

// Bounds of what is written of a dog.
const (
	mostNameLength = 80   // characters
	mostDistanceM  = 5000 // far beyond what any map offers; the answer says so
	mostFood       = 200  // characters, like the next
	mostMedical    = 500
	leastSpeedMPS  = 0.2
	mostSpeedMPS   = 4.0
)

// File is a dog as people write it down, in files and in requests.
type File struct {
	Name     string           `json:"name" doc:"What the dog is called." maxLength:"80" example:"Fern"`
	SpeedMPS *float64         `json:"speed_mps,omitempty" doc:"Usual walking pace in m/s; 1.2 if left out." example:"1.1"`
	Needs    map[string]*Need `json:"needs" doc:"Distances by kind or category; null for a kind that the dog is calm about."`
	Food     string           `json:"food,omitempty" doc:"What it works for." maxLength:"200" example:"cheese"`
	Cautions *Cautions        `json:"cautions,omitempty" doc:"What whoever walks it must know."`
}

// mostNeeds is the most entries of a dog's needs: one each for what there is.
const mostNeeds = int(exposure.KindCount) + int(exposure.CategoryCount)

// Need is a pair of distances as people write it down.
type Need struct {
	_         struct{} `nullable:"true"` // in the description of the interface: null is a calm dog
	WorkingM  *float64 `json:"working_m" nullable:"false" doc:"Distance in metres at which the dog notices, still takes food and turns back." example:"40"`
	ReactionM *float64 `json:"reaction_m,omitempty" doc:"Distance in metres at which half of the encounters go over threshold; half of working_m if left out." example:"18"`
}

// Decode reads a dog in JSON. Unknown fields, values that are not what they
// should be and distances that make no sense are refused together in fault.Problems;
// any other error is from reading.
func Decode(r io.Reader) (*exposure.Dog, error) {
	const most = 1 << 20
	text, err := io.ReadAll(io.LimitReader(r, most+1))
	if err != nil {
		return nil, fmt.Errorf("reading the dog: %w", err)
	}
	if len(text) > most {
		return nil, fault.One("", "", "longer than 1 MiB: a dog needs a few lines")
	}
	file, ps := decodeFile(text)
	if len(ps) > 0 {
		return nil, ps
	}
	return file.DogOrTypical()
}

// decodeFile takes the text apart field by field, so that every problem has
// its pointer.
func decodeFile(text []byte) (File, fault.Problems) {
	var file File
	fields, ps := object("", text)
	ps = append(ps, fault.Twice(text)...)
	for _, name := range slices.Sorted(maps.Keys(fields)) {
		raw := fields[name]
		switch name {
		case "name":
			ps = append(ps, value("/name", raw, &file.Name, "a text in quotes")...)
		case "speed_mps":
			ps = append(ps, value("/speed_mps", raw, &file.SpeedMPS, "a number in m/s")...)
		case "needs":
			needs, more := decodeNeeds(raw)
			file.Needs = needs
			ps = append(ps, more...)
		case "food":
			ps = append(ps, value("/food", raw, &file.Food, "a text in quotes")...)
		case "cautions":
			file.Cautions = &Cautions{}
			ps = append(ps, decodeCautions(raw, file.Cautions)...)
		default:
			ps = append(ps, unknownField("", name, []string{"name", "speed_mps", "needs", "food", "cautions"}))
		}
	}
	return file, ps
}

// Cautions are what whoever walks a dog must know.
type Cautions struct {
	BiteHistory     bool   `json:"bite_history,omitempty" doc:"It has bitten: experienced people walk it, and only a trainer sets it nearer than 1.5 times its working distance."`
	Muzzle          bool   `json:"muzzle,omitempty" doc:"Walks with a muzzle."`
	MuzzleTrained   bool   `json:"muzzle_trained,omitempty" doc:"Wears a muzzle calmly, as it was taught to."`
	ExperiencedOnly bool   `json:"experienced_only,omitempty" doc:"Only for experienced handlers."`
	Medical         string `json:"medical,omitempty" maxLength:"500" doc:"What of its health whoever walks it must know."`
}

func decodeCautions(raw []byte, c *Cautions) (ps fault.Problems) {
	fields, ps := object("/cautions", raw)
	for _, name := range slices.Sorted(maps.Keys(fields)) {
		at := "/cautions/" + escape(name)
		switch name {
		case "bite_history":
			ps = append(ps, value(at, fields[name], &c.BiteHistory, "true or false")...)
		case "muzzle":
			ps = append(ps, value(at, fields[name], &c.Muzzle, "true or false")...)
		case "muzzle_trained":
			ps = append(ps, value(at, fields[name], &c.MuzzleTrained, "true or false")...)
		case "experienced_only":
			ps = append(ps, value(at, fields[name], &c.ExperiencedOnly, "true or false")...)
		case "medical":
			ps = append(ps, value(at, fields[name], &c.Medical, "a text in quotes")...)
		default:
			ps = append(ps, unknownField("/cautions", name, []string{"bite_history", "muzzle", "muzzle_trained", "experienced_only", "medical"}))
		}
	}
	return ps
}

func decodeNeeds(raw []byte) (map[string]*Need, fault.Problems) {
	fields, ps := object("/needs", raw)
	needs := make(map[string]*Need, len(fields))
	for _, name := range slices.Sorted(maps.Keys(fields)) {
		at := "/needs/" + escape(name)
		if string(fields[name]) == "null" {
			needs[name] = nil
			continue
		}
		pair, more := object(at, fields[name])
		ps = append(ps, more...)
		n := &Need{}
		for _, f := range slices.Sorted(maps.Keys(pair)) {
			switch f {
			case "working_m":
				ps = append(ps, value(at+"/working_m", pair[f], &n.WorkingM, "a number in metres")...)
			case "reaction_m":
				ps = append(ps, value(at+"/reaction_m", pair[f], &n.ReactionM, "a number in metres")...)
			default:
				ps = append(ps, unknownField(at, f, []string{"working_m", "reaction_m"}))
			}
		}
		needs[name] = n
	}
	return needs, ps
}

// object splits a JSON object into its fields.
func object(at string, raw []byte) (map[string]json.RawMessage, fault.Problems) {
	var fields map[string]json.RawMessage
	if err := json.Unmarshal(raw, &fields); err != nil {
		var syntax *json.SyntaxError
		if errors.As(err, &syntax) {
			return nil, fault.One(at, "", fmt.Sprintf("not JSON: %v at byte %d", syntax, syntax.Offset))
		}
		return nil, fault.One(at, fault.Clip(string(raw)), "must be an object in braces")
	}
	if fields == nil {
		return nil, fault.One(at, "null", "must be an object in braces")
	}
	return fields, nil
}

// value decodes one field or says what it must be.
func value(at string, raw []byte, into any, must string) fault.Problems {
	if json.Unmarshal(raw, into) != nil {
		return fault.One(at, fault.Clip(string(raw)), "must be "+must)
	}
	return nil
}

func unknownField(at, name string, known []string) fault.Problem {
	return fault.Problem{Pointer: at + "/" + escape(fault.Clip(name)), Mend: "unknown field: did you mean " + strings.Join(fault.Nearest(name, known), ", ") + "?"}
}

// escape writes a name as a step of a JSON pointer (RFC 6901).
func escape(name string) string {
	return strings.NewReplacer("~", "~0", "/", "~1").Replace(name)
}

// DogOrTypical is Dog, where one without any distances has the stated defaults.
func (f File) DogOrTypical() (*exposure.Dog, error) {
	if len(f.Needs) > 0 {
		return f.Dog()
	}
	d := exposure.DefaultDog()
	if ps := f.besides(d); len(ps) > 0 {
		return nil, ps
	}
	return d, nil
}

// besides takes what is written of a dog besides its distances.
func (f File) besides(d *exposure.Dog) (ps fault.Problems) {
	d.Name, d.Food = f.Name, f.Food
	if f.Cautions != nil {
		d.Cautions = exposure.Cautions(*f.Cautions)
	}
	if f.Name != "" {
		ps = checkName(f.Name)
	}
	if f.SpeedMPS != nil {
		d.SpeedMPS = *f.SpeedMPS
		if !(d.SpeedMPS >= leastSpeedMPS && d.SpeedMPS <= mostSpeedMPS) {
			ps = append(ps, fault.Problem{Pointer: "/speed_mps", Value: number(d.SpeedMPS), Mend: fmt.Sprintf("must lie between %g and %g m/s", leastSpeedMPS, mostSpeedMPS)})
		}
	}
	ps = append(ps, checkLine("/food", d.Food, mostFood)...)
	return append(ps, checkLine("/cautions/medical", d.Cautions.Medical, mostMedical)...)
}

// checkLine holds a text that is printed to its length and to what can be printed.
func checkLine(at, text string, most int) fault.Problems {
	switch n := utf8.RuneCountInString(text); {
	case n > most:
		return fault.One(at, fault.Clip(text), fmt.Sprintf("%d characters long: at most %d", n, most))
	case !utf8.ValidString(text) || strings.ContainsFunc(text, func(r rune) bool { return r < ' ' && r != '\n' || r == 0x7f }):
		return fault.One(at, fmt.Sprintf("%q", fault.Clip(text)), "holds control characters: leave them out")
	}
	return nil
}

// Dog checks what is written and makes a dog of it. The error is fault.Problems, with
// every fault at once.
func (f File) Dog() (*exposure.Dog, error) {
	d := &exposure.Dog{ByCategory: map[exposure.Category]exposure.Need{}, ByKind: map[exposure.Kind]exposure.Need{}, AssumedR: map[string]struct{}{}}
	ps := f.besides(d)
	if f.Name == "" {
		ps = append(checkName(f.Name), ps...)
	}
	if len(f.Needs) == 0 {
		ps = append(ps, fault.Problem{Pointer: "/needs", Mend: `empty: name at least one kind or category and its distances, like "dogs": {"working_m": 40}`})
	}
	if n := len(f.Needs); n > mostNeeds {
		return nil, append(ps, fault.Problem{Pointer: "/needs", Value: fmt.Sprintf("%d entries", n), Mend: fmt.Sprintf("give at most %d: there are %d kinds and %d categories", mostNeeds, exposure.KindCount, exposure.CategoryCount)})
	}
	for _, name := range slices.Sorted(maps.Keys(f.Needs)) {
		ps = append(ps, takeNeed(d, name, f.Needs[name])...)
	}
	if len(ps) > 0 {
		return nil, ps
	}
	return d, nil
}

func checkName(name string) fault.Problems {
	switch n := utf8.RuneCountInString(name); {
	case strings.TrimSpace(name) == "":
		return fault.One("/name", "", "missing: the dog needs a name")
	case n > mostNameLength:
		return fault.One("/name", fault.Clip(name), fmt.Sprintf("%d characters long: at most %d", n, mostNameLength))
	case !utf8.ValidString(name) || strings.ContainsFunc(name, func(r rune) bool { return r < ' ' || r == 0x7f }):
		return fault.One("/name", fmt.Sprintf("%q", fault.Clip(name)), "holds control characters: leave them out")
	}
	return nil
}

// takeNeed adds one named need to the dog.
func takeNeed(d *exposure.Dog, name string, f *Need) fault.Problems {
	at := "/needs/" + escape(fault.Clip(name))
	kind, category, isKind, err := exposure.ParseKindOrCategory(name)
	if err != nil {
		return fault.One(at, "", err.Error())
	}
	var n exposure.Need
	if f != nil {
		var ps fault.Problems
		if n, ps = f.need(at); len(ps) > 0 {
			return ps
		}
		if f.ReactionM == nil {
			d.AssumedR[name] = struct{}{}
		}
	}
	if isKind {
		d.ByKind[kind] = n
	} else {
		d.ByCategory[category] = n
	}
	return nil
}

func number(x float64) string { return fmt.Sprintf("%g", x) }

// need checks one pair of distances. Where only W is given R is half of it, our
// assumption.
func (f *Need) need(at string) (exposure.Need, fault.Problems) {
	if f.WorkingM == nil {
		return exposure.Need{}, fault.One(at+"/working_m", "", "missing: the distance at which the dog still takes food and turns back")
	}
	n := exposure.Need{WorkingM: *f.WorkingM, ReactionM: *f.WorkingM / 2}
	ps := checkDistance(at+"/working_m", n.WorkingM)
	if f.ReactionM == nil {
		return n, ps
	}
	n.ReactionM = *f.ReactionM
	ps = append(ps, checkDistance(at+"/reaction_m", n.ReactionM)...)
	if len(ps) == 0 && n.ReactionM >= n.WorkingM {
		ps = append(ps, fault.Problem{Pointer: at + "/reaction_m", Value: number(n.ReactionM), Mend: fmt.Sprintf(
			"must be less than working_m (%s): the dog reacts nearer than it works", number(n.WorkingM))})
	}
	return n, ps
}

func checkDistance(at string, m float64) fault.Problems {
	switch {
	case math.IsNaN(m):
		return fault.One(at, number(m), "must be a number in metres")
	case m <= 0:
		return fault.One(at, number(m), "must be more than 0 m; write null for a kind that the dog is calm about")
	case m < exposure.LeastDistanceM || m > mostDistanceM:
		return fault.One(at, number(m), fmt.Sprintf("must lie between %g and %d m", exposure.LeastDistanceM, mostDistanceM))
	}
	return nil
}
