// Package breathing sets gas readings against the limits for what people
// breathe: moving averages over samples with gaps, ceilings, action levels and
// the index of a mixture, each with what is not known.
//
// A gap is never zero. Every average is an interval with its coverage, and the
// answer is "can't tell" while a limit lies inside. Limits are rows of data with
// a source and a standing; they are compared in the unit they are published in.
//
// Everything here is pure: no clock, no input or output, no state kept between calls.
package breathing

import "wetside/sensors/quantity/phrase"

// Statement is what wetside says of itself wherever it speaks of breathing air.
func Statement() phrase.Sentence {
	return phrase.Say("wetside is an aid. It is neither a life-safety device nor a personal breathing-exposure measurement: a probe on " +
		"the wall does not show what a person breathes. Follow local codes, the safety data sheets and qualified advice.")
}
