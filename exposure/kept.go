package exposure

import (
	"encoding/binary"
	"fmt"
	"math"
	"math/bits"

	"wideberth/osmdata/flatfile"
)

// kept holds the columns of a field that lie in a file otherwise than they are made:
// streams nearby without their empty bins, room and touches as whole numbers. Nothing in
// it that is read without its checksum can lead out of range: whatever bits have turned,
// they make another number.
type kept struct {
	nearAt  []uint32 // the bins of edge e are near[nearAt[e]:nearAt[e+1]]
	near    []byte
	room    [][4]uint16 // left low, left least, right low, right least, centimetres
	assumed []uint8     // bit 0: left room is a default; bit 1: right
	touches []keptTouch
}

// keptTouch is a Touch in 12 bytes.
type keptTouch struct {
	Source int32
	DistCM uint32
	Share  uint16 // of an edge, in shareSteps
	Drop   uint8  // in dropSteps a dB
	Seen   uint8  // 1 in sight, 2 in sight while trees are bare
}

// The steps of what is kept as whole numbers.
const (
	shareSteps = math.MaxUint16
	dropSteps  = 8
	cmPerM     = 100
)

// steps is a number of steps, held within those that there are; 0 for what is no number.
func steps(x, most float64) float64 {
	if !(x > 0) {
		return 0
	}
	return math.Round(min(most, x))
}

func roomCM(m float32) uint16 { return uint16(steps(cmPerM*float64(m), math.MaxUint16)) }

func keepTouch(t *Touch) keptTouch {
	return keptTouch{Source: t.Source, DistCM: uint32(steps(cmPerM*float64(t.DistM), math.MaxUint32)),
		Share: uint16(steps(shareSteps*float64(t.Share), shareSteps)), Drop: uint8(steps(dropSteps*float64(t.DropDB), math.MaxUint8)),
		Seen: bit(t.InSight) + bit(t.Bare)}
}

func (k *keptTouch) touch() Touch {
	return Touch{Source: k.Source, DistM: float32(float64(k.DistCM) / cmPerM), Share: float32(k.Share) / shareSteps,
		DropDB: float32(k.Drop) / dropSteps, InSight: k.Seen != 0, Bare: k.Seen == 2}
}

// appendNear appends the bins of one edge: a byte of patterns that have any, for each of
// them two bytes of bins that it has, then rate and position of every bin.
func appendNear(dst []byte, of *[PatternCount]*[BinCount]Bin) []byte {
	at := len(dst)
	dst = append(dst, 0)
	for p, bins := range of {
		if mask := binMask(bins); mask != 0 {
			dst[at] |= 1 << p
			dst = binary.LittleEndian.AppendUint16(dst, mask)
		}
	}
	if dst[at] == 0 {
		return dst[:at]
	}
	for _, bins := range of {
		for b := range bins {
			if bins[b].Rate != 0 {
				dst = append(dst, bins[b].Rate, bins[b].Pos)
			}
		}
	}
	return dst
}

func binMask(bins *[BinCount]Bin) (mask uint16) {
	for b := range bins {
		if bins[b].Rate != 0 {
			mask |= 1 << b
		}
	}
	return mask
}

// allBins are the bits of a mask that mean a bin.
const allBins = 1<<BinCount - 1

// bins reads the bins of a pattern at an edge; none where what lies there makes no sense.
func (k *kept) bins(p Pattern, e int32) (out [BinCount]Bin) {
	row := k.near[k.nearAt[e]:k.nearAt[e+1]]
	if len(row) == 0 || row[0]>>p&1 == 0 {
		return out
	}
	masks := 2 * bits.OnesCount8(row[0])
	before := 2 * bits.OnesCount8(row[0]&(1<<p-1))
	if len(row) < 1+masks {
		return out
	}
	skip := 0
	for i := 0; i < before; i += 2 {
		skip += bits.OnesCount16(binary.LittleEndian.Uint16(row[1+i:]) & allBins)
	}
	mask := binary.LittleEndian.Uint16(row[1+before:]) & allBins
	data := row[1+masks:]
	if len(data) < 2*(skip+bits.OnesCount16(mask)) {
		return out
	}
	data = data[2*skip:]
	for ; mask != 0; mask &= mask - 1 {
		out[bits.TrailingZeros16(mask)%BinCount] = Bin{data[0], data[1]}
		data = data[2:]
	}
	return out
}

