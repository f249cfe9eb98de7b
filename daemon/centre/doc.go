// Package centre keeps the books of many sites in one PostgreSQL database. It is the only
// package that knows that database.
//
// A site stays the truth: its own file is written and shown first. What arrives here are its
// records word for word, its sealed samples with their roll-ups and gaps, and how far its
// book goes. The database itself refuses a record that does not continue the book that it
// keeps of a site, so a book that was rewritten, or put back to an older state, is found as
// soon as the site speaks. Days of samples are held to the sums that the book attests.
package centre
