// Package tow says how a craft of package gecp flies in steady tow: where its pilot
// must be at each clearance, up to which clearance it holds its height, when it
// leaves the water, how fast it may be towed, and between which clearances.
//
// A [SteadyTow] is a map with weights, line and air put in. It gives a [Trim] at a
// clearance, the [TrimCurve] over all of them, and the [Range] of clearances in
// which the craft may be towed: the one place in the module that works out the
// height to let go.
//
// Axes, units and signs are those of package gecp: SI, radians, positions metres aft
// of the datum, pitch and moments nose-up positive.
//
// # Cautions
//
// All of this is a calculation of wings in ideal flow over flat water: no waves, no
// gusts, no stall beyond the flagged limit. It cannot tell that a craft is safe.
// Prove a craft with a small model, then in small speed steps, with protective gear,
// a spotter, and a line that the boat can let go at once. Follow local boating law
// and get licensed or experienced help.
package tow
