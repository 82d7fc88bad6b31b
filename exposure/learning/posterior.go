package learning

import "math"

// The posterior of one category's distances, by quadrature on a grid.
//
// For kind k of the category, with intake distances R0_k and W0_k:
//
//	ln R_k = ln R0_k + g + d_k     g ~ Normal(0, sdShared^2), d_k ~ Normal(0, sdOwn_k^2)
//	b_k    = b0_k exp(s)           b0_k = ln 9 / ln(W0_k/R0_k), s ~ Normal(0, slopeLogSD^2)
//
// g is what the intake gets wrong about the whole category, d_k about the one
// kind, s about the slope. A fourth number, late ~ Normal(0, lateSD^2), is
// added to the logit of encounters that were noticed late or came suddenly:
// starting distance enters as a covariate because short ones bias thresholds
// low (Blumstein 2003, J. Wildlife Management 67:852-857).
//
// Given (s, late) the kinds meet only in g, so the posterior needs no
// sampling: one table of likelihoods a kind on (shift r = g + d_k, s, late),
// one smoothing of each onto g, one product, one smoothing back.

// axis is an even grid: lo, lo+step, ... of n points.
type axis struct {
	lo, step float64
	n        int
}

func span(lo, hi float64, n int) axis {
	if n == 1 {
		return axis{(lo + hi) / 2, 1, 1}
	}
	return axis{lo, (hi - lo) / float64(n-1), n}
}

func (a axis) at(i int) float64 { return a.lo + float64(i)*a.step }

// support is the part of the axis where the marginal is not negligible, one
// step wider to each side, with n points. A single point stays as it is.
func (a axis) support(marginal []float64, n int) axis {
	if a.n == 1 {
		return a
	}
	peak := 0.0
	for _, m := range marginal {
		peak = max(peak, m)
	}
	first, last := a.n, 0
	for i, m := range marginal {
		if m >= negligible*peak {
			first, last = min(first, i), i
		}
	}
	return span(a.at(first-1), a.at(last+1), n)
}

// Grid sizes. The first pass finds where the mass is, the second integrates
// there; for a smooth bell the trapezoid sum is exact to four digits as soon
// as the step is below one standard deviation.
const (
	coarseShift, coarseSlope, coarseLate = 13, 6, 3
	fineShift, fineSlope, fineLate       = 25, 11, 5
	shiftReach, slopeReach, lateReach    = 4.5, 3.5, 3.0 // prior standard deviations covered by the first pass
	closingIn                            = 4             // each look narrows an axis to a fifth or less; 5^4 is more than any log holds
	negligible                           = 1e-3          // of the peak; a normal bell reaches it at 3.7 standard deviations
)

// row is one encounter, ready for the likelihood. With odds_j of going over at
// distance d_j, exp(b (r - x_j) + late), and h(o) = o / (1 + o), its probability is
//
//	over:           lapse + (1 - 2 lapse) sum_j w_j h(odds_j)
//	under:          lapse + (1 - 2 lapse) sum_j w_j (1 - h(factor odds_j))
//	refused food:   (1 - 2 lapse) sum_j w_j (h(factor odds_j) - h(odds_j))
type row struct {
	x      []float64 // ln d_j - ln R0 of the kind
	w      []float64 // weights of the x_j, sum 1
	answer answer
	food   bool    // whether food was taken is known, and the dog was not over
	factor float64 // on the odds, to include refusing food; 1 without food
	late   bool
	weight float64 // 1 now, less for older walks

	noticedM float64 // what late follows from: see kindRows.late
	sudden   bool
}

type answer uint8

const (
	under answer = iota
	over
	refused
)

// prob is the probability of the row's answer where the odds of going over are
// base times odds[j] at node j.
func (w *row) prob(base float64, odds []float64, lapse float64) float64 {
	sum := 0.0
	for j, o := range odds {
		o *= base
		switch w.answer {
		case over:
			sum += w.w[j] * o / (1 + o)
		case under:
			sum += w.w[j] / (1 + w.factor*o)
		default:
			sum += w.w[j] * (w.factor - 1) * o / ((1 + o) * (1 + w.factor*o))
		}
	}
	if w.answer == refused {
		return (1 - 2*lapse) * sum
	}
	return lapse + (1-2*lapse)*sum
}

// pOver is the chance of going over at this encounter, whatever came of it and
// had it been seen early.
func (w *row) pOver(b, r float64) float64 {
	sum := 0.0
	for j, x := range w.x {
		sum += w.w[j] * sigmoid(b*(r-x))
	}
	return sum
}

