package week_test

import (
	"context"
	"fmt"
	"math/rand/v2"
	"testing"
	"time"

	"wideberth/exposure"
	"wideberth/routing/outing"
	"wideberth/routing/outing/week"
	"wideberth/routing/plantest"
	"wideberth/routing/snapshot/maptest"
)

// TestFiguresWeek holds five days that know of each other against five that do not: twelve
// dogs, four people of whom two come for half of each morning.
func TestFiguresWeek(t *testing.T) {
	maptest.Figures(t)
	p := plantest.On(t, maptest.Delaware(t))
	var known, apart []float64
	var took []float64
	for i, gate := range maptest.Doors(p.Snapshot(), 4, 41) {
		rng := rand.New(rand.NewPCG(uint64(i), 5))
		o := outing.Wish{Gate: gate, Start: time.Date(2026, 11, 23, 9, 0, 0, 0, p.Zone()), Minutes: 180}
		for d := range 12 {
			m := 20 + 10*float64(rng.IntN(5))
			o.Dogs = append(o.Dogs, outing.Dog{Minutes: []float64{20, 30, 30, 40}[rng.IntN(4)], Dog: exposure.Dog{Name: fmt.Sprint("dog ", d), ByKind: map[exposure.Kind]exposure.Need{},
				ByCategory: map[exposure.Category]exposure.Need{exposure.Dogs: {WorkingM: m, ReactionM: m / 2}}}})
		}
		for k := range 4 {
			person := outing.Person{Name: fmt.Sprint("person ", k)}
			if k > 1 {
				person.To = o.Start.Add(90 * time.Minute)
			}
			o.People = append(o.People, person)
		}
		begin := time.Now()
		w, err := week.Plan(context.Background(), p, o, 5, nil)
		if err != nil {
			t.Fatal(err)
		}
		took = append(took, time.Since(begin).Seconds())
		known = append(known, w.Fairness())
		var sum outing.Timetable
		for n := range 5 {
			day := week.On(&o, n)
			tt, err := outing.Plan(context.Background(), p, day)
			if err != nil {
				t.Fatal(err)
			}
			for k, l := range tt.Loads {
				if n == 0 {
					sum.Loads = append(sum.Loads, l)
					continue
				}
				sum.Loads[k].WalkMin += l.WalkMin
				sum.Loads[k].HoursMin += l.HoursMin
			}
		}
		apart = append(apart, sum.Fairness())
	}
	q := maptest.Quantile
	fmt.Printf("  five days of an outing, 12 dogs, 4 people: Jain's index of the week %.4f (least %.4f), of days that do not know of each other %.4f (least %.4f); %.1f s a week\n", q(known, .5), q(known, 0), q(apart, .5), q(apart, 0), q(took, .5))
}
