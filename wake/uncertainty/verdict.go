package uncertainty

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"sort"
	"strconv"
	"strings"
)

// The words of a verdict.
const (
	Resolved    = "resolved"
	NotResolved = "not resolved"
	NotJudged   = "not judged"
)

// Judgement says whether a difference is real.
type Judgement struct {
	// Verdict is Resolved, NotResolved or NotJudged.
	Verdict string `json:"verdict"`
	// Margin, of what is not judged, is the standard uncertainty of all that is missing
	// together up to which the difference would be resolved.
	Margin *float64 `json:"margin,omitempty"`
	// Missing are the categories of which nothing is known.
	Missing []Category `json:"missing,omitempty"`
}

// Judge decides about a difference d with the budget b, for all of the program:
//
//	resolved      all categories are known, and |d| > U
//	not resolved  |d| <= U (also where categories are missing: they cannot make U less), and NaN
//	not judged    |d| > U, and categories are missing
//
// U is k·u of the budget, or what the interval of its trials says where these do not agree
// with it. With U² = k²(u_known² + u_missing²) the margin is
//
//	u_max = √((|d|/k)² − u_known²)
func Judge(d float64, b *Budget) Judgement {
	j := Judgement{Verdict: NotResolved, Missing: b.Lacks()}
	in := b.Interval(d)
	clear := math.Max(in[0], -in[1])
	switch {
	case !(clear > 0):
	case len(j.Missing) == 0 && len(b.States) > 0:
		j.Verdict = Resolved
	default:
		j.Verdict = NotJudged
		known := math.Abs(d) - clear
		j.Margin = new(math.Sqrt(d*d-known*known) / b.Coverage)
	}
	return j
}

// Lacks are the categories of which nothing is known.
func (b *Budget) Lacks() (out []Category) {
	for _, s := range b.States {
		if s.How == Unknown {
			out = append(out, s.Category)
		}
	}
	return out
}

// Interval is that of the budget, or of the trials where these do not agree with it.
func (b *Budget) Interval(d float64) [2]float64 {
	if mc := b.MonteCarlo; mc != nil && !mc.Agrees {
		return mc.Interval
	}
	return [2]float64{d - b.Expanded, d + b.Expanded}
}

// Need says what would resolve a difference d: the category with the largest part in the
// budget, and what NeedOf says of it.
func Need(d float64, b *Budget) (Category, float64) {
	most := Categories[0]
	for _, c := range Categories[1:] {
		if b.variance(c) > b.variance(most) {
			most = c
		}
	}
	return most, NeedOf(d, b, most)
}

// NeedOf is the factor by which the variance of a category would have to fall for the
// difference d to be resolved with the rest as it is:
//
//	u_c² / ((d/k)² − Σ u² of the others)
//
// Of a time average that is the factor on the time. Of scatter from run to run it is the number of runs of
// each whose means resolve the difference of single runs, which is 1 where one is enough: k falls as well with what
// they tell of the scatter. NaN where the other categories alone are too much, and where nothing is known of
// this one.
func NeedOf(d float64, b *Budget, c Category) float64 {
	of := b.variance(c)
	if c == RunToRun && of > 0 {
		const most = 1 << 16
		if n := 1 + sort.Search(most, func(k int) bool { u := b.ofMeans(k + 1); return math.Abs(d) > u.Expanded }); n <= most {
			return float64(n)
		}
		return math.NaN()
	}
	room := d * d / (b.Coverage * b.Coverage)
	for _, o := range Categories {
		if o != c {
			room -= b.variance(o)
		}
	}
	if room > 0 && of > 0 {
		return of / room
	}
	return math.NaN()
}

// ofMeans is the budget of a difference of single runs for the difference of means of n runs of each: the scatter
// falls with √n, and has at least the 2(n−1) degrees of freedom of these runs.
func (b *Budget) ofMeans(n int) Budget {
	items := slices.Clone(b.Items)
	for i := range items {
		if it := &items[i]; it.Category == RunToRun {
			it.Standard /= math.Sqrt(float64(n))
			if it.DOF != nil {
				it.DOF = new(math.Max(*it.DOF, float64(2*(n-1))))
			}
		}
	}
	return NewBudget(items...)
}

// variance is the sum of squares of a category's items.
func (b *Budget) variance(c Category) float64 {
	var sum float64
	for _, it := range b.Items {
		if it.Category == c {
			sum += it.Standard * it.Standard
		}
	}
	return sum
}

// most names the largest item of a category that has one.
func (b *Budget) most(c Category) string {
	return slices.MaxFunc(b.only(c).Items, func(x, y Item) int { return cmp.Compare(x.Standard, y.Standard) }).Name
}

// words name categories in a sentence.
var words = map[Category]string{Sampling: "sampling", Reference: "the reference", TimeAverage: "time averaging", RunToRun: "run-to-run scatter"}

// Words lists categories: "time averaging and run-to-run scatter".
func Words(cs []Category) string {
	var w []string
	for _, c := range cs {
		w = append(w, words[c])
	}
	if n := len(w); n > 1 {
		return strings.Join(w[:n-1], ", ") + " and " + w[n-1]
	}
	return strings.Join(w, "")
}

// WindowEdge begins the names of the items of what lies beyond the samples: of that a wider plane tells more, a denser one
// does not.
const WindowEdge = "window edge"

// TurbulenceTerm names the item of a plane without the stress that its drag needs. It is of the sampling, and
// told by its own name.
const TurbulenceTerm = "the turbulence term"

