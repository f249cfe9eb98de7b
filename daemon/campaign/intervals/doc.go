// Package intervals holds each interval that the program states against 1000 simulated
// truths: one of 95 % must hold 920 to 980 of them, a bound must hold all. It consists of
// tests alone, which print the figures and keep intervals.svg in step:
//
//	go test ./daemon/campaign/intervals -v
//
// What the simulated truths take for granted stands beside each: an interval covers
// what its sentence names, and no more.
package intervals
