// Package escape is about getting away: the refuge of who stands on an arc, the way
// out of what is there now, and what to do along a walk whatever turns up. It hides
// how a threat may go on, and the search for the way that keeps the most distance.
package escape
