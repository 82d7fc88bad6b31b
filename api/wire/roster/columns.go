package roster

import (
	"errors"
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"wideberth/api/wire"
	"wideberth/api/wire/dogfile"
	"wideberth/exposure"
	"wideberth/routing/briefing"
	"wideberth/routing/outing"
)

const (
	usualMinutes = 30
	metresPerFt  = 0.3048
	clockForm    = "15:04"
	roomKey      = "dogs" // the category that the column room is about
	nameParts    = " / "  // between the names in a cell
	mostNames    = 40
)

// dogColumns are the columns of a table of dogs; the first five stand in this order
// where there is no head line.
func dogColumns(h Hours) []column[wire.OutingDog] {
	type row = wire.OutingDog
	kept := func(d *row) bool { return d.DogID != "" }
	return []column[row]{
		{key: "name", bare: true, must: "give the dog's name: it is how the timetable tells dogs apart", given: kept,
			read: func(d *row, cell, _ string) error {
				d.Dog.Name, d.Name = cell, cell
				return nil
			},
			write: func(d *row) (string, error) { return nameOf(d), nil }},
		{key: "room", bare: true, must: "give how far other dogs must stay off, like 40 m", given: func(d *row) bool { return kept(d) || len(d.Dog.Needs) > 0 },
			read:  func(d *row, cell, unit string) error { return need(d, roomKey, cell, unit) },
			write: func(d *row) (string, error) { return needText(d, roomKey) }},
		{key: "minutes", bare: true, usual: func(d *row) { d.Minutes = usualMinutes },
			read:  func(d *row, cell, _ string) (err error) { d.Minutes, err = minutes(cell); return err },
			write: func(d *row) (string, error) { return number(d.Minutes), nil }},
		{key: "who", bare: true,
			read:  func(d *row, cell, _ string) (err error) { d.Experience, err = experience(cell); return err },
			write: func(d *row) (string, error) { return experienceText(d.Experience), nil }},
		{key: "bite", bare: true,
			read:  func(d *row, cell, _ string) (err error) { d.BiteHistory, err = yes(cell); return err },
			write: func(d *row) (string, error) { return yesText(d.BiteHistory), nil }},
		{key: "first",
			read:  func(d *row, cell, _ string) (err error) { d.First, err = yes(cell); return err },
			write: func(d *row) (string, error) { return yesText(d.First), nil }},
		{key: "by",
			read:  func(d *row, cell, _ string) (err error) { d.FinishBy, err = h.at(cell); return err },
			write: func(d *row) (string, error) { return h.clock(d.FinishBy) }},
		{key: "only",
			read:  func(d *row, cell, _ string) (err error) { d.OnlyWith, err = names(cell); return err },
			write: func(d *row) (string, error) { return namesText(d.OnlyWith) }},
		{key: "never",
			read:  func(d *row, cell, _ string) (err error) { d.NeverWith, err = names(cell); return err },
			write: func(d *row) (string, error) { return namesText(d.NeverWith) }},
		{key: "with",
			read:  func(d *row, cell, _ string) error { d.With = cell; return nil },
			write: func(d *row) (string, error) { return d.With, nil }},
		{key: "hands",
			read: func(d *row, cell, _ string) error {
				if d.People = 1; cell != "1" && cell != "2" {
					return errors.New("give 1 or 2")
				} else if cell == "2" {
					d.People = 2
				}
				return nil
			},
			write: func(d *row) (string, error) {
				if d.People == 0 {
					return "", nil
				}
				return strconv.Itoa(d.People), nil
			}},
		{key: "row",
			read:  func(d *row, cell, _ string) error { d.Row = cell; return nil },
			write: func(d *row) (string, error) { return d.Row, nil }},
		{key: "apart",
			read: func(d *row, cell, _ string) (err error) {
				for _, way := range []outing.Apart{outing.ApartGround, outing.ApartLast} {
					if slices.Contains(listed("table.apart."+string(way)), plain(cell)) {
						d.Apart = string(way)
						return nil
					}
				}
				return fmt.Errorf("use %s or %s", listed("table.apart.ground")[0], listed("table.apart.last")[0])
			},
			write: func(d *row) (string, error) {
				if d.Apart == "" {
					return "", nil
				}
				return listed("table.apart." + d.Apart)[0], nil
			}},
		{key: "rest",
			read:  func(d *row, cell, _ string) (err error) { d.Rest, err = days(cell); return err },
			write: func(d *row) (string, error) { return strings.Join(d.Rest, nameParts), nil }},
		{key: "kept",
			read:  func(d *row, cell, _ string) error { d.DogID = cell; return nil },
			write: func(d *row) (string, error) { return d.DogID, nil }},
		{name: "needs", known: needColumn, full: needColumns},
	}
}

