package main

import (
	"context"
	"errors"
	"io/fs"
	"strconv"

	"wideberth/api/store"
	"wideberth/osmdata"
	"wideberth/osmdata/fault"
	"wideberth/osmdata/flatfile"
	"wideberth/routing/network"
	"wideberth/routing/reach"
)

// The exit codes; they are never renumbered.
const (
	exitInternal   = 1 // our fault
	exitUsage      = 2 // the words of the command or a field of the wish are wrong
	exitFile       = 3 // an input file is missing, unreadable or broken
	exitVersion    = 4 // the snapshot was written by another version
	exitInfeasible = 5 // there is no such walk
	exitBusy       = 8 // given up or out of time
)

// classify gives an error's exit code and a hint at what to try instead.
func classify(err error) (code int, hint string) {
	var (
		words  *usage
		wrong  fault.Problems
		none   *reach.Infeasible
		format *osmdata.FormatError
		path   *fs.PathError
	)
	switch {
	case errors.As(err, &words):
		return exitUsage, "see wideberth --help"
	case errors.As(err, &none):
		return exitInfeasible, offerHint(none)
	case errors.As(err, &wrong):
		return exitUsage, ""
	case errors.Is(err, flatfile.ErrVersion):
		return exitVersion, "import the map again with this program"
	case errors.As(err, &format):
		return exitFile, "use an OpenStreetMap extract: .osm.pbf, or .osm plain, .gz or .bz2"
	case errors.Is(err, flatfile.ErrNotThis):
		return exitFile, "give a snapshot that wideberth import wrote"
	case errors.Is(err, flatfile.ErrDamaged), errors.Is(err, flatfile.ErrTruncated):
		return exitFile, "import the map again"
	case errors.As(err, &path):
		return exitFile, ""
	case errors.Is(err, osmdata.ErrNothingToWalk), errors.Is(err, network.ErrNoStreets):
		return exitFile, "choose an extract with streets or paths in it"
	case errors.Is(err, store.ErrForeign):
		return exitFile, "give another file, or a new name to begin anew"
	case errors.Is(err, store.ErrUnmarked):
		return exitFile, "--unsealed takes one of an older program"
	case errors.Is(err, store.ErrNewer), errors.Is(err, store.ErrInUse), errors.Is(err, store.ErrReadOnly), errors.Is(err, store.ErrFull),
		errors.Is(err, store.ErrEmpty), errors.Is(err, store.ErrDamaged), errors.Is(err, store.ErrChecksum), errors.Is(err, store.ErrUnavailable), errors.Is(err, store.ErrAddress):
		return exitFile, ""
	case errors.Is(err, store.ErrOtherTools):
		return exitUsage, ""
	case errors.Is(err, context.Canceled):
		return exitBusy, "stopped before the end: nothing was written"
	case errors.Is(err, context.DeadlineExceeded):
		return exitBusy, ""
	}
	return exitInternal, ""
}

func offerHint(e *reach.Infeasible) string {
	if len(e.Offers) == 0 {
		return ""
	}
	o := e.Offers[0]
	switch o.What {
	case "leave_at":
		return "leaving at " + o.Depart.Format("15:04") + " works"
	case "shape":
		return "try --shape " + string(o.Shape)
	case "minutes":
		return "--minutes " + strconv.FormatFloat(o.Minutes, 'f', 0, 64) + " works"
	case "start_at":
		return "starting at " + o.Name + " works"
	}
	return "it works without " + o.Name
}