// expBounded is exp(z) for z within bounds whose product of two, and of a
// squared factor, is still a finite number; odds beyond are certainty anyway.
func expBounded(z float64) float64 { return math.Exp(min(170, max(-170, z))) }

// kindRows is one kind with its intake and its encounters.
type kindRows struct {
	name    string
	lnR0    float64 // ln of the intake's reaction distance
	b0      float64 // slope of the intake
	sdOwn   float64 // of d_k
	spread  float64 // of ln R_k altogether
	known   bool    // the intake named a distance
	inTimeM float64 // noticed at this distance or farther off is noticed in time
	rows    []row

	farthestM float64 // largest distance of the rows at which the dog went over, in m
}

// category is what the kinds of one category are solved with.
type category struct {
	kinds    []*kindRows
	sdShared float64 // of g
	lapse    float64
	refusal  float64 // Settings.RefusalOdds
}

type axes struct {
	shift       []axis // one a kind
	g           axis
	slope, late axis
}

// cells is the posterior of one kind on its grid, p[(i*slope+j)*late+k], sum 1.
type cells struct {
	p     []float64
	shift axis
}

// solve finds where the mass is on coarse axes, closing in until no axis of
// distances has it all between two points, and integrates there.
func (c *category) solve() ([]cells, axes) {
	ax := c.coarse()
	found, g := c.pass(ax)
	for range c.fitRefusal(found, ax) {
		found, g = c.pass(ax)
		c.fitRefusal(found, ax)
	}
	for range closingIn {
		next, narrow := ax.around(found, g, coarseShift, coarseSlope, coarseLate)
		if !narrow {
			break
		}
		ax = next
		found, g = c.pass(ax)
	}
	ax, _ = ax.around(found, g, fineShift, fineSlope, fineLate)
	out, _ := c.pass(ax)
	return out, ax
}

// fitRefusal sets how much sooner this dog refuses food than it goes over. Of
// rows seen early that did not go over and where food was offered, with p the chance of
// going over, the ordered model gives
//
//	logit P(refused | not over) = ln(f - 1) + ln p,   f the factor on the odds,
//
// a logistic regression on a constant with offset ln p, with p from the pass
// before. f is plugged in, not integrated: its own doubt is small beside the
// distances'. It returns 1 where there is something to fit, 0 where not.
func (c *category) fitRefusal(found []cells, ax axes) int {
	if c.refusal <= 1 {
		return 0
	}
	l := logistic{PriorMean: []float64{math.Log(c.refusal - 1)}, PriorSD: []float64{refusalLogSD}}
	for n, k := range c.kinds {
		shift, slope := found[n].means(ax)
		b := k.b0 * math.Exp(slope)
		for i := range k.rows {
			if w := &k.rows[i]; w.food && !w.late {
				refusals := 0.0
				if w.answer == refused {
					refusals = w.weight
				}
				l.Design = append(l.Design, []float64{1})
				l.Offset = append(l.Offset, math.Log(max(w.pOver(b, shift), 1e-9)))
				l.Successes = append(l.Successes, refusals)
				l.Trials = append(l.Trials, w.weight)
			}
		}
	}
	f, err := l.fit()
	if err != nil { // no food was offered at all
		return 0
	}
	for _, k := range c.kinds {
		for i := range k.rows {
			if k.rows[i].food {
				k.rows[i].factor = 1 + math.Exp(f.Coef[0])
			}
		}
	}
	return 1
}

// means are the posterior means of shift and slope.
func (c cells) means(ax axes) (shift, slope float64) {
	for i, p := range c.byShift() {
		shift += p * c.shift.at(i)
	}
	bySlope, _ := c.marginals(ax)
	for j, p := range bySlope {
		slope += p * ax.slope.at(j)
	}
	return shift, slope
}

// around gives axes of the given sizes on the support of what a pass found,
// and whether some kind's mass sat on so few points that it needs another look.
func (ax axes) around(found []cells, g []float64, shiftN, slopeN, lateN int) (axes, bool) {
	next, narrow := axes{g: ax.g.support(g, shiftN)}, false
	slope, late := make([]float64, ax.slope.n), make([]float64, ax.late.n)
	for _, k := range found {
		bySlope, byLate := k.marginals(ax)
		for j := range slope {
			slope[j] += bySlope[j]
		}
		for t := range late {
			late[t] += byLate[t]
		}
		s := k.shift.support(k.byShift(), shiftN)
		narrow = narrow || s.step*float64(s.n-1) < 3.5*k.shift.step
		next.shift = append(next.shift, s)
	}
	next.slope, next.late = ax.slope, ax.late
	if !narrow { // while the shift is still far off, the slope that suits it is a wrong one
		next.slope, next.late = ax.slope.support(slope, slopeN), ax.late.support(late, lateN)
	}
	return next, narrow
}

