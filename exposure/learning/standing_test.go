package learning

import (
	"math"
	"testing"
	"time"
)

func words(ages ...int) []Statement {
	var out []Statement
	for _, days := range ages {
		there := days >= 0
		if !there {
			days = -days
		}
		out = append(out, Statement{today.Add(-time.Duration(days) * 24 * time.Hour), there})
	}
	return out
}

// TestStandingLife: by Bayes, prior odds 1/4 and one word that is right nine times
// in ten give 9/4; two half-lives later the word is worth 0.5 + 0.4/4 = 0.6.
func TestStandingLife(t *testing.T) {
	weigh := func(s Spoken, after time.Duration) Standing {
		t.Helper()
		out, err := s.Standing(today.Add(after))
		if err != nil {
			t.Fatal(err)
		}
		return out
	}
	fresh := Spoken{Said: words(0)}
	if s := weigh(fresh, 0); math.Abs(s.Presence-9.0/13) > 1e-9 || !s.Live || s.Confirm != 1 || s.Dispute != 0 || !s.Last.Equal(today) {
		t.Errorf("fresh %+v", s)
	}
	if s := weigh(fresh, 2*reportHalfLife); math.Abs(s.Presence-3.0/11) > 1e-9 || s.Live {
		t.Errorf("after two half-lives %+v, want presence 3/11 and no longer live", s)
	}
	if s := weigh(Spoken{Said: words(3, 2, -1)}, 0); s.Confirm != 2 || s.Dispute != 1 || !s.Last.Equal(today.Add(-24*time.Hour)) || !s.Live {
		t.Errorf("two for, one against: %+v", s)
	}
	if s := weigh(Spoken{}, 0); s.Live || s.Presence != reportedPrior || !s.Last.IsZero() {
		t.Errorf("nobody's word is left: %+v", s)
	}
	fresh.Ends = today.Add(time.Hour)
	if s := weigh(fresh, time.Hour); !s.Live {
		t.Errorf("at its end %+v", s)
	}
	if s := weigh(fresh, time.Hour+time.Second); s.Live || s.Presence != 0 {
		t.Errorf("after its end %+v", s)
	}
}

// TestStandingOfMapped: prior odds 9, two words against at 1/9 each: odds 1/9,
// presence 0.1, of 0.9. It counts whatever is said, and comes back as the words fade.
func TestStandingOfMapped(t *testing.T) {
	against := Spoken{Mapped: true, Said: words(-0, -0)}
	against.Said[0].There, against.Said[1].There = false, false
	s, err := against.Standing(today)
	if err != nil || math.Abs(s.Left()-1.0/9) > 1e-9 || !s.Live {
		t.Errorf("disputed twice %+v, left %g, %v", s, s.Left(), err)
	}
	if s, err = against.Standing(today.Add(10 * reportHalfLife)); err != nil || s.Left() < 0.95 {
		t.Errorf("ten half-lives later %+v, left %g, %v", s, s.Left(), err)
	}
	if s, err = (&Spoken{Mapped: true, Said: words(0, 0, 0)}).Standing(today); err != nil || s.Left() != 1 {
		t.Errorf("confirmed beyond the map %+v, left %g, %v", s, s.Left(), err)
	}
}
