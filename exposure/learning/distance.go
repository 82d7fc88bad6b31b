package learning

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"wideberth/exposure"
)

// The dose-response of going over threshold at a closest approach of d metres:
//
//	P(d) = 1 / (1 + (d/R)^b),   b = ln 9 / ln(W/R),   that is   logit P = b (ln R - ln d)
//
// with reaction distance R (P = 1/2) and working distance W > R (P = 1/10),
// both in metres. A log-logistic curve; that it fits dogs is our assumption.

// defaultWorkingM and DefaultWorkingLogSD are the prior for a dog of which
// nothing is known. Trainers commonly quote 3 to 60 m, most first sessions at
// 15 to 40 m (common practice; no published distribution was found), so the
// prior is centred in the latter and holds the former within two deviations.
const (
	defaultWorkingM     = 25.0
	DefaultWorkingLogSD = 0.8
)

// DefaultIntakeLogSD is the standard deviation of the natural log of an
// intake's distance where the handler gave one: out by a factor of 1.6 one way
// or the other in one of three cases, by 2.7 in one of twenty. Our assumption.
const DefaultIntakeLogSD = 0.5

// forgottenAfter is the age in half-lives from which an encounter is left out: it
// would count less than a hundredth.
const forgottenAfter = 7

// workingToReaction is W/R where only one of the two is known. Our assumption.
const workingToReaction = 2.0

const (
	// Share of an intake's variance that the kinds of a category have in
	// common: handlers who see one kind too near see all of them too near.
	// Our assumption.
	sharedVariance = 0.75
	// Standard deviation of ln b round the intake's slope: W/R = 2 may be 1.7
	// or 2.5. Our assumption.
	slopeLogSD = 0.3
	// Standard deviation of what a late notice adds to the logit: odds double
	// or halve. Its sign is left open, for a late notice has two effects: the
	// dog has no time to react, and it startles. Our assumption.
	lateSD = 0.7
	// Standard deviation of ln(f - 1) round RefusalOdds f: some dogs eat until
	// they lunge, some refuse long before. Our assumption.
	refusalLogSD = 1.0
	// What an encounter noticed late is worth in EffectiveN: it bears on the
	// reaction distance, hardly on the working distance. Our assumption.
	lateWorth = 0.5
	// By how much at most the distance from which a meeting is noticed in time is
	// less than what was said, where the dog works nearer. Our assumption.
	leastInTime = 0.5
	minWeight   = 1.0 / (1 << forgottenAfter)
)

// ln 9: the log odds between one half and one tenth.
var logOddsTenth = math.Log(9)

// Settings are the adjustable parts of the fit. Start from defaultSettings.
type Settings struct {
	// HalfLife of an encounter's weight; above 0. It stands for a dog that
	// changes: without change a smaller weight would be waste.
	HalfLife time.Duration
	// Lapse, in [0, 0.1], is the fixed chance that a row says the opposite of
	// what was so (wrong button, a trigger nobody saw): the fitted chance runs
	// from Lapse to 1 - Lapse. Wichmann & Hill 2001, Perception &
	// Psychophysics 63:1293-1313, show the bias of ignoring lapses and keep
	// them within 0 to 0.06.
	Lapse float64
	// RefusalOdds >= 1 is the factor on the odds when refusing food counts
	// beside going over, at every distance (a proportional-odds model,
	// McCullagh 1980, J. R. Stat. Soc. B 42:109-142). The default, 2.25, says
	// that at the working distance one dog in ten goes over and one in ten
	// more refuses food, so that four in five are handled. Our assumption, and
	// only the start: the dog's own factor is fitted (refusalLogSD). At 1, food
	// says nothing.
	RefusalOdds float64
	// Need is the EffectiveN below which nothing is claimed; above 0.
	Need float64
}

// defaultSettings are the settings for daily use.
func defaultSettings() Settings {
	return Settings{
		HalfLife:    60 * 24 * time.Hour,
		Lapse:       0.02,
		RefusalOdds: 2.25,
		Need:        8,
	}
}

