package bank

import (
	"context"
	"errors"
	"math"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/crafts"
	"example.org/groundeffect/gecp/tow"
	"example.org/groundeffect/gecp/units"
)

func model(t testing.TB, c *gecp.Craft) *gecp.Model {
	t.Helper()
	m, err := gecp.NewModel(c, gecp.Mesh{Rows: 3, Strips: 6})
	require.NoError(t, err)
	return m.WithWake(gecp.WakeStraight) // quicker; free wakes have their own tests
}

func flight(t testing.TB, m *gecp.Model, clearance, pitchDeg float64) *Flight {
	t.Helper()
	f, err := At(t.Context(), m, gecp.Freestream{Speed: 14}, clearance, gecp.Radians(pitchDeg))
	require.NoError(t, err)
	return f
}

// towed is the demo craft in steady tow, its map built once.
var towed = sync.OnceValue(func() tow.SteadyTow {
	model, err := gecp.NewModel(gecp.Demo(), gecp.Mesh{})
	if err != nil {
		panic(err)
	}
	m, err := model.WithWake(gecp.WakeStraight).BuildMap(context.Background(), gecp.MapOptions{})
	if err != nil {
		panic(err)
	}
	t, err := tow.NewSteadyTow(m, gecp.Freestream{Speed: 14})
	if err != nil {
		panic(err)
	}
	return t
})

// each calls f with the model of every ready craft.
func each(t *testing.T, f func(t *testing.T, m *gecp.Model)) {
	for _, c := range crafts.All() {
		t.Run(c.Craft.Name, func(t *testing.T) { f(t, model(t, c.Craft)) })
	}
}

// The righting moment is the slope of what acts at a small bank, part by part.
func TestRightingIsTheSlopeWithBank(t *testing.T) {
	each(t, func(t *testing.T, m *gecp.Model) {
		f := flight(t, m, .5, 2)
		const step = 2e-4
		up, err := f.Bank(t.Context(), step)
		require.NoError(t, err)
		down, err := f.Bank(t.Context(), -step)
		require.NoError(t, err)
		r := f.Righting()
		scale := math.Abs(r.Wings) + math.Abs(r.Weight)
		slope := func(a, b float64) float64 { return (a - b) / (2 * step) }
		assert.InDelta(t, slope(up.Righting.Wings, down.Righting.Wings), r.Wings, 1e-5*scale)
		assert.InDelta(t, slope(up.Righting.Weight, down.Righting.Weight), r.Weight, 1e-5*scale)
		assert.InDelta(t, slope(up.Righting.Line, down.Righting.Line), r.Line, 1e-5*scale)
		assert.InDelta(t, up.Righting.Total(), up.Righting.Wings+up.Righting.Weight+up.Righting.Line, 1e-9)
		// The pilot's weight at the shift balances it.
		require.True(t, up.Shift.OK)
		assert.InEpsilon(t, up.Righting.Total(), m.Craft().Pilot.Mass*gecp.G*math.Cos(gecp.Radians(2))*math.Cos(step)*up.Shift.X, 1e-9)
		assert.InEpsilon(t, -up.Shift.X, down.Shift.X, 1e-6)
	})
}

// With free wakes, too: the wakes follow.
func TestRightingWithFreeWakes(t *testing.T) {
	m, err := gecp.NewModel(gecp.Demo(), gecp.Mesh{Rows: 2, Strips: 4})
	require.NoError(t, err)
	f := flight(t, m, .5, 2)
	const step = 2e-4
	up, err := f.Bank(t.Context(), step)
	require.NoError(t, err)
	down, err := f.Bank(t.Context(), -step)
	require.NoError(t, err)
	assert.InEpsilon(t, (up.Righting.Wings-down.Righting.Wings)/(2*step), f.Righting().Wings, 1e-4)
	straight := flight(t, m.WithWake(gecp.WakeStraight), .5, 2)
	assert.Greater(t, math.Abs(straight.Righting().Wings/f.Righting().Wings-1), .001)
	fu, mu := acting(t, f, 0, step)
	fd, md := acting(t, f, 0, -step)
	r := f.sideways(small{heading: 1})
	assert.InDelta(t, (fu.Y-fd.Y)/(2*step), r.side, 2e-4*f.Lift())
	assert.InDelta(t, (mu.X-md.X)/(2*step), r.x, 2e-4*f.Lift())
	assert.InDelta(t, (mu.Z-md.Z)/(2*step), r.z, 2e-4*f.Lift())
}