// NearBins is what passes on other ways beside an edge, and dogs behind its fences.
func (f *Field) NearBins(p Pattern, e int32) [BinCount]Bin {
	if f.Near[p] == nil {
		return f.kept.bins(p, e)
	}
	return f.Near[p][e]
}

// left and right are the sides of an edge, seen along its geometry.
func (f *Field) left(e int32) Side {
	if f.Left == nil {
		return f.kept.side(e, 0)
	}
	return f.Left[e]
}

func (f *Field) right(e int32) Side {
	if f.Right == nil {
		return f.kept.side(e, 1)
	}
	return f.Right[e]
}

func (k *kept) side(e int32, right int) Side {
	r := &k.room[e]
	return Side{float32(r[2*right]) / cmPerM, float32(r[2*right+1]) / cmPerM, k.assumed[e]>>right&1 != 0}
}

// touchesOfMap appends the touches of the map's sources at an edge.
func (f *Field) touchesOfMap(dst []Touch, e int32) []Touch {
	if f.kept == nil {
		return append(dst, f.Touches[f.TouchAt[e]:f.TouchAt[e+1]]...)
	}
	for i := f.TouchAt[e]; i < f.TouchAt[e+1]; i++ {
		dst = append(dst, f.kept.touches[i].touch())
	}
	return dst
}

// TouchCount is the number of touches of the map's sources.
func (f *Field) TouchCount() int {
	if f.kept != nil {
		return len(f.kept.touches)
	}
	return len(f.Touches)
}

// encodeKept writes the columns that are kept otherwise than they are made.
func (f *Field) encodeKept(w *flatfile.Writer, prefix string) {
	k := f.kept
	if k == nil {
		k = f.keep()
	}
	flatfile.Put(w, prefix+"near-at", k.nearAt)
	flatfile.Put(w, prefix+"near", k.near)
	flatfile.Put(w, prefix+"room", k.room)
	flatfile.Put(w, prefix+"room-default", k.assumed)
	flatfile.Put(w, prefix+"touch", k.touches)
}

// keep makes the columns as a file has them.
func (f *Field) keep() *kept {
	n := len(f.Left)
	k := &kept{nearAt: make([]uint32, 1, n+1), room: make([][4]uint16, n), assumed: make([]uint8, n), touches: make([]keptTouch, len(f.Touches))}
	for e := range n {
		var of [PatternCount]*[BinCount]Bin
		for p := range of {
			of[p] = &f.Near[p][e]
		}
		k.near = appendNear(k.near, &of)
		k.nearAt = append(k.nearAt, uint32(len(k.near)))
		l, r := &f.Left[e], &f.Right[e]
		k.room[e] = [4]uint16{roomCM(l.LowM), roomCM(l.LeastM), roomCM(r.LowM), roomCM(r.LeastM)}
		k.assumed[e] = bit(l.Default) | bit(r.Default)<<1
	}
	for i := range f.Touches {
		k.touches[i] = keepTouch(&f.Touches[i])
	}
	return k
}

// takeKept takes those columns. Where bins and touches begin is checked, and what they
// point at; rooms and bins are not read.
func takeKept(t *taking) *kept {
	k := &kept{nearAt: sure[uint32](t, "near-at"), near: take[byte](t, "near"), room: take[[4]uint16](t, "room"),
		assumed: take[uint8](t, "room-default"), touches: sure[keptTouch](t, "touch")}
	if t.err != nil {
		return k
	}
	if n := len(k.nearAt); n == 0 || k.nearAt[0] != 0 || int64(k.nearAt[n-1]) != int64(len(k.near)) {
		t.uneven("near-at")
		return k
	}
	for e := 1; e < len(k.nearAt); e++ {
		if k.nearAt[e] < k.nearAt[e-1] {
			t.uneven("near-at")
			return k
		}
	}
	if len(k.assumed) != len(k.room) || len(k.nearAt) != len(k.room)+1 {
		t.uneven("room")
	}
	return k
}

// check holds what is kept against what it is about.
func (k *kept) check(sources int) error {
	for i := range k.touches {
		if t := &k.touches[i]; t.Source < 0 || int(t.Source) >= sources {
			return fmt.Errorf("field: touch %d is of source %d of %d", i, t.Source, sources)
		}
	}
	return nil
}
