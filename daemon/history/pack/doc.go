// Package pack puts the samples of one channel and one stretch of time into few
// bytes and gives them back to the last bit. It knows no clock and does no I/O.
//
// A packed block is: a version byte; the number of samples; the times; the
// values; and, unless every sample has the same one, the runs of grades. Times
// are the distances from an even beat. Values are whole numbers of the smallest
// step that gives back every bit, see the scale; arbitrary values take 8 bytes
// each. Both are then written as differences from a forecast.
package pack
