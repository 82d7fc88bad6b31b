package body

import (
	"encoding/json"
	"reflect"
	"testing"

	"pgregory.net/rapid"
)

func TestBodiesAreReadPlain(t *testing.T) {
	var got struct {
		Name string          `json:"name"`
		Note string          `json:"note"`
		M    float64         `json:"m"`
		Body json.RawMessage `json:"body"`
	}
	body := "{\"name\":\"Fern\u202e\",\"note\":\"one\\ntwo\\u200b\",\"m\":38.25,\"body\":{\"rows\":[\"\\u2066Miko\",12345678901234567890]}}"
	if err := Unmarshal([]byte(body), &got); err != nil {
		t.Fatal(err)
	}
	if got.Name != "Fern" || got.Note != "one\ntwo" || got.M != 38.25 || string(got.Body) != `{"rows":["Miko",12345678901234567890]}` {
		t.Errorf("read %+v, %s", got, got.Body)
	}
	for _, broken := range []string{`{"a":"é"`, `{"a":"é"} 1`, "\xff"} {
		var v any
		if plain, usual := Unmarshal([]byte(broken), &v), json.Unmarshal([]byte(broken), &v); plain == nil || plain.Error() != usual.Error() {
			t.Errorf("%q: %v, as usual %v", broken, plain, usual)
		}
	}
}

// TestPlainBodiesStayAsTheyAre: what hides nothing is read as encoding/json reads it.
func TestPlainBodiesStayAsTheyAre(t *testing.T) {
	text := rapid.StringOf(rapid.SampledFrom([]rune("aé م字\"\\\n😀<&")))
	rapid.Check(t, func(rt *rapid.T) {
		body, err := json.Marshal(map[string]any{"t": text.Draw(rt, "t"), "l": []any{text.Draw(rt, "l"), rapid.Float64().Draw(rt, "x"), nil, true}})
		if err != nil {
			rt.Fatal(err)
		}
		var plain, usual any
		if err := Unmarshal(body, &plain); err != nil {
			rt.Fatal(err)
		}
		if err := json.Unmarshal(body, &usual); err != nil {
			rt.Fatal(err)
		}
		if !reflect.DeepEqual(plain, usual) {
			rt.Fatalf("%s was read as %v", body, plain)
		}
	})
}
