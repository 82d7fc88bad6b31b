// Package plantest has planners for tests.
package plantest

import (
	"testing"

	"wideberth/routing"
	"wideberth/routing/snapshot"
	"wideberth/routing/snapshot/maptest"
)

// Town plans on the invented town.
func Town(t testing.TB) *routing.Planner { return On(t, maptest.Town(t)) }

// On plans on a map.
func On(t testing.TB, s *snapshot.Snapshot) *routing.Planner {
	t.Helper()
	p, err := routing.NewPlanner(s, nil)
	if err != nil {
		t.Fatal(err)
	}
	return p
}
