// Package clocks holds the development clocks that run side by side in one room:
// which there are, what a press does to them, and which press can be taken back.
// Each is a [wetside/chem.Clock], which follows its bath.
//
// It is pure: presses, temperatures and monotonic times go in, a new [Set] comes out.
package clocks
