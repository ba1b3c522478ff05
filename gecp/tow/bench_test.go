package tow

import (
	"testing"

	"github.com/stretchr/testify/require"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/internal/readymaps"
)

func benchTow(b *testing.B) SteadyTow {
	t, err := NewSteadyTow(readymaps.All()["reedling-tandem"], gecp.Freestream{Speed: 14})
	require.NoError(b, err)
	return t
}

// BenchmarkTrim is one state of balance from the map.
func BenchmarkTrim(b *testing.B) {
	t := benchTow(b)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := t.Trim(.3); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkTrimCurve is the balance over all heights at one speed.
func BenchmarkTrimCurve(b *testing.B) {
	t := benchTow(b)
	for b.Loop() {
		if _, err := t.TrimCurve(); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkOnFloats is the craft on its floats at one speed.
func BenchmarkOnFloats(b *testing.B) {
	t := benchTow(b)
	for b.Loop() {
		if _, err := t.OnFloats(t.craft.Pilot.XAft); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkRange is a towing range without the reaction limit.
func BenchmarkRange(b *testing.B) {
	t := benchTow(b)
	for b.Loop() {
		if _, err := t.Range(b.Context(), Rules{}); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkFindWindow is the speed window of one position of the pilot.
func BenchmarkFindWindow(b *testing.B) {
	t := benchTow(b)
	for b.Loop() {
		if _, err := FindWindow(b.Context(), t.m, 0, 1.2); err != nil {
			b.Fatal(err)
		}
	}
}
