package exposure

import (
	"errors"
	"fmt"
	"maps"
	"math"
	"slices"

	"wideberth/exposure/hours"
	"wideberth/exposure/strain"
	"wideberth/osmdata/flatfile"
	"wideberth/osmdata/plane"
)

// Encode writes the field as sections whose names begin with prefix.
func (f *Field) Encode(w *flatfile.Writer, prefix string) {
	for p := range PatternCount {
		own := f.OwnPerDay[p]
		if !slices.ContainsFunc(own, func(q float32) bool { return q != 0 }) {
			own = nil // nobody anywhere
		}
		flatfile.Put(w, prefix+"own-"+p.String(), own)
	}
	f.encodeKept(w, prefix)
	flatfile.Put(w, prefix+"sight-forward", f.SightFwdM)
	flatfile.Put(w, prefix+"sight-back", f.SightBackM)
	flatfile.Put(w, prefix+"level", f.LevelDB)
	flatfile.Put(w, prefix+"place", f.Place)
	flatfile.Put(w, prefix+"marks", f.Marks)
	flatfile.Put(w, prefix+"soft", f.SoftShare)
	flatfile.Put(w, prefix+"touch-at", f.TouchAt)
	f.Roadside.Encode(w, prefix+"roadside-")
	names, totals := slices.Sorted(maps.Keys(f.Census)), make([]float64, len(f.Census))
	for i, name := range names {
		totals[i] = f.Census[name]
	}
	flatfile.PutStrings(w, prefix+"census-names", names)
	flatfile.Put(w, prefix+"census", totals)
	flatfile.Put(w, prefix+"boards", []float32{f.Boards})
	encodeSources(w, prefix, f.Sources)
}

// encodeSources writes the sources by column; mixes and areas lie behind one
// another with their counts beside.
func encodeSources(w *flatfile.Writer, prefix string, sources []Source) {
	text := make([]string, 0, 4*len(sources))
	var mix []float32
	var kindsOf []Kind
	var rings []int32
	var points []plane.Point
	for i := range sources {
		s := &sources[i]
		text = append(text, s.OSM, s.As, s.Name, s.Hours)
		for _, m := range s.Mix {
			kindsOf = append(kindsOf, m.Kind)
			mix = append(mix, m.Present, m.PerDay)
		}
		for _, g := range s.Area {
			rings = append(rings, int32(len(g.Holes)))
			for _, r := range append([]plane.Ring{g.Outer}, g.Holes...) {
				rings = append(rings, int32(len(r)))
				points = append(points, r...)
			}
		}
	}
	flatfile.PutStrings(w, prefix+"source-text", text)
	flatfile.Put(w, prefix+"source-counts", columnOf(sources, func(i int) [4]int32 {
		s := &sources[i]
		return [4]int32{int32(len(s.Mix)), int32(len(s.Area)), int32(s.Activity), int32(bit(s.Assumed))}
	}))
	flatfile.Put(w, prefix+"source-size", columnOf(sources, func(i int) [3]float32 {
		return [3]float32{sources[i].RadiusM, sources[i].AreaM2, sources[i].Capacity}
	}))
	flatfile.Put(w, prefix+"source-at", columnOf(sources, func(i int) plane.Point { return sources[i].At }))
	flatfile.Put(w, prefix+"mix-kind", kindsOf)
	flatfile.Put(w, prefix+"mix", mix)
	flatfile.Put(w, prefix+"rings", rings)
	flatfile.Put(w, prefix+"ring-points", points)
}

func columnOf[S, T any](rows []S, of func(i int) T) []T {
	out := make([]T, len(rows))
	for i := range rows {
		out[i] = of(i)
	}
	return out
}

func bit(b bool) uint8 {
	if b {
		return 1
	}
	return 0
}

// taking takes sections and keeps the first error.
type taking struct {
	file   *flatfile.File
	prefix string
	err    error
}

func take[T any](t *taking, name string) []T {
	s, err := flatfile.Take[T](t.file, t.prefix+name)
	if t.err == nil {
		t.err = err
	}
	return s
}

// sure takes a section that is read as a whole.
func sure[T any](t *taking, name string) []T {
	s, err := flatfile.TakeSure[T](t.file, t.prefix+name)
	if t.err == nil {
		t.err = err
	}
	return s
}

func takeText(t *taking, name string) []string {
	s, err := flatfile.TakeStrings(t.file, t.prefix+name)
	if t.err == nil {
		t.err = err
	}
	return s
}

