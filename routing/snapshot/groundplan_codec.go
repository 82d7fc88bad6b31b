package snapshot

import (
	"fmt"
	"slices"
	"sync"

	"wideberth/osmdata"
	"wideberth/osmdata/flatfile"
	"wideberth/osmdata/plane"
)

// damaged says what is wrong with a section whose checksum is right.
func damaged(section, format string, args ...any) error {
	return &flatfile.FormatError{Section: section, Err: fmt.Errorf("%w: "+format, append([]any{flatfile.ErrDamaged}, args...)...)}
}

// packing writes lists of lines, each packed for itself, and gathers what they lie on.
type packing struct {
	w      *flatfile.Writer
	ground plane.Extent
}

// lines writes a list of n lines: their points packed, and where each ends.
func (p *packing) lines(name string, n int, line func(i int) []plane.Point) {
	end, packed := make([]uint32, n), []byte(nil)
	for i := range n {
		of := line(i)
		for _, at := range of {
			p.ground = p.ground.With(plane.Rounded(at))
		}
		packed = plane.Pack(packed, plane.Centimetres{}, of)
		end[i] = uint32(len(packed))
	}
	flatfile.Put(p.w, name+".end", end)
	flatfile.Put(p.w, name+".at", packed)
}

// polygons writes polygons as a list of rings and, by polygon, where its rings end; outer
// rings come first.
func (p *packing) polygons(name string, n int, area func(i int) *plane.Polygon) {
	var rings []plane.Ring
	ends := make([]int32, n)
	for i := range n {
		a := area(i)
		rings = append(append(rings, a.Outer), a.Holes...)
		ends[i] = int32(len(rings))
	}
	p.lines(name+".ring", len(rings), func(i int) []plane.Point { return rings[i] })
	flatfile.Put(p.w, name+".rings", ends)
}

// obstacles writes the obstacles' points, whole, and the index of their pieces.
func (p *packing) obstacles(all []osmdata.Obstacle) {
	var at []plane.Centimetres
	end, kinds := make([]int32, len(all)), make([]uint8, 0, 2*len(all))
	rounded := make([]osmdata.Obstacle, len(all))
	for i := range all {
		o := &all[i]
		rounded[i].Blocks = o.Blocks
		for _, q := range o.Line {
			c := plane.Rounded(q)
			at, p.ground = append(at, c), p.ground.With(c)
			rounded[i].Line = append(rounded[i].Line, c.Point())
		}
		end[i], kinds = int32(len(at)), append(kinds, uint8(o.Kind), uint8(o.Blocks))
	}
	flatfile.Put(p.w, "ground.obstacle.end", end)
	flatfile.Put(p.w, "ground.obstacle.at", at)
	flatfile.Put(p.w, "ground.obstacle.kind", kinds)
	grid := obstacleIndex(rounded).Grid()
	flatfile.Put(p.w, "ground.grid.block", grid.Block)
	flatfile.Put(p.w, "ground.grid.occupied", grid.Occupied)
	flatfile.Put(p.w, "ground.grid.from", grid.From)
	flatfile.Put(p.w, "ground.grid.piece", grid.Piece)
}

// encode writes the ground plan's sections.
func (gp *GroundPlan) encode(w *flatfile.Writer) {
	p := &packing{w: w, ground: plane.NoExtent}
	p.obstacles(gp.AllObstacles())
	buildings, grounds := gp.AllBuildings(), gp.AllGrounds()
	p.polygons("ground.building", len(buildings), func(i int) *plane.Polygon { return &buildings[i].Area })
	flatfile.PutStrings(w, "ground.building.number", texts(len(buildings), func(i int) string { return buildings[i].Number }))
	p.polygons("ground.area", len(grounds), func(i int) *plane.Polygon { return &grounds[i].Area })
	flatfile.PutStrings(w, "ground.area.name", texts(len(grounds), func(i int) string { return grounds[i].Name }))
	flatfile.Put(w, "ground.area.kind", codes(len(grounds), func(i int) uint8 { return uint8(grounds[i].Kind) }))
	p.lines("ground.road", len(gp.Roads), func(i int) []plane.Point { return gp.Roads[i].Line })
	flatfile.PutStrings(w, "ground.road.name", texts(len(gp.Roads), func(i int) string { return gp.Roads[i].Name }))
	flatfile.Put(w, "ground.road.class", codes(len(gp.Roads), func(i int) uint8 { return uint8(gp.Roads[i].Class) }))
	p.lines("ground.rail", len(gp.Rails), func(i int) []plane.Point { return gp.Rails[i] })
	flatfile.Put(w, "ground.extent", p.ground[:])
	gp.encodeNames(w)
}

