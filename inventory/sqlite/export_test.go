package sqlite

import "context"

// Exec runs SQL past the rules, as a careless hand would.
func (s *Store) Exec(ctx context.Context, text string) error { return s.execute(ctx, text) }

// Pragma reads a setting of the connection.
func (s *Store) Pragma(ctx context.Context, name string) (int, error) {
	return pragmaInt(ctx, s.conn, name)
}

// Triggers gives the SQL that makes the file's triggers.
func (s *Store) Triggers(ctx context.Context) (text string, err error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	err = s.conn.QueryRowContext(ctx, "SELECT group_concat(sql, ';') FROM sqlite_schema WHERE type = 'trigger' AND name <> 'movements_only_follow'").Scan(&text)
	return text, err
}

// SetPatience sets how long connections wait, in ms, and gives what it was.
func SetPatience(ms string) (was string) {
	was = pragmas[0].value
	pragmas[0].value, pragmas[0].reads = ms, ms
	return was
}

// NewScratch is newScratch for a test.
func NewScratch(dir string) (*scratch, error) { return newScratch(dir) }

// Remove is remove for a test.
func (s *scratch) Remove() error { return s.remove() }
