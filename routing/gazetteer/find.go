package gazetteer

import (
	"cmp"
	"math"
	"math/bits"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/blevesearch/vellum"
	"github.com/blevesearch/vellum/levenshtein"

	"wideberth/osmdata/plane"
)

// Found is a place that fits what was typed.
type Found struct {
	Kind   Kind
	Name   string // of a door with its number, as it is said in the country
	Number string // of a door
	Town   string // that it lies in; "" if none is near
	Code   string // postcode, "" if not known
	At     plane.Point
	AwayM  float64 // from where was asked; 0 if nowhere was
	// Missing is a house number that was typed and that the map does not have there.
	Missing string
	// Forgiven says that it fits only with letters wrong or missing.
	Forgiven bool

	fit fit
}

// fit is how well a place fits, beside how far off it is.
type fit struct {
	held         int // typed words, but for numbers, that it holds
	gap, missing int // telling words of its name that were not typed; typed numbers it lacks
	penalty      uint8
	itself       bool // a settlement whose name was typed
}

const (
	// mostWords is how many words of a text are looked at.
	mostWords = 12
	// From these lengths on one and two wrong letters are forgiven. Common practice.
	oneWrong, twoWrong = 4, 8
	// prefixFrom is the length from which any word may be the beginning of one; the last
	// may always.
	prefixFrom = 3
	// mostSpellings bounds the words of the map that one typed word is taken for.
	mostSpellings = 4_000
)

// How far a word of the map is from what was typed.
const (
	same = iota
	begun
	wrong
)

// spelling is a word of the map that a typed word may be.
type spelling struct {
	word  int32
	apart uint8
}

// typed is a word of the question.
type typed struct {
	text   string
	number bool // it begins with a digit: a house number, a postcode, or part of a name
	last   bool
}

// Find gives up to most places whose names hold the words of a text, in towns and
// postcodes that the others hold: those that fit in more words and better first, then the
// nearest to near, if it is given. Letters are forgiven only where nothing else fits.
func (g *Gazetteer) Find(text string, near *plane.Point, most int) []Found {
	words := question(text)
	if len(words) == 0 {
		return nil
	}
	hits, n, of := g.match(words, false)
	if len(hits) == 0 || n < of {
		if forgiven, m, _ := g.match(words, true); len(hits) == 0 || m > n {
			hits = forgiven
		}
	}
	return g.order(words, hits, near, most)
}

// question cuts a text into words. A single letter behind a number belongs to it, unless
// it is a direction.
func question(text string) (out []typed) {
	parts := split(text)
	for i, p := range parts[:min(len(parts), mostWords)] {
		first, _ := utf8.DecodeRuneInString(p)
		if n := len(out); n > 0 && out[n-1].number && len(p) == 1 && p >= "a" && p <= "z" && long[p] == nil {
			out[n-1].text += p
			continue
		}
		_, ordinal := long[p]
		out = append(out, typed{text: p, number: unicode.IsDigit(first) && !ordinal, last: i == len(parts)-1})
	}
	return out
}

// hit is how an entry fits: which typed words it holds, and which of them in its name, by
// position.
type hit struct {
	entry       int32
	held, named uint16
	penalty     uint8 // by letters apart
	wrong       bool
}

// match gives the entries that hold the most of the words that are no numbers, how many
// these are, and of all.
func (g *Gazetteer) match(words []typed, forgive bool) (hits []hit, most, of int) {
	at := map[int32]int{} // entry to its place in hits
	letters := uint16(0)
	for i, w := range words {
		if !w.number {
			letters |= 1 << i
		}
		for _, s := range spellings(g.words, w, forgive, mostSpellings) {
			for _, p := range g.postings(uint64(uint32(s.word))) {
				entry, f := int32(p>>2), field(p&3)
				k, seen := at[entry]
				if !seen {
					k = len(hits)
					at[entry] = k
					hits = append(hits, hit{entry: entry})
				}
				h := &hits[k]
				if f == inName {
					h.named |= 1 << i
				}
				if h.held&(1<<i) == 0 {
					h.held |= 1 << i
					h.penalty += s.apart
					h.wrong = h.wrong || s.apart == wrong
				}
			}
		}
	}
	hits = slices.DeleteFunc(hits, func(h hit) bool { return h.named == 0 })
	for _, h := range hits {
		most = max(most, bits.OnesCount16(h.held&letters))
	}
	of = bits.OnesCount16(letters)
	if 2*most < of {
		return nil, 0, of // more of the words fit nothing than something
	}
	return slices.DeleteFunc(hits, func(h hit) bool { return bits.OnesCount16(h.held&letters) < most }), most, of
}

