package snapshot

import (
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"wideberth/exposure"
	"wideberth/osmdata/flatfile"
	"wideberth/osmdata/plane"
	"wideberth/routing/drive"
	"wideberth/routing/gazetteer"
	"wideberth/routing/network"
	"wideberth/routing/yard"
)

// Snapshot is everything made from one map extract: what planning needs, and
// nothing that depends on a dog or an hour. Immutable; may be shared between
// goroutines.
//
// One that was opened lies in its file, of which it holds in memory what is asked for:
// nobody may change or cut the file meanwhile, and nobody may look at the snapshot, at
// a planner or at a slice of either once it was closed.
type Snapshot struct {
	About
	Frame plane.Frame

	Graph  *network.Graph
	Field  *exposure.Field
	Ground *GroundPlan
	Slopes *Slopes        // nil: no heights were given
	Roads  *drive.Network // that cars use; empty where there are none
	Names  *gazetteer.Gazetteer

	Counts []exposure.Count // what was counted on the ground; the flows of Field are as predicted without

	Yards []yard.Yard // open ground round places where a car is left

	file *flatfile.File // that it lies in; nil for one that was made
}

// About says where a snapshot comes from.
type About struct {
	Name        string    // what the extract shows: its largest named place
	Zone        string    // IANA name of the time zone
	Country     string    // ISO 3166-1 code, "" if not known
	CountryFrom Known     // where that is from
	Network     string    // fingerprint of the network: edge numbers mean the same where it is the same
	MapTime     time.Time // of the extract, zero if it does not say
	Tool        string    // version of the program that wrote it
	Licence     string
	Bounds      plane.Box
	Odd         map[string]int // oddities of the data, by kind
	Census      map[string]float64
}

// Known says where something about a map is known from.
type Known string

// Where a country can be known from.
const (
	ByName      Known = "name"      // whoever imported named it
	ByBorder    Known = "border"    // boundaries of countries and their parts on the map
	ByAddresses Known = "addresses" // most of the map's addresses and settlements
	ByZone      Known = "zone"      // the time zone
)

// Licence is the line that travels with everything made from the map.
const Licence = "Map data © OpenStreetMap contributors, Open Database Licence 1.0"

// snapshotVersion is raised whenever a section changes its meaning or layout;
// older files are refused, as importing again is cheap.
const snapshotVersion = 17

// Version is that of the files that this program writes and reads.
const Version = snapshotVersion

var snapshotMagic = [8]byte{'W', 'I', 'D', 'E', 'B', 'R', 'T', 'H'}

// WriteFile writes the snapshot under a temporary name and renames it, so that
// the path holds the whole of it or what was there before.
func (s *Snapshot) WriteFile(path string) error {
	w, err := flatfile.Create(path, snapshotMagic, snapshotVersion)
	if err != nil {
		return fmt.Errorf("write snapshot: %w", err)
	}
	about, err := json.Marshal(s.About)
	if err != nil {
		return fmt.Errorf("write snapshot: %w", errors.Join(err, w.Abort()))
	}
	counts, err := json.Marshal(s.Counts)
	if err != nil {
		return fmt.Errorf("write snapshot: %w", errors.Join(err, w.Abort()))
	}
	flatfile.Put(w, "about", about)
	flatfile.Put(w, "counts", counts)
	flatfile.Put(w, "frame", []float64{s.Frame.Lon0, s.Frame.Lat0})
	s.Graph.Encode(w, "network")
	s.Field.Encode(w, "field")
	s.Ground.encode(w)
	s.Slopes.encode(w)
	s.Roads.Encode(w, "road.")
	encodeYards(w, s.Yards)
	s.Names.Encode(w, namesPrefix)
	if err := w.Close(); err != nil {
		return fmt.Errorf("write snapshot: %w", err)
	}
	return nil
}

// Open opens a snapshot: it reads the head of its file and checks whatever points at
// something; the rest is read where it is looked at. Verify checks all of it. Errors wrap
// those of package flatfile. Close it once nobody uses it any more.
func Open(path string) (*Snapshot, error) {
	f, err := flatfile.Open(path, snapshotMagic, snapshotVersion)
	if err != nil {
		return nil, fmt.Errorf("open snapshot: %w", err)
	}
	s, err := decodeSnapshot(f)
	if err != nil {
		return nil, fmt.Errorf("open snapshot %s: %w", path, errors.Join(err, f.Close()))
	}
	s.file = f
	f.Rest()
	return s, nil
}

// Close gives back what an opened snapshot holds of its file. Whoever looks at it, or at
// anything that was taken from it, afterwards ends the program: close it when nobody can.
// Texts and plans that it led to stay, they are copies.
func (s *Snapshot) Close() error {
	if s.file == nil {
		return nil
	}
	f := s.file
	s.file = nil
	return f.Close()
}

// Verify reads all of an opened snapshot's file and gives every section that is not as it
// was written.
func (s *Snapshot) Verify() []error {
	if s.file == nil {
		return nil
	}
	return s.file.Verify()
}

// ReadAbout reads what a snapshot says of itself, and the frame of its bounds, and nothing
// else. Errors wrap those of package flatfile.
func ReadAbout(path string) (about About, frame plane.Frame, err error) {
	f, err := flatfile.Open(path, snapshotMagic, snapshotVersion)
	if err != nil {
		return about, frame, fmt.Errorf("open snapshot: %w", err)
	}
	about, frame, err = decodeAbout(f)
	if err = errors.Join(err, f.Close()); err != nil {
		return About{}, frame, fmt.Errorf("open snapshot %s: %w", path, err)
	}
	return about, frame, nil
}

