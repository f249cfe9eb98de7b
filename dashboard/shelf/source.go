package shelf

import (
	"context"

	"wetside/dashboard/cards"
)

// Shelf is the chemistry of the site as the pages know it: one book for all rooms.
type Shelf interface {
	// Look lets a page read the book as it is now: later entries don't change what the page
	// reads, and the page must not change it.
	Look(page func(*cards.ShelfBook))
	// Names are the people who wrote into the book last, the newest first; none while the
	// book is being read. A page may ask for them at any moment.
	Names() []string
	// Enter records what somebody did and returns once it is kept for good. The error
	// is one sentence for the person who pressed the button.
	Enter(ctx context.Context, e cards.ShelfEntry) (cards.ShelfReceipt, error)
}
