package setup_test

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"wideberth/exposure"
	"wideberth/osmdata/plane"
	"wideberth/routing"
	"wideberth/routing/snapshot/maptest"
	"wideberth/routing/training/setup"
)

// TestFiguresSetups measures set-ups at 60 doors and three hours.
func TestFiguresSetups(t *testing.T) {
	maptest.Figures(t)
	s := maptest.Delaware(t)
	p, err := routing.NewPlanner(s, nil)
	if err != nil {
		t.Fatal(err)
	}
	hours := []time.Time{time.Date(2026, 12, 2, 10, 0, 0, 0, p.Zone()), time.Date(2026, 12, 2, 16, 30, 0, 0, p.Zone()), time.Date(2026, 12, 6, 8, 30, 0, 0, p.Zone())}
	for _, where := range []struct {
		name  string
		doors []plane.Point
	}{{"round the city", maptest.Doors(s, 60, 4)}, {"over the state", stateDoors(s, 60)}} {
		for _, ground := range []setup.Ground{setup.Parks, setup.Green} {
			for _, at := range hours {
				var took, xs []float64
				found, apart := 0, 0
				least := 1e9
				grounds := map[plane.Point]bool{}
				for _, door := range where.doors {
					w := setup.Wish{Dog: maptest.Kessa(), Kind: exposure.DogOnLead, At: at, Ground: ground}
					begin := time.Now()
					drive, release, err := setup.ByCar(p, door, setup.UsualDriveMin)
					if err != nil {
						continue // no road within 300 m of the door
					}
					f, err := setup.Find(t.Context(), p, w, drive)
					release()
					took = append(took, float64(time.Since(begin).Microseconds())/1000)
					if err != nil {
						t.Fatal(err)
					}
					if len(f.Setups) == 0 {
						continue
					}
					found++
					b := &f.Setups[0]
					xs = append(xs, b.X)
					grounds[b.Car] = true
					if b.Apart {
						apart++
					}
					if b.Apart {
						least = min(least, b.LeastM)
					}
				}
				fmt.Printf("  set-ups %s, %s, %s: %d of %d doors (%d apart) on %d grounds, X median %.3f, least distance of ways %.1f m; p50 %.0f ms, p95 %.0f ms, most %.0f ms\n",
					where.name, ground, at.Format("Mon 15:04"), found, len(where.doors), apart, len(grounds), maptest.Quantile(xs, .5), least,
					maptest.Quantile(took, .5), maptest.Quantile(took, .95), slices.Max(took))
			}
		}
	}
}
