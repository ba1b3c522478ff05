package solver

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"reflect"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The cells are the fields, each under its name.
func TestCellsAreTheFields(t *testing.T) {
	var p point
	fill := reflect.ValueOf(&p).Elem()
	for i := range fill.NumField() {
		if f := fill.Field(i); f.Kind() == reflect.Pointer {
			f.Set(reflect.New(f.Type().Elem()))
		}
	}
	cells := p.cells()
	require.Len(t, cells, fill.NumField())
	require.Len(t, columns, fill.NumField())
	for i, cell := range cells {
		want := fill.Field(i)
		if want.Kind() != reflect.Pointer {
			want = want.Addr()
		}
		assert.Same(t, want.Interface(), cell, columns[i])
		assert.Equal(t, fill.Type().Field(i).Tag.Get("json"), columns[i])
	}
	assert.Equal(t, "true", string(appendCell(nil, func() *bool { v := true; return &v }(), "null")))
	assert.Equal(t, "null", string(appendCell(nil, (*bool)(nil), "null")))
	assert.Equal(t, "", string(appendCell(nil, (*float64)(nil), "")))
}

func TestAppendFigure(t *testing.T) {
	for v, want := range map[float64]string{
		0: "0", math.Copysign(0, -1): "0", 1: "1", -1: "-1", .5: "0.5", -.05: "-0.05", 1e-6: "0.000001", -4e-7: "0", 6e-7: "0.000001",
		.9999997: "1", 1519.25: "1519.25", 10: "10", 100.01: "100.01", -123456.000001: "-123456.000001", 1e9: "1e+09",
	} {
		assert.Equal(t, want, string(appendFigure(nil, v)))
	}
	rng := rand.New(rand.NewPCG(3, 4))
	for range 10000 {
		v := (rng.Float64() - .5) * math.Pow(10, 14*rng.Float64()-5)
		text := appendFigure([]byte("00"), v)
		require.Equal(t, "00", string(text[:2]))
		got, err := strconv.ParseFloat(string(text[2:]), 64)
		require.NoError(t, err)
		require.InDelta(t, v, got, .51e-6+1e-15*math.Abs(v))
		require.True(t, json.Valid(text[2:]), "%s", text[2:])
	}
}
