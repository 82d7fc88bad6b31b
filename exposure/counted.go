package exposure

import (
	"fmt"
	"math"
	"time"

	"wideberth/exposure/hours"
	"wideberth/osmdata/fault"
)

// Count is what somebody counted at one place of a street, both directions together:
// dogs, people on foot without one, wheels (bicycles, scooters, boards) and motor
// vehicles. What is nil was not counted.
type Count struct {
	Lat, Lon                      float64 // where, in degrees, within CountWithinM of the street
	Start                         time.Time
	Minutes                       float64
	Dogs, People, Wheels, Traffic *float64
}

// CountWithinM is how far in metres from a street a count may lie.
const CountWithinM = 25

// Bounds of a count. The most an hour is what a wide shopping street or a road of six
// lanes carries at its busiest (common practice).
const (
	leastCountMinutes = 1
	mostCountMinutes  = 24 * 60
	mostCountPerHour  = 20_000
	earliestCount     = 1990
)

// Of is what was counted of a category; false where it was not counted.
func (c *Count) Of(of Category) (n float64, ok bool) {
	if of >= Sounds {
		return 0, false
	}
	p := [Sounds]*float64{c.Dogs, c.People, c.Wheels, c.Traffic}[of]
	if p == nil {
		return 0, false
	}
	return *p, true
}

// Set notes what was counted of a category.
func (c *Count) Set(of Category, n float64) {
	*[Sounds]**float64{&c.Dogs, &c.People, &c.Wheels, &c.Traffic}[of] = &n
}

// End is when it ended.
func (c *Count) End() time.Time { return c.Start.Add(time.Duration(c.Minutes * float64(time.Minute))) }

// Check names every number that cannot be, as of now; pointers are field names.
func (c *Count) Check(now time.Time) (wrong fault.Problems) {
	bad := func(field, value, mend string) {
		wrong = append(wrong, fault.Problem{Pointer: "/" + field, Value: value, Mend: mend})
	}
	if !(math.Abs(c.Lat) <= 90) {
		bad("lat", fault.Number(c.Lat), "give degrees from -90 to 90")
	}
	if !(math.Abs(c.Lon) <= 180) {
		bad("lon", fault.Number(c.Lon), "give degrees from -180 to 180")
	}
	if !(c.Minutes >= leastCountMinutes && c.Minutes <= mostCountMinutes) {
		bad("minutes", fault.Number(c.Minutes), fmt.Sprintf("give %d to %d minutes", leastCountMinutes, mostCountMinutes))
	} else if c.End().After(now) {
		bad("start", c.Start.Format(time.RFC3339), "ends in the future: give when it was counted")
	}
	if c.Start.Year() < earliestCount {
		bad("start", c.Start.Format(time.RFC3339), fmt.Sprintf("give a time since %d", earliestCount))
	}
	some := false
	for of := range Sounds {
		n, ok := c.Of(of)
		some = some || ok
		if most := mostCountPerHour * max(c.Minutes, leastCountMinutes) / 60; ok && !(n >= 0 && n <= most) {
			bad(of.String(), fault.Number(n), fmt.Sprintf("give 0 to %.0f for so many minutes", most))
		}
	}
	if !some {
		bad("people", "", "nothing was counted: give dogs, people, wheels or traffic")
	}
	return wrong
}

// countStep is in what steps the hours of a count are added up.
const countStep = 10 * time.Minute

// Expected is how many of a category the field predicts to pass at a count's place in
// its time: edges are those that were watched.
func (f *Field) Expected(edges []int32, of Category, c *Count, clock *hours.Clock) float64 {
	sum, length := 0.0, c.End().Sub(c.Start)
	n := int(max(1, math.Ceil(float64(length)/float64(countStep))))
	step := length / time.Duration(n)
	for i := range n {
		at := c.Start.Add(time.Duration(i)*step + step/2)
		sum += f.moversPerS(edges, of, tempoAt(clock.At(at))) * step.Seconds()
	}
	return sum
}

// moversPerS is how many of a category pass fixed points of edges a second, each
// counted by itself.
func (f *Field) moversPerS(edges []int32, of Category, t *tempo) (sum float64) {
	for p := range PatternCount {
		if p.Counted() != of {
			continue
		}
		each := 1.0
		if p == WheelTrips {
			boards := f.Boards
			if boards == 0 {
				boards = boardsUsual
			}
			each = BicyclesAmongWheels * float64(1+boards)
		}
		for _, e := range edges {
			sum += each * f.PerDay(p, e) * t.flow(p) / 3600 * t.here(Adult, p, f.Place[e], f.Marks[e]&Visitors != 0)
		}
	}
	return sum
}

// CountDoubt is the Gamma shape of the doubt about a category before it is counted, as
// its commonest kind has it.
func CountDoubt(of Category) float64 {
	return defaultShape([Sounds]Kind{DogOnLead, Adult, Bicycle, Car}[of], FromHomes)
}

// FirmShape is the Gamma shape from which on levels count as counted.
const FirmShape = countedShape
