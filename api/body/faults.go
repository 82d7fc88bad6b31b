package body

import "github.com/danielgtaylor/huma/v2"

// MostBytes is the most of one operation's body, unless it says otherwise; the server
// stops at 16 MB whatever it says.
const MostBytes = 1 << 20

// MostFaults are looked for in a body: each costs about a kB before twenty of them are
// told.
const MostFaults = 10_000

// Faulty says that a body has more faults by its schema than are looked for.
func Faulty(registry huma.Registry, schema *huma.Schema, sent []byte) bool {
	var v any
	if schema == nil || Unmarshal(sent, &v) != nil {
		return false
	}
	f := faults{registry: registry, path: huma.NewPathBuffer(nil, 0)}
	f.look(schema, v)
	return f.found > MostFaults
}

// faults counts what huma's validation would find, part by part, and stops where it is
// too much: huma itself lists all.
type faults struct {
	registry huma.Registry
	path     *huma.PathBuffer
	result   huma.ValidateResult
	found    int
}

func (f *faults) look(s *huma.Schema, v any) {
	for s != nil && s.Ref != "" {
		s = f.registry.SchemaFromRef(s.Ref)
	}
	if s == nil || f.found > MostFaults {
		return
	}
	list, isList := v.([]any)
	object, isObject := v.(map[string]any)
	switch {
	case s.Type == huma.TypeArray && isList:
		for _, x := range list {
			f.look(s.Items, x)
		}
	case s.Type == huma.TypeObject && isObject:
		for _, name := range s.Required {
			if _, there := object[name]; !there {
				f.found++
			}
		}
		for name, x := range object {
			f.member(s, name, x)
		}
	default: // no parts, or not those that it should have
		huma.Validate(f.registry, s, f.path, huma.ModeWriteToServer, v, &f.result)
		f.found += len(f.result.Errors)
		f.result.Reset()
	}
}

// member looks at a member of an object.
func (f *faults) member(s *huma.Schema, name string, x any) {
	if property, known := s.Properties[name]; known {
		f.look(property, x)
	} else if other, ok := s.AdditionalProperties.(*huma.Schema); ok {
		f.look(other, x)
	} else if s.AdditionalProperties == false {
		f.found++
	}
}
