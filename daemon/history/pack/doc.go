// Package pack puts the samples of one channel and one stretch of time into few
// bytes and gives them back to the last bit. It knows no clock and does no I/O.
//
// A packed block is: a version byte; the number of samples; the times, up to a whole byte; the
// values; the runs of equal grades before them. Times are the distances from an even beat, and come
// first: channels that a probe sends in one frame have them in common. Values are whole numbers of
// the smallest step that gives back every bit, see the scale; arbitrary values take 8 bytes each.
// Both are then written as differences from a forecast.
package pack
