// Package sensors knows channels, probes and readings, and watches serial lines:
// bytes go in, dated readings of a stated quality come out.
//
// A channel is a place, a probe is a device; a line is a serial port. A [Watch]
// owns one line: it opens it, again and again if it must, feeds a [Decoder], and
// hands on each reading, dated once. How lines are opened is the business of
// sensors/serialport, how frames are read that of sensors/dialect.
package sensors
