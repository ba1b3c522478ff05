// Package vlm is a vortex-lattice method for thin wings flying close over
// water. It knows wings and water, and nothing of craft, pilots or files.
//
// Each wing's mean surface carries vortex rings; behind the trailing edge every
// ring's circulation leaves along the stream, to infinity. The water is a
// mirror: the image of all filaments in the plane z = 0 makes the water a
// stream surface. In symmetric flight the plane y = 0 is a second mirror, so
// that only the starboard half is solved for.
//
// # Axes
//
// Craft axes: x aft from the datum, y to starboard, z up. A placement turns the
// craft nose-up by the pitch about the datum and sets the datum at a height over
// the water; the stream runs along +x, parallel to the water. Moments are taken
// about the datum; about +y they are nose-up positive.
//
// # Units
//
// Lengths in metres, angles in radians. Solutions are for a stream of speed 1
// and are given per dynamic pressure q = rho U^2/2, so they hold at every speed:
// forces in m2 (newtons per pascal), moments in m3, circulations in m (per U),
// induced velocities as fractions of U.
//
// # Limits
//
// Ideal flow about thin wings at modest angles over flat water: no thickness, no
// friction, no stall, no waves, no gusts.
//
// Sources: Katz and Plotkin, Low-Speed Aerodynamics, 2nd ed., ch. 10 and 12
// (vortex filaments, rings, images); Lan, J. Aircraft 11 (1974) (semicircle
// positions); Hough, J. Aircraft 10 (1973) (quarter-strip inset at the tip);
// Vatistas, Kozel and Mih, Exp. Fluids 11 (1991) (finite core).
package vlm