func (gp *GroundPlan) encodeNames(w *flatfile.Writer) {
	flatfile.Put(w, "ground.address", points(len(gp.Addresses), func(i int) plane.Point { return gp.Addresses[i].At }))
	flatfile.PutStrings(w, "ground.address.street", texts(len(gp.Addresses), func(i int) string { return gp.Addresses[i].Street }))
	flatfile.PutStrings(w, "ground.address.number", texts(len(gp.Addresses), func(i int) string { return gp.Addresses[i].Number }))
	flatfile.Put(w, "ground.place", points(len(gp.Places), func(i int) plane.Point { return gp.Places[i].At }))
	flatfile.PutStrings(w, "ground.place.name", texts(len(gp.Places), func(i int) string { return gp.Places[i].Name }))
	flatfile.Put(w, "ground.place.kind", codes(len(gp.Places), func(i int) uint8 { return uint8(gp.Places[i].Kind) }))
	flatfile.Put(w, "ground.carpark", points(len(gp.CarParks), func(i int) plane.Point { return gp.CarParks[i].At }))
	flatfile.PutStrings(w, "ground.carpark.name", texts(len(gp.CarParks), func(i int) string { return gp.CarParks[i].Name }))
	flatfile.Put(w, "ground.carpark.public", codes(len(gp.CarParks), func(i int) uint8 {
		if gp.CarParks[i].Public {
			return 1
		}
		return 0
	}))
	covers := slices.Clone(gp.Covers)
	for i := range covers {
		covers[i].At = plane.Rounded(covers[i].At).Point() // as they lie in the file
	}
	flatfile.Put(w, "ground.cover", points(len(covers), func(i int) plane.Centimetres { return plane.Rounded(covers[i].At) }))
	flatfile.Put(w, "ground.cover.order", orderOfCovers(covers))
	flatfile.Put(w, "ground.cover.kind", codes(len(gp.Covers), func(i int) uint8 { return uint8(gp.Covers[i].Kind) }))
	flatfile.PutStrings(w, "ground.cover.name", texts(len(gp.Covers), func(i int) string { return gp.Covers[i].Name }))
}

func (t *taker) settlements() (out []Settlement) {
	at, names, kinds := sure[plane.Point](t, "ground.place"), t.strings("ground.place.name"), sure[uint8](t, "ground.place.kind")
	t.same("settlements", len(at), len(names), len(kinds))
	if t.err == nil {
		for i := range at {
			out = append(out, Settlement{names[i], at[i], SettlementKind(kinds[i])})
		}
	}
	return out
}

func (t *taker) carParks() (out []CarPark) {
	at, names, public := sure[plane.Point](t, "ground.carpark"), t.strings("ground.carpark.name"), sure[uint8](t, "ground.carpark.public")
	t.same("car parks", len(at), len(names), len(public))
	if t.err == nil {
		for i := range at {
			out = append(out, CarPark{names[i], at[i], public[i] != 0})
		}
	}
	return out
}

func points[P any](n int, of func(i int) P) []P {
	out := make([]P, n)
	for i := range out {
		out[i] = of(i)
	}
	return out
}

func texts(n int, of func(i int) string) []string {
	out := make([]string, n)
	for i := range out {
		out[i] = of(i)
	}
	return out
}

func codes(n int, of func(i int) uint8) []uint8 {
	out := make([]uint8, n)
	for i := range out {
		out[i] = of(i)
	}
	return out
}

// taker reads sections until one fails; the first error stays.
type taker struct {
	f   *flatfile.File
	err error
}

// take takes a section that is read where it is looked at.
func take[T any](t *taker, name string) (out []T) {
	if t.err == nil {
		out, t.err = flatfile.Take[T](t.f, name)
	}
	return out
}

// sure takes a section that is read as a whole.
func sure[T any](t *taker, name string) (out []T) {
	if t.err == nil {
		out, t.err = flatfile.TakeSure[T](t.f, name)
	}
	return out
}

func (t *taker) strings(name string) (out []string) {
	if t.err == nil {
		out, t.err = flatfile.TakeStrings(t.f, name)
	}
	return out
}

func (t *taker) texts(name string) (out flatfile.Texts) {
	if t.err == nil {
		out, t.err = flatfile.TakeTexts(t.f, name)
	}
	return out
}

// packedLines is a list of packed lines that lies in a file.
type packedLines struct {
	end    []uint32
	packed []byte
}

func (t *taker) packed(name string) (l packedLines) {
	l = packedLines{sure[uint32](t, name+".end"), take[byte](t, name+".at")}
	from := uint32(0)
	for i, to := range l.end {
		if t.err == nil && (to < from || int64(to) > int64(len(l.packed))) {
			t.err = damaged(name+".end", "line %d ends at byte %d of %d", i, to, len(l.packed))
		}
		from = to
	}
	return l
}

