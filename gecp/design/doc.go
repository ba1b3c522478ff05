// Package design answers what to change in a craft, and what a change or an inexact build does to
// it.
//
// [FindSensitivities] tells what a step of each dimension does, by the derivatives of the lattice with the
// wings' shape; [Sensitivities.Advise] looks for the smallest changes that give a craft a height to tow it at and a
// speed window that a boat can hold.
//
// [Tolerance] calculates thousands of builds of one craft file that differ by what a home
// builder does not know exactly, and says between what their let-go heights, pilot's
// positions, lift-off speeds and speed windows lie.
//
// [Improve] searches a box of dimensions for the craft that does something best, as the widest speed
// window, within requirements, and puts it in steps that a builder makes.
//
// [Study] answers for as many craft as there are lines on its input, in order and in parallel; a
// study may be cut into pieces over any number of machines.
//
// All ask [gecp.Map] and package tow: no figure has a rule of its own here. All are by equilibrium:
// whether people can react in time is a question for package motion.
package design