// errUneven says that columns that belong together differ in length.
var errUneven = errors.New("columns differ in length")

// Decode reads a field that Encode has written and checks it.
func Decode(file *flatfile.File, prefix string) (*Field, error) {
	t := &taking{file: file, prefix: prefix}
	f := &Field{}
	f.Place, f.Marks = sure[PlaceKind](t, "place"), take[Mark](t, "marks")
	for p := range PatternCount {
		if f.OwnPerDay[p] = sure[float32](t, "own-"+p.String()); f.OwnPerDay[p] == nil {
			f.OwnPerDay[p] = make([]float32, len(f.Place))
		}
	}
	f.SightFwdM, f.SightBackM = sure[float32](t, "sight-forward"), sure[float32](t, "sight-back")
	f.LevelDB = sure[float32](t, "level")
	f.SoftShare, f.TouchAt = sure[float32](t, "soft"), sure[int32](t, "touch-at")
	f.kept = takeKept(t)
	f.takeRoadside(t)
	f.takeCensus(t)
	f.takeBoards(t)
	f.Sources = takeSources(t)
	if t.err == nil {
		t.err = f.Check()
		if t.err != nil {
			t.err = &flatfile.FormatError{Section: prefix, Err: errors.Join(flatfile.ErrDamaged, t.err)}
		}
	}
	if t.err != nil {
		return nil, t.err
	}
	return f, nil
}

func (t *taking) uneven(name string) {
	if t.err == nil {
		t.err = &flatfile.FormatError{Section: t.prefix + name, Err: errors.Join(flatfile.ErrDamaged, errUneven)}
	}
}

func (f *Field) takeRoadside(t *taking) {
	table, err := strain.Decode(t.file, t.prefix+"roadside-")
	if t.err == nil {
		t.err = err
	}
	f.Roadside = table
}

func (f *Field) takeCensus(t *taking) {
	names, totals := takeText(t, "census-names"), sure[float64](t, "census")
	if len(names) != len(totals) {
		t.uneven("census")
		return
	}
	f.Census = make(map[string]float64, len(names))
	for i, name := range names {
		f.Census[name] = totals[i]
	}
}

func (f *Field) takeBoards(t *taking) {
	boards := sure[float32](t, "boards")
	if len(boards) != 1 || !(boards[0] >= 0) {
		t.uneven("boards")
		return
	}
	f.Boards = boards[0]
}

// sourceColumns are the columns of the sources and how far they are used up.
type sourceColumns struct {
	text   []string
	counts [][4]int32
	size   [][3]float32
	at     []plane.Point
	kinds  []Kind
	mix    []float32
	rings  []int32
	points []plane.Point
}

func takeSources(t *taking) []Source {
	c := &sourceColumns{text: takeText(t, "source-text"), counts: sure[[4]int32](t, "source-counts"),
		size: sure[[3]float32](t, "source-size"), at: sure[plane.Point](t, "source-at"), kinds: sure[Kind](t, "mix-kind"),
		mix: sure[float32](t, "mix"), rings: sure[int32](t, "rings"), points: sure[plane.Point](t, "ring-points")}
	n := len(c.counts)
	if len(c.text) != 4*n || len(c.size) != n || len(c.at) != n || len(c.mix) != 2*len(c.kinds) {
		t.uneven("source-counts")
		return nil
	}
	sources := make([]Source, n)
	for i := range sources {
		if !c.read(i, &sources[i]) {
			t.uneven("rings")
			return nil
		}
	}
	return sources
}

// read fills source i; false where the counts lead beyond the columns.
func (c *sourceColumns) read(i int, s *Source) bool {
	n, size, text := c.counts[i], c.size[i], c.text[4*i:4*i+4]
	*s = Source{OSM: text[0], As: text[1], Name: text[2], Hours: text[3], At: c.at[i],
		RadiusM: size[0], AreaM2: size[1], Capacity: size[2], Activity: hours.Activity(n[2]), Assumed: n[3] != 0}
	if n[0] < 0 || int(n[0]) > len(c.kinds) || n[1] < 0 || int(n[1]) > len(c.rings) || n[2] < 0 || n[2] > math.MaxUint8 {
		return false
	}
	for j := range n[0] {
		s.Mix = append(s.Mix, Presence{c.kinds[j], c.mix[2*j], c.mix[2*j+1]})
	}
	c.kinds, c.mix = c.kinds[n[0]:], c.mix[2*n[0]:]
	for range n[1] {
		g, ok := c.polygon()
		if !ok {
			return false
		}
		s.Area = append(s.Area, g)
	}
	return true
}

