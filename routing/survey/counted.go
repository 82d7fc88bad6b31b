package survey

import (
	"context"
	"fmt"

	"wideberth/exposure"
	"wideberth/exposure/strain"
	"wideberth/osmdata"
	"wideberth/routing/network"
	"wideberth/routing/survey/beside"
)

// Counted is the exposure field of a network whose flows are known instead of
// assigned from homes: perDay holds passes a day of a fixed point, both directions
// together, by pattern and edge; a pattern without a slice has none. Room, sight,
// streams on other ways and sources are measured as in Survey; motors run where
// perDay says and neither a level of road traffic nor what is beside it is made. Errors are those of Survey.
func Counted(ctx context.Context, x *osmdata.Extract, g *network.Graph, perDay [exposure.PatternCount][]float32, o Options) (*exposure.Field, error) {
	n, t := g.EdgeCount(), beside.NewTerrain(x, nil)
	f := &exposure.Field{OwnPerDay: perDay, Place: beside.PlaceKinds(x, g, shopsByEdge(x, g)), Marks: make([]exposure.Mark, n), Sources: beside.Sources(x), Roadside: strain.Table{At: make([]int32, n+1), Wide: make([]strain.Wide, n)}}
	beside.MarkGround(x, g, f)
	beside.MarkPasture(x, g, f)
	beside.MarkLoading(x, g, f)
	for p := range f.OwnPerDay {
		if f.OwnPerDay[p] == nil {
			f.OwnPerDay[p] = make([]float32, n)
		}
	}
	for e := range f.Marks {
		if beside.MayCross(g.Class[e]) {
			f.Marks[e] = exposure.MayCross
		}
	}
	st := &beside.Streams{}
	st.AddNetwork(g, true, f.OwnPerDay)
	st.Seal()
	var err [5]error
	f.Left, f.Right, err[0] = beside.Room(ctx, g, t, nil, o.Workers, nil)
	f.SightFwdM, f.SightBackM, err[1] = beside.Sight(ctx, g, t, o.Workers, nil)
	f.Near, err[2] = beside.Near(ctx, g, t, st, o.Workers, nil)
	f.LevelDB, err[3] = levels(ctx, g, t, nil, o.Workers, nil)
	f.TouchAt, f.Touches, err[4] = beside.Touches(ctx, g, t, f.Sources, o.Workers, nil)
	for _, e := range append(err[:], f.Check()) {
		if e != nil {
			return nil, fmt.Errorf("counted field: %w", e)
		}
	}
	return f, nil
}
