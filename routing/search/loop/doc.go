// Package loop finds closed walks of a wished duration from a door, the cheapest
// that its model holds, and proves how good they are. It hides the contraction of
// the graph, the backward table that steers a beam of edge-aware partial walks, the
// mending of tails, the pool of searches that check each other, and the certificate
// with its multipliers. Like its parent it knows no geography and no dogs.
package loop