// acting is what acts on the craft at a bank about its datum line and a heading off its way,
// from a solution there, in axes of the way: the force, and the moment about the centre
// of gravity.
func acting(t *testing.T, f *Flight, bank, heading float64) (force, moment r3.Vec) {
	at := gecp.BankedAttitude{Clearance: f.Level.Clearance, Pitch: f.Level.Pitch, Bank: bank, Slip: -heading}
	p, err := f.model.Banked(t.Context(), at)
	require.NoError(t, err)
	// From the heading's axes to the way's: the nose to starboard turns about -z.
	sin, cos := math.Sincos(heading)
	turn := func(v r3.Vec) r3.Vec { return r3.Vec{X: v.X*cos + v.Y*sin, Y: v.Y*cos - v.X*sin, Z: v.Z} }
	place := func(x, z float64) r3.Vec { // of a point of the craft from the datum
		s, c := math.Sincos(bank)
		v := r3.Vec{X: x, Y: z * s, Z: z * c}
		s, c = math.Sincos(f.Level.Pitch)
		return turn(r3.Vec{X: v.X*c + v.Z*s, Y: v.Y, Z: v.Z*c - v.X*s})
	}
	q := f.pressure
	force = turn(r3.Scale(q, r3.Vec{X: p.Drag, Y: p.Side, Z: p.Lift}))
	moment = turn(r3.Scale(q, r3.Vec{X: p.Roll, Y: p.Moment, Z: -p.Yaw}))
	cg := place(f.cgX, f.cgZ)
	moment = r3.Sub(moment, r3.Cross(cg, force))
	add := func(x, z float64, v r3.Vec) {
		force = r3.Add(force, v)
		moment = r3.Add(moment, r3.Cross(r3.Sub(place(x, z), cg), v))
	}
	for _, d := range []gecp.Drag{f.friction, f.parasite} {
		add(d.X, d.Z, r3.Vec{X: d.Force})
	}
	// The centre of gravity stays on its way; the tow point moves with the craft.
	c := f.craft.Tow
	off := r3.Sub(place(c.X, c.Z), cg).Y
	add(c.X, c.Z, r3.Vec{X: -f.pull, Y: -f.pull * off / f.span, Z: f.lift})
	return force, moment
}

// The linear reactions are the slopes of what acts in whole solutions.
func TestSidewaysIsTheSlopeOfWholeSolutions(t *testing.T) {
	each(t, func(t *testing.T, m *gecp.Model) {
		f := flight(t, m, .5, 3)
		sp, cp := math.Sincos(f.Level.Pitch)
		const step = 3e-4
		for name, c := range map[string]struct {
			state         small
			bank, heading float64 // per unit of the state: about the datum line, and of the nose
		}{
			"bank":    {small{bank: 1}, 1 / cp, sp / cp},
			"heading": {small{heading: 1}, 0, 1},
		} {
			fu, mu := acting(t, f, step*c.bank, step*c.heading)
			fd, md := acting(t, f, -step*c.bank, -step*c.heading)
			r := f.sideways(c.state)
			scale := f.Lift()
			assert.InDelta(t, (fu.Y-fd.Y)/(2*step), r.side, 2e-4*scale, "%s: side", name)
			assert.InDelta(t, (mu.X-md.X)/(2*step), r.x, 2e-4*scale, "%s: roll", name)
			assert.InDelta(t, (mu.Z-md.Z)/(2*step), r.z, 2e-4*scale, "%s: yaw", name)
		}
		// A drift is a slip, with the heading's axes left where they are; and both together, the
		// nose along the drift, are a turn of everything but the line and the drags.
		drift, heading := f.sideways(small{drift: f.stream.Speed}), f.sideways(small{heading: 1})
		both := f.sideways(small{drift: f.stream.Speed, heading: 1})
		assert.InDelta(t, drift.side+heading.side, both.side, 1e-9*f.Lift())
		assert.InDelta(t, 0, f.sideways(small{drift: f.stream.Speed, heading: 1}).side+f.pull*(-f.towPoint().aft)/f.span+f.pressure*f.Level.Drag+f.friction.Force+f.parasite.Force, 1e-9*f.Lift())
	})
}

