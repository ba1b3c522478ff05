package changes

import (
	"context"
	"fmt"

	"example.org/groundeffect/gecp/design"
	"example.org/groundeffect/gecp/tow"
	"example.org/groundeffect/gecp/units"
)

// times is how many builds the page calculates, and how many of them are solved in full for
// a check; a rough look makes do with fewer.
func (q *question) times() (builds, checked int) {
	if q.Fidelity == "coarse" {
		return 100, 5
	}
	return 400, 10
}

// seed is that of the builds: the same craft gives the same answer.
const seed = 1

// leastShare is the share of the builds that must have a position at a clearance for it to be shown.
const leastShare = .5

// built is the answer to "builds".
type built struct {
	Builds   int     `json:"builds"`
	Words    words   `json:"words"`
	Unknowns words   `json:"unknowns"` // what is not known exactly
	Check    words   `json:"check"`    // how exact the figures are
	LetGo    *spread `json:"let_go"`   // of the let-go height, m; absent where no build has one
	// LetGoWords are the let-go heights of LetGo, rounded as the tow card rounds them.
	LetGoWords [3]words `json:"let_go_words"`
	Pilot      []place  `json:"pilot"` // bottom to top
}

// spread holds 95 of 100 builds between Lo and Hi, half of them below Half.
type spread struct {
	Lo   float64 `json:"lo"`
	Half float64 `json:"half"`
	Hi   float64 `json:"hi"`
}

// place is where the pilots of the builds have to be at a clearance, m aft of the datum.
type place struct {
	Clearance float64 `json:"clearance_m"`
	spread
}

func builds(ctx context.Context, q *question, progress func(float64)) (*built, error) {
	n, checked := q.times()
	t, err := design.Tolerance(ctx, q.craft, design.ToleranceOptions{
		Speed: q.SpeedMPS, Builds: n, Checked: checked, Seed: seed, Rules: tow.Rules{OwnLimit: q.LimitM}, Mesh: q.Mesh(), Progress: progress,
	})
	if err != nil {
		return nil, err
	}
	a := &built{
		Builds: n, Words: inBoth(t.Words), Check: inBoth(t.Check.Words), Pilot: []place{},
		Unknowns: inBoth(func(u units.System) string {
			return fmt.Sprintf("Not known exactly, each the bound that 95 of 100 builds keep: %s.", t.Unknowns.Words(u))
		}),
	}
	if s := t.Spreads[design.LetGoClearance]; s.OK {
		a.LetGo = &spread{s.P2_5, s.P50, s.P97_5}
		for i, v := range []float64{s.P2_5, s.P50, s.P97_5} {
			a.LetGoWords[i] = inBoth(func(u units.System) string { return u.LetGo(v) })
		}
	}
	for i, s := range t.Pilot {
		if s.OK && s.ShareNone <= leastShare {
			a.Pilot = append(a.Pilot, place{t.Clearances[i], spread{s.P2_5, s.P50, s.P97_5}})
		}
	}
	return a, nil
}
