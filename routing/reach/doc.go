// Package reach is the part of a map that a walk can use. Land is a map made ready
// to be searched; a Reach is what lies within a budget of a place, as a small graph
// of its own that is priced for a dog and an hour and barred by limits. It hides how
// places in the middle of an edge become vertices, how hazards become costs of arcs
// by stretches of the clock, what each limit forbids, and how a walk is written down
// as bare ground, read back, and found again on another map.
package reach
