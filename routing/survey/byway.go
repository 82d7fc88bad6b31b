package survey

import (
	"wideberth/routing/network"
	"wideberth/routing/survey/beside"
)

// byWay finds a flow by place along OSM ways, to bring it from one graph to another
// of the same streets. The zero value has none.
type byWay struct {
	parts *network.WayParts
	runs  []wayRun // beside those of parts
}

type wayRun struct {
	loM, hiM float64
	perDay   float64
}

func newByWay(g *network.Graph, perDay []float64) byWay {
	b := byWay{parts: g.WayParts(), runs: make([]wayRun, len(g.Parts))}
	for k, e := range b.parts.Edge {
		i := b.parts.Part[k]
		p, to := &g.Parts[i], float64(g.LengthM[e])
		if i+1 < g.PartAt[e+1] {
			to = float64(g.Parts[i+1].FromM)
		}
		at, from := float64(p.StreetM), float64(p.FromM)
		b.runs[k] = wayRun{at, at + to - from, perDay[e]}
		if p.Reverse() {
			b.runs[k].loM, b.runs[k].hiM = at-to+from, at
		}
	}
	return b
}

// of are the runs of a way.
func (b *byWay) of(way int64) []wayRun {
	if b.parts == nil {
		return nil
	}
	from, to := b.parts.Of(way)
	return b.runs[from:to]
}

// carryTo gives by edge the flow, the mean over its parts by length, and of that
// the part that a share of the part's own stands for.
func (b *byWay) carryTo(g *network.Graph, share func(*network.Part) float64) [][2]float64 {
	out := make([][2]float64, g.EdgeCount())
	for e := range int32(g.EdgeCount()) {
		long := float64(g.LengthM[e])
		for i := g.PartAt[e]; i < g.PartAt[e+1]; i++ {
			p, to := &g.Parts[i], long
			if i+1 < g.PartAt[e+1] {
				to = float64(g.Parts[i+1].FromM)
			}
			q := b.mean(p.Street, p, to) * (to - float64(p.FromM)) / long
			out[e][0] += q
			out[e][1] += q * share(p)
		}
	}
	return out
}

// mean is the flow on the run of a way that a part covers, by length.
func (b *byWay) mean(way int64, p *network.Part, toM float64) float64 {
	lo, hi := beside.OnWay(p, float64(p.FromM), toM)
	sum, covered := 0.0, 0.0
	for _, r := range b.of(way) {
		if over := min(hi, r.hiM) - max(lo, r.loM); over > 0 {
			sum += over * r.perDay
			covered += over
		}
	}
	if covered == 0 {
		return 0
	}
	return sum / covered
}
