package gazetteer

import (
	"maps"
	"math"
	"slices"
	"strings"
	"testing"
	"unicode"

	"golang.org/x/text/unicode/norm"
	"pgregory.net/rapid"

	"wideberth/osmdata"
	"wideberth/osmdata/flatfile"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
)

// streetsAt is a graph of streets, each 200 m long and running east from its place.
func streetsAt(t testing.TB, names []string, at []plane.Point) *network.Graph {
	t.Helper()
	var streets []osmdata.Street
	for i, n := range names {
		id := int64(i + 1)
		streets = append(streets, osmdata.Street{ID: id, Name: n, Nodes: []int64{2 * id, 2*id + 1}, Line: plane.Polyline{at[i], at[i].Add(plane.Point{X: 200})}, Class: osmdata.Residential, Foot: true})
	}
	g, _, err := network.Build(streets, nil, network.Options{MinIslandM: -1})
	if err != nil {
		t.Fatal(err)
	}
	return g
}

func indexOf(t testing.TB, src Sources) *Gazetteer {
	t.Helper()
	g, err := New(src)
	if err != nil {
		t.Fatal(err)
	}
	return g
}

// TestFoldedOnceIsFoldedTwice: folding what is folded changes nothing, composed and
// decomposed letters fold alike, and nothing is left but letters, digits and gaps. Source
// of the forms: Unicode Standard Annex 15 (normalization forms C and D).
func TestFoldedOnceIsFoldedTwice(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.OneOf(rapid.String(), rapid.StringMatching(`[A-Za-zÀ-ÖØ-öø-ÿŁłŒœ'’. -]{0,20}`)).Draw(t, "text")
		if strings.ContainsFunc(text, func(r rune) bool { return unicode.Is(unicode.Cherokee, r) }) {
			t.Skip("whose letters Unicode folds to capitals, and the library swaps")
		}
		once := fold(text)
		if again := fold(once); !slices.Equal(strings.Fields(again), strings.Fields(once)) {
			t.Fatalf("%q folds to %q and that to %q", text, once, again)
		}
		if a, b := split(norm.NFC.String(text)), split(norm.NFD.String(text)); !slices.Equal(a, b) {
			t.Fatalf("%q folds to %q composed and %q decomposed", text, a, b)
		}
		for _, r := range once {
			if r != ' ' && !unicode.IsLetter(r) && !unicode.IsDigit(r) && !unicode.Is(unicode.Mc, r) {
				t.Fatalf("%q leaves %q in %q", text, r, once)
			}
		}
	})
	for text, want := range map[string]string{"GROẞE STRASSE": "grosse strasse", "Öhrfeldstraße": "ohrfeldstrasse", "Łąkowa": "lakowa", "Rue de l’Église": "rue de leglise", "Æbleøgade": "aebleogade",
		"St.-John's": "st johns", "ﬁeld": "field", "İncir": "incir", "Þistilgata": "thistilgata", "a/b;c": "a b c", "№ 5": "no 5"} {
		if got := strings.Join(split(text), " "); got != want {
			t.Errorf("%q folds to %q, want %q", text, got, want)
		}
	}
}

// TestAbbreviationsJoin: what an abbreviation first stands for is no abbreviation itself,
// so that a door's street and a street's own name come out as one, however both are cut.
func TestAbbreviationsJoin(t *testing.T) {
	for w, longs := range long {
		if first := longs[0]; joined(first) != joined(w) {
			t.Errorf("%q is joined as %q, what it stands for first as %q", w, joined(w), joined(first))
		}
		for _, l := range longs {
			if !slices.Contains(short[l], w) {
				t.Errorf("%q stands for %q, but not the other way round", w, l)
			}
			if m := meant(w); !slices.Contains(m, l) || m[0] != w {
				t.Errorf("%q may be %q, without %q or itself first", w, m, l)
			}
			if !generic(w) || !generic(l) {
				t.Errorf("%q or %q tells one street from another", w, l)
			}
		}
	}
	for a, b := range map[string]string{"N Union St": "North Union Street", "Kiln Ave": "Kiln Avenue", "Kiln Av": "Kiln Ave.", "Mill Blvd": "Mill Boulevard", "Mill Rd": "MILL ROAD", "Quay Ln.": "quay lane"} {
		if joined(a) != joined(b) {
			t.Errorf("%q is joined as %q, %q as %q", a, joined(a), b, joined(b))
		}
	}
}

