// Package gazetteer finds places by what people type: streets with a house number before
// or after, with a town or a postcode, with the usual abbreviations, with letters missing
// or wrong, and with only the beginning of a word so far. It hides how names are folded to
// one form, how they are cut into streets, the index of their words, and how what is found
// is put in order. The index is made at import and kept with the map.
package gazetteer
