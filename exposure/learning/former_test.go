package learning

import (
	"encoding/json"
	"math"
	"os"
	"testing"
	"time"

	"wideberth/exposure"
)

// formerMeeting is a meeting as it is logged.
type formerMeeting struct {
	At         time.Time `json:"at"`
	Name       string    `json:"name"`
	Place      string    `json:"place"`
	Nearest    string    `json:"nearest"`
	DistanceM  float64   `json:"distance_m"`
	ToM        float64   `json:"to_m"`
	NoticedM   float64   `json:"noticed_m"`
	Food       string    `json:"food"`
	TurnedBack bool      `json:"turned_back"`
	Over       string    `json:"over"`
	Sudden     bool      `json:"sudden"`
}

func (f *formerMeeting) meeting() Meeting {
	m := Meeting{Name: f.Name, Place: f.Place, When: f.At, NoticedM: f.NoticedM, Sudden: f.Sudden,
		Near: Near{Known: f.Nearest != "", M: f.DistanceM, ToM: f.ToM, Bound: map[string]Bound{"about": About, "nearer_than": NearerThan, "farther_than": FartherThan}[f.Nearest]}}
	switch {
	case f.Over != "":
		m.Outcome = WentOver
	case f.Food == "refused":
		m.Outcome = RefusedFood
	case f.TurnedBack:
		m.Outcome = TurnedBack
	case f.Food == "taken":
		m.Outcome = TookFood
	}
	return m
}

func meetings(list []formerMeeting) []Meeting {
	out := make([]Meeting, len(list))
	for i := range list {
		out[i] = list[i].meeting()
	}
	return out
}

// formerCell is a cell by its names.
type formerCell struct{ Kind, Place, Part string }

func (f formerCell) cell(t testing.TB) exposure.Cell {
	t.Helper()
	c, ok := exposure.ParseCell(f.Kind, f.Place, f.Part)
	if !ok {
		t.Fatalf("no cell %+v", f)
	}
	return c
}

// former is what the statistics gave when they still lay in transactions, handlers
// and SQL, for cases drawn at random (testdata/former.json, written by that program).
type former struct {
	Counts []struct {
		Cells []struct {
			formerCell
			Inside   float64
			WorkingM float64 `json:"working_m"`
		}
		Met      []formerMeeting
		Observed []float64 // null: the walk waits
	}
	Shapes  map[string]float64 // of the doubt about a kind's rates then
	Factors []struct {
		Tallies []struct {
			formerCell
			Observed, Expected float64
		}
		Factors []struct {
			formerCell
			Mean, Shape float64
		}
	}
	Evidence []struct {
		Distances map[string]struct {
			Calm      bool
			WorkingM  float64 `json:"working_m"`
			ReactionM float64 `json:"reaction_m"`
			PriorW    float64 `json:"prior_working_m"`
			PriorR    float64 `json:"prior_reaction_m"`
			LogSD     float64 `json:"log_sd"`
			Known     bool
		}
		Met    []formerMeeting
		Starts []struct {
			Kind, Category string
			WorkingM       float64 `json:"working_m"`
			ReactionM      float64 `json:"reaction_m"`
			LogSD          float64 `json:"log_sd"`
		}
		Rows []struct {
			Kind, Category string
			When           time.Time
			DistanceM      float64 `json:"distance_m"`
			Bound          Bound
			NoticeM        float64 `json:"notice_m"`
			Outcome        Outcome
			Sudden         bool
		}
	}
	Priors []struct {
		Notices, Food, Stops, Reacts *float64
		Unit                         string
		WorkingM, ReactionM, LogSD   float64
		Known                        bool
		Fault                        string
	}
	Reports []struct {
		Mapped           bool
		Ends, Now        time.Time
		Said             []formerWord
		Presence, Left   float64
		Live             bool
		Confirm, Dispute int
		Spoken           time.Time
	}
	Visits []struct {
		Kinds []string
		Met   []formerMeeting
		Count struct {
			Triggers, Handled int
			TurnedBack        int `json:"turned_back"`
			RefusedFood       int `json:"refused_food"`
			WentOver          int `json:"went_over"`
		}
	}
}

type formerWord struct {
	At    time.Time
	There bool
}

func readFormer(t *testing.T) (f former) {
	t.Helper()
	text, err := os.ReadFile("testdata/former.json")
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(text, &f); err != nil {
		t.Fatal(err)
	}
	if len(f.Counts) < 50 || len(f.Factors) < 8 || len(f.Evidence) < 10 || len(f.Priors) < 50 || len(f.Reports) < 30 || len(f.Visits) < 50 {
		t.Fatal("the golden file is not whole")
	}
	return f
}

// same allows for sums in another order.
func same(a, b float64) bool { return math.Abs(a-b) <= 1e-12*(1+math.Abs(b)) }

// TestAsFormerly: moved into this room, the statistics of walks, dogs and reports
// are what they were.
func TestAsFormerly(t *testing.T) {
	f := readFormer(t)
	t.Run("counts", f.counts)
	t.Run("factors", f.factors)
	t.Run("evidence", f.evidence)
	t.Run("priors", f.priors)
	t.Run("reports", f.reports)
	t.Run("visits", f.visits)
}

