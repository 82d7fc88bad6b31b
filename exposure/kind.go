// Package exposure predicts what a walk with a dog will meet: how many triggers
// of which kind, how near they come, and how likely this dog goes over threshold.
//
// One quantity runs through everything: expected reactions X of a walk, the
// integral over the walk of a hazard h(place, time) for one dog. Kinds of
// trigger, the dog's distances, what the map offers (Field) and the clock make
// the hazard; a planner adds it up along a walk; the chance of a calm walk
// follows from the sum.
package exposure

import (
	"wideberth/osmdata/fault"

	"fmt"
	"slices"
	"strings"
)

// Category groups kinds that a dog tends to treat alike. A kind without
// distances of its own inherits those of its category.
type Category uint8

// The categories.
const (
	Dogs Category = iota
	People
	Wheels
	Traffic
	Sounds
	CategoryCount
)

// Kind is one kind of trigger.
type Kind uint8

// The kinds, in the order of their categories.
const (
	DogOnLead Kind = iota
	DogOffLead
	DogBehindFence
	Adult
	Child
	Runner
	Bicycle
	BoardOrScooter
	PramOrWheelchair
	Car
	HeavyVehicle
	Motorcycle
	Train
	Siren
	ChildrenNoise
	Construction
	Bells
	KindCount
)

// Pattern is a flow of movers along the network that share speed, paths and
// profile; kinds are fixed shares of a pattern.
type Pattern uint8

// The patterns.
const (
	DogWalks Pattern = iota
	WalkingTrips
	SchoolTrips
	WheelTrips
	CarTraffic
	HeavyTraffic
	TrainTraffic
	GardenDogs // no stream: dogs that stay, each met once by who passes; never on the way itself
	PatternCount
)

// Motion is how a kind of trigger comes about.
type Motion uint8

// The motions.
const (
	Stream     Motion = iota // moves along streets and paths
	Cluster                  // stays about a place, gives a fresh chance every DeadTimeS
	SoundEvent               // a sound that happens now and then
)

// KindInfo is one row of the table of kinds. The numbers are defaults: a dog's
// own distances and counts on the ground go first.
type KindInfo struct {
	Name     string   // as in files and requests: "dog_on_lead"
	Noun     string   // as in sentences: "dog on lead"
	Category Category //
	Motion   Motion   // its usual way; some kinds have others too
	SpeedMPS float64  // usual speed when it moves, 0 for what stays
	Group    float64  // mean number that come together and count once
	Default  Need     // a wide prior for a dog of which nothing is known
	Heard    bool     // counts without line of sight, at its equivalent distance
	Source   string   // where the defaults come from
}

// Where defaults come from. No peer-reviewed distribution of working distances
// exists; trainers quote 3 to 60 m, first sessions mostly at 15 to 40 m.
const (
	assumed     = "our assumption; distances within the 3 to 60 m that trainers quote (common practice)"
	fromGait    = "speed: Weidmann 1993, free walking speed 1.34 m/s; the rest our assumption"
	fromDogGait = "speed: common practice, 1.0 to 1.2 m/s with stops; the rest our assumption"
)

var kinds = [KindCount]KindInfo{
	DogOnLead:        {"dog_on_lead", "dog on lead", Dogs, Stream, 1.1, 1.1, Need{30, 12}, false, fromDogGait},
	DogOffLead:       {"dog_off_lead", "dog off lead", Dogs, Stream, 1.1, 1.1, Need{40, 18}, false, fromDogGait},
	DogBehindFence:   {"dog_behind_fence", "dog behind a fence", Dogs, Cluster, 0, 1.1, Need{20, 8}, true, assumed},
	Adult:            {"adult", "adult", People, Stream, 1.34, 1.5, Need{15, 5}, false, fromGait},
	Child:            {"child", "child", People, Stream, 1.2, 2, Need{20, 7}, false, assumed},
	Runner:           {"runner", "runner", People, Stream, 2.8, 1.2, Need{20, 7}, false, assumed},
	Bicycle:          {"bicycle", "bicycle", Wheels, Stream, 4.2, 1.2, Need{20, 7}, false, assumed},
	BoardOrScooter:   {"board_or_scooter", "board or scooter", Wheels, Stream, 3.5, 1.2, Need{25, 9}, false, assumed},
	PramOrWheelchair: {"pram_or_wheelchair", "pram or wheelchair", Wheels, Stream, 1.2, 1, Need{12, 4}, false, assumed},
	Car:              {"car", "car", Traffic, Stream, 11, 1.5, Need{8, 3}, false, assumed},
	HeavyVehicle:     {"heavy_vehicle", "lorry or bus", Traffic, Stream, 11, 1, Need{15, 5}, false, assumed},
	Motorcycle:       {"motorcycle", "motorcycle", Traffic, Stream, 12, 1, Need{20, 7}, false, assumed},
	Train:            {"train", "train", Traffic, Stream, 20, 1, Need{40, 15}, false, assumed},
	Siren:            {"siren", "siren", Sounds, SoundEvent, 13, 1, Need{150, 50}, true, assumed},
	ChildrenNoise:    {"children_noise", "children's noise", Sounds, Cluster, 0, 1, Need{40, 15}, true, assumed},
	Construction:     {"construction", "construction noise", Sounds, Cluster, 0, 1, Need{60, 20}, true, assumed},
	Bells:            {"bells", "bells", Sounds, SoundEvent, 0, 1, Need{80, 25}, true, assumed},
}

