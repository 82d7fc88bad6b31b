package routing_test

import (
	"context"
	"errors"
	"testing"
	"time"

	"wideberth/routing"
	"wideberth/routing/plantest"
	"wideberth/routing/reach"
	"wideberth/routing/snapshot/maptest"
)

// BenchmarkLoop plans thirty-minute loops from doors of a city of the state
// extract, everything included: reach, costs, search, account of the walk.
func BenchmarkLoop(b *testing.B) {
	p := plantest.On(b, maptest.Delaware(b))
	at := maptest.Doors(p.Snapshot(), 200, 1)
	w := routing.Wish{Shape: routing.Loop, Minutes: 30, Dog: maptest.Kessa(), Depart: time.Date(2026, 11, 25, 17, 0, 0, 0, p.Zone())}
	b.ReportAllocs()
	i := 0
	for b.Loop() {
		w.From = at[i%len(at)]
		i++
		var none *reach.Infeasible
		if _, err := p.Plan(context.Background(), w); err != nil && !errors.As(err, &none) {
			b.Fatal(err)
		}
	}
}
