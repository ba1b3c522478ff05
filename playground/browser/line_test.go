package browser

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"example.org/groundeffect/gecp"
)

// What the line weighs along its length is a number of the craft: a guess that says so until
// it is given, in the units that lines are sold by.
func TestLineMass(t *testing.T) {
	t.Parallel()
	b := open(t, 1440, 900, "light", "")
	const path = "tow.line_mass_kg_per_m"
	about := func() string {
		return js[string](b, `const e = document.querySelector('#form [data-path="`+path+`"] .step'); return e.hidden ? "" : e.textContent;`)
	}
	assert.Equal(t, gecp.DefaultLineMass, js[float64](b, `return (await import("/js/craft.js")).LINE;`))
	assert.Equal(t, 1000*gecp.DefaultLineMass, number(t, b.field(path)))
	assert.Contains(t, about(), "does not tell")
	b.set(path, "90")
	b.settle()
	assert.Empty(t, about())
	assert.InDelta(t, .09, b.craft()["tow"].(map[string]any)["line_mass_kg_per_m"], 1e-9)
	b.press("units")
	assert.InDelta(t, 6.0, number(t, b.field(path)), .051) // pounds a hundred feet
}