// In steady tow nothing is left over, so that no axis is better than another: the moment
// about the centre of gravity, with the sideways force taken up at the tow point, is that
// about the datum line.
func TestRightingAboutAnyAxis(t *testing.T) {
	f, err := InTrim(t.Context(), towed(), .3)
	require.NoError(t, err)
	sp, cp := math.Sincos(f.Level.Pitch)
	// A bank about the datum line without slip: the nose keeps the way.
	state := small{bank: cp, heading: -sp}
	state.offset = -func() float64 { by, _ := f.towPoint().moved(state); return by }() // the line keeps its angle
	r := f.sideways(state)
	r.add(f.towPoint(), 0, 0, -r.side, 0)
	assert.InDelta(t, 0, r.side, 1e-9)
	assert.InDelta(t, f.Righting().Total(), r.x*cp-r.z*sp, 2e-4*math.Abs(f.Righting().Weight))
}

func TestLeanAndHold(t *testing.T) {
	each(t, func(t *testing.T, m *gecp.Model) {
		f := flight(t, m, .5, 3)
		bank := gecp.Radians(2)
		_, cp := math.Sincos(f.Level.Pitch)
		held, err := f.Hold(bank)
		require.NoError(t, err)
		leaned, err := f.Lean(held.Shift)
		require.NoError(t, err)
		assert.InEpsilon(t, bank, held.Bank*cp, 1e-9)
		assert.InEpsilon(t, held.Bank, leaned.Bank, 1e-6)
		assert.InEpsilon(t, held.Heading, leaned.Heading, 1e-6)
		assert.InEpsilon(t, held.Offset, leaned.Offset, 1e-6)
		assert.Equal(t, held.Shift, leaned.Shift)
		// Nothing is left over.
		s := small{bank: leaned.Bank * cp, offset: leaned.Offset}
		s.heading = leaned.Heading - leaned.Bank*math.Sin(f.Level.Pitch)
		r := f.sideways(s)
		assert.InDelta(t, 0, r.side, 1e-6*f.Weight())
		assert.InDelta(t, m.Craft().Pilot.Mass*gecp.G*leaned.Shift, r.x, 1e-6*f.Weight())
		assert.InDelta(t, 0, r.z, 1e-6*f.Weight())
		by, _ := f.towPoint().moved(s)
		assert.InEpsilon(t, -by/f.span, leaned.LineAngle, 1e-9)
		// The other way it is the same.
		other, err := f.Lean(-held.Shift)
		require.NoError(t, err)
		assert.InEpsilon(t, -leaned.Bank, other.Bank, 1e-9)
	})
	c := gecp.Demo()
	c.Pilot = nil
	f := flight(t, model(t, c), .5, 3)
	_, err := f.Hold(.05)
	assert.ErrorIs(t, err, ErrNoSettled, "without a pilot nothing holds a bank")
	b, err := f.Bank(t.Context(), .05)
	require.NoError(t, err)
	assert.False(t, b.Shift.OK)
	from, err := flight(t, model(t, c), .3, 3).BankFrom(1)
	require.NoError(t, err)
	assert.Zero(t, from)
}

