package network

import (
	"cmp"
	"errors"
	"math"
	"slices"

	"wideberth/osmdata"
	"wideberth/osmdata/plane"
)

// defaultMinIslandM is the total length in metres below which a piece of network
// that hangs together with nothing else is dropped: stray paths drawn inside a
// courtyard or on a platform, from which no walk could lead (our assumption).
const defaultMinIslandM = 300

// mergeM is the distance in metres at which two consecutive nodes of a way are one
// place. OSM stores seven decimals of a degree, about a centimetre.
const mergeM = 0.001

// ErrNoStreets says that no street was left to build a network from.
var ErrNoStreets = errors.New("no street that can be used")

// Options say how to build. The zero value is the walkable network.
type Options struct {
	// Use picks the streets; nil takes those that may be walked.
	Use func(*osmdata.Street) bool
	// MinIslandM is the least total length of a connected piece that is kept;
	// 0 takes defaultMinIslandM, a negative number keeps everything; minus
	// infinity also leaves out counting the pieces, which takes a fifth of the time.
	MinIslandM float64
	// Apart are further flags whose change ends an edge.
	Apart osmdata.StreetFlags
	// Frame says where on the earth the streets lie; the zero value where the meridian
	// of Greenwich meets the equator.
	Frame plane.Frame
}

// Stats say what became of the streets.
type Stats struct {
	Streets    int     // used
	Points     int     // of those streets
	Pieces     int     // after splitting where streets meet
	Vertices   int     // after contraction
	Edges      int     // after contraction
	LengthM    float64 // of all edges
	Components int     // connected pieces kept
	Islands    int     // connected pieces dropped
	IslandM    float64 // their length
	Duplicates int     // pieces drawn twice over the same nodes, dropped
	DuplicateM float64 // their length
	ZeroLength int     // steps between two nodes at one place, merged
	Barred     int     // nodes where the network was cut because nobody may pass
	Open       int     // ends that go on outside the extract
}

// Build makes the network of the streets, cut at barred nodes. The result depends
// neither on the order of the streets nor on their ids, direction, or cutting:
// vertices stand along a Hilbert curve through the square of the earth, edges by their
// ends and nodes, so that a part of a map is numbered in the order of the whole and its
// edges run the same way. An edge's class is that of the longest run in it. The input is
// not changed.
//
// It returns ErrNoStreets if nothing is left.
func Build(streets []osmdata.Street, barred osmdata.Barred, o Options) (*Graph, Stats, error) {
	b := &builder{barred: barred, apart: guardedFlags | o.Apart, frame: o.Frame}
	b.choose(streets, o.Use)
	b.number()
	b.mergeCoincident()
	b.cut()
	b.dropDuplicates()
	b.partBarred()
	b.contract()
	minM := o.MinIslandM
	if minM == 0 {
		minM = defaultMinIslandM
	}
	if !math.IsInf(minM, -1) {
		b.dropIslands(minM)
	}
	if len(b.chains) == 0 {
		return nil, b.stats, ErrNoStreets
	}
	g := b.pack()
	return g, b.stats, nil
}

// builder holds what the steps of Build hand on. A point is a node of OSM with a
// small number; after cut it may also be one of several ends of ways at a barred
// node.
type builder struct {
	barred  osmdata.Barred
	apart   osmdata.StreetFlags // where these change an edge ends
	frame   plane.Frame
	streets []*osmdata.Street
	points  []point
	runs    [][]int32 // per street, the point of each of its nodes
	pieces  []piece
	chains  []chain
	links   []link
	nameOf  []int32 // by street, the number of its name, 0 where that is not known yet
	stats   Stats
}

// piece is the run of a street between two places where the network may branch.
type piece struct {
	street     int32 // index into builder.streets
	from, to   int32 // positions in the street's nodes
	tail, head int32 // points
	fromM, toM float64
}

func (p *piece) lengthM() float64 { return p.toM - p.fromM }

// choose takes the streets to use, in an order that does not depend on the input's.
// Outlines of areas come last, so that of two pieces drawn on the same nodes the
// street proper stays.
func (b *builder) choose(streets []osmdata.Street, use func(*osmdata.Street) bool) {
	for i := range streets {
		s := &streets[i]
		if use == nil && s.Foot || use != nil && use(s) {
			b.streets = append(b.streets, s)
			b.stats.Points += len(s.Nodes)
		}
	}
	slices.SortFunc(b.streets, func(s, t *osmdata.Street) int {
		if c := cmp.Or(cmp.Compare(s.Flags&osmdata.FlagAreaEdge, t.Flags&osmdata.FlagAreaEdge), cmp.Compare(s.Class, t.Class), cmp.Compare(s.ID, t.ID)); c != 0 {
			return c
		}
		return slices.Compare(s.Nodes, t.Nodes)
	})
	b.stats.Streets = len(b.streets)
}