func (c *category) coarse() axes {
	ax := axes{
		g:     span(-shiftReach*c.sdShared, shiftReach*c.sdShared, coarseShift),
		slope: span(-slopeReach*slopeLogSD, slopeReach*slopeLogSD, coarseSlope),
		late:  span(0, 0, 1),
	}
	for _, k := range c.kinds {
		ax.shift = append(ax.shift, span(-shiftReach*k.spread, shiftReach*k.spread, coarseShift))
		for i := range k.rows {
			if k.rows[i].late {
				ax.late = span(-lateReach*lateSD, lateReach*lateSD, coarseLate)
			}
		}
	}
	return ax
}

// pass integrates on the given axes and returns each kind's cells and the
// marginal of g.
func (c *category) pass(ax axes) ([]cells, []float64) {
	nm := ax.slope.n * ax.late.n
	total := c.logPrior(ax) // log weight at (g, s, late), all kinds multiplied in
	logOf := make([][]float64, len(c.kinds))
	like := make([][]float64, len(c.kinds))
	for n, k := range c.kinds {
		like[n] = k.likelihood(ax.shift[n], ax, c.lapse)
		logOf[n] = smooth(like[n], kernel(ax.g, ax.shift[n], k.sdOwn), ax.g.n, ax.shift[n].n, nm)
		for i, v := range logOf[n] {
			logOf[n][i] = math.Log(max(v, math.SmallestNonzeroFloat64))
			total[i] += logOf[n][i]
		}
	}
	out := make([]cells, len(c.kinds))
	others := make([]float64, len(total))
	for n, k := range c.kinds {
		for i := range others {
			others[i] = total[i] - logOf[n][i]
		}
		exponentiate(others)
		p := smooth(others, kernel(ax.shift[n], ax.g, k.sdOwn), ax.shift[n].n, ax.g.n, nm)
		for i := range p {
			p[i] *= like[n][i]
		}
		normalise(p)
		out[n] = cells{p, ax.shift[n]}
	}
	exponentiate(total)
	g := make([]float64, ax.g.n)
	for i := range total {
		g[i/nm] += total[i]
	}
	return out, g
}

func (c *category) logPrior(ax axes) []float64 {
	out := make([]float64, 0, ax.g.n*ax.slope.n*ax.late.n)
	for i := range ax.g.n {
		zg := ax.g.at(i) / c.sdShared
		for j := range ax.slope.n {
			zs := ax.slope.at(j) / slopeLogSD
			for t := range ax.late.n {
				zl := ax.late.at(t) / lateSD
				out = append(out, -(zg*zg+zs*zs+zl*zl)/2)
			}
		}
	}
	return out
}

// likelihood is the kind's table on (shift, slope, late), scaled to a peak of
// 1. Odds are a product of a part for the shift and a part for the distance,
// so the exponentials stay out of the innermost loop.
func (k *kindRows) likelihood(shift axis, ax axes, lapse float64) []float64 {
	out := make([]float64, shift.n*ax.slope.n*ax.late.n)
	lateOdds := make([]float64, ax.late.n)
	for t := range lateOdds {
		lateOdds[t] = math.Exp(ax.late.at(t))
	}
	shiftOdds := make([]float64, shift.n)
	odds := make([]float64, max(aboutNodes, boundNodes))
	for j := range ax.slope.n {
		b := k.b0 * math.Exp(ax.slope.at(j))
		for i := range shiftOdds {
			shiftOdds[i] = expBounded(b * shift.at(i))
		}
		for n := range k.rows {
			w := &k.rows[n]
			for node, x := range w.x {
				odds[node] = expBounded(-b * x)
			}
			for i, base := range shiftOdds {
				at := (i*ax.slope.n + j) * ax.late.n
				w.addLogLik(out[at:at+ax.late.n], base, odds[:len(w.x)], lateOdds, lapse)
			}
		}
	}
	exponentiate(out)
	return out
}

