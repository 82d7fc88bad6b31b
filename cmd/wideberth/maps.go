package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"wideberth/osmdata/fault"
	"wideberth/routing"
	"wideberth/routing/atlas"
	"wideberth/routing/gazetteer"
)

// openAtlas opens the maps that were named. Tiles of buckets come to the folder named, or
// to this user's folder for what can be thrown away.
func openAtlas(paths []string, now func() time.Time, o atlas.Options) (*atlas.Atlas, error) {
	o.Now = now
	if dir, err := os.UserCacheDir(); o.Cache == "" && err == nil {
		o.Cache = filepath.Join(dir, "wideberth")
	}
	a, err := atlas.Open(context.Background(), paths, o)
	if tile := (*atlas.TileError)(nil); errors.As(err, &tile) && len(paths) == 1 {
		if err = tile.Err; errors.Is(err, fs.ErrNotExist) {
			err = fmt.Errorf("%w: wideberth import writes one", err)
		}
	}
	return a, err
}

// openPlanner plans on the one of the maps that a place lies on, which the flag of some
// name gives; on the first where none is given. It stays open until the program ends.
func openPlanner(w *world, paths []string, field, text string) (*routing.Planner, error) {
	a, err := openAtlas(paths, w.now, atlas.Options{})
	if err != nil {
		return nil, err
	}
	ctx, v := context.Background(), a.View()
	if len(v.Tiles()) == 1 || text == "" {
		m, err := v.First(ctx)
		if err != nil {
			return nil, err
		}
		return m.Planner, nil
	}
	at, err := onMaps(ctx, v, field, text)
	if err != nil {
		return nil, err
	}
	m, err := v.At(ctx, at.Lon, at.Lat)
	var nowhere *atlas.NowhereError
	if errors.As(err, &nowhere) {
		return nil, wrong(field, text, nowhere.Mend())
	} else if err != nil {
		return nil, err
	}
	return m.Planner, nil
}

// onMaps reads LAT,LON, or finds the one place of all maps that a text means.
func onMaps(ctx context.Context, v *atlas.View, field, text string) (atlas.Place, error) {
	if numbers.MatchString(text) {
		at, ps := degrees(field, text)
		return atlas.Place{Lon: at.Lon, Lat: at.Lat}, ps.Err()
	}
	var missing error
	found, err := v.Find(ctx, text, nil, 2*mostNamed, func(err error) { missing = errors.Join(missing, err) })
	if err != nil {
		return atlas.Place{}, err
	}
	places := make([]gazetteer.Found, len(found))
	for i := range found {
		places[i] = found[i].Found
	}
	if mend := unclear(places, text); mend != "" {
		return atlas.Place{}, errors.Join(fault.One("--"+field, text, mend), missing)
	}
	return atlas.Place{Lon: found[0].Lon, Lat: found[0].Lat}, nil
}

// sizes are what the units of a size stand for, in bytes.
var sizes = []struct {
	unit  string
	bytes float64
}{{"GB", 1e9}, {"MB", 1e6}, {"GiB", 1 << 30}, {"MiB", 1 << 20}}

// sizeOf reads a size, 0 for none.
func sizeOf(field, text string) (int64, error) {
	if text == "" {
		return 0, nil
	}
	for _, s := range sizes {
		number, ok := strings.CutSuffix(text, s.unit)
		if n, err := strconv.ParseFloat(strings.TrimSpace(number), 64); ok && err == nil && n > 0 && n*s.bytes < 1<<62 {
			return int64(n * s.bytes), nil
		}
	}
	return 0, wrong(field, text, "give a size with its unit, like 500MB or 2GB")
}