var categoryNames = [CategoryCount]string{"dogs", "people", "wheels", "traffic", "sounds"}

var patternNames = [PatternCount]string{"dog_walks", "walking_trips", "school_trips",
	"wheel_trips", "car_traffic", "heavy_traffic", "train_traffic", "garden_dogs"}

// patternSpeedMPS is one speed for all movers of a pattern, in m/s: the streams
// on other ways are stored at it.
var patternSpeedMPS = [PatternCount]float64{DogWalks: 1.1, WalkingTrips: 1.34, SchoolTrips: 1.2,
	WheelTrips: 4.2, CarTraffic: 11, HeavyTraffic: 11, TrainTraffic: 20, GardenDogs: 0}

// GardenHours is how many hours of a day the dog of a home behind a fence, wall or hedge
// is out and minds who passes, spread over the day as dogs are walked: at a busy hour
// one home in sixty has it there where every fifth keeps a dog. Our assumption: customs
// differ by more than ten, and a hedge on the map need not hold a dog.
const GardenHours = 1.0

// BicyclesAmongWheels is the share of wheel trips that are bicycles. Boards and
// scooters ride the same ways, but how many there are does not follow how many
// bicycles there are: Field.Boards has their number for each bicycle.
const BicyclesAmongWheels = .88

// boardsUsual is their number for each bicycle where a field does not say.
const boardsUsual = .12 / .88

// share says that a part of a pattern's movers are of a kind.
type share struct {
	kind    Kind
	pattern Pattern
	part    float64                 // of the movers; may add up to more than 1 where one party shows two triggers
	inPlace [PlaceKindCount]float64 // multiplies part by the kind of place; all zero means 1 everywhere
}

// Shares of the patterns. All are our assumption but for the leads: 28 % of
// British owners let the dog off always and 18 % never (a survey of more than
// 3,000 owners), nearly all of it away from streets. A dog walk shows a dog and
// its handler: whoever reacts to people meets an adult there.
//
// In the order of kinds.
var shares = []share{
	{DogOnLead, DogWalks, 1, [PlaceKindCount]float64{.75, .95, .97, .65, .60, .90}},
	{DogOffLead, DogWalks, 1, [PlaceKindCount]float64{.25, .05, .03, .35, .40, .10}},
	{DogBehindFence, GardenDogs, 1, [PlaceKindCount]float64{}},
	{Adult, DogWalks, 1, [PlaceKindCount]float64{}},
	{Adult, WalkingTrips, .85, [PlaceKindCount]float64{}},
	{Adult, SchoolTrips, .35, [PlaceKindCount]float64{}},
	{Child, WalkingTrips, .08, [PlaceKindCount]float64{}},
	{Child, SchoolTrips, .65, [PlaceKindCount]float64{}},
	{Runner, WalkingTrips, .04, [PlaceKindCount]float64{}},
	{Bicycle, WheelTrips, BicyclesAmongWheels, [PlaceKindCount]float64{}},
	{BoardOrScooter, WheelTrips, BicyclesAmongWheels * boardsUsual, [PlaceKindCount]float64{}}, // but see Field.Boards
	{PramOrWheelchair, WalkingTrips, .03, [PlaceKindCount]float64{}},
	{Car, CarTraffic, .99, [PlaceKindCount]float64{}},
	{HeavyVehicle, HeavyTraffic, 1, [PlaceKindCount]float64{}},
	{Motorcycle, CarTraffic, .01, [PlaceKindCount]float64{}},
	{Train, TrainTraffic, 1, [PlaceKindCount]float64{}},
	{Siren, CarTraffic, 5e-5, [PlaceKindCount]float64{}},
}

// at is the share that counts at a kind of place.
func (s *share) at(p PlaceKind) float64 {
	if s.inPlace == ([PlaceKindCount]float64{}) {
		return s.part
	}
	return s.part * s.inPlace[p]
}