// addLogLik adds the row's weighted log-likelihood for each value of late.
func (w *row) addLogLik(to []float64, base float64, odds, lateOdds []float64, lapse float64) {
	if !w.late {
		ll := w.weight * math.Log(max(w.prob(base, odds, lapse), math.SmallestNonzeroFloat64))
		for t := range to {
			to[t] += ll
		}
		return
	}
	for t, o := range lateOdds {
		to[t] += w.weight * math.Log(max(w.prob(base*o, odds, lapse), math.SmallestNonzeroFloat64))
	}
}

// kernel is the normal density (up to a constant) of standard deviation sd
// between the points of two axes, kernel[i*from.n+j] for to i and from j.
func kernel(to, from axis, sd float64) []float64 {
	out := make([]float64, 0, to.n*from.n)
	for i := range to.n {
		for j := range from.n {
			z := (to.at(i) - from.at(j)) / sd
			out = append(out, math.Exp(-z*z/2))
		}
	}
	return out
}

// smooth is the matrix product kernel (rows x cols) . table (cols x nm).
func smooth(table, kernel []float64, rows, cols, nm int) []float64 {
	out := make([]float64, rows*nm)
	for i := range rows {
		to := out[i*nm : (i+1)*nm]
		for j := range cols {
			from, kij := table[j*nm:(j+1)*nm], kernel[i*cols+j]
			if kij < 1e-12 {
				continue
			}
			for m, v := range from {
				to[m] += kij * v
			}
		}
	}
	return out
}

// exponentiate turns logs into values with a peak of 1, in place.
func exponentiate(logs []float64) {
	peak := math.Inf(-1)
	for _, v := range logs {
		peak = max(peak, v)
	}
	for i, v := range logs {
		logs[i] = math.Exp(v - peak)
	}
}

func normalise(p []float64) {
	sum := 0.0
	for _, v := range p {
		sum += v
	}
	for i := range p {
		p[i] /= sum
	}
}

func (c cells) byShift() []float64 {
	out := make([]float64, c.shift.n)
	nm := len(c.p) / c.shift.n
	for i, v := range c.p {
		out[i/nm] += v
	}
	return out
}

func (c cells) marginals(ax axes) (slope, late []float64) {
	slope, late = make([]float64, ax.slope.n), make([]float64, ax.late.n)
	for i, v := range c.p {
		slope[i/ax.late.n%ax.slope.n] += v
		late[i%ax.late.n] += v
	}
	return slope, late
}

// spreadOut is a posterior of one log distance: boxes of equal density.
type spreadOut struct{ mid, half, p []float64 }

// below is the posterior probability that the log distance is below x.
func (s spreadOut) below(x float64) float64 {
	sum := 0.0
	for i, p := range s.p {
		sum += p * min(1, max(0, (x-s.mid[i]+s.half[i])/(2*s.half[i])))
	}
	return sum
}

// quantiles inverts below by bisection, for rising q.
func (s spreadOut) quantiles(q ...float64) []float64 {
	lo, top := math.Inf(1), math.Inf(-1)
	for i, m := range s.mid {
		lo, top = min(lo, m-s.half[i]), max(top, m+s.half[i])
	}
	for i := range q {
		hi := top
		for hi-lo > quantileTolerance {
			if mid := (lo + hi) / 2; s.below(mid) < q[i] {
				lo = mid
			} else {
				hi = mid
			}
		}
		q[i] = (lo + hi) / 2
	}
	return q
}

// quantileTolerance is in natural log: half a thousandth of the distance.
const quantileTolerance = 5e-4

// oddsOf spreads the cells of a kind over ln of the distance at which the odds
// of going over are 1 to exp(logOdds): R at logOdds 0, W at ln 9.
func (k *kindRows) oddsOf(c cells, ax axes, logOdds float64) spreadOut {
	n := c.shift.n * ax.slope.n
	out := spreadOut{make([]float64, 0, n), make([]float64, 0, n), make([]float64, 0, n)}
	for i := range c.shift.n {
		for j := range ax.slope.n {
			p := 0.0
			for t := range ax.late.n {
				p += c.p[(i*ax.slope.n+j)*ax.late.n+t]
			}
			if p < 1e-6 { // the quantiles wanted lie far from such cells
				continue
			}
			reach := logOdds / (k.b0 * math.Exp(ax.slope.at(j)))
			out.mid = append(out.mid, k.lnR0+c.shift.at(i)+reach)
			// A cell is a box in (shift, slope); its image in ln d has about this width.
			out.half = append(out.half, math.Hypot(c.shift.step, reach*ax.slope.step)/2)
			out.p = append(out.p, p)
		}
	}
	return out
}
