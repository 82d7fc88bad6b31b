package strain

import (
	"errors"
	"fmt"

	"wideberth/exposure/hours"
	"wideberth/osmdata/flatfile"
)

// Stretch is traffic on or beside a share of an edge.
type Stretch struct {
	Share    float32 // of the edge's length, 0 to 1
	SpeedKMH float32
	AADT     float32 // vehicles a day, both directions together
	Pavement Pavement
	Main     bool // a main road, from motorway to tertiary
}

// PerHour is the vehicles that pass in the hour of a moment.
func (s *Stretch) PerHour(m hours.Moment) float64 {
	return float64(s.AADT) * hours.ShapeOf(hours.Cars).At(m)
}

// Wide counts the crossings of wide roads on an edge, away from crossings and
// signals: halves at its beginning and end, as the street that goes on opposite
// has the other half, and whole ones along it.
type Wide struct{ Begin, Along, End float32 }

// Table is what strain needs of a map, by edge of one network. Immutable once
// made; may be shared between goroutines.
type Table struct {
	At        []int32 // the stretches of edge e are Stretches[At[e]:At[e+1]]
	Stretches []Stretch
	Wide      []Wide
}

// Of gives the stretches of an edge.
func (t *Table) Of(e int32) []Stretch { return t.Stretches[t.At[e]:t.At[e+1]] }

// MainShare is the share of an edge's length on or beside a main road.
func (t *Table) MainShare(e int32) float64 {
	share := float32(0)
	for _, s := range t.Of(e) {
		if s.Main {
			share += s.Share
		}
	}
	return float64(min(1, share))
}

// Crossings is the number of crossings of wide roads on the run of an edge of
// lengthM metres from fromM to toM.
func (t *Table) Crossings(e int32, fromM, toM, lengthM float32) float64 {
	if toM < fromM {
		fromM, toM = toM, fromM
	}
	w := &t.Wide[e]
	n := w.Along * (toM - fromM) / max(lengthM, 1e-6)
	if fromM <= endSlackM {
		n += w.Begin
	}
	if toM >= lengthM-endSlackM {
		n += w.End
	}
	return float64(n)
}

// endSlackM is how near the end of a run lies to the edge's for it to be the same.
const endSlackM = 0.01

// ErrTable is wrapped by every error about a table that is not sound.
var ErrTable = errors.New("strain")

// Check walks the invariants and reports the first that is broken.
func (t *Table) Check(edges int) error {
	if len(t.Wide) != edges || len(t.At) != edges+1 {
		return fmt.Errorf("%w: %d crossings and %d places for %d edges", ErrTable, len(t.Wide), len(t.At), edges)
	}
	if t.At[0] != 0 || int(t.At[edges]) != len(t.Stretches) {
		return fmt.Errorf("%w: places do not span the %d stretches", ErrTable, len(t.Stretches))
	}
	for e := range edges {
		if t.At[e] > t.At[e+1] {
			return fmt.Errorf("%w: places fall at edge %d", ErrTable, e)
		}
		if w := t.Wide[e]; !(w.Begin >= 0) || !(w.Along >= 0) || !(w.End >= 0) {
			return fmt.Errorf("%w: edge %d has crossings %+v", ErrTable, e, w)
		}
	}
	for i, s := range t.Stretches {
		if !(s.Share >= 0 && s.Share <= 1.0001) || !(s.SpeedKMH >= 0) || !(s.AADT >= 0) || s.Pavement >= pavementCount {
			return fmt.Errorf("%w: stretch %d is %+v", ErrTable, i, s)
		}
	}
	return nil
}

// Encode writes the table as sections whose names begin with prefix.
func (t *Table) Encode(w *flatfile.Writer, prefix string) {
	figures, facts := make([][3]float32, len(t.Stretches)), make([][2]uint8, len(t.Stretches))
	for i, s := range t.Stretches {
		figures[i], facts[i] = [3]float32{s.Share, s.SpeedKMH, s.AADT}, [2]uint8{uint8(s.Pavement), 0}
		if s.Main {
			facts[i][1] = 1
		}
	}
	wide := make([][3]float32, len(t.Wide))
	for e, x := range t.Wide {
		wide[e] = [3]float32{x.Begin, x.Along, x.End}
	}
	flatfile.Put(w, prefix+"at", t.At)
	flatfile.Put(w, prefix+"traffic", figures)
	flatfile.Put(w, prefix+"pavement", facts)
	flatfile.Put(w, prefix+"wide", wide)
}

// Decode reads a table that Encode has written; Check it before use.
func Decode(f *flatfile.File, prefix string) (Table, error) {
	at, err1 := flatfile.Take[int32](f, prefix+"at")
	figures, err2 := flatfile.Take[[3]float32](f, prefix+"traffic")
	facts, err3 := flatfile.Take[[2]uint8](f, prefix+"pavement")
	wide, err4 := flatfile.Take[[3]float32](f, prefix+"wide")
	if err := errors.Join(err1, err2, err3, err4); err != nil {
		return Table{}, err
	}
	if len(figures) != len(facts) {
		return Table{}, &flatfile.FormatError{Section: prefix + "traffic", Err: fmt.Errorf("%w: columns differ in length", flatfile.ErrDamaged)}
	}
	t := Table{At: at, Stretches: make([]Stretch, len(figures)), Wide: make([]Wide, len(wide))}
	for i, x := range figures {
		t.Stretches[i] = Stretch{x[0], x[1], x[2], Pavement(facts[i][0]), facts[i][1] != 0}
	}
	for e, x := range wide {
		t.Wide[e] = Wide{x[0], x[1], x[2]}
	}
	return t, nil
}
