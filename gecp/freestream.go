package gecp

import "fmt"

// AirDensity is the air's at sea level in the International Standard Atmosphere,
// 15 degrees Celsius, kg/m3 (ISO 2533:1975).
const AirDensity = 1.225

// AirViscosity is the kinematic viscosity of air at 15 degrees Celsius and sea level,
// m2/s (International Standard Atmosphere, ISO 2533:1975).
const AirViscosity = 1.4607e-5

// MaxSpeed keeps the air incompressible, m/s: a third of the speed of sound.
const MaxSpeed = 100

// Freestream is the air that the craft meets.
type Freestream struct {
	Speed   float64 // m/s, above 0 and up to MaxSpeed
	Density float64 // kg/m3, above 0 and up to 10; 0 stands for AirDensity
}

// Checked returns the stream with its density filled in, or an error that names
// the value out of range.
func (f Freestream) Checked() (Freestream, error) {
	if !(f.Speed > 0 && f.Speed <= MaxSpeed) {
		return f, fmt.Errorf("the speed is %v m/s; give one above 0 and up to %v m/s", f.Speed, float64(MaxSpeed))
	}
	if f.Density == 0 {
		f.Density = AirDensity
	}
	if !(f.Density > 0 && f.Density <= 10) {
		return f, fmt.Errorf("the air's density is %v kg/m3; give one above 0 and up to 10, about 1.2 near sea level", f.Density)
	}
	return f, nil
}

// DynamicPressure returns density speed^2 / 2, Pa. The density is filled in.
func (f Freestream) DynamicPressure() float64 { return f.Density * f.Speed * f.Speed / 2 }

// At returns the same air met at another speed, m/s.
func (f Freestream) At(speed float64) Freestream {
	f.Speed = speed
	return f
}
