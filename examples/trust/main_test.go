package main

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/examples/internal/command"
	"example.org/groundeffect/examples/internal/command/commandtest"
	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/tow"
	"example.org/groundeffect/gecp/units"
)

func TestCommandLine(t *testing.T) {
	commandtest.Behaves(t, program, "the bands")
	commandtest.TakesACraft(t, program)
	commandtest.Refuses(t, program, []commandtest.Mistake{
		{Args: []string{"-speed", "0"}, Code: command.Misused, Says: "between 0.1 and 100"},
		{Args: []string{"-speed", "fast"}, Code: command.Misused, Says: "is not a number"},
		{Args: []string{"-chop", "0.1,"}, Code: command.Misused, Says: "a number is missing"},
		{Args: []string{"-craft", "main_test.go"}, Code: command.Failed, Says: "main_test.go:"},
	})
}

// By equilibrium the demo has a height to be told about; where none is left, no waves are told of.
func TestTheDemo(t *testing.T) {
	out := commandtest.Output(t, program, "-equilibrium", "-mesh", "3x6", "-us", "-chop", "0.3")
	flat := strings.Join(strings.Fields(out), " ")
	for _, has := range []string{"Reedling at 35.8 mph: Tow it between", "Height to let go: ", "; between ", "Lift-off with the pilot at", "left out", "viscosity", "all at once", gecp.Cautions} {
		assert.Contains(t, flat, has)
	}
	none := strings.Contains(flat, "; between none and ")
	assert.Equal(t, none, strings.Contains(flat, "all at once none to"))
	assert.Equal(t, !none, strings.Contains(flat, "In a chop of 11.8 in do not fly"))
}

// Waves take half their height at both ends, and from some height on everything.
func TestChop(t *testing.T) {
	said := func(high float64, heights ...float64) (string, error) {
		var b strings.Builder
		r := tow.Range{OK: true, Low: tow.Trim{Clearance: .2}, High: tow.Trim{Clearance: high}}
		s := study{trust: tow.Trust{Range: r, LetGo: tow.Trusted{Band: tow.Band{Plain: high, Low: high, High: high}}}, u: units.Metric}
		err := s.chop(&b, heights)
		return b.String(), err
	}
	out, err := said(.305, .06, .0849, .08, .2)
	require.NoError(t, err)
	assert.Contains(t, out, "from a chop of 0.08 m on the calculation means nothing")
	assert.Contains(t, out, "In a chop of 0.06 m tow it between 0.23 m and 0.27 m over the mean water.")
	assert.Equal(t, 3, strings.Count(out, "do not fly"), "as told, though 8 cm would just do")
	_, err = said(.305, -.1)
	assert.ErrorContains(t, err, "give 0 or more")
	var b strings.Builder
	none := study{trust: tow.Trust{Range: tow.Range{None: tow.NoneUnstable}}}
	require.NoError(t, none.chop(&b, []float64{.1}))
	assert.Empty(t, b.String())
}