func (s Settings) check() error {
	switch {
	case s.HalfLife <= 0:
		return fmt.Errorf("half-life %v; give one above 0", s.HalfLife)
	case !(s.Lapse >= 0 && s.Lapse <= 0.1):
		return fmt.Errorf("lapse %v; give 0 to 0.1", s.Lapse)
	case !(s.RefusalOdds >= 1 && s.RefusalOdds <= 100):
		return fmt.Errorf("refusal odds %v; give 1 to 100", s.RefusalOdds)
	case !(s.Need > 0):
		return fmt.Errorf("need %v; give an effective number of encounters above 0", s.Need)
	}
	return nil
}

// Intake is what was said of a dog and a kind before any walk. A kind that the
// dog does not react to has no curve to learn: leave it out.
type Intake struct {
	Kind, Category string
	// Need, with 0 for a distance that is not known. From one of them the other
	// follows by workingToReaction; with neither the prior is the stated wide
	// one round defaultWorkingM.
	exposure.Need
	// LogSD is the standard deviation of the natural log of the distances; 0
	// for DefaultIntakeLogSD, or DefaultWorkingLogSD where nothing is known.
	LogSD float64
}

func (in Intake) check() error {
	bad := func(d float64) bool { return !(d >= 0) || d > exposure.MostMetM }
	switch {
	case in.Category == "":
		return fmt.Errorf("intake of kind %q: category is empty; name one", in.Kind)
	case bad(in.WorkingM):
		return fmt.Errorf("intake of kind %q: working distance %v m; give 0 (unknown) to %v m", in.Kind, in.WorkingM, exposure.MostMetM)
	case bad(in.ReactionM):
		return fmt.Errorf("intake of kind %q: reaction distance %v m; give 0 (unknown) to %v m", in.Kind, in.ReactionM, exposure.MostMetM)
	case in.WorkingM > 0 && in.ReactionM >= in.WorkingM:
		return fmt.Errorf("intake of kind %q: reaction distance %v m is not below the working distance %v m; exchange or correct them",
			in.Kind, in.ReactionM, in.WorkingM)
	case !(in.LogSD >= 0) || in.LogSD > 3:
		return fmt.Errorf("intake of kind %q: spread %v; give 0 (default) to 3 in natural log", in.Kind, in.LogSD)
	}
	return nil
}

func (in Intake) prior() *kindRows {
	k := &kindRows{name: in.Kind, spread: in.LogSD, known: in.WorkingM > 0 || in.ReactionM > 0}
	w, r, sd := in.WorkingM, in.ReactionM, DefaultIntakeLogSD
	if !k.known {
		w, sd = defaultWorkingM, DefaultWorkingLogSD
	}
	if w == 0 {
		w = r * workingToReaction
	}
	if r == 0 {
		r = w / workingToReaction
	}
	if k.spread == 0 {
		k.spread = sd
	}
	k.lnR0, k.b0, k.inTimeM = math.Log(r), logOddsTenth/math.Log(w/r), w
	return k
}

// Interval is a stretch that holds the value with the stated probability.
type Interval struct{ Low, High float64 }

// Estimate is what the walks say about one kind.
type Estimate struct {
	Kind, Category string
	// Need holds the posterior medians, with the central 80 % of the posterior
	// beside them. Going over is what they speak of.
	exposure.Need
	WorkingRangeM, ReactionRangeM Interval
	// EffectiveN is the number of encounters behind it: each counts by its
	// age, in full only where the outcome was open (chance of going over
	// between 10 and 90 %), half where it was noticed late.
	EffectiveN float64
	Encounters int // of this kind, as logged and not yet forgotten
	Late       int // of those, noticed late or sudden
	// LateBias: most of the encounters were noticed below the intake's working
	// distance, so they tell of the reaction distance and may set the working
	// distance too low although the fit allows for it.
	LateBias bool
	// IntakeKnown: the intake named a distance. False: the wide prior was used.
	IntakeKnown bool
	Trend       Trend
	// FarthestReactionM is the largest distance in metres at which the dog went
	// over in a meeting that still counts; 0 if it never did.
	FarthestReactionM float64

	working, reaction spreadOut
}

