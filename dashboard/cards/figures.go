// Package cards draws what several pages show: a bath, the air, what needs doing, a
// finding, the chart of a channel, and what the book of chemistry says of a vessel.
package cards

import "wetside/dashboard/web"

// Figures writes what the cards say, in the units of the place.
type Figures struct{ web.Figures }
