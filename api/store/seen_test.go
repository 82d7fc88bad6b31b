package store_test

import (
	"encoding/json"
	"fmt"
	"testing"

	"wideberth/api/store"
	"wideberth/api/wire/kept"
)

// TestHandlersSeeOutingsOfTheirDogs: of a timetable that names a dog which they are
// not given a handler sees nothing, neither by its id nor in the list, until the
// account's keeper allows it; another dog's training they do not see even then.
func TestHandlersSeeOutingsOfTheirDogs(t *testing.T) {
	each(t, func(t *testing.T, h *house) {
		ctx := t.Context()
		fern, miko := h.dog("Fern"), h.dog("Miko")
		h.timetable("mine", fmt.Sprintf(`{"dogs":[%q]}`, fern.ID))
		h.timetable("mixed", fmt.Sprintf(`{"dogs":[%q,%q]}`, fern.ID, miko.ID))
		h.timetable("others", fmt.Sprintf(`{"dogs":[%q]}`, miko.ID))
		h.timetable("none", `{}`)
		h.sequence(fern.ID, "fern's")
		h.sequence(miko.ID, "miko's")
		_, err := h.PutDocument(ctx, h.trainer, kept.Document{Kind: kept.Sequences, ID: "loose", Body: json.RawMessage(fmt.Sprintf(`{"dog":%q}`, miko.ID))})
		h.ok(err)
		h.give(h.handler, fern.ID)
		sees := func(when string, w store.Who, want map[string]bool) {
			t.Helper()
			for _, kind := range []kept.DocumentKind{kept.Outings, kept.Sequences} {
				listed := map[string]bool{}
				heads, err := h.Documents(ctx, w, kind)
				h.ok(err)
				for _, d := range heads {
					listed[d.ID] = true
				}
				for id, may := range want {
					if (kind == kept.Outings) != (id == "mine" || id == "mixed" || id == "others" || id == "none") {
						continue
					}
					_, err := h.Document(ctx, w, kind, id)
					if listed[id] != may || (err == nil) != may {
						t.Errorf("%s: %s %q is listed %v, read %v, want %v", when, kind, id, listed[id], err, may)
					}
				}
			}
		}
		sees("a handler", h.handler, map[string]bool{"mine": true, "mixed": false, "others": false, "none": true, "fern's": true, "miko's": false, "loose": false})
		all := map[string]bool{"mine": true, "mixed": true, "others": true, "none": true, "fern's": true, "miko's": true, "loose": true}
		sees("a trainer", h.trainer, all)
		set := kept.DefaultSettings()
		set.HandlersSeeOutings = true
		want(t, "a handler's wish to see all", h.SetSettings(ctx, h.handler, set), store.ErrForbidden)
		h.ok(h.SetSettings(ctx, h.keeper, set))
		sees("a handler who may", h.handler, map[string]bool{"mine": true, "mixed": true, "others": true, "none": true, "fern's": true, "miko's": false, "loose": false})
	})
}