// Lacking lists in words what the budget lacks.
func (b *Budget) Lacking() string { return Lacking(b.Lacks(), b.Items) }

// Lacking lists in words the categories that the items lack.
func Lacking(cs []Category, items []Item) string {
	s := Words(cs)
	if slices.ContainsFunc(items, func(it Item) bool { return it.Name == TurbulenceTerm }) {
		s = strings.Replace(s, words[Sampling], TurbulenceTerm, 1)
	}
	return s
}

// Format writes numbers of one quantity: times Scale, with Decimals at most, before Unit.
// Way, if not empty, is the direction of what is positive ("inboard"), which takes the place
// of a sign.
type Format struct {
	Scale     float64
	Decimals  int
	Unit, Way string
}

// In writes a number with as many decimals as show two digits of u.
func (f Format) In(v, u float64) string { return Fixed(f.Scale*v, f.decimals(u)) }

// Signed is In with a sign, but for a zero.
func (f Format) Signed(v, u float64) string { return Signed(f.Scale*v, f.decimals(u)) }

// rounded is the number that In writes.
func (f Format) rounded(v, u float64) float64 {
	x, _ := strconv.ParseFloat(strconv.FormatFloat(f.Scale*v, 'f', f.decimals(u), 64), 64)
	return x
}

func (f Format) decimals(u float64) int {
	return min(Decimals(math.Abs(f.Scale*u), f.Decimals), f.Decimals)
}

// Number is a difference as it is quoted: with its ± where the verdict rests on it, alone
// where that would hold a part of the budget for all of it.
func (j *Judgement) Number(d float64, b *Budget, f Format) string {
	write, unit := f.Signed, f.Unit
	if f.Way != "" {
		write, unit = f.In, f.Unit+" "+f.Way
	}
	if j.Verdict == NotJudged {
		return write(d, *j.Margin) + " " + unit
	}
	return write(d, b.Expanded) + " ± " + f.In(b.Expanded, b.Expanded) + " " + unit
}

// Sentence is Reason with what would resolve a change that is not.
func (j *Judgement) Sentence(d float64, b *Budget, f Format, whole float64) string {
	s := j.Reason(d, b, f, whole)
	if j.Verdict == NotResolved {
		s += remedy(d, b, f)
	}
	return s
}

// Reason is the verdict with its reason, as it follows the number. whole, where it is not 0, is the
// drag that the margin is also given as a part of.
func (j *Judgement) Reason(d float64, b *Budget, f Format, whole float64) string {
	switch j.Verdict {
	case Resolved:
		return Resolved
	case NotJudged:
		together := ""
		if len(j.Missing) > 1 {
			together = "together "
		}
		s := fmt.Sprintf("%s; %s unknown; resolved if %sbelow u = %s %s", NotJudged, b.Lacking(), together, f.In(*j.Margin, *j.Margin), f.Unit)
		if whole > 0 {
			part := 100 * *j.Margin / whole
			s += " (" + Fixed(part, Decimals(part, 1)) + " % of the drag)"
		}
		return s
	}
	in := b.Interval(d)
	if in == [2]float64{d - b.Expanded, d + b.Expanded} {
		// The limits are those of the two numbers as they are printed.
		x, u := f.rounded(d, b.Expanded), f.rounded(b.Expanded, b.Expanded)
		in = [2]float64{(x - u) / f.Scale, (x + u) / f.Scale}
	}
	return fmt.Sprintf("%s; the 95 %% interval [%s, %s] contains zero", NotResolved, f.Signed(in[0], b.Expanded), f.Signed(in[1], b.Expanded))
}

// remedy is what would resolve a change that stays as large, by the category that its budget is
// mostly made of.
func remedy(d float64, b *Budget, f Format) string {
	stays := ", if the change stays " + f.Signed(d, b.Expanded)
	c, factor := Need(d, b)
	factor = math.Max(1.1, factor) // NaN stays
	switch {
	case math.IsNaN(factor) || factor > mostFactor || c == RunToRun && factor > mostRuns:
		if b.Standard > 0 {
			return ", mostly by " + words[c]
		}
		return ""
	case c == TimeAverage:
		return fmt.Sprintf("; an average about %.2g times as long would resolve it%s", factor, stays)
	case c == RunToRun:
		if i := slices.IndexFunc(b.Items, func(it Item) bool { return float64(it.Runs) >= math.Max(2, factor) }); i >= 0 {
			return fmt.Sprintf("; the means of the %d runs of each that are there would resolve it%s", b.Items[i].Runs, stays)
		}
		return fmt.Sprintf("; the means of %.0f runs of each would resolve it%s", math.Ceil(math.Max(2, factor)), stays)
	case c == Sampling && b.most(c) == TurbulenceTerm:
		return "; the normal stress <u'u'> in both planes might resolve it" + stays
	case c == Sampling && strings.HasPrefix(b.most(c), WindowEdge):
		return "; wider planes might resolve it" + stays
	case c == Sampling:
		return fmt.Sprintf("; planes with %.2g times as many samples might resolve it%s", factor, stays)
	}
	return fmt.Sprintf("; a reference uncertainty %.2g times smaller would resolve it%s", math.Max(1.1, math.Sqrt(factor)), stays)
}

// Nobody averages a hundred times as long, or repeats a run more often than this.
const mostFactor, mostRuns = 100, 30
