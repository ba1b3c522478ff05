// Package bank says how a craft of package gecp behaves when it is banked over the water:
// whether a dropped tip comes up again, at which bank the lower tip touches, how far the
// pilot has to lean to hold a bank, what a tow line off the centreline does, and the
// sideways modes of craft and line.
//
// A [Flight] is a craft in level flight at one clearance, pitch and speed: the lattice of the
// whole craft, solved there with its derivatives with bank, slip and the rates of roll and
// yaw. All answers for small banks come from it; [Flight.Bank] solves at a bank itself.
//
// Axes, units and signs are those of package gecp: SI, radians, positions metres aft of the
// datum. Bank is about the datum line, starboard down positive; slip is positive with the
// wind from starboard. A rolling moment is positive where it raises the starboard side: of a
// craft banked to starboard, where it rights it. Sideways is to starboard.
//
// # What is left out
//
// Waves, gusts, the wakes' lag in slip and yaw, the air's mass in drift and yaw, the air's drag on the line,
// floats that touch, and everything beyond the first order in bank, slip and rates, but for
// [Flight.Bank]. The pilot sits still, and the line runs straight from the tow point to the
// boat, which holds its way. Pylons, frame and pilot have drag here and no side force.
//
// # Cautions
//
// All of this is a calculation of wings in ideal flow over flat water: no waves, no
// gusts, no stall beyond the flagged limit. It cannot tell that a craft is safe.
// Prove a craft with a small model, then in small speed steps, with protective gear,
// a spotter, and a line that the boat can let go at once. Follow local boating law
// and get licensed or experienced help.
package bank
