package exposure

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

	"wideberth/osmdata/fault"
)

// Need is the pair of distances that a dog has for a kind or category: one type
// wherever a pair is meant, also inside what is kept and answered.
type Need struct {
	// WorkingM is the distance W in metres at which the dog notices, still takes
	// food and turns back: one in ten encounters goes over threshold.
	WorkingM float64 `json:"working_m"`
	// ReactionM is the distance R < W in metres at which half of them do.
	ReactionM float64 `json:"reaction_m"`
}

// Bounds of what is accepted for a dog.
const (
	LeastDistanceM  = 0.1    // nearer than that nobody can measure
	mostDistanceM   = 5000   // far beyond what any map offers; the answer says so
	MostMetM        = 1000.0 // of a meeting and of what is learnt: dogs may notice motion at several hundred metres, but none is walked by such a threshold
	mostNameLength  = 80     // characters of a dog's name
	leastSpeedMPS   = 0.2
	mostSpeedMPS    = 4.0
	DefaultSpeedMPS = 1.2 // of a handler with a dog; common practice is 1.0 to 1.2 m/s with stops
)

// P is the chance that the dog goes over threshold when a trigger passes at its
// nearest at d metres:
//
//	P(d) = 1 / (1 + (d / R)^b),   b = ln 9 / ln(W / R)
//
// so that P(R) = 1/2 and P(W) = 1/10; the log-logistic dose-response form with
// the two distances as its median and its one-in-ten point. P(0) = 1. The zero
// Need is a dog that does not react: P = 0 everywhere.
func (n Need) P(dM float64) float64 {
	if n.WorkingM == 0 {
		return 0
	}
	if dM <= 0 {
		return 1
	}
	return 1 / (1 + math.Pow(dM/n.ReactionM, n.steepness()))
}

// steepness is b = ln 9 / ln(W / R) of the P curve.
func (n Need) steepness() float64 { return math.Log(9) / math.Log(n.WorkingM/n.ReactionM) }

// stretch is the need with both distances multiplied by k.
func (n Need) stretch(k float64) Need { return Need{n.WorkingM * k, n.ReactionM * k} }

// Dog is what the model needs to know of a dog.
type Dog struct {
	Name       string
	SpeedMPS   float64             // usual pace, 0 for the default
	ByCategory map[Category]Need   // distances for whole categories
	ByKind     map[Kind]Need       // distances for single kinds, before the category's; the zero Need: does not react
	AssumedR   map[string]struct{} // names of the needs whose reaction distance is assumed
	Typical    bool                // nobody gave distances: those of DefaultDog
	Food       string              // what it works for, "" where nobody said
	Cautions   Cautions
}

// Cautions are what whoever walks a dog must know. They change no figure; they stand
// wherever the dog does.
type Cautions struct {
	BiteHistory     bool   `json:"bite_history,omitempty" doc:"It has bitten: experienced people walk it, and only a trainer sets it nearer than 1.5 times its working distance."`
	Muzzle          bool   `json:"muzzle,omitempty" doc:"Walks with a muzzle."`
	ExperiencedOnly bool   `json:"experienced_only,omitempty" doc:"Only for experienced handlers."`
	Medical         string `json:"medical,omitempty" maxLength:"500" doc:"What of its health whoever walks it must know."`
}

// Bounds of the texts of a dog, in characters.
const (
	mostFood    = 200
	mostMedical = 500
)

// DefaultDog is the dog of whom nothing is known: it reacts to other dogs, at
// the default distances of the kinds, a wide prior and our assumption.
func DefaultDog() *Dog {
	d := &Dog{ByCategory: map[Category]Need{}, ByKind: map[Kind]Need{}, Typical: true}
	for _, k := range Dogs.Kinds() {
		d.ByKind[k] = k.Info().Default
	}
	return d
}

// Need gives the dog's distances for a kind: its own, else those of its
// category, else the zero Need, to which nothing is a trigger.
func (d *Dog) Need(k Kind) Need {
	if n, ok := d.ByKind[k]; ok {
		return n
	}
	return d.ByCategory[k.Category()]
}

// Inherited finds what stands for a kind or category by its name: the kind's own,
// else its category's. It gives the name that it stands under too; false if there is
// none.
func Inherited[T any](by map[string]T, name string) (x T, under string, ok bool) {
	if x, ok := by[name]; ok {
		return x, name, true
	}
	k, err := ParseKind(name)
	if err != nil {
		return x, "", false
	}
	under = k.Category().String()
	x, ok = by[under]
	return x, under, ok
}

// PaceMPS is the dog's usual pace in m/s, the default where none is given.
func (d *Dog) PaceMPS() float64 {
	if d.SpeedMPS > 0 {
		return d.SpeedMPS
	}
	return DefaultSpeedMPS
}

