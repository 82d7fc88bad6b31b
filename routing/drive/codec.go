package drive

import (
	"fmt"
	"math"

	"wideberth/osmdata/flatfile"
)

// Encode writes the network as sections whose names begin with prefix.
func (n *Network) Encode(w *flatfile.Writer, prefix string) {
	ends, times, uses := make([][2]int32, len(n.edges)), make([]float32, len(n.edges)), make([]uint8, len(n.edges))
	for i, e := range n.edges {
		ends[i], times[i], uses[i] = [2]int32{e.tail, e.head}, e.seconds, uint8(e.use)
	}
	flatfile.Put(w, prefix+"vertex", n.vertex)
	flatfile.Put(w, prefix+"ends", ends)
	flatfile.Put(w, prefix+"seconds", times)
	flatfile.Put(w, prefix+"use", uses)
	flatfile.Put(w, prefix+"bend-at", n.lineAt)
	flatfile.Put(w, prefix+"bend", n.bends)
	bans := make([][2]int32, len(n.bans))
	for i, b := range n.bans {
		bans[i] = [2]int32{int32(b.from), int32(b.to)}
	}
	flatfile.Put(w, prefix+"ban", bans)
}

// Decode reads a network that Encode has written and checks it.
func Decode(f *flatfile.File, prefix string) (*Network, error) {
	n := &Network{}
	var ends [][2]int32
	var times []float32
	var uses []uint8
	var bans [][2]int32
	for _, take := range []func() error{
		func() (err error) { n.vertex, err = flatfile.TakeSure[[2]float32](f, prefix+"vertex"); return },
		func() (err error) { ends, err = flatfile.TakeSure[[2]int32](f, prefix+"ends"); return },
		func() (err error) { times, err = flatfile.TakeSure[float32](f, prefix+"seconds"); return },
		func() (err error) { uses, err = flatfile.TakeSure[uint8](f, prefix+"use"); return },
		func() (err error) { n.lineAt, err = flatfile.TakeSure[int32](f, prefix+"bend-at"); return },
		func() (err error) { n.bends, err = flatfile.TakeSure[[2]float32](f, prefix+"bend"); return },
		func() (err error) { bans, err = flatfile.TakeSure[[2]int32](f, prefix+"ban"); return },
	} {
		if err := take(); err != nil {
			return nil, err
		}
	}
	if len(times) != len(ends) || len(uses) != len(ends) {
		return nil, fmt.Errorf("%w: %d roads with %d times and %d uses", flatfile.ErrDamaged, len(ends), len(times), len(uses))
	}
	n.edges = make([]edge, len(ends))
	for i := range ends {
		n.edges[i] = edge{ends[i][0], ends[i][1], times[i], use(uses[i])}
	}
	for _, b := range bans {
		n.bans = append(n.bans, ban{run(b[0]), run(b[1])})
	}
	if err := n.Check(); err != nil {
		return nil, &flatfile.FormatError{Section: prefix, Err: fmt.Errorf("%w: %w", flatfile.ErrDamaged, err)}
	}
	return n, nil
}

// Check walks what every search relies on and gives the first breach.
func (n *Network) Check() error {
	if len(n.lineAt) != len(n.edges)+1 || n.lineAt[0] != 0 || int(n.lineAt[len(n.edges)]) != len(n.bends) {
		return fmt.Errorf("the bends of %d roads do not span %d points", len(n.edges), len(n.bends))
	}
	for i, e := range n.edges {
		if e.tail < 0 || e.head < 0 || int(e.tail) >= len(n.vertex) || int(e.head) >= len(n.vertex) {
			return fmt.Errorf("road %d ends at a vertex that there is not", i)
		}
		if !(e.seconds >= 0) || math.IsInf(float64(e.seconds), 1) {
			return fmt.Errorf("road %d takes %v seconds", i, e.seconds)
		}
		if n.lineAt[i] > n.lineAt[i+1] {
			return fmt.Errorf("the bends of road %d end before they begin", i)
		}
	}
	return n.checkBans()
}
