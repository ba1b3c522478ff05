package gecp

import (
	"bytes"
	"context"
	"encoding/csv"
	"fmt"
	"html"
	"io"
	"math"
	"os"
	"regexp"
	"strconv"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

var demoCards = sync.OnceValue(func() map[string]*TowCard {
	cards := map[string]*TowCard{}
	for name, m := range balanceMaps() {
		for _, u := range []Units{Metric, Customary} {
			c, err := m.TowCard(context.Background(), TowCardOptions{Units: u})
			if err != nil {
				panic(fmt.Sprintf("%s: %v", name, err))
			}
			cards[fmt.Sprintf("%s %d", name, u)] = c
		}
	}
	return cards
})

func TestLetGo(t *testing.T) {
	at := func(c float64) Ceiling { return Ceiling{Clearance: c, OK: true} }
	for _, c := range []struct {
		name        string
		self, reach Ceiling
		want        float64
		why         Bound
	}{
		{"self-holding ends first", at(.4), at(.9), .4, BoundSelf},
		{"reach ends first", at(.4), at(.3), .25, BoundReach},
		{"the margin decides", at(.4), at(.44), .39, BoundReach},
		{"self-holding just under the margin", at(.4), at(.46), .4, BoundSelf},
		{"your own limit", at(.9), at(.9), .6, BoundOwn},
		{"nothing else in the map", always(true), always(true), .6, BoundOwn},
		{"the whole map held, reach ends", always(true), at(.5), .45, BoundReach},
		{"all reached, self-holding ends", at(.5), always(true), .5, BoundSelf},
		{"self-holding at your limit", at(.6), always(true), .6, BoundSelf},
	} {
		h, why := letGo(c.self, c.reach, .05, .6, 2)
		assert.InDelta(t, c.want, h, 1e-12, c.name)
		assert.Equal(t, c.why, why, c.name)
	}
	h, why := letGo(always(true), always(true), .05, 5, 2)
	assert.Equal(t, 2., h)
	assert.Equal(t, BoundMap, why, "a limit of one's own above the map")
}

// Every height that a card tells, looked at again in the balance of its speed.
func TestTowCardAgainstTheBalance(t *testing.T) {
	flown := 0
	for name, card := range demoCards() {
		m := balanceMaps()[strings.Fields(name)[0]]
		craft := m.model.craft
		for _, r := range card.Rungs {
			run, err := m.Run(r.Speed, card.Density)
			require.NoError(t, err)
			at := func(clearance float64) Trim {
				b, err := run.Trim(clearance)
				require.NoError(t, err)
				return b
			}
			over := func(b Trim) float64 { return craft.floatsOver(b.Height, b.Pitch) }
			what := fmt.Sprintf("%s at %.1f m/s", name, r.Speed)
			for s := range stops {
				for _, h := range r.Holds[s] {
					assert.InDelta(t, s.At(craft.Pilot), h.Pilot.X, 5e-3, what)
					assert.GreaterOrEqual(t, over(h.Trim), -1e-3, what)
				}
			}
			if !r.Usable {
				// On no fine ladder is there a height clear of the water, held, in reach and
				// under all ceilings, or only a sliver of one.
				free := 0.
				for c := m.opt.ClearanceMin; c < card.Limit; c += .005 {
					b, err := run.Trim(c)
					if err == nil && over(b) > 0 && b.HeightStable && b.TravelMargin > 0 {
						free += .005
					}
				}
				assert.Less(t, free, card.Margin+.02, what)
				continue
			}
			flown++
			low, high := r.Low, r.High
			assert.Less(t, low.Clearance, high.Clearance, what)
			assert.LessOrEqual(t, high.Clearance, card.Limit, what)
			pull := 0.
			for i := range 41 { // all between is usable
				b := at(low.Clearance + (high.Clearance-low.Clearance)*float64(i)/40)
				inside := i > 0 && i < 40
				if inside {
					assert.True(t, b.HeightStable, "%s, %v m", what, b.Clearance)
				}
				assert.GreaterOrEqual(t, b.TravelMargin, -1e-3, what)
				assert.GreaterOrEqual(t, over(b), -1e-3, what)
				pull = math.Max(pull, b.LineTension)
			}
			assert.InEpsilon(t, pull, r.Pull, .01, what)
			above := high.Clearance + .002
			switch r.Bound {
			case BoundSelf:
				assert.False(t, at(above).HeightStable, what)
			case BoundReach:
				assert.Less(t, at(above+card.Margin).TravelMargin, 0., what)
			case BoundOwn:
				assert.Equal(t, card.Limit, high.Clearance, what)
			}
			if low.Clearance > m.opt.ClearanceMin+.003 { // and none just below
				b, err := run.Trim(low.Clearance - .002)
				assert.True(t, err != nil || over(b) < 0 || !b.HeightStable || b.TravelMargin < 0, what)
			}
			assert.GreaterOrEqual(t, high.Pilot.X, low.Pilot.X, "%s: moving aft raises it", what)
			assert.InDelta(t, low.Lift/(m.model.shape.Area*1000*9.80665), r.Depression.Depth, 1e-9, what)
			assert.Positive(t, r.Peak.Limit, what)
		}
	}
	t.Logf("%d speeds with a let-go height", flown)
	assert.GreaterOrEqual(t, flown, 3)
}

// The state on the floats and the lift-offs are those of the place told.
func TestTowCardOnTheWater(t *testing.T) {
	for name, card := range demoCards() {
		m := balanceMaps()[strings.Fields(name)[0]]
		require.Len(t, card.LiftOffs, 4, name)
		assert.Equal(t, card.Start, card.LiftOffs[0].Pilot, name)
		for s := range stops {
			assert.Equal(t, s.At(card.Craft.Pilot), card.LiftOffs[1+s].Pilot, name)
		}
		last := -1.
		for _, r := range card.Rungs {
			require.True(t, r.Water.Known, "%s: %s", name, r.Water.Why)
			run, err := m.Run(r.Speed, 0)
			require.NoError(t, err)
			s, err := run.OnFloats(card.Start)
			require.NoError(t, err)
			assert.Equal(t, s, r.Water.OnFloats, name)
			if card.LiftOffs[0].OK && r.Speed < card.LiftOffs[0].Speed {
				assert.NotEqual(t, SupportNone, s.Support, name)
				if s.Support == SupportBothFloats {
					assert.Greater(t, s.Carried, last, name)
					last = s.Carried
				}
			}
			if !r.Usable && s.Support != SupportNone {
				assert.Contains(t, r.Verdict, fmt.Sprintf("%.0f %% of the weight", 100*(1-s.Carried)))
				assert.Equal(t, s.LineTension, r.Pull)
			}
		}
		for _, f := range card.Folds {
			got, found, err := m.Fold(f.Pilot, 0, f.Speed-1, f.Speed+1)
			require.NoError(t, err)
			require.True(t, found)
			assert.InDelta(t, f.Speed, got.Speed, 1e-3)
		}
	}
}

// Ladders have round steps, begin where the trade does, and end one step past the
// last speed with a let-go height.
func TestTowCardLadder(t *testing.T) {
	for name, card := range demoCards() {
		first, step, unit := 10., 5., 1/3.6
		if card.Units == Customary {
			first, unit = 5, .44704
		}
		last := -1
		for i, r := range card.Rungs {
			assert.InDelta(t, first+step*float64(i), r.Speed/unit, 1e-9, name)
			if r.Usable {
				last = i
			}
		}
		if last >= 0 && card.Rungs[len(card.Rungs)-1].Speed < liftOffMost-step*unit {
			assert.Equal(t, last+2, len(card.Rungs), name)
		}
	}
	card, err := balanceMaps()["reedling-tandem.json"].TowCard(context.Background(), TowCardOptions{Units: Customary, Top: 40 * .44704})
	require.NoError(t, err)
	assert.Len(t, card.Rungs, 8)
	assert.InDelta(t, 40*.44704, card.Rungs[7].Speed, 1e-9)
}

// A lower limit of the builder's own lowers the let-go height, and the words say so.
func TestTowCardOwnLimit(t *testing.T) {
	for name, m := range balanceMaps() {
		wide := demoCards()[name+" 0"]
		for _, r := range wide.Rungs {
			if !r.Usable || r.High.Clearance-r.Low.Clearance < .05 {
				continue
			}
			own := (r.High.Clearance + r.Low.Clearance) / 2
			card, err := m.TowCard(context.Background(), TowCardOptions{Limit: own, Top: r.Speed})
			require.NoError(t, err)
			got := card.Rungs[len(card.Rungs)-1]
			require.True(t, got.Usable, name)
			assert.Equal(t, BoundOwn, got.Bound)
			assert.InDelta(t, own, got.High.Clearance, 1e-12)
			assert.Contains(t, got.Verdict, "your own limit")
			break
		}
	}
}

func writers(c *TowCard) map[string]func(io.Writer) error {
	return map[string]func(io.Writer) error{
		"text":     c.WriteText,
		"markdown": c.WriteMarkdown,
		"csv":      c.WriteCSV,
		"html":     func(w io.Writer) error { return c.WriteHTML(w, `<svg viewBox="0 0 9 9"></svg>`) },
	}
}

func written(t *testing.T, write func(io.Writer) error) string {
	var b bytes.Buffer
	require.NoError(t, write(&b))
	return b.String()
}

var notANumber = regexp.MustCompile(`NaN|Inf\b|%!|-0\b(?:[^.]|$)|<nil>`)

// Every form bears the cautions, the let-go heights rounded down, the words of every
// speed, and no figure that is none.
func TestTowCardForms(t *testing.T) {
	for name, card := range demoCards() {
		for form, write := range writers(card) {
			s := written(t, write)
			flat := strings.Join(strings.Fields(strings.NewReplacer("# ", "", "\\", "", "**", "").Replace(s)), " ")
			assert.Contains(t, flat, Cautions, "%s as %s", name, form)
			assert.NotRegexp(t, notANumber, s, "%s as %s", name, form)
			assert.Contains(t, flat, "19.5°", "the wake's outer edge, %s as %s", name, form)
			for _, r := range card.Rungs {
				verdict := r.Verdict
				switch form {
				case "html":
					verdict = html.EscapeString(verdict)
				case "csv":
					verdict = strings.ReplaceAll(verdict, `"`, `""`)
				}
				assert.Contains(t, flat, verdict, "%s as %s", name, form)
				if r.Usable && form != "csv" {
					down := fmt.Sprintf("%.2f", math.Floor(r.High.Clearance*100)/100)
					if card.Units == Customary {
						down = fmt.Sprintf("%.0f", math.Floor(r.High.Clearance/.0254))
					}
					assert.Contains(t, flat, down)
					assert.Contains(t, r.Verdict, "Let go above "+down)
				}
			}
		}
	}
}

// A let-go height is never rounded up.
func TestRounding(t *testing.T) {
	for _, c := range []struct {
		u        Units
		v        float64
		down, up string
	}{
		{Metric, .3299, "0.32", "0.33"}, {Metric, .33, "0.33", "0.33"}, {Metric, .3301, "0.33", "0.34"},
		{Customary, .3299, "12", "13"}, {Customary, 13 * .0254, "13", "13"}, {Customary, 0, "0", "0"},
	} {
		assert.Equal(t, c.down, c.u.height().down(c.v), "%v", c.v)
		assert.Equal(t, c.up, c.u.height().up(c.v), "%v", c.v)
	}
	assert.Equal(t, "0", Metric.force().number(-.2))
	assert.Equal(t, "31 mph", Customary.speed().words(14))
	assert.Equal(t, "50 km/h", Metric.speed().words(14))
	assert.Equal(t, "176 lb", Customary.mass().words(80))
	assert.Equal(t, "22 lbf", Customary.force().words(100))
	assert.Equal(t, "53.1 in", Customary.place().words(1.35))
}

func TestTowCardCSV(t *testing.T) {
	for name, card := range demoCards() {
		r := csv.NewReader(strings.NewReader(written(t, card.WriteCSV)))
		r.Comment = '#'
		rows, err := r.ReadAll()
		require.NoError(t, err, name)
		require.Len(t, rows, 1+len(card.Rungs), name)
		col := map[string]int{}
		for i, h := range rows[0] {
			assert.NotContains(t, col, h)
			col[h] = i
		}
		speed, height, force := "speed_kmh", "m", "N"
		size, v, f := 1., 1/3.6, 1.
		if card.Units == Customary {
			speed, height, force = "speed_mph", "in", "lbf"
			size, v, f = .0254, .44704, 4.4482216152605
		}
		near := func(row []string, key string, want float64) {
			require.Contains(t, col, key)
			got, err := strconv.ParseFloat(row[col[key]], 64)
			require.NoError(t, err, key)
			assert.InEpsilon(t, want, got, 1e-5, key)
		}
		for i, g := range card.Rungs {
			row := rows[1+i]
			near(row, speed, g.Speed/v)
			near(row, "pull_"+force, g.Pull/f)
			if g.Usable {
				near(row, "let_go_"+height, g.High.Clearance/size)
				near(row, "pilot_lowest_"+height, g.Low.Pilot.X/size)
			} else {
				assert.Empty(t, row[col["let_go_"+height]])
			}
			assert.Equal(t, g.Verdict, row[col["verdict"]])
		}
	}
}

// The page is whole by itself: every element is closed, nothing runs, nothing is
// fetched, and the picture is in it.
func TestTowCardHTML(t *testing.T) {
	card := demoCards()["reedling-tandem.json 0"]
	s := written(t, writers(card)["html"])
	assert.True(t, strings.HasPrefix(s, "<!DOCTYPE html>"))
	assert.Contains(t, s, `<svg viewBox="0 0 9 9"></svg>`)
	for _, no := range []string{"<script", "http://", "https://", "url(", "<link", "javascript:", "onload"} {
		assert.NotContains(t, s, no)
	}
	var open []string
	for _, m := range regexp.MustCompile(`<(/?)([a-z0-9]+)[^>]*>`).FindAllStringSubmatch(s, -1) {
		switch {
		case m[2] == "meta":
		case m[1] == "":
			open = append(open, m[2])
		default:
			require.NotEmpty(t, open)
			assert.Equal(t, open[len(open)-1], m[2])
			open = open[:len(open)-1]
		}
	}
	assert.Empty(t, open)
	assert.NotContains(t, written(t, func(w io.Writer) error { return card.WriteHTML(w, "") }), "<figure")
}

// Names from a stranger's file stay names.
func TestTowCardHostileNames(t *testing.T) {
	m := balanceMaps()["reedling-tandem.json"]
	c := *m.model.craft
	c.Name = "<script>alert(1)</script> | *bold* [x](y) # \"q\""
	n, err := m.For(&c)
	require.NoError(t, err)
	card, err := n.TowCard(context.Background(), TowCardOptions{})
	require.NoError(t, err)
	assert.NotContains(t, written(t, writers(card)["html"]), "<script")
	md := written(t, card.WriteMarkdown)
	assert.Contains(t, md, `\<script\>`)
	assert.Contains(t, md, `\| \*bold\* \[x\]`)
}

func TestTowCardWithoutParts(t *testing.T) {
	m := balanceMaps()["reedling-tandem.json"]
	with := func(change func(*Craft)) (*TowCard, error) {
		c := *m.model.craft
		change(&c)
		n, err := m.For(&c)
		require.NoError(t, err)
		return n.TowCard(context.Background(), TowCardOptions{})
	}
	for path, change := range map[string]func(*Craft){
		"pilot":   func(c *Craft) { c.Pilot = nil },
		"weights": func(c *Craft) { c.Weights = nil },
		"tow":     func(c *Craft) { c.Tow = nil },
	} {
		_, err := with(change)
		var p Problems
		require.ErrorAs(t, err, &p, path)
		assert.Equal(t, path, p[0].Path)
		assert.Contains(t, p[0].Text, "add an entry like")
	}
	// Without floats the flight is told all the same.
	card, err := with(func(c *Craft) { c.Floats = nil })
	require.NoError(t, err)
	assert.Empty(t, card.LiftOffs)
	flown := false
	for _, r := range card.Rungs {
		assert.False(t, r.Water.Known)
		flown = flown || r.Usable
	}
	assert.True(t, flown)
	for form, write := range writers(card) {
		s := written(t, write)
		flat := strings.Join(strings.Fields(s), " ")
		assert.Contains(t, flat, "Nothing is known of the run on the water", form)
		assert.NotRegexp(t, notANumber, s, form)
	}
}

func TestTowCardRefuses(t *testing.T) {
	m := balanceMaps()["reedling-tandem.json"]
	for _, o := range []TowCardOptions{
		{Top: 1}, {Top: 101}, {Top: math.NaN()}, {Limit: -1}, {Limit: math.Inf(1)}, {Limit: math.NaN()},
		{Margin: -.1}, {Margin: math.NaN()}, {Density: -1}, {Density: math.NaN()},
	} {
		_, err := m.TowCard(context.Background(), o)
		assert.Error(t, err, "%+v", o)
	}
	ctx, stop := context.WithCancel(context.Background())
	stop()
	_, err := m.TowCard(ctx, TowCardOptions{})
	assert.ErrorIs(t, err, context.Canceled)
}

// A strip over its limit is flagged in the table and in words.
func TestTowCardFlagsTheStrip(t *testing.T) {
	card := *demoCards()["reedling-tandem.json 0"]
	r := card.Rungs[len(card.Rungs)-1]
	r.Peak = CriticalStrip{Wing: "front", LiftCoefficient: 1.5, Limit: 1.2}
	r.Verdict = card.verdict(&r)
	card.Rungs = append(card.Rungs[:len(card.Rungs)-1:len(card.Rungs)-1], r)
	assert.Contains(t, r.Verdict, `The flow may leave wing "front": its section lift of 1.50 is over the limit of 1.20`)
	assert.Contains(t, written(t, card.WriteText), "front 125 !")
}

func ExampleTowCard_WriteText() {
	craft := Demo()
	m, err := craft.BuildMap(context.Background(), MapOptions{})
	if err != nil {
		fmt.Println(err)
		return
	}
	card, err := m.TowCard(context.Background(), TowCardOptions{Units: Customary, Limit: .5})
	if err != nil {
		fmt.Println(err)
		return
	}
	var text strings.Builder
	if err := card.WriteText(&text); err != nil {
		fmt.Println(err)
		return
	}
	title, _, _ := strings.Cut(text.String(), "\n")
	fmt.Fprintln(os.Stdout, title)
	// Output: Tow card of Reedling
}
