package wire

import (
	"crypto/sha256"
	"encoding/base64"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"math"
	"time"

	"wideberth/api/wire/dogfile"
	"wideberth/osmdata/fault"
	"wideberth/osmdata/plane"
	"wideberth/routing"
	"wideberth/routing/reach"
)

// Given is a plan without what it brings: its address. Sent back in place of the
// wish it is told, drawn, printed or proved as it stands, without another search.
type Given struct {
	ID    string      `json:"id" doc:"Made of the rest: the same plan has the same." example:"pQ3xR9vTz0aW"`
	Map   string      `json:"map" doc:"Fingerprint of the network that the courses belong to."`
	Wish  WishBody    `json:"wish" doc:"As it was understood, with its departure fixed."`
	Walks []GivenWalk `json:"walks" minItems:"1" maxItems:"8" doc:"Best first."`
}

// GivenWalk is the ground of one walk and what the search said of it.
type GivenWalk struct {
	Shape     string  `json:"shape" enum:"loop,there_and_back,way,longest_calm"`
	Laps      int     `json:"laps,omitempty" minimum:"0" maximum:"100"`
	Course    string  `json:"course" maxLength:"60000" doc:"Directed edges of the network, as the server wrote them."`
	Line      string  `json:"line,omitempty" maxLength:"60000" doc:"The same ground in degrees, as the server wrote it: the walk is matched by it where the map was changed."`
	Proved    bool    `json:"proved,omitempty"`
	WithinPct float64 `json:"within_percent,omitempty"`
	LowerX    float64 `json:"lower,omitempty" doc:"Bound that the search proved on what it minimises."`
	Sum       float64 `json:"sum,omitempty" doc:"What it minimised."`
	CeilingS  float64 `json:"ceiling_s,omitempty"`
	Checking  bool    `json:"checking,omitempty" doc:"A longer proof can be asked for."`
}

// Shown says which walks an answer is about: those of a wish, which are searched
// for; those of a plan as it was given; or those of a kept plan. One of the three.
type Shown struct {
	Wish  *WishBody `json:"wish,omitempty"`
	Given *Given    `json:"given,omitempty"`
	Plan  string    `json:"plan,omitempty" maxLength:"80" doc:"Id of a kept plan."`
	Leave string    `json:"leave,omitempty" doc:"With given: the same walks told as begun at another hour, RFC 3339." example:"2026-11-25T23:10:00-05:00"`
}

// Address names a plan of a plan in a few letters: of everything in it but itself.
func (g *Given) Address() string {
	bare := *g
	bare.ID = ""
	text, err := json.Marshal(bare)
	if err != nil {
		return "" // numbers that JSON cannot write belong to no plan
	}
	sum := sha256.Sum256(text)
	return base64.RawURLEncoding.EncodeToString(sum[:12])
}

// PlanBody is a plan with its address.
type PlanBody struct {
	Plan
	Given *Given `json:"given,omitempty" doc:"The plan's address: send it back to have these walks drawn, printed, proved or told again."`
}

// NewGiven is the address of a plan on land that answers the wish sent. The departure
// is in it to the last digit, so that telling it again tells the same.
func NewGiven(p *routing.Plan, land *reach.Land, sent WishBody) *Given {
	g := &Given{Map: land.Snap.Network, Wish: sent}
	g.Wish.Depart, g.Wish.Shape = p.Depart.Format(time.RFC3339Nano), string(sent.shape())
	if g.Wish.DogID == "" && g.Wish.Dog.Needs == nil {
		g.Wish.Dog.Needs = map[string]*dogfile.Need{} // said so: the stated defaults
	}
	for i := range p.Walks {
		w := p.Walks[i].Given()
		g.Walks = append(g.Walks, GivenWalk{Shape: string(w.Shape), Laps: w.Laps, Course: land.MarshalCourse(w.Course), Line: writeLine(p.Walks[i].Line, land.Snap.Frame), Proved: w.Quality.Proved,
			WithinPct: w.Quality.WithinPct, LowerX: w.Quality.LowerX, Sum: w.Quality.Sum, Checking: w.Quality.Checking, CeilingS: w.CeilingS})
	}
	g.ID = g.Address()
	return g
}

