package vlm

func addFour(to, a, b, c, d []float64, w *[4]float64) {
	n := len(to)
	if n == 0 {
		return
	}
	a, b, c, d = a[:n], b[:n], c[:n], d[:n]
	addFourRows(&to[0], &a[0], &b[0], &c[0], &d[0], w, n)
}

// addFourRows is addFourGo for n > 0.
//
//go:noescape
func addFourRows(to, a, b, c, d *float64, w *[4]float64, n int)
