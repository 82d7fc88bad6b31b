package loop_test

import (
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"os"
	"strconv"
	"testing"
	"time"
	"wideberth/routing/search/loop"
)

// TestCutCorpus cuts neighbourhoods from the Delaware extract, solves them with
// CBC and writes those proved to testdata. It runs for an hour and more and only
// when WIDEBERTH_CUT says how many neighbourhoods to try.
func TestCutCorpus(t *testing.T) {
	tries, err := strconv.Atoi(os.Getenv("WIDEBERTH_CUT"))
	if err != nil {
		t.Skip("solves integer programmes for an hour: set WIDEBERTH_CUT=100 and WIDEBERTH_SLOW=1 to cut the corpus anew")
	}
	m := needDelaware(t)
	r := rand.New(rand.NewPCG(77, 1))
	names := []string{"Wilmington", "Newark", "Dover"}
	var proved []*loop.Instance
	for try := range tries {
		place := names[try%3]
		minutes := float64(14 + 2*r.IntN(12))
		p := window(m.p, minutes)
		p.Door = m.doors(place, 1, uint64(1000+try))[0]
		in, ok := loop.CutInstance(p, fmt.Sprintf("%s %d, %.0f min", place, p.Door, minutes))
		if !ok || len(in.Edges) < 100 || len(in.Edges) > 800 {
			continue
		}
		start := time.Now()
		err := in.Prove(t.TempDir(), 60*time.Second)
		t.Logf("%s: %d edges, %v after %.1f s, optimum %.6g", in.Name, len(in.Edges), err, time.Since(start).Seconds(), in.Optimum)
		if err != nil {
			continue
		}
		proved = append(proved, in)
		if err := writeCorpus(proved); err != nil {
			t.Fatal(err)
		}
	}
}

func writeCorpus(list []*loop.Instance) error {
	c := loop.Corpus{
		Source:    "Cut from the Delaware extract that github.com/paulmach/osm v0.8.0 carries, © OpenStreetMap contributors, ODbL 1.0; costs invented",
		Solver:    loop.SolverVersion(),
		Instances: list,
	}
	f, err := os.Create("testdata/optima.json")
	if err != nil {
		return err
	}
	if err := json.NewEncoder(f).Encode(c); err != nil {
		return err
	}
	return f.Close()
}
