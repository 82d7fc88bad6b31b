// Package briefing tells a plan in words and draws it: the band of room along a
// walk at true scale, the walk unrolled, the map, and the page that a handler
// carries. Everything drawn for screen and paper is computed here once, in plane
// metres, from the plan and what the map shows; nothing here knows of HTTP or of
// the clock.
//
// Room is empty paper and trouble is marks: the calmer the ground, the emptier the
// drawing. Room needed is always blue and always a measured line with a number.
package briefing
