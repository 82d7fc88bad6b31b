package cut

import (
	"cmp"
	"math"
	"slices"
	"sort"

	"wideberth/osmdata/plane"
)

// Places are in units of 1e-7 degrees, which is what OpenStreetMap keeps: on which side
// of a line a place lies is then no matter of rounding.
const (
	unit   = 1e7
	maxLon = 180 * unit
	maxLat = 90 * unit
)

type point struct{ lon, lat int32 }

// box is west, south, east and north; its sides belong to it.
type box struct{ w, s, e, n int32 }

func noBox() box { return box{math.MaxInt32, math.MaxInt32, math.MinInt32, math.MinInt32} }

func (b box) with(p point) box {
	return box{min(b.w, p.lon), min(b.s, p.lat), max(b.e, p.lon), max(b.n, p.lat)}
}

func (b box) join(c box) box {
	return box{min(b.w, c.w), min(b.s, c.s), max(b.e, c.e), max(b.n, c.n)}
}

func (b box) both(c box) box {
	return box{max(b.w, c.w), max(b.s, c.s), min(b.e, c.e), min(b.n, c.n)}
}

func (b box) meets(c box) bool { return b.w <= c.e && c.w <= b.e && b.s <= c.n && c.s <= b.n }
func (b box) holds(c box) bool { return b.w <= c.w && c.e <= b.e && b.s <= c.s && c.n <= b.n }
func (b box) empty() bool      { return b.w >= b.e || b.s >= b.n }

func (b box) degrees() [4]float64 {
	return [4]float64{float64(b.w) / unit, float64(b.s) / unit, float64(b.e) / unit, float64(b.n) / unit}
}

// core is the box in degrees with sides to the east and north that belong to the
// neighbours there, so that nothing lies between two of them.
func (b box) core() [4]float64 {
	d := b.degrees()
	return [4]float64{d[0], d[1], min(float64(b.e+1)/unit, maxLon/unit), min(float64(b.n+1)/unit, maxLat/unit)}
}

// meetsLine tells whether the straight line between two places meets the box.
func (b box) meetsLine(p, q point) bool {
	if !b.meets(noBox().with(p).with(q)) {
		return false
	}
	dx, dy := float64(q.lon)-float64(p.lon), float64(q.lat)-float64(p.lat)
	side := func(lon, lat int32) float64 {
		return dx*(float64(lat)-float64(p.lat)) - dy*(float64(lon)-float64(p.lon))
	}
	a, c, d, e := side(b.w, b.s), side(b.w, b.n), side(b.e, b.s), side(b.e, b.n)
	return !(a > 0 && c > 0 && d > 0 && e > 0 || a < 0 && c < 0 && d < 0 && e < 0)
}

// Tiles are cut between these zooms. The coarsest are 2.8 degrees wide, on which a plane
// still serves; the finest about 3 km in the middle latitudes, no wider than the margin
// about them.
const (
	leastZoom = 7
	finest    = 13
	side      = 1 << finest
)

// columnWest is the first longitude of a column of the finest zoom; the last column has
// the far meridian too.
func columnWest(x int) int32 {
	if x == side {
		return maxLon + 1
	}
	return int32((int64(x)*2*maxLon+side-1)/side - maxLon)
}

// rowNorth[y] is the first latitude beyond row y of the finest zoom; those of the first
// row and of the last reach to the poles.
var rowNorth = func() (north [side + 1]int32) {
	for y := range north {
		_, _, _, n := plane.Quad{Zoom: finest, Y: uint32(y)}.Degrees()
		north[y] = int32(math.Ceil(n * unit))
	}
	north[0], north[side] = maxLat+1, -maxLat
	return north
}()

// cell finds column and row of the finest zoom.
func (p point) cell() (x, y int) {
	x = min(int((int64(p.lon)+maxLon)*side/(2*maxLon)), side-1)
	y = sort.Search(side-1, func(y int) bool { return rowNorth[y+1] <= p.lat })
	return x, y
}

// coreOf is where the places of a quad lie.
func coreOf(q plane.Quad) box {
	step := uint(finest - q.Zoom)
	return box{columnWest(int(q.X) << step), rowNorth[(q.Y+1)<<step], columnWest(int(q.X+1)<<step) - 1, rowNorth[q.Y<<step] - 1}
}

