package store

import (
	"errors"
	"fmt"

	"wideberth/api/wire/kept"
	"wideberth/osmdata/fault"
)

// What can be kept, so that nobody fills the disk for everybody. All are far above
// what a large shelter or a long dog's life needs; our assumptions.
const (
	MostPlanBytes    = 512 << 10 // of a kept plan
	MostVisitsBytes  = 512 << 10 // of a training sequence
	MostOutingBytes  = 4 << 20   // of a timetable: sixty dogs with all legs take half of it
	MostAccountBytes = 256 << 20 // of all plans, sequences and timetables of an account
	mostTrackBytes   = 4 << 30   // of all tracks of an account: sixty dogs an hour a day for a year
	mostDogs         = 1000      // of an account, like the next
	mostPeople       = 500
	mostReports      = 1000 // of sources that the map lacks: what is learnt looks at them all
	mostWords        = 5000 // on sources that it has
	mostCounts       = 200  // by hand: all of them are weighed against each other
	mostVisits       = 2000 // sequences
	mostOutings      = 1000 // timetables
	mostKeys         = 100  // of a person, with those that were revoked or have run out
	mostTrainerWords = 200  // of a dog, like the next: in writing, of meetings
	mostShares       = 100
	mostPlans        = 500
	mostWalks        = 20000 // twice a day for 27 years
	mostEncounters   = 50000
	mostChanges      = 20000 // of a dog's distances
)

// Limits are all bounds of what can be kept, for people to read.
func Limits() []kept.Limit {
	limit := func(what string, most int64, unit, of string) kept.Limit {
		return kept.Limit{What: what, Most: most, Unit: unit, Of: of}
	}
	return []kept.Limit{
		limit("plan", MostPlanBytes, "bytes", "one"), limit("training sequence", MostVisitsBytes, "bytes", "one"), limit("timetable", MostOutingBytes, "bytes", "one"),
		limit("track point", kept.MostTrackPoints, "", "one"),
		limit("plans, training sequences and timetables", MostAccountBytes, "bytes", "account"),
		limit("tracks", mostTrackBytes, "bytes", "account"),
		limit("dog", mostDogs, "", "account"), limit("person", mostPeople, "", "account"), limit("report", mostReports, "", "account"), limit("count", mostCounts, "", "account"), limit("word on a mapped source", mostWords, "", "account"),
		limit("training sequence", mostVisits, "", "account"), limit("timetable", mostOutings, "", "account"),
		limit("key", mostKeys, "", "person"),
		limit("kept plan", mostPlans, "", "dog"), limit("walk", mostWalks, "", "dog"), limit("meeting", mostEncounters, "", "dog"), limit("change of distances", mostChanges, "", "dog"),
		limit("word of a trainer", mostTrainerWords, "", "dog"), limit("key that opens a dog", mostShares, "", "dog"),
	}
}

// ErrLimit: so many can be kept, and they are; nothing was changed.
var ErrLimit = errors.New("no more of these can be kept")

// limitError is an ErrLimit with its figure.
type limitError struct {
	most              int64
	what, of, instead string
}

func (e *limitError) Error() string {
	return fmt.Sprintf("%d %s of one %s are kept, and no more can be: %s", e.most, e.what, e.of, e.instead)
}

func (e *limitError) Is(target error) bool { return target == ErrLimit }

// lock makes transactions that count what an account has wait for each other, in
// whichever server they run. SQLite has one writer anyway.
func (t *tx) lock(account string) error {
	if !t.Postgres {
		return nil
	}
	return t.Do(`SELECT 1 FROM account WHERE id = $1 FOR UPDATE`, account)
}

// room refuses one more where a query that counts up to most has counted so many.
// The query's last argument is most.
func (t *tx) room(most int, what, of, instead, query string, args ...any) error {
	n := 0
	if err := t.Row(`SELECT count(*) FROM (`+query+` LIMIT $`+fmt.Sprint(len(args)+1)+`) AS found`, append(args, most), &n); err != nil {
		return err
	}
	if n >= most {
		return &limitError{int64(most), what, of, instead}
	}
	return nil
}

// roomFor refuses what would take an account's bodies over their sum.
func (t *tx) roomFor(account string, bytes int) error {
	var plans, documents int64
	if err := t.Row(`SELECT coalesce(sum(p.bytes), 0) FROM dog d JOIN plan p ON p.dog = d.id WHERE d.account = $1`, []any{account}, &plans); err != nil {
		return err
	}
	if err := t.Row(`SELECT coalesce(sum(bytes), 0) FROM document WHERE account = $1`, []any{account}, &documents); err != nil {
		return err
	}
	if plans+documents+int64(bytes) > MostAccountBytes {
		return &limitError{MostAccountBytes, "bytes of plans, sequences and timetables", "account", "delete some that are no longer needed first"}
	}
	return nil
}

// roomForTrack refuses what would take an account's tracks over their sum.
func (t *tx) roomForTrack(account, walk string, bytes int) error {
	if err := t.lock(account); err != nil {
		return err
	}
	var sum int64
	if err := t.Row(`SELECT coalesce(sum(bytes), 0) FROM track WHERE account = $1 AND walk <> $2`, []any{account, walk}, &sum); err != nil {
		return err
	}
	if sum+int64(bytes) > mostTrackBytes {
		return &limitError{mostTrackBytes, "bytes of tracks", "account", "keep tracks for fewer days in the account's settings"}
	}
	return nil
}

// checkBytes refuses a body that is too long, with what would make it shorter.
func checkBytes(body []byte, most int, instead string) error {
	if len(body) > most {
		return fault.Problems{{Pointer: "/body", Value: fmt.Sprintf("%d bytes", len(body)), Mend: fmt.Sprintf("at most %d can be kept: %s", most, instead)}}
	}
	return nil
}
