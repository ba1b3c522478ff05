// Package gecp computes where the lift of a small towed wing craft acts at each
// height over the water: lift, drag, moment, centre of pressure and neutral points.
//
// A [Craft] is one JSON file: wings, weights, pilot, tow, floats. [Read] parses it
// and returns every problem it finds. [NewModel] builds the vortex lattice of the
// wings (package vlm); all questions about the flow start from the [Model].
// [Model.Sweep] solves it at given clearances, [Model.BuildMap] makes the loads a
// smooth function of clearance and pitch, [Model.Banked] solves it in bank and slip. What
// that asks of pilot, line and boat is answered by the packages below: gecp/tow,
// gecp/motion, gecp/bank, gecp/lake.
//
// # Axes and units
//
// Craft axes: x aft from the datum (the nose), y to starboard, z up. Water axes:
// the water at z = 0, the stream along +x. SI throughout; angles are degrees in
// the file and in fields whose names end in Deg, radians everywhere else. Pitch
// and moment are positive nose-up. Positions along the craft are metres aft of the
// datum.
//
// Height is the datum's, clearance that of the lowest point of the wings, tip
// plates included, both in metres above the water. The pitch neutral point and the
// height neutral point are known in the literature as the aerodynamic centres in
// pitch and in height.
//
// # Cautions
//
// All of this is a calculation of wings in ideal flow over flat water: no waves, no
// gusts, no stall beyond the flagged limit. It cannot tell that a craft is safe.
// Prove a craft with a small model, then in small speed steps, with protective gear,
// a spotter, and a line that the boat can let go at once. Follow local boating law
// and get licensed or experienced help.
package gecp
