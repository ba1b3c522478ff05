// Package vlm is a vortex-lattice method for thin wings flying close over
// water. It knows wings and water, and nothing of craft, pilots or files.
//
// Each wing's mean surface carries vortex rings; from the trailing edge their
// circulation leaves along the stream, to infinity. The image of all filaments in
// the plane z = 0 makes the water a stream surface. Symmetric flight adds the
// reflection in the plane y = 0, so that only the starboard half is solved for.
// In this package an image is always the one in the water.
//
// # Axes
//
// Craft axes: x aft from the datum, y to starboard, z up. An attitude is the height
// of the datum over the water and the pitch about it, nose-up positive; the stream
// runs along +x, parallel to the water. Moments are taken about the datum; about +y
// they are nose-up positive.
//
// Banked flight drops the reflection in y = 0 and keeps the image in the water: see
// [BankedAttitude] and [Lattice.AtBank]. Its loads are in axes that follow the craft's
// heading.
//
// # Units
//
// Lengths in metres, angles in radians. Solutions are for a stream of speed 1
// and are given per dynamic pressure q = rho U^2/2, so they hold at every speed:
// forces in m2 (newtons per pascal), moments in m3, circulations in m (per U),
// induced velocities as fractions of U.
//
// # Goroutines
//
// Lattice, PitchedLattice and BankedLattice are safe for use by several goroutines; the package
// starts none. Every call that computes takes a context and returns its error within
// a few milliseconds' work of its end.
//
// # Limits
//
// Ideal flow about wings at modest angles over flat water: no friction, no stall, no
// waves, no gusts. In free air a wing counts as thin: the boundary layer takes away what
// its thickness would add (NACA Report 824, from memory). Over the water the image of the
// thickness is counted where a station has one: sources on the mean surface, as strong as
// the change along the chord of thickness times the local stream. A wing and its image
// act on each other on a line half way between the mean line and the lower surface: a
// chosen place, between the vortices of the mean line and the surface that the flow
// follows. [MaxGapFill] says how far all this holds.
//
// Sources: Katz and Plotkin, Low-Speed Aerodynamics, 2nd ed., ch. 10 and 12
// (vortex filaments, rings, images); Lan, J. Aircraft 11 (1974) (semicircle
// positions); Hough, J. Aircraft 10 (1973) (quarter-strip inset at the tip);
// Vatistas, Kozel and Mih, Exp. Fluids 11 (1991) (finite core).
package vlm
