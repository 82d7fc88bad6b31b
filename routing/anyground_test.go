package routing_test

import (
	"context"
	"errors"
	"slices"
	"testing"

	"wideberth/exposure"
	"wideberth/osmdata"
	"wideberth/routing"
	"wideberth/routing/network"
	"wideberth/routing/plantest"
	"wideberth/routing/reach"
	"wideberth/routing/snapshot/maptest"
)

// TestGroundIsOfferedWhereItAloneIsInTheWay: from a door all of whose walks lead over a
// drive or through a building there is no walk, what is in the way is told, and the wish
// that is offered has one.
func TestGroundIsOfferedWhereItAloneIsInTheWay(t *testing.T) {
	for _, c := range []struct {
		name  string
		close func(f *exposure.Field, flags []osmdata.StreetFlags, e int32)
	}{
		{"drive", func(_ *exposure.Field, flags []osmdata.StreetFlags, e int32) { flags[e] |= osmdata.FlagDrive }},
		{"building", func(f *exposure.Field, _ []osmdata.StreetFlags, e int32) { f.Marks[e] |= exposure.Indoors }},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := *maptest.Town(t)
			open := plantest.On(t, &s)
			w := figureWish(open, maptest.Door(s.Frame))
			w.Walks = 1
			before, err := open.Plan(context.Background(), w)
			if err != nil {
				t.Fatal(err)
			}
			// Everything about the door but its own street is closed.
			o, f := s.Graph, s.Field.WithLevels(nil)
			g := &network.Graph{Star: o.Star, Vertex: o.Vertex, VertexNode: o.VertexNode, ArcEdge: o.ArcEdge, EdgeArc: o.EdgeArc, LengthM: o.LengthM, Class: o.Class,
				Flags: slices.Clone(o.Flags), LineAt: []int32{0}, PartAt: o.PartAt, Parts: o.Parts, Names: o.Names, OpenEdge: o.OpenEdge}
			for e := range int32(o.EdgeCount()) {
				g.Line = o.AppendLine(g.Line, e)
				g.LineAt = append(g.LineAt, int32(len(g.Line)))
			}
			f.Marks = slices.Clone(f.Marks)
			place, err := open.Land().Place(w.From)
			if err != nil {
				t.Fatal(err)
			}
			for e := range int32(g.EdgeCount()) {
				if e == place.Edge {
					continue
				}
				c.close(f, g.Flags, e)
			}
			s.Graph, s.Field = g, f
			p := plantest.On(t, &s)
			_, err = p.Plan(context.Background(), w)
			var none *reach.Infeasible
			if !errors.As(err, &none) || none.Reason != reach.LimitsForbid || none.Limit.What != reach.LimitGround {
				t.Fatalf("before %d walks, now: %v", len(before.Walks), err)
			}
			if !slices.ContainsFunc(none.Offers, func(o reach.Offer) bool { return o.Limit.What == reach.LimitGround }) {
				t.Fatalf("offers %+v", none.Offers)
			}
			w.Limits.AnyGround = true
			plan, err := p.Plan(context.Background(), w)
			if err != nil {
				t.Fatal(err)
			}
			if !slices.ContainsFunc(plan.Notes, func(n routing.Note) bool { return n.What == routing.NotePrivate }) {
				t.Errorf("notes %+v", plan.Notes)
			}
		})
	}
}
