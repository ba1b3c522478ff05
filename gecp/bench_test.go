package gecp

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"
)

// BenchmarkBalance is one state of balance from the map.
func BenchmarkBalance(b *testing.B) {
	r := anyRun(b)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := r.Balance(.3); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkCurve is the balance over all heights at one speed.
func BenchmarkCurve(b *testing.B) {
	r := anyRun(b)
	for b.Loop() {
		if _, err := r.Curve(); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkOnFloats is the craft on its floats at one speed.
func BenchmarkOnFloats(b *testing.B) {
	r := anyRun(b)
	aft := r.m.model.craft.Pilot.XAft
	for b.Loop() {
		if _, err := r.OnFloats(aft); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkTowCard is a whole card from a ready map.
func BenchmarkTowCard(b *testing.B) {
	m := anyRun(b).m
	for b.Loop() {
		if _, err := m.TowCard(context.Background(), TowCardOptions{}); err != nil {
			b.Fatal(err)
		}
	}
}

func anyRun(b *testing.B) Run {
	r, err := balanceMaps()["reedling-tandem.json"].Run(14, 0)
	require.NoError(b, err)
	return r
}