// TestDoorsFindTheirStreet: doors whose street is cut short belong to it, and make no
// second street.
func TestDoorsFindTheirStreet(t *testing.T) {
	for longName, shorts := range map[string][]string{"Kiln Avenue": {"Kiln Ave", "Kiln Av", "KILN AVE.", "Kiln Avenue"}, "North Mill Boulevard": {"N Mill Blvd", "North Mill Bd", "N. Mill Boulevard"}, "Saint Wendle Street": {"Saint Wendle St"}} {
		for _, s := range shorts {
			src := Sources{Country: "GB", Streets: streetsAt(t, []string{longName}, []plane.Point{{}}), Doors: []osmdata.Address{{Street: s, Number: "7", At: plane.Point{X: 40, Y: 12}}}}
			g := indexOf(t, src)
			if n, _ := g.Size(); n != 1 {
				t.Errorf("%s and doors at %q are %d places", longName, s, n)
			}
			if found := g.Find("7 "+longName, nil, 3); len(found) != 1 || found[0].Number != "7" || found[0].Name != "7 "+longName {
				t.Errorf("7 %s with doors at %q: %+v", longName, s, found)
			}
		}
	}
}

// apartBy is how many letters are wrong, missing, too many or swapped with their neighbour:
// the optimal string alignment distance by its table (Wagner and Fischer 1974 with the
// swap of Damerau 1964).
func apartBy(a, b string) int {
	d := make([][]int, len(a)+1)
	for i := range d {
		d[i] = make([]int, len(b)+1)
		for j := range d[i] {
			switch {
			case i == 0:
				d[i][j] = j
				continue
			case j == 0:
				d[i][j] = i
				continue
			}
			differ := 1
			if a[i-1] == b[j-1] {
				differ = 0
			}
			d[i][j] = min(d[i-1][j]+1, d[i][j-1]+1, d[i-1][j-1]+differ)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				d[i][j] = min(d[i][j], d[i-2][j-2]+1)
			}
		}
	}
	return d[len(a)][len(b)]
}

// TestSpellingsSlowly: the words that a typed one is taken for are those that are it, begin
// with it, or are one letter apart from four letters on and two from eight, by a table.
func TestSpellingsSlowly(t *testing.T) {
	letters := rapid.OneOf(rapid.StringMatching(`[bdkmt]{2,9}`), rapid.StringMatching(`[bdkmt]{8}`))
	rapid.Check(t, func(t *rapid.T) {
		words := rapid.SliceOfNDistinct(letters, 1, 25, rapid.ID[string]).Draw(t, "words")
		words = slices.DeleteFunc(words, generic)
		var src Sources
		for i, w := range words {
			src.Grounds = append(src.Grounds, Named{Name: w, At: plane.Point{X: float64(i)}})
		}
		g, err := New(src)
		if err != nil {
			t.Fatal(err)
		}
		text := letters.Draw(t, "typed")
		if rapid.Bool().Draw(t, "nearly") && len(words) > 0 {
			text = words[0]
			for range rapid.IntRange(1, 2).Draw(t, "faults") {
				i := rapid.IntRange(0, len(text)).Draw(t, "at")
				text = text[:i] + rapid.SampledFrom([]string{"", "b", "mt"}).Draw(t, "instead") + text[min(len(text), i+rapid.IntRange(0, 2).Draw(t, "of")):]
				text += rapid.SampledFrom([]string{"", "k"}).Draw(t, "more")
			}
		}
		if text == "" || generic(text) {
			t.Skip("an abbreviation")
		}
		slices.Sort(words)
		forgive := rapid.Bool().Draw(t, "forgive")
		got := map[string]uint8{}
		for _, s := range spellings(g.words, typed{text: text}, forgive, mostSpellings) {
			got[words[s.word]] = s.apart
		}
		for _, w := range words {
			most := 0
			switch {
			case forgive && len(text) >= 8:
				most = 2
			case forgive && len(text) >= 4:
				most = 1
			}
			want, fits := uint8(wrong), apartBy(text, w) <= most
			switch {
			case w == text:
				want, fits = same, true
			case strings.HasPrefix(w, text) && len(text) >= 3:
				want, fits = begun, true
			}
			if apart, found := got[w]; found != fits || found && apart != want {
				t.Fatalf("%q for %q: found %t by %d, want %t by %d (%d letters apart)", w, text, found, apart, fits, want, apartBy(text, w))
			}
		}
	})
}

