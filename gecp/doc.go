// Package gecp says where the lift of a small towed wing craft acts, height by
// height over the water, and what that asks of the pilot's place and of the tow.
//
// A [Craft] is one JSON file: wings, weights, pilot, tow, floats. [Read] takes a
// file and answers with every slip in it at once; [Craft.Surfaces] hands the
// wings to package vlm, which knows the flow.
//
// # Axes and units
//
// Craft axes: x aft from the datum (the nose), y to starboard, z up. Water axes:
// the water at z = 0, the stream along +x. SI throughout; angles are degrees in
// the file and in fields whose names end in Deg, radians everywhere else. Pitch
// and moment are positive nose-up.
//
// Height is the datum's, clearance that of the lowest point of the wings, tip
// plates included, both in metres above the water.
//
// # Cautions
//
// All of this is a calculation of thin wings in ideal flow over flat water: no
// waves, no gusts, no stall beyond the flagged limit. Prove a craft with a small
// model, then in small speed steps, with protective gear, a spotter, and a line
// that the boat can let go at once. Follow local boating law and get licensed or
// experienced help.
package gecp
