package snapshot

import (
	"fmt"

	"wideberth/osmdata"
	"wideberth/osmdata/flatfile"
	"wideberth/osmdata/plane"
)

// damaged says what is wrong with a section whose checksum is right.
func damaged(section, format string, args ...any) error {
	return &flatfile.FormatError{Section: section, Err: fmt.Errorf("%w: "+format, append([]any{flatfile.ErrDamaged}, args...)...)}
}

// lines is a list of lines as two flat arrays.
type lines struct {
	end []int32 // where each line ends in at
	at  []plane.Point
}

func (l *lines) add(line []plane.Point) {
	l.at = append(l.at, line...)
	l.end = append(l.end, int32(len(l.at)))
}

func (l *lines) put(w *flatfile.Writer, name string) {
	flatfile.Put(w, name+".end", l.end)
	flatfile.Put(w, name+".at", l.at)
}

// takeLines reads a list of lines; the lines share the file's memory.
func takeLines(f *flatfile.File, name string) ([]plane.Polyline, error) {
	end, err := flatfile.Take[int32](f, name+".end")
	if err != nil {
		return nil, err
	}
	at, err := flatfile.Take[plane.Point](f, name+".at")
	if err != nil {
		return nil, err
	}
	out := make([]plane.Polyline, len(end))
	begin := int32(0)
	for i, e := range end {
		if e < begin || int(e) > len(at) {
			return nil, damaged(name+".end", "line %d ends at point %d of %d", i, e, len(at))
		}
		out[i] = plane.Polyline(at[begin:e:e])
		begin = e
	}
	return out, nil
}

// putPolygons writes polygons as a list of rings and, by polygon, where its
// rings end; outer rings come first.
func putPolygons(w *flatfile.Writer, name string, n int, area func(i int) *plane.Polygon) {
	var rings lines
	ends := make([]int32, n)
	for i := range n {
		a := area(i)
		rings.add(a.Outer)
		for _, h := range a.Holes {
			rings.add(h)
		}
		ends[i] = int32(len(rings.end))
	}
	rings.put(w, name+".ring")
	flatfile.Put(w, name+".rings", ends)
}

func takePolygons(f *flatfile.File, name string) ([]plane.Polygon, error) {
	rings, err := takeLines(f, name+".ring")
	if err != nil {
		return nil, err
	}
	ends, err := flatfile.Take[int32](f, name+".rings")
	if err != nil {
		return nil, err
	}
	out := make([]plane.Polygon, len(ends))
	begin := int32(0)
	for i, e := range ends {
		if e <= begin || int(e) > len(rings) {
			return nil, damaged(name+".rings", "polygon %d ends at ring %d of %d", i, e, len(rings))
		}
		out[i].Outer = plane.Ring(rings[begin])
		for _, h := range rings[begin+1 : e] {
			out[i].Holes = append(out[i].Holes, plane.Ring(h))
		}
		begin = e
	}
	return out, nil
}

// encode writes the ground plan's sections.
func (gp *GroundPlan) encode(w *flatfile.Writer) {
	var obstacles, roads, rails lines
	kinds := make([]uint8, 0, 2*len(gp.Obstacles))
	for i := range gp.Obstacles {
		obstacles.add(gp.Obstacles[i].Line)
		kinds = append(kinds, uint8(gp.Obstacles[i].Kind), uint8(gp.Obstacles[i].Blocks))
	}
	obstacles.put(w, "ground.obstacle")
	flatfile.Put(w, "ground.obstacle.kind", kinds)
	putPolygons(w, "ground.building", len(gp.Buildings), func(i int) *plane.Polygon { return &gp.Buildings[i].Area })
	flatfile.PutStrings(w, "ground.building.number", texts(len(gp.Buildings), func(i int) string { return gp.Buildings[i].Number }))
	putPolygons(w, "ground.area", len(gp.Grounds), func(i int) *plane.Polygon { return &gp.Grounds[i].Area })
	flatfile.PutStrings(w, "ground.area.name", texts(len(gp.Grounds), func(i int) string { return gp.Grounds[i].Name }))
	flatfile.Put(w, "ground.area.kind", codes(len(gp.Grounds), func(i int) uint8 { return uint8(gp.Grounds[i].Kind) }))
	for i := range gp.Roads {
		roads.add(gp.Roads[i].Line)
	}
	roads.put(w, "ground.road")
	flatfile.PutStrings(w, "ground.road.name", texts(len(gp.Roads), func(i int) string { return gp.Roads[i].Name }))
	flatfile.Put(w, "ground.road.class", codes(len(gp.Roads), func(i int) uint8 { return uint8(gp.Roads[i].Class) }))
	for _, r := range gp.Rails {
		rails.add(r)
	}
	rails.put(w, "ground.rail")
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
	flatfile.Put(w, "ground.cover", points(len(gp.Covers), func(i int) plane.Point { return gp.Covers[i].At }))
	flatfile.Put(w, "ground.cover.kind", codes(len(gp.Covers), func(i int) uint8 { return uint8(gp.Covers[i].Kind) }))
	flatfile.PutStrings(w, "ground.cover.name", texts(len(gp.Covers), func(i int) string { return gp.Covers[i].Name }))
}

