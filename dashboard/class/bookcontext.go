package class

import "wetside/dashboard/cards"

// shelfContext is what is said and read of the book of chemistry.
type shelfContext struct {
	figures
	book *cards.ShelfBook
}

// cards says what pages of several people say of the book.
func (c shelfContext) cards() cards.BookCards {
	return cards.BookCards{Figures: c.Figures, Book: c.book}
}