func TestBankFrom(t *testing.T) {
	m := model(t, gecp.Demo())
	f := flight(t, m, .3, 3)
	require.True(t, f.Righting().Rights())
	bank, err := f.BankFrom(.05)
	require.NoError(t, err)
	// To the first order that shift holds that bank; a small one to the digits.
	const small = 1e-3
	per, err := f.BankFrom(small)
	require.NoError(t, err)
	assert.InEpsilon(t, bank/50, per, 1e-12)
	b, err := f.Bank(t.Context(), per)
	require.NoError(t, err)
	assert.InEpsilon(t, small, b.Shift.X, .01)
	high := flight(t, m, 1, 3)
	require.False(t, high.Righting().Rights())
	_, err = high.BankFrom(.05)
	assert.ErrorIs(t, err, ErrNotRighted)
	for total, rights := range map[float64]bool{1: true, 1e-9: true, 0: false, -1: false} {
		assert.Equal(t, rights, Righting{Wings: total + 2, Weight: -3, Line: 1}.Rights(), "%v", total)
	}
}

// The boat to starboard pulls the tow point there: ahead of the centre of gravity it turns the
// nose to starboard, below it it raises the starboard side.
func TestLineOffCentre(t *testing.T) {
	each(t, func(t *testing.T, m *gecp.Model) {
		f := flight(t, m, .5, 3)
		angle := gecp.Radians(4)
		o := f.LineOffCentre(angle)
		aft, up := gecp.RotationAt(f.Level.Pitch).Level(m.Craft().Tow.X-f.cgX, m.Craft().Tow.Z-f.cgZ)
		assert.InEpsilon(t, f.Pull()*angle, o.SideForce, 1e-12)
		assert.InEpsilon(t, -aft*o.SideForce, o.YawMoment, 1e-9)
		assert.InEpsilon(t, -up*o.SideForce, o.RollMoment, 1e-9)
		assert.Positive(t, o.YawMoment)
		require.True(t, o.OK)
		_, cp := math.Sincos(f.Level.Pitch)
		r := f.sideways(small{bank: o.Bank * cp, heading: o.Heading - o.Bank*math.Sin(f.Level.Pitch)})
		assert.InDelta(t, -o.RollMoment, r.x, 1e-6*f.Weight())
		assert.InDelta(t, o.YawMoment, r.z, 1e-6*f.Weight())
		assert.InDelta(t, o.NetForce, o.SideForce+r.side, 1e-6*f.Weight())
		other := f.LineOffCentre(-angle)
		assert.InEpsilon(t, -o.NetForce, other.NetForce, 1e-9)
		assert.Equal(t, o.Follows(), other.Follows())
	})
	for _, c := range []struct {
		o    OffCentre
		want bool
	}{
		{OffCentre{Angle: 1, NetForce: 1, OK: true}, true}, {OffCentre{Angle: -1, NetForce: -1, OK: true}, true},
		{OffCentre{Angle: 1, NetForce: -1, OK: true}, false}, {OffCentre{Angle: 1, NetForce: 0, OK: true}, false}, {OffCentre{Angle: 1, NetForce: 1}, false},
	} {
		assert.Equal(t, c.want, c.o.Follows(), "%+v", c.o)
	}
}

