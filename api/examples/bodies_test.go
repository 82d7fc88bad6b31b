package examples

import (
	"bytes"
	"encoding/json"
	"io"
	"reflect"
	"strings"
	"testing"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"wideberth/api/wire"
	"wideberth/api/wire/kept"
	"wideberth/osmdata/plane"
	"wideberth/testdata"
)

// forms are what the examples are read as.
var forms = map[string]any{
	"plan": wire.WishBody{}, "proof": wire.Shown{}, "tell-plan": wire.Shown{}, "drawings": wire.Shown{}, "picture": wire.PictureBody{}, "hand-out": wire.HandOutBody{}, "week": wire.WeekBody{}, "where": wire.WhereBody{},
	"hazards": wire.AroundBody{}, "streets": wire.ReachBody{}, "sources": wire.AroundBody{}, "explain": wire.ExplainBody{}, "places": wire.PlacesBody{}, "way-out": wire.WayOutBody{}, "ways-out-along": wire.WaysOutBody{},
	"plan-outing": wire.OutingBody{}, "count-gate": wire.OutingBody{}, "check-outing": wire.CheckBody{}, "replan-outing": wire.DayBody{}, "draw-outing": wire.OutingWalksBody{}, "print-outing": wire.OutingPaper{},
	"vantages": wire.VantageBody{}, "plan-visits": wire.VisitsBody{}, "plan-setup": wire.SetupBody{}, "print-setup": wire.SetupSheetBody{}, "setup-picture": wire.SetupPictureBody{}, "replan-visit": wire.RevisitBody{},
	"print-visit": wire.VisitPaper{}, "draw-visit": wire.RevisitBody{}, "visit-picture": wire.VisitPictureBody{}, "visit-progress": wire.ProgressBody{},
	"log-walk": kept.WalkInput{}, "log-encounter": kept.EncounterInput{}, "add-report": kept.ReportInput{}, "set-settings": kept.Settings{}, "add-person": wire.PersonBody{}, "put-document": wire.DocumentBody{},
	"decide-visit": wire.DecisionBody{}, "copy-sequence": wire.CopyBody{},
}

// strictly reads a text as a form that has all its members.
func strictly(text string, form any) error {
	dec := json.NewDecoder(strings.NewReader(text))
	dec.DisallowUnknownFields()
	if err := dec.Decode(form); err != nil {
		return err
	}
	if _, err := dec.Token(); err != io.EOF {
		return io.ErrUnexpectedEOF
	}
	return nil
}

// TestExamplesHaveTheirForm: each body is JSON of one object, and has no member that its form
// does not know.
func TestExamplesHaveTheirForm(t *testing.T) {
	for name, text := range bodies {
		var object map[string]json.RawMessage
		if err := json.Unmarshal([]byte(text), &object); err != nil || len(object) == 0 {
			t.Errorf("%s is no object: %v", name, err)
		}
		if form, ok := forms[name]; ok {
			if err := strictly(text, reflect.New(reflect.TypeOf(form)).Interface()); err != nil {
				t.Errorf("%s: %v", name, err)
			}
		}
	}
	for name := range forms {
		if bodies[name] == "" {
			t.Errorf("no example of %s", name)
		}
	}
}

// everywhere goes through all values of a text, told by the name of their member.
func everywhere(name string, v any, f func(name string, v any)) {
	f(name, v)
	switch v := v.(type) {
	case map[string]any:
		for k, x := range v {
			everywhere(k, x, f)
		}
	case []any:
		for _, x := range v {
			everywhere(name, x, f)
		}
	}
}

// doorFrame is a plane round the town's door.
func doorFrame() plane.Frame { return plane.NewFrame(testdata.DoorLon, testdata.DoorLat) }

// TestExamplesLieInTheTown: every place lies within 1 km of the invented door, every time is RFC 3339, so
// that each can be tried as it stands.
func TestExamplesLieInTheTown(t *testing.T) {
	f := doorFrame()
	times, places := 0, 0
	for op, text := range bodies {
		var all any
		if err := json.Unmarshal([]byte(text), &all); err != nil {
			t.Fatal(err)
		}
		everywhere("", all, func(name string, v any) {
			if at, ok := v.(map[string]any); ok && at["lat"] != nil {
				places++
				lat, lon := at["lat"].(float64), at["lon"].(float64)
				if f.Forward(lon, lat).DistanceM(plane.Point{}) > 1000 {
					t.Errorf("%s: %g, %g lies far from the door", op, lat, lon)
				}
			}
			if text, ok := v.(string); ok && strings.HasPrefix(text, "202") {
				times++
				if _, err := time.Parse(time.RFC3339, text); err != nil {
					t.Errorf("%s: %s: %v", op, name, err)
				}
			}
		})
	}
	if times < 30 || places < 20 {
		t.Errorf("%d times and %d places", times, places)
	}
}

