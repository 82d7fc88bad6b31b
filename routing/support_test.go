package routing_test

import (
	"testing"

	"wideberth/routing"
	"wideberth/routing/snapshot"
	"wideberth/routing/snapshot/maptest"
)

// planner plans on the invented town.
func planner(t testing.TB) *routing.Planner { return on(t, maptest.Town(t)) }

// on plans on a map.
func on(t testing.TB, s *snapshot.Snapshot) *routing.Planner {
	t.Helper()
	p, err := routing.NewPlanner(s, nil)
	if err != nil {
		t.Fatal(err)
	}
	return p
}
