// Package learning learns from walk logs, and is the one room for it: a dog's
// distances from what was said of it and what it did at each encounter (Answers,
// Offers), and a neighbourhood's rates from how many encounters there were
// (Observed) against how many were expected along the walk (Forecast); whether a
// source that people spoke of is there (Spoken); and the rule by which training
// visits move on (Rule, Sequence). It hides the curves, priors, posteriors and
// weights behind these.
//
// It is statistics only: no database, no network, no clock and no randomness
// of its own. Everything in it is safe for concurrent use as long as callers
// do not change their arguments meanwhile.
//
// Nothing here changes a dog. Propose says what the evidence would support; a
// person decides.
package learning

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
)

// logistic is a logistic regression on grouped counts with an optional normal
// prior on each coefficient:
//
//	logit p_i = Offset_i + sum_j Design[i][j] * beta_j,   Successes_i ~ Binomial(Trials_i, p_i)
//	beta_j ~ Normal(PriorMean_j, PriorSD_j^2)
//
// Trials and Successes may be fractions (rows that count for less).
type logistic struct {
	Design    [][]float64 // one row a group, one column a coefficient
	Successes []float64   // 0 <= Successes[i] <= Trials[i]
	Trials    []float64   // > 0
	Offset    []float64   // added to the linear predictor; nil for none
	PriorMean []float64   // nil for no prior at all
	PriorSD   []float64   // > 0; math.Inf(1) leaves that coefficient free
}

// logisticFit is the maximum of a Logistic with what is needed to judge it.
type logisticFit struct {
	Coef []float64 // the coefficients at the maximum
	SE   []float64 // their standard errors, from Cov
	// Cov is the inverse of the information at the maximum, prior included:
	// the covariance of the maximum-likelihood estimate without a prior, the
	// Laplace approximation to the posterior covariance with one.
	Cov *mat.SymDense
	// Deviance is twice the log-likelihood lost against the saturated model;
	// the prior is not part of it.
	Deviance float64
	// LogLik is the log-likelihood in Bernoulli form (no binomial
	// coefficients), without the prior.
	LogLik float64
	DF     int       // rows less coefficients
	Fitted []float64 // expected successes a row
}

// errSeparated is returned where the data are split cleanly by the predictors,
// so that without a prior no finite maximum exists.
var errSeparated = errors.New("the outcomes are separated: no finite fit without a prior")

const (
	newtonLimit     = 60   // Newton needs 5 to 10 steps; with halving never near this
	newtonTolerance = 1e-9 // largest step left, in units of the coefficient's own standard error
	separatedLogit  = 25.0 // a fitted logit beyond this means odds of 7e10: the maximum runs away
	halvingLimit    = 40   // halvings of one Newton step: 2^-40 is rounding noise
)

// fit finds the maximum by Newton's method (iteratively reweighted least
// squares) with step halving. It returns errSeparated for separated data and
// an error naming the field for bad input.
func (l logistic) fit() (logisticFit, error) {
	if err := l.check(); err != nil {
		return logisticFit{}, err
	}
	beta := make([]float64, len(l.Design[0]))
	for range newtonLimit {
		grad, info := l.derivatives(beta)
		var chol mat.Cholesky
		if !chol.Factorize(info) {
			return logisticFit{}, l.singular(beta)
		}
		var step mat.VecDense
		if err := chol.SolveVecTo(&step, grad); err != nil {
			return logisticFit{}, l.singular(beta)
		}
		// grad . step is the squared step in standard errors.
		if mat.Dot(grad, &step) < newtonTolerance*newtonTolerance {
			return l.summary(beta, &chol)
		}
		beta = l.ascend(beta, &step)
	}
	return logisticFit{}, l.singular(beta)
}

// singular tells separation from columns that are not independent.
func (l logistic) singular(beta []float64) error {
	for i := range l.Design {
		if math.Abs(l.eta(i, beta)) > separatedLogit {
			return errSeparated
		}
	}
	return errors.New("design: columns are not independent; drop one or give a prior")
}

func (l logistic) check() error {
	n := len(l.Design)
	if n == 0 || len(l.Design[0]) == 0 {
		return errors.New("design: empty; give at least one row and one column")
	}
	if len(l.Successes) != n || len(l.Trials) != n || (l.Offset != nil && len(l.Offset) != n) {
		return fmt.Errorf("successes, trials and offset must have %d entries like design", n)
	}
	for i, row := range l.Design {
		if len(row) != len(l.Design[0]) {
			return fmt.Errorf("design: row %d has %d columns, row 0 has %d", i, len(row), len(l.Design[0]))
		}
		if !(l.Trials[i] > 0) || !(l.Successes[i] >= 0) || l.Successes[i] > l.Trials[i] {
			return fmt.Errorf("row %d: %v successes of %v trials; give 0 <= successes <= trials, trials above 0",
				i, l.Successes[i], l.Trials[i])
		}
	}
	return l.checkPrior()
}

