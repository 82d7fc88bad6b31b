package exposure

import (
	"cmp"
	"math"
	"slices"

	"wideberth/exposure/hours"
)

// Evidence is what a rate rests on. Rates of one kind and one kind of evidence
// are wrong together.
type Evidence uint8

// The kinds of evidence.
const (
	FromHomes      Evidence = iota // flows assigned from homes, places and streets
	FromFewPlaces                  // people where hardly a destination is mapped
	FromSource                     // a fixed place on the map
	FromReport                     // a fixed place that people reported
	FromCutMap                     // wheels and motors where most of what comes by begins beyond the map's border
	FromCounts                     // counted on the ground, there or on the street
	FromAssumption                 // homes and fences on the map, and an assumption about their dogs
	EvidenceCount
)

// defaultShape is the Gamma shape of the common doubt of a kind's rates: dogs
// 1.5 (an 80 % range of a factor 11, which has both published walk frequencies in
// it), motor traffic 2.0 (counts in one suburb lie closer, sites of one class in a
// country up to a factor of ten apart: UK DfT), bicycles 1.0 (a city's habit differs
// from its country's by up to three), people 0.9 and 0.7 (counts in one suburb),
// what begins beyond the border of the map 0.7 and 1.5, dogs behind garden fences 0.7,
// places 1.0. Our assumption but for what is named.
func defaultShape(k Kind, e Evidence) float64 {
	traffic := k.Category() == Traffic
	switch {
	case e == FromReport:
		return 3
	case e == FromCounts:
		return countedShape
	case e == FromSource:
		return 1
	case e == FromFewPlaces, e == FromAssumption, e == FromCutMap && !traffic:
		return 0.7
	case k.Category() == Dogs || k == Siren || e == FromCutMap:
		return 1.5
	case traffic:
		return 2
	case k.Category() == People:
		return 0.9
	}
	return 1
}

// countedShape is that of a street that was counted for long enough: one hour or day
// differs from the next, and one part of a street from another.
const countedShape = 4.0

// DoubtShape is the Gamma shape of the doubt about a kind's rates as predicted
// from homes, places and streets.
func (k Kind) DoubtShape() float64 { return defaultShape(k, FromHomes) }

// Term is one line of the breakdown of the hazard at an edge: what comes from
// where, how near, how often, and what it does to the dog.
type Term struct {
	Kind       Kind
	Pattern    Pattern // of a stream
	Source     int32   // -1 for a stream
	Own        bool    // the stream is on the way itself
	Evidence   Evidence
	Shape      float64 // Gamma shape of the doubt
	DistM      float64 // closest approach; for a sound what it would be without the buildings between
	InSight    bool
	RatePerS   float64 // encounters a second; at a source that stays, chances a second
	Active     float64 // at a source: the probability that somebody is there; 1 for streams and events
	P          float64 // that one encounter goes over threshold
	HazardPerS float64 // what the line adds to the hazard, dead time shared out
	speedMPS   float64 // of the movers, 0 for what stays
	reach      float64 // share of the edge in reach of a source
}

// Explain lists what makes the hazard of an edge at a moment for a dog, largest
// contribution first. All kinds are listed that can be met, those that the dog
// is calm about with P = 0.
func (f *Field) Explain(e int32, d *Dog, m hours.Moment, fa *Factors) []Term {
	terms := f.terms(nil, e, d.walker(), tempoAt(m), fa)
	slices.SortStableFunc(terms, func(a, b Term) int {
		return cmp.Or(cmp.Compare(b.HazardPerS, a.HazardPerS), cmp.Compare(b.RatePerS, a.RatePerS))
	})
	return terms
}

// terms appends the lines of one edge, kind by kind.
func (f *Field) terms(dst []Term, e int32, d *walker, t *tempo, fa *Factors) []Term {
	first := len(dst)
	for i := range shares {
		dst = f.streamTerms(dst, &shares[i], e, d, t, fa)
	}
	for touch := range f.TouchesOf(e) {
		for _, p := range f.Source(touch.Source).Mix {
			if term, ok := f.sourceTerm(&touch, p, d, t, fa); ok {
				dst = append(dst, term)
			}
		}
	}
	shareDeadTime(dst[first:])
	return dst
}

// shareDeadTime turns the rates of reactions of one edge into its hazard:
// streams and events of a kind share the kind's dead time; what stays has it in
// its rate.
func shareDeadTime(terms []Term) {
	var mu [KindCount]float64
	for i := range terms {
		if !terms[i].stays() {
			mu[terms[i].Kind] += terms[i].HazardPerS
		}
	}
	for i := range terms {
		if !terms[i].stays() {
			terms[i].HazardPerS /= 1 + mu[terms[i].Kind]*DeadTimeS
		}
	}
}

// stays says that the line is a source where somebody stays.
func (t *Term) stays() bool { return t.Source >= 0 && kinds[t.Kind].Motion != SoundEvent }

// streamTerms appends a share of a pattern: on the way itself and on others.
func (f *Field) streamTerms(dst []Term, s *share, e int32, d *walker, t *tempo, fa *Factors) []Term {
	learnt := fa.of(s.kind, f.Place[e], t.part)
	flow := t.flow(s.pattern) * f.part(s, f.Place[e]) * learnt.Mean * t.here(s.kind, s.pattern, f.Place[e], f.Marks[e]&Visitors != 0)
	if flow == 0 {
		return dst
	}
	info := &kinds[s.kind]
	line := Term{Kind: s.kind, Pattern: s.pattern, Source: -1, InSight: true, Active: 1,
		Evidence: f.evidence(e, s), speedMPS: info.SpeedMPS}
	line.Shape = t.doubt(cmp.Or(learnt.Shape, defaultShape(s.kind, line.Evidence)), patternActivity[s.pattern])
	add := func(rate, dist float64) {
		line.DistM = dist
		line.RatePerS, line.P = Grouped(rate, d.p(s.kind, dist), info.Group)
		line.HazardPerS = line.RatePerS * line.P
		dst = append(dst, line)
	}
	if own := f.PerDay(s.pattern, e); own > 0 {
		line.Own = true
		add(passesPerS(own*flow/3600, d.paceMPS, info.SpeedMPS),
			closestM(f.RoomM(e), f.sightM(e), info.SpeedMPS, d.paceMPS))
		line.Own = false
	}
	_, beside := f.factors(s.pattern, e)
	for b, bin := range f.NearBins(s.pattern, e) {
		if bin.Rate > 0 {
			add(bin.RatePerS()*flow*beside, bin.DistM(b))
		}
	}
	return dst
}