// metresPerDegree is the least length of a degree of a meridian (WGS84, at the equator),
// so that a margin is nowhere less than asked for.
const metresPerDegree = 110574

// wider is the box with a margin, up to the poles and the far meridian: what lies beyond
// that is another part of the earth to a plane.
func (b box) wider(marginM float64) box {
	up := marginM / metresPerDegree * unit
	s, n := max(float64(b.s)-up, -maxLat), min(float64(b.n)+up, maxLat)
	along := up / max(0.01, math.Cos(max(math.Abs(s), math.Abs(n))/unit*math.Pi/180))
	return box{int32(max(float64(b.w)-along, -maxLon)), int32(s), int32(min(float64(b.e)+along, maxLon)), int32(n)}
}

// density counts places by the cells of the finest zoom. Memory is 4 kB for each square
// of 5 by 5 zooms that has any.
type density map[[2]int]*[blockSide * blockSide]uint32

const blockSide = 32

func (d density) add(p point) {
	x, y := p.cell()
	at := [2]int{x / blockSide, y / blockSide}
	b := d[at]
	if b == nil {
		b = new([blockSide * blockSide]uint32)
		d[at] = b
	}
	b[y%blockSide*blockSide+x%blockSide]++
}

// in counts the places of a quad that is no coarser than a block, or of several blocks.
func (d density) in(q plane.Quad) (n int64) {
	step := uint(finest - q.Zoom)
	west, north, wide := int(q.X)<<step, int(q.Y)<<step, 1<<step
	for y := north; y < north+wide; y += blockSide {
		for x := west; x < west+wide; x += blockSide {
			b := d[[2]int{x / blockSide, y / blockSide}]
			if b == nil {
				continue
			}
			for j := y % blockSide; j < min(blockSide, y%blockSide+wide); j++ {
				for i := x % blockSide; i < min(blockSide, x%blockSide+wide); i++ {
					n += int64(b[j*blockSide+i])
				}
			}
		}
	}
	return n
}

// cut gives the quads of a map, by key: quarters of quarters of the earth, until one
// holds less than most places or is as fine as quads get. Quads without a place are left
// out.
func (d density) cut(most int64) []plane.Quad {
	coarse := map[plane.Quad]bool{}
	for at := range d {
		step := uint(finest - leastZoom)
		coarse[plane.Quad{Zoom: leastZoom, X: uint32(at[0]*blockSide) >> step, Y: uint32(at[1]*blockSide) >> step}] = true
	}
	var out []plane.Quad
	var visit func(q plane.Quad)
	visit = func(q plane.Quad) {
		switch n := d.in(q); {
		case n == 0:
		case n < most || q.Zoom == finest:
			out = append(out, q)
		default:
			for _, quarter := range q.Quarters() {
				visit(quarter)
			}
		}
	}
	for q := range coarse {
		visit(q)
	}
	slices.SortFunc(out, func(a, b plane.Quad) int { return cmp.Compare(a.Key(), b.Key()) })
	return out
}

// tree finds the tiles that something meets. It is used by one goroutine.
type tree struct {
	nodes  []treeNode
	tiles  []tileBox
	byLat  []int // tiles by the latitude of their middle
	lats   []int32
	parity []bool // scratch: how often a ring runs east of a tile's middle
	hit    []int  // scratch: the turn in which a tile was met
	turn   int
	out    []int
}

// tileBox is a tile of the tree: its core, and the box of what belongs into its block.
type tileBox struct {
	quad      plane.Quad
	core, box box
}

type treeNode struct {
	box  box // of all below, margins and all
	kids []int
	tile int // -1 for none
}

// newTree makes the tree of quads of which none lies in another.
func newTree(quads []plane.Quad, marginM float64) *tree {
	t := &tree{parity: make([]bool, len(quads)), hit: make([]int, len(quads))}
	for _, q := range quads {
		core := coreOf(q)
		t.tiles = append(t.tiles, tileBox{q, core, core.wider(marginM)})
	}
	all := make([]int, len(quads))
	for i := range all {
		all[i] = i
	}
	t.node(all, 0)
	t.byLat = slices.Clone(all)
	slices.SortFunc(t.byLat, func(a, b int) int { return cmp.Compare(t.middle(a).lat, t.middle(b).lat) })
	for _, i := range t.byLat {
		t.lats = append(t.lats, t.middle(i).lat)
	}
	return t
}

