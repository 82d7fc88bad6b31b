// Package tile cuts a map into vector tiles for the page to draw: what lies in which
// layer, from which zoom on, and under what name. It hides how things are found,
// simplified and packed.
package tile

import (
	"math"
	"slices"
	"sort"
	"strings"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/clip"
	"github.com/paulmach/orb/encoding/mvt"
	"github.com/paulmach/orb/geojson"
	"github.com/paulmach/orb/maptile"
	"github.com/paulmach/orb/simplify"

	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/briefing"
	"wideberth/routing/network"
	"wideberth/routing/snapshot"
)

// Layers are what of a map can be drawn, ready to be cut into vector tiles. Not changed
// once made; may be shared between goroutines.
type Layers struct {
	snap  *snapshot.Snapshot // nil where all is kept
	frame plane.Frame
	items []item
	kept  []drawn // what each item draws, nil: asked of the snapshot
	names []nameRun
	grid  map[[2]int32][]int32 // items by the cells that their boxes touch, ascending
	most  maptile.Zoom         // items of larger zooms are left out
	mine  func(plane.Point) bool
}

// item is one thing that can be drawn.
type item struct {
	layer tileLayer
	index int32 // in the slice of the snapshot that the layer is made from
	least maptile.Zoom
	box   plane.Box
}

// tileLayer numbers the layers in the order in which they lie in a tile.
type tileLayer uint8

const (
	layerGround tileLayer = iota
	layerRail
	layerWay
	layerRoad
	layerSolid
	layerBarrier
	layerName
	layerPlace
	layerDoor
	layerCount
)

var layerNames = [layerCount]string{"ground", "rail", "way", "road", "solid", "barrier", "name", "place", "door"}

// Zoom levels in tiles of 4096 units. Deeper ones are drawn from the deepest.
const (
	leastZoom = 8
	mostZoom  = 15
)

const (
	gridCellM  = 512
	tileExtent = 4096
	tileBuffer = 64 // units beyond the edge, so that outlines do not end at it
)

// nameRun is a street by its name, across its crossings.
type nameRun struct {
	name string
	line plane.Polyline
}

// nameZoom is the zoom from which names of streets are drawn.
const nameZoom = 13

// solidZoom is the zoom from which buildings and barriers are drawn.
const solidZoom = 14

// nameBend is the bend at which the name of a street ends and begins anew.
const nameBend = 40 * math.Pi / 180

// nameRuns joins the pieces of streets of one name, so that there is room to write it.
func nameRuns(g *network.Graph) (out []nameRun) {
	var lines []plane.Polyline
	var key []int32
	for e := range int32(g.EdgeCount()) {
		for p := g.PartAt[e]; p < g.PartAt[e+1]; p++ {
			if part := &g.Parts[p]; part.Name != 0 && part.Role() != network.Across {
				lines, key = append(lines, partLine(g, e, p)), append(key, part.Name)
			}
		}
	}
	for _, run := range network.Runs(lines, key, nameBend) {
		out = append(out, nameRun{g.Names[key[run[0].Line]], network.LineOfRun(lines, run)})
	}
	return out
}

// partLine is the line of one part of an edge.
func partLine(g *network.Graph, e, part int32) plane.Polyline {
	line := g.EdgeLine(e)
	if g.PartAt[e+1]-g.PartAt[e] == 1 {
		return line
	}
	to := line.LengthM()
	if part+1 < g.PartAt[e+1] {
		to = float64(g.Parts[part+1].FromM)
	}
	return line.Cut(float64(g.Parts[part].FromM), to)
}

// FarZoom is the zoom up to which NewFarLayers have all that is drawn.
const FarZoom = 11

// NewLayers looks through the snapshot once. Left out is what does not begin in the part
// of the earth that mine says this map answers for; nil takes all.
func NewLayers(s *snapshot.Snapshot, mine func(plane.Point) bool) *Layers {
	return newLayers(s, mine, mostZoom)
}

// NewFarLayers are NewLayers with only what is drawn up to FarZoom: little, where many
// maps are drawn together. They outlive the snapshot, which may be closed.
func NewFarLayers(s *snapshot.Snapshot, mine func(plane.Point) bool) *Layers {
	a := newLayers(s, mine, FarZoom)
	a.kept = make([]drawn, len(a.items))
	known := map[string][]string{} // properties, of which most are alike
	for id := range a.items {
		d := a.drawn(&a.items[id]).copied()
		text := strings.Join(d.pairs, "\x00")
		if known[text] == nil {
			known[text] = cloned(d.pairs)
		}
		d.pairs = known[text]
		a.kept[id] = d
	}
	a.snap, a.mine = nil, nil
	return a
}

