package trips

import (
	"cmp"
	"slices"
)

// Numbers drawn for places: by OSM's node ids or squares of the earth, never by the
// order of a file, so that a part of a map draws as the whole does. The mixer is
// SplitMix64's (Steele, Lea and Flood 2014, OOPSLA): short keys differ in all bits.

// Salts keep draws of one thing apart from those of another.
const (
	saltRoute uint64 = iota + 1
	SaltDrive
	saltExit
	saltSet
)

func mixed(x uint64) uint64 {
	x += 0x9e3779b97f4a7c15
	x = (x ^ x>>30) * 0xbf58476d1ce4e5b9
	x = (x ^ x>>27) * 0x94d049bb133111eb
	return x ^ x>>31
}

// Chance is a number from 0 to 1 by two keys, whichever way round, a draw and what
// it is drawn for.
func Chance(a, b int64, draw int, salt, seed uint64) float64 {
	return float64(mixedOf(a, b, draw, salt, seed)>>11) / (1 << 53)
}

func mixedOf(a, b int64, draw int, salt, seed uint64) uint64 {
	lo, hi := uint64(min(a, b)), uint64(max(a, b))
	return mixed(mixed(mixed(lo)^hi) ^ uint64(draw)<<8 ^ salt ^ seed<<32)
}

// Shuffled is an order of 0 to n-1 that a key has of its own, for the exits of homes.
func Shuffled(key int64, n int, seed uint64) []int {
	order := make([]int, n)
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(a, b int) int {
		return cmp.Compare(mixedOf(key, key, a, saltExit, seed), mixedOf(key, key, b, saltExit, seed))
	})
	return order
}
