package api

import (
	"context"
	"errors"
	"time"

	"github.com/labstack/echo/v4"

	"wideberth/api/wire"
	"wideberth/api/wire/tile"
	"wideberth/osmdata/fault"
	"wideberth/routing/atlas"
	"wideberth/routing/errand"
)

type viewKey struct{}

// looking gives each request its view of the maps: what it looks at stays open, and the
// same, until it is answered.
func (s *Server) looking(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		v := s.opt.Atlas.View()
		defer v.Close()
		c.SetRequest(c.Request().WithContext(context.WithValue(c.Request().Context(), viewKey{}, v)))
		return next(c)
	}
}

// view is the request's view of the maps.
func view(ctx context.Context) *atlas.View { return ctx.Value(viewKey{}).(*atlas.View) }

// at is the map of a place, which stands at pointer in what was sent; it stays open until
// the request is answered. A place on no map is fault.Problems with the maps there are.
func (s *Server) at(ctx context.Context, pointer string, place wire.LatLon) (*atlas.Sheet, error) {
	m, err := view(ctx).At(ctx, place.Lon, place.Lat)
	var nowhere *atlas.NowhereError
	if errors.As(err, &nowhere) {
		return nil, fault.One(pointer, "", nowhere.Mend())
	}
	return m, err
}

// mayBeAt is the map of a place, nil where none is or that cannot be read: for what is kept
// all the same.
func (s *Server) mayBeAt(ctx context.Context, place wire.LatLon) *atlas.Sheet {
	m, err := view(ctx).At(ctx, place.Lon, place.Lat)
	if nowhere := (*atlas.NowhereError)(nil); err != nil && !errors.As(err, &nowhere) {
		s.missing(err)
	}
	return m
}

// first is the first of the maps: for what is asked of no place.
func (s *Server) first(ctx context.Context) (*atlas.Sheet, error) { return view(ctx).First(ctx) }

// atOrFirst is the map of a place, if one was sent.
func (s *Server) atOrFirst(ctx context.Context, pointer string, place *wire.LatLon) (*atlas.Sheet, error) {
	if place == nil {
		return s.first(ctx)
	}
	return s.at(ctx, pointer, *place)
}

// finder looks for places to drive to on a map.
func finder(ctx context.Context, m *atlas.Sheet) *errand.Finder {
	return atlas.Beside(view(ctx), m, func() (*errand.Finder, int64) { return errand.New(m.Planner), 0 })
}

// missing notes a map that could not be opened while the others are answered from.
func (s *Server) missing(err error) { s.log.Error("a map is missing", "err", err) }

// oldest is the time of the oldest map, zero where none says.
func oldest(tiles []*atlas.Tile) (at time.Time) {
	for _, t := range tiles {
		if !t.MapTime.IsZero() && (at.IsZero() || t.MapTime.Before(at)) {
			at = t.MapTime
		}
	}
	return at
}

// drawTile draws what all maps that meet a vector tile have on it, what meets two of them
// once: by the map in whose part of the earth it begins. What is seen from afar is kept of
// maps that are closed again: a tile of the least zoom may meet a hundred.
func (s *Server) drawTile(ctx context.Context, z, x, y uint64) ([]byte, error) {
	v, d := view(ctx), tile.NewDrawing(z, x, y)
	several, meeting := len(v.Tiles()) > 1, v.Meeting(d.Box())
	if several && z <= tile.FarZoom {
		err := atlas.Gists(ctx, v, meeting, func(m *atlas.Sheet) (*tile.Layers, int64) {
			l := tile.NewFarLayers(m.Planner.Snapshot(), v.Mine(context.WithoutCancel(ctx), m))
			return l, l.Bytes()
		}, func(t *atlas.Tile, l *tile.Layers) { d.Add(l, t.Number()) }, s.missing)
		if err != nil {
			return nil, err
		}
		return d.Bytes()
	}
	err := v.Each(ctx, meeting, func(m *atlas.Sheet) error {
		mine, number := v.Mine(ctx, m), m.Number()
		if !several {
			mine, number = nil, 0
		}
		d.Add(atlas.Beside(v, m, func() (*tile.Layers, int64) {
			l := tile.NewLayers(m.Planner.Snapshot(), mine)
			return l, l.Bytes()
		}), number)
		return nil
	}, s.missing)
	if err != nil {
		return nil, err
	}
	return d.Bytes()
}
