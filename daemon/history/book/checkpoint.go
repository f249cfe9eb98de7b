package book

import (
	"encoding/hex"
	"fmt"
	"strconv"
	"strings"
)

// String is the checkpoint as it is printed and mailed, such as "812:5f3c...".
func (c Checkpoint) String() string { return fmt.Sprintf("%d:%s", c.Number, c.Hash) }

// ParseCheckpoint reads a checkpoint as [Checkpoint.String] writes it; capitals and
// blanks around it do no harm.
func ParseCheckpoint(text string) (Checkpoint, error) {
	number, hash, _ := strings.Cut(strings.ToLower(strings.TrimSpace(text)), ":")
	n, err := strconv.ParseUint(number, 10, 64)
	bytes, badHash := hex.DecodeString(hash)
	if err != nil || n == 0 || badHash != nil || len(bytes) != 32 {
		return Checkpoint{}, fmt.Errorf("%q is not a checkpoint: expected a record's number, a colon and its hash of 64 hexadecimal digits, "+
			"as verify prints it", text)
	}
	return Checkpoint{n, hash}, nil
}
