package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"strings"
	"text/tabwriter"

	"wideberth/exposure"
	"wideberth/osmdata/fault"
	"wideberth/osmdata/plane"
	"wideberth/routing/counts"
	"wideberth/routing/network"
	"wideberth/routing/snapshot"
)

// readCounts reads the file of counts of an import; what is wrong with it is said
// before minutes are spent, and what only the map can tell as soon as it is read.
func (c *importCommand) readCounts(w *world, o *snapshot.ImportOptions) error {
	if c.Counts == "" {
		return nil
	}
	file, err := os.Open(c.Counts)
	if errors.Is(err, fs.ErrNotExist) {
		return wrong("counts", c.Counts, "there is no such file")
	} else if err != nil {
		return err
	}
	defer file.Close()
	list, where, err := counts.Read(file, w.now())
	if err != nil {
		return inCounts(err)
	}
	o.Counts = list
	o.CheckCount = func(g *network.Graph, f plane.Frame) fault.Problems {
		m := counts.Map{Graph: g, Frame: f}
		return inRows(m.Check(list, where))
	}
	return nil
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
	Snapshot string `required:"" placeholder:"FILE" help:"Map to look at, made by import with --counts."`
}

// Run tells how far the predicted levels lie from what was counted.
func (c *countsCommand) Run(w *world) error {
	p, err := openPlanner(c.Snapshot)
	if err != nil {
		return err
	}
	list := p.Snapshot().Counts
	if len(list) == 0 {
		fmt.Fprintf(w.out, "%s holds no counts: import with --counts.\n%s\n", c.Snapshot, snapshot.Licence)
		return nil
	}
	_, report, err := p.Land().Counted(nil)
	if err != nil {
		return err
	}
	t := tabwriter.NewWriter(w.out, 0, 4, 2, ' ', 0)
	fmt.Fprintln(t, "counted from\tminutes\tstreet\twhat\tcounted\tpredicted\twith all counts")
	for _, l := range report.Lines {
		at := &list[l.Count]
		fmt.Fprintf(t, "%s\t%.0f\t%s\t%s\t%.1f\t%.1f\t%.1f\n", at.Start.In(p.Zone()).Format("Mon 2 Jan 2006 15:04"), at.Minutes, l.Street, l.Of, l.Counted, l.Predicted, l.Bound)
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
