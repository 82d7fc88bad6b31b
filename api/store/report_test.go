package store_test

import (
	"math"
	"strings"
	"testing"
	"time"

	"wideberth/api/store"
	"wideberth/api/wire/kept"
)

func barker() kept.ReportInput {
	return kept.ReportInput{Kind: "dog_behind_fence", What: "dog behind the green fence", Lat: ptr(39.75), Lon: ptr(-75.55), There: true}
}

// spoken counts what people say of a report: for and against.
func spoken(r kept.Report) (there, not int) {
	for _, word := range r.Said {
		if word.There {
			there++
		} else {
			not++
		}
	}
	return there, not
}

func TestReportLife(t *testing.T) {
	each(t, func(t *testing.T, h *house) {
		ctx := t.Context()
		r, err := h.AddReport(ctx, h.handler, barker())
		h.ok(err)
		if there, _ := spoken(r); there != 1 || !r.Said[0].When.Equal(h.now()) || r.Number != 1 || r.RadiusM != kept.DefaultReportRadiusM {
			t.Errorf("fresh report %+v", r)
		}
		h.advance(days(120))
		r, err = h.State(ctx, h.trainer, r.ID, true)
		h.ok(err)
		if there, not := spoken(r); there != 2 || not != 0 || !r.Said[1].When.Equal(h.now()) || !r.Said[0].When.Before(h.now()) {
			t.Errorf("confirmed %+v", r)
		}
		r, err = h.State(ctx, h.trainer, r.ID, false)
		h.ok(err)
		if there, not := spoken(r); there != 1 || not != 1 {
			t.Errorf("a person's second word takes the place of the first: %+v", r)
		}
		if again, err := h.Report(ctx, h.handler, r.ID); err != nil || len(again.Said) != 2 {
			t.Errorf("looked at again: %+v, %v", again, err)
		}
		want(t, "a handler deletes what others spoke of", h.DeleteReport(ctx, h.handler, r.ID), store.ErrForbidden)
		h.ok(h.DeleteReport(ctx, h.trainer, r.ID))
		gone := h.person(kept.Handler)
		left, err := h.AddReport(ctx, gone, barker())
		h.ok(err)
		h.ok(h.RemovePerson(ctx, h.keeper, gone.Person))
		if left, err = h.Report(ctx, h.trainer, left.ID); err != nil || len(left.Said) != 0 {
			t.Errorf("the word of somebody who left: %+v, %v", left, err)
		}
		want(t, "a handler deletes what somebody said who left", h.DeleteReport(ctx, h.handler, left.ID), store.ErrForbidden)
		h.ok(h.DeleteReport(ctx, h.trainer, left.ID))
		own, err := h.AddReport(ctx, h.handler, barker())
		h.ok(err)
		h.ok(h.DeleteReport(ctx, h.handler, own.ID))
		if list, err := h.Reports(ctx, h.handler); err != nil || len(list) != 0 {
			t.Errorf("left %+v, %v", list, err)
		}
	})
}

// TestMappedSources: there is one report of a source that the map has, and each
// further one is that person's word on it; another account has its own.
func TestMappedSources(t *testing.T) {
	each(t, func(t *testing.T, h *house) {
		ctx := t.Context()
		r, err := h.AddReport(ctx, h.handler, kept.ReportInput{Mapped: "way/77", There: false})
		h.ok(err)
		again, err := h.AddReport(ctx, h.trainer, kept.ReportInput{Mapped: "way/77", There: false})
		h.ok(err)
		if _, not := spoken(again); again.ID != r.ID || not != 2 {
			t.Errorf("a second word makes %+v", again)
		}
		if l, err := h.Lessons(ctx, h.trainer); err != nil || len(l.Reports) != 1 || l.Reports[0].Mapped != "way/77" || len(l.Reports[0].Said) != 2 {
			t.Errorf("lessons %+v, %v", l, err)
		}
		if l, err := h.Lessons(ctx, h.account("Birch House")); err != nil || len(l.Reports) != 0 {
			t.Errorf("another account learns of it: %+v, %v", l, err)
		}
	})
}

func TestReportRefusals(t *testing.T) {
	h := newHouse(t, newFile(t))
	type in = kept.ReportInput
	cases := map[string]struct {
		change  func(r *in)
		pointer string
	}{
		"no kind":          {func(r *in) { r.Kind = "" }, "/kind"},
		"unknown kind":     {func(r *in) { r.Kind = "dragon" }, "/kind"},
		"no place":         {func(r *in) { r.Lat, r.Lon = nil, nil }, "/lat"},
		"half a place":     {func(r *in) { r.Lon = nil }, "/lat"},
		"two corners":      {func(r *in) { r.Area = [][2]float64{{0, 0}, {1, 1}} }, "/area"},
		"corner elsewhere": {func(r *in) { r.Area = [][2]float64{{0, 0}, {1, 1}, {2, 95}} }, "/area/2"},
		"huge":             {func(r *in) { r.RadiusM = 501 }, "/radius_m"},
		"not a number":     {func(r *in) { r.RadiusM = math.NaN() }, "/radius_m"},
		"a thousand":       {func(r *in) { r.Number = 1000 }, "/number"},
		"hours":            {func(r *in) { r.Hours = "whenever" }, "/hours"},
		"long hours":       {func(r *in) { r.Hours = strings.Repeat("Mo 10:00-11:00; ", 40) }, "/hours"},
		"long words":       {func(r *in) { r.What = strings.Repeat("w", 81) }, "/what"},
		"not there":        {func(r *in) { r.There = false }, "/there"},
		"not of the map":   {func(r *in) { r.Mapped = "street/1" }, "/mapped"},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			r := barker()
			c.change(&r)
			_, err := h.AddReport(t.Context(), h.handler, r)
			wantProblem(t, name, err, c.pointer)
		})
	}
	club := barker()
	club.Kind, club.Hours, club.Number, club.Ends = "runner", "Th 19:00-20:30", 12, start.Add(90*24*time.Hour)
	if _, err := h.AddReport(t.Context(), h.handler, club); err != nil {
		t.Errorf("a running club on Thursdays at seven: %v", err)
	}
}

// TestReportsAreBounded: one account's reports, which every plan looks at, cannot
// grow without end; deleting makes room, and words on what the map has need none.
func TestReportsAreBounded(t *testing.T) {
	h := newHouse(t, newFile(t))
	ctx := t.Context()
	var last kept.Report
	for range 1000 {
		var err error
		last, err = h.AddReport(ctx, h.handler, barker())
		h.ok(err)
	}
	want(t, "one more", onlyErr(h.AddReport(ctx, h.handler, barker())), store.ErrLimit)
	h.ok(onlyErr(h.AddReport(ctx, h.handler, kept.ReportInput{Mapped: "way/1", There: true})))
	other := h.account("Birch House")
	h.ok(onlyErr(h.AddReport(ctx, other, barker())))
	h.ok(h.DeleteReport(ctx, h.handler, last.ID))
	h.ok(onlyErr(h.AddReport(ctx, h.handler, barker())))
}