func (f *former) counts(t *testing.T) {
	for i, c := range f.Counts {
		cells := make([]Expected, len(c.Cells))
		for j, x := range c.Cells {
			cells[j] = Expected{x.cell(t), x.Inside, x.WorkingM}
		}
		got, ok := Observed(cells, meetings(c.Met))
		if ok != (c.Observed != nil) {
			t.Errorf("walk %d counts: %v", i, ok)
			continue
		}
		for j := range got {
			if !same(got[j], c.Observed[j]) {
				t.Errorf("walk %d, %+v: %g met, were %g", i, c.Cells[j], got[j], c.Observed[j])
			}
		}
	}
}

func (f *former) factors(t *testing.T) {
	shapes := map[exposure.Kind]float64{}
	for name, shape := range f.Shapes {
		k, err := exposure.ParseKind(name)
		if err != nil {
			t.Fatal(err)
		}
		shapes[k] = shape
	}
	for i, c := range f.Factors {
		tallies := Tallies{}
		for _, x := range c.Tallies {
			tallies.Add(x.cell(t), x.Observed, x.Expected)
		}
		got, err := tallies.factors(shapes)
		if err != nil || len(got) != len(c.Factors) {
			t.Fatalf("case %d: %d factors, were %d: %v", i, len(got), len(c.Factors), err)
		}
		for _, x := range c.Factors {
			if g := got[x.cell(t)]; !same(g.Mean, x.Mean) || !same(g.Shape, x.Shape) {
				t.Errorf("case %d, %+v: %+v", i, x, g)
			}
		}
	}
}

func (f *former) evidence(t *testing.T) {
	for i, c := range f.Evidence {
		d := Distances{}
		for name, x := range c.Distances {
			d[name] = Held{Calm: x.Calm, Need: exposure.Need{WorkingM: x.WorkingM, ReactionM: x.ReactionM},
				Prior: Prior{exposure.Need{WorkingM: x.PriorW, ReactionM: x.PriorR}, x.LogSD, x.Known}}
		}
		starts, rows := d.evidence(meetings(c.Met))
		if len(starts) != len(c.Starts) || len(rows) != len(c.Rows) {
			t.Errorf("dog %d: %d starts and %d rows, were %d and %d", i, len(starts), len(rows), len(c.Starts), len(c.Rows))
			continue
		}
		for j, x := range c.Starts {
			if want := (Intake{x.Kind, x.Category, exposure.Need{WorkingM: x.WorkingM, ReactionM: x.ReactionM}, x.LogSD}); starts[j] != want {
				t.Errorf("dog %d: start %+v, was %+v", i, starts[j], want)
			}
		}
		for j, x := range c.Rows {
			if want := (Encounter{x.Kind, x.Category, x.When, x.DistanceM, x.Bound, x.NoticeM, x.Outcome, x.Sudden}); rows[j] != want {
				t.Errorf("dog %d: row %+v, was %+v", i, rows[j], want)
			}
		}
	}
}

// formerIntakeLogSD was DefaultIntakeLogSD then.
const formerIntakeLogSD = 0.4

func (f *former) priors(t *testing.T) {
	for i, c := range f.Priors {
		p, err := Answers{c.Notices, c.Food, c.Stops, c.Reacts, c.Unit}.Prior("/x")
		fault := ""
		if err != nil {
			fault = err.Error()
		}
		if c.LogSD == formerIntakeLogSD {
			c.LogSD = DefaultIntakeLogSD
		}
		if fault != c.Fault || !same(p.WorkingM, c.WorkingM) || !same(p.ReactionM, c.ReactionM) || p.LogSD != c.LogSD || p.Known != c.Known {
			t.Errorf("answers %d: %+v and %q, were %+v", i, p, fault, c)
		}
	}
}

func (f *former) reports(t *testing.T) {
	for i, c := range f.Reports {
		s := Spoken{Mapped: c.Mapped, Ends: c.Ends}
		for _, w := range c.Said {
			s.Said = append(s.Said, Statement{w.At, w.There})
		}
		got, err := s.Standing(c.Now)
		if err != nil {
			t.Fatal(err)
		}
		if !same(got.Presence, c.Presence) || got.Live != c.Live || got.Confirm != c.Confirm || got.Dispute != c.Dispute || !got.Last.Equal(c.Spoken) ||
			c.Mapped && !same(got.Left(), c.Left) {
			t.Errorf("report %d: %+v, was %+v", i, got, c)
		}
	}
}

func (f *former) visits(t *testing.T) {
	for i, c := range f.Visits {
		var about []exposure.Kind
		for _, name := range c.Kinds {
			k, err := exposure.ParseKind(name)
			if err != nil {
				t.Fatal(err)
			}
			about = append(about, k)
		}
		w := c.Count
		if got, want := CountVisit(3, meetings(c.Met), about), (Visit{3, w.Triggers, w.Handled, w.TurnedBack, w.RefusedFood, w.WentOver}); got != want {
			t.Errorf("visit %d: %+v, was %+v", i, got, want)
		}
	}
}
