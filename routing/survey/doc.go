// Package survey computes, once at import, everything that the exposure model
// needs of a map and that depends on no dog and no hour: flows from the homes that
// people leave, room to each side of every edge, sight along it, streams on other
// ways nearby, and sources in reach. The work is split by edge and comes out the
// same for any number of workers.
package survey
