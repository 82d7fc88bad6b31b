package replay

import (
	"math"
	"slices"

	"wideberth/osmdata/plane"
)

// House is what the rules of a kennel ask of one walk, as they are printed.
type House struct {
	People []string // who walk the dog; nil where nobody says
	With   string   // the dog that goes along
	Row    string   // of its kennel
	Apart  string   // GroundAlone, GroundLast or ""
	Begun  bool     // under way, past what anybody could change
}

// How a dog's ground is kept from others.
const (
	GroundAlone = "ground" // nobody else of the outing walks it
	GroundLast  = "last"   // others are home by then
)

// Breach is a rule of the house that a timetable breaks.
type Breach struct {
	Rule BreachOf
	Dogs [2]string // the second is "" where one dog alone breaks it
	AtS  float64   // seconds into the outing
}

// BreachOf is a rule; the list is closed.
type BreachOf string

// The rules.
const (
	BreachHands  BreachOf = "hands"  // one person has two walks at once, or too soon one after another
	BreachBeside BreachOf = "beside" // two dogs that go together do not
	BreachRow    BreachOf = "row"    // two dogs of one row pass each other's kennels
	BreachGround BreachOf = "ground" // ground that is not to be shared, or not yet
	BreachRest   BreachOf = "rest"   // a dog that rests walks
	BreachHeat   BreachOf = "heat"   // out in the hours, or for longer, than a hot day has
)

// What counts as the same ground: lines of one street lie on each other, lines that
// cross or part at a junction do so over a few metres.
const (
	sameGroundM = 0.5
	sameRunM    = 15.0
	groundStepM = 2.0
)

// house holds all walks against the rules of the house.
func (c *checker) house() {
	for a := range c.walks {
		w := &c.walks[a]
		if !w.Begun {
			c.single(w)
		}
		if w.With != "" && !slices.ContainsFunc(c.walks, func(x Walk) bool { return x.Dog == w.With && c.beside(w, &x) }) {
			c.breach(BreachBeside, w, &Walk{Dog: w.With}, w.StartS)
		}
		for b := a + 1; b < len(c.walks); b++ {
			if x := &c.walks[b]; !w.Begun && !x.Begun && !(w.With == x.Dog && c.beside(w, x)) {
				c.pair(w, x)
			}
		}
	}
}

func (c *checker) breach(rule BreachOf, w, x *Walk, atS float64) {
	b := Breach{Rule: rule, Dogs: [2]string{w.Dog}, AtS: atS}
	if x != nil {
		b.Dogs[1] = x.Dog
	}
	c.report.Breaches = append(c.report.Breaches, b)
}

// single looks at what one walk can break by itself.
func (c *checker) single(w *Walk) {
	r := c.rules
	if slices.Contains(r.Resting, w.Dog) {
		c.breach(BreachRest, w, nil, w.StartS)
	}
	_, home := c.ends(w)
	long := r.MostS > 0 && w.ProgressS[len(w.ProgressS)-1] > r.MostS
	if long || r.ShutToS > r.ShutFromS && w.StartS < r.ShutToS && home > r.ShutFromS {
		c.breach(BreachHeat, w, nil, w.StartS)
	}
}

// ends are the first and the last moment at which a walk can be home.
func (c *checker) ends(w *Walk) (first, last float64) {
	end := w.ProgressS[len(w.ProgressS)-1]
	_, first = passing(w, c.between(0), end)
	_, last = passing(w, c.between(1), end)
	return first, last
}

// beside says that two dogs are on one walk: the same people, minute, line and holds.
func (c *checker) beside(w, x *Walk) bool {
	same := slices.Equal(w.People, x.People) && w.StartS == x.StartS && len(w.Holds) == len(x.Holds) && len(w.Line) == len(x.Line)
	for i := range w.Holds {
		same = same && math.Abs(w.Holds[i].ProgressS-x.Holds[i].ProgressS) < 1 && math.Abs(w.Holds[i].NotBeforeS-x.Holds[i].NotBeforeS) < 1
	}
	for i := range w.Line {
		same = same && w.Line[i].DistanceM(x.Line[i]) < 1
	}
	return same
}

// pair looks at what two walks break together.
func (c *checker) pair(w, x *Walk) {
	r := c.rules
	if x.StartS < w.StartS {
		w, x = x, w
	}
	wFirst, wLast := c.ends(w)
	xFirst, xLast := c.ends(x)
	shared := slices.ContainsFunc(w.People, func(p string) bool { return slices.Contains(x.People, p) })
	walked := w.ProgressS[len(w.ProgressS)-1] / r.SlowShare
	if shared && r.TurnS > 0 && x.StartS < w.StartS+walked+r.TurnS {
		c.breach(BreachHands, w, x, x.StartS)
	}
	if w.Row != "" && w.Row == x.Row {
		for _, p := range [2][2]float64{{w.StartS, w.StartS + r.LateS}, {wFirst, wLast}} {
			for _, q := range [2][2]float64{{x.StartS, x.StartS + r.LateS}, {xFirst, xLast}} {
				if p[0] < q[1]+r.TurnS && q[0] < p[1]+r.TurnS {
					c.breach(BreachRow, w, x, max(p[0], q[0]))
					return
				}
			}
		}
	}
	if w.Apart == "" && x.Apart == "" {
		return
	}
	alone := w.Apart == GroundAlone || x.Apart == GroundAlone
	first := w.Apart == GroundLast && x.Apart == ""
	soon := x.Apart == GroundLast && w.Apart == "" && x.StartS < wLast
	if (alone || first || soon) && c.sharedRunM(w, x) > sameRunM {
		c.breach(BreachGround, w, x, x.StartS)
	}
}

// sharedRunM is the longest piece of a walk that lies on the line of another, off the
// ground that is everybody's.
func (c *checker) sharedRunM(w, x *Walk) (longest float64) {
	run := 0.0
	for i := 1; i < len(w.Line); i++ {
		a, b := w.Line[i-1], w.Line[i]
		n := max(1, int(math.Ceil(a.DistanceM(b)/groundStepM)))
		for k := range n {
			p := a.Add(b.Sub(a).Mul((float64(k) + 0.5) / float64(n)))
			if p.DistanceM(c.rules.Gate) <= c.rules.StemM || offM(p, x.Line) > sameGroundM {
				run = 0
				continue
			}
			run += a.DistanceM(b) / float64(n)
			longest = max(longest, run)
		}
	}
	return longest
}

// offM is how far a point lies off a line.
func offM(p plane.Point, line plane.Polyline) float64 {
	least := math.Inf(1)
	for i := 1; i < len(line); i++ {
		a, d := line[i-1], line[i].Sub(line[i-1])
		f := 0.0
		if n := d.Dot(d); n > 0 {
			f = min(1, max(0, p.Sub(a).Dot(d)/n))
		}
		least = min(least, p.DistanceM(a.Add(d.Mul(f))))
	}
	return least
}
