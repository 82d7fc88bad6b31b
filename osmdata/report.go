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

// NewReport makes an empty report.
func NewReport() *Report {
	return &Report{Odd: map[string]*Oddity{}, Read: map[string]int{}}
}
