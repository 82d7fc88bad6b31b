package fault

import (
	"strings"
	"testing"
)

// TestTwice: a member that is given twice is named by its pointer, wherever it stands;
// the same name in another object is no fault.
func TestTwice(t *testing.T) {
	for text, want := range map[string]string{
		`{"a":1,"b":{"a":2},"c":[{"a":3},{"a":4}]}`: "",
		`{"a":1,"a":2}`: "/a",
		`{"a":{"x/y":1,"b":[0,{"c":1,"c":[]}]},"d":1}`: "/a/b/1/c",
		`{"a":{"x/y":1,"x/y":2}}`:                      "/a/x~1y",
		`[1,{"k":"k","k":null,"k":{}}]`:                "/1/k /1/k",
		`{"a":1`:                                       "",
		`not JSON`:                                     "",
		``:                                             "",
		`{"a":"a","b":"b"}`:                            "",
	} {
		var at []string
		for _, p := range Twice([]byte(text)) {
			at = append(at, p.Pointer)
		}
		if got := strings.Join(at, " "); got != want {
			t.Errorf("%s: %q, want %q", text, got, want)
		}
	}
}
