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
	var in [mostDeep]level // used again by what comes after at the same depth: large bodies cost little
	deep := 0
	for {
		tok, err := dec.Token()
		if err != nil {
			return out
		}
		if d, is := tok.(json.Delim); is && (d == '}' || d == ']') {
			deep--
			continue
		}
		if deep > 0 {
			if top := &in[deep-1]; top.key {
				top.name, top.key = tok.(string), false // the decoder lets nothing else be a key
				if top.seen[top.name] {
					out = append(out, Problem{Pointer: pointer(in[:deep]), Mend: "is given twice: keep one"})
				}
				top.saw(top.name)
				continue
			} else if top.object {
				top.key = true
			} else {
				top.n++
			}
		}
		if d, is := tok.(json.Delim); is {
			if deep == mostDeep {
				return out
			}
			in[deep].open(d == '{')
			deep++
		}
	}
}

// level is an object or a list that is being read.
type level struct {
	object bool
	key    bool            // a key comes next
	seen   map[string]bool // keys
	name   string          // of the member that is read
	n      int             // elements of a list so far
}

func (l *level) open(object bool) {
	clear(l.seen)
	l.object, l.key, l.name, l.n = object, object, "", 0
}

func (l *level) saw(name string) {
	if l.seen == nil {
		l.seen = map[string]bool{}
	}
	l.seen[name] = true
}

// pointer is the JSON pointer to what is read.
func pointer(in []level) string {
	var b strings.Builder
	for i := range in {
		name := in[i].name
		if !in[i].object {
			name = strconv.Itoa(in[i].n - 1)
		}
		b.WriteString("/" + strings.NewReplacer("~", "~0", "/", "~1").Replace(name))
	}
	return b.String()
}
