// Package counts holds predicted flows against what people counted on the ground:
// where a counting place lies in a network and which ways it counts, how far model
// and counts lie apart, and what counts teach about the flows around them.
package counts
