package fault

import (
	"bytes"
	"encoding/json"
	"strconv"
	"strings"
)

// mostDeep is how deep a text is looked into: nothing that anybody reads here nests
// deeper, and what is not read needs no memory.
const mostDeep = 50

// Twice names the members of JSON objects that are given more than once, of which all
// but the last would be taken for nothing. Text that is no JSON has none: whoever reads
// it says so.
func Twice(text []byte) (out Problems) {
	dec := json.NewDecoder(bytes.NewReader(text))
	type level struct {
		seen map[string]bool // nil in a list
		name string          // of the member that is read, or the index in a list
		n    int
		key  bool // a key comes next
	}
	var in []*level
	pointer := func() string {
		var b strings.Builder
		for _, l := range in {
			b.WriteString("/" + strings.NewReplacer("~", "~0", "/", "~1").Replace(l.name))
		}
		return b.String()
	}
	for {
		tok, err := dec.Token()
		if err != nil {
			return out
		}
		var top *level
		if len(in) > 0 {
			top = in[len(in)-1]
		}
		if d, is := tok.(json.Delim); is && (d == '}' || d == ']') {
			in = in[:len(in)-1]
			continue
		}
		if top != nil && top.seen != nil && top.key {
			top.name, top.key = tok.(string), false // the decoder lets nothing else be a key
			if top.seen[top.name] {
				out = append(out, Problem{Pointer: pointer(), Mend: "is given twice: keep one"})
			}
			top.seen[top.name] = true
			continue
		}
		if top != nil {
			if top.seen != nil {
				top.key = true
			} else {
				top.name = strconv.Itoa(top.n)
				top.n++
			}
		}
		if len(in) == mostDeep {
			return out
		}
		switch tok {
		case json.Delim('{'):
			in = append(in, &level{seen: map[string]bool{}, key: true})
		case json.Delim('['):
			in = append(in, &level{})
		}
	}
}
