package lake

import (
	"fmt"
	"math"
)

// Similarity is a small model's length over that of the craft it stands for, 0.05 to 1.
// At equal Froude numbers, speed over the root of length times G, weight, lift and the
// water's waves keep their proportions, and the model moves as the craft does, only
// quicker. The methods are a model's figure over the craft's (W. Froude, 1868; any
// textbook of naval architecture).
type Similarity float64

const leastSimilarity = .05

func (s Similarity) check() error {
	if !(s >= leastSimilarity && s <= 1) {
		return fmt.Errorf("the model's scale is %v; give its length over the craft's, between %v and 1", float64(s), leastSimilarity)
	}
	return nil
}

// Length is for all lengths, clearances and positions too.
func (s Similarity) Length() float64 { return float64(s) }

// Area is for areas.
func (s Similarity) Area() float64 { return float64(s * s) }

// Mass is for masses, forces, the pull of the line, and its stiffness as a force per
// unit of strain.
func (s Similarity) Mass() float64 { return float64(s * s * s) }

// Inertia is for moments of inertia.
func (s Similarity) Inertia() float64 { return math.Pow(float64(s), 5) }

// Speed is for speeds, and for times.
func (s Similarity) Speed() float64 { return math.Sqrt(float64(s)) }

// Reynolds is for Reynolds numbers, in the same air.
func (s Similarity) Reynolds() float64 { return math.Pow(float64(s), 1.5) }