// What a builder expects: dihedral raises the lowered side in slip, a wider wing is damped
// more, a lower pilot is righted more, the water rights more close by.
func TestWhatABuilderChanges(t *testing.T) {
	base := flight(t, model(t, gecp.Demo()), .4, 3)
	change := func(f func(c *gecp.Craft)) *Flight {
		c := gecp.Demo()
		f(c)
		return flight(t, model(t, c), .4, 3)
	}
	dihedral := change(func(c *gecp.Craft) { c.Wings[1].Stations[1].LEZ += .3 })
	assert.Greater(t, dihedral.DihedralEffect(), base.DihedralEffect())
	anhedral := change(func(c *gecp.Craft) { c.Wings[1].Stations[1].LEZ -= .3 })
	assert.Less(t, anhedral.DihedralEffect(), base.DihedralEffect())
	wide := change(func(c *gecp.Craft) { c.Wings[1].Stations[1].Y += .5 })
	assert.Greater(t, wide.Damping(), base.Damping())
	low := change(func(c *gecp.Craft) { c.Pilot.Z -= .2 })
	assert.Greater(t, low.Righting().Total(), base.Righting().Total())
	assert.Equal(t, low.Righting().Wings, base.Righting().Wings)
	assert.Greater(t, base.Righting().Wings, flight(t, model(t, gecp.Demo()), .8, 3).Righting().Wings)
	assert.Positive(t, base.Damping())
	touch, ok := base.TouchBank()
	require.True(t, ok)
	assert.InDelta(t, math.Asin(.4/2.6), touch, .1*touch, "the tip of the front wing, 2.6 m out")
}

func TestFindRightingCeiling(t *testing.T) {
	m := model(t, gecp.Demo())
	at := AtPitch(m, gecp.Freestream{Speed: 14}, gecp.Radians(3))
	c, err := FindRightingCeiling(t.Context(), .1, 3, at)
	require.NoError(t, err)
	require.True(t, c.OK && c.HasFloor && c.Slip, "%+v", c)
	for cl, rights := range map[float64]bool{c.Clearance: true, c.Clearance + .0015: false, c.Floor: true, c.Floor - .0015: false} {
		assert.Equal(t, rights, flight(t, m, cl, 3).Righting().Rights(), "%v m", cl)
	}
	part, err := FindRightingCeiling(t.Context(), .2, .3, at)
	require.NoError(t, err)
	assert.Equal(t, RightingCeiling{Always: true, From: .2, To: .3, Slip: true}, part)
	above, err := FindRightingCeiling(t.Context(), 1, 2, at)
	require.NoError(t, err)
	assert.Equal(t, RightingCeiling{From: 1, To: 2, Slip: true}, above)
	// In trim the pitch follows the clearance, and where the craft does not fly there is none.
	fast, err := towed().At(15)
	require.NoError(t, err)
	inTow, err := FindRightingCeiling(t.Context(), .13, 1, InSteadyTow(fast))
	require.NoError(t, err)
	assert.True(t, inTow.OK)
	slow, err := towed().At(5)
	require.NoError(t, err)
	_, err = FindRightingCeiling(t.Context(), .13, 1, InSteadyTow(slow))
	assert.ErrorContains(t, err, "flies nowhere")
	_, err = FindRightingCeiling(t.Context(), .3, .2, at)
	assert.ErrorContains(t, err, "the lower one first")
	broken := errors.New("broken")
	_, err = FindRightingCeiling(t.Context(), .1, 1, func(context.Context, float64) (*Flight, error) { return nil, broken })
	assert.ErrorIs(t, err, broken)
}

func TestCeilingWords(t *testing.T) {
	for _, c := range []struct {
		c    RightingCeiling
		want string
	}{
		{RightingCeiling{Clearance: .609, OK: true, Slip: true}, "a dropped tip comes up again below 0.60 m; above, only slip and dihedral bring it up"},
		{RightingCeiling{Clearance: .609, OK: true}, "a dropped tip comes up again below 0.60 m; above, nothing brings it up: slip to the lowered side lowers it further"},
		{RightingCeiling{Clearance: .609, OK: true, Floor: .141, HasFloor: true, Slip: true}, "a dropped tip comes up again between 0.15 m and 0.60 m; above, only slip and dihedral bring it up"},
		{RightingCeiling{Always: true, To: 3}, "a dropped tip comes up again up to 3.00 m, the highest clearance looked at"},
		{RightingCeiling{Always: true, To: 3, Floor: .141, HasFloor: true}, "a dropped tip comes up again from 0.15 m up to 3.00 m, the highest clearance looked at"},
		{RightingCeiling{To: 3, Slip: true}, "a dropped tip does not come up again at any clearance looked at; only slip and dihedral bring it up"},
	} {
		assert.Equal(t, c.want, c.c.Words(units.Metric))
	}
}