func (t *tree) middle(tile int) point {
	c := t.tiles[tile].core
	return point{int32((int64(c.w) + int64(c.e)) / 2), int32((int64(c.s) + int64(c.n)) / 2)}
}

// node makes the node of tiles that lie in one quad of a zoom.
func (t *tree) node(tiles []int, zoom uint8) int {
	n := len(t.nodes)
	t.nodes = append(t.nodes, treeNode{tile: -1})
	if len(tiles) == 1 {
		t.nodes[n] = treeNode{box: t.tiles[tiles[0]].box, tile: tiles[0]}
		return n
	}
	b := noBox()
	var quarters [4][]int
	for _, i := range tiles {
		b = b.join(t.tiles[i].box)
		d := t.tiles[i].quad.Key()[zoom] - '0'
		quarters[d] = append(quarters[d], i)
	}
	var kids []int
	for _, q := range quarters {
		if len(q) > 0 {
			kids = append(kids, t.node(q, zoom+1))
		}
	}
	t.nodes[n].box, t.nodes[n].kids = b, kids
	return n
}

// boxes calls hit for each tile whose box meets b.
func (t *tree) boxes(b box, hit func(tile int)) {
	if len(t.tiles) > 0 {
		t.below(0, b, hit)
	}
}

func (t *tree) below(node int, b box, hit func(tile int)) {
	n := &t.nodes[node]
	if !n.box.meets(b) {
		return
	}
	if n.tile >= 0 {
		hit(n.tile)
		return
	}
	for _, k := range n.kids {
		t.below(k, b, hit)
	}
}

// lines are what an object is made of: runs of places that follow one another.
type lines [][]point

func (l lines) box() box {
	b := noBox()
	for _, run := range l {
		for _, p := range run {
			b = b.with(p)
		}
	}
	return b
}

// meet lists the tiles whose box an object meets: those that one of its lines runs
// through or, where its lines bound an area, that lie in it. In no order; valid until
// the next call.
func (t *tree) meet(of lines, area bool) []int {
	t.turn++
	t.out = t.out[:0]
	take := func(tile int) {
		if t.hit[tile] != t.turn {
			t.hit[tile] = t.turn
			t.out = append(t.out, tile)
		}
	}
	whole, unsure := of.box(), false
	t.boxes(whole, func(tile int) {
		t.parity[tile] = false
		if t.tiles[tile].box.holds(whole) {
			take(tile)
		} else {
			unsure = true
		}
	})
	if !unsure {
		return t.out
	}
	for _, run := range of {
		for i, p := range run {
			q := run[max(i-1, 0)]
			t.boxes(noBox().with(p).with(q), func(tile int) {
				if t.hit[tile] != t.turn && t.tiles[tile].box.meetsLine(q, p) {
					take(tile)
				}
			})
			if area {
				t.passEast(q, p, whole)
			}
		}
	}
	if area {
		t.boxes(whole, func(tile int) {
			if t.parity[tile] {
				take(tile)
			}
		})
	}
	return t.out
}

// passEast counts a line for each tile from whose middle a ray to the east meets it.
func (t *tree) passEast(p, q point, whole box) {
	if p.lat > q.lat {
		p, q = q, p
	}
	from := sort.Search(len(t.lats), func(i int) bool { return t.lats[i] >= p.lat })
	for i := from; i < len(t.lats) && t.lats[i] < q.lat; i++ {
		tile := t.byLat[i]
		m := t.middle(tile)
		if m.lon < whole.w || m.lon > whole.e {
			continue
		}
		share := (float64(m.lat) - float64(p.lat)) / (float64(q.lat) - float64(p.lat))
		if float64(p.lon)+share*(float64(q.lon)-float64(p.lon)) > float64(m.lon) {
			t.parity[tile] = !t.parity[tile]
		}
	}
}
