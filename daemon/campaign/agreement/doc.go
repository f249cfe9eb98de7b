// Package agreement holds the readers of the record against each other. It plays an
// evening through the real daemon and asks every reader the questions that several
// of them answer: the board, the pages, the API, the metrics, a past moment and the
// report. Two answers to one question must be the same, or say as of when.
//
// It consists of tests alone; their long form is a campaign, see [wetside/daemon/campaign].
package agreement
