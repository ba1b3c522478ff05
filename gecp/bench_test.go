package gecp

import (
	"bytes"
	"context"
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"
)

// BenchmarkBalance is one state of balance from the map.
func BenchmarkBalance(b *testing.B) {
	r := anyRun(b)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := r.Trim(.3); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkCurve is the balance over all heights at one speed.
func BenchmarkCurve(b *testing.B) {
	r := anyRun(b)
	for b.Loop() {
		if _, err := r.TrimCurve(); err != nil {
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

func anyRun(b *testing.B) SteadyTow {
	r, err := balanceMaps()["reedling-tandem.json"].Run(14, 0)
	require.NoError(b, err)
	return r
}

// benchMeshes are the default lattice and ones of about twice and four times its cells.
var benchMeshes = []Mesh{DefaultMesh, {Rows: 6, Strips: 11}, {Rows: 8, Strips: 16}}

// BenchmarkSweep is 24 heights of the demo craft with all derivatives.
func BenchmarkSweep(b *testing.B) {
	q := SweepQuestion{Speed: 14, Pitch: .05}
	for i := range 24 {
		q.Clearances = append(q.Clearances, .05+.06*float64(i))
	}
	for _, q.Mesh = range benchMeshes {
		b.Run(fmt.Sprintf("%dx%d", q.Mesh.Rows, q.Mesh.Strips), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := Demo().Sweep(context.Background(), q); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// BenchmarkBuildMap is the map of the demo craft.
func BenchmarkBuildMap(b *testing.B) {
	for _, mesh := range benchMeshes {
		b.Run(fmt.Sprintf("%dx%d", mesh.Rows, mesh.Strips), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := Demo().BuildMap(context.Background(), MapOptions{Mesh: mesh}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// BenchmarkMapAt is one question to a map, rates included.
func BenchmarkMapAt(b *testing.B) {
	m := anyRun(b).m
	b.ReportAllocs()
	for b.Loop() {
		if _, err := m.At(.3, .05); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkRead is reading and checking the demo's craft file.
func BenchmarkRead(b *testing.B) {
	var file bytes.Buffer
	require.NoError(b, Demo().Write(&file))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Read(bytes.NewReader(file.Bytes())); err != nil {
			b.Fatal(err)
		}
	}
}
