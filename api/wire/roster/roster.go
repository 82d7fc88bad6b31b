// Package roster reads and writes the dogs and the people of an outing as the tables
// that a kennel keeps in a spreadsheet (RFC 4180): commas, semicolons or tabs, with a
// head line or without. It hides the words of heads and cells, which the page reads
// too, and how a cell that cannot be read is told. A table is taken whole or not at all.
package roster

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"wideberth/api/wire"
	"wideberth/osmdata/fault"
	"wideberth/routing/briefing"
)

// Bounds of a table: an outing takes no more.
const (
	MostBytes  = 256 << 10
	mostDogs   = 60
	mostPeople = 40
	mostCells  = 80 // of a row
)

var english briefing.Words

// Hours are those of the outing that a table belongs to: cells have hours of the
// clock and no day.
type Hours struct {
	Start   time.Time // with its zone
	Minutes float64
}

// Dogs reads a table of dogs. Columns that are not known are passed over, and named.
// Whatever cannot be read is in fault.Problems, each with its row, as lines are
// numbered, and its column.
func Dogs(text string, h Hours) (list []wire.OutingDog, passedOver []string, err error) {
	return read(text, dogColumns(h), mostDogs)
}

// People reads a table of people, like Dogs.
func People(text string, h Hours) (list []wire.OutingPerson, passedOver []string, err error) {
	return read(text, personColumns(h), mostPeople)
}

// WriteDogs writes dogs as Dogs reads them. What a table has no cell for is
// fault.Problems: nothing is lost on the way out and in again.
func WriteDogs(w io.Writer, list []wire.OutingDog, h Hours) error {
	return write(w, list, dogColumns(h), writtenDog)
}

// WritePeople writes people as People reads them.
func WritePeople(w io.Writer, list []wire.OutingPerson, h Hours) error {
	return write(w, list, personColumns(h), writtenPerson)
}

// WriteWalks writes the rows of a timetable, for a spreadsheet or a wall.
func WriteWalks(w io.Writer, t *wire.Timetable, zone *time.Location) error {
	return write(w, t.Rows, walkColumns(zone), func(*wire.TimeRow) error { return nil })
}

// column is one column of a table of Ts.
type column[T any] struct {
	key   string                                // table.head.key lists the words over it
	name  string                                // over it where its words are no text of the catalogue
	must  string                                // what a row without the cell lacks, "" where it may be empty
	read  func(row *T, cell, unit string) error // not called for an empty cell
	write func(row *T) (cell string, err error) // "" for an empty one
	usual func(row *T)                          // for an empty cell, nil for nothing
	known func(cell string) (column[T], bool)   // makes a column of a head that no catalogue lists, nil for none
	full  func(list []T) []column[T]            // and those that some rows need, nil for none
	bare  bool                                  // stands in a table without a head line, in this order
	given func(row *T) bool                     // something else is in its place, so that must does not hold
}

// heads are the words over a column, first the one that is written.
func (c *column[T]) heads() []string {
	if c.key == "" {
		return []string{c.name}
	}
	return listed("table.head." + c.key)
}

// listed are the words that a text of the catalogue lists.
func listed(key string) []string {
	words := strings.Split(english.Say(key), ",")
	for i := range words {
		words[i] = plain(words[i])
	}
	return words
}

func plain(text string) string { return strings.ToLower(strings.TrimSpace(text)) }

// read reads a table row by row.
func read[T any](text string, columns []column[T], most int) (list []T, passedOver []string, err error) {
	rows, err := rowsOf(text)
	if err != nil {
		return nil, nil, err
	}
	if len(rows) == 0 {
		return nil, nil, fault.One("/row 1", "", "the table is empty: give one row each")
	}
	order, unit, headed := headOf(rows[0].cells, columns)
	var wrong fault.Problems
	if headed {
		for i, c := range order {
			head := fault.Clip(rows[0].cells[i])
			switch {
			case c == nil && strings.TrimSpace(head) != "":
				passedOver = append(passedOver, head)
			case c != nil && slices.ContainsFunc(order[:i], func(b *column[T]) bool { return b != nil && b.heads()[0] == c.heads()[0] }):
				wrong = append(wrong, fault.Problem{Pointer: fmt.Sprintf("/row %d/%s", rows[0].line, head), Mend: "this column stands there twice"})
			}
		}
		rows = rows[1:]
	} else {
		order = nil
		for i := range columns {
			if columns[i].bare {
				order = append(order, &columns[i])
			}
		}
	}
	if len(rows) > most {
		return nil, nil, fault.One(fmt.Sprintf("/row %d", rows[most].line), fmt.Sprint(len(rows)), fmt.Sprintf("at most %d can go: take some away", most))
	}
	for _, r := range rows {
		row, bad := readRow(r, order, columns, unit)
		list, wrong = append(list, row), append(wrong, bad...)
	}
	if len(wrong) > 0 {
		return nil, nil, wrong
	}
	return list, passedOver, nil
}

func readRow[T any](r line, order []*column[T], columns []column[T], unit []string) (row T, wrong fault.Problems) {
	bad := func(name, value, mend string) {
		wrong = append(wrong, fault.Problem{Pointer: fmt.Sprintf("/row %d/%s", r.line, name), Value: value, Mend: mend})
	}
	for i := range columns {
		if c := &columns[i]; c.usual != nil {
			c.usual(&row)
		}
	}
	for i, cell := range r.cells {
		switch {
		case i >= len(order):
			if cell != "" {
				bad(fmt.Sprintf("column %d", i+1), fault.Clip(cell), "no column is known here: give a head line, or take the cell away")
			}
		case order[i] == nil || cell == "":
		default:
			if err := order[i].read(&row, cell, unit[min(i, len(unit)-1)]); err != nil {
				bad(order[i].heads()[0], fault.Clip(cell), err.Error())
			}
		}
	}
	for i := range columns {
		c := &columns[i]
		at := slices.IndexFunc(order, func(o *column[T]) bool { return o != nil && o.heads()[0] == c.heads()[0] })
		if c.must != "" && !(c.given != nil && c.given(&row)) && (at < 0 || at >= len(r.cells) || r.cells[at] == "") {
			bad(c.heads()[0], "", c.must)
		}
	}
	return row, wrong
}

