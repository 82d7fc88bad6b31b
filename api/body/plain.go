// Package body reads what was sent: as JSON with its texts made plain, and, before a large
// one is taken apart, whether it has more faults than anybody would read.
package body

import (
	"bytes"
	"encoding/json"

	"wideberth/osmdata"
	"wideberth/osmdata/fault"
)

// Unmarshal reads a body with its texts made plain, by the same rule as the
// names of a map: what people write may go on for lines, but hides nothing. Nearly all
// bodies have nothing to be cleaned, and are read as they are.
func Unmarshal(body []byte, into any) error {
	if twice := fault.Twice(body); len(twice) > 0 {
		return twice
	}
	if !mayHide(body) {
		return json.Unmarshal(body, into)
	}
	var v any
	dec := json.NewDecoder(bytes.NewReader(body))
	dec.UseNumber() // as they were written
	if dec.Decode(&v) != nil || dec.More() {
		return json.Unmarshal(body, into) // which says what is wrong, and where
	}
	clean, err := json.Marshal(plainTexts(v))
	if err != nil {
		return err
	}
	return json.Unmarshal(clean, into)
}

// mayHide says that a body has bytes beyond ASCII or an escape by number.
func mayHide(body []byte) bool {
	for _, b := range body {
		if b >= 0x7f {
			return true
		}
	}
	return bytes.Contains(body, []byte(`\u`))
}

// plainTexts makes the texts of a JSON value plain. Names of members stay as they are,
// for they are no words of people.
func plainTexts(v any) any {
	switch v := v.(type) {
	case string:
		return osmdata.PlainLines(v)
	case []any:
		for i := range v {
			v[i] = plainTexts(v[i])
		}
	case map[string]any:
		for k := range v {
			v[k] = plainTexts(v[k])
		}
	}
	return v
}
