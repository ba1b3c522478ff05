package vlm_test

import (
	"math"
	"slices"
	"testing"

	"example.org/groundeffect/vlm"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// The mean line of the NACA four-digit sections: through the ends of the chord,
// highest where it should be, one slope on both sides of it.
//
// Source: Jacobs, Ward and Pinkerton, NACA Report 460 (1933): slopes 2m/p at the
// leading and -2m/(1-p) at the trailing edge.
func TestCamber(t *testing.T) {
	for _, c := range []vlm.Camber{{}, {Height: .02, At: .4}, {Height: .06, At: .4}, {Height: -.03, At: .2}, {Height: .04, At: .5}, {Height: .1, At: .9}} {
		assert.Zero(t, c.Ordinate(0), "%+v", c)
		assert.InDelta(t, 0, c.Ordinate(1), 1e-15, "%+v", c)
		if c.Height == 0 {
			assert.Zero(t, c.Ordinate(.3))
			assert.Zero(t, c.Slope(.3))
			continue
		}
		assert.InDelta(t, c.Height, c.Ordinate(c.At), 1e-15, "%+v", c)
		assert.InDelta(t, 2*c.Height/c.At, c.Slope(0), 1e-14, "%+v", c)
		assert.InDelta(t, -2*c.Height/(1-c.At), c.Slope(1), 1e-14, "%+v", c)
		for xi := .005; xi < 1; xi += .01 {
			assert.LessOrEqual(t, c.Ordinate(xi)/c.Height, 1., "%+v at %v", c, xi)
			const d = 1e-6
			if math.Abs(xi-c.At) > 2*d {
				assert.InDelta(t, (c.Ordinate(xi+d)-c.Ordinate(xi-d))/(2*d), c.Slope(xi), 1e-8, "%+v at %v", c, xi)
			}
		}
		assert.InDelta(t, c.Slope(c.At-1e-9), c.Slope(c.At+1e-9), 1e-7, "%+v", c)
	}
}

// A section turns about its leading edge and keeps its lengths.
func TestStationPoint(t *testing.T) {
	s := station(2, 3, 1, 1.5, 30, vlm.Camber{Height: .04, At: .4})
	assert.Equal(t, s.LE, s.Point(0))
	end := s.Point(1)
	assert.InDelta(t, 2+1.5*math.Cos(30*deg), end.X, 1e-12)
	assert.InDelta(t, 3, end.Y, 0)
	assert.InDelta(t, 1-1.5*math.Sin(30*deg), end.Z, 1e-12, "nose up lowers the trailing edge")
	// The highest point stands .04 chords off the chord line, upwards.
	top := r3.Sub(s.Point(.4), s.LE)
	up := r3.Vec{X: math.Sin(30 * deg), Z: math.Cos(30 * deg)}
	assert.InDelta(t, .06, r3.Dot(top, up), 1e-12)
}

// Stations that run to starboard make a wing that lifts at a positive angle; from
// tip to root the circulation turns about, the force does not.
func TestStationOrder(t *testing.T) {
	out := rectangle(4, vlm.Camber{Height: .02, At: .4}, 3, 5)
	in := out
	in.Stations = slices.Clone(out.Stations)
	slices.Reverse(in.Stations)
	a := solve(t, lattice(t, vlm.Options{}, out), .7, 3*deg)
	b := solve(t, lattice(t, vlm.Options{}, in), .7, 3*deg)
	assert.Positive(t, a.Total.Lift())
	assert.Positive(t, a.Gamma[0])
	assert.Negative(t, b.Gamma[0])
	sameLoads(t, a.Total, b.Total, 1e-9, "stations from the tip inwards")
}

// good is a craft with nothing wrong, a wing with a tip plate.
func good() []vlm.Surface {
	tip := station(0, 2, 0, 1, 2, vlm.Camber{})
	low := tip
	low.LE.Z = -.2
	return []vlm.Surface{
		{Name: "wing", Rows: 2, Strips: 3, Stations: []vlm.Station{station(0, 0, 0, 1, 2, vlm.Camber{}), tip}},
		{Name: "plate", Rows: 2, Strips: 2, Stations: []vlm.Station{tip, low}},
	}
}

// Bad surfaces are errors that name the surface and say what is meant.
func TestNewErrors(t *testing.T) {
	_, err := vlm.New(good(), vlm.Options{})
	require.NoError(t, err)

	_, err = vlm.New(nil, vlm.Options{})
	assert.ErrorContains(t, err, "no surface")

	type change func(s []vlm.Surface)
	wing := func(f func(s *vlm.Surface)) change { return func(s []vlm.Surface) { f(&s[0]) } }
	root := func(f func(s *vlm.Station)) change { return func(s []vlm.Surface) { f(&s[0].Stations[0]) } }
	for name, c := range map[string]struct {
		change change
		says   []string
	}{
		"no stations":   {wing(func(s *vlm.Surface) { s.Stations = nil }), []string{`"wing"`, "0 stations", "at least 2"}},
		"one station":   {wing(func(s *vlm.Surface) { s.Stations = s.Stations[:1] }), []string{`"wing"`, "1 stations"}},
		"no rows":       {wing(func(s *vlm.Surface) { s.Rows = 0 }), []string{`"wing"`, "0 rows"}},
		"negative rows": {wing(func(s *vlm.Surface) { s.Rows = -3 }), []string{`"wing"`, "-3 rows"}},
		"no strips":     {wing(func(s *vlm.Surface) { s.Strips = 0 }), []string{`"wing"`, "0 strips"}},
		"fewer than bays": {wing(func(s *vlm.Surface) {
			s.Stations = append(s.Stations, station(0, 3, 0, 1, 0, vlm.Camber{}))
			s.Strips = 1
		}), []string{`"wing"`, "at least 1 row and 2 strips"}},
		"too many rows":      {wing(func(s *vlm.Surface) { s.Rows = math.MaxInt }), []string{`"wing"`, "at most"}},
		"too many strips":    {wing(func(s *vlm.Surface) { s.Strips = math.MaxInt }), []string{`"wing"`, "at most"}},
		"too many cells":     {func(s []vlm.Surface) { s[0].Rows, s[1].Rows, s[0].Strips = 100, 100, 100 }, []string{"10200 cells", "at most 4000", "fewer rows or strips"}},
		"x NaN":              {root(func(s *vlm.Station) { s.LE.X = math.NaN() }), []string{`"wing"`, "station 0", "NaN"}},
		"y Inf":              {root(func(s *vlm.Station) { s.LE.Y = math.Inf(1) }), []string{`"wing"`, "station 0", "Inf"}},
		"z too far":          {root(func(s *vlm.Station) { s.LE.Z = -1e9 }), []string{`"wing"`, "station 0", "-1e+09"}},
		"chord NaN":          {root(func(s *vlm.Station) { s.Chord = math.NaN() }), []string{`"wing"`, "NaN"}},
		"chord zero":         {root(func(s *vlm.Station) { s.Chord = 0 }), []string{`"wing"`, "station 0", "chord of 0 m", "above 0"}},
		"chord negative":     {root(func(s *vlm.Station) { s.Chord = -1 }), []string{`"wing"`, "chord of -1 m"}},
		"incidence NaN":      {root(func(s *vlm.Station) { s.Incidence = math.NaN() }), []string{`"wing"`, "NaN"}},
		"incidence 60":       {root(func(s *vlm.Station) { s.Incidence = 60 * deg }), []string{`"wing"`, "60.0 degrees", "±45"}},
		"camber Inf":         {root(func(s *vlm.Station) { s.Camber.Height = math.Inf(-1) }), []string{`"wing"`, "-Inf"}},
		"camber at the nose": {root(func(s *vlm.Station) { s.Camber = vlm.Camber{Height: .02} }), []string{`"wing"`, "highest camber at 0 chords", "between 0 and 1"}},
		"camber past the end": {root(func(s *vlm.Station) { s.Camber = vlm.Camber{Height: .02, At: 1} }),
			[]string{`"wing"`, "highest camber at 1 chords"}},
		"equal stations": {wing(func(s *vlm.Surface) { s.Stations[1] = s.Stations[0]; s.Stations[1].LE.X = 1 }), []string{`"wing"`, "stations 0 and 1", "same position"}},
		"port half":      {wing(func(s *vlm.Surface) { s.Stations[0].LE.Y = -2 }), []string{`"wing"`, "station 0", "y = -2 m", "starboard half"}},
		"rows at a join": {func(s []vlm.Surface) { s[1].Rows = 3 }, []string{`"wing" and "plate"`, "2 and 3 rows", "the same"}},
	} {
		t.Run(name, func(t *testing.T) {
			s := good()
			c.change(s)
			l, err := vlm.New(s, vlm.Options{})
			require.Error(t, err)
			assert.Nil(t, l)
			for _, says := range c.says {
				assert.ErrorContains(t, err, says)
			}
		})
	}

	// Two mistakes are both told.
	s := good()
	s[0].Stations[0].Chord, s[1].Rows = 0, 0
	_, err = vlm.New(s, vlm.Options{})
	assert.ErrorContains(t, err, `"wing"`)
	assert.ErrorContains(t, err, `"plate"`)

	// Without the reflection a port half is no mistake.
	port := good()
	for i := range port {
		for j := range port[i].Stations {
			port[i].Stations[j].LE.Y -= 3
		}
	}
	_, err = vlm.New(port, vlm.Options{NoMirror: true})
	assert.NoError(t, err)
}

// Attitudes outside the method's range are errors.
func TestSolveErrors(t *testing.T) {
	l := lattice(t, vlm.Options{}, good()...)
	for _, pitch := range [...]float64{90 * deg, -46 * deg, math.NaN(), math.Inf(1), math.Inf(-1)} {
		p, err := l.AtPitch(t.Context(), pitch)
		assert.ErrorContains(t, err, "±45 degrees", "pitch %v", pitch)
		assert.Nil(t, p)
		s, err := l.Solve(t.Context(), vlm.Attitude{Height: 1, Pitch: pitch})
		assert.ErrorContains(t, err, "±45 degrees", "pitch %v", pitch)
		assert.Nil(t, s)
	}
	for _, height := range [...]float64{math.NaN(), math.Inf(-1), 1e7, -1e7} {
		s, err := l.Solve(t.Context(), vlm.Attitude{Height: height})
		assert.ErrorContains(t, err, "height", "height %v", height)
		assert.Nil(t, s)
	}

	// Wings that coincide, or a fin in the plane of symmetry, have no single solution.
	twice := append(good()[:1], good()[0])
	twice[1].Name = "twin"
	fin := vlm.Surface{Name: "fin", Rows: 2, Strips: 2, Stations: []vlm.Station{station(3, 0, 0, 1, 0, vlm.Camber{}), station(3, 0, 1, 1, 0, vlm.Camber{})}}
	for name, s := range map[string][]vlm.Surface{"twins": twice, "fin": append(good(), fin)} {
		l, err := vlm.New(s, vlm.Options{})
		if err == nil {
			_, err = l.Solve(t.Context(), vlm.Attitude{Height: 2, Pitch: 2 * deg})
		}
		assert.Error(t, err, name)
	}
}

// A wing at or under the water is an error that names it and how deep it lies: of
// several the deepest, found at the pitch and with its camber.
func TestWetError(t *testing.T) {
	l := lattice(t, vlm.Options{}, good()...)
	deepest := .2 + math.Sin(2*deg) // of the plate's trailing edge under the datum
	for _, height := range [...]float64{deepest - .05, 0, -3} {
		_, err := l.Solve(t.Context(), vlm.Attitude{Height: height})
		var wet *vlm.WetError
		require.ErrorAs(t, err, &wet, "height %v", height)
		assert.Equal(t, "plate", wet.Surface)
		assert.InDelta(t, deepest-height, wet.Depth, 1e-12)
		assert.Equal(t, height, wet.Height)
		assert.ErrorContains(t, err, `"plate" is in the water`)
		assert.ErrorContains(t, err, "raise the craft")
	}
	_, err := l.Solve(t.Context(), vlm.Attitude{Height: deepest + 1e-3})
	assert.NoError(t, err)

	// It just touches: no flow passes, and that is an error too.
	flat := lattice(t, vlm.Options{}, rectangle(4, vlm.Camber{}, 2, 3))
	_, err = flat.Solve(t.Context(), vlm.Attitude{Height: 0, Pitch: 5 * deg})
	var wet *vlm.WetError
	require.ErrorAs(t, err, &wet)
	assert.Zero(t, wet.Depth)

	// Nose down the leading edge, a chord ahead of the datum, is the lowest.
	_, err = flat.Solve(t.Context(), vlm.Attitude{Height: .05, Pitch: -10 * deg})
	require.ErrorAs(t, err, &wet)
	assert.InDelta(t, math.Sin(10*deg)-.05, wet.Depth, 1e-12)
	assert.InDelta(t, -10*deg, wet.Pitch, 1e-15)

	// The belly of a section bent down hangs below both ends.
	belly := lattice(t, vlm.Options{}, rectangle(4, vlm.Camber{Height: -.08, At: .5}, 2, 3))
	_, err = belly.Solve(t.Context(), vlm.Attitude{Height: .05})
	require.ErrorAs(t, err, &wet)
	assert.InDelta(t, .03, wet.Depth, 1e-4)
}

// Layouts tell which strips and cells are whose, and with the strips' edges they give
// every cell's area as the lattice has it.
func TestLayouts(t *testing.T) {
	flat := vlm.Camber{}
	for name, o := range map[string]vlm.Options{"semicircle": {}, "quarter chord": {Arrangement: vlm.QuarterChord}} {
		surfaces := []vlm.Surface{
			{Name: "front", Rows: 3, Strips: 4, Stations: []vlm.Station{station(0, 0, 0, 1, 2, flat), station(.2, 1, 0, 1, 2, flat), station(.5, 2.5, 0, 1, 2, flat)}},
			{Name: "rear", Rows: 2, Strips: 5, Stations: []vlm.Station{station(3, 0, 0, 1, 2, flat), station(3, 2, 0, 1, 2, flat)}},
		}
		l := lattice(t, o, surfaces...)
		s := solve(t, l, 1, 0)
		layouts := l.Layouts()
		require.Len(t, layouts, len(surfaces), name)
		strip, cell := 0, 0
		for i, lay := range layouts {
			assert.Equal(t, surfaces[i].Rows, lay.Rows, name)
			assert.Equal(t, strip, lay.FirstStrip, name)
			assert.Equal(t, cell, lay.FirstCell, name)
			assert.Equal(t, surfaces[i].Strips, lay.EndStrip-lay.FirstStrip, name)
			assert.Equal(t, surfaces[i].Rows*surfaces[i].Strips, lay.EndCell-lay.FirstCell, name)
			strip, cell = lay.EndStrip, lay.EndCell
			require.Len(t, lay.ChordEdges, lay.Rows+1, name)
			assert.Zero(t, lay.ChordEdges[0], name)
			assert.InDelta(t, 1, lay.ChordEdges[lay.Rows], 1e-15, name)

			strips := s.Strips[lay.FirstStrip:lay.EndStrip]
			assert.Zero(t, strips[0].InnerY, name)
			sum := 0.
			for j, st := range strips {
				assert.Equal(t, i, st.Surface, name)
				assert.InDelta(t, st.Width, st.OuterY-st.InnerY, 1e-12, "%s: a level wing", name)
				assert.True(t, st.InnerY < st.Y && st.Y < st.OuterY, name)
				if j > 0 {
					assert.InDelta(t, strips[j-1].OuterY, st.InnerY, 1e-12, name)
				}
				// The pressures of a strip's cells integrate to its normal force, rows by their edges.
				force := 0.
				for k := range lay.Rows {
					area := (lay.ChordEdges[k+1] - lay.ChordEdges[k]) * st.Chord * st.Width
					force += s.Pressure[lay.FirstCell+k*len(strips)+j] * area
				}
				assert.InEpsilon(t, st.NormalForce, force, 1e-2, name)
				sum += st.Width
			}
			// At a free tip the semicircle's lattice ends a quarter strip short.
			tip := surfaces[i].Stations[len(surfaces[i].Stations)-1].LE.Y
			short := 0.
			if o.Arrangement == vlm.Semicircle {
				short = strips[len(strips)-1].Width / 4
			}
			assert.InDelta(t, tip-short, strips[len(strips)-1].OuterY, 1e-12, name)
			assert.InDelta(t, tip-short, sum, 1e-12, name)
		}
		assert.Len(t, s.Strips, strip, name)
		assert.Len(t, s.Pressure, cell, name)
		assert.Len(t, s.Gamma, cell, name)
	}
}

// Edges given where the lattice would put them itself give the same lattice; others give a
// lattice with its strips there.
func TestStripEdges(t *testing.T) {
	root := vlm.Station{Chord: 1.5, Incidence: .05}
	mid, tip := root, root
	mid.LE.Y, tip.LE.Y, tip.Chord = 1, 3, 1
	s := vlm.Surface{Name: "wing", Stations: []vlm.Station{root, tip}, Rows: 3, Strips: 5}
	want := solve(t, lattice(t, vlm.Options{}, s), 1, .03)
	s.Edges = []float64{0}
	for _, v := range want.Strips {
		s.Edges = append(s.Edges, v.OuterY/3)
	}
	got := solve(t, lattice(t, vlm.Options{}, s), 1, .03)
	assert.InEpsilon(t, want.Total.Lift(), got.Total.Lift(), 1e-12)
	assert.InEpsilon(t, want.Total.Pitching(), got.Total.Pitching(), 1e-12)

	s.Stations = []vlm.Station{root, mid, tip}
	s.Edges = []float64{0, .2, 1, 1.5, 1.9, 1.99}
	got = solve(t, lattice(t, vlm.Options{}, s), 1, .03)
	for i, y := range []float64{0, .2, 1, 2, 2.8, 2.98} {
		if i > 0 {
			assert.InDelta(t, y, got.Strips[i-1].OuterY, 1e-12)
		}
		if i < 5 {
			assert.InDelta(t, y, got.Strips[i].InnerY, 1e-12)
		}
	}
	for _, c := range []struct {
		edges []float64
		text  string
	}{
		{[]float64{0, 1, 2}, "3 edges for 5 strips"},
		{[]float64{0, .2, .2, 1, 1.5, 2}, "edge 2 of its strips is 0.2"},
		{[]float64{0, .2, .4, 1, 1.5, 2.1}, "edge 5 of its strips is 2.1"},
		{[]float64{-.1, .2, .4, 1, 1.5, 2}, "edge 0 of its strips is -0.1"},
		{[]float64{0, .2, .4, math.NaN(), 1.5, 2}, "edge 3 of its strips is NaN"},
		{[]float64{0, .2, .4, .9, 1.5, 2}, "station 1 is no edge"},
		{[]float64{0, .2, .4, .6, .8, 1}, "each station between"},
		{[]float64{1, 1.2, 1.4, 1.6, 1.8, 2}, "each station between"},
	} {
		s.Edges = c.edges
		_, err := vlm.New([]vlm.Surface{s}, vlm.Options{})
		assert.ErrorContains(t, err, c.text)
	}
}
