package vlm

import (
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/testdata/readme"
)

// TestReadmeTellsWhatTheChecksPrint holds each largest difference of README's table to
// the check that computes it, digit for digit.
func TestReadmeTellsWhatTheChecksPrint(t *testing.T) {
	printed := readme.Printed(t, "^TestPublished")
	rows := readme.Table(t, "check | source")
	for _, c := range []struct{ row, line, cell string }{
		{"swept wing, four horseshoes a half wing", `check 1 .*?difference (\S+) in`, "$1 of 0.03: all digits given"},
		{"square wing, lift slope", `check 2 .*?difference (\S+ %)`, "$1"},
		{"circular wing, lift slope", `checks 3 and 15 .*?difference (\S+ %)`, "$1"},
		{"tapered swept wing (Warren's planform)", `check 14 .*?difference (\S+ %)`, "$1"},
		{"slender delta", `check 4 .*?difference (\S+ %) in lift slope, (\S+ % of the chord in CP)`, "$1 lift slope, $2"},
		{"elliptic and rectangular wings, A = 2 to 12", `check 5 .*?difference (\S+ %) for elliptic .*?, (\S+ %) for rectangular`, "$1, $2"},
		{"induced drag over water, elliptic load", `check 6 .*?difference (\S+ %) in s by quad.*?, (\S+) in s by TR 116.*?, (\S+ %) in drag by Wieselsberger's line up to h/b = 1/4.*?, (\S+ %) up to 1/2`,
			"$1; $2 in the factor; $3 up to h/b = 1/4 and $4 up to 1/2"},
		{"the same, fit", `check 16 .*?difference (\S+ %) in induced drag from h/b = .05 up .*?, (\S+ %) at .025`, "$1 from h/b = .05 up, $2 at .025"},
		{"flat plate over water, small angle", `check 7 .*?difference (\S+ %) in lift .*?, (\S+ % of the chord in CP)`, "$1 lift, $2"},
		{"flat plate over water, 5 degrees", `check 8 .*?difference (\S+ %) in lift .*?, (\S+) % of`, "$1, $2 %"},
		{"plate at the water's edge, gap .005 chords", `check 17 .*?chords, (\d+ rows): .*?difference (\S+ %) in lift .*?, (\S+ % of the chord in CP)`, "$2 lift, $3, with $1 of cells along the chord"},
		{"stagger; two loads at a gap", `(?s)check 18 .*?difference (\S+ %).*check 9 .*?difference (\S+ %)`, "$2; $1"},
		{"towed glider at .21 span", `(?s)check 10 [^\n]* 0.01 degrees: .*?difference (\S+ %) [^\n]*?, (\S+ %) for a rect.*?check 10 [^\n]* 5 degrees: .*?difference (\S+ %) [^\n]*?, (\S+ %) for a rect`,
			"elliptic wing $1 at 0.01 degrees and $3 at 5, rectangular $2 and $4"},
		{"rolling elliptic wing, A = 8 to 64", `check 28 .*?difference (\S+ %) in roll damping \((A = 8)\), (\S+ % at A = 64)`, "$1 at $2, $3"},
		{"elliptic wing with dihedral in slip", `check 29 .*?difference (\S+ %) in the rolling moment \((A = 8)\), (\S+ % at A = 64)`, "$1 at $2, $3"},
		{"long wing banked over the water", `check 30 .*?difference (\S+ % of the rolling moment) of`, "$1"},
		{"thick sections in plane flow over ground", `(?s)check 24 thick cambered [^\n]*?difference (\S+) in the lift ratio [^\n]*?, (\S+) chord.*?check 24 thick symmetric [^\n]*?difference (\S+) in the lift ratio [^\n]*?, (\S+) chord`,
			"cambered $1 in the lift ratio, $2 of the chord in CP; symmetric $3, $4"},
	} {
		t.Run(c.row, func(t *testing.T) {
			line := regexp.MustCompile(c.line)
			at := line.FindStringSubmatchIndex(printed)
			require.NotNil(t, at, "no check prints %s in\n%s", c.line, printed)
			require.Contains(t, rows, c.row, "README has no such row")
			want := string(line.ExpandString(nil, c.cell, printed, at))
			assert.Equal(t, want, rows[c.row][1])
			delete(rows, c.row)
		})
	}
	// What is left has no figures, or has them from other packages.
	for row, cells := range rows {
		assert.True(t, strings.HasPrefix(cells[1], "all over the ranges tested") || cells[1] == "to the digits given", "nothing holds README's row %q", row)
	}
}

// TestReadmeTellsTheSigns holds the figures of README's table of measured signs to the checks.
func TestReadmeTellsTheSigns(t *testing.T) {
	printed := readme.Printed(t, "^TestPublishedSigns")
	rows := readme.Table(t, "measured sign")
	for _, c := range []struct {
		row, line, says string
		cell            int
	}{
		{"the same from 1 to 4 degrees: lift falls", `check 25 .*?turns at (\S+ degrees) \(lattice\) and (\S+) \(panels\)`, "its sign turns at $1 (lattice), $2 (thick panels)", 2},
		{"NACA 0015: lift drops at low angles at some gaps, rises at higher ones (Ahmed and Sharma 2005)", `check 26 .*?drops at some gaps up to (\d+ degrees) and rises at all from (\d+) up`, "drops up to $1, rises from $2", 1},
		{"NACA 6409, A = 1 to 4: centre of pressure moves forward at very low gaps (Jung et al. 2008)", `check 23 .*?in \d+ of \d+, all (from 2 degrees) up`, "yes $1", 1},
		{"the same, the angle held", `NACA 6409: of (\d+) cases at a given angle tip plates worse in 0,`, "the same", 1},
		{"NACA 6409, A = 1: tip plates make height stability worse, anhedral better (Lee et al. 2010), the lift held", `NACA 6409 mean line: of (16) .*?given lift tip plates worse in 16, anhedral better in 15`, "the lowest of $1", 0},
		{"NACA 6409, A = 1: tip plates make height stability worse, anhedral better (Lee et al. 2010), the lift held", `NACA 6409: of 16 .*?given lift tip plates worse in 16, anhedral better in 15`, "the same", 1},
	} {
		line := regexp.MustCompile(c.line)
		at := line.FindStringSubmatchIndex(printed)
		require.NotNil(t, at, "no check prints %s in\n%s", c.line, printed)
		require.Contains(t, rows, c.row, "README has no such row")
		assert.Contains(t, rows[c.row][c.cell], string(line.ExpandString(nil, c.says, printed, at)), c.row)
	}
}
