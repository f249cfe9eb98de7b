package history

import "context"

// AlwaysDurable makes every commit wait for the disk.
func AlwaysDurable(s *Store) error {
	return s.do(context.Background(), false, func() error {
		s.writer.barrier = 0
		return nil
	})
}

// Pragma runs a pragma on the connection that writes, outside a transaction.
func Pragma(s *Store, text string) error {
	_, err := s.writer.conn.ExecContext(context.Background(), "PRAGMA "+text)
	return err
}

// SealDue seals everything that is due now.
func SealDue(s *Store) { s.sealDue(context.Background()) }
