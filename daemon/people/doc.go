// Package people keeps who may sign in: accounts with roles, invitations, tokens
// for scripts, sessions. Everything stands in two files of the data folder that only
// the program's own user can read, and nothing in them gives a password, a session
// or a token away; the key of an app that shows codes must stand there as it is. The
// record book is told who did what, never with what secret.
package people