// spellings are words of a map that a typed one may be, the nearest first, up to about a
// number.
func spellings(known *vellum.FST, w typed, forgive bool, most int) (out []spelling) {
	seen := map[int32]bool{}
	take := func(a vellum.Automaton, from, to []byte, apart uint8) {
		unlessBroken(func() {
			it, err := known.Search(a, from, to)
			for looked := 0; err == nil && len(out) < most && looked < known.Len(); looked++ {
				if _, n := it.Current(); !seen[int32(n)] {
					seen[int32(n)] = true
					out = append(out, spelling{int32(n), apart})
				}
				err = it.Next()
			}
		})
	}
	forms := meant(w.text)
	for _, f := range forms {
		if n, ok := numberIn(known, f); ok && !seen[int32(n)] {
			seen[int32(n)] = true
			out = append(out, spelling{int32(n), same})
		}
	}
	if w.last || !w.number && utf8.RuneCountInString(w.text) >= prefixFrom {
		for _, f := range []string{w.text, undigraph.Replace(w.text)} {
			take(&vellum.AlwaysMatch{}, []byte(f), after(f), begun)
		}
	}
	letters := utf8.RuneCountInString(w.text)
	if !forgive || w.number || letters < oneWrong {
		return out
	}
	letterOff := uint8(1)
	if letters >= twoWrong {
		letterOff = 2
	}
	for _, f := range []string{w.text, undigraph.Replace(w.text)} {
		if d, err := forgiving[letterOff].BuildDfa(f, letterOff); err == nil {
			var a vellum.Automaton = d
			if w.last && letters > oneWrong { // four letters with one wrong begin too much
				a = beginning{d}
			}
			take(a, nil, nil, wrong)
		}
	}
	return out
}

// after is the first text behind all that begin with a prefix; nil if there is none.
func after(prefix string) []byte {
	end := []byte(prefix)
	for i := len(end) - 1; i >= 0; i-- {
		if end[i] < 0xFF {
			end[i]++
			return end[:i+1]
		}
	}
	return nil
}

// forgiving builds automata for words with letters wrong, missing, too many or swapped
// (Schulz and Mihov 2002), by how many.
var forgiving = func() (out [3]*levenshtein.LevenshteinAutomatonBuilder) {
	for n := 1; n < len(out); n++ {
		b, err := levenshtein.NewLevenshteinAutomatonBuilder(uint8(n), true)
		if err != nil {
			panic(err) // a distance that the library knows
		}
		out[n] = b
	}
	return out
}()

// beginning lets all pass that begins with what an automaton lets pass.
type beginning struct{ vellum.Automaton }

// passed is the state of what has begun well.
const passed = math.MaxInt

func (b beginning) IsMatch(s int) bool         { return s == passed || b.Automaton.IsMatch(s) }
func (b beginning) CanMatch(s int) bool        { return s == passed || b.Automaton.CanMatch(s) }
func (b beginning) WillAlwaysMatch(s int) bool { return s == passed }
func (b beginning) Accept(s int, c byte) int {
	if s == passed || b.Automaton.IsMatch(s) {
		return passed
	}
	return b.Automaton.Accept(s, c)
}

// ranked is a place that is put in order.
type ranked struct {
	Found
	entry int32
}

// seemsM is how far it is for the order: a name of which less was typed counts as if it
// were farther off. Our assumption.
func (f *Found) seemsM() float64 { return f.AwayM * float64(1+f.fit.gap) }

// Compare orders two places that were found for one text, on one map or on two: the
// better one first.
func Compare(a, b *Found) int {
	if a.fit.itself != b.fit.itself {
		return map[bool]int{true: -1, false: 1}[a.fit.itself]
	}
	return cmp.Or(cmp.Compare(a.fit.missing, b.fit.missing), cmp.Compare(a.fit.penalty, b.fit.penalty), cmp.Compare(a.seemsM(), b.seemsM()),
		cmp.Compare(a.fit.gap, b.fit.gap), cmp.Compare(a.Kind, b.Kind), cmp.Compare(len(a.Name), len(b.Name)), cmp.Compare(a.Name, b.Name))
}

// Apart says that a place is no answer beside another of another map: that one holds more
// of the words, or as many without a letter forgiven.
func (f *Found) Apart(other *Found) bool {
	return other.fit.held > f.fit.held || other.fit.held == f.fit.held && f.Forgiven && !other.Forgiven
}

