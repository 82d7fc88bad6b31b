package osmdata

// Report counts what was odd in the data, by kind, with up to three sample
// objects each, and what was read.
type Report struct {
	Odd  map[string]*Oddity
	Read map[string]int // counts of what was kept: "streets", "buildings" ...
}

// Oddity is one kind of odd data.
type Oddity struct {
	Count   int
	Samples []string // like "way/123", at most three
}

// Note counts one odd object.
func (r *Report) Note(kind, object string) {
	o := r.Odd[kind]
	if o == nil {
		o = &Oddity{}
		r.Odd[kind] = o
	}
	o.Count++
	if len(o.Samples) < 3 {
		o.Samples = append(o.Samples, object)
	}
}

// add takes in what another report noted after this one.
func (r *Report) add(later *Report) {
	for kind, o := range later.Odd {
		mine := r.Odd[kind]
		if mine == nil {
			mine = &Oddity{}
			r.Odd[kind] = mine
		}
		mine.Count += o.Count
		mine.Samples = append(mine.Samples, o.Samples[:min(len(o.Samples), 3-len(mine.Samples))]...)
	}
}

// newReport makes an empty report.
func newReport() *Report {
	return &Report{Odd: map[string]*Oddity{}, Read: map[string]int{}}
}

// Kinds of oddity that more than one place counts or that callers look for. What
// begins with "unknown value of" names the tag.
const (
	oddBounds      = "bounds that bound nothing or too much"
	oddWide        = "extract wider than distances hold"
	oddFar         = "place too far from the others, left out"
	oddGap         = "street with a gap too long for one, cut there"
	oddLong        = "value longer than the map's database takes, cut"
	oddPlace       = "coordinates out of range"
	oddDuplicate   = "object given twice, the later counts"
	oddMissingNode = "node of a way missing, known part kept"
	oddCut         = "street goes on outside the extract"
	oddShort       = "way with fewer than two places"
	oddSamePlace   = "two nodes at one place, merged"
	oddConditional = "access depends on hour, season or condition, not evaluated"
	oddNoDogs      = "dogs not allowed"
	oddSeparate    = "main road left to the pavements mapped beside it"
	oddIndoor      = "way indoors, left out"
	oddMember      = "member of a multipolygon missing"
	oddTurn        = "turn ban over a street or without its members, left out"
	oddUnclosed    = "ring of a multipolygon not closed, dropped"
	oddLoneHole    = "hole outside every outer ring, dropped"
	oddNoArea      = "area without area, dropped"
	oddCrossings   = "pedestrian area with more entrances than are joined"
)
