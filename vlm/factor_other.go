//go:build !amd64

package vlm

func addFour(to, a, b, c, d []float64, w *[4]float64) { addFourGo(to, a, b, c, d, w) }