// headOf says which column stands where by the first line, with the units that it names;
// headed is false where that line is no head.
func headOf[T any](cells []string, columns []column[T]) (order []*column[T], units []string, headed bool) {
	found, named := 0, false
	for _, cell := range cells {
		word, in, _ := strings.Cut(strings.NewReplacer("[", "(", "]", ")").Replace(cell), "(")
		unit := strings.TrimPrefix(plain(strings.TrimSuffix(strings.TrimSpace(in), ")")), "in ")
		var c *column[T]
		i := slices.IndexFunc(columns, func(c column[T]) bool { return slices.Contains(c.heads(), plain(word)) })
		if i < 0 || distanceForm.MatchString("1"+unit) && unit != "" { // over distances people are a trigger, else who walk the dog
			c = known(columns, plain(word))
		}
		if c == nil && i >= 0 {
			c, named = &columns[i], named || i == 0
		}
		if c != nil {
			found++
		}
		order, units = append(order, c), append(units, unit)
	}
	if !named || found < min(2, len(cells)) {
		return nil, []string{""}, false
	}
	return order, units, true
}

// known is the column that one of some columns makes of a word that no catalogue lists,
// nil for none.
func known[T any](columns []column[T], word string) *column[T] {
	for i := range columns {
		if columns[i].known != nil {
			if made, ok := columns[i].known(word); ok {
				return &made
			}
		}
	}
	return nil
}

// line is a row of a file with the number of its line.
type line struct {
	line  int
	cells []string
}

// rowsOf takes a text apart; empty rows are left out.
func rowsOf(text string) (rows []line, err error) {
	if len(text) > MostBytes {
		return nil, fault.One("/row 1", fmt.Sprintf("%d bytes", len(text)), fmt.Sprintf("a table has at most %d bytes", MostBytes))
	}
	text = strings.TrimPrefix(text, "\ufeff")
	in := csv.NewReader(strings.NewReader(text))
	in.Comma, in.FieldsPerRecord = delimiterOf(text), -1
	in.TrimLeadingSpace = in.Comma != '\t' // which is space too
	for {
		cells, err := in.Read()
		var broken *csv.ParseError
		switch {
		case errors.Is(err, io.EOF):
			return rows, nil
		case errors.As(err, &broken):
			return nil, fault.One(fmt.Sprintf("/row %d", broken.Line), "", "the quotes of this row are not closed, or stand within a cell: "+broken.Err.Error())
		case err != nil:
			return nil, err
		}
		at, _ := in.FieldPos(0)
		if len(cells) > mostCells {
			return nil, fault.One(fmt.Sprintf("/row %d", at), fmt.Sprint(len(cells)), fmt.Sprintf("a row has at most %d cells", mostCells))
		}
		empty := true
		for i := range cells {
			cells[i] = bare(strings.TrimSpace(cells[i]))
			empty = empty && cells[i] == ""
		}
		if !empty {
			rows = append(rows, line{at, cells})
		}
	}
}

// delimiterOf is what parts the cells of the first line: a tab wherever there is one,
// as what is copied from a table has them.
func delimiterOf(text string) rune {
	quoted, semicolon := false, false
	for _, r := range strings.TrimLeft(text, "\r\n ") {
		switch {
		case r == '"':
			quoted = !quoted
		case quoted:
		case r == '\t':
			return '\t'
		case r == ';':
			semicolon = true
		case r == '\n':
			return delimiter(semicolon)
		}
	}
	return delimiter(semicolon)
}

func delimiter(semicolon bool) rune {
	if semicolon {
		return ';'
	}
	return ','
}

// formula are the signs that make a spreadsheet work a cell out.
const formula = "=+-@|%\t\uff1d\uff0b\uff0d\uff20"

// guarded is a cell that no spreadsheet works out, and bare takes the guard off again.
func guarded(cell string) string {
	if cell != "" && strings.ContainsAny(string([]rune(cell)[0]), formula+"'") {
		return "'" + cell
	}
	return cell
}

func bare(cell string) string {
	if rest, ok := strings.CutPrefix(cell, "'"); ok && rest != "" && guarded(rest) != rest {
		return rest
	}
	return cell
}

// write writes a head line and a row each.
func write[T any](w io.Writer, list []T, columns []column[T], whole func(*T) error) error {
	var all []column[T]
	for _, c := range columns {
		if c.full != nil {
			all = append(all, c.full(list)...)
			continue
		}
		all = append(all, c)
	}
	table := [][]string{make([]string, len(all))}
	var wrong fault.Problems
	for i := range list {
		row := make([]string, len(all))
		for k := range all {
			cell, err := all[k].write(&list[i])
			if err != nil {
				wrong = append(wrong, fault.Problem{Pointer: fmt.Sprintf("/%d/%s", i, all[k].heads()[0]), Value: fault.Clip(cell), Mend: err.Error()})
			}
			row[k] = guarded(cell)
		}
		if err := whole(&list[i]); err != nil {
			wrong = append(wrong, fault.Problem{Pointer: fmt.Sprintf("/%d", i), Mend: err.Error()})
		}
		table = append(table, row)
	}
	if len(wrong) > 0 {
		return wrong
	}
	for k := range all {
		table[0][k] = all[k].heads()[0]
	}
	return csv.NewWriter(w).WriteAll(table)
}
