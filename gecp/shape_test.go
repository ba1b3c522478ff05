package gecp

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"example.org/groundeffect/vlm"
)

func TestShapeByHand(t *testing.T) {
	for _, c := range []struct {
		name string
		wing Wing
		want WingShape
	}{
		{"rectangle", rectangle("w", .5, 0, 0, 1.5, 2), WingShape{Name: "w", Area: 6, Span: 4, AspectRatio: 16. / 6, MAC: 1.5, MACX: .5, MACY: 1}},
		// 2/3 c_r (1 + t + t^2)/(1 + t) and b/6 (1 + 2t)/(1 + t)
		{"taper 1/2", Wing{Name: "w", Stations: []Station{{Chord: 2}, {Y: 3, Chord: 1}}},
			WingShape{Name: "w", Area: 9, Span: 6, AspectRatio: 4, MAC: 14. / 9, MACX: 0, MACY: 4. / 3}},
		// the mean chord's leading edge lies on the wing's: x = y tan(sweep)
		{"swept taper 1/3", Wing{Name: "w", X: 1, Stations: []Station{{Chord: 1.5}, {Y: math.Sqrt2, Chord: .5, LEX: 2}}},
			WingShape{Name: "w", Area: 2 * math.Sqrt2, Span: 2 * math.Sqrt2, AspectRatio: 2 * math.Sqrt2,
				MAC: 1 * 13. / 12, MACX: 1 + 5./6, MACY: math.Sqrt2 * 5 / 12}},
		{"delta", Wing{Name: "w", Stations: []Station{{Chord: 3}, {Y: 1, Chord: 1e-300, LEX: 3}}},
			WingShape{Name: "w", Area: 3, Span: 2, AspectRatio: 4. / 3, MAC: 2, MACX: 1, MACY: 1. / 3}},
		// rectangle 1 x 2 inboard, triangle outboard: areas 2 and 1 a side, mean chords 2 and 4/3
		{"two bays", Wing{Name: "w", Stations: []Station{{Chord: 2}, {Y: 1, Chord: 2}, {Y: 2, Chord: 1e-300}}},
			WingShape{Name: "w", Area: 6, Span: 4, AspectRatio: 16. / 6, MAC: 16. / 9, MACX: 0, MACY: (2*.5 + 1*4./3) / 3}},
		{"halves apart", Wing{Name: "w", Stations: []Station{{Y: 1, Chord: 1}, {Y: 2, Chord: 1}}},
			WingShape{Name: "w", Area: 2, Span: 4, AspectRatio: 8, MAC: 1, MACX: 0, MACY: 1.5}},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := (&Craft{Wings: []Wing{c.wing}}).Shape()
			require.Len(t, got.Wings, 1)
			requireShape(t, c.want, got.Wings[0])
			assert.InDelta(t, c.want.Area, got.Area, 1e-12)
			assert.InDelta(t, c.want.Span, got.Span, 1e-12)
			assert.InDelta(t, c.want.MAC, got.MAC, 1e-12)
			assert.InDelta(t, c.want.MACX, got.MACX, 1e-12)
		})
	}
}

func requireShape(t *testing.T, want, got WingShape) {
	t.Helper()
	require.Equal(t, want.Name, got.Name)
	for _, v := range [][2]float64{{want.Area, got.Area}, {want.Span, got.Span}, {want.AspectRatio, got.AspectRatio},
		{want.MAC, got.MAC}, {want.MACX, got.MACX}, {want.MACY, got.MACY}} {
		require.InDelta(t, v[0], v[1], 1e-12*(1+math.Abs(v[0])), "%+v %+v", want, got)
	}
}

func TestShapeOfTwoWings(t *testing.T) {
	c := &Craft{Wings: []Wing{rectangle("front", 0, 0, 0, 1, 3), rectangle("rear", 4, 0, 0, 2, 1)}}
	s := c.Shape() // 6 m2 of chord 1 at 0, 4 m2 of chord 2 at 4
	assert.InDelta(t, 10, s.Area, 1e-12)
	assert.InDelta(t, 6, s.Span, 1e-12)
	assert.InDelta(t, 1.4, s.MAC, 1e-12)
	assert.InDelta(t, 1.6, s.MACX, 1e-12)
}

// A station put on a straight edge changes nothing; incidence changes no area.
func TestShapeInvariance(t *testing.T) {
	for name, c := range demoCrafts(t) {
		before := c.Shape()
		for i := range c.Wings {
			w := &c.Wings[i]
			a, b := w.Stations[0], w.Stations[1]
			mid := Station{Y: .7*a.Y + .3*b.Y, Chord: .7*a.Chord + .3*b.Chord, LEX: .7*a.LEX + .3*b.LEX, LEZ: .7*a.LEZ + .3*b.LEZ, TwistDeg: .7*a.TwistDeg + .3*b.TwistDeg}
			w.Stations = append([]Station{a, mid}, w.Stations[1:]...)
		}
		for i, w := range c.Shape().Wings {
			requireShape(t, before.Wings[i], w)
		}
		for i := range c.Wings {
			c.Wings[i].IncidenceDeg += 2
		}
		after := c.Shape()
		assert.InDelta(t, before.Area, after.Area, 1e-12, name)
		assert.InDelta(t, before.MAC, after.MAC, 1e-12, name)
	}
}

