package solver

import (
	"context"
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/crafts"
	"example.org/groundeffect/gecp/motion"
	"example.org/groundeffect/gecp/tow"
	"example.org/groundeffect/gecp/units"
)

// readyCraftOf returns a ready craft by its key.
func readyCraftOf(t *testing.T, key string) *gecp.Craft {
	t.Helper()
	for _, r := range crafts.All() {
		if r.Key == key {
			return r.Craft
		}
	}
	require.Fail(t, "no ready craft "+key)
	return nil
}

// The height to let go on the page is the low end of the library's band; before that is known
// the sentence says so.
func TestTrustIsTheLibrarys(t *testing.T) {
	d := new(Service)
	c := readyCraftOf(t, "teal-tandem")
	const speed = 16.
	q := func(kind string) map[string]any { return about(kind, c, map[string]any{"speed_mps": speed}) }
	var before, after towing
	putTo(t, d, q("towing"), &before)
	assert.Nil(t, before.Trust)
	assert.Contains(t, before.Sentence, "as calculated; how much lower the real height to let go may lie is still being worked out")
	var h heights
	putTo(t, d, q("heights"), &h)
	assert.Contains(t, h.Sentence, "still being worked out")

	told := 0
	text, err := json.Marshal(q("leftOut"))
	require.NoError(t, err)
	assert.Contains(t, string(d.Answer(t.Context(), text, func(float64) { told++ })), `"ok":true`)
	assert.Positive(t, told, "long work tells how far it is")
	left := d.shapes[0].left
	require.NotNil(t, left)
	putTo(t, d, q("trust"), &after)
	assert.Same(t, left, d.shapes[0].left, "made once")

	st, err := tow.NewSteadyTow(left.Map(), gecp.Freestream{Speed: speed})
	require.NoError(t, err)
	r, err := st.Range(t.Context(), tow.Rules{OwnLimit: .6, Reaction: motion.InTime})
	require.NoError(t, err)
	require.True(t, r.OK)
	want, err := left.Trust(t.Context(), r)
	require.NoError(t, err)
	cut, err := want.Cut()
	require.NoError(t, err)
	require.True(t, cut.OK)
	u := units.Metric
	assert.Equal(t, "At 57.6 km/h: "+cut.Words(u)+" "+want.AloneWords(u), after.Sentence)
	assert.Equal(t, cut.High.Clearance, *after.Lines.LetGo)
	assert.Equal(t, cut.Low.Clearance, *after.Lines.Low)
	assert.Less(t, *after.Lines.LetGo, *before.Lines.LetGo)
	assert.Equal(t, &letGoBand{want.LetGo.Low, want.LetGo.High, false, u.Clearance().Number(want.LetGo.Low, units.Down) + " to " + u.Clearance().Words(want.LetGo.High, units.Up)}, after.Trust.LetGo)
	assert.Equal(t, want.Words(u), after.Trust.Words)
	assert.Equal(t, cut.ChopWords(u), after.Trust.Chop)
	assert.False(t, after.Trust.Calm)
	assert.NotEmpty(t, after.Trust.LiftOff)
	require.Len(t, after.Trust.Rows, len(want.LetGo.Effects)+1)
	for i, e := range want.LetGo.Effects {
		row := after.Trust.Rows[i]
		assert.Equal(t, e.Effect.String(), row.Name)
		assert.Equal(t, e.Effect.Source(), row.Source)
		assert.Equal(t, e.Band.Shift(u.Small()), row.LetGo)
		assert.Equal(t, want.Lowest.Effects[i].Band.Shift(u.Small()), row.Lowest)
		assert.Equal(t, want.Pilot.Effects[i].Band.Shift(u.Small()), row.Pilot)
		assert.NotEqual(t, "–", row.LiftOff)
	}
	assert.Equal(t, want.LetGo.Shift(u.Small()), after.Trust.Rows[len(want.LetGo.Effects)].LetGo)
	// The facts and gains are of the height to be used.
	assert.Contains(t, after.Facts[len(after.Facts)-1].Name, u.LetGo(cut.High.Clearance))

	// Another speed and other weights are served from the same.
	c.Weights[0].Mass += 3
	told = 0
	text, err = json.Marshal(q("trust"))
	require.NoError(t, err)
	var other struct{ towing }
	require.NoError(t, json.Unmarshal(d.Answer(t.Context(), text, func(float64) { told++ }), &other))
	require.NotNil(t, other.Trust)
	assert.NotEqual(t, after.Sentence, other.Sentence)
	assert.Zero(t, told, "nothing is built")
	assert.Same(t, left, d.shapes[0].left)
}

