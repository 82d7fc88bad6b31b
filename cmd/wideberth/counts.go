package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"slices"
	"strings"
	"text/tabwriter"

	"wideberth/api/store"
	"wideberth/api/store/database"
	"wideberth/api/wire/kept"
	"wideberth/exposure"
	"wideberth/osmdata/fault"
	"wideberth/osmdata/plane"
	"wideberth/routing"
	"wideberth/routing/atlas"
	"wideberth/routing/counts"
	"wideberth/routing/network"
	"wideberth/routing/snapshot"
)

// readCounts reads the file of counts of an import; what is wrong with it is said
// before minutes are spent, and what only the map can tell as soon as it is read.
func (c *importCommand) readCounts(w *world, o *snapshot.ImportOptions) error {
	list, where, err := c.countsFile(w)
	if err != nil || list == nil {
		return err
	}
	o.Counts = list
	o.CheckCount = func(g *network.Graph, f plane.Frame) fault.Problems {
		m := counts.Map{Graph: g, Frame: f}
		return inRows(m.Check(list, where))
	}
	return nil
}

// countsFile reads the file of counts, if one is named.
func (c *importCommand) countsFile(w *world) (list []exposure.Count, where func(i int) (pointer, told string), err error) {
	if c.Counts == "" {
		return nil, nil, nil
	}
	file, err := os.Open(c.Counts)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil, wrong("counts", c.Counts, "there is no such file")
	} else if err != nil {
		return nil, nil, err
	}
	defer file.Close()
	list, where, err = counts.Read(file, w.now())
	if err != nil {
		return nil, nil, inCounts(err)
	}
	return list, where, nil
}

// inCounts names row and column in place of pointers.
func inCounts(err error) error {
	var ps fault.Problems
	if !errors.As(err, &ps) {
		return err
	}
	return inRows(ps)
}

func inRows(ps fault.Problems) (out fault.Problems) {
	for _, p := range ps {
		row, column, both := strings.Cut(strings.TrimPrefix(p.Pointer, "/"), "/")
		p.Pointer = "--counts " + row
		if both {
			p.Pointer += ", column " + column
		}
		out = append(out, p)
	}
	return out
}

type countsCommand struct {
	Snapshot []string `required:"" placeholder:"FILE|DIR|URL" help:"Snapshot written by import, or a folder or bucket of tiles; may be given several times."`
	Store    string   `placeholder:"FILE|URL" help:"Where dogs and walks are kept: what the account counted by hand counts, too. Left out: what was imported with --counts alone."`
	Account  string   `default:"local" help:"Account whose counts are meant; with --store."`
	CSV      string   `name:"csv" placeholder:"FILE" help:"Also write the account's counts to a file that import --counts reads; with --store."`
	Delete   string   `placeholder:"ID" help:"First delete the account's count with this id; with --store."`
}

// Run tells how far the predicted levels lie from what was counted.
func (c *countsCommand) Run(ctx context.Context, w *world) error {
	kept, err := c.kept(ctx, w)
	if err != nil {
		return err
	}
	a, err := openAtlas(c.Snapshot, w.now, atlas.Options{})
	if err != nil {
		return err
	}
	own := make([]exposure.Count, len(kept))
	for i := range kept {
		own[i] = kept[i].Model()
	}
	if c.CSV != "" {
		if err := writeCounts(c.CSV, own); err != nil {
			return err
		}
		fmt.Fprintf(w.out, "%d counts written to %s\n", len(own), c.CSV)
	}
	v := a.View()
	defer v.Close()
	told := 0
	if err := v.Each(ctx, v.Tiles(), func(m *atlas.Sheet) error {
		n, err := countsOn(w, v, m, kept)
		told += n
		return err
	}, func(err error) { fmt.Fprintln(w.err, "wideberth:", err) }); err != nil {
		return err
	}
	if told == 0 {
		fmt.Fprintf(w.out, "%s holds no counts: import with --counts.\n%s\n", strings.Join(c.Snapshot, ", "), snapshot.Licence)
	}
	return nil
}