// scaled returns the craft's wings k times as large.
func scaled(c *Craft, k float64) *Craft {
	s := &Craft{Name: c.Name}
	for _, w := range c.Wings {
		w.X, w.Z = k*w.X, k*w.Z
		w.TipPlates = TipPlates{k * w.TipPlates.Down, k * w.TipPlates.Up}
		w.Stations = append([]Station(nil), w.Stations...)
		for i := range w.Stations {
			st := &w.Stations[i]
			st.Y, st.Chord, st.LEX, st.LEZ = k*st.Y, k*st.Chord, k*st.LEX, k*st.LEZ
		}
		s.Wings = append(s.Wings, w)
	}
	return s
}

func TestScale(t *testing.T) {
	for name, c := range demoCrafts(t) {
		for _, k := range []float64{.2, 3} {
			big := scaled(c, k)
			require.Nil(t, big.Check(), name)
			for i, w := range c.Shape().Wings {
				w.Area, w.Span, w.MAC, w.MACX, w.MACY = k*k*w.Area, k*w.Span, k*w.MAC, k*w.MACX, k*w.MACY
				requireShape(t, w, big.Shape().Wings[i])
			}
			for _, pitch := range []float64{-.1, 0, .07} {
				a, b := c.LowestPoints().At(pitch), big.LowestPoints().At(pitch)
				assert.Equal(t, a.Wing, b.Wing, name)
				assert.InDelta(t, k*a.Depth, b.Depth, 1e-12, name)
				assert.InDelta(t, k*a.X, b.X, 1e-12, name)
				assert.InDelta(t, k*a.Z, b.Z, 1e-12, name)
			}
			sa, sb := c.Surfaces(Mesh{4, 8}), big.Surfaces(Mesh{4, 8})
			for i := range sa {
				assert.Equal(t, sa[i].Strips, sb[i].Strips, name)
				for j, st := range sa[i].Stations {
					d := r3.Norm(r3.Sub(r3.Scale(k, st.Point(.3)), sb[i].Stations[j].Point(.3)))
					assert.InDelta(t, 0, d, 1e-12, name)
				}
			}
		}
	}
}

// The incidence turns the whole half wing about its root leading edge, the twist
// each station about its own.
func TestIncidenceTurnsTheWing(t *testing.T) {
	w := Wing{Name: "w", X: 1, Z: .5, IncidenceDeg: 10, Camber: Camber{.05, .3},
		Stations: []Station{{Chord: 2}, {Y: 2, Chord: 1, LEX: .8, LEZ: .3, TwistDeg: -4}}}
	flat := w
	flat.IncidenceDeg = 0
	pivot := r3.Vec{X: 1, Z: .5}
	// nose-up is a turn about +y that brings aft points down
	turn := r3.NewRotation(10*math.Pi/180, r3.Vec{Y: 1})
	for i, s := range w.Sections() {
		for _, xi := range []float64{0, .3, 1} {
			q := r3.Add(pivot, turn.Rotate(r3.Sub(flat.Sections()[i].Point(xi), pivot)))
			assert.InDelta(t, 0, r3.Norm(r3.Sub(q, s.Point(xi))), 1e-12)
		}
	}
	tip := w.Sections()[1]
	assert.InDelta(t, 6*math.Pi/180, tip.Incidence, 1e-12)
	assert.Less(t, w.Sections()[0].Point(1).Z, .5, "the trailing edge of a nose-up wing lies low")
}

func TestSurfaces(t *testing.T) {
	w := rectangle("main", 0, 1, 5, 1, 2)
	w.Stations[1].TwistDeg = -1
	w.TipPlates = TipPlates{Down: .4, Up: .04}
	other := Wing{Name: "tail", X: 3, Stations: []Station{{Chord: 1}, {Y: .2, Chord: 1}, {Y: .5, Chord: 1}, {Y: 1, Chord: 1}}, TipPlates: TipPlates{Up: 1.9}}
	s := (&Craft{Wings: []Wing{w, other}}).Surfaces(Mesh{Rows: 5, Strips: 8})
	var got []string
	for _, f := range s {
		got = append(got, fmt.Sprint(f.Name, " ", f.Rows, "x", f.Strips, " ", len(f.Stations)))
	}
	// Both wings share the tail's strips of .125 m, or a little less: .4 m of plate takes three
	// at most, .04 m the one that it must have.
	assert.Equal(t, []string{"main 5x17 2", "main plate down 5x3 2", "main plate up 5x1 2", "tail 5x9 4", "tail plate up 5x3 2"}, got)
	alone := (&Craft{Wings: []Wing{w}}).Surfaces(Mesh{Rows: 5, Strips: 8})
	assert.Equal(t, []int{8, 2, 1}, []int{alone[0].Strips, alone[1].Strips, alone[2].Strips}, "strips of .25 m")
	tip := s[0].Stations[1]
	for i, dz := range map[int]float64{1: -.4, 2: .04} {
		assert.Equal(t, tip, s[i].Stations[0])
		for _, xi := range []float64{0, .5, 1} {
			d := r3.Sub(s[i].Stations[1].Point(xi), tip.Point(xi))
			assert.InDelta(t, 0, r3.Norm(r3.Sub(d, r3.Vec{Z: dz})), 1e-12)
		}
	}
	few := (&Craft{Wings: []Wing{other}}).Surfaces(Mesh{Rows: 1, Strips: 2})
	assert.Equal(t, 3, few[0].Strips, "at least one a bay")
}

// What passes Check makes a lattice.
func TestSurfacesMakeALattice(t *testing.T) {
	for name, c := range demoCrafts(t) {
		l, err := vlm.New(c.Surfaces(Mesh{Rows: 3, Strips: 6}), vlm.Options{})
		require.NoError(t, err, name)
		assert.Positive(t, l.Cells())
	}
}