// ReadWords reads the words of a snapshot's names, and nothing else. Errors wrap those of
// package flatfile.
func ReadWords(path string) (*gazetteer.Words, error) {
	f, err := flatfile.Open(path, snapshotMagic, snapshotVersion)
	if err != nil {
		return nil, fmt.Errorf("open snapshot: %w", err)
	}
	words, err := gazetteer.DecodeWords(f, namesPrefix)
	if err = errors.Join(err, f.Close()); err != nil {
		return nil, fmt.Errorf("open snapshot %s: %w", path, err)
	}
	return words, nil
}

// namesPrefix is what the sections of names begin with.
const namesPrefix = "name."

// ExcerptWords makes at path what ReadWords reads of a snapshot of size bytes that lies
// elsewhere, of which read gives a range: a hundredth of it is read, or less. Errors wrap
// those of package flatfile, and read's.
func ExcerptWords(path string, size int64, read func(at, length int64) ([]byte, error)) error {
	if err := flatfile.Excerpt(path, size, snapshotMagic, snapshotVersion, read, gazetteer.WordsSection(namesPrefix)); err != nil {
		return fmt.Errorf("read the words of a snapshot's names: %w", err)
	}
	return nil
}

func decodeAbout(f *flatfile.File) (about About, frame plane.Frame, err error) {
	text, err := flatfile.TakeSure[byte](f, "about")
	if err != nil {
		return about, frame, err
	}
	at, err := flatfile.TakeSure[float64](f, "frame")
	if err != nil {
		return about, frame, err
	}
	if len(at) != 2 {
		return about, frame, fmt.Errorf("%w: frame of %d numbers", flatfile.ErrDamaged, len(at))
	}
	if err := json.Unmarshal(text, &about); err != nil {
		return about, frame, fmt.Errorf("%w: about: %w", flatfile.ErrDamaged, err)
	}
	return about, plane.NewFrame(at[0], at[1]), nil
}

func decodeSnapshot(f *flatfile.File) (*Snapshot, error) {
	about, frame, err := decodeAbout(f)
	if err != nil {
		return nil, err
	}
	s := &Snapshot{About: about, Frame: frame}
	counts, err := flatfile.TakeSure[byte](f, "counts")
	if err != nil {
		return nil, err
	}
	if err := json.Unmarshal(counts, &s.Counts); err != nil {
		return nil, fmt.Errorf("%w: counts: %w", flatfile.ErrDamaged, err)
	}
	if s.Graph, err = network.Decode(f, "network"); err != nil {
		return nil, err
	}
	if s.Field, err = exposure.Decode(f, "field"); err != nil {
		return nil, err
	}
	if s.Ground, err = decodeGround(f); err != nil {
		return nil, err
	}
	if s.Roads, err = drive.Decode(f, "road."); err != nil {
		return nil, err
	}
	if s.Slopes, err = decodeSlopes(f, s.Graph.EdgeCount()); err != nil {
		return nil, err
	}
	if s.Yards, err = decodeYards(f); err != nil {
		return nil, err
	}
	s.Names, err = gazetteer.Decode(f, namesPrefix, s.Country, s.Graph, s.Ground.Addresses)
	return s, err
}

func encodeYards(w *flatfile.Writer, yards []yard.Yard) {
	cars := make([]plane.Point, 0, len(yards))
	cells := make([]uint8, 0, yard.Size*len(yards))
	for i := range yards {
		cars, cells = append(cars, yards[i].Car), append(cells, yards[i].Cells[:]...)
	}
	flatfile.Put(w, "yard.car", cars)
	flatfile.Put(w, "yard.cells", cells)
}

func decodeYards(f *flatfile.File) ([]yard.Yard, error) {
	cars, err := flatfile.TakeSure[plane.Point](f, "yard.car")
	if err != nil {
		return nil, err
	}
	cells, err := flatfile.TakeSure[uint8](f, "yard.cells")
	if err != nil {
		return nil, err
	}
	if len(cells) != yard.Size*len(cars) {
		return nil, fmt.Errorf("%w: %d bytes of cells for %d yards", flatfile.ErrDamaged, len(cells), len(cars))
	}
	out := make([]yard.Yard, len(cars))
	for i := range out {
		out[i].Car = cars[i]
		copy(out[i].Cells[:], cells[yard.Size*i:])
	}
	return out, nil
}

// Check walks the invariants of the whole snapshot and gives every breach.
func (s *Snapshot) Check() (breaches []error) {
	if err := s.Graph.Check(); err != nil {
		breaches = append(breaches, err)
	}
	if err := s.Field.Check(); err != nil {
		breaches = append(breaches, err)
	}
	if err := s.Roads.Check(); err != nil {
		breaches = append(breaches, err)
	}
	if err := s.Slopes.check(); err != nil {
		breaches = append(breaches, err)
	}
	if n, m := s.Graph.EdgeCount(), s.Field.EdgeCount(); n != m {
		breaches = append(breaches, fmt.Errorf("the network has %d edges, the field %d", n, m))
	}
	if _, err := time.LoadLocation(s.Zone); err != nil {
		breaches = append(breaches, fmt.Errorf("time zone: %w", err))
	}
	return breaches
}