func newLayers(s *snapshot.Snapshot, mine func(plane.Point) bool, most maptile.Zoom) *Layers {
	a := &Layers{snap: s, frame: s.Frame, grid: map[[2]int32][]int32{}, most: most, mine: mine}
	if most >= nameZoom {
		a.names = nameRuns(s.Graph)
	}
	gp := s.Ground
	grounds := gp.AllGrounds()
	for i := range grounds {
		if g := &grounds[i]; groundWord(g.Kind) != "" {
			a.add(layerGround, i, zoomOfArea(g.Area.AreaM2()), g.Area.Box(), g.Area.Outer)
		}
	}
	for i, l := range gp.Rails {
		a.add(layerRail, i, 11, l.Box(), l)
	}
	for e := range int32(s.Graph.EdgeCount()) {
		if !a.showsOf(e) {
			continue
		}
		line := s.Graph.EdgeLine(e)
		box := line.Box()
		for p := s.Graph.PartAt[e]; p < s.Graph.PartAt[e+1]; p++ {
			a.add(layerWay, int(p), zoomOfWay(s.Graph.Parts[p].Class), box, line)
		}
	}
	for i := range gp.Roads {
		a.add(layerRoad, i, zoomOfWay(gp.Roads[i].Class), gp.Roads[i].Line.Box(), gp.Roads[i].Line)
	}
	if most >= solidZoom {
		for i, b := range gp.AllBuildings() {
			a.add(layerSolid, i, solidZoom, b.Area.Box(), b.Area.Outer)
		}
		obstacles := gp.AllObstacles()
		for i := range obstacles {
			if barrierWord(obstacles[i].Kind) != "" {
				a.add(layerBarrier, i, solidZoom, obstacles[i].Line.Box(), obstacles[i].Line)
			}
		}
	}
	for i := range a.names {
		a.add(layerName, i, nameZoom, a.names[i].line.Box(), a.names[i].line)
	}
	for i := range gp.Places {
		a.add(layerPlace, i, 9, plane.EmptyBox().With(gp.Places[i].At), []plane.Point{gp.Places[i].At})
	}
	for i := range gp.Addresses {
		a.add(layerDoor, i, 15, plane.EmptyBox().With(gp.Addresses[i].At), []plane.Point{gp.Addresses[i].At})
	}
	return a
}

// showsOf tells whether some part of an edge is drawn at all: the lines of others need not
// be unpacked.
func (a *Layers) showsOf(e int32) bool {
	g := a.snap.Graph
	return slices.ContainsFunc(g.Parts[g.PartAt[e]:g.PartAt[e+1]], func(p network.Part) bool { return zoomOfWay(p.Class) <= a.most })
}

func (a *Layers) add(layer tileLayer, index int, least maptile.Zoom, box plane.Box, shape []plane.Point) {
	if box.Empty() || least > a.most || a.mine != nil && !a.mine(shape[0]) {
		return
	}
	id := int32(len(a.items))
	a.items = append(a.items, item{layer, int32(index), least, box})
	for _, c := range cells(box) {
		a.grid[c] = append(a.grid[c], id)
	}
}

// cells lists the grid cells that a box touches.
func cells(b plane.Box) (out [][2]int32) {
	x1, y1 := int32(math.Floor(b.Max.X/gridCellM)), int32(math.Floor(b.Max.Y/gridCellM))
	for y := int32(math.Floor(b.Min.Y / gridCellM)); y <= y1; y++ {
		for x := int32(math.Floor(b.Min.X / gridCellM)); x <= x1; x++ {
			out = append(out, [2]int32{x, y})
		}
	}
	return out
}

// groundWord is what soft ground or water is called in tiles; "" is not drawn.
func groundWord(k osmdata.GroundKind) string {
	switch k {
	case osmdata.Water:
		return "water"
	case osmdata.Park, osmdata.Wood, osmdata.Grass, osmdata.Cemetery:
		return "green"
	}
	return ""
}

// barrierWord is what a line obstacle is called in tiles; buildings and shores
// are drawn as areas.
func barrierWord(k osmdata.ObstacleKind) string {
	switch k {
	case osmdata.Wall:
		return "wall"
	case osmdata.Fence:
		return "fence"
	case osmdata.Hedge:
		return "hedge"
	case osmdata.Cliff:
		return "cliff"
	}
	return ""
}

// zoomOfArea is where an area first covers more than a few pixels.
func zoomOfArea(m2 float64) maptile.Zoom {
	switch {
	case m2 > 1e6:
		return 8
	case m2 > 1e5:
		return 11
	}
	return 13
}

