package tiling

import (
	"wideberth/osmdata/cut"
	"wideberth/routing/snapshot"
)

// Gather is gather.
var Gather = gather

// StepsOf are the steps of a kind for all blocks.
func StepsOf(k Kind, blocks *cut.Blocks, s Settings, told wholes) (out []Step, err error) {
	s.Format = snapshot.Version
	for i := range blocks.Blocks {
		x := step(k, &blocks.Blocks[i], s, told)
		if err := x.name(); err != nil {
			return nil, err
		}
		out = append(out, x)
	}
	return out, nil
}
