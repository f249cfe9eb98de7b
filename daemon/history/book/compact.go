package book

// deepest is how far objects and lists may lie within each other for the short way of reading.
const deepest = 64

// compact says whether a text is one JSON value (RFC 8259) without a blank outside of its
// strings. It says no to some that are, such as one that is very deep.
func compact(text string) bool {
	end := value(text, 0, deepest)
	return end == len(text)
}

// The functions below pass over a part of a text from a place on and give the place after it;
// -1 where the part is not there.

func value(s string, at, depth int) int {
	if at >= len(s) || depth == 0 {
		return -1
	}
	switch s[at] {
	case '{':
		return members(s, at+1, depth-1)
	case '[':
		return elements(s, at+1, depth-1)
	case '"':
		return quoted(s, at+1)
	case 't':
		return literal(s, at, "true")
	case 'f':
		return literal(s, at, "false")
	case 'n':
		return literal(s, at, "null")
	}
	return numeral(s, at)
}

// members are those of an object, up to its end.
func members(s string, at, depth int) int {
	if at < len(s) && s[at] == '}' {
		return at + 1
	}
	for at < len(s) && s[at] == '"' {
		if at = quoted(s, at+1); at < 0 || at >= len(s) || s[at] != ':' {
			return -1
		}
		at = value(s, at+1, depth)
		if at < 0 || at >= len(s) || s[at] != ',' {
			return literal(s, at, "}")
		}
		at++
	}
	return -1
}

// elements are those of a list, up to its end.
func elements(s string, at, depth int) int {
	if at < len(s) && s[at] == ']' {
		return at + 1
	}
	for {
		at = value(s, at, depth)
		if at < 0 || at >= len(s) || s[at] != ',' {
			return literal(s, at, "]")
		}
		at++
	}
}

// quoted is a string after its first quotation mark.
func quoted(s string, at int) int {
	for ; at < len(s); at++ {
		switch b := s[at]; {
		case b == '"':
			return at + 1
		case b < ' ':
			return -1
		case b == '\\':
			if at = escaped(s, at+1); at < 0 {
				return -1
			}
		}
	}
	return -1
}

// escaped is what follows a backslash; it gives the last place of it.
func escaped(s string, at int) int {
	if at >= len(s) {
		return -1
	}
	switch s[at] {
	case '"', '\\', '/', 'b', 'f', 'n', 'r', 't':
		return at
	case 'u':
		for i := 1; i <= 4; i++ {
			if at+i >= len(s) || !hexadecimal(s[at+i]) {
				return -1
			}
		}
		return at + 4
	}
	return -1
}

func hexadecimal(b byte) bool {
	return '0' <= b && b <= '9' || 'a' <= b && b <= 'f' || 'A' <= b && b <= 'F'
}

func literal(s string, at int, word string) int {
	if at < 0 || len(s)-at < len(word) || s[at:at+len(word)] != word {
		return -1
	}
	return at + len(word)
}

func numeral(s string, at int) int {
	if at < len(s) && s[at] == '-' {
		at++
	}
	if at < len(s) && s[at] == '0' {
		at++
	} else if at = digits(s, at); at < 0 {
		return -1
	}
	if at < len(s) && s[at] == '.' {
		if at = digits(s, at+1); at < 0 {
			return -1
		}
	}
	if at < len(s) && (s[at] == 'e' || s[at] == 'E') {
		if at++; at < len(s) && (s[at] == '+' || s[at] == '-') {
			at++
		}
		return digits(s, at)
	}
	return at
}

// digits is one digit or more.
func digits(s string, at int) int {
	from := at
	for at < len(s) && '0' <= s[at] && s[at] <= '9' {
		at++
	}
	if at == from {
		return -1
	}
	return at
}
