package snapshot

import (
	"errors"
	"fmt"
	"math"

	"wideberth/osmdata/elevation"
	"wideberth/osmdata/flatfile"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
)

// Slopes say how much longer than on level ground each edge takes. Nil where no
// heights were given: then all ground is taken as level, and answers say so.
type Slopes struct {
	Along    []float32 // by edge: time factor walked with the geometry
	Against  []float32 // and against it
	Steepest []float32 // by edge: the largest slope, rise over run
}

// slopeStepM is the run over which a slope is taken: about a cell of the height
// models, shorter runs measure their noise.
const slopeStepM = 30

// newSlopes measures the edges of a network on a height model. Where the model has
// no height the ground is taken as level.
func newSlopes(g *network.Graph, f plane.Frame, m *elevation.Model) (*Slopes, error) {
	n := g.EdgeCount()
	s := &Slopes{make([]float32, n), make([]float32, n), make([]float32, n)}
	for e := range int32(n) {
		if err := s.measure(e, g.EdgeLine(e), f, m); err != nil {
			return nil, err
		}
	}
	return s, nil
}

func (s *Slopes) measure(e int32, line plane.Polyline, f plane.Frame, m *elevation.Model) error {
	long := line.LengthM()
	steps := max(1, int(math.Round(long/slopeStepM)))
	var along, against, steepest, last float64
	known := false
	for i := 0; i <= steps; i++ {
		lon, lat := f.Inverse(line.At(long * float64(i) / float64(steps)))
		h, ok, err := m.At(lon, lat)
		if err != nil {
			return err
		}
		if i > 0 {
			slope := 0.0
			if ok && known {
				slope = (h - last) / (long / float64(steps))
			}
			along += elevation.Slowness(slope) / float64(steps)
			against += elevation.Slowness(-slope) / float64(steps)
			steepest = max(steepest, math.Abs(slope))
		}
		last, known = h, ok
	}
	s.Along[e], s.Against[e], s.Steepest[e] = float32(along), float32(against), float32(steepest)
	return nil
}

// Factor is the time factor of an edge walked with or against its geometry, 1 on
// level ground.
func (s *Slopes) Factor(edge int32, against bool) float32 {
	switch {
	case s == nil:
		return 1
	case against:
		return s.Against[edge]
	}
	return s.Along[edge]
}

// Swiftest is how much farther than on level ground one may get in a time.
func (s *Slopes) Swiftest() float64 {
	if s == nil {
		return 1
	}
	return 1 / elevation.Slowness(-0.05)
}

func (s *Slopes) encode(w *flatfile.Writer) {
	if s != nil {
		flatfile.Put(w, "slope.along", s.Along)
		flatfile.Put(w, "slope.against", s.Against)
		flatfile.Put(w, "slope.steepest", s.Steepest)
	}
}

func decodeSlopes(f *flatfile.File, edges int) (*Slopes, error) {
	t := &taker{f: f}
	along := sure[float32](t, "slope.along")
	if errors.Is(t.err, flatfile.ErrMissing) {
		return nil, nil
	}
	s := &Slopes{along, sure[float32](t, "slope.against"), sure[float32](t, "slope.steepest")}
	t.same("slope", edges, len(s.Along), len(s.Against), len(s.Steepest))
	return s, t.err
}

// check walks the invariants of the slopes.
func (s *Slopes) check() error {
	if s == nil {
		return nil
	}
	for e, x := range s.Along {
		if !(x > 0.5 && s.Against[e] > 0.5 && s.Steepest[e] >= 0) {
			return fmt.Errorf("slopes: edge %d takes %g and %g times as long as level ground", e, x, s.Against[e])
		}
	}
	return nil
}