// TestAfterAPrefix: what begins with a prefix lies before it, what does not and is greater
// lies at it or behind.
func TestAfterAPrefix(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		prefix := string(rapid.SliceOfN(rapid.Byte(), 0, 4).Draw(t, "prefix"))
		other := string(rapid.SliceOfN(rapid.Byte(), 0, 6).Draw(t, "other"))
		end := after(prefix)
		if end == nil {
			if strings.Count(prefix, "\xff") != len(prefix) {
				t.Fatalf("nothing lies behind %q", prefix)
			}
			return
		}
		if with := prefix + other; with >= string(end) {
			t.Fatalf("%q lies behind %q, the end of %q", with, end, prefix)
		}
		if other >= prefix && !strings.HasPrefix(other, prefix) && other < string(end) {
			t.Fatalf("%q lies before %q, the end of %q", other, end, prefix)
		}
	})
}

// TestQuestionsInWords: letters behind numbers belong to them unless they are directions,
// ordinals are no numbers, and of very long texts the beginning counts.
func TestQuestionsInWords(t *testing.T) {
	for text, want := range map[string]string{
		"12 a Kiln St": "#12a kiln st!", "12 N Kiln": "#12 n kiln!", "kiln 12": "kiln #12!", "kiln 12 b": "kiln #12b", "3rd avenue": "3rd avenue!", "31200 Ostby": "#31200 ostby!",
		"": "", "a b": "a b!", "14-18 kiln": "#14 #18 kiln!", strings.Repeat("kiln ", 20): strings.TrimSpace(strings.Repeat("kiln ", 12)),
	} {
		var got []string
		for _, w := range question(text) {
			said := w.text
			if w.number {
				said = "#" + said
			}
			if w.last {
				said += "!"
			}
			got = append(got, said)
		}
		if strings.Join(got, " ") != want {
			t.Errorf("%q is %q, want %q", text, strings.Join(got, " "), want)
		}
	}
}

// TestSameNumbers compares house numbers but for case, gaps and strokes.
func TestSameNumbers(t *testing.T) {
	for _, c := range []struct {
		number, typed string
		same          bool
	}{{"12", "12", true}, {"12A", "12a", true}, {"12 A", "12a", true}, {"12/a", "12a", true}, {"12", "1", false}, {"1", "12", false}, {"12a", "12b", false}, {"", "", true}, {"", "1", false}, {"12.1", "121", true}, {"Ä1", "ä1", true}} {
		if got := sameNumber(c.number, c.typed); got != c.same {
			t.Errorf("%q and %q: %t", c.number, c.typed, got)
		}
	}
}

// TestClustersSlowly: pieces belong together where a chain of pieces of the town leads from
// one to the other, each in the square of the one before or one beside it; by joining sets.
func TestClustersSlowly(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		pieces := make([]piece, rapid.IntRange(0, 14).Draw(t, "n"))
		for i := range pieces {
			pieces[i] = piece{town: rapid.SampledFrom([]string{"", "Ostby", "Vellen"}).Draw(t, "town"), edge: int32(i),
				at: plane.Point{X: rapid.Float64Range(-2500, 2500).Draw(t, "x"), Y: rapid.Float64Range(-800, 800).Draw(t, "y")}}
		}
		group := make([]int, len(pieces))
		for i := range group {
			group[i] = i
		}
		square := func(v float64) int { return int(math.Floor(v / 400)) }
		beside := func(a, b float64) bool { d := square(a) - square(b); return d >= -1 && d <= 1 }
		for range pieces {
			for i := range pieces {
				for j := range pieces {
					if a, b := &pieces[i], &pieces[j]; a.town == b.town && beside(a.at.X, b.at.X) && beside(a.at.Y, b.at.Y) {
						group[i], group[j] = min(group[i], group[j]), min(group[i], group[j])
					}
				}
			}
		}
		seen := map[int32]int{}
		for k, c := range clusters(pieces) {
			for _, p := range c {
				if _, twice := seen[p.edge]; twice {
					t.Fatalf("piece %d is in two streets", p.edge)
				}
				seen[p.edge] = k
			}
		}
		if len(seen) != len(pieces) {
			t.Fatalf("%d of %d pieces are in a street", len(seen), len(pieces))
		}
		for i := range pieces {
			for j := range pieces {
				if together := seen[int32(i)] == seen[int32(j)]; together != (group[i] == group[j]) {
					t.Fatalf("%+v and %+v: one street %t", pieces[i], pieces[j], together)
				}
			}
		}
	})
}

