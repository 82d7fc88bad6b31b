package counts

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"wideberth/exposure"
	"wideberth/osmdata/fault"
)

// MostRows bounds a file of counts.
const MostRows = 500

// needed are the columns that a file of counts must have, beside at least one of the
// names of what is counted: dogs, people, wheels, traffic.
var needed = [...]string{"lat", "lon", "start", "minutes"}

// Read reads counts from a file: comma-separated, with a row of column names
// (RFC 4180); other columns are passed over, an empty field was not counted. Whatever
// is wrong as of now is fault.Problems that name row, as lines are numbered, and column.
func Read(r io.Reader, now time.Time) (list []exposure.Count, name func(i int) (pointer, told string), err error) {
	in := csv.NewReader(r)
	in.TrimLeadingSpace = true
	names, err := in.Read()
	if err != nil {
		return nil, nil, fault.One("/row 1", "", "a row of column names is needed: "+strings.Join(needed[:], ", ")+" and some of dogs, people, wheels, traffic")
	}
	cols, err := columns(names)
	if err != nil {
		return nil, nil, err
	}
	var out []exposure.Count
	var rows []int
	var wrong fault.Problems
	for {
		fields, err := in.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		var broken *csv.ParseError
		if errors.As(err, &broken) {
			wrong = append(wrong, fault.Problem{Pointer: fmt.Sprintf("/row %d", broken.Line), Mend: broken.Err.Error()})
			break
		} else if err != nil {
			return nil, nil, err
		}
		row, _ := in.FieldPos(0)
		if len(out) == MostRows {
			return nil, nil, fault.One(fmt.Sprintf("/row %d", row), "", fmt.Sprintf("at most %d counts can be read", MostRows))
		}
		c, bad := cols.count(fields)
		if len(bad) == 0 {
			bad = c.Check(now)
		}
		for _, p := range bad {
			wrong = append(wrong, fault.Problem{Pointer: fmt.Sprintf("/row %d/%s", row, strings.TrimPrefix(p.Pointer, "/")), Value: p.Value, Mend: p.Mend})
		}
		out, rows = append(out, c), append(rows, row)
	}
	if len(wrong) > 0 {
		return nil, nil, wrong
	}
	return out, func(i int) (pointer, told string) {
		told = fmt.Sprintf("row %d", rows[i])
		return "/" + told, told
	}, nil
}

// Write writes counts as Read reads them.
func Write(w io.Writer, list []exposure.Count) error {
	out := csv.NewWriter(w)
	head := slices.Clone(needed[:])
	for of := range exposure.Sounds {
		head = append(head, of.String())
	}
	if err := out.Write(head); err != nil {
		return err
	}
	text := func(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }
	for i := range list {
		c := &list[i]
		row := []string{text(c.Lat), text(c.Lon), c.Start.Format(time.RFC3339), text(c.Minutes)}
		for of := range exposure.Sounds {
			field := ""
			if n, ok := c.Of(of); ok {
				field = text(n)
			}
			row = append(row, field)
		}
		if err := out.Write(row); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}

// layout is where a file has its columns.
type layout struct {
	at    [len(needed)]int
	kinds map[int]exposure.Category
}

func columns(names []string) (layout, error) {
	t := layout{kinds: map[int]exposure.Category{}}
	var wrong fault.Problems
	for i, name := range names {
		names[i] = strings.ToLower(strings.TrimSpace(strings.TrimPrefix(name, "\ufeff")))
	}
	for i, name := range needed {
		if t.at[i] = slices.Index(names, name); t.at[i] < 0 {
			wrong = append(wrong, fault.Problem{Pointer: "/row 1/" + name, Mend: "the column is missing"})
		}
	}
	for i, name := range names {
		if slices.Index(names, name) != i {
			wrong = append(wrong, fault.Problem{Pointer: "/row 1/" + name, Mend: "the column stands there twice"})
		}
		if c, err := exposure.ParseCategory(name); err == nil && c < exposure.Sounds {
			t.kinds[i] = c
		}
	}
	if len(t.kinds) == 0 {
		wrong = append(wrong, fault.Problem{Pointer: "/row 1/people", Mend: "no column of what was counted: give dogs, people, wheels or traffic"})
	}
	if len(wrong) > 0 {
		return t, wrong
	}
	return t, nil
}

// count reads a row.
func (t *layout) count(fields []string) (c exposure.Count, wrong fault.Problems) {
	number := func(name, text string) float64 {
		x, err := strconv.ParseFloat(strings.TrimSpace(text), 64)
		if err != nil || math.IsInf(x, 0) || math.IsNaN(x) {
			wrong = append(wrong, fault.Problem{Pointer: "/" + name, Value: strconv.Quote(text), Mend: "give a number"})
		}
		return x
	}
	c.Lat, c.Lon = number("lat", fields[t.at[0]]), number("lon", fields[t.at[1]])
	start, err := time.Parse(time.RFC3339, strings.TrimSpace(fields[t.at[2]]))
	if err != nil {
		wrong = append(wrong, fault.Problem{Pointer: "/start", Value: strconv.Quote(fields[t.at[2]]), Mend: "give a time with its zone, like 2026-11-25T07:10:00-05:00"})
	}
	c.Start, c.Minutes = start, number("minutes", fields[t.at[3]])
	for i, of := range t.kinds {
		if text := strings.TrimSpace(fields[i]); text != "" {
			c.Set(of, number(of.String(), text))
		}
	}
	return c, wrong
}
