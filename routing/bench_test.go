package routing_test

import (
	"context"
	"errors"
	"testing"
	"time"

	"wideberth/routing"
)

// BenchmarkLoop plans thirty-minute loops from doors of a city of the state
// extract, everything included: reach, costs, search, account of the walk.
func BenchmarkLoop(b *testing.B) {
	p := delaware(b)
	at := doors(p, 200, 1)
	w := routing.Wish{Shape: routing.Loop, Minutes: 30, Dog: kessa(), Depart: time.Date(2026, 11, 25, 17, 0, 0, 0, p.Zone())}
	b.ReportAllocs()
	i := 0
	for b.Loop() {
		w.From = at[i%len(at)]
		i++
		var none *routing.Infeasible
		if _, err := p.Plan(context.Background(), w); err != nil && !errors.As(err, &none) {
			b.Fatal(err)
		}
	}
}
