package measure

import (
	"fmt"
	"slices"
	"strings"
)

// Weight names what the wake's area, centroid and spread are weighted with. The
// weights are not interchangeable: for a Gaussian wake of depth 0.5 the variances
// stand as 1 (deficit), 1.167 (momentum), 1.071 (total pressure).
type Weight uint8

// The weights.
const (
	WeightTotalPressure Weight = iota // cpt∞ − cpt
	WeightDeficit                     // 1 − u
	WeightMomentum                    // u(1 − u)
	WeightDrag                        // local drag, the momentum integrand
)

var weightNames = []string{"total-pressure", "deficit", "momentum", "drag"}
var weightFormulas = []string{"(pt∞−pt)/q", "1−u/U", "(u/U)(1−u/U)", "local drag"}

// String returns the word that --weight takes.
func (w Weight) String() string { return weightNames[w] }

// Formula returns the weight as a formula for labels.
func (w Weight) Formula() string { return weightFormulas[w] }

// ParseWeight finds a weight by its word.
func ParseWeight(s string) (Weight, error) {
	if i := slices.Index(weightNames, s); i >= 0 {
		return Weight(i), nil
	}
	return 0, fmt.Errorf("weight %q is not known; one of %s is expected", s, strings.Join(weightNames, ", "))
}
