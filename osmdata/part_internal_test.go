package osmdata

import (
	"testing"

	"github.com/paulmach/osm"
	"google.golang.org/protobuf/encoding/protowire"
)

// bytesField is a field of a protocol buffer message that has a length.
func bytesField(num protowire.Number, v []byte) []byte {
	return protowire.AppendBytes(protowire.AppendTag(nil, num, protowire.BytesType), v)
}

// numberOf is a message with an id in field 1, as ways and relations begin.
func numberOf(id uint64) []byte {
	return protowire.AppendVarint(protowire.AppendTag(nil, 1, protowire.VarintType), id)
}

// TestWhatAPartHolds: which elements a block holds, and whether they ascend. Field numbers
// from the community's description of the format ("PBF Format").
func TestWhatAPartHolds(t *testing.T) {
	group := func(fields ...[]byte) (out []byte) {
		for _, f := range fields {
			out = append(out, f...)
		}
		return bytesField(2, out)
	}
	nodes := func(ids ...int64) []byte {
		var packed []byte
		last := int64(0)
		for _, id := range ids {
			packed, last = protowire.AppendVarint(packed, protowire.EncodeZigZag(id-last)), id
		}
		return bytesField(2, bytesField(1, packed))
	}
	way, relation := func(id uint64) []byte { return bytesField(3, numberOf(id)) }, func(id uint64) []byte { return bytesField(4, numberOf(id)) }
	for name, c := range map[string]struct {
		block       []byte
		first, last Element
		ok          bool
	}{
		"nodes":                    {group(nodes(3, 7, 9)), Element{osm.TypeNode, 3}, Element{osm.TypeNode, 9}, true},
		"one way":                  {group(way(5)), Element{osm.TypeWay, 5}, Element{osm.TypeWay, 5}, true},
		"two groups of nodes":      {append(group(nodes(3)), group(nodes(4))...), Element{osm.TypeNode, 3}, Element{osm.TypeNode, 4}, true},
		"nodes, then ways":         {append(group(nodes(3, 8)), group(way(1), way(2))...), Element{osm.TypeNode, 3}, Element{osm.TypeWay, 2}, true},
		"ways, then nodes":         {append(group(way(1)), group(nodes(3))...), Element{}, Element{}, false},
		"ways among relations":     {append(group(relation(1)), group(way(3))...), Element{}, Element{}, false},
		"all kinds":                {append(append(group(nodes(1)), group(way(1))...), group(relation(6), relation(7))...), Element{osm.TypeNode, 1}, Element{osm.TypeRelation, 7}, true},
		"nodes out of order":       {group(nodes(7, 3)), Element{}, Element{}, false},
		"a node twice":             {group(nodes(3, 3)), Element{}, Element{}, false},
		"groups out of order":      {append(group(nodes(9)), group(nodes(4))...), Element{}, Element{}, false},
		"ways out of order":        {group(way(9), way(4)), Element{}, Element{}, false},
		"relations out of order":   {group(relation(9), relation(4)), Element{}, Element{}, false},
		"no database numbered yet": {group(nodes(-1, -2)), Element{}, Element{}, false},
		"nothing":                  {nil, Element{}, Element{}, false},
	} {
		h, err := inspect(c.block)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		first, last, ok := (Part{b: block{holding: h}}).Range()
		if ok != c.ok || ok && (first != c.first || last != c.last) {
			t.Errorf("%s: %v to %v, %t", name, first, last, ok)
		}
	}
}

// TestMayHold: a block is looked into if one of the ids lies between its least and most.
func TestMayHold(t *testing.T) {
	h := holding{nodes: noIDs, ways: idRange{least: 10, most: 20}}
	for _, c := range []struct {
		ids  []int64
		want bool
	}{{nil, false}, {[]int64{9}, false}, {[]int64{10}, true}, {[]int64{5, 15, 25}, true}, {[]int64{20, 21}, true}, {[]int64{9, 21}, false}} {
		if got := h.mayHold(hasWays, c.ids); got != c.want {
			t.Errorf("%v: %t", c.ids, got)
		}
		if h.mayHold(hasNodes, c.ids) {
			t.Errorf("%v: among no nodes", c.ids)
		}
	}
}
