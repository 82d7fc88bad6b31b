package outing

import (
	"context"
	"math/rand/v2"
	"slices"
	"testing"
)

// TestLead holds the reason for a late first walk against the rules written down plainly:
// every minute before it is tried, of all walks together and of the first alone.
func TestLead(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 11))
	seen := map[LeadCause]int{}
	for round := range 300 {
		q := smallProblem(rng, 2+round%3, 3, 60)
		for p := range q.people {
			q.people[p].from += rng.IntN(25)
		}
		f := newFinder(q, uint64(round))
		best := f.run(context.Background(), 300) // little, so that minutes are left over
		got := newFinder(q, 1).lead(best)
		d := firstOut(best)
		if d < 0 || best[d].start == 0 {
			if got != nil {
				t.Fatalf("round %d: %+v, and the first walk begins with the outing", round, got)
			}
			continue
		}
		seen[got.cause]++
		able := false
		for p := range q.people {
			t := &q.people[p]
			able = able || t.from < best[d].start && t.experience >= q.dogs[d].least && (q.dogs[d].never == nil || !q.dogs[d].never[p])
		}
		whole, alone := earlier(q, best, everyDog), earlier(q, best, d)
		switch got.cause {
		case LeadSpare, LeadCalmer:
			want := alone
			if got.all {
				want = whole
			}
			if !able || !slices.Contains(want, got.spare) {
				t.Errorf("round %d: %+v, but only %v keep the rules", round, got, want)
			}
			moved := shifted(best, got.spare, d)
			if got.all {
				moved = shifted(best, got.spare, everyDog)
			}
			if dear := f.total(moved) > f.total(best); dear != (got.cause == LeadCalmer) {
				t.Errorf("round %d: %+v, sooner costs %.3f instead of %.3f", round, got, f.total(moved), f.total(best))
			}
		default:
			if len(whole)+len(alone) > 0 {
				t.Errorf("round %d: %+v, but all could go %v sooner and the first %v", round, got, whole, alone)
			}
			if got.cause == LeadRoom && (got.other < 0 || !able) {
				t.Errorf("round %d: %+v", round, got)
			}
			if got.cause == LeadRoom {
				o, forbidden := best[got.other], false
				for m := got.from; m < best[d].start; m++ {
					forbidden = forbidden || q.table.forbids(o.loop, best[d].loop, q.class[d][got.other], m-o.start)
				}
				if !forbidden {
					t.Errorf("round %d: dog %d is not in the way", round, got.other)
				}
			}
		}
	}
	for _, c := range []LeadCause{LeadPeople, LeadRoom, LeadCalmer, LeadSpare} {
		if seen[c] < 3 {
			t.Errorf("%s came up %d times: too few to show anything", c, seen[c])
		}
	}
}

// shifted is a timetable with all walks, or one, so many minutes sooner.
func shifted(all []placement, n, only int) []placement {
	moved := slices.Clone(all)
	for d := range moved {
		if only < 0 || d == only {
			moved[d].start -= n
		}
	}
	return moved
}

// earlier are the minutes by which walks can be sooner by the plain rules.
func earlier(q *problem, best []placement, only int) (out []int) {
	for n := 1; n <= best[firstOut(best)].start; n++ {
		moved := shifted(best, n, only)
		good := true
		for d, at := range moved {
			good = good && (at.loop < 0 || fits(q, moved, d, at))
		}
		if good {
			out = append(out, n)
		}
	}
	return out
}