// Where what is left out may leave no height at all, the sentence says not to fly, and the
// picture gets no height to let go.
func TestTrustMayLeaveNoHeight(t *testing.T) {
	d := new(Service)
	c := readyCraftOf(t, "teal-tandem")
	c.Pilot = nil // nobody who reacts
	c.Weights = append(c.Weights, gecp.Weight{Name: "ballast", Mass: 78, X: 1.35, Z: .5})
	found := false
	for speed := 9.; speed < 24 && !found; speed += .5 {
		var a towing
		putTo(t, d, about("trust", c, map[string]any{"speed_mps": speed}), &a)
		if a.Trust == nil || a.Trust.LetGo == nil || !a.Trust.LetGo.None {
			continue
		}
		found = true
		assert.False(t, a.OK)
		assert.Nil(t, a.Lines.LetGo)
		assert.Contains(t, a.Sentence, "Do not fly: by the calculation it may be towed up to")
		assert.Contains(t, a.Sentence, "between none and")
		assert.Contains(t, a.Trust.LetGo.Words, "none to ")
		assert.Less(t, a.Trust.LetGo.Low, a.Trust.LetGo.High)
		assert.Empty(t, a.Trust.Chop)
		assert.Contains(t, a.Trust.Rows[len(a.Trust.Rows)-1].LetGo, "none")
		assert.Equal(t, "–", a.Trust.Rows[0].Pilot)
	}
	assert.True(t, found, "at some speed what is left out takes the height away")
}

// Where no one can react in time the bands are those by equilibrium, and said to be.
func TestTrustByEquilibrium(t *testing.T) {
	d := new(Service)
	var a towing
	putTo(t, d, about("trust", gecp.Demo(), nil), &a)
	assert.Contains(t, a.Sentence, "no one can react in time")
	require.NotNil(t, a.Trust)
	assert.True(t, a.Trust.Calm)
	assert.Nil(t, a.Trust.LetGo, "there is no height to show")
	assert.Contains(t, a.Trust.Words, "Height to let go:")
}

// The card takes what is at hand, for other weights too, and leaves what it has made.
func TestCardSharesWhatIsLeftOut(t *testing.T) {
	d := new(Service)
	c := gecp.Demo()
	var card cardAnswer
	putTo(t, d, about("card", c, nil), &card)
	made := d.shapes[0].left
	require.NotNil(t, made, "made for the card")
	var a towing
	putTo(t, d, about("trust", c, nil), &a)
	assert.Same(t, made, d.shapes[0].left)
	c.Weights[0].Mass += 3
	putTo(t, d, about("card", c, nil), &card)
	assert.NotSame(t, made, d.shapes[0].left)
	assert.Equal(t, c.Weights[0].Mass, d.shapes[0].left.Map().Model().Craft().Weights[0].Mass)
}

// A craft that lacks weights or tow is no fault; cancelled work leaves nothing behind.
func TestTrustWithout(t *testing.T) {
	d := new(Service)
	c := gecp.Demo()
	c.Tow = nil
	var ready gotReady
	var a towing
	putTo(t, d, about("leftOut", c, nil), &ready)
	assert.False(t, ready.Ready)
	putTo(t, d, about("trust", c, nil), &a)
	assert.Nil(t, a.Trust)
	assert.Empty(t, a.Sentence)

	text, err := json.Marshal(about("leftOut", gecp.Demo(), nil))
	require.NoError(t, err)
	ctx, cancel := context.WithCancel(t.Context())
	out := d.Answer(ctx, text, func(float64) { cancel() })
	assert.Contains(t, string(out), `"ok":false`)
	require.NotEmpty(t, d.shapes)
	assert.Nil(t, d.shapes[0].left)
}
