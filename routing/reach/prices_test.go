package reach_test

import (
	"math"
	"slices"
	"testing"
	"time"

	"wideberth/exposure"
	"wideberth/exposure/hours"
	"wideberth/exposure/strain"
	"wideberth/osmdata"
	"wideberth/routing/reach"
	"wideberth/routing/snapshot/maptest"
)

// TestPricesMinuteByMinute: the stretches of the clock say at each second of a walk what
// the field says at the last look before it: on marks of ten minutes by the clock on the
// wall, and where the dark has a price at sunrise and sunset too.
func TestPricesMinuteByMinute(t *testing.T) {
	land, s := quarter(t)
	r := around(t, land, s, 190, 0)
	dog := maptest.Kessa()
	sums := r.SumsFor(&dog)
	for _, c := range []struct {
		what  string
		taste reach.Taste
		from  time.Time
	}{
		{"reactions alone, into school", reach.Taste{Strain: strain.None}, at(land, 7, 34)},
		{"usual, through sunrise", reach.Taste{Strain: strain.Usual}, at(land, 6, 57)},
		{"usual, through sunset", reach.Taste{Strain: strain.Usual}, at(land, 15, 41)},
		{"strict, over midnight", reach.Taste{Strain: strain.Strict, Soft: true, Away: true}, at(land, 23, 12)},
	} {
		const lastsS = 5400
		p := r.PriceFor(c.taste, sums, &dog, c.from, nil, lastsS)
		if len(p.Hazard) != len(p.Cost) || len(p.Strain) != len(p.Cost) || len(p.ChangeS) != len(p.Cost)-1 || len(p.Moments) != len(p.Cost) {
			t.Fatalf("%s: %d hazards, %d strains, %d costs, %d changes, %d moments", c.what, len(p.Hazard), len(p.Strain), len(p.Cost), len(p.ChangeS), len(p.Moments))
		}
		if !slices.IsSorted(p.ChangeS) || len(p.ChangeS) == 0 {
			t.Errorf("%s: it changes at %v", c.what, p.ChangeS)
		}
		rise, set, err := land.Clock.Sun(hours.DateOf(c.from), hours.Horizon)
		if err != nil {
			t.Fatal(err)
		}
		look, told := c.from, [2]int64{-1, -1}
		for sec := 0; sec < lastsS; sec += 20 {
			now := c.from.Add(time.Duration(sec) * time.Second)
			// The slow twin of the looks: whatever mark was passed last.
			if mark := now.Truncate(10 * time.Minute); mark.After(look) {
				look = mark
			}
			for _, sun := range []time.Time{rise, set} {
				if sun = sun.Truncate(time.Second).Add(time.Second); c.taste.Strain != strain.None && !sun.After(now) && sun.After(look) {
					look = sun
				}
			}
			m := land.Clock.At(look)
			i := p.StretchAt(float64(sec))
			if told == [2]int64{look.Unix(), int64(i)} {
				continue // looked at before
			}
			told = [2]int64{look.Unix(), int64(i)}
			for k, want := range sums.Hazard(m, nil, nil) {
				if p.Hazard[i][k] != want {
					t.Fatalf("%s, after %d s: hazard %g on edge %d, want %g as at %s", c.what, sec, p.Hazard[i][k], r.Edges[k], want, look.Format("15:04:05"))
				}
			}
			if c.taste.Strain == strain.None {
				continue
			}
			for k, want := range s.Field.Roadside.PerS(r.Edges, m, nil) {
				want += float32(noiseByHand(float64(s.Field.LevelDB[r.Edges[k]]), m))
				if math.Abs(float64(p.Strain[i][k]-want)) > 1e-9 {
					t.Fatalf("%s, after %d s: strain %g on edge %d, want %g as at %s", c.what, sec, p.Strain[i][k], r.Edges[k], want, look.Format("15:04:05"))
				}
			}
		}
	}
}