// line unpacks a line. It has at least so many points, whatever lies in the file.
func (l *packedLines) line(i int, ground *plane.Extent, least int) []plane.Point {
	from := uint32(0)
	if i > 0 {
		from = l.end[i-1]
	}
	packed := l.packed[from:l.end[i]]
	out := ground.Unpack(make([]plane.Point, 0, max(least, plane.Points(packed))), packed, plane.Centimetres{})
	for len(out) < least {
		out = append(out, ground[0].Point())
	}
	return out
}

func (l *packedLines) all(ground *plane.Extent) []plane.Polyline {
	out := make([]plane.Polyline, len(l.end))
	for i := range out {
		out[i] = l.line(i, ground, 2)
	}
	return out
}

// packedAreas is a list of polygons that lies in a file.
type packedAreas struct {
	rings packedLines
	end   []int32
}

func (t *taker) areas(name string) packedAreas {
	a := packedAreas{t.packed(name + ".ring"), sure[int32](t, name+".rings")}
	from := int32(0)
	for i, to := range a.end {
		if t.err == nil && (to <= from || int(to) > len(a.rings.end)) {
			t.err = damaged(name+".rings", "polygon %d ends at ring %d of %d", i, to, len(a.rings.end))
		}
		from = to
	}
	return a
}

// each unpacks the polygons one after another.
func (a *packedAreas) each(ground *plane.Extent, use func(i int, area plane.Polygon)) {
	ring := int32(0)
	for i, to := range a.end {
		area := plane.Polygon{Outer: a.rings.line(int(ring), ground, 3)}
		for ring++; ring < to; ring++ {
			area.Holes = append(area.Holes, a.rings.line(int(ring), ground, 3))
		}
		use(i, area)
	}
}

// storedGround is the larger part of a ground plan as it lies in a file: it is unpacked
// list by list when somebody asks for one. Its points are not checked when the file is
// opened; whatever lies there, they are points of its extent.
type storedGround struct {
	ground plane.Extent

	obstacleEnd  []int32
	obstacleAt   []plane.Centimetres
	obstacleKind []uint8
	grid         plane.Grid

	buildings       packedAreas
	buildingNumbers flatfile.Texts
	areas           packedAreas
	areaNames       flatfile.Texts
	areaKinds       []uint8

	obstacleOnce, buildingOnce, areaOnce sync.Once
}

// index is that of the obstacles, without unpacking them.
func (s *storedGround) index() *plane.Index {
	return plane.LinesOf(s.obstacleAt, s.obstacleEnd, s.ground, func(i int) uint8 { return s.obstacleKind[2*i+1] }).Index(s.grid, obstacleCellM)
}

// AllObstacles are the obstacles of any plan, made or opened.
func (gp *GroundPlan) AllObstacles() []osmdata.Obstacle {
	s := gp.stored
	if s == nil {
		return gp.Obstacles
	}
	s.obstacleOnce.Do(func() {
		gp.Obstacles = make([]osmdata.Obstacle, len(s.obstacleEnd))
		from := int32(0)
		for i, to := range s.obstacleEnd {
			line := make(plane.Polyline, 0, to-from)
			for _, c := range s.obstacleAt[from:to] {
				line = append(line, s.ground.Held(c).Point())
			}
			gp.Obstacles[i] = osmdata.Obstacle{Kind: osmdata.ObstacleKind(s.obstacleKind[2*i]), Blocks: osmdata.Block(s.obstacleKind[2*i+1]), Line: line}
			from = to
		}
	})
	return gp.Obstacles
}

// AllBuildings are the buildings of any plan, made or opened.
func (gp *GroundPlan) AllBuildings() []Footprint {
	s := gp.stored
	if s == nil {
		return gp.Buildings
	}
	s.buildingOnce.Do(func() {
		gp.Buildings = make([]Footprint, len(s.buildings.end))
		s.buildings.each(&s.ground, func(i int, area plane.Polygon) { gp.Buildings[i] = Footprint{area, s.buildingNumbers.At(i)} })
	})
	return gp.Buildings
}

// AllGrounds are the areas of one ground of any plan, made or opened.
func (gp *GroundPlan) AllGrounds() []osmdata.Ground {
	s := gp.stored
	if s == nil {
		return gp.Grounds
	}
	s.areaOnce.Do(func() {
		gp.Grounds = make([]osmdata.Ground, len(s.areas.end))
		s.areas.each(&s.ground, func(i int, area plane.Polygon) {
			gp.Grounds[i] = osmdata.Ground{Kind: osmdata.GroundKind(s.areaKinds[i]), Name: s.areaNames.At(i), Area: area}
		})
	})
	return gp.Grounds
}

