package exposure

// Need is the pair of distances that a dog has for a kind or category.
type Need struct {
	// WorkingM is the distance W in metres at which the dog notices, still takes
	// food and turns back: one in ten encounters goes over threshold.
	WorkingM float64
	// ReactionM is the distance R < W in metres at which half of them do.
	ReactionM float64
}

// Dog is what the model needs to know of a dog.
type Dog struct {
	Name       string
	SpeedMPS   float64             // usual pace, 0 for the default
	ByCategory map[Category]Need   // distances for whole categories
	ByKind     map[Kind]Need       // distances for single kinds, before the category's
	AssumedR   map[string]struct{} // names of the needs whose reaction distance is assumed
}
