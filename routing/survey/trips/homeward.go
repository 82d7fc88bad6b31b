package trips

import "math"

// Homeward is one worker's scratch for the ways home to a door. All doors on the dead
// ends of a foot have the tree from that foot in common, which is grown as far as a walk
// asks for.
type Homeward struct {
	k       *Metric
	gr      *grower
	foot    int32   // root of the tree, -1 for none
	grownM  float64 // from the foot
	twig    int32   // of the door, -1 where it is the foot
	branch  int32   // first twig of its dead end
	offsetM float64 // from the door to the foot
	top     int32   // step inside at the foot
}

func NewHomeward(k *Metric) *Homeward {
	return &Homeward{k: k, gr: newGrower(k.m, k.reach), foot: -1}
}

// Leave takes a vertex as the door.
func (h *Homeward) Leave(v int32) {
	foot, twig := h.k.m.seat(v)
	if foot != h.foot {
		h.gr.forget()
		h.foot, h.grownM = foot, -1
		h.gr.begin(foot, 0)
	}
	h.twig, h.branch, h.offsetM, h.top = twig, -1, h.k.offset(twig), -1
	if twig >= 0 {
		h.branch = h.k.m.branch(twig)
		h.top = h.gr.enter(h.k, twig)
	}
}

// Within makes sure that distM is true of all that lies no farther from the door.
func (h *Homeward) Within(m float64) {
	if m = min(m, h.k.reach) - h.offsetM; m > h.grownM {
		h.gr.search(h.k, m)
		h.grownM = m
	}
}

// DistM is the way between the door and a vertex, +Inf beyond reach. Of what lies
// farther than within was told it may be too long.
func (h *Homeward) DistM(v int32) float64 {
	foot, twig := h.k.m.seat(v)
	if s := h.stepOf(twig); s != nil {
		return s.cost
	}
	long := h.offsetM + h.gr.cost[foot]
	if twig >= 0 {
		long += h.k.leave[twig]
	}
	if long > h.k.reach || h.ownBranch(twig) {
		return math.Inf(1)
	}
	return long
}

// ownBranch tells whether a twig stands on the dead end of the door.
func (h *Homeward) ownBranch(twig int32) bool {
	return twig >= 0 && h.twig >= 0 && twig >= h.branch && twig < h.k.m.twigs[h.branch].end
}

// stepOf is the step of a twig on the door's own dead end, nil for others.
func (h *Homeward) stepOf(twig int32) *step {
	if !h.ownBranch(twig) {
		return nil
	}
	if i := h.gr.stepOf[twig]; int(i) < len(h.gr.inside) && h.gr.inside[i].at == twig {
		return &h.gr.inside[i]
	}
	return nil
}

// Arc is the last Arc of the way from the door to a vertex within reach.
func (h *Homeward) Arc(v int32) int32 {
	m := h.k.m
	foot, twig := m.seat(v)
	if s := h.stepOf(twig); s != nil {
		if s.link == twig {
			return m.g.Star.Twin[m.twigs[twig].arc]
		}
		return m.twigs[s.link].arc // from a twig that hangs on this one
	}
	if twig >= 0 {
		return m.g.Star.Twin[m.twigs[twig].arc]
	}
	if foot == h.foot {
		return m.twigs[h.gr.inside[h.top].at].arc
	}
	return m.arcs[h.gr.by[foot].link]
}
