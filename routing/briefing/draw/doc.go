// Package draw draws the walks of a plan: the band of room along a walk at true
// scale, the walk unrolled, the map, the place of a visit and the page that a
// handler carries. Everything drawn for screen and paper is computed here once, in
// plane metres, from the plan and what the map shows. It hides how room becomes
// borders, where a label finds its place, and how SVG and the page are written;
// nothing here knows of HTTP or of the clock.
//
// Room is empty paper and trouble is marks: the calmer the ground, the emptier the
// drawing. Room needed is always blue and always a measured line with a number.
package draw
