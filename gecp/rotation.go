package gecp

import "math"

// Rotation turns craft axes nose-up into axes parallel to the water's: x aft along
// the level, z up. It is the sine and the cosine of the pitch.
type Rotation struct{ Sin, Cos float64 }

// RotationAt returns the rotation to a pitch, rad nose-up.
func RotationAt(pitch float64) Rotation {
	sin, cos := math.Sincos(pitch)
	return Rotation{sin, cos}
}

// Level returns where a point (x, z) of the craft lies from the datum, m: aft along
// the level and up.
func (r Rotation) Level(x, z float64) (along, up float64) {
	return x*r.Cos + z*r.Sin, z*r.Cos - x*r.Sin
}

// CP returns where the resultant (aft, up) of forces crosses the datum line, m aft
// of the datum, if moment is their moment about the datum, nose-up positive. There
// is none without a force across the datum line.
func (r Rotation) CP(aft, up, moment float64) Position {
	return PositionAt(-moment / (up*r.Cos + aft*r.Sin))
}

// ToWaterAxes returns where a point (x, z) of the craft lies over the water, m: aft
// of the datum along the level, and up from the water, with the datum at a height,
// m, and the nose up by a pitch, rad.
func ToWaterAxes(x, z, height, pitch float64) (along, up float64) {
	along, up = RotationAt(pitch).Level(x, z)
	return along, height + up
}

// Degrees returns an angle, rad, in degrees.
func Degrees(rad float64) float64 { return rad * 180 / math.Pi }

// Radians returns an angle, deg, in radians.
func Radians(deg float64) float64 { return deg * math.Pi / 180 }
