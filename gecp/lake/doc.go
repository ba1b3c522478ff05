// Package lake holds what a builder does before, at and after the water: weighing the
// craft ([Weigh]), proving it as a small model ([NewSmallModel]), the tow card, a ladder of
// small speed steps with where the pilot sits, the line's tension and the height to let go
// ([NewTowCard]), its log sheet ([TowCard.LogSheet]), and a log of runs held against the
// calculation and fitted to it ([ReadLog], [CompareRuns], [FitLog]).
//
// What a card says of a speed is that speed's [tow.Range], with reaction margins of
// package motion; nothing is worked out here a second time.
//
// # Cautions
//
// All of this is a calculation of wings in ideal flow over flat water: no waves, no
// gusts, no stall beyond the flagged limit. It cannot tell that a craft is safe.
// Prove a craft with a small model, then in small speed steps, with protective gear,
// a spotter, and a line that the boat can let go at once. Follow local boating law
// and get licensed or experienced help.
package lake
