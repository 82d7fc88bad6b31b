package problem

import (
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/danielgtaylor/huma/v2"
)

// Bounds of what a refusal says of what was sent: it must never be a way to make
// the server write more than it read. A test holds every refusal below 64 kB.
const (
	mostTold      = 20       // faults
	mostToldBytes = 48 << 10 // of the JSON of all of them
	mostDetail    = 2000     // characters of a detail
	mostMessage   = 600      // of a message; names of all kinds and categories fit in
	mostPointer   = 200      // of a location
	mostValue     = 60       // of a value
)

// told are the first faults of a body in a form that stays small, and how many
// there are. Values are told where they are short and plain: an object that is
// wrong was sent by the one who reads.
func told(errs []error) (list []*huma.ErrorDetail, all int) {
	room := mostToldBytes
	for _, err := range errs {
		if err == nil {
			continue
		}
		all++
		if len(list) == mostTold || room < 0 {
			continue
		}
		var d *huma.ErrorDetail // whose own words repeat the whole value
		if known := huma.ErrorDetailer(nil); errors.As(err, &known) {
			d = known.ErrorDetail()
		} else {
			d = &huma.ErrorDetail{Message: err.Error()}
		}
		d = &huma.ErrorDetail{Message: shortened(d.Message, mostMessage), Location: shortened(d.Location, mostPointer), Value: plain(d.Value)}
		text, err := json.Marshal(d)
		if room -= len(text); err != nil || room < 0 {
			continue
		}
		list = append(list, d)
	}
	return list, all
}

// plain is a value if it is a number or true or false, or a text, shortened; else nil.
func plain(v any) any {
	switch v := v.(type) {
	case string:
		return shortened(v, mostValue)
	case bool, float64, float32, int, int64, int32, uint64, json.Number:
		return v
	}
	return nil
}

// shortened cuts a text to some characters and takes out what would not be seen, or
// would be seen elsewhere.
func shortened(text string, most int) string {
	cut := false
	if len(text) > most*utf8.UTFMax { // so that a long text is not gone through
		text, cut = text[:most*utf8.UTFMax], true
	}
	text = strings.Map(func(r rune) rune {
		if r == '\n' || r == '\t' {
			return ' '
		}
		if unicode.Is(unicode.C, r) || r == utf8.RuneError {
			return '\ufffd'
		}
		return r
	}, text)
	if runes := []rune(text); len(runes) > most {
		text, cut = string(runes[:most]), true
	}
	if cut {
		text += "…"
	}
	return text
}

// counted adds to a detail how many faults there are where not all are listed.
func counted(detail string, listed, all int) string {
	if listed < all {
		return fmt.Sprintf("%s (%d faults, of which %d are listed)", detail, all, listed)
	}
	return detail
}
