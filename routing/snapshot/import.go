package snapshot

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"

	"wideberth/exposure"
	"wideberth/exposure/hours"
	"wideberth/exposure/strain"
	"wideberth/osmdata"
	"wideberth/osmdata/elevation"
	"wideberth/osmdata/fault"
	"wideberth/osmdata/parallel"
	"wideberth/osmdata/plane"
	"wideberth/routing/drive"
	"wideberth/routing/network"
	"wideberth/routing/survey"
	"wideberth/routing/yard"
)

// ErrUnsound says that a snapshot breaks its own invariants.
var ErrUnsound = errors.New("the snapshot is not sound")

// ImportOptions say how to make a snapshot; the zero value finds everything out.
type ImportOptions struct {
	TimeZone string                            // IANA name, "" to find it from the place
	Country  string                            // ISO 3166-1 code for default access and habits; "" for the general rules, and the habits of the country that the map or its time zone names
	Tool     string                            // version of the program
	Heights  string                            // folder of .hgt tiles, "" to take all ground as level
	Progress func(stage string, share float64) // share of the whole, 0 to 1; may be nil

	Counts     []exposure.Count                                 // what was counted on the ground
	CheckCount func(*network.Graph, plane.Frame) fault.Problems // what is wrong with them on this map; may be nil

	// Of a tile of a map: what all tiles told of the whole, and which places are the tile's
	// own. Only edges whose first node lies in the core get rows that are good for anything.
	Whole *survey.Whole
	Core  func(lonDeg, latDeg float64) bool
}

// Shares of an import's time, measured on a state-sized extract, for telling the
// truth about progress.
const (
	readShare    = 0.06
	networkShare = 0.04
)

// Import makes a snapshot of the map extract at a path.
func Import(ctx context.Context, path string, o ImportOptions) (*Snapshot, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, fmt.Errorf("import: %w", err)
	}
	defer f.Close()
	return ImportFrom(ctx, f, path, o)
}

// Rules are what an import asks a map for.
func Rules() []osmdata.Rule { return append(exposure.Rules(), coverRules...) }

// ImportFrom makes a snapshot of a map extract that need not be a file. The name of a map
// without named places is made from path.
func ImportFrom(ctx context.Context, r io.ReadSeeker, path string, o ImportOptions) (*Snapshot, error) {
	tell := func(stage string, share float64) {
		if o.Progress != nil {
			o.Progress(stage, share)
		}
	}
	reading := o.Reading()
	reading.Progress = func(p osmdata.Progress) { tell(p.Stage, readShare*float64(p.Done)/float64(max(1, p.Total))) }
	x, err := reading.Read(ctx, r)
	if err != nil {
		return nil, fmt.Errorf("import: %w", err)
	}
	tell("building the network", readShare)
	m, err := newMaker(ctx, x, path, o)
	if err != nil {
		return nil, err
	}
	begun := readShare + networkShare
	field, err := m.survey(ctx, x, m.g, o.Whole, o.Core, func(stage string, share float64) {
		tell(stage, begun+(1-begun)*share)
	})
	if err != nil {
		return nil, err
	}
	return m.finish(ctx, field)
}

// Reading says how the extract of an import is read.
func (o *ImportOptions) Reading() osmdata.Options {
	return osmdata.Options{Rules: Rules(), Country: o.Country}
}

// maker makes a snapshot of an extract, but for its field.
type maker struct {
	x       *osmdata.Extract
	path    string
	o       ImportOptions
	g       *network.Graph
	zone    string
	country string
	from    Known
	roads   *drive.Network
	ground  *GroundPlan
	heights *elevation.Model                     // nil: none were given
	yard    func(plane.Point) (*yard.Yard, bool) // of an update: those that stay as they are; may be nil
}

// newMaker finds out where on earth an extract is and makes of it what knows nothing of
// who walks there: its networks and what is drawn, side by side.
func newMaker(ctx context.Context, x *osmdata.Extract, path string, o ImportOptions) (*maker, error) {
	m := &maker{x: x, path: path, o: o}
	var err error
	if m.zone, err = zoneOf(x, o.TimeZone); err != nil {
		return nil, err
	}
	m.country, m.from = countryOf(x, o.Country, m.zone)
	if o.Country == "" && o.Whole != nil && o.Whole.Country != "" {
		m.country, m.from = o.Whole.Country, ByBorder
	}
	if o.Heights != "" {
		if m.heights, err = elevation.Open(o.Heights); err != nil {
			return nil, err
		}
	}
	err = besides(ctx, func() (err error) {
		m.g, _, err = network.Build(x.Streets, x.Barred, network.Options{Frame: x.Frame})
		return err
	}, func() (err error) {
		m.roads, err = drive.New(x.Streets, x.CarsEnd, x.TurnBans, m.region())
		return err
	}, func() error {
		m.ground = newGroundPlan(x)
		return nil
	})
	if err != nil {
		return nil, fmt.Errorf("import %s: %w", path, err)
	}
	if o.CheckCount != nil {
		if wrong := o.CheckCount(m.g, x.Frame); len(wrong) > 0 {
			return nil, wrong
		}
	}
	return m, nil
}