// countsOn tells how far levels lie from what was counted on one of the maps, and how many
// counts those were.
func countsOn(w *world, v *atlas.View, m *atlas.Sheet, all []kept.Count) (int, error) {
	p := m.Planner
	list := p.Snapshot().Counts
	ids := make([]string, len(list), len(list)+len(all))
	var own []exposure.Count
	for i := range all {
		if c := all[i].Model(); v.Shows(m, c.Lon, c.Lat) {
			own, ids = append(own, c), append(ids, all[i].ID)
		}
	}
	if len(ids) == 0 {
		return 0, nil
	}
	if len(v.Tiles()) > 1 {
		fmt.Fprintln(w.out, m.Name)
	}
	_, report, err := p.Land().Counted(own)
	if err != nil {
		return 0, err
	}
	return len(ids), tellCounts(w, p, report, slices.Concat(list, own), ids)
}

// kept are the account's counts, without the one to delete; none without a store.
func (c *countsCommand) kept(ctx context.Context, w *world) ([]kept.Count, error) {
	if c.Store == "" {
		switch {
		case c.CSV != "":
			return nil, wrong("csv", c.CSV, "say with --store where the account's counts are kept")
		case c.Delete != "":
			return nil, wrong("delete", c.Delete, "say with --store where the account's counts are kept")
		}
		return nil, nil
	}
	if !database.IsURL(c.Store) { // opening would make an empty one
		if _, err := os.Stat(c.Store); err != nil {
			return nil, err
		}
	}
	m, err := openStore(ctx, w, c.Store, nil)
	if err != nil {
		return nil, err
	}
	defer m.Close()
	keeper, err := m.KeeperOf(ctx, c.Account)
	if errors.Is(err, store.ErrNotFound) {
		return nil, wrong("account", c.Account, "there is no such account")
	} else if err != nil {
		return nil, err
	}
	if c.Delete != "" {
		err := m.DeleteCount(ctx, keeper, c.Delete)
		if errors.Is(err, store.ErrNotFound) {
			return nil, wrong("delete", c.Delete, "the account has no count with this id")
		} else if err != nil {
			return nil, err
		}
		fmt.Fprintln(w.out, "deleted", c.Delete)
	}
	return m.Counts(ctx, keeper)
}

// writeCounts writes counts to a new file.
func writeCounts(path string, list []exposure.Count) error {
	var table bytes.Buffer
	if err := counts.Write(&table, list); err != nil {
		return err
	}
	return os.WriteFile(path, table.Bytes(), 0o644)
}

// tellCounts prints a report line by line, with the ids of what an account keeps, and how
// far model and counts lie apart.
func tellCounts(w *world, p *routing.Planner, report *counts.Report, list []exposure.Count, ids []string) error {
	t := tabwriter.NewWriter(w.out, 0, 4, 2, ' ', 0)
	fmt.Fprintln(t, "counted from\tminutes\tstreet\twhat\tcounted\tpredicted\twith all counts\tid")
	for _, l := range report.Lines {
		at := &list[l.Count]
		fmt.Fprintf(t, "%s\t%.0f\t%s\t%s\t%.1f\t%.1f\t%.1f\t%s\n", at.Start.In(p.Zone()).Format("Mon 2 Jan 2006 15:04"), at.Minutes, l.Street, l.Of, l.Counted, l.Predicted, l.Bound, ids[l.Count])
	}
	if err := t.Flush(); err != nil {
		return err
	}
	fmt.Fprintln(w.out)
	for of := range exposure.Sounds {
		s := report.Scores[of]
		if s.N == 0 {
			continue
		}
		fmt.Fprintf(w.out, "%s: predicted over counted %.2f (geometric mean of %d)", of, s.GM, s.N)
		if s.N > 1 {
			fmt.Fprintf(w.out, ", scatter by a factor of %.1f; %d of %d within a factor of three", s.Scatter, s.Within3, s.N)
		}
		fmt.Fprintln(w.out)
	}
	fmt.Fprintln(w.out, snapshot.Licence)
	return nil
}