// Info is the row of the kind.
func (k Kind) Info() KindInfo {
	if k >= KindCount {
		return KindInfo{Name: fmt.Sprintf("kind(%d)", k)}
	}
	return kinds[k]
}

// String is the kind's name in files and requests, like "dog_on_lead".
func (k Kind) String() string { return k.Info().Name }

// Category is the category that the kind belongs to.
func (k Kind) Category() Category { return k.Info().Category }

// String is the category's name in files and requests, like "dogs".
func (c Category) String() string {
	if c >= CategoryCount {
		return fmt.Sprintf("category(%d)", c)
	}
	return categoryNames[c]
}

// Kinds lists the kinds of a category in order.
func (c Category) Kinds() []Kind {
	var ks []Kind
	for k := range KindCount {
		if kinds[k].Category == c {
			ks = append(ks, k)
		}
	}
	return ks
}

// String is the pattern's name, like "dog_walks".
func (p Pattern) String() string {
	if p >= PatternCount {
		return fmt.Sprintf("pattern(%d)", p)
	}
	return patternNames[p]
}

// Counted is the category that those who count on the ground put the pattern's movers
// into; Sounds for none.
func (p Pattern) Counted() Category {
	switch p {
	case DogWalks:
		return Dogs
	case WalkingTrips, SchoolTrips:
		return People
	case WheelTrips:
		return Wheels
	case CarTraffic, HeavyTraffic:
		return Traffic
	}
	return Sounds
}

// OffElsewhere is by what factor the levels of a category were off where they were
// counted elsewhere, in both directions: the scatter of a suburb's streets, as the
// test of package counts prints it, rounded up. 0 where nobody counted.
func OffElsewhere(c Category) float64 {
	switch c {
	case People:
		return 4
	case Wheels, Traffic:
		return 2
	}
	return 0
}

// SpeedMPS is the one speed in m/s at which a pattern's streams on other ways
// are stored.
func (p Pattern) SpeedMPS() float64 { return patternSpeedMPS[p] }

// UnknownNameError says that no kind or category has a name.
type UnknownNameError struct {
	What string   // "kind" or "category" or "kind or category"
	Name string   // as given
	Near []string // names that resemble it, nearest first; all names if none does
	All  []string
}

func unknown(what, name string, all []string) *UnknownNameError {
	return &UnknownNameError{what, name, fault.Nearest(name, all), all}
}

func (e *UnknownNameError) Error() string {
	text := fmt.Sprintf("unknown %s %q: did you mean %s?", e.What, fault.Clip(e.Name), strings.Join(e.Near, ", "))
	if len(e.Near) < len(e.All) {
		text += " There are " + strings.Join(e.All, ", ")
	}
	return text
}

// ParseKind finds a kind by its name. The error is an *UnknownNameError.
func ParseKind(name string) (Kind, error) {
	for k := range KindCount {
		if kinds[k].Name == name {
			return k, nil
		}
	}
	return 0, unknown("kind", name, kindNames())
}

// ParseCategory finds a category by its name. The error is an *UnknownNameError.
func ParseCategory(name string) (Category, error) {
	if i := slices.Index(categoryNames[:], name); i >= 0 {
		return Category(i), nil
	}
	return 0, unknown("category", name, categoryNames[:])
}

// ParseKinds finds a kind, or all kinds of a category, by its name. The error is an
// *UnknownNameError.
func ParseKinds(name string) ([]Kind, error) {
	k, c, kind, err := ParseKindOrCategory(name)
	switch {
	case err != nil:
		return nil, err
	case kind:
		return []Kind{k}, nil
	}
	return c.Kinds(), nil
}

// ParseKindOrCategory finds a kind or, where none has the name, a category; kind says
// which. The error is an *UnknownNameError.
func ParseKindOrCategory(name string) (k Kind, c Category, kind bool, err error) {
	if k, err := ParseKind(name); err == nil {
		return k, k.Category(), true, nil
	}
	if c, err := ParseCategory(name); err == nil {
		return 0, c, false, nil
	}
	return 0, 0, false, unknown("kind or category", name, append(categoryNames[:], kindNames()...))
}

// kindNames lists the names of all kinds.
func kindNames() []string {
	names := make([]string, KindCount)
	for k := range KindCount {
		names[k] = kinds[k].Name
	}
	return names
}

var plurals = [KindCount]string{"dogs on lead", "dogs off lead", "dogs behind fences", "adults", "children", "runners",
	"bicycles", "boards and scooters", "prams and wheelchairs", "cars", "lorries and buses", "motorcycles", "trains",
	"sirens", "children's noise", "construction noise", "bells"}

// Plural is the kind's noun for several, like "dogs on lead".
func (k Kind) Plural() string { return plurals[k] }