// TestTownsHaveWhatIsNear: a place lies in the town that is nearest by distance over reach,
// within 12 km of one of reach 1; a town of no reach names only itself.
func TestTownsHaveWhatIsNear(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := &builder{}
		coord := rapid.Float64Range(-30_000, 30_000)
		for i := range rapid.IntRange(0, 6).Draw(t, "towns") {
			b.src.Towns = append(b.src.Towns, Town{Name: string(rune('A' + i)), At: plane.Point{X: coord.Draw(t, "x"), Y: coord.Draw(t, "y")}, Reach: rapid.SampledFrom([]float64{0, 0.3, 1, 2}).Draw(t, "reach")})
		}
		at := plane.Point{X: coord.Draw(t, "px"), Y: coord.Draw(t, "py")}
		got := b.nearest(at)
		for _, town := range b.src.Towns {
			if town.Reach == 0 {
				if got == town.Name {
					t.Fatalf("%s has no reach and is near", got)
				}
				continue
			}
			d := town.At.DistanceM(at) / town.Reach
			if got == "" && d < 12_000 {
				t.Fatalf("%s is %g m off and not near", town.Name, d)
			}
			for _, o := range b.src.Towns {
				if o.Name == got && (o.At.DistanceM(at)/o.Reach > d || o.At.DistanceM(at)/o.Reach >= 12_000) {
					t.Fatalf("%s is nearer than %s", town.Name, got)
				}
			}
		}
	})
}

// TestMostOften: the commonest text, the first of the alphabet of two, never an empty one.
func TestMostOften(t *testing.T) {
	for want, counts := range map[string]map[string]int{"": {"": 9}, "b": {"a": 1, "b": 3, "": 7}, "a": {"b": 2, "a": 2}} {
		if got := most(counts); got != want {
			t.Errorf("%v: %q, want %q", counts, got, want)
		}
	}
}

// TestDoorsAreFoundWhereTheyAre: of random doors each is found by number and street, where
// it stands, as far off as it is; the nearest door is the nearest of all.
func TestDoorsAreFoundWhereTheyAre(t *testing.T) {
	g0 := streetsAt(t, []string{"Kiln Street", "Mill Lane"}, []plane.Point{{}, {Y: 900}})
	rapid.Check(t, func(t *rapid.T) {
		src := Sources{Country: "DE", Streets: g0}
		for i := range rapid.IntRange(1, 9).Draw(t, "doors") {
			street, y := "Kiln Street", 0.0
			if i%2 == 1 {
				street, y = "Mill Lane", 900
			}
			src.Doors = append(src.Doors, osmdata.Address{Street: street, Number: string(rune('1' + i)), Postcode: "5100" + string(rune('0'+i%3)), At: plane.Point{X: rapid.Float64Range(0, 200).Draw(t, "x"), Y: y + 9}})
		}
		g, err := New(src)
		if err != nil {
			t.Fatal(err)
		}
		me := plane.Point{X: rapid.Float64Range(-50, 300).Draw(t, "mx"), Y: rapid.Float64Range(-50, 950).Draw(t, "my")}
		least := math.Inf(1)
		for _, d := range src.Doors {
			least = min(least, d.At.DistanceM(me))
			found := g.Find(d.Street+" "+d.Number, &me, 1)
			if len(found) != 1 || found[0].Kind != Door || found[0].Name != d.Street+" "+d.Number || found[0].At != d.At || math.Abs(found[0].AwayM-d.At.DistanceM(me)) > 1e-9 {
				t.Fatalf("%s %s: %+v", d.Street, d.Number, found)
			}
		}
		within := rapid.Float64Range(1, 400).Draw(t, "within")
		near, ok := g.Nearest(me, within)
		if ok != (least <= within) || ok && math.Abs(near.AwayM-least) > 1e-9 {
			t.Fatalf("within %g m: %+v, %t; the nearest is %g m off", within, near, ok, least)
		}
		sums := map[string]plane.Point{}
		counts := map[string]float64{}
		for _, d := range src.Doors {
			sums[d.Postcode], counts[d.Postcode] = sums[d.Postcode].Add(d.At), counts[d.Postcode]+1
		}
		for code, sum := range sums {
			found := g.Find(code, nil, 9)
			at := slices.IndexFunc(found, func(f Found) bool { return f.Kind == Postcode && f.Name == code })
			if at < 0 || found[at].At.DistanceM(sum.Mul(1/counts[code])) > .00708 {
				t.Fatalf("postcode %s: %+v", code, found)
			}
		}
	})
}