// order puts hits in order and takes the first.
func (g *Gazetteer) order(words []typed, hits []hit, near *plane.Point, most int) []Found {
	var letters, codes uint16 // words that are no numbers; numbers that are postcodes
	for i, w := range words {
		if !w.number {
			letters |= 1 << i
		} else if g.isCode(w.text) {
			codes |= 1 << i
		}
	}
	all := make([]ranked, 0, len(hits))
	for _, h := range hits {
		r := ranked{Found: g.found(h.entry), entry: h.entry}
		r.fit = fit{held: bits.OnesCount16(h.held & letters), penalty: h.penalty, gap: int(g.telling[h.entry])}
		r.Forgiven = h.wrong
		for i, w := range words {
			switch held := h.held&(1<<i) != 0; {
			case !w.number:
				if h.named&(1<<i) != 0 && !generic(w.text) {
					r.fit.gap--
				}
			case r.Number == "" && r.numbered(g, h.entry, w.text), held:
			case r.Number != "" && codes&(1<<i) == 0: // the second half of "12-14"
			default:
				r.fit.missing++
				if codes&(1<<i) == 0 {
					r.Missing = w.text
				}
			}
		}
		r.fit.gap = max(0, r.fit.gap)
		if near != nil {
			if r.Kind == Street {
				r.At = g.nearestPiece(h.entry, *near)
			}
			r.AwayM = near.DistanceM(r.At)
		}
		r.fit.itself = r.Kind == Settlement && r.fit.penalty == 0 && bits.OnesCount16(h.named) == len(split(r.Name))
		all = append(all, r)
	}
	slices.SortStableFunc(all, func(a, b ranked) int { return cmp.Or(Compare(&a.Found, &b.Found), cmp.Compare(a.entry, b.entry)) })
	var out []Found
	for _, r := range all[:min(len(all), most)] {
		out = append(out, r.Found)
	}
	return out
}

func (g *Gazetteer) found(entry int32) Found {
	f := Found{Kind: g.kind[entry], Name: g.names.At(int(entry)), Code: g.code.At(int(entry)), At: g.at[entry].Point()}
	if t := g.town[entry]; t >= 0 {
		f.Town = g.towns[t]
	}
	return f
}

// nearestPiece is the middle of a street's edge next to a place.
func (g *Gazetteer) nearestPiece(entry int32, near plane.Point) plane.Point {
	best := g.at[entry].Point()
	bestM := math.Inf(1)
	for _, e := range g.edge[g.edgeAt[entry]:g.edgeAt[entry+1]] {
		at := g.graph.EdgeLine(e).At(float64(g.graph.LengthM[e]) / 2)
		if d := at.DistanceM(near); d < bestM {
			best, bestM = at, d
		}
	}
	return best
}

// numberIn is that of a word among known ones; false for one that is not known.
func numberIn(known *vellum.FST, word string) (n uint64, ok bool) {
	unlessBroken(func() {
		var err error
		if n, ok, err = known.Get([]byte(word)); err != nil {
			ok = false
		}
	})
	return n, ok
}

// unlessBroken looks at the index of words. Its library follows whatever the bytes say, out
// of range too: of an index that is broken under a right checksum, words are not found.
func unlessBroken(look func()) {
	defer func() { _ = recover() }()
	look()
}

// postings are the entries that hold a word; none for a number that the words' index does
// not have, which is no check of it all.
func (g *Gazetteer) postings(word uint64) []uint32 {
	if word >= uint64(len(g.postingAt)-1) {
		return nil
	}
	return g.posting[g.postingAt[word]:g.postingAt[word+1]]
}

// isCode says whether a word is a postcode of the map.
func (g *Gazetteer) isCode(word string) bool {
	n, ok := numberIn(g.words, word)
	return ok && slices.ContainsFunc(g.postings(n), func(p uint32) bool { return field(p&3) == inCode })
}

// numbered makes of a street the door in it that has a number, if there is one.
func (f *Found) numbered(g *Gazetteer, entry int32, number string) bool {
	for _, d := range g.door[g.doorAt[entry]:g.doorAt[entry+1]] {
		if door := &g.doors[d]; slices.ContainsFunc(strings.FieldsFunc(door.Number, parts), func(n string) bool { return sameNumber(n, number) }) {
			f.Kind, f.Number, f.At = Door, door.Number, door.At
			f.Name = g.called(f.Name, door.Number)
			return true
		}
	}
	return false
}

// parts says whether a letter parts the numbers of a door that has several.
func parts(r rune) bool { return r == '-' || r == ';' || r == ',' }

// sameNumber compares a house number with a folded one, but for what parts its letters and
// digits: "12 A" is "12a".
func sameNumber(number, folded string) bool {
	for _, r := range number {
		if r == ' ' || r == '/' || r == '.' {
			continue
		}
		want, size := utf8.DecodeRuneInString(folded)
		if size == 0 || unicode.ToLower(r) != want {
			return false
		}
		folded = folded[size:]
	}
	return folded == ""
}

// Nearest is the door next to a place, no farther than withinM.
func (g *Gazetteer) Nearest(at plane.Point, withinM float64) (Found, bool) {
	best, bestM := -1, withinM
	for i := range g.doors {
		if d := g.doors[i].At.DistanceM(at); d <= bestM {
			best, bestM = i, d
		}
	}
	if best < 0 {
		return Found{}, false
	}
	d := &g.doors[best]
	return Found{Kind: Door, Name: g.called(d.Street, d.Number), Number: d.Number, Code: d.Postcode, At: d.At, AwayM: bestM}, true
}
