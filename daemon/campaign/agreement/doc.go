// Package agreement holds the readers of the record against each other. It plays an
// evening through the real daemon and asks every reader the questions that several
// of them answer: the board, the pages, the API, the metrics, a past moment and the
// report. Two answers to one question must be the same, or say as of when.
//
// An evening drawn at random has one room or two, people who enter, correct and withdraw what
// they did, some of it late, probes that fail, a program that starts again, and a clock that is
// set forwards or back. The short form plays the same few evenings every time; 500 others are
// played by
//
//	WETSIDE_CAMPAIGN=500 go test ./daemon/campaign/agreement -run TestEveryReaderGivesTheSameAnswer -v -timeout 2h
//
// It consists of tests alone; of the other campaigns tells [wetside/daemon/campaign].
package agreement