// TestSpoiltIndexIsRefused: an index whose numbers point at nothing is found out, each kind
// of fault by its own words.
func TestSpoiltIndexIsRefused(t *testing.T) {
	whole := func() *Gazetteer {
		return indexOf(t, Sources{Towns: []Town{{Name: "Ostby", Reach: 1}}, Streets: streetsAt(t, []string{"Kiln Street", "Mill Lane"}, []plane.Point{{}, {Y: 900}}),
			Doors: []osmdata.Address{{Street: "Kiln Street", Number: "3", Postcode: "31200"}}})
	}
	if err := whole().check(); err != nil {
		t.Fatal(err)
	}
	for want, spoil := range map[string]func(*Gazetteer){
		"with 3 kinds":             func(g *Gazetteer) { g.kind = g.kind[:3] },
		"3 points":                 func(g *Gazetteer) { g.at = g.at[:3] },
		"3 towns":                  func(g *Gazetteer) { g.town = g.town[:3] },
		"3 codes":                  func(g *Gazetteer) { g.code = flatfile.TextsOf(make([]string, 3)) },
		"3 lengths":                func(g *Gazetteer) { g.telling = g.telling[:3] },
		"3 lists of doors":         func(g *Gazetteer) { g.doorAt = g.doorAt[:3] },
		"3 of edges":               func(g *Gazetteer) { g.edgeAt = g.edgeAt[:3] },
		"place 1 of kind 5":        func(g *Gazetteer) { g.kind[1] = kinds },
		"in town 1 of 1":           func(g *Gazetteer) { g.town[2] = 1 },
		"in town -2 of 1":          func(g *Gazetteer) { g.town[2] = -2 },
		"door 0 is 1 of 1":         func(g *Gazetteer) { g.door[0] = 1 },
		"door 0 is -1 of 1":        func(g *Gazetteer) { g.door[0] = -1 },
		"edge 1 is 2 of 2":         func(g *Gazetteer) { g.edge[1] = 2 },
		"door-at does not run":     func(g *Gazetteer) { g.doorAt[len(g.doorAt)-1]++ },
		"edge-at does not run":     func(g *Gazetteer) { g.edgeAt[0] = 1 },
		"posting-at falls at 1":    func(g *Gazetteer) { g.postingAt[1] = -1 },
		"posting-at does not run":  func(g *Gazetteer) { g.postingAt = nil },
		"posting 0 is of place 99": func(g *Gazetteer) { g.posting[0] = 99 << 2 },
	} {
		g := whole()
		spoil(g)
		if err := g.check(); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v", want, err)
		}
	}
}

