package gecp

// Cautions stand on everything that someone may act on.
const Cautions = `This is a calculation of wings in ideal flow over flat water: no waves, no gusts, no stall beyond the flagged limit. It cannot tell you that a craft is safe. Prove the craft with a small model, then in small speed steps, with protective gear, a spotter, and a line that the boat can let go at once. Follow local boating law and get licensed or experienced help.`