// nameOf is what the timetable calls a dog, as far as what was sent says it.
func nameOf(d *wire.OutingDog) string {
	if d.Name != "" {
		return d.Name
	}
	return d.Dog.Name
}

// writtenDog says what of a dog no cell holds.
func writtenDog(d *wire.OutingDog) error {
	c := d.Dog.Cautions
	switch {
	case d.DogID != "":
		return nil // it has the rest
	case d.Dog.SpeedMPS != nil || d.Dog.Food != "" || c != nil && *c != (dogfile.Cautions{}):
		return errors.New("a table has no cell for the pace, the food and the cautions of a dog: keep the dog, or leave them out")
	case len(d.Dog.Needs) == 0:
		return errors.New("a table needs the distances of a dog: give them")
	}
	return nil
}

// writtenPerson says what of a person no cell holds.
func writtenPerson(p *wire.OutingPerson) error {
	if p.WalkedMinutes != 0 || p.ThereMinutes != 0 {
		return errors.New("a table has no cell for what was walked earlier in the week: leave it out")
	}
	return nil
}

// needColumn is the column of a kind or category of trigger, by its name.
func needColumn(name string) (c column[wire.OutingDog], ok bool) {
	if _, _, _, err := exposure.ParseKindOrCategory(name); err != nil {
		return c, false
	}
	head := name
	shared := slices.ContainsFunc(dogColumns(Hours{}), func(c column[wire.OutingDog]) bool { return slices.Contains(c.heads(), name) })
	if shared {
		head += " (m)" // the word alone means another column
	}
	return column[wire.OutingDog]{name: head,
		read: func(d *wire.OutingDog, cell, unit string) error {
			if shared && bareFew(cell) {
				return fmt.Errorf("may be who walks the dog, or a distance: call the column %s alone for who walks it, or write %s m for the distance", name, strings.TrimSpace(cell))
			}
			return need(d, name, cell, unit)
		},
		write: func(d *wire.OutingDog) (string, error) { return needText(d, name) }}, true
}

// bareFew says that a cell is a number without a unit that is as good as how many people
// walk a dog: whoever works so near to a trigger has no working distance to speak of, so
// nobody guesses which was meant.
func bareFew(cell string) bool {
	n, err := strconv.Atoi(strings.TrimSpace(cell))
	return err == nil && n <= 2
}

// needColumns are the columns of all that some dog has a distance for beside dogs.
func needColumns(list []wire.OutingDog) (out []column[wire.OutingDog]) {
	var all []string
	for i := range list {
		for name := range list[i].Dog.Needs {
			if name != roomKey {
				all = append(all, name)
			}
		}
	}
	slices.Sort(all)
	for _, name := range slices.Compact(all) {
		if c, ok := needColumn(name); ok {
			out = append(out, c)
		}
	}
	return out
}

// need takes a cell like "40 m", "40 / 18 m" with the distance at which half react, or
// the word for a dog that is calm about it.
func need(d *wire.OutingDog, name, cell, unit string) error {
	if d.Dog.Needs == nil {
		d.Dog.Needs = map[string]*dogfile.Need{}
	}
	if slices.Contains(listed("table.calm"), plain(cell)) {
		d.Dog.Needs[name] = nil
		return nil
	}
	work, react, two := strings.Cut(cell, "/")
	var n dogfile.Need
	if two {
		m, err := distance(react, unit)
		if err != nil {
			return err
		}
		n.ReactionM = &m
		if !regexp.MustCompile(`[a-zA-Z']`).MatchString(work) { // "40 / 18 m"
			work += strings.TrimLeft(strings.TrimSpace(react), "0123456789.,")
		}
	}
	m, err := distance(work, unit)
	n.WorkingM = &m
	d.Dog.Needs[name] = &n
	return err
}

