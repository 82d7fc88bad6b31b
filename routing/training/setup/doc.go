// Package setup finds ground for a meeting with a known helper, and the minutes of it:
// the helper keeps one line, the dog has lines parallel to it and comes nearer only at a
// printed minute, so that the distance is kept by where people walk and not by when. It
// hides the search of the ground, the ways in of both, what else comes near, and how a
// course becomes two timetables on one clock.
package setup