// TestCostOfATaste: what an arc costs is what its ground adds up to, priced by hand: with
// each taste for itself and all together.
func TestCostOfATaste(t *testing.T) {
	land, s := quarter(t)
	r := around(t, land, s, 190, 0)
	dog := maptest.Kessa()
	sums := r.SumsFor(&dog)
	for _, taste := range []reach.Taste{{Strain: strain.None}, {Strain: strain.Usual}, {Strain: strain.Strict}, {Strain: ""}, {Strain: strain.None, Soft: true}, {Strain: strain.None, Away: true}, {Strain: strain.Usual, Soft: true, Away: true}} {
		p := r.PriceFor(taste, sums, &dog, at(land, 8, 2), nil, 300)
		for a := range r.Piece {
			e, slot := r.Piece[a].Edge, r.Piece[a].Slot
			timeS := float64(r.Piece[a].LengthM) / dog.PaceMPS()
			want := timeS * float64(p.Hazard[0][slot])
			weight := map[strain.Setting]float64{strain.None: 0, "": 1, strain.Usual: 1, strain.Strict: 3}[taste.Strain]
			want += weight * timeS * float64(p.Strain[0][slot])
			want += weight * 0.05 * s.Field.Roadside.Crossings(e, r.Piece[a].FromM, r.Piece[a].ToM, s.Graph.LengthM[e])
			if taste.Soft {
				want += timeS / 60 * 0.003 * (1 - float64(s.Field.SoftShare[e]))
			}
			if taste.Away && s.Graph.Class[e] == osmdata.Service {
				want += timeS / 60 * 0.01 * (1 - float64(s.Field.SoftShare[e]))
			}
			if got := float64(p.Cost[0][a]); math.Abs(got-want) > 1e-6+1e-4*want {
				t.Fatalf("%+v: arc %d costs %g, want %g", taste, a, got, want)
			}
		}
		if crossed := slices.Max(p.Cross); math.Abs(float64(crossed)-0.025) > 1e-6 {
			t.Errorf("half of a wide road costs %g, want 0.025", crossed)
		}
	}
}

// noiseByHand is the price of a second in road noise of a level by day at a moment: none
// up to 60 dB(A), 0.03 a minute from 70 on, with 10 dB more for ten times the traffic of
// a mean hour from 7 to 19.
func noiseByHand(levelDB float64, m hours.Moment) float64 {
	cars, day := hours.ShapeOf(hours.Cars), 0.0
	for h := 7; h < 19; h++ {
		day += cars.Busy[h] / 12
	}
	return 0.03 / 60 * max(0, min(1, (levelDB+10*math.Log10(cars.At(m)/day)-60)/10))
}

// TestNoiseHasAPrice: road noise is priced whatever the wish makes of strain and
// whatever the dog minds, less at night than by day.
func TestNoiseHasAPrice(t *testing.T) {
	land, s := quarter(t)
	r := around(t, land, s, 190, 0)
	deaf, hears := maptest.Kessa(), maptest.Kessa()
	hears.ByCategory[exposure.Sounds] = exposure.Need{WorkingM: 60, ReactionM: 20}
	all := map[int]float64{}
	for _, c := range []struct {
		dog  *exposure.Dog
		set  strain.Setting
		hour int
	}{{&deaf, strain.Usual, 12}, {&deaf, strain.Strict, 12}, {&hears, strain.Usual, 12}, {&deaf, strain.Usual, 3}} {
		p := r.PriceFor(reach.Taste{Strain: c.set}, r.SumsFor(c.dog), c.dog, at(land, c.hour, 0), nil, 60)
		traffic := s.Field.Roadside.PerS(r.Edges, p.Moments[0], nil)
		more, sum := 0, 0.0
		for k, e := range r.Edges {
			over := float64(p.Strain[0][k] - traffic[k])
			if want := noiseByHand(float64(s.Field.LevelDB[e]), p.Moments[0]); math.Abs(over-want) > 1e-8 {
				t.Errorf("%s, sounds %v, %d h: %g for noise of %.1f dB(A) by day, want %g", c.set, c.dog == &hears, c.hour, over, s.Field.LevelDB[e], want)
			}
			sum += over
			if over > 0 {
				more++
			}
		}
		all[c.hour] = sum
		if c.hour == 12 && (more == 0 || more == len(r.Edges)) {
			t.Errorf("%d of %d edges are loud: too much alike", more, len(r.Edges))
		}
	}
	if all[3] >= all[12] {
		t.Errorf("%g at three at night, %g at noon", all[3], all[12])
	}
}

