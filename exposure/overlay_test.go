package exposure

import (
	"math/rand/v2"
	"reflect"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// copied is the slow twin of With: a field with all touches in one array, as if the
// map had the sources.
func copied(f *Field, extra []*Laid) *Field {
	g := emptyField(f.EdgeCount())
	g.OwnPerDay, g.Near, g.Left, g.Right = f.OwnPerDay, f.Near, f.Left, f.Right
	g.SightFwdM, g.SightBackM, g.LevelDB, g.Place, g.Marks = f.SightFwdM, f.SightBackM, f.LevelDB, f.Place, f.Marks
	g.Sources = slices.Clone(f.Sources)
	for _, l := range extra {
		g.Sources = append(g.Sources, l.Source)
	}
	for e := range int32(f.EdgeCount()) {
		g.Touches = append(g.Touches, f.Touches[f.TouchAt[e]:f.TouchAt[e+1]]...)
		for i, l := range extra {
			if at, found := slices.BinarySearch(l.Edges, e); found {
				for _, t := range l.Touches[at] {
					t.Source = int32(len(f.Sources) + i)
					g.Touches = append(g.Touches, t)
				}
			}
		}
		g.TouchAt[e+1] = int32(len(g.Touches))
	}
	return g
}

// randomLaid is a reported source that touches some edges.
func randomLaid(r *rand.Rand, edges int) *Laid {
	kinds := []Kind{DogBehindFence, Runner, ChildrenNoise, Bells, Construction}
	k := kinds[r.IntN(len(kinds))]
	l := &Laid{Source: Source{OSM: "report/x", As: "report", AreaM2: float32(r.IntN(2)) * 400, Activity: ActivityOf(k), Mix: []Presence{{Kind: k, Present: r.Float32() * 3, PerDay: r.Float32() * 9}}}}
	if r.IntN(2) == 0 {
		l.Source.Hours = "Mo-Fr 07:00-17:00"
	}
	for e := range int32(edges) {
		if r.IntN(6) > 0 {
			continue
		}
		var touches []Touch
		for range 1 + r.IntN(2) {
			touches = append(touches, Touch{Source: -7, DistM: r.Float32() * 100, Share: r.Float32(), InSight: r.IntN(2) == 0, DropDB: float32(r.IntN(2)) * 8})
		}
		l.Edges, l.Touches = append(l.Edges, e), append(l.Touches, touches)
	}
	return l
}

// TestOverlayIsTheCopy: a field with sources laid over it answers every question as
// one that holds them in its own arrays, to the last bit; laid on in one go or one
// after another is the same.
func TestOverlayIsTheCopy(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(rt, "seed"), 4))
		f := randomField(r, 1+r.IntN(60))
		var laid []*Laid
		for range r.IntN(5) {
			laid = append(laid, randomLaid(r, f.EdgeCount()))
		}
		slow := copied(f, laid)
		cut := 0
		if len(laid) > 0 {
			cut = r.IntN(len(laid))
		}
		fa := &Factors{There: map[int32]float64{0: .3, int32(len(f.Sources)): .6}}
		m := at(t, schoolMorning)
		for name, g := range map[string]*Field{"in one go": f.With(laid), "one after another": f.With(laid[:cut]).With(laid[cut:])} {
			if g.SourceCount() != len(slow.Sources) {
				rt.Fatalf("%s: %d sources, want %d", name, g.SourceCount(), len(slow.Sources))
			}
			if got, want := g.Sums(wary(), nil).Hazard(m, fa, nil), slow.Sums(wary(), nil).Hazard(m, fa, nil); !slices.Equal(got, want) {
				rt.Errorf("%s: hazards %v, want %v", name, got, want)
			}
			for i := range slow.Sources {
				id := int32(i)
				if !reflect.DeepEqual(g.Source(id), slow.Source(id)) || g.Active(id, wary(), m, fa) != slow.Active(id, wary(), m, fa) || g.NeedAt(id, wary()) != slow.NeedAt(id, wary()) ||
					g.Present(id, DogBehindFence, m, fa) != slow.Present(id, DogBehindFence, m, fa) {
					rt.Errorf("%s: source %d differs", name, i)
				}
			}
			for e := range int32(f.EdgeCount()) {
				if !slices.Equal(slices.Collect(g.TouchesOf(e)), slices.Collect(slow.TouchesOf(e))) || !reflect.DeepEqual(g.Explain(e, wary(), m, fa), slow.Explain(e, wary(), m, fa)) {
					rt.Errorf("%s: edge %d differs", name, e)
				}
			}
			steps := []Step{{Edge: 0, Seconds: 40, At: m}, {Edge: int32(f.EdgeCount() - 1), Seconds: 90, At: m}}
			if !reflect.DeepEqual(g.Along(wary(), steps, fa), slow.Along(wary(), steps, fa)) {
				rt.Errorf("%s: the dose differs", name)
			}
		}
	})
}

