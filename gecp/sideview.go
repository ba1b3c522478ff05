package gecp

import (
	"math"

	"example.org/groundeffect/vlm"
)

// Outline is a closed line in the side view: points (x, z) in craft axes, m.
type Outline [][2]float64

// SideView is a craft seen from starboard, in craft axes; Afloat turns a point
// of it into the picture of a craft that flies.
type SideView struct {
	Wings []WingOutlines // in the order of the file
}

// WingOutlines are a wing's sections and plates as seen from the side.
type WingOutlines struct {
	Name      string
	Root      Outline
	Tip       Outline
	Plates    []Outline // down and up, those that the wing has
	MeanLines []Outline // one a station, root to tip, open, nose to tail
}

// SideView returns the craft's side view. Sections have the four-digit thickness
// about their mean line. The craft passes Check.
func (c *Craft) SideView() SideView {
	var v SideView
	for i := range c.Wings {
		w := &c.Wings[i]
		sec := w.Sections()
		tip := sec[len(sec)-1]
		o := WingOutlines{Name: w.Name, Root: outline(sec[0], w.Thickness), Tip: outline(tip, w.Thickness)}
		for _, s := range sec {
			o.MeanLines = append(o.MeanLines, meanLine(s))
		}
		for _, p := range w.plates() {
			if p.dz == 0 {
				continue
			}
			var plate Outline
			for _, up := range []float64{0, p.dz} {
				for k := range outlineSteps + 1 {
					at := tip.Point(math.Abs(up/p.dz - float64(k)/outlineSteps))
					plate = append(plate, [2]float64{at.X, at.Z + up})
				}
			}
			o.Plates = append(o.Plates, plate)
		}
		v.Wings = append(v.Wings, o)
	}
	return v
}

const outlineSteps = 24

// meanLineSteps is the number of pieces of a mean line.
const meanLineSteps = 16

func meanLine(s vlm.Station) Outline {
	l := make(Outline, meanLineSteps+1)
	for i := range l {
		// Closer together at the nose, where a section is round.
		p := s.Point(1 - math.Cos(float64(i)/meanLineSteps*math.Pi/2))
		l[i] = [2]float64{p.X, p.Z}
	}
	return l
}

// outline returns a section from the trailing edge along the upper side to the
// leading edge and back along the lower; see [vlm.FourDigitThickness].
func outline(s vlm.Station, thickness float64) Outline {
	var o Outline
	sin, cos := math.Sincos(s.Incidence)
	add := func(k int, side float64) {
		xi := (1 - math.Cos(math.Pi*float64(k)/outlineSteps)) / 2
		half := thickness / 2 * vlm.FourDigitThickness(xi)
		at := s.Point(xi)
		o = append(o, [2]float64{at.X + side*half*s.Chord*sin, at.Z + side*half*s.Chord*cos})
	}
	for k := outlineSteps; k >= 0; k-- {
		add(k, 1)
	}
	for k := 1; k <= outlineSteps; k++ {
		add(k, -1)
	}
	return o
}