// FarthestM is the largest working distance of the dog in metres.
func (d *Dog) FarthestM() float64 {
	far := 0.0
	for k := range KindCount {
		far = max(far, d.Need(k).WorkingM)
	}
	return far
}

// Stretch is the dog with all distances multiplied by k: k > 1 is an aroused
// dog, k < 1 a braver one.
func (d *Dog) Stretch(k float64) *Dog {
	s := *d
	s.ByCategory, s.ByKind = map[Category]Need{}, map[Kind]Need{}
	for c, n := range d.ByCategory {
		s.ByCategory[c] = n.stretch(k)
	}
	for kd, n := range d.ByKind {
		s.ByKind[kd] = n.stretch(k)
	}
	return &s
}

// Assumptions lists what was assumed about the dog.
func (d *Dog) Assumptions() []Assumption {
	var out []Assumption
	for _, name := range slices.Sorted(maps.Keys(d.AssumedR)) {
		out = append(out, Assumption{What: AssumedReaction, Of: name})
	}
	if d.Typical {
		n := d.Need(DogOnLead)
		out = append(out, Assumption{What: AssumedDog, Numbers: []float64{n.WorkingM, n.ReactionM}})
	}
	if d.SpeedMPS == 0 {
		out = append(out, Assumption{What: AssumedPace, Numbers: []float64{DefaultSpeedMPS}})
	}
	return out
}

// DogFile is a dog as people write it down, in files and in requests.
type DogFile struct {
	Name     string               `json:"name" doc:"What the dog is called." maxLength:"80" example:"Fern"`
	SpeedMPS *float64             `json:"speed_mps,omitempty" doc:"Usual walking pace in m/s; 1.2 if left out." example:"1.1"`
	Needs    map[string]*NeedFile `json:"needs" doc:"Distances by kind or category; null for a kind that the dog is calm about."`
	Food     string               `json:"food,omitempty" doc:"What it works for." maxLength:"200" example:"cheese"`
	Cautions *Cautions            `json:"cautions,omitempty" doc:"What whoever walks it must know."`
}

// mostNeeds is the most entries of a dog's needs: one each for what there is.
const mostNeeds = int(KindCount) + int(CategoryCount)

// NeedFile is a pair of distances as people write it down.
type NeedFile struct {
	_         struct{} `nullable:"true"` // in the description of the interface: null is a calm dog
	WorkingM  *float64 `json:"working_m" nullable:"false" doc:"Distance in metres at which the dog notices, still takes food and turns back." example:"40"`
	ReactionM *float64 `json:"reaction_m,omitempty" doc:"Distance in metres at which half of the encounters go over threshold; half of working_m if left out." example:"18"`
}

// DecodeDog reads a dog in JSON. Unknown fields, values that are not what they
// should be and distances that make no sense are refused together in fault.Problems;
// any other error is from reading.
func DecodeDog(r io.Reader) (*Dog, error) {
	const most = 1 << 20
	text, err := io.ReadAll(io.LimitReader(r, most+1))
	if err != nil {
		return nil, fmt.Errorf("reading the dog: %w", err)
	}
	if len(text) > most {
		return nil, fault.One("", "", "longer than 1 MiB: a dog needs a few lines")
	}
	file, ps := decodeDogFile(text)
	if len(ps) > 0 {
		return nil, ps
	}
	return file.OrDefault()
}

