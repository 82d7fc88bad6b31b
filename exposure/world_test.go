package exposure

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"wideberth/exposure/hours"
	"wideberth/exposure/strain"
	"wideberth/osmdata/plane"
)

// newYork is a clock in a zone with daylight-saving time.
func clockFor(t testing.TB) *hours.Clock {
	loc, err := time.LoadLocation("America/New_York")
	if err != nil {
		t.Fatal(err)
	}
	return &hours.Clock{Loc: loc} // without a position: no season, no light
}

// at is a moment on a Wednesday in term, unless the text says another day.
func at(t testing.TB, text string) hours.Moment {
	c := clockFor(t)
	when, err := time.ParseInLocation("2006-01-02 15:04", text, c.Loc)
	if err != nil {
		t.Fatal(err)
	}
	return c.At(when)
}

const (
	schoolMorning = "2026-11-04 08:15"
	afternoon     = "2026-11-04 15:30"
	lateEvening   = "2026-11-04 21:00"
	sunday        = "2026-11-08 10:30"
)

// emptyField is a field of n edges without flows, 10 m of room, 100 m of sight.
func emptyField(n int) *Field {
	f := &Field{Left: make([]Side, n), Right: make([]Side, n), SightFwdM: make([]float32, n), SightBackM: make([]float32, n),
		LevelDB: make([]float32, n), Place: make([]PlaceKind, n), Marks: make([]Mark, n), SoftShare: make([]float32, n), TouchAt: make([]int32, n+1), Roadside: strain.Table{At: make([]int32, n+1), Wide: make([]strain.Wide, n)}}
	for p := range PatternCount {
		f.OwnPerDay[p] = make([]float32, n)
		f.Near[p] = make([][BinCount]Bin, n)
	}
	for e := range n {
		f.Left[e], f.Right[e] = Side{LowM: 10, LeastM: 5}, Side{LowM: 4, LeastM: 2}
		f.SightFwdM[e], f.SightBackM[e] = 100, 100
	}
	return f
}

func randomRoadside(r *rand.Rand, n int) strain.Table {
	t := strain.Table{At: make([]int32, n+1), Wide: make([]strain.Wide, n)}
	for e := range n {
		for range r.IntN(3) {
			t.Stretches = append(t.Stretches, strain.Stretch{Share: r.Float32() / 2, SpeedKMH: 30 + 60*r.Float32(), AADT: 9000 * r.Float32(),
				Pavement: strain.Pavement(r.IntN(3)), Main: r.IntN(2) == 0})
		}
		t.At[e+1] = int32(len(t.Stretches))
		t.Wide[e] = strain.Wide{Begin: r.Float32() / 2, Along: 1, End: r.Float32() / 2}
	}
	return t
}

// randomField is a field with everything in it, as dense as a town.
func randomField(r *rand.Rand, n int) *Field {
	f := emptyField(n)
	daily := [PatternCount]float64{30, 60, 15, 40, 800, 40, 5}
	f.Roadside = randomRoadside(r, n)
	for e := range n {
		f.SoftShare[e] = r.Float32()
		for p := range PatternCount {
			f.OwnPerDay[p][e] = float32(daily[p] * math.Exp(r.NormFloat64()))
			for b := range BinCount {
				if r.IntN(2) == 0 {
					f.Near[p][e][b] = makeBin(b, daily[p]/3600*math.Exp(r.NormFloat64()), math.Log(binMinM)+(float64(b)+r.Float64())*binWidth)
				}
			}
		}
		f.Left[e].LowM, f.Right[e].LowM = float32(1+r.Float64()*30), float32(1+r.Float64()*30)
		f.SightFwdM[e], f.SightBackM[e] = float32(5+r.Float64()*145), float32(5+r.Float64()*145)
		f.Place[e] = PlaceKind(r.IntN(int(PlaceKindCount)))
		f.Marks[e] = Mark(r.IntN(4))
	}
	addRandomSources(r, f, n)
	return f
}

func addRandomSources(r *rand.Rand, f *Field, n int) {
	for i := range 1 + n/50 {
		rule := &sourceRules[r.IntN(len(sourceRules))]
		s := Source{OSM: "way/1", As: rule.as, Activity: rule.activity, Capacity: rule.most, AreaM2: float32(r.IntN(2)) * 8000}
		for _, m := range rule.mix {
			s.Mix = append(s.Mix, Presence{m.kind, m.share * s.Capacity, m.perDay})
		}
		if i%3 == 0 {
			s.Hours = "Mo-Fr 08:00-18:00"
		}
		f.Sources = append(f.Sources, s)
	}
	for e := range n {
		for range r.IntN(3) {
			f.Touches = append(f.Touches, Touch{Source: int32(r.IntN(len(f.Sources))), Share: r.Float32(), InSight: r.IntN(2) == 0,
				DistM: max(0, r.Float32()*120-20), DropDB: float32(r.IntN(2)) * 8})
		}
		f.TouchAt[e+1] = int32(len(f.Touches))
	}
}

// wary is a dog that reacts to everything.
func wary() *Dog {
	d := &Dog{Name: "Wary", ByCategory: map[Category]Need{}, ByKind: map[Kind]Need{}}
	for k := range KindCount {
		d.ByKind[k] = kinds[k].Default
	}
	return d
}

// onlyDogs is a dog that reacts to dogs alone.
func onlyDogs(w float64) *Dog {
	return &Dog{Name: "Fern", ByCategory: map[Category]Need{Dogs: {w, w / 2}}}
}

func square(x, y, half float64) plane.Polygon {
	return plane.Polygon{Outer: plane.Ring{{X: x - half, Y: y - half}, {X: x + half, Y: y - half}, {X: x + half, Y: y + half}, {X: x - half, Y: y + half}}}
}

// allHazards is the hazard of every edge.
func allHazards(f *Field, d *Dog, m hours.Moment) []float32 {
	return f.Sums(d, nil).Hazard(m, nil, nil)
}