func zoomOfWay(c osmdata.Class) maptile.Zoom {
	switch {
	case c == osmdata.ClassOther:
		return 14
	case c <= osmdata.Trunk:
		return 8
	case c <= osmdata.Secondary:
		return 10
	case c <= osmdata.LivingStreet:
		return 12
	}
	return 13
}

// Exists says whether there can be a tile at this address.
func Exists(z, x, y uint64) bool {
	return z >= leastZoom && z <= mostZoom && x < 1<<z && y < 1<<z
}

// Tile is the vector tile (MVT 2.1) at an address that exists, nil where there
// is nothing to draw. The bytes depend on the snapshot and the address only.
func (a *Layers) Tile(z, x, y uint64) ([]byte, error) {
	d := NewDrawing(z, x, y)
	d.Add(a, 0)
	return d.Bytes()
}

// Drawing is a vector tile that several maps are drawn on.
type Drawing struct {
	at     maptile.Tile
	layers mvt.Layers
}

// NewDrawing begins an empty one at an address that exists.
func NewDrawing(z, x, y uint64) *Drawing {
	d := &Drawing{at: maptile.New(uint32(x), uint32(y), maptile.Zoom(z)), layers: make(mvt.Layers, layerCount)}
	for i := range d.layers {
		d.layers[i] = &mvt.Layer{Name: layerNames[i], Version: 2, Extent: tileExtent}
	}
	return d
}

// Box is the part of the earth that it shows something of, in degrees: west, south, east,
// north.
func (d *Drawing) Box() [4]float64 {
	b := d.at.Bound(float64(tileBuffer) / tileExtent)
	return [4]float64{b.Min[0], b.Min[1], b.Max[0], b.Max[1]}
}

// Add draws what a map has there. The number tells its features from those of other maps
// on the same tile.
func (d *Drawing) Add(a *Layers, number uint16) {
	to := newTileFrame(a, d.at)
	for _, id := range a.within(d.at) {
		it := &a.items[id]
		what := a.what(id)
		if f := to.feature(&what); f != nil && fit(f) {
			f.ID = uint64(number)<<32 + uint64(id) + 1
			l := d.layers[it.layer]
			l.Features = append(l.Features, f)
		}
	}
}

// Bytes is the tile as it is sent, nil where there is nothing on it.
func (d *Drawing) Bytes() ([]byte, error) {
	layers := slices.DeleteFunc(slices.Clone(d.layers), func(l *mvt.Layer) bool { return len(l.Features) == 0 })
	if len(layers) == 0 {
		return nil, nil
	}
	return mvt.Marshal(layers)
}

// Bytes that an item takes, with its places in the grid, and a corner of a name's line.
const (
	itemBytes   = 64
	cornerBytes = 16
)

// Bytes is about how much memory the layers take beside their map.
func (a *Layers) Bytes() int64 {
	n := itemBytes * len(a.items)
	for i := range a.names {
		n += cornerBytes * len(a.names[i].line)
	}
	for i := range a.kept {
		n += a.kept[i].bytes()
	}
	return int64(n)
}

// within lists the items that a tile with its buffer may show, ascending.
func (a *Layers) within(t maptile.Tile) (ids []int32) {
	b := t.Bound(float64(tileBuffer) / tileExtent)
	box := plane.EmptyBox()
	for _, c := range [4]orb.Point{b.Min, b.Max, {b.Min[0], b.Max[1]}, {b.Max[0], b.Min[1]}} {
		box = box.With(a.frame.Forward(c[0], c[1]))
	}
	keep := func(id int32) {
		if it := &a.items[id]; it.least <= t.Z && it.box.Intersects(box) {
			ids = append(ids, id)
		}
	}
	if across := (box.Max.X - box.Min.X) / gridCellM; across*across > float64(len(a.grid)) {
		for id := range a.items {
			keep(int32(id))
		}
		return ids
	}
	for _, c := range cells(box) {
		for _, id := range a.grid[c] {
			keep(id)
		}
	}
	slices.Sort(ids)
	return slices.Compact(ids)
}

// tileFrame turns places of a snapshot into the units of one tile. Over the few
// hundred metres to kilometres of a tile the way from the plane to the tile is a
// surface so nearly flat that a polynomial of second degree through six exactly
// projected places follows it to a small part of a unit, at a tenth of the work.
type tileFrame struct {
	middle plane.Point
	halfM  float64
	x, y   [6]float64 // of 1, u, v, u u, u v, v v with u, v in halves from the middle
}