// workingBelow is the posterior probability that the working distance is below
// m metres; 0 for m <= 0.
func (e Estimate) workingBelow(m float64) float64 {
	if m <= 0 {
		return 0
	}
	return e.working.below(math.Log(m))
}

// TooFew refuses to claim a distance: the effective number of encounters is
// below what is needed.
type TooFew struct {
	Kind       string
	Have, Need float64
}

// Error says what is there and what is needed.
func (t *TooFew) Error() string {
	return fmt.Sprintf("too few encounters of kind %q to say: worth %.1f of the %.1f needed", t.Kind, t.Have, t.Need)
}

// errUnknownKind is returned for a kind without intake and without encounters.
var errUnknownKind = errors.New("no intake and no encounter of this kind")

// Profile is all that was learnt about one dog. It is immutable.
type Profile struct {
	estimates []Estimate
	need      float64
}

// believed gives the estimate of a kind on whatever evidence there is, down to
// what was said before any walk; or errUnknownKind.
func (p Profile) believed(category, kind string) (Estimate, error) {
	for _, e := range p.estimates {
		if e.Kind == kind && e.Category == category {
			return e, nil
		}
	}
	return Estimate{}, fmt.Errorf("%s/%s: %w", category, kind, errUnknownKind)
}

// Learn fits all kinds of one dog. now is the moment that ages are counted
// from. Kinds met without an intake get the wide prior. Bad input gets an error
// naming entry, field and mend.
//
// The reported intervals come from the posterior by quadrature, not from a
// normal approximation at its peak, which understates the spread with few
// rows. Cost grows with the number of encounters that still count.
func Learn(intakes []Intake, encounters []Encounter, now time.Time, s Settings) (Profile, error) {
	if err := s.check(); err != nil {
		return Profile{}, err
	}
	d, err := group(intakes, encounters, now, s)
	if err != nil {
		return Profile{}, err
	}
	p := Profile{need: s.Need}
	for _, name := range d.order {
		c := d.categories[name]
		posterior, ax := c.solve()
		if c.lateAnew(posterior, ax) {
			posterior, ax = c.solve()
		}
		for i, k := range c.kinds {
			e := k.estimate(posterior[i], ax)
			e.Category = name
			e.Trend = k.trend(d.seen[k], e, now)
			p.estimates = append(p.estimates, e)
		}
	}
	return p, nil
}

// dog is the input sorted by category and kind.
type dog struct {
	order      []string // categories in order of first mention
	categories map[string]*category
	seen       map[*kindRows][]Encounter
}

func group(intakes []Intake, encounters []Encounter, now time.Time, s Settings) (dog, error) {
	d := dog{categories: map[string]*category{}, seen: map[*kindRows][]Encounter{}}
	for _, in := range intakes {
		if err := in.check(); err != nil {
			return dog{}, err
		}
		if d.find(in.Category, in.Kind) != nil {
			return dog{}, fmt.Errorf("intake of kind %q in category %q is given twice; keep one", in.Kind, in.Category)
		}
		d.add(in, s)
	}
	for i, e := range encounters {
		if err := e.check(i, now); err != nil {
			return dog{}, err
		}
		k := d.find(e.Category, e.Kind)
		if k == nil {
			k = d.add(Intake{Kind: e.Kind, Category: e.Category}, s)
		}
		if w, ok := k.row(e, now, s); ok {
			k.rows = append(k.rows, w)
			if e.Outcome == WentOver {
				k.farthestM = max(k.farthestM, e.reactedAtM())
			}
		}
		d.seen[k] = append(d.seen[k], e)
	}
	for _, c := range d.categories {
		c.share()
	}
	return d, nil
}

func (d *dog) find(category, kind string) *kindRows {
	c := d.categories[category]
	if c == nil {
		return nil
	}
	i := slices.IndexFunc(c.kinds, func(k *kindRows) bool { return k.name == kind })
	if i < 0 {
		return nil
	}
	return c.kinds[i]
}

