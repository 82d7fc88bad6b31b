// Package trips sends trips between places along the least-cost paths of a network: how
// many go to which of very many destinations and what passes each edge, and the ways home
// to a door. It hides that trees are grown on the network without its dead ends, each
// once, and how draws and sums are made that depend neither on the order of a file nor on
// the number of workers.
package trips