// TestOverlayLeavesTheFieldAlone: reported sources are seen through the overlay only,
// and what they are seen as says that people reported them.
func TestOverlayLeavesTheFieldAlone(t *testing.T) {
	f := townField()
	m := at(t, schoolMorning)
	before := allHazards(f, wary(), m)
	yard := &Laid{Source: Source{OSM: "report/7", As: "yard", Mix: []Presence{{Kind: DogBehindFence, Present: 2}}},
		Edges: []int32{5}, Touches: [][]Touch{{{DistM: 4, Share: 1, InSight: true}}}}
	g := f.With([]*Laid{yard})
	if err := g.Check(); err != nil {
		t.Fatal(err)
	}
	after := allHazards(g, wary(), m)
	for e := range before {
		if e == 5 && after[e] <= before[e] || e != 5 && after[e] != before[e] {
			t.Errorf("edge %d: %g before, %g after", e, before[e], after[e])
		}
	}
	if !slices.Equal(before, allHazards(f, wary(), m)) || f.SourceCount() != len(f.Sources) {
		t.Error("the field itself has changed")
	}
	if !slices.ContainsFunc(g.Explain(5, onlyDogs(40), m, nil), func(x Term) bool { return x.Evidence == FromReport }) {
		t.Error("the breakdown does not show the report")
	}
}

// TestOverlaySharesEveryArray: nothing of the map is copied for a report, whatever is
// added to a field later.
func TestOverlaySharesEveryArray(t *testing.T) {
	f := townField()
	g := f.With([]*Laid{randomLaid(rand.New(rand.NewPCG(1, 1)), f.EdgeCount())})
	a, b := reflect.ValueOf(f).Elem(), reflect.ValueOf(g).Elem()
	shared := 0
	for i := range a.NumField() {
		field := a.Type().Field(i)
		if !field.IsExported() {
			continue
		}
		for _, pair := range pairsOf(a.Field(i), b.Field(i)) {
			shared++
			if pair[0].Pointer() != pair[1].Pointer() || pair[0].Len() != pair[1].Len() {
				t.Errorf("%s is not shared", field.Name)
			}
		}
	}
	if shared < 20 {
		t.Errorf("only %d arrays were looked at", shared)
	}
}

// pairsOf gives two slices or maps, or those within two arrays or structs; numbers
// are no memory to share.
func pairsOf(a, b reflect.Value) (out [][2]reflect.Value) {
	switch a.Kind() {
	case reflect.Slice, reflect.Map:
		return [][2]reflect.Value{{a, b}}
	case reflect.Array:
		for i := range a.Len() {
			out = append(out, pairsOf(a.Index(i), b.Index(i))...)
		}
	case reflect.Struct:
		for i := range a.NumField() {
			out = append(out, pairsOf(a.Field(i), b.Field(i))...)
		}
	}
	return out
}

// TestOverlayParsesHoursOnce: the opening hours of the map's sources are parsed for
// the map, not for each field with reports over it.
func TestOverlayParsesHoursOnce(t *testing.T) {
	f := randomField(rand.New(rand.NewPCG(8, 1)), 200)
	a, b := f.With([]*Laid{{Source: Source{Hours: "Mo 10:00-11:00"}}}), f.With([]*Laid{{Source: Source{Hours: "nonsense"}}})
	n, parsed := int32(len(f.Sources)), 0
	for i := range n {
		if a.openings(i) != b.openings(i) || a.openings(i) != f.openings(i) {
			t.Errorf("source %d is parsed anew", i)
		}
		if a.openings(i) != nil {
			parsed++
		}
	}
	if parsed == 0 || a.openings(n) == nil || b.openings(n) != nil {
		t.Errorf("%d of the map's are parsed, of the reported ones %v and %v", parsed, a.openings(n), b.openings(n))
	}
}