func newTileFrame(a *Layers, t maptile.Tile) *tileFrame {
	frame, c, b := a.frame, t.Center(), t.Bound()
	to := &tileFrame{middle: frame.Forward(c[0], c[1])}
	to.halfM = to.middle.DistanceM(frame.Forward(b.Max[0], c[1]))
	exact := func(u, v float64) orb.Point {
		lon, lat := frame.Inverse(to.middle.Add(plane.Point{X: u, Y: v}.Mul(to.halfM)))
		f := maptile.Fraction(orb.Point{lon, lat}, t.Z)
		return orb.Point{(f[0] - float64(t.X)) * tileExtent, (f[1] - float64(t.Y)) * tileExtent}
	}
	o, e, w, n, so, ne := exact(0, 0), exact(1, 0), exact(-1, 0), exact(0, 1), exact(0, -1), exact(1, 1)
	for k, c := range [2]*[6]float64{&to.x, &to.y} {
		c[0], c[1], c[2] = o[k], (e[k]-w[k])/2, (n[k]-so[k])/2
		c[3], c[5] = (e[k]+w[k])/2-o[k], (n[k]+so[k])/2-o[k]
		c[4] = ne[k] - c[0] - c[1] - c[2] - c[3] - c[5]
	}
	return to
}

// unit is a place in whole units of the tile.
func (to *tileFrame) unit(p plane.Point) orb.Point {
	u, v := (p.X-to.middle.X)/to.halfM, (p.Y-to.middle.Y)/to.halfM
	at := func(c *[6]float64) float64 {
		return math.Floor(c[0] + c[1]*u + c[2]*v + c[3]*u*u + c[4]*u*v + c[5]*v*v)
	}
	return orb.Point{at(&to.x), at(&to.y)}
}

// drawn is what an item draws: an area, a line or, where it has neither, a point, with its
// properties as pairs of names and texts.
type drawn struct {
	area  *plane.Polygon
	line  plane.Polyline
	at    plane.Point
	pairs []string
}

// drawnBytes is what one takes by itself, with its share of the properties.
const drawnBytes = 80

func (d *drawn) bytes() int {
	n := len(d.line)
	if d.area != nil {
		n += len(d.area.Outer)
		for _, h := range d.area.Holes {
			n += len(h)
		}
	}
	return drawnBytes + cornerBytes*n
}

// cloned are texts that lie in memory of their own.
func cloned(texts []string) []string {
	out := make([]string, len(texts))
	for i, s := range texts {
		out[i] = strings.Clone(s)
	}
	return out
}

// copied is one whose shape is no part of the snapshot.
func (d drawn) copied() drawn {
	d.line = slices.Clone(d.line)
	if d.area != nil {
		area := plane.Polygon{Outer: slices.Clone(d.area.Outer)}
		for _, h := range d.area.Holes {
			area.Holes = append(area.Holes, slices.Clone(h))
		}
		d.area = &area
	}
	return d
}

// what an item draws.
func (a *Layers) what(id int32) drawn {
	if a.kept != nil {
		return a.kept[id]
	}
	return a.drawn(&a.items[id])
}

// drawn is what an item draws, as the snapshot has it.
func (a *Layers) drawn(it *item) drawn {
	gp, i := a.snap.Ground, it.index
	switch it.layer {
	case layerGround:
		g := &gp.AllGrounds()[i]
		return drawn{area: &g.Area, pairs: []string{"kind", groundWord(g.Kind), "name", g.Name}}
	case layerRail:
		return drawn{line: gp.Rails[i]}
	case layerWay:
		return a.way(i)
	case layerRoad:
		return drawn{line: gp.Roads[i].Line, pairs: []string{"name", gp.Roads[i].Name, "kind", roadWord(gp.Roads[i].Class)}}
	case layerSolid:
		return drawn{area: &gp.AllBuildings()[i].Area}
	case layerBarrier:
		o := &gp.AllObstacles()[i]
		return drawn{line: o.Line, pairs: []string{"kind", barrierWord(o.Kind)}}
	case layerName:
		return a.name(i)
	case layerPlace:
		return drawn{at: gp.Places[i].At, pairs: []string{"name", gp.Places[i].Name}}
	}
	return drawn{at: gp.Addresses[i].At, pairs: []string{"number", gp.Addresses[i].Number}}
}

// feature makes what is drawn in the tile's units, in memory of its own, as clipping and
// thinning use it as scratch. Nil where nothing is left to draw.
func (to *tileFrame) feature(d *drawn) *geojson.Feature {
	switch {
	case d.area != nil:
		return to.area(*d.area, d.pairs...)
	case d.line != nil:
		return to.line(d.line, d.pairs...)
	}
	return to.point(d.at, d.pairs...)
}

