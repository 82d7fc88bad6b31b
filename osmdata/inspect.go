package osmdata

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"google.golang.org/protobuf/encoding/protowire"
)

// Reasons to refuse the content of a block.
var (
	errWire  = errors.New("block content is not in the PBF format: the file is damaged")
	errPlain = errors.New("nodes that are not packed densely are not supported: rewrite the file with dense nodes")
)

// fields calls take for every field of a protocol buffer message: with a number for
// varints, with bytes for what has a length. Groups, which the format does not
// have, are refused.
func fields(msg []byte, take func(num protowire.Number, typ protowire.Type, v uint64, data []byte) error) error {
	for len(msg) > 0 {
		num, typ, n := protowire.ConsumeTag(msg)
		if n < 0 {
			return errWire
		}
		msg = msg[n:]
		var v uint64
		var data []byte
		switch typ {
		case protowire.VarintType:
			v, n = protowire.ConsumeVarint(msg)
		case protowire.BytesType:
			data, n = protowire.ConsumeBytes(msg)
		case protowire.Fixed32Type, protowire.Fixed64Type:
			n = protowire.ConsumeFieldValue(num, typ, msg)
		default:
			return errWire
		}
		if n < 0 {
			return errWire
		}
		msg = msg[n:]
		if err := take(num, typ, v, data); err != nil {
			return err
		}
	}
	return nil
}

// numbers calls take for every number of a packed field.
func numbers(data []byte, take func(v uint64) error) error {
	for len(data) > 0 {
		v, n := protowire.ConsumeVarint(data)
		if n < 0 {
			return errWire
		}
		if err := take(v); err != nil {
			return err
		}
		data = data[n:]
	}
	return nil
}

// holding is what a block holds: which kinds of element, and of each between which ids.
type holding struct {
	holds                  elements
	mixed                  bool // one kind comes after another that should follow it
	nodes, ways, relations idRange
}

// idRange is a range of ids, both in it.
type idRange struct {
	least, most int64
	last        int64 // that was added
	shuffled    bool  // they do not ascend
}

// noIDs is a range that holds none.
var noIDs = idRange{least: math.MaxInt64, most: math.MinInt64, last: math.MinInt64}

func (r *idRange) add(id int64) {
	r.least, r.most = min(r.least, id), max(r.most, id)
	r.shuffled, r.last = r.shuffled || id <= r.last, id
}

// of gives the ids of a kind.
func (h *holding) of(kind elements) *idRange {
	switch kind {
	case hasNodes:
		return &h.nodes
	case hasWays:
		return &h.ways
	}
	return &h.relations
}

// mayHold tells whether a block may hold an element of a kind with one of the ids, which
// are sorted.
func (h *holding) mayHold(kind elements, ids []int64) bool {
	r := h.of(kind)
	i, _ := slices.BinarySearch(ids, r.least)
	return i < len(ids) && ids[i] <= r.most
}

// inspection checks one block of data for what the library takes on trust: field
// types, references into the table of strings, lists of equal length.
type inspection struct {
	strings uint64 // in the block's table
	holding
}

// inspect tells which elements a block of data holds, and whether its content is sound.
func inspect(data []byte) (holding, error) {
	in := inspection{holding: holding{nodes: noIDs, ways: noIDs, relations: noIDs}}
	// The table may come after what refers to it.
	err := fields(data, func(num protowire.Number, typ protowire.Type, _ uint64, table []byte) error {
		switch {
		case num >= 17 && num <= 20 && typ != protowire.VarintType, num <= 2 && typ != protowire.BytesType:
			return errWire
		case num != 1:
			return nil
		}
		in.strings = 0
		return fields(table, func(num protowire.Number, typ protowire.Type, _ uint64, _ []byte) error {
			if num == 1 && typ == protowire.BytesType {
				in.strings++
			}
			return nil
		})
	})
	if err != nil {
		return in.holding, err
	}
	err = fields(data, func(num protowire.Number, _ protowire.Type, _ uint64, group []byte) error {
		if num != 2 {
			return nil
		}
		return fields(group, in.element)
	})
	return in.holding, err
}