func (f *Field) evidence(e int32, s *share) Evidence {
	if f.Counted(e, s.pattern.Counted()) {
		return FromCounts
	}
	if s.pattern == GardenDogs {
		return FromAssumption
	}
	if s.pattern == WalkingTrips && f.Marks[e]&FewPlaces != 0 {
		return FromFewPlaces
	}
	if f.Marks[e]&CutCatchment != 0 && (s.pattern == WheelTrips || s.pattern == CarTraffic || s.pattern == HeavyTraffic) {
		return FromCutMap
	}
	return FromHomes
}

// PassesGardens tells whether an edge passes fences nearer than a distance in metres
// behind which a home's dog may stand.
func (f *Field) PassesGardens(e int32, withinM float64) bool {
	for b, bin := range f.NearBins(GardenDogs, e) {
		if bin.Rate > 0 && bin.DistM(b) < withinM {
			return true
		}
	}
	return false
}

// heardM is the distance at which a sound would be as loud without the buildings
// between: d 10^(drop/20), by spherical spreading.
func heardM(distM, dropDB float64) float64 { return distM * math.Pow(10, dropDB/20) }

// sourceTerm is the line of one kind at one source; false where it is neither
// seen nor heard or nobody is there.
func (f *Field) sourceTerm(touch *Touch, p Presence, d *walker, t *tempo, fa *Factors) (Term, bool) {
	info := &kinds[p.Kind]
	if !touch.reaches(info) || touch.Bare && t.season.InLeaf && !info.Heard {
		return Term{}, false
	}
	line := Term{Kind: p.Kind, Source: touch.Source, InSight: touch.SeenAt(t.moment), DistM: float64(touch.DistM),
		Active: 1, Evidence: FromSource, reach: float64(touch.Share)}
	if f.Source(touch.Source).Reported() {
		line.Evidence = FromReport
	}
	line.Shape = t.doubt(defaultShape(p.Kind, line.Evidence), f.Source(touch.Source).Activity)
	exists := fa.exists(touch.Source) * f.inUse(t, touch.Source)
	if info.Heard {
		line.DistM = heardM(line.DistM, float64(touch.DropDB))
	}
	need := d.needs[p.Kind]
	line.P = d.p(p.Kind, line.DistM)
	if info.Motion == SoundEvent {
		line.RatePerS = float64(touch.Share) * exists * f.eventsPerS(t, touch.Source, p)
		line.HazardPerS = line.RatePerS * line.P
		return line, line.RatePerS > 0
	}
	n := f.present(t, touch.Source, p)
	line.Active = exists * atLeastOne(n)
	line.RatePerS = float64(touch.Share) * line.Active / DeadTimeS
	line.HazardPerS = line.RatePerS * line.P
	if rho := f.density(touch.Source, info); rho > 0 {
		w := meanRelativeSpeed(info.SpeedMPS, d.paceMPS)
		open := float64(touch.Share) * exists * touch.sides() * openPerS(n*rho, openReachM(need, line.DistM), w)
		if open < line.HazardPerS {
			line.RatePerS = float64(touch.Share) * exists * touch.sides() * openPerS(n*rho, need.WorkingM, w)
			line.HazardPerS, line.P = open, min(1, open/max(line.RatePerS, open))
		}
	}
	return line, n*exists > 0
}

// reaches tells whether a kind at a source is met from the edge: heard, or in sight
// as far as streams are followed.
func (t *Touch) reaches(info *KindInfo) bool {
	return info.Heard || t.InSight && t.DistM <= BinMaxM
}

// SeenAt says whether the source is in sight at a moment: some are while trees are bare.
func (t *Touch) SeenAt(m hours.Moment) bool { return t.InSight && !(t.Bare && m.InLeaf()) }

// sides is the share of the two sides of the walker's line on which the movers of
// an area are: both inside it, one beside it.
func (t *Touch) sides() float64 {
	if t.DistM > 0 {
		return 0.5
	}
	return 1
}

// density is how thick (1/m^2) one mover of a kind lies over the mapped area of a
// source; 0 where no area is mapped and for what is heard. Movers that roam an
// area come near at the ideal-gas rate, whatever chance there is of one; from
// outside, at the distance d, at most at the rate of those farther than d. So a
// source with an area adds the lesser of that and a fresh chance every dead time.
func (f *Field) density(source int32, info *KindInfo) float64 {
	area := float64(f.Source(source).AreaM2)
	if area <= 0 || info.Heard {
		return 0
	}
	return 1 / area
}

// Reported says that people reported the source; the map does not have it.
func (s *Source) Reported() bool { return len(s.OSM) > 7 && s.OSM[:7] == "report/" }

var evidenceNames = [EvidenceCount]string{"map_flows", "few_places", "map_source", "report", "map_border", "counted", "assumed"}

// String is the name of the evidence, like "map_source".
func (e Evidence) String() string { return evidenceNames[min(e, EvidenceCount-1)] }
