// Package snapshot is the file of a map: network, field of exposure, ground plan,
// slopes and names of places, made from an extract once, immutable, whole or not
// there. It hides the order of the import, the sections of the file, and what of the
// extract is kept for drawing.
package snapshot
