package gecp

import (
	"fmt"
	"math"
)

// Units are what sheets for people are written in; all else is SI.
type Units int

// Metric is metres, newtons, kilograms and km/h. Customary is feet, inches,
// pounds, pounds force and mph, by the exact factors of NIST SP 811.
const (
	Metric Units = iota
	Customary
)

const (
	inch   = .0254     // m
	foot   = .3048     // m
	pound  = .45359237 // kg
	poundF = pound * G // N
	mph    = .44704    // m/s
	kmh    = 1 / 3.6   // m/s
)

// scale is a unit: its size in SI units, its name and the decimals worth reading.
type scale struct {
	size     float64
	name     string
	decimals int
}

func (s scale) number(v float64) string {
	x := v / s.size
	if math.Abs(x) < .5*math.Pow10(-s.decimals) {
		x = 0 // no "-0"
	}
	return fmt.Sprintf("%.*f", s.decimals, x)
}

func (s scale) words(v float64) string { return s.number(v) + " " + s.name }

// down and up write values that must not be rounded the other way.
func (s scale) down(v float64) string {
	p := math.Pow10(s.decimals)
	return s.number(math.Floor(v/s.size*p+1e-6) / p * s.size)
}

func (s scale) up(v float64) string {
	p := math.Pow10(s.decimals)
	return s.number(math.Ceil(v/s.size*p-1e-6) / p * s.size)
}

func (u Units) pick(metric, customary scale) scale {
	if u == Customary {
		return customary
	}
	return metric
}

func (u Units) speed() scale { return u.pick(scale{kmh, "km/h", 0}, scale{mph, "mph", 0}) }
func (u Units) force() scale { return u.pick(scale{1, "N", 0}, scale{poundF, "lbf", 0}) }
func (u Units) mass() scale  { return u.pick(scale{1, "kg", 0}, scale{pound, "lb", 0}) }

// height is for clearances, place for where the pilot is.
func (u Units) height() scale { return u.pick(scale{1, "m", 2}, scale{inch, "in", 0}) }
func (u Units) place() scale  { return u.pick(scale{1, "m", 2}, scale{inch, "in", 1}) }

func (u Units) room(v float64) string { return u.pick(scale{1, "m", 1}, scale{foot, "ft", 1}).words(v) }
func (u Units) line() scale           { return u.pick(scale{1, "m", 0}, scale{foot, "ft", 0}) }
func (u Units) small(v float64) string {
	return u.pick(scale{1e-3, "mm", 0}, scale{inch, "in", 1}).words(v)
}
