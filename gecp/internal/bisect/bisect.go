// Package bisect closes in on where something begins.
package bisect

import "math"

// Edge halves the interval between no, where holds is false, and yes, where it is
// true, until its ends are at most tol apart, and returns them. Either may be the
// larger. holds is not asked at the ends. Of several edges it finds one. After an
// error it returns the interval as it was and the error.
func Edge(no, yes, tol float64, holds func(x float64) (bool, error)) (float64, float64, error) {
	for math.Abs(yes-no) > tol {
		m := no + (yes-no)/2
		if m == no || m == yes { // no number lies between
			break
		}
		ok, err := holds(m)
		if err != nil {
			return no, yes, err
		}
		if ok {
			yes = m
		} else {
			no = m
		}
	}
	return no, yes, nil
}
