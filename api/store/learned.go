package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"slices"
	"time"

	"wideberth/exposure"
	"wideberth/exposure/learning"
)

// Learned is what an account's walks and reports teach about the place, as plain
// data for the planner.
type Learned struct {
	Walks    int                               // that the factors rest on
	Cells    map[exposure.Cell]exposure.Factor // every cell of each kind that was counted at all
	Tallies  map[exposure.Cell]learning.Tally  // what the walks found, by cell
	Reported []Report                          // live reports of sources that the map lacks
	Mapped   map[string]float64                // by "way/123": what is left of a source that people spoke of, 0 to 1
}

// Learned gathers what the account's walks and reports teach about the place.
func (s *Store) Learned(ctx context.Context, w Who) (l Learned, err error) {
	err = s.view(ctx, func(t *tx) error {
		if l.Tallies, l.Walks, err = t.tallies(w.Account); err != nil {
			return err
		}
		reports, err := t.reports(w, "")
		if err != nil {
			return err
		}
		l.Mapped = map[string]float64{}
		for _, r := range reports {
			switch {
			case !r.Live:
			case r.Mapped != "":
				l.Mapped[r.Mapped] = min(1, r.Presence/learning.MappedPrior)
			default:
				l.Reported = append(l.Reported, r)
			}
		}
		return nil
	})
	if err != nil {
		return Learned{}, err
	}
	l.Cells, err = factors(l.Tallies)
	return l, err
}

// tallies adds up the walks of an account by cell.
func (t *tx) tallies(account string) (map[exposure.Cell]learning.Tally, int, error) {
	type row struct {
		kind, place, part string
		sum               learning.Tally
	}
	rows, err := all(t, func(r *sql.Rows, x *row) error {
		return r.Scan(&x.kind, &x.place, &x.part, &x.sum.Observed, &x.sum.Expected, &x.sum.Walks)
	}, `SELECT kind, place, part, sum(observed), sum(expected), count(*) FROM tally WHERE account = $1 GROUP BY kind, place, part`, account)
	if err != nil {
		return nil, 0, err
	}
	out := map[exposure.Cell]learning.Tally{}
	for _, x := range rows {
		if c, ok := cellOf(x.kind, x.place, x.part); ok {
			out[c] = x.sum
		}
	}
	walks := 0
	err = t.row(`SELECT count(DISTINCT walk) FROM tally WHERE account = $1`, []any{account}, &walks)
	return out, walks, err
}

// cellOf finds a cell by its names; false if a name is no longer in use.
func cellOf(kind, place, part string) (c exposure.Cell, ok bool) {
	k, err := exposure.ParseKind(kind)
	if err != nil {
		return c, false
	}
	for p := range exposure.PlaceKindCount {
		for d := range exposure.DayPartCount {
			if p.String() == place && d.String() == part {
				return exposure.Cell{Kind: k, Place: p, Part: d}, true
			}
		}
	}
	return c, false
}

// factors makes of what was counted a factor for every cell of the kinds that
// were counted: cells never walked lean on those that were.
func factors(tallies map[exposure.Cell]learning.Tally) (map[exposure.Cell]exposure.Factor, error) {
	shapes := map[string]float64{}
	for k := range exposure.KindCount {
		shapes[k.String()] = k.DoubtShape()
	}
	rates, err := learning.NewRates(shapes)
	if err != nil {
		return nil, err
	}
	counted := map[exposure.Kind]bool{}
	for c, sum := range tallies {
		counted[c.Kind] = true
		if err := rates.Update(thresholdCell(c), sum.Observed, sum.Expected); err != nil {
			return nil, err
		}
	}
	out := map[exposure.Cell]exposure.Factor{}
	for k := range counted {
		for p := range exposure.PlaceKindCount {
			for d := range exposure.DayPartCount {
				c := exposure.Cell{Kind: k, Place: p, Part: d}
				f := rates.Factor(thresholdCell(c))
				out[c] = exposure.Factor{Mean: f.Mean(), Shape: f.Shape}
			}
		}
	}
	return out, nil
}

func thresholdCell(c exposure.Cell) learning.Cell {
	return learning.Cell{Kind: c.Kind.String(), PlaceKind: c.Place.String(), DayPart: c.Part.String()}
}