func needText(d *wire.OutingDog, name string) (string, error) {
	n, ok := d.Dog.Needs[name]
	switch {
	case !ok || d.DogID != "":
		return "", nil
	case n == nil:
		return listed("table.calm")[0], nil
	case n.WorkingM == nil:
		return "", errors.New("give a working distance")
	case n.ReactionM == nil:
		return number(*n.WorkingM) + " m", nil
	}
	return number(*n.WorkingM) + " / " + number(*n.ReactionM) + " m", nil
}

var distanceForm = regexp.MustCompile(`(?i)^\s*(\d+(?:[.,]\d+)?)\s*(m|metres?|meters?|ft|feet|foot|'|cars?)?\s*$`)

// distance reads a distance in metres, feet or lengths of parked cars.
func distance(cell, unit string) (float64, error) {
	m := distanceForm.FindStringSubmatch(cell)
	if m == nil {
		return 0, errors.New("give a distance, like 40 m")
	}
	x, err := strconv.ParseFloat(strings.ReplaceAll(m[1], ",", "."), 64)
	if err != nil {
		return 0, errors.New("give a distance, like 40 m")
	}
	switch u := plain(m[2] + unit)[:min(1, len(m[2]+unit))]; u {
	case "f", "'":
		return x * metresPerFt, nil
	case "c":
		return x * briefing.CarM, nil
	}
	return x, nil
}

var minutesForm = regexp.MustCompile(`^(\d{1,4}(?:\.\d+)?)\s*(?:m|min|mins|minutes?)?\.?$`)

func minutes(cell string) (float64, error) {
	if m := minutesForm.FindStringSubmatch(plain(cell)); m != nil {
		return strconv.ParseFloat(m[1], 64)
	}
	return 0, errors.New("give minutes, like 30")
}

// experience finds the step that a word of the catalogue means.
func experience(cell string) (string, error) {
	for e := outing.NewHand; e <= outing.Experienced; e++ {
		if slices.Contains(listed("table.who."+e.String()), plain(cell)) {
			return e.String(), nil
		}
	}
	return "", fmt.Errorf("use %s, %s or %s", experienceText(outing.NewHand.String()), experienceText(outing.Regular.String()), experienceText(outing.Experienced.String()))
}

func experienceText(name string) string {
	if name == "" {
		return ""
	}
	return listed("table.is." + name)[0]
}

func yes(cell string) (bool, error) {
	switch {
	case slices.Contains(listed("table.yes"), plain(cell)):
		return true, nil
	case slices.Contains(listed("table.no"), plain(cell)):
		return false, nil
	}
	return false, errors.New("use yes or no")
}

func yesText(is bool) string {
	if is {
		return listed("table.yes")[1]
	}
	return ""
}

// names reads the names in a cell.
func names(cell string) (out []string, err error) {
	for name := range strings.SplitSeq(cell, strings.TrimSpace(nameParts)) {
		if name = strings.TrimSpace(name); name != "" {
			out = append(out, name)
		}
	}
	if len(out) > mostNames {
		return nil, fmt.Errorf("name up to %d", mostNames)
	}
	return out, nil
}

func namesText(list []string) (string, error) {
	for _, name := range list {
		if strings.Contains(name, strings.TrimSpace(nameParts)) {
			return name, errors.New("a name with a stroke cannot stand in a cell of several names: take the stroke out")
		}
	}
	return strings.Join(list, nameParts), nil
}

// days reads days of the week by their first letters, three or more.
func days(cell string) (out []string, err error) {
	for word := range strings.SplitSeq(cell, strings.TrimSpace(nameParts)) {
		day := slices.IndexFunc(wire.Weekdays[:], func(name string) bool {
			word = plain(word)
			return strings.HasPrefix(word, name) && strings.HasPrefix(plain(time.Weekday(slices.Index(wire.Weekdays[:], name)).String()), word)
		})
		if day < 0 || slices.Contains(out, wire.Weekdays[day]) {
			return nil, errors.New("give days of the week, each once, like sat / sun")
		}
		out = append(out, wire.Weekdays[day])
	}
	return out, nil
}

func number(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }

var clockForms = [...]string{clockForm, "15.04", "3:04pm", "3:04 pm", "3pm", "3 pm"}