func TestFlightRefuses(t *testing.T) {
	for name, c := range map[string]struct {
		change func(c *gecp.Craft)
		at     gecp.BankedAttitude
		speed  float64
		says   string
	}{
		"weights":   {func(c *gecp.Craft) { c.Weights = nil }, gecp.BankedAttitude{Clearance: .5}, 14, "weighs"},
		"tow":       {func(c *gecp.Craft) { c.Tow = nil }, gecp.BankedAttitude{Clearance: .5}, 14, "towed"},
		"speed":     {func(*gecp.Craft) {}, gecp.BankedAttitude{Clearance: .5}, 0, "speed"},
		"clearance": {func(*gecp.Craft) {}, gecp.BankedAttitude{Clearance: 0}, 14, "must lie above the water"},
		"water":     {func(*gecp.Craft) {}, gecp.BankedAttitude{Clearance: .01}, 14, "above the water, less than"},
		"line":      {func(c *gecp.Craft) { c.Tow.Line = 2 }, gecp.BankedAttitude{Clearance: 5}, 14, "too short"},
	} {
		craft := gecp.Demo()
		c.change(craft)
		_, err := At(t.Context(), model(t, craft), gecp.Freestream{Speed: c.speed}, c.at.Clearance, c.at.Pitch)
		assert.ErrorContains(t, err, c.says, name)
	}
	_, err := InTrim(t.Context(), towed(), 1e4)
	assert.Error(t, err)
	f := flight(t, model(t, gecp.Demo()), .2, 3)
	_, err = f.Bank(t.Context(), gecp.Radians(6))
	var tip *gecp.TipError
	assert.ErrorAs(t, err, &tip)
}

// The modes of the demo craft: the roll is damped, and something swings on the line.
func TestModes(t *testing.T) {
	each(t, func(t *testing.T, m *gecp.Model) {
		f := flight(t, m, .5, 3)
		modes, err := f.Modes()
		require.NoError(t, err)
		states := 0
		for i, v := range modes {
			states++
			if imag(v.Root) != 0 {
				states++
			}
			if i > 0 {
				assert.LessOrEqual(t, real(v.Root), real(modes[i-1].Root))
			}
		}
		assert.Equal(t, 6, states)
	})
}

// A table has each clearance level and at each bank, in order; a tip in the water is told.
func TestTable(t *testing.T) {
	m := model(t, gecp.Demo())
	banks := []float64{0, gecp.Radians(2), gecp.Radians(5)}
	rows, err := Table(t.Context(), m, gecp.Freestream{Speed: 14}, .05, []float64{.6, .2}, banks)
	require.NoError(t, err)
	require.Len(t, rows, 2)
	for i, cl := range []float64{.6, .2} {
		assert.Equal(t, cl, rows[i].Level.Clearance)
		require.Len(t, rows[i].Banks, 3)
		for k, h := range rows[i].Banks {
			assert.Equal(t, banks[k], h.Bank)
			low := m.LowestPoints()
			assert.InDelta(t, low.HeightFor(cl, .05)-low.Banked(.05, banks[k]).Depth, h.TipClearance, 1e-12)
			assert.Equal(t, cl == .2 && k == 2, h.Tip != nil)
			if h.Tip == nil {
				b, err := rows[i].Bank(t.Context(), banks[k])
				require.NoError(t, err)
				assert.Equal(t, b, h.Banked)
			}
		}
	}
	_, err = Table(t.Context(), m, gecp.Freestream{Speed: 14}, .05, []float64{.6, -1}, banks)
	assert.ErrorContains(t, err, "must lie above the water")
	_, err = Table(t.Context(), m, gecp.Freestream{Speed: 14}, .05, []float64{.6}, []float64{2})
	assert.ErrorContains(t, err, "a bank of")
}