// retallyKey is retally for a walk by its key; none, if it has not arrived yet.
func (t *tx) retallyKey(w Who, dogID, key string) error {
	var id string
	err := t.row(`SELECT id FROM walk WHERE dog = $1 AND key = $2`, []any{dogID, key}, &id)
	if errors.Is(err, sql.ErrNoRows) {
		return nil
	}
	if err != nil {
		return err
	}
	walk, err := t.walk(w, id)
	if err != nil {
		return err
	}
	return t.retally(w, &walk)
}

// retally counts a walk's meetings against what was predicted. Only a walk of
// which all is told counts, and only nearer than the working distance: farther
// off nobody logs them all. A walk with a draft waits until it is filled in.
func (t *tx) retally(w Who, walk *Walk) error {
	if err := t.do(`DELETE FROM tally WHERE walk = $1`, walk.ID); err != nil {
		return err
	}
	if !walk.AllTold || len(walk.Expected) == 0 {
		return nil
	}
	met, err := t.encounters(walk.Dog, walk.Key, time.Time{})
	if err != nil {
		return err
	}
	if slices.ContainsFunc(met, func(e Encounter) bool { return e.Kind == "" }) {
		return nil
	}
	observed := make([]float64, len(walk.Expected))
	for i := range met {
		spread(&met[i], walk.Expected, observed)
	}
	for i, x := range walk.Expected {
		if err := t.do(`INSERT INTO tally (walk, account, kind, place, part, observed, expected) VALUES ($1, $2, $3, $4, $5, $6, $7)`,
			walk.ID, w.Account, x.Kind, x.Place, x.Part, observed[i], x.Inside); err != nil {
			return fmt.Errorf("count a walk: %w", err)
		}
	}
	return nil
}

// spread adds one meeting to the cells it may belong to: those of its kind, or of
// the kinds of its category, and of its kind of place where that is known, in
// proportion to what was expected of each.
func spread(e *Encounter, cells []Expected, observed []float64) {
	fits := func(x *Expected, place bool) bool {
		if place && e.Place != "" && x.Place != e.Place {
			return false
		}
		if k, err := exposure.ParseKind(x.Kind); err != nil || x.Kind != e.Kind && k.Category().String() != e.Kind {
			return false
		}
		return e.inside(x.WorkingM)
	}
	for _, place := range []bool{true, false} {
		sum, n := 0.0, 0
		for i := range cells {
			if fits(&cells[i], place) {
				sum += cells[i].Inside
				n++
			}
		}
		if n == 0 {
			continue // no such kind of place on the walk: the map changed, or the place is off it
		}
		for i := range cells {
			switch x := &cells[i]; {
			case !fits(x, place):
			case sum > 0:
				observed[i] += x.Inside / sum
			default:
				observed[i] += 1 / float64(n)
			}
		}
		return
	}
}

// Evidence gives what learning a dog's distances starts from: what was said of
// each kind, and the meetings since a moment.
func (s *Store) Evidence(ctx context.Context, w Who, dogID string, since time.Time) (d Dog, in []learning.Intake, met []learning.Encounter, err error) {
	var list []Encounter
	err = s.view(ctx, func(t *tx) error {
		if d, err = t.dog(w, dogID); err != nil {
			return err
		}
		list, err = t.encounters(dogID, "", since)
		return err
	})
	if err != nil {
		return d, nil, nil, err
	}
	named := map[string]bool{}
	for name := range d.Distances {
		named[name] = true
	}
	for i := range list {
		x, _, ok := d.Of(list[i].Kind)
		if m, says := list[i].threshold(); says && ok && !x.Calm {
			met = append(met, m)
			named[list[i].Kind] = true
		}
	}
	for _, name := range sortedNames(named) {
		if x, _, ok := d.Of(name); ok && !x.Calm && x.Prior.WorkingM <= learning.MaxDistanceM {
			in = append(in, x.intake(name))
		}
	}
	return d, in, met, nil
}

func sortedNames(set map[string]bool) []string {
	var out []string
	for name := range set {
		out = append(out, name)
	}
	slices.Sort(out)
	return out
}

// intake is what was said of a kind or category before any walk.
func (x *Distance) intake(name string) learning.Intake {
	in := learning.Intake{Category: name, WorkingM: x.Prior.WorkingM, ReactionM: x.Prior.ReactionM, LogSD: x.Prior.LogSD}
	if k, err := exposure.ParseKind(name); err == nil {
		in.Kind, in.Category = name, k.Category().String()
	}
	if !x.Prior.Known {
		in.WorkingM, in.ReactionM = 0, 0
	}
	return in
}
