package drive

import (
	"errors"
	"sync"

	"wideberth/exposure/strain"
	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
	"wideberth/routing/search"
)

// What drive times rest on, all of it our assumption.
const (
	SpeedShare = 0.85 // of the legal speed or, where none is tagged, the usual one of the class
	JunctionS  = 3    // seconds at a junction of roads; none on a motorway
	ParkingS   = 120  // seconds from the last road to the first step
	leastKMH   = 10   // on ways of classes that have no usual speed
)

// islandM is the length of roads below which those that hang together with no others
// are left out: a door beside a yard's road belongs to the street behind it (our
// assumption).
const islandM = 2000

// apart are facts that a road has from end to end.
const apart = osmdata.FlagOneWay | noHalt

// noHalt are facts of roads on which no car can be left.
const noHalt = osmdata.FlagLink | osmdata.FlagBridge | osmdata.FlagTunnel

// strayM is how far the kept course of a road may stray from the drawn one, in
// metres: less than the width of a road and its verges.
const strayM = 8

// use is what a car can do on an edge.
type use uint8

const (
	forward  use = 1 << iota // drive from tail to head
	backward                 // drive from head to tail
	halt                     // stop, and join it from the side
	swift                    // pass its ends without waiting
)

// edge is a road between two vertices.
type edge struct {
	tail, head int32
	seconds    float32 // from end to end, junctions apart
	use        use
}

// Network is the roads of a map. Immutable; may be shared between goroutines.
type Network struct {
	vertex [][2]float32 // metres
	edges  []edge
	lineAt []int32      // bends of edge e are bends[lineAt[e]:lineAt[e+1]]
	bends  [][2]float32 // metres, between its ends
	bans   []ban        // sorted

	once    sync.Once       // makes the rest when it is first asked for
	err     error           // of that
	degree  []int32         // by vertex
	halfOf  map[run]int32   // the vertex of their own of who arrives by a run
	halfFor map[run][]int32 // and those from which a run may be taken
	star    search.Graph
	cost    []float32 // by arc: seconds, infinite against a one-way street
	router  *search.Router
	index   *plane.Index // of pieces where a car can halt; ID is the piece's number
	pieces  []piece
}

// piece is a straight piece of an edge.
type piece struct {
	edge  int32
	fromM float32 // metres of kept course before it
}

// New makes the network of the streets that a stranger's car may use, cut at the
// nodes that end a drive, with the turns that are banned; it is empty where there are
// none. Bridges and what they cross share no node and so no vertex.
func New(streets []osmdata.Street, ends osmdata.Barred, turns []osmdata.TurnBan, region strain.Region) (*Network, error) {
	g, _, err := network.Build(streets, ends, network.Options{Use: open, MinIslandM: islandM, Apart: apart})
	if errors.Is(err, network.ErrNoStreets) {
		return &Network{lineAt: []int32{0}}, nil
	}
	if err != nil {
		return nil, err
	}
	n := &Network{lineAt: make([]int32, 1, g.EdgeCount()+1)}
	for _, p := range g.Vertex {
		n.vertex = append(n.vertex, small(p))
	}
	for e := range int32(g.EdgeCount()) {
		a := g.EdgeArc[e]
		n.edges = append(n.edges, edge{g.Star.Head[g.Star.Twin[a]], g.Star.Head[a], seconds(g, e, region), useOf(g, e)})
		line := g.EdgeLine(e).Simplified(strayM)
		for _, p := range line[1 : len(line)-1] {
			n.bends = append(n.bends, small(p))
		}
		n.lineAt = append(n.lineAt, int32(len(n.bends)))
	}
	n.bans = n.bansOf(g, turns)
	return n, nil
}

// open says whether a stranger's car may use a street. Drives and the aisles of car
// parks are no part of a way somewhere.
func open(s *osmdata.Street) bool {
	return s.Motor && s.Flags&(osmdata.FlagByLeave|osmdata.FlagDriveway) == 0
}

func small(p plane.Point) [2]float32 { return [2]float32{float32(p.X), float32(p.Y)} }

func point(p [2]float32) plane.Point { return plane.Point{X: float64(p[0]), Y: float64(p[1])} }

// seconds is the time from end to end of an edge.
func seconds(g *network.Graph, e int32, region strain.Region) float32 {
	sum := 0.0
	for i := g.PartAt[e]; i < g.PartAt[e+1]; i++ {
		p, to := &g.Parts[i], g.LengthM[e]
		if i+1 < g.PartAt[e+1] {
			to = g.Parts[i+1].FromM
		}
		sum += float64(to-p.FromM) / (SpeedShare * max(leastKMH, region.SpeedKMH(p.Class, p.SpeedMPS)) / 3.6)
	}
	return float32(sum)
}

// useOf tells what a car can do on an edge: a direction is open where all its parts
// are open in it.
func useOf(g *network.Graph, e int32) use {
	u := forward | backward
	for _, p := range g.Parts[g.PartAt[e]:g.PartAt[e+1]] {
		if p.Flags&osmdata.FlagOneWay == 0 {
			continue
		}
		if p.Reverse() {
			u &^= forward
		} else {
			u &^= backward
		}
	}
	c, flags := g.Class[e], g.Flags[e]
	if c != osmdata.Motorway && c != osmdata.Trunk && flags&noHalt == 0 {
		u |= halt
	}
	if c == osmdata.Motorway {
		u |= swift
	}
	return u
}

// Size is how many corners and roads there are.
func (n *Network) Size() (corners, roads int) { return len(n.vertex), len(n.edges) }

// course is the kept course of an edge, tail first.
func (n *Network) course(e int32) plane.Polyline {
	line := plane.Polyline{point(n.vertex[n.edges[e].tail])}
	for _, b := range n.bends[n.lineAt[e]:n.lineAt[e+1]] {
		line = append(line, point(b))
	}
	return append(line, point(n.vertex[n.edges[e].head]))
}

// ready makes what searches need.
func (n *Network) ready() {
	n.once.Do(func() {
		n.pack()
		n.index = n.newIndex()
		n.router, n.err = search.NewRouter(&n.star)
	})
}

// cellM is the width of the cells of the index of roads.
const cellM = 64

func (n *Network) newIndex() *plane.Index {
	var segs []plane.Segment
	for e := range int32(len(n.edges)) {
		if n.edges[e].use&halt == 0 {
			continue
		}
		at, line := 0.0, n.course(e)
		for k := 1; k < len(line); k++ {
			segs = append(segs, plane.Segment{A: line[k-1], B: line[k], ID: int32(len(n.pieces)), Mask: 1})
			n.pieces = append(n.pieces, piece{e, float32(at)})
			at += line[k-1].DistanceM(line[k])
		}
	}
	return plane.NewIndex(segs, cellM)
}