func (l logistic) checkPrior() error {
	p := len(l.Design[0])
	if (l.PriorMean == nil) != (l.PriorSD == nil) || (l.PriorMean != nil && (len(l.PriorMean) != p || len(l.PriorSD) != p)) {
		return fmt.Errorf("prior: give a mean and a standard deviation for each of the %d coefficients, or neither", p)
	}
	for j, sd := range l.PriorSD {
		if !(sd > 0) {
			return fmt.Errorf("prior: standard deviation %v of coefficient %d; give a number above 0", sd, j)
		}
	}
	return nil
}

func (l logistic) eta(i int, beta []float64) float64 {
	eta := 0.0
	if l.Offset != nil {
		eta = l.Offset[i]
	}
	for j, x := range l.Design[i] {
		eta += x * beta[j]
	}
	return eta
}

// derivatives gives the gradient of the penalised log-likelihood and its
// information (minus the Hessian).
func (l logistic) derivatives(beta []float64) (*mat.VecDense, *mat.SymDense) {
	p := len(beta)
	grad, info := mat.NewVecDense(p, nil), mat.NewSymDense(p, nil)
	for i, row := range l.Design {
		pi := sigmoid(l.eta(i, beta))
		residual, w := l.Successes[i]-l.Trials[i]*pi, l.Trials[i]*pi*(1-pi)
		for j, xj := range row {
			grad.SetVec(j, grad.AtVec(j)+residual*xj)
			for k := j; k < p; k++ {
				info.SetSym(j, k, info.At(j, k)+w*xj*row[k])
			}
		}
	}
	for j, sd := range l.PriorSD {
		grad.SetVec(j, grad.AtVec(j)-(beta[j]-l.PriorMean[j])/(sd*sd))
		info.SetSym(j, j, info.At(j, j)+1/(sd*sd))
	}
	return grad, info
}

// ascend takes the Newton step, halved until the objective does not fall.
func (l logistic) ascend(beta []float64, step *mat.VecDense) []float64 {
	before, scale := l.objective(beta), 1.0
	next := make([]float64, len(beta))
	for range halvingLimit {
		for j := range next {
			next[j] = beta[j] + scale*step.AtVec(j)
		}
		if after := l.objective(next); after >= before-1e-12*math.Abs(before) {
			break
		}
		scale /= 2
	}
	return next
}

func (l logistic) objective(beta []float64) float64 {
	sum := l.logLik(beta)
	for j, sd := range l.PriorSD {
		z := (beta[j] - l.PriorMean[j]) / sd
		sum -= z * z / 2
	}
	return sum
}

func (l logistic) logLik(beta []float64) float64 {
	sum := 0.0
	for i := range l.Design {
		eta := l.eta(i, beta)
		sum += l.Successes[i]*eta - l.Trials[i]*log1pExp(eta)
	}
	return sum
}

func (l logistic) summary(beta []float64, chol *mat.Cholesky) (logisticFit, error) {
	cov := mat.NewSymDense(len(beta), nil)
	if err := chol.InverseTo(cov); err != nil {
		return logisticFit{}, l.singular(beta)
	}
	f := logisticFit{Coef: beta, Cov: cov, LogLik: l.logLik(beta), DF: len(l.Design) - len(beta)}
	for j := range beta {
		f.SE = append(f.SE, math.Sqrt(cov.At(j, j)))
	}
	saturated, widest := 0.0, 0.0
	for i, n := range l.Trials {
		eta := l.eta(i, beta)
		widest = max(widest, math.Abs(eta))
		f.Fitted = append(f.Fitted, n*sigmoid(eta))
		saturated += xLogRatio(l.Successes[i], n) + xLogRatio(n-l.Successes[i], n)
	}
	// A gradient can vanish on the way to infinity.
	if l.PriorSD == nil && widest > separatedLogit {
		return logisticFit{}, errSeparated
	}
	f.Deviance = 2 * (saturated - f.LogLik)
	return f, nil
}

// xLogRatio is x ln(x/n), 0 at x = 0.
func xLogRatio(x, n float64) float64 {
	if x <= 0 {
		return 0
	}
	return x * math.Log(x/n)
}

// sigmoid is 1 / (1 + exp(-z)). For z below -709 it is exactly 0.
func sigmoid(z float64) float64 { return 1 / (1 + math.Exp(-z)) }

// log1pExp is ln(1 + exp(z)) without overflow.
func log1pExp(z float64) float64 {
	if z > 0 {
		return z + math.Log1p(math.Exp(-z))
	}
	return math.Log1p(math.Exp(z))
}
