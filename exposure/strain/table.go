package strain

import (
	"errors"
	"fmt"
	"math"

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
// made; may be shared between goroutines. Stretches and Wide are how a table is made; one
// that lies in a file has none of them, and is asked like any with Of and WideOf.
type Table struct {
	At        []int32 // the stretches of edge e are Stretches[At[e]:At[e+1]]
	Stretches []Stretch
	Wide      []Wide
	kept      *kept
}

// kept is a table as it lies in a file.
type kept struct {
	aadt  []float32
	run   [][2]uint16 // share in shareSteps, hundredths of km/h
	facts [][2]uint8  // pavement; 1 on a main road
	wide  [][3]uint8  // crossings in quarters
}

// The steps of what a file keeps as whole numbers.
const (
	shareSteps = math.MaxUint16
	speedSteps = 100
	wideSteps  = 4
)

// steps is a number of steps, held within those that there are; 0 for what is no number.
func steps(x, most float64) float64 {
	if !(x > 0) {
		return 0
	}
	return math.Round(min(most, x))
}

// Of gives the stretches of an edge.
func (t *Table) Of(e int32) []Stretch {
	if t.kept == nil {
		return t.Stretches[t.At[e]:t.At[e+1]]
	}
	out := make([]Stretch, 0, t.At[e+1]-t.At[e])
	for i := t.At[e]; i < t.At[e+1]; i++ {
		out = append(out, t.stretch(i))
	}
	return out
}

// stretch is a stretch by its number.
func (t *Table) stretch(i int32) Stretch {
	if t.kept == nil {
		return t.Stretches[i]
	}
	run, facts := t.kept.run[i], t.kept.facts[i]
	return Stretch{float32(run[0]) / shareSteps, float32(run[1]) / speedSteps, t.kept.aadt[i], Pavement(facts[0]), facts[1] != 0}
}

// WideOf is the crossings of wide roads on an edge.
func (t *Table) WideOf(e int32) Wide {
	if t.kept == nil {
		return t.Wide[e]
	}
	w := t.kept.wide[e]
	return Wide{float32(w[0]) / wideSteps, float32(w[1]) / wideSteps, float32(w[2]) / wideSteps}
}

// StretchCount is the number of stretches of all edges.
func (t *Table) StretchCount() int {
	if t.kept != nil {
		return len(t.kept.aadt)
	}
	return len(t.Stretches)
}

func (t *Table) edges() int {
	if t.kept != nil {
		return len(t.kept.wide)
	}
	return len(t.Wide)
}

// MainShare is the share of an edge's length on or beside a main road.
func (t *Table) MainShare(e int32) float64 {
	share := float32(0)
	for i := t.At[e]; i < t.At[e+1]; i++ {
		if s := t.stretch(i); s.Main {
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
	w := t.WideOf(e)
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
	if t.edges() != edges || len(t.At) != edges+1 {
		return fmt.Errorf("%w: %d crossings and %d places for %d edges", ErrTable, t.edges(), len(t.At), edges)
	}
	if t.At[0] != 0 || int(t.At[edges]) != t.StretchCount() {
		return fmt.Errorf("%w: places do not span the %d stretches", ErrTable, t.StretchCount())
	}
	for e := range edges {
		if t.At[e] > t.At[e+1] {
			return fmt.Errorf("%w: places fall at edge %d", ErrTable, e)
		}
		if w := t.WideOf(int32(e)); !(w.Begin >= 0) || !(w.Along >= 0) || !(w.End >= 0) {
			return fmt.Errorf("%w: edge %d has crossings %+v", ErrTable, e, w)
		}
	}
	for i := range t.StretchCount() {
		if s := t.stretch(int32(i)); !(s.Share >= 0 && s.Share <= 1.0001) || !(s.SpeedKMH >= 0) || !(s.AADT >= 0) || s.Pavement >= pavementCount {
			return fmt.Errorf("%w: stretch %d is %+v", ErrTable, i, s)
		}
	}
	return nil
}

// Encode writes the table as sections whose names begin with prefix.
func (t *Table) Encode(w *flatfile.Writer, prefix string) {
	k := t.kept
	if k == nil {
		k = t.keep()
	}
	flatfile.Put(w, prefix+"at", t.At)
	flatfile.Put(w, prefix+"traffic", k.aadt)
	flatfile.Put(w, prefix+"run", k.run)
	flatfile.Put(w, prefix+"pavement", k.facts)
	flatfile.Put(w, prefix+"wide", k.wide)
}

// keep makes the columns as a file has them.
func (t *Table) keep() *kept {
	n := len(t.Stretches)
	k := &kept{make([]float32, n), make([][2]uint16, n), make([][2]uint8, n), make([][3]uint8, len(t.Wide))}
	for i, s := range t.Stretches {
		k.aadt[i], k.facts[i] = s.AADT, [2]uint8{uint8(s.Pavement), 0}
		k.run[i] = [2]uint16{uint16(steps(shareSteps*float64(s.Share), shareSteps)), uint16(steps(speedSteps*float64(s.SpeedKMH), math.MaxUint16))}
		if s.Main {
			k.facts[i][1] = 1
		}
	}
	for e, x := range t.Wide {
		for i, n := range [3]float32{x.Begin, x.Along, x.End} {
			k.wide[e][i] = uint8(steps(wideSteps*float64(n), math.MaxUint8))
		}
	}
	return k
}

// Decode reads a table that Encode has written; Check it before use.
func Decode(f *flatfile.File, prefix string) (Table, error) {
	k := &kept{}
	at, err1 := flatfile.TakeSure[int32](f, prefix+"at")
	var err2, err3, err4, err5 error
	k.aadt, err2 = flatfile.TakeSure[float32](f, prefix+"traffic")
	k.run, err3 = flatfile.TakeSure[[2]uint16](f, prefix+"run")
	k.facts, err4 = flatfile.TakeSure[[2]uint8](f, prefix+"pavement")
	k.wide, err5 = flatfile.TakeSure[[3]uint8](f, prefix+"wide")
	if err := errors.Join(err1, err2, err3, err4, err5); err != nil {
		return Table{}, err
	}
	if len(k.aadt) != len(k.facts) || len(k.aadt) != len(k.run) {
		return Table{}, &flatfile.FormatError{Section: prefix + "traffic", Err: fmt.Errorf("%w: columns differ in length", flatfile.ErrDamaged)}
	}
	return Table{At: at, kept: k}, nil
}