// besides does several things beside each other; the first error is given.
func besides(ctx context.Context, do ...func() error) error {
	return parallel.For(ctx, len(do), func(i int) error { return do[i]() })
}

// region is whose usual speeds hold.
func (m *maker) region() strain.Region { return strain.RegionOf(m.country, m.zone) }

// survey surveys an extract, or a part of one with the network of that part: then of the
// whole, whole is known, and those edges count that begin in the core.
func (m *maker) survey(ctx context.Context, x *osmdata.Extract, g *network.Graph, whole *survey.Whole, core func(lonDeg, latDeg float64) bool, progress func(string, float64)) (*exposure.Field, error) {
	field, err := survey.Survey(ctx, x, g, survey.Options{Region: m.region(), Country: m.country, Heights: m.heights, Progress: progress, Whole: whole, Core: core})
	if err != nil {
		return nil, fmt.Errorf("import %s: %w", m.path, err)
	}
	return field, nil
}

// finish makes the snapshot with its field.
func (m *maker) finish(ctx context.Context, field *exposure.Field) (*Snapshot, error) {
	x, g := m.x, m.g
	s := &Snapshot{Frame: x.Frame, Graph: g, Field: field, Ground: m.ground, Roads: m.roads, Counts: m.o.Counts, About: About{
		Name: extractName(x, m.path), Network: g.Fingerprint(), Zone: m.zone, Country: m.country, CountryFrom: m.from, MapTime: x.Timestamp, Tool: m.o.Tool, Licence: Licence,
		Bounds: bounds(g), Odd: map[string]int{}, Census: field.Census,
	}}
	err := besides(ctx, func() (err error) {
		s.Yards, err = s.Ground.yards(ctx, g, field, m.yard)
		return err
	}, func() (err error) {
		s.Names, err = newGazetteer(x, s.Ground, g, m.country)
		return err
	}, func() (err error) {
		if m.heights != nil {
			s.Slopes, err = newSlopes(g, x.Frame, m.heights)
		}
		return err
	})
	if err != nil {
		return nil, fmt.Errorf("import %s: %w", m.path, err)
	}
	for kind, odd := range x.Report.Odd {
		s.Odd[kind] = odd.Count
	}
	return s, nil
}

// countryOf is the country whose habits hold, and where it is known from: as it was
// named, else by the boundaries on the map if they are of one country, else by most of
// its addresses and settlements, else by the time zone.
func countryOf(x *osmdata.Extract, named, zone string) (code string, from Known) {
	for _, c := range []struct {
		code string
		from Known
	}{{hours.Country(named), ByName}, {x.Borders.Alone(), ByBorder}, {x.Countries.Most(), ByAddresses}, {hours.CountryOf(zone), ByZone}} {
		if c.code != "" {
			return c.code, c.from
		}
	}
	return "", ""
}

func zoneOf(x *osmdata.Extract, asked string) (string, error) {
	if asked == "" {
		zone, err := hours.Zone(x.Frame.Lat0, x.Frame.Lon0)
		if err != nil {
			return "", fmt.Errorf("find the time zone: %w", err)
		}
		return zone.String(), nil
	}
	if _, err := time.LoadLocation(asked); err != nil {
		return "", fault.Problems{{Pointer: "--time-zone", Value: asked, Mend: "use an IANA name like America/New_York"}}
	}
	return asked, nil
}

// bounds is the box of the walkable network.
func bounds(g *network.Graph) plane.Box {
	b := plane.EmptyBox()
	for _, p := range g.Line {
		b = b.With(p)
	}
	return b
}

// Ranks of places for naming an extract.
var placeRank = map[string]int{"state": 6, "city": 5, "town": 4, "village": 3, "suburb": 2, "hamlet": 1}

// extractName is the name of the largest place of an extract, or the file's.
func extractName(x *osmdata.Extract, path string) string {
	best := osmdata.Feature{}
	for _, f := range x.Places {
		if f.Name != "" && cmp.Compare(placeRank[f.Tags["place"]], placeRank[best.Tags["place"]]) > 0 {
			best = f
		}
	}
	base := filepath.Base(path)
	name, _, _ := strings.Cut(base, ".")
	name = strings.TrimSuffix(name, "-latest")
	if best.Name == "" {
		return name
	}
	if strings.EqualFold(name, "town") {
		return best.Name
	}
	return name + " (" + best.Name + ")"
}
