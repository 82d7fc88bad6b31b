package exposure

import (
	"errors"
	"regexp"
	"slices"
	"strings"
	"testing"
)

func TestKindTable(t *testing.T) {
	snake := regexp.MustCompile(`^[a-z]+(_[a-z]+)*$`)
	seen := map[string]bool{}
	for k := range KindCount {
		i := k.Info()
		if !snake.MatchString(i.Name) || seen[i.Name] {
			t.Errorf("name %q is not a name of its own", i.Name)
		}
		seen[i.Name] = true
		if got, err := ParseKind(i.Name); err != nil || got != k {
			t.Errorf("%s parses as %v, %v", i.Name, got, err)
		}
		if i.Default.ReactionM <= 0 || i.Default.ReactionM >= i.Default.WorkingM {
			t.Errorf("%s: default distances %v", i.Name, i.Default)
		}
		if i.Source == "" || i.Group < 1 || i.Noun == "" {
			t.Errorf("%s: row not filled: %+v", i.Name, i)
		}
		if i.Motion == Stream && i.SpeedMPS <= 0 {
			t.Errorf("%s moves at %g m/s", i.Name, i.SpeedMPS)
		}
		if k > 0 && (k-1).Category() > k.Category() {
			t.Errorf("%s is out of the order of categories", i.Name)
		}
	}
	for c := range CategoryCount {
		if got, err := ParseCategory(c.String()); err != nil || got != c {
			t.Errorf("%s parses as %v, %v", c, got, err)
		}
		if len(c.Kinds()) == 0 {
			t.Errorf("%s has no kinds", c)
		}
	}
	if KindCount.String() != "kind(17)" || CategoryCount.String() != "category(5)" || PatternCount.String() != "pattern(8)" {
		t.Errorf("beyond the tables: %s %s %s", KindCount, CategoryCount, PatternCount)
	}
}

// The shares of a kind stand together, which the sums rely on.
func TestSharesInOrderOfKinds(t *testing.T) {
	for i := 1; i < len(shares); i++ {
		if shares[i].kind < shares[i-1].kind {
			t.Errorf("%s stands after %s", shares[i].kind, shares[i-1].kind)
		}
	}
}

// Every pattern is wholly made of kinds; dog walks bring their handlers too.
func TestSharesAddUp(t *testing.T) {
	for p := range PatternCount {
		for place := range PlaceKindCount {
			sum, dogs, rows := 0.0, 0.0, 0
			for _, s := range shares {
				if s.pattern == p {
					rows++
				}
				switch {
				case s.pattern != p || s.kind == Siren:
				case p == DogWalks && s.kind == Adult:
					dogs += s.at(place)
				default:
					sum += s.at(place)
				}
			}
			if rows > maxKindsPerPattern {
				t.Errorf("%s has %d kinds", p, rows)
			}
			if !agrees(sum, 1, 1e-9) || (p == DogWalks && dogs != 1) {
				t.Errorf("%s in place %d: shares add up to %g, handlers %g", p, place, sum, dogs)
			}
		}
		if (p.SpeedMPS() <= 0) != (p == GardenDogs) || p.String() == "" {
			t.Errorf("pattern %d has no speed or name", p)
		}
	}
}

func TestUnknownKind(t *testing.T) {
	for _, c := range []struct{ name, near string }{
		{"dog_on_leash", "dog_on_lead"},
		{"bycicle", "bicycle"},
		{"dog", "dog_on_lead"},
		{"CAR", "car"},
		{"dragon of the north sea", "adult"},
		{strings.Repeat("x", 5000), "adult"},
		{"", "adult"},
	} {
		_, err := ParseKind(c.name)
		var unknown *UnknownNameError
		if !errors.As(err, &unknown) || !slices.Contains(unknown.Near, c.near) {
			t.Errorf("%.20q: %v, want a hint at %s", c.name, err, c.near)
		}
		if len(err.Error()) > 600 {
			t.Errorf("%.20q: the error has %d characters", c.name, len(err.Error()))
		}
	}
	if _, err := ParseCategory("people "); err == nil || !strings.Contains(err.Error(), "people") {
		t.Errorf("category: %v", err)
	}
}