func (c *sourceColumns) polygon() (g plane.Polygon, ok bool) {
	if len(c.rings) < 2 || c.rings[0] < 0 || int(c.rings[0]) > len(c.rings)-2 {
		return g, false
	}
	holes := c.rings[0]
	c.rings = c.rings[1:]
	for h := range holes + 1 {
		n := int(c.rings[0])
		if n < 0 || n > len(c.points) {
			return g, false
		}
		ring := plane.Ring(slices.Clone(c.points[:n]))
		c.rings, c.points = c.rings[1:], c.points[n:]
		if h == 0 {
			g.Outer = ring
		} else {
			g.Holes = append(g.Holes, ring)
		}
	}
	return g, true
}

// Check walks the invariants that everything else relies on and reports the first
// that is broken.
func (f *Field) Check() error {
	n := f.EdgeCount()
	lengths := map[string]int{"sight forward": len(f.SightFwdM),
		"sight back": len(f.SightBackM), "level": len(f.LevelDB), "marks": len(f.Marks), "soft": len(f.SoftShare), "touch-at": len(f.TouchAt) - 1}
	for p := range PatternCount {
		lengths[p.String()] = len(f.OwnPerDay[p])
		if f.kept == nil {
			lengths["near "+p.String()] = len(f.Near[p])
		}
	}
	if f.kept == nil {
		lengths["left room"], lengths["right room"] = len(f.Left), len(f.Right)
	} else {
		lengths["room"] = len(f.kept.room)
	}
	for _, name := range slices.Sorted(maps.Keys(lengths)) {
		if lengths[name] != n {
			return fmt.Errorf("field: %s has %d entries for %d edges", name, lengths[name], n)
		}
	}
	if err := f.Roadside.Check(n); err != nil {
		return fmt.Errorf("field: %w", err)
	}
	for e := range n {
		if err := f.checkEdge(e); err != nil {
			return err
		}
	}
	if n > 0 && (f.TouchAt[0] != 0 || int(f.TouchAt[n]) != f.TouchCount()) {
		return fmt.Errorf("field: touch-at does not span the %d touches", f.TouchCount())
	}
	if f.kept != nil {
		if err := f.kept.check(len(f.Sources)); err != nil {
			return err
		}
	}
	for i := range f.Touches {
		t := &f.Touches[i]
		if t.Source < 0 || int(t.Source) >= len(f.Sources) || !(t.DistM >= 0) || !(t.Share >= 0 && t.Share <= 1.0001) || !(t.DropDB >= 0) {
			return fmt.Errorf("field: touch %d is not sound: %+v", i, *t)
		}
	}
	return f.checkSources()
}

func (f *Field) checkEdge(e int) error {
	for p := range PatternCount {
		if q := float64(f.OwnPerDay[p][e]); !(q >= 0) || math.IsInf(q, 1) {
			return fmt.Errorf("field: edge %d has %g %s a day", e, q, p)
		}
	}
	if f.Place[e] >= PlaceKindCount {
		return fmt.Errorf("field: edge %d lies in place kind %d", e, f.Place[e])
	}
	if f.kept == nil && (!(f.Left[e].LowM >= 0) || !(f.Right[e].LowM >= 0)) {
		return fmt.Errorf("field: edge %d has room %g and %g m", e, f.Left[e].LowM, f.Right[e].LowM)
	}
	if !(f.SightFwdM[e] >= 0) || !(f.SightBackM[e] >= 0) {
		return fmt.Errorf("field: edge %d has sight %g and %g m", e, f.SightFwdM[e], f.SightBackM[e])
	}
	if s := f.SoftShare[e]; !(s >= 0 && s <= 1.0001) {
		return fmt.Errorf("field: edge %d is soft ground on %g of it", e, s)
	}
	if f.TouchAt[e] > f.TouchAt[e+1] {
		return fmt.Errorf("field: touch-at falls at edge %d", e)
	}
	return nil
}

func (f *Field) checkSources() error {
	for i := range f.Sources {
		s := &f.Sources[i]
		if int(s.Activity) >= len(busiest) {
			return fmt.Errorf("field: source %s has activity %d", s.OSM, s.Activity)
		}
		for _, m := range s.Mix {
			if m.Kind >= KindCount || !(m.Present >= 0) || !(m.PerDay >= 0) {
				return fmt.Errorf("field: source %s has %g of kind %d, %g a day", s.OSM, m.Present, m.Kind, m.PerDay)
			}
		}
	}
	return nil
}