// TestExamplesAreUnderstood: those of planning say a wish that a planner takes, from the
// demo's own door.
func TestExamplesAreUnderstood(t *testing.T) {
	f := doorFrame()
	var w wire.WishBody
	if err := strictly(bodies["plan"], &w); err != nil {
		t.Fatal(err)
	}
	dog, err := w.Dog.DogOrTypical()
	if err != nil {
		t.Fatal(err)
	}
	wish := w.Wish(f)
	if wish.Dog = *dog; wish.From.DistanceM(f.Forward(testdata.DoorLon, testdata.DoorLat)) > 60 {
		t.Errorf("begins %v", wish.From)
	}
	if wish.Depart, err = wire.ParseTime("/depart", w.Depart, time.Date(2026, 11, 25, 0, 0, 0, 0, time.UTC), time.UTC); err != nil {
		t.Error(err)
	}
	if err := wish.Check(); err != nil {
		t.Error(err)
	}
	var o wire.OutingBody
	if err := strictly(bodies["plan-outing"], &o); err != nil {
		t.Fatal(err)
	}
	if got, err := o.Outing(f, time.UTC); err != nil || len(got.Dogs) != 2 || len(got.People) != 1 {
		t.Errorf("%+v, %v", got, err)
	}
	var d wire.DocumentBody
	if err := strictly(bodies["put-document"], &d); err != nil {
		t.Fatal(err)
	}
	if q, err := wire.ReadSequence(d.Body); err != nil || q.Step != 1 || len(q.Sequence.Visits) != 2 {
		t.Errorf("%+v, %v", q, err)
	}
}

// TestTimetableIsWhole: the example of a timetable is taken back in, with a time for each
// point of its line that never runs back, and as fast as somebody walks.
func TestTimetableIsWhole(t *testing.T) {
	var form wire.Timetable
	if err := strictly(timetable(), &form); err != nil {
		t.Fatal(err)
	}
	got, err := form.Decode(doorFrame(), time.UTC)
	if err != nil || len(got.Rows) != 1 {
		t.Fatal(err)
	}
	r := got.Rows[0]
	if len(r.Line) != len(r.ProgressS) || r.Line[0] != r.Line[len(r.Line)-1] || r.ProgressS[0] != 0 || !r.Leave.Equal(got.Start.Add(time.Duration(r.StartMin)*time.Minute)) {
		t.Errorf("%+v", r)
	}
	for i := 1; i < len(r.Line); i++ {
		s := r.ProgressS[i] - r.ProgressS[i-1]
		if mps := r.Line[i].DistanceM(r.Line[i-1]) / s; s <= 0 || mps < 0.5 || mps > 2 {
			t.Errorf("to point %d in %.1f s, %.2f m/s", i, s, mps)
		}
	}
}

// TestShowKnowsItsOperations: an example goes to the operation of its name, by POST or PUT;
// one that takes no body or has no example is left as it is.
func TestShowKnowsItsOperations(t *testing.T) {
	op := func(id string) (*huma.Operation, *huma.MediaType) {
		m := &huma.MediaType{}
		return &huma.Operation{OperationID: id, RequestBody: &huma.RequestBody{Content: map[string]*huma.MediaType{"application/json": m}}}, m
	}
	post, posted := op("plan")
	put, putted := op("set-walk")
	unknown, left := op("what nobody knows")
	get, got := op("plan")
	bare := &huma.Operation{OperationID: "week"}
	Show(&huma.OpenAPI{Paths: map[string]*huma.PathItem{"/a": {Post: post, Put: put}, "/b": {Post: unknown, Get: get}, "/c": {Put: bare}, "/d": {}}})
	for name, m := range map[string]*huma.MediaType{"plan": posted, "set-walk": putted} {
		if text, ok := m.Example.(json.RawMessage); !ok || !bytes.Equal(text, []byte(bodies[name])) {
			t.Errorf("%s shows %v", name, m.Example)
		}
	}
	if left.Example != nil || got.Example != nil || bare.RequestBody != nil {
		t.Errorf("shown where nothing is to be: %v, %v", left.Example, got.Example)
	}
}