func (d *dog) add(in Intake, s Settings) *kindRows {
	c := d.categories[in.Category]
	if c == nil {
		c = &category{lapse: s.Lapse, refusal: s.RefusalOdds}
		d.categories[in.Category] = c
		d.order = append(d.order, in.Category)
	}
	k := in.prior()
	c.kinds = append(c.kinds, k)
	return k
}

// share splits each kind's prior variance into the category's part and its
// own, such that the whole is what the intake says.
func (c *category) share() {
	least := math.Inf(1)
	for _, k := range c.kinds {
		least = min(least, k.spread)
	}
	c.sdShared = least * math.Sqrt(sharedVariance)
	for _, k := range c.kinds {
		k.sdOwn = math.Sqrt(k.spread*k.spread - c.sdShared*c.sdShared)
	}
}

// row prepares an encounter; false where it is too old to matter.
func (k *kindRows) row(e Encounter, now time.Time, s Settings) (row, bool) {
	age := max(0, now.Sub(e.When).Hours())
	w := row{factor: 1, weight: math.Exp2(-age / s.HalfLife.Hours())}
	if w.weight < minWeight {
		return row{}, false
	}
	rule := e.Bound.rule()
	w.w = rule.weight
	for _, t := range rule.at {
		w.x = append(w.x, math.Log(e.DistanceM)+t-k.lnR0)
	}
	w.noticedM, w.sudden = e.FirstNoticeM, e.Sudden
	w.late = k.late(e.FirstNoticeM, e.Sudden)
	switch e.Outcome {
	case WentOver:
		w.answer = over
	case TookFood, TurnedBack:
		w.food, w.factor = true, s.RefusalOdds
	case RefusedFood:
		if s.RefusalOdds > 1 {
			w.food, w.factor, w.answer = true, s.RefusalOdds, refused
		}
	}
	return w, true
}

// late tells a meeting that the dog had no working distance to see coming.
func (k *kindRows) late(noticedM float64, sudden bool) bool {
	return sudden || noticedM > 0 && noticedM < k.inTimeM
}

// lateAnew looks again which meetings were noticed late, where a dog turns out to
// work nearer than was said: what it notices then is no excuse for what it does. A
// dog that works farther off keeps the distance that was said, or every reaction
// beyond it would have its excuse. It says whether that changes anything.
func (c *category) lateAnew(found []cells, ax axes) (changed bool) {
	for n, k := range c.kinds {
		shift, slope := found[n].means(ax)
		workingM := math.Exp(k.lnR0 + shift + logOddsTenth/(k.b0*math.Exp(slope)))
		k.inTimeM = min(k.inTimeM, max(workingM, leastInTime*k.inTimeM))
		for i := range k.rows {
			w := &k.rows[i]
			late := k.late(w.noticedM, w.sudden)
			changed = changed || late != w.late
			w.late = late
		}
	}
	return changed
}

func (k *kindRows) estimate(c cells, ax axes) Estimate {
	e := Estimate{Kind: k.name, IntakeKnown: k.known, Encounters: len(k.rows), FarthestReactionM: k.farthestM}
	e.working, e.reaction = k.oddsOf(c, ax, logOddsTenth), k.oddsOf(c, ax, 0)
	e.WorkingM, e.WorkingRangeM = e.working.summary()
	e.ReactionM, e.ReactionRangeM = e.reaction.summary()
	lnR := math.Log(e.ReactionM)
	b := logOddsTenth / (math.Log(e.WorkingM) - lnR)
	for i := range k.rows {
		w := &k.rows[i]
		p := w.pOver(b, lnR-k.lnR0)
		worth := w.weight * min(1, p*(1-p)/(0.1*0.9))
		if w.late {
			e.Late++
			worth *= lateWorth
		}
		e.EffectiveN += worth
	}
	e.LateBias = 2*e.Late > e.Encounters
	return e
}

// summary is the median and the central 80 % in metres.
func (s spreadOut) summary() (float64, Interval) {
	q := s.quantiles(0.1, 0.5, 0.9)
	return math.Exp(q[1]), Interval{math.Exp(q[0]), math.Exp(q[2])}
}