// TestFindKeepsItsWord: at most as many as were asked for, no place twice, distances as
// they are, and the order does not hang on how many are asked for.
func TestFindKeepsItsWord(t *testing.T) {
	var names []string
	var at []plane.Point
	for i := range 24 {
		names = append(names, []string{"Kiln", "Mill", "Quay", "Orchard"}[i%4]+" "+[]string{"Street", "Lane", "Road"}[i%3])
		at = append(at, plane.Point{X: float64(i%5) * 3000, Y: float64(i) * 700})
	}
	g := indexOf(t, Sources{Country: "US", Streets: streetsAt(t, names, at), Towns: []Town{{Name: "Ostby", Reach: 1}, {Name: "Millbeck", At: plane.Point{X: 9000}, Reach: 1}}})
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.SampledFrom([]string{"kiln", "mill", "mill l", "quay st", "orchard road", "ostby", "kiln street ostby", "mlil", "q", "lane", "st"}).Draw(t, "text")
		me := plane.Point{X: rapid.Float64Range(-100, 15000).Draw(t, "x"), Y: rapid.Float64Range(-100, 17000).Draw(t, "y")}
		all := g.Find(text, &me, 999)
		n := rapid.IntRange(0, 8).Draw(t, "most")
		if some := g.Find(text, &me, n); !slices.Equal(some, all[:min(n, len(all))]) {
			t.Fatalf("%q: the first %d are %+v", text, n, some)
		}
		seen := map[Found]bool{}
		for _, f := range all {
			if seen[f] {
				t.Fatalf("%q: %+v stands twice", text, f)
			}
			seen[f] = true
			if math.Abs(f.AwayM-f.At.DistanceM(me)) > 1e-9 {
				t.Fatalf("%q: %+v is %g m off", text, f, f.At.DistanceM(me))
			}
		}
		for _, f := range g.Find(text, nil, 999) {
			if f.AwayM != 0 {
				t.Fatalf("%q: %+v is off nowhere", text, f)
			}
		}
	})
}

// TestRunsSlowly holds the longest run of each name on an edge against a walk along it, a
// step at a time: a name may come again after another, and parts of one name that follow
// each other are one run.
func TestRunsSlowly(t *testing.T) {
	names := []string{"", "Kiln Street", "Mill Lane", "Race Walk"}
	rapid.Check(t, func(r *rapid.T) {
		long := rapid.IntRange(5, 60).Draw(r, "steps")
		g := &network.Graph{Names: names, LengthM: []float32{float32(long)}, PartAt: []int32{0, 0}}
		bears := make([]int32, long)
		for i := range bears {
			if i == 0 || rapid.IntRange(0, 3).Draw(r, "changes") == 0 {
				bears[i] = int32(rapid.IntRange(0, len(names)-1).Draw(r, "name"))
				g.Parts = append(g.Parts, network.Part{Name: bears[i], FromM: float32(i)})
			} else {
				bears[i] = bears[i-1]
			}
		}
		g.PartAt[1] = int32(len(g.Parts))
		want := map[int32]run{}
		for i := 0; i < long; {
			k := i
			for k < long && bears[k] == bears[i] {
				k++
			}
			if best := want[bears[i]]; bears[i] != 0 && float64(k-i) > best.to-best.from {
				want[bears[i]] = run{bears[i], float64(i), float64(k)}
			}
			i = k
		}
		got := map[int32]run{}
		for _, r := range runs(g, 0, nil) {
			got[r.name] = r
		}
		if !maps.Equal(got, want) {
			r.Fatalf("%v of %v, want %v", got, bears, want)
		}
	})
}

// TestNamesOfOneEdge: where a street's name changes at no junction, both names are found,
// each where its own stretch has its middle.
func TestNamesOfOneEdge(t *testing.T) {
	g := streetsAt(t, []string{"Kiln Street"}, []plane.Point{{}})
	g.Names = append(g.Names, "Mill Lane")
	g.Parts = append(g.Parts, network.Part{Name: int32(len(g.Names) - 1), FromM: 150, Class: osmdata.Residential})
	g.PartAt[1] = 2
	index := indexOf(t, Sources{Streets: g})
	for name, x := range map[string]float64{"Kiln Street": 75, "Mill Lane": 175} {
		found := index.Find(name, nil, 1)
		if len(found) != 1 || found[0].Name != name || math.Abs(found[0].At.X-x) > 0.1 {
			t.Errorf("%s: %+v", name, found)
		}
	}
}
