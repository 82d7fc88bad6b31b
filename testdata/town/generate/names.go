package main

import "fmt"

// Street names are made of a first part and a second; no pair is used twice.
var (
	firstParts = []string{
		"Alder", "Anvil", "Ash", "Barley", "Basket", "Beech", "Bobbin", "Bracken", "Brick", "Bramble",
		"Candle", "Carder", "Carter", "Cask", "Cherry", "Clay", "Clover", "Cobbler", "Cooper", "Copper",
		"Curlew", "Dyer", "Elder", "Elm", "Fern", "Ferry", "Finch", "Flax", "Fuller", "Furze",
		"Glover", "Granary", "Hatter", "Hawthorn", "Hazel", "Heron", "Hop", "Hurdle", "Ivy", "Joiner",
		"Kestrel", "Ladder", "Lantern", "Larch", "Lathe", "Linnet", "Loom", "Madder", "Maple", "Mason",
		"Meadow", "Needle", "Oak", "Orchard", "Osier", "Owl", "Pear", "Plover", "Plum", "Potter",
		"Quarry", "Quill", "Reed", "Ropers", "Rowan", "Rush", "Saddler", "Sawyer", "Sedge", "Shearer",
		"Sickle", "Slate", "Sloe", "Smithy", "Sorrel", "Spindle", "Starling", "Tallow", "Thatcher", "Thimble",
		"Thistle", "Tiler", "Turner", "Vetch", "Walnut", "Wheel", "Whin", "Willow", "Woad", "Wren",
	}
	secondParts = map[kind][]string{
		residential:  {"Street", "Row", "Lane", "Street", "Road", "Terrace"},
		living:       {"Lane", "Street", "Yard"},
		worksRoad:    {"Works Road", "Yard", "Sidings"},
		unclassified: {"Lane", "Road"},
		tertiary:     {"Road", "Street"},
		alley:        {"Back"},
	}
)

// nameFor gives the next unused name that suits a kind of street.
func (t *town) nameFor(k kind, second ...string) string {
	if len(second) == 0 {
		second = secondParts[k]
	}
	if len(second) == 0 {
		return ""
	}
	for try := 0; ; try++ {
		first := firstParts[t.rng.IntN(len(firstParts))]
		name := fmt.Sprintf("%s %s", first, second[t.rng.IntN(len(second))])
		// A first part serves twice at most, so that neighbours are not mixed up.
		if !t.named[name] && (t.firsts[first] < 1 || try > 200) {
			t.named[name] = true
			t.firsts[first]++
			return name
		}
		if try == 400 {
			clear(t.firsts)
		}
	}
}
