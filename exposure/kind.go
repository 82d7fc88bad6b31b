// Package exposure predicts what a walk with a dog will meet: how many triggers
// of which kind, how near they come, and how likely this dog goes over threshold.
//
// One quantity runs through everything: expected reactions X of a walk, the
// integral over the walk of a hazard h(place, time) for one dog. Kinds of
// trigger, the dog's distances, what the map offers (Field) and the clock make
// the hazard; a planner adds it up along a walk; the chance of a calm walk
// follows from the sum.
package exposure

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
	PatternCount
)
