package tow

import (
	"fmt"
	"math"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/units"
)

// BankLimit is how far a craft in its towing range may bank about its datum line before its
// lower tip touches flat water, and how far its pilot leans. Below that bank nothing says
// that it comes up again: package bank does.
type BankLimit struct {
	// AtLow and AtHigh are the banks, rad, at the lowest and the highest clearance of the
	// range; MaxBank where the tip touches at none below it.
	AtLow, AtHigh float64
	// Sideways is how far the pilot's centre of gravity gets to either side, m, Stated whether
	// the craft file tells; 0 without a pilot.
	Sideways float64
	Stated   bool
}

// MaxBank is up to which bank a touch of the tip is looked for, rad.
const MaxBank = math.Pi / 4

// Least returns the smaller of the two banks, rad.
func (l BankLimit) Least() float64 { return math.Min(l.AtLow, l.AtHigh) }

// Words says the limit in a sentence, the angles rounded down.
func (l BankLimit) Words() string {
	if l.Least() >= MaxBank {
		return fmt.Sprintf("No tip touches the water below %.0f° of bank.", gecp.Degrees(MaxBank))
	}
	at := func(bank float64) string {
		if bank >= MaxBank {
			return fmt.Sprintf("none below %.0f°", gecp.Degrees(MaxBank))
		}
		return units.BankLimit(bank)
	}
	return fmt.Sprintf("A tip touches the water at %s of bank at the lowest height, at %s at the highest.", at(l.AtLow), at(l.AtHigh))
}

// LeanWords says in a sentence how far the pilot leans; it is empty without a pilot.
func (l BankLimit) LeanWords(u units.System) string {
	switch {
	case l.Sideways == 0:
		return ""
	case l.Stated:
		return fmt.Sprintf("The pilot leans %s to either side.", u.Position().Words(l.Sideways, units.Down))
	}
	return fmt.Sprintf("The craft file does not tell how far the pilot leans to either side; %s is taken.", u.Position().Words(l.Sideways, units.Nearest))
}

// bankLimit returns the limit between two trims.
func (t *SteadyTow) bankLimit(low, high Trim) BankLimit {
	points := t.m.Model().LowestPoints()
	touch := func(b Trim) float64 {
		bank, ok := points.TouchBank(b.Clearance, b.Pitch)
		if !ok {
			return MaxBank
		}
		return math.Min(bank, MaxBank)
	}
	l := BankLimit{AtLow: touch(low), AtHigh: touch(high)}
	if p := t.craft.Pilot; p != nil {
		l.Sideways, l.Stated = p.Sideways()
	}
	return l
}
