package gecp

import (
	"bytes"
	"context"
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"
)

// benchMeshes are the default lattice and ones of about twice and four times its cells.
var benchMeshes = []Mesh{DefaultMesh(), {Rows: 6, Strips: 11}, {Rows: 8, Strips: 16}}

// BenchmarkSweep is 24 heights of the demo craft with all derivatives.
func BenchmarkSweep(b *testing.B) {
	q := SweepQuestion{Speed: 14, Pitch: .05}
	for i := range 24 {
		q.Clearances = append(q.Clearances, .08+.06*float64(i))
	}
	for _, mesh := range benchMeshes {
		b.Run(fmt.Sprintf("%dx%d", mesh.Rows, mesh.Strips), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				m, err := NewModel(Demo(), mesh)
				if err != nil {
					b.Fatal(err)
				}
				if _, err := m.Sweep(context.Background(), q); err != nil {
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
				m, err := NewModel(Demo(), mesh)
				if err != nil {
					b.Fatal(err)
				}
				if _, err := m.BuildMap(context.Background(), MapOptions{}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// BenchmarkMapAt is one question to a map.
func BenchmarkMapAt(b *testing.B) {
	m, err := Demo().BuildMap(context.Background(), MapOptions{})
	require.NoError(b, err)
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