// TestStretchAt: the stretch that holds a second, by counting the changes before it.
func TestStretchAt(t *testing.T) {
	p := &reach.Prices{ChangeS: []float64{60, 60.5, 600}}
	for _, c := range []struct {
		atS  float64
		want int
	}{{0, 0}, {59.9, 0}, {60, 1}, {60.4, 1}, {60.5, 2}, {599, 2}, {600, 3}, {1e6, 3}, {-1, 0}} {
		if got := p.StretchAt(c.atS); got != c.want {
			t.Errorf("%g s lie in stretch %d, want %d", c.atS, got, c.want)
		}
	}
}

// TestTurnPrices: turning has its price, and a higher one exactly where a main road ends
// or begins.
func TestTurnPrices(t *testing.T) {
	land, s := quarter(t)
	r := around(t, land, s, 190, 0)
	turns := r.TurnPrices()
	if len(turns) != len(r.Home) {
		t.Fatalf("%d prices for %d vertices", len(turns), len(r.Home))
	}
	dear := 0
	for v, home := range r.Home {
		want := float32(0.02)
		for e := range int32(s.Graph.EdgeCount()) {
			a := s.Graph.EdgeArc[e]
			if main := s.Graph.Class[e] >= osmdata.Motorway && s.Graph.Class[e] <= osmdata.Tertiary; main && (s.Graph.Star.Head[a] == home || s.Graph.Star.Head[s.Graph.Star.Twin[a]] == home) {
				want = 0.1
			}
		}
		if turns[v] != want {
			t.Errorf("turning at vertex %d costs %g, want %g", v, turns[v], want)
		}
		if want > 0.05 {
			dear++
		}
	}
	if dear < 5 || dear == len(turns) {
		t.Errorf("%d of %d vertices lie on main roads: too much alike", dear, len(turns))
	}
}

// TestMedianHazard: half of the time in reach is spent at less, half at more, in the
// stretch asked for.
func TestMedianHazard(t *testing.T) {
	land := town(t)
	door, err := land.Place(maptest.Door(land.Snap.Frame))
	if err != nil {
		t.Fatal(err)
	}
	r, err := land.Around(door, nil, 1500)
	if err != nil {
		t.Fatal(err)
	}
	dog := maptest.Kessa()
	p := r.Price(r.SumsFor(&dog), &dog, at(land, 7, 25), nil, 3600)
	if len(p.Hazard) < 2 {
		t.Fatal("nothing changes within an hour of the morning")
	}
	seen := map[float64]bool{}
	for _, atS := range []float64{0, p.ChangeS[0], p.ChangeS[len(p.ChangeS)-1] + 1} {
		got := r.MedianHazard(p, atS)
		var less, more, all float64
		for a := range r.Piece {
			h, timeS := float64(p.Hazard[p.StretchAt(atS)][r.Piece[a].Slot]), float64(p.TimeS[a])
			all += timeS
			if h < got*(1-1e-5) {
				less += timeS
			}
			if h > got*(1+1e-5) {
				more += timeS
			}
		}
		if got <= 0 || less > all/2+1 || more > all/2+1 {
			t.Errorf("after %g s the median is %g: %.0f s lie below and %.0f s above of %.0f s", atS, got, less, more, all)
		}
		seen[got] = true
	}
	if len(seen) < 2 {
		t.Error("all stretches have one median")
	}
}
