package main

import (
	"context"
	"errors"
	"io/fs"
	"math"

	"wideberth/api/store/database"
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
		misuse *usage
		wrong  fault.Problems
		none   *reach.Infeasible
		format *osmdata.FormatError
		path   *fs.PathError
	)
	switch {
	case errors.As(err, &misuse):
		return exitUsage, words.Say("hint.help")
	case errors.As(err, &none):
		return exitInfeasible, offerHint(none)
	case errors.As(err, &wrong):
		return exitUsage, ""
	case errors.Is(err, flatfile.ErrVersion):
		return exitVersion, words.Say("hint.import")
	case errors.As(err, &format):
		return exitFile, words.Say("hint.extract")
	case errors.Is(err, flatfile.ErrNotThis):
		return exitFile, words.Say("hint.snapshot")
	case errors.Is(err, flatfile.ErrDamaged), errors.Is(err, flatfile.ErrTruncated), errors.Is(err, flatfile.ErrMissing):
		return exitFile, words.Say("hint.again")
	case errors.Is(err, flatfile.ErrInUse):
		return exitFile, words.Say("hint.inuse")
	case errors.As(err, &path):
		return exitFile, ""
	case errors.Is(err, osmdata.ErrTooLong):
		return exitFile, words.Say("hint.smaller")
	case errors.Is(err, osmdata.ErrNothingToWalk), errors.Is(err, network.ErrNoStreets):
		return exitFile, words.Say("hint.streets")
	case errors.Is(err, database.ErrForeign):
		return exitFile, words.Say("hint.foreign")
	case errors.Is(err, database.ErrUnmarked):
		return exitFile, words.Say("hint.unsealed")
	case errors.Is(err, database.ErrNewer), errors.Is(err, database.ErrInUse), errors.Is(err, database.ErrReadOnly), errors.Is(err, database.ErrFull),
		errors.Is(err, database.ErrEmpty), errors.Is(err, database.ErrDamaged), errors.Is(err, database.ErrChecksum), errors.Is(err, database.ErrUnavailable), errors.Is(err, database.ErrAddress):
		return exitFile, ""
	case errors.Is(err, database.ErrOtherTools):
		return exitUsage, ""
	case errors.Is(err, context.Canceled):
		return exitBusy, words.Say("hint.stopped")
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
		return words.Say("hint.leave", "time", words.Clock(o.Depart))
	case "shape":
		return words.Say("hint.shape", "shape", o.Shape)
	case "minutes":
		return words.Say("hint.minutes", "n", math.Round(o.Minutes))
	case "start_at":
		return words.Say("hint.start", "name", o.Name)
	}
	return words.Say("hint.limit", "limit", words.Limit(o.Limit))
}