// decodeDogFile takes the text apart field by field, so that every problem has
// its pointer.
func decodeDogFile(text []byte) (DogFile, fault.Problems) {
	var file DogFile
	fields, ps := object("", text)
	for _, name := range sortedKeys(fields) {
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

func decodeCautions(raw []byte, c *Cautions) (ps fault.Problems) {
	fields, ps := object("/cautions", raw)
	for _, name := range sortedKeys(fields) {
		at := "/cautions/" + escape(name)
		switch name {
		case "bite_history":
			ps = append(ps, value(at, fields[name], &c.BiteHistory, "true or false")...)
		case "muzzle":
			ps = append(ps, value(at, fields[name], &c.Muzzle, "true or false")...)
		case "experienced_only":
			ps = append(ps, value(at, fields[name], &c.ExperiencedOnly, "true or false")...)
		case "medical":
			ps = append(ps, value(at, fields[name], &c.Medical, "a text in quotes")...)
		default:
			ps = append(ps, unknownField("/cautions", name, []string{"bite_history", "muzzle", "experienced_only", "medical"}))
		}
	}
	return ps
}

func decodeNeeds(raw []byte) (map[string]*NeedFile, fault.Problems) {
	fields, ps := object("/needs", raw)
	needs := make(map[string]*NeedFile, len(fields))
	for _, name := range sortedKeys(fields) {
		at := "/needs/" + escape(name)
		if string(fields[name]) == "null" {
			needs[name] = nil
			continue
		}
		pair, more := object(at, fields[name])
		ps = append(ps, more...)
		n := &NeedFile{}
		for _, f := range sortedKeys(pair) {
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
		return nil, fault.One(at, clip(string(raw)), "must be an object in braces")
	}
	if fields == nil {
		return nil, fault.One(at, "null", "must be an object in braces")
	}
	return fields, nil
}

// value decodes one field or says what it must be.
func value(at string, raw []byte, into any, must string) fault.Problems {
	if json.Unmarshal(raw, into) != nil {
		return fault.One(at, clip(string(raw)), "must be "+must)
	}
	return nil
}

func unknownField(at, name string, known []string) fault.Problem {
	return fault.Problem{Pointer: at + "/" + escape(clip(name)), Mend: "unknown field: did you mean " + strings.Join(nearest(name, known), ", ") + "?"}
}

// escape writes a name as a step of a JSON pointer (RFC 6901).
func escape(name string) string {
	return strings.NewReplacer("~", "~0", "/", "~1").Replace(name)
}

func sortedKeys[V any](m map[string]V) []string {
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}

// OrDefault is Dog, where one without any distances has the stated defaults.
func (f DogFile) OrDefault() (*Dog, error) {
	if len(f.Needs) > 0 {
		return f.Dog()
	}
	d := DefaultDog()
	if ps := f.besides(d); len(ps) > 0 {
		return nil, ps
	}
	return d, nil
}

// besides takes what is written of a dog besides its distances.
func (f DogFile) besides(d *Dog) (ps fault.Problems) {
	d.Name, d.Food = f.Name, f.Food
	if f.Cautions != nil {
		d.Cautions = *f.Cautions
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
		return fault.One(at, clip(text), fmt.Sprintf("%d characters long: at most %d", n, most))
	case !utf8.ValidString(text) || strings.ContainsFunc(text, func(r rune) bool { return r < ' ' && r != '\n' || r == 0x7f }):
		return fault.One(at, fmt.Sprintf("%q", clip(text)), "holds control characters: leave them out")
	}
	return nil
}

// Dog checks what is written and makes a dog of it. The error is fault.Problems, with
// every fault at once.
func (f DogFile) Dog() (*Dog, error) {
	d := &Dog{ByCategory: map[Category]Need{}, ByKind: map[Kind]Need{}, AssumedR: map[string]struct{}{}}
	ps := f.besides(d)
	if f.Name == "" {
		ps = append(checkName(f.Name), ps...)
	}
	if len(f.Needs) == 0 {
		ps = append(ps, fault.Problem{Pointer: "/needs", Mend: `empty: name at least one kind or category and its distances, like "dogs": {"working_m": 40}`})
	}
	if n := len(f.Needs); n > mostNeeds {
		return nil, append(ps, fault.Problem{Pointer: "/needs", Value: fmt.Sprintf("%d entries", n), Mend: fmt.Sprintf("give at most %d: there are %d kinds and %d categories", mostNeeds, KindCount, CategoryCount)})
	}
	for _, name := range sortedKeys(f.Needs) {
		ps = append(ps, d.take(name, f.Needs[name])...)
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
		return fault.One("/name", clip(name), fmt.Sprintf("%d characters long: at most %d", n, mostNameLength))
	case !utf8.ValidString(name) || strings.ContainsFunc(name, func(r rune) bool { return r < ' ' || r == 0x7f }):
		return fault.One("/name", fmt.Sprintf("%q", clip(name)), "holds control characters: leave them out")
	}
	return nil
}

// take adds one named need to the dog.
func (d *Dog) take(name string, f *NeedFile) fault.Problems {
	at := "/needs/" + escape(clip(name))
	kind, notKind := ParseKind(name)
	category, notCategory := ParseCategory(name)
	if notKind != nil && notCategory != nil {
		e := UnknownNameError{"kind or category", name, nearest(name, append(categoryNames[:], kindNames()...))}
		return fault.One(at, "", e.Error())
	}
	var n Need
	if f != nil {
		var ps fault.Problems
		if n, ps = f.need(at); len(ps) > 0 {
			return ps
		}
		if f.ReactionM == nil {
			d.AssumedR[name] = struct{}{}
		}
	}
	if notKind == nil {
		d.ByKind[kind] = n
	} else {
		d.ByCategory[category] = n
	}
	return nil
}

// need checks one pair of distances. Where only W is given R is half of it, our
// assumption.
func (f *NeedFile) need(at string) (Need, fault.Problems) {
	if f.WorkingM == nil {
		return Need{}, fault.One(at+"/working_m", "", "missing: the distance at which the dog still takes food and turns back")
	}
	n := Need{WorkingM: *f.WorkingM, ReactionM: *f.WorkingM / 2}
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
	case m < LeastDistanceM || m > mostDistanceM:
		return fault.One(at, number(m), fmt.Sprintf("must lie between %g and %d m", LeastDistanceM, mostDistanceM))
	}
	return nil
}

func number(x float64) string { return fmt.Sprintf("%g", x) }
