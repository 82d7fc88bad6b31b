package training_test

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"syscall"
	"testing"
	"time"

	"wideberth/exposure"
	"wideberth/routing"
	"wideberth/routing/parking"
	"wideberth/routing/plantest"
	"wideberth/routing/reach"
	"wideberth/routing/snapshot/maptest"
	"wideberth/routing/training"
	"wideberth/routing/training/setup"
)

// visitTimes are three hours on each of the two days after a Wednesday.
func visitTimes(zone *time.Location) (out []time.Time) {
	for day := 26; day <= 27; day++ {
		for _, hour := range []int{7, 12, 17} {
			out = append(out, time.Date(2026, 11, day, hour, 30, 0, 0, zone))
		}
	}
	return out
}

// TestFiguresVisits measures vantage places over the whole reach of 200 doors, for
// dogs and for cars, and whole sequences.
func TestFiguresVisits(t *testing.T) {
	maptest.Figures(t)
	p := plantest.On(t, maptest.Delaware(t))
	ctx := context.Background()
	dog := maptest.Kessa()
	dog.ByCategory[exposure.Traffic] = exposure.Need{WorkingM: 30, ReactionM: 10}
	at := time.Date(2026, 11, 25, 17, 0, 0, 0, p.Zone())
	for _, what := range []exposure.Category{exposure.Dogs, exposure.Traffic} {
		for _, multiple := range []float64{2, 1.25} {
			var took, places []float64
			for _, from := range maptest.Doors(p.Snapshot(), 200, 3) {
				begin := time.Now()
				s, err := training.Vantages(ctx, p, training.VantageWish{From: from, Dog: dog, Kinds: what.Kinds(), Multiple: multiple, At: at})
				took = append(took, float64(time.Since(begin).Microseconds())/1000)
				if err != nil {
					t.Fatal(err)
				}
				places = append(places, float64(len(s.Places)))
			}
			fmt.Printf("  places to watch %s from at %.2f times, 200 doors: p50 %.1f ms, p95 %.1f ms, most %.1f ms; places: median %.0f\n",
				what, multiple, maptest.Quantile(took, .5), maptest.Quantile(took, .95), slices.Max(took), maptest.Quantile(places, .5))
		}
	}
	spots := parking.Find(p.Snapshot())
	fmt.Printf("  places for a car: %d\n", len(spots))
	for _, drive := range []float64{0, 10, 20} {
		for _, limit := range []float64{0.25, 0.35, 0.5} {
			figuresOfSequences(t, p, func(w *training.Wish) { w.MaxX, w.DriveMin, w.Spots = limit, drive, spots })
		}
	}
	for _, ground := range []setup.Ground{setup.Parks, setup.Green} {
		fmt.Printf("  with a helper, on %s:\n", ground)
		figuresOfSequences(t, p, func(w *training.Wish) {
			w.MaxX, w.DriveMin, w.Spots, w.Helper = 0.25, 20, spots, &training.Helper{Kind: exposure.DogOnLead, Ground: ground}
		})
	}
}

// cpuMS is the processor time of this process in milliseconds.
func cpuMS(t *testing.T) float64 {
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		t.Fatal(err)
	}
	return float64(u.Utime.Nano()+u.Stime.Nano()) / 1e6
}

// figuresOfSequences measures sequences at 60 doors.
func figuresOfSequences(t *testing.T, p *routing.Planner, change func(*training.Wish)) {
	var took, steps, besides, sums []float64
	some, whole, none, byCar, met := 0, 0, 0, 0, 0
	w := training.Wish{Dog: maptest.Kessa(), Kinds: exposure.Dogs.Kinds(), Times: visitTimes(p.Zone())}
	change(&w)
	for _, from := range maptest.Doors(p.Snapshot(), 60, 4) {
		w.From = from
		begin := cpuMS(t)
		s, err := training.Visits(context.Background(), p, w)
		took = append(took, cpuMS(t)-begin)
		var inf *reach.Infeasible
		switch {
		case errors.As(err, &inf):
			none++
			continue
		case err != nil:
			t.Fatal(err)
		}
		if len(s.Visits) > 0 {
			some++
			steps = append(steps, float64(len(s.Visits)))
		}
		for i := range s.Visits {
			besides, sums = append(besides, s.Visits[i].BesidesX()), append(sums, s.Visits[i].X)
			if s.Visits[i].Car != nil {
				byCar++
			}
			if s.Visits[i].Meeting != nil {
				met++
			}
		}
		if s.Complete {
			whole++
		}
	}
	fmt.Printf("  sequences of visits from 60 doors, six hours, %g besides, drive %g min: %d with visits (median %.0f), %d from 2 to 1 times, %d without a start; %d of %d visits by car, %d set-ups; besides median %.2f, p90 %.2f, in all %.2f, %.2f; CPU p50 %.0f ms, p95 %.0f ms, most %.0f ms\n",
		w.MaxX, w.DriveMin, some, maptest.Quantile(steps, .5), whole, none, byCar, len(sums), met, maptest.Quantile(besides, .5), maptest.Quantile(besides, .9),
		maptest.Quantile(sums, .5), maptest.Quantile(sums, .9), maptest.Quantile(took, .5), maptest.Quantile(took, .95), slices.Max(took))
}