func (t *taker) settlements() (out []Settlement) {
	at, names, kinds := take[plane.Point](t, "ground.place"), t.strings("ground.place.name"), take[uint8](t, "ground.place.kind")
	t.same("settlements", len(at), len(names), len(kinds))
	if t.err == nil {
		for i := range at {
			out = append(out, Settlement{names[i], at[i], SettlementKind(kinds[i])})
		}
	}
	return out
}

func (t *taker) carParks() (out []CarPark) {
	at, names, public := take[plane.Point](t, "ground.carpark"), t.strings("ground.carpark.name"), take[uint8](t, "ground.carpark.public")
	t.same("car parks", len(at), len(names), len(public))
	if t.err == nil {
		for i := range at {
			out = append(out, CarPark{names[i], at[i], public[i] != 0})
		}
	}
	return out
}

func points(n int, of func(i int) plane.Point) []plane.Point {
	out := make([]plane.Point, n)
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

func take[T any](t *taker, name string) (out []T) {
	if t.err == nil {
		out, t.err = flatfile.Take[T](t.f, name)
	}
	return out
}

func (t *taker) strings(name string) (out []string) {
	if t.err == nil {
		out, t.err = flatfile.TakeStrings(t.f, name)
	}
	return out
}

func (t *taker) lines(name string) (out []plane.Polyline) {
	if t.err == nil {
		out, t.err = takeLines(t.f, name)
	}
	return out
}

func (t *taker) polygons(name string) (out []plane.Polygon) {
	if t.err == nil {
		out, t.err = takePolygons(t.f, name)
	}
	return out
}

// same holds the lengths of sections that belong together against each other.
func (t *taker) same(name string, lengths ...int) {
	for _, n := range lengths {
		if t.err == nil && n != lengths[0] {
			t.err = fmt.Errorf("%w: sections of %s differ in length: %d", flatfile.ErrDamaged, name, lengths)
		}
	}
}

// decodeGround reads the ground plan's sections.
func decodeGround(f *flatfile.File) (*GroundPlan, error) {
	t, gp := &taker{f: f}, &GroundPlan{}
	obstacles, kinds := t.lines("ground.obstacle"), take[uint8](t, "ground.obstacle.kind")
	t.same("obstacles", 2*len(obstacles), len(kinds))
	buildings, numbers := t.polygons("ground.building"), t.strings("ground.building.number")
	t.same("buildings", len(buildings), len(numbers))
	areas, areaNames, areaKinds := t.polygons("ground.area"), t.strings("ground.area.name"), take[uint8](t, "ground.area.kind")
	t.same("areas", len(areas), len(areaNames), len(areaKinds))
	roads, roadNames, classes := t.lines("ground.road"), t.strings("ground.road.name"), take[uint8](t, "ground.road.class")
	t.same("roads", len(roads), len(roadNames), len(classes))
	gp.Rails = t.lines("ground.rail")
	doors, streets, doorNumbers := take[plane.Point](t, "ground.address"), t.strings("ground.address.street"), t.strings("ground.address.number")
	t.same("addresses", len(doors), len(streets), len(doorNumbers))
	gp.Places, gp.CarParks = t.settlements(), t.carParks()
	covers, coverKinds, coverNames := take[plane.Point](t, "ground.cover"), take[uint8](t, "ground.cover.kind"), t.strings("ground.cover.name")
	t.same("covers", len(covers), len(coverKinds), len(coverNames))
	if t.err != nil {
		return nil, t.err
	}
	for i, at := range covers {
		if coverKinds[i] >= uint8(CoverKindCount) {
			return nil, damaged("ground.cover.kind", "%d is no sort of cover", coverKinds[i])
		}
		gp.Covers = append(gp.Covers, Cover{CoverKind(coverKinds[i]), coverNames[i], at})
	}
	for i, line := range obstacles {
		gp.Obstacles = append(gp.Obstacles, osmdata.Obstacle{Kind: osmdata.ObstacleKind(kinds[2*i]), Blocks: osmdata.Block(kinds[2*i+1]), Line: line})
	}
	for i, a := range buildings {
		gp.Buildings = append(gp.Buildings, Footprint{a, numbers[i]})
	}
	for i, a := range areas {
		gp.Grounds = append(gp.Grounds, osmdata.Ground{Kind: osmdata.GroundKind(areaKinds[i]), Name: areaNames[i], Area: a})
	}
	for i, l := range roads {
		gp.Roads = append(gp.Roads, Road{l, osmdata.Class(classes[i]), roadNames[i]})
	}
	for i, at := range doors {
		gp.Addresses = append(gp.Addresses, osmdata.Address{Street: streets[i], Number: doorNumbers[i], At: at})
	}
	return gp, nil
}