// at is an hour of the outing's day, RFC 3339; an hour before its first, if its last is
// on the next day and not before that hour, is one of the next day.
func (h Hours) at(cell string) (string, error) {
	for _, form := range clockForms {
		t, err := time.Parse(form, plain(cell))
		if err != nil {
			continue
		}
		y, m, d := h.Start.Date()
		day := func(more int) time.Time {
			return time.Date(y, m, d+more, t.Hour(), t.Minute(), 0, 0, h.Start.Location())
		}
		at := day(0)
		if next := day(1); at.Before(h.Start) && !next.After(h.end()) {
			at = next
		}
		return at.Format(time.RFC3339), nil
	}
	return "", errors.New("give an hour, like 09:20")
}

func (h Hours) end() time.Time {
	return h.Start.Add(time.Duration(max(0, min(h.Minutes, 24*60)) * float64(time.Minute)))
}

// clock writes an hour that at reads as the same moment.
func (h Hours) clock(moment string) (string, error) {
	if moment == "" {
		return "", nil
	}
	t, err := time.Parse(time.RFC3339, moment)
	if err != nil {
		return moment, errors.New("give a time with its zone")
	}
	cell := t.In(h.Start.Location()).Format(clockForm)
	if back, err := h.at(cell); err != nil || !sameMoment(back, t) {
		return cell, errors.New("a table has hours of the outing's day in whole minutes, and this is none")
	}
	return cell, nil
}

func sameMoment(text string, t time.Time) bool {
	back, err := time.Parse(time.RFC3339, text)
	return err == nil && math.Abs(back.Sub(t).Seconds()) < 1
}

// personColumns are the columns of a table of people.
func personColumns(h Hours) []column[wire.OutingPerson] {
	type row = wire.OutingPerson
	return []column[row]{
		{key: "person", bare: true, must: "give the person's name",
			read: func(p *row, cell, _ string) error { p.Name = cell; return nil }, write: func(p *row) (string, error) { return p.Name, nil }},
		{key: "experience", bare: true,
			read:  func(p *row, cell, _ string) (err error) { p.Experience, err = experience(cell); return err },
			write: func(p *row) (string, error) { return experienceText(p.Experience), nil }},
		{key: "from", bare: true,
			read: func(p *row, cell, _ string) (err error) { p.From, err = h.at(cell); return err }, write: func(p *row) (string, error) { return h.clock(p.From) }},
		{key: "to", bare: true,
			read: func(p *row, cell, _ string) (err error) { p.To, err = h.at(cell); return err }, write: func(p *row) (string, error) { return h.clock(p.To) }},
		{key: "rest",
			read: func(p *row, cell, _ string) (err error) { p.Rest, err = days(cell); return err }, write: func(p *row) (string, error) { return strings.Join(p.Rest, nameParts), nil }},
	}
}

// walkColumns are the columns of a timetable; they are only written.
func walkColumns(zone *time.Location) []column[wire.TimeRow] {
	type row = wire.TimeRow
	clock := func(moment string) (string, error) {
		t, err := time.Parse(time.RFC3339Nano, moment)
		if err != nil {
			return moment, errors.New("give a time with its zone, as it was answered")
		}
		return t.In(zone).Format(clockForm), nil
	}
	return []column[row]{
		{key: "name", write: func(r *row) (string, error) { return r.Dog, nil }},
		{key: "walker", write: func(r *row) (string, error) {
			if r.Second == "" {
				return r.Person, nil
			}
			return r.Person + nameParts + r.Second, nil
		}},
		{key: "with", write: func(r *row) (string, error) { return r.With, nil }},
		{key: "meet", write: func(r *row) (string, error) { return clock(r.Meet) }},
		{key: "leave", write: func(r *row) (string, error) { return clock(r.Leave) }},
		{key: "back", write: func(r *row) (string, error) { return clock(r.BackBy) }},
		{key: "minutes", write: func(r *row) (string, error) { return number(r.GrantedMinutes), nil }},
		{key: "room", write: func(r *row) (string, error) { return number(r.NeedM) + " m", nil }},
		{key: "bite", write: func(r *row) (string, error) { return yesText(r.BiteHistory), nil }},
		{key: "wait", write: func(r *row) (string, error) {
			var out []string
			for _, h := range r.Holds {
				cell, err := clock(h.NotBefore)
				if err != nil {
					return cell, err
				}
				out = append(out, cell)
			}
			return strings.Join(out, nameParts), nil
		}},
	}
}