// element checks one field of a group: dense nodes, a way or a relation.
func (in *inspection) element(num protowire.Number, typ protowire.Type, _ uint64, data []byte) error {
	if num == 1 {
		return errPlain
	}
	if num <= 4 && typ != protowire.BytesType {
		return errWire
	}
	if num <= 4 {
		kind := elements(1) << (num - 2)
		in.mixed = in.mixed || in.holds > kind<<1-1
		in.holds |= kind
	}
	switch num {
	case 2:
		return fields(data, in.dense)
	case 3:
		return in.tagged(data, "places for nodes")
	case 4:
		return in.tagged(data, "members")
	}
	return nil
}

// dense checks one field of a list of dense nodes.
func (in *inspection) dense(num protowire.Number, typ protowire.Type, _ uint64, data []byte) error {
	switch num {
	case 1:
		if typ != protowire.BytesType {
			return errWire
		}
		id := int64(0)
		return numbers(data, func(v uint64) error {
			id += protowire.DecodeZigZag(v)
			in.nodes.add(id)
			return nil
		})
	case 8, 9:
		return packed(typ)
	case 10:
		if typ != protowire.BytesType {
			return errWire
		}
		return numbers(data, func(v uint64) error {
			if v == 0 {
				return nil // the end of a node's tags
			}
			return in.ref(v)
		})
	case 5:
		if typ != protowire.BytesType {
			return errWire
		}
		return fields(data, in.denseInfo)
	}
	return nil
}

// denseInfo checks one field of the metadata of dense nodes.
func (in *inspection) denseInfo(num protowire.Number, typ protowire.Type, _ uint64, data []byte) error {
	if num > 6 {
		return nil
	}
	if num != 5 || typ != protowire.BytesType {
		return packed(typ)
	}
	user := int64(0)
	return numbers(data, func(v uint64) error {
		d := protowire.DecodeZigZag(v)
		if d != int64(int32(d)) {
			return errWire
		}
		user += d
		return in.ref(uint64(user)) // negative numbers become large ones
	})
}

// tagged checks a way or a relation: both have their tags in fields 2 and 3,
// metadata in 4, and in 8, 9 and 10 lists that belong together. What fields 8 to 10
// list is named for the error.
func (in *inspection) tagged(data []byte, lists string) error {
	relation := lists == "members"
	var length [11]int
	var seen [11]bool
	err := fields(data, func(num protowire.Number, typ protowire.Type, v uint64, data []byte) error {
		if num == 1 && relation {
			in.relations.add(int64(v))
		} else if num == 1 {
			in.ways.add(int64(v))
		}
		switch {
		case num == 1 && typ != protowire.VarintType, num > 1 && num <= 10 && typ != protowire.BytesType:
			return errWire
		case num == 1 || num > 10:
			return nil
		case num == 4:
			return fields(data, in.info)
		case num >= 8 && seen[num]:
			return errWire
		}
		seen[num], length[num] = true, 0
		strings := num == 2 || num == 3 || num == 8 && relation
		return numbers(data, func(v uint64) error {
			length[num]++
			if strings {
				return in.ref(v)
			}
			return nil
		})
	})
	switch {
	case err != nil:
		return err
	case length[2] != length[3]:
		return fmt.Errorf("%d keys for %d values of tags: the file is damaged", length[2], length[3])
	case relation && (length[8] != length[9] || length[8] != length[10]),
		!relation && (seen[9] && length[9] != length[8] || seen[10] && length[10] != length[8]):
		return fmt.Errorf("lists of %d, %d and %d %s: the file is damaged", length[8], length[9], length[10], lists)
	}
	return nil
}

// info checks one field of the metadata of a way or relation.
func (in *inspection) info(num protowire.Number, typ protowire.Type, v uint64, _ []byte) error {
	if num <= 6 && typ != protowire.VarintType {
		return errWire
	}
	if num == 5 {
		return in.ref(v)
	}
	return nil
}

// ref checks a reference into the table of strings.
func (in *inspection) ref(v uint64) error {
	if v >= in.strings {
		return fmt.Errorf("reference to string %d of %d: the file is damaged", v, in.strings)
	}
	return nil
}

func packed(typ protowire.Type) error {
	if typ != protowire.BytesType {
		return errWire
	}
	return nil
}