func roadWord(c osmdata.Class) string {
	if c == osmdata.Motorway || c == osmdata.Trunk {
		return "fast"
	}
	return "road"
}

// way is one part of an edge of the network.
func (a *Layers) way(part int32) drawn {
	g := a.snap.Graph
	e := int32(sort.Search(g.EdgeCount(), func(e int) bool { return g.PartAt[e+1] > part }))
	kind := g.Parts[part].Role()
	switch kind {
	case network.Across:
		kind = network.Path
	case network.Drive:
		kind = network.Service
	}
	return drawn{line: partLine(g, e, part), pairs: []string{"kind", kind.String()}}
}

// name is a run of a street's name; where street names are shortened on maps it has
// the short form beside it.
func (a *Layers) name(i int32) drawn {
	n := &a.names[i]
	short := ""
	if a.snap.Country == "US" {
		short = briefing.ShortStreet(n.name)
	}
	return drawn{line: n.line, pairs: []string{"name", n.name, "short", short}}
}

func properties(pairs []string) geojson.Properties {
	p := geojson.Properties{}
	for i := 0; i+1 < len(pairs); i += 2 {
		if pairs[i+1] != "" {
			p[pairs[i]] = pairs[i+1]
		}
	}
	return p
}

func (to *tileFrame) point(at plane.Point, pairs ...string) *geojson.Feature {
	return &geojson.Feature{Geometry: to.unit(at), Properties: properties(pairs)}
}

func (to *tileFrame) line(l plane.Polyline, pairs ...string) *geojson.Feature {
	if len(l) < 2 {
		return nil
	}
	return &geojson.Feature{Geometry: orb.LineString(to.points(l)), Properties: properties(pairs)}
}

func (to *tileFrame) area(g plane.Polygon, pairs ...string) *geojson.Feature {
	if len(g.Outer) < 3 {
		return nil
	}
	out := orb.Polygon{to.ring(g.Outer)}
	for _, h := range g.Holes {
		if len(h) >= 3 {
			out = append(out, to.ring(h))
		}
	}
	return &geojson.Feature{Geometry: out, Properties: properties(pairs)}
}

func (to *tileFrame) points(l []plane.Point) []orb.Point {
	out := make([]orb.Point, len(l), len(l)+1)
	for i, p := range l {
		out[i] = to.unit(p)
	}
	return out
}

func (to *tileFrame) ring(r plane.Ring) orb.Ring {
	out := to.points(r)
	if out[0] != out[len(out)-1] {
		out = append(out, out[0])
	}
	return out
}

// fit clips a feature to its tile and thins it out; false says that nothing worth
// drawing is left.
func fit(f *geojson.Feature) bool {
	const most = tileExtent + tileBuffer
	g := clip.Geometry(orb.Bound{Min: orb.Point{-tileBuffer, -tileBuffer}, Max: orb.Point{most, most}}, f.Geometry)
	if g == nil {
		return false
	}
	if _, isPoint := g.(orb.Point); !isPoint {
		g = simplify.DouglasPeucker(1).Simplify(g)
	}
	f.Geometry = sound(g)
	return f.Geometry != nil
}

// sound drops what clipping and thinning left without extent and winds rings as
// the tile format wants them: outer ones clockwise as seen on screen, holes
// against it.
func sound(g orb.Geometry) orb.Geometry {
	switch g := g.(type) {
	case orb.Point:
		return g
	case orb.LineString:
		if len(g) >= 2 && g.Bound().Min != g.Bound().Max {
			return g
		}
	case orb.MultiLineString:
		g = slices.DeleteFunc(g, func(l orb.LineString) bool { return sound(l) == nil })
		if len(g) > 0 {
			return g
		}
	case orb.Polygon:
		return soundPolygon(g)
	}
	return nil
}

func soundPolygon(g orb.Polygon) orb.Geometry {
	var out orb.Polygon
	for i, r := range g {
		area := shoelace(r)
		if len(r) < 4 || area == 0 {
			if i == 0 {
				return nil
			}
			continue
		}
		if (area > 0) != (i == 0) {
			r.Reverse()
		}
		out = append(out, r)
	}
	if out == nil {
		return nil
	}
	return out
}

// shoelace is twice the signed area of a closed ring; positive is clockwise on
// a screen, whose y runs down.
func shoelace(r orb.Ring) (sum float64) {
	for i := 1; i < len(r); i++ {
		sum += r[i-1][0]*r[i][1] - r[i][0]*r[i-1][1]
	}
	return sum
}
