// Package routing plans one walk for one dog: a wish becomes a plan with walks, legs,
// watch points and what each is expected to bring. Loops, there and back, ways from
// A to B, the longest calm walk, the hours of a week and places to drive to are all
// asked here, and a walk that was found before is told again from its ground. It
// hides how a wish is turned into a search, how arcs become legs that a person would
// say, and what is offered where nothing can be had.
package routing