// Sizes are the numbers of obstacles, buildings and areas.
func (gp *GroundPlan) Sizes() (obstacles, buildings, grounds int) {
	if s := gp.stored; s != nil {
		return len(s.obstacleEnd), len(s.buildings.end), len(s.areas.end)
	}
	return len(gp.Obstacles), len(gp.Buildings), len(gp.Grounds)
}

// same holds the lengths of sections that belong together against each other.
func (t *taker) same(name string, lengths ...int) {
	for _, n := range lengths {
		if t.err == nil && n != lengths[0] {
			t.err = fmt.Errorf("%w: sections of %s differ in length: %d", flatfile.ErrDamaged, name, lengths)
		}
	}
}

// decodeGround takes the ground plan's sections.
func decodeGround(f *flatfile.File) (*GroundPlan, error) {
	t := &taker{f: f}
	s := t.storedGround()
	gp := &GroundPlan{stored: s}
	roads, roadNames, classes := t.packed("ground.road"), t.strings("ground.road.name"), sure[uint8](t, "ground.road.class")
	t.same("roads", len(roads.end), len(roadNames), len(classes))
	rails := t.packed("ground.rail")
	doors, streets, doorNumbers := sure[plane.Point](t, "ground.address"), t.strings("ground.address.street"), t.strings("ground.address.number")
	t.same("addresses", len(doors), len(streets), len(doorNumbers))
	gp.Places, gp.CarParks, gp.Covers = t.settlements(), t.carParks(), t.covers()
	gp.coverOrder = t.coverOrder(gp.Covers)
	if t.err != nil {
		return nil, t.err
	}
	gp.Rails = rails.all(&s.ground)
	for i, l := range roads.all(&s.ground) {
		gp.Roads = append(gp.Roads, Road{l, osmdata.Class(classes[i]), roadNames[i]})
	}
	for i, at := range doors {
		gp.Addresses = append(gp.Addresses, osmdata.Address{Street: streets[i], Number: doorNumbers[i], At: at})
	}
	return gp, nil
}

func (t *taker) storedGround() *storedGround {
	s := &storedGround{obstacleEnd: sure[int32](t, "ground.obstacle.end"), obstacleAt: take[plane.Centimetres](t, "ground.obstacle.at"), obstacleKind: sure[uint8](t, "ground.obstacle.kind")}
	t.same("obstacles", 2*len(s.obstacleEnd), len(s.obstacleKind))
	from := int32(0)
	for i, to := range s.obstacleEnd {
		if t.err == nil && (to < from || int(to) > len(s.obstacleAt)) {
			t.err = damaged("ground.obstacle.end", "line %d ends at point %d of %d", i, to, len(s.obstacleAt))
		}
		from = to
	}
	s.grid = plane.Grid{Block: sure[[2]int32](t, "ground.grid.block"), Occupied: sure[uint64](t, "ground.grid.occupied"), From: sure[uint32](t, "ground.grid.from"), Piece: sure[int32](t, "ground.grid.piece")}
	if t.err == nil && !s.grid.Sound(len(s.obstacleAt)) {
		t.err = damaged("ground.grid.piece", "the grid is not one of %d points", len(s.obstacleAt))
	}
	s.buildings, s.buildingNumbers = t.areas("ground.building"), t.texts("ground.building.number")
	t.same("buildings", len(s.buildings.end), s.buildingNumbers.Len())
	s.areas, s.areaNames, s.areaKinds = t.areas("ground.area"), t.texts("ground.area.name"), sure[uint8](t, "ground.area.kind")
	t.same("areas", len(s.areas.end), s.areaNames.Len(), len(s.areaKinds))
	extent := sure[plane.Centimetres](t, "ground.extent")
	if t.same("the extent", 2, len(extent)); t.err == nil {
		s.ground = plane.Extent(extent)
	}
	return s
}

func (t *taker) covers() (out []Cover) {
	at, kinds, names := sure[plane.Centimetres](t, "ground.cover"), sure[uint8](t, "ground.cover.kind"), t.strings("ground.cover.name")
	if t.same("covers", len(at), len(kinds), len(names)); t.err != nil {
		return nil
	}
	out = make([]Cover, len(at))
	for i, c := range at {
		if kinds[i] >= uint8(CoverKindCount) {
			t.err = damaged("ground.cover.kind", "%d is no sort of cover", kinds[i])
		}
		out[i] = Cover{CoverKind(kinds[i]), names[i], c.Point()}
	}
	return out
}

func (t *taker) coverOrder(covers []Cover) []int32 {
	order := sure[int32](t, "ground.cover.order")
	t.same("covers", len(covers), len(order))
	for i, c := range order {
		if t.err == nil && (c < 0 || int(c) >= len(covers)) {
			t.err = damaged("ground.cover.order", "entry %d is cover %d of %d", i, c, len(covers))
		}
	}
	return order
}