// Decode gives the walks of an address on the land that it belongs to. Faults are
// fault.Problems.
func (g *Given) Decode(land *reach.Land) ([]routing.Given, error) {
	list := make([]routing.Given, len(g.Walks))
	for i, w := range g.Walks {
		c, err := land.UnmarshalCourse(w.Course)
		if err != nil {
			return nil, fault.One(fmt.Sprintf("/walks/%d/course", i), "", err.Error()+": plan anew")
		}
		list[i] = routing.Given{Shape: routing.Shape(w.Shape), Laps: w.Laps, Course: c, CeilingS: w.CeilingS,
			Quality: routing.Quality{Proved: w.Proved, WithinPct: w.WithinPct, LowerX: w.LowerX, Sum: w.Sum, Checking: w.Checking}}
	}
	return list, nil
}

// StartOf is where a plan as it was answered begins, in degrees: at its wish's door, else
// where its first walk does. It says nothing of what is no plan.
func StartOf(plan json.RawMessage) (at LatLon, ok bool) {
	var body struct {
		Given struct {
			Wish struct {
				From *LatLon `json:"from"`
			} `json:"wish"`
		} `json:"given"`
		Walks []struct {
			Legs []struct {
				Geometry LineString `json:"geometry"`
			} `json:"legs"`
		} `json:"walks"`
	}
	if err := json.Unmarshal(plan, &body); err != nil {
		return at, false
	}
	if from := body.Given.Wish.From; from != nil {
		return *from, true
	}
	for _, walk := range body.Walks {
		for _, leg := range walk.Legs {
			for _, c := range leg.Geometry.Coordinates {
				return LatLon{Lat: c[1], Lon: c[0]}, true
			}
		}
	}
	return at, false
}

// lineScale is how finely a line is written: steps of a degree, of 0.1 m.
const lineScale = 1e6

// writeLine writes a line in a few bytes a corner: longitude and latitude in steps from
// the corner before, as variable-length numbers (Protocol Buffers' varints) in unpadded
// base64url (RFC 4648).
func writeLine(line plane.Polyline, f plane.Frame) string {
	var b []byte
	var last [2]int64
	for _, p := range line {
		lon, lat := f.Inverse(p)
		for i, x := range [2]float64{lon, lat} {
			at := int64(math.Round(x * lineScale))
			b = binary.AppendVarint(b, at-last[i])
			last[i] = at
		}
	}
	return base64.RawURLEncoding.EncodeToString(b)
}

// readLine reads what writeLine wrote; false where that is no line, or one longer than any
// walk.
func readLine(text string, f plane.Frame) (line plane.Polyline, ok bool) {
	b, err := base64.RawURLEncoding.DecodeString(text)
	if err != nil {
		return nil, false
	}
	var at [2]int64
	for k := 0; len(b) > 0; k++ {
		step, n := binary.Varint(b)
		if n <= 0 {
			return nil, false
		}
		b = b[n:]
		at[k%2] += step
		if k%2 == 0 {
			continue
		}
		lon, lat := float64(at[0])/lineScale, float64(at[1])/lineScale
		if !(math.Abs(lon) <= 180 && math.Abs(lat) <= 90) {
			return nil, false
		}
		line = append(line, f.Forward(lon, lat))
	}
	return line, len(line) >= 2 && line.LengthM() <= mostLineM
}

// Lines are the walks of an address as lines of frame f; false where one has none that can
// be read.
func (g *Given) Lines(f plane.Frame) ([]plane.Polyline, bool) {
	out := make([]plane.Polyline, len(g.Walks))
	for i := range g.Walks {
		line, ok := readLine(g.Walks[i].Line, f)
		if !ok {
			return nil, false
		}
		out[i] = line
	}
	return out, true
}

// mostLineM bounds the work of matching a line; three hours on foot are 14 km.
const mostLineM = 30_000
