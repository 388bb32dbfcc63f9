package sqlite

import (
	"context"
	"database/sql"
	"os"
	"path/filepath"
	"time"

	"shimwright/inventory"
)

// Backup writes a copy of the shop as it is at one moment. The copy is synced,
// checked (integrity, foreign keys, the ledger's chain and sums) and only then
// given its name; the target must not be there. Others may read meanwhile, and
// writers wait until the copy is read.
func (s *Store) Backup(ctx context.Context, target string) error {
	if _, err := os.Lstat(target); err == nil {
		return exists(target)
	}
	err := s.copyTo(ctx, target)
	return explain(target, err)
}

// copyTo is Backup without the words.
func (s *Store) copyTo(ctx context.Context, target string) error {
	return install(target, func(temp string) error {
		if err := s.vacuumInto(ctx, temp); err != nil {
			return explain(s.path, err)
		}
		return checkCopy(ctx, temp)
	})
}

func (s *Store) vacuumInto(ctx context.Context, temp string) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	// An absolute path, so that SQLite does not read it as a URI.
	abs, err := filepath.Abs(temp)
	if err != nil {
		return err
	}
	_, err = s.conn.ExecContext(ctx, "VACUUM INTO ?", abs)
	return err
}

// checkCopy checks a copy as shop check does. It may be of an older version,
// whose rows this version cannot read: then only the file is checked.
func checkCopy(ctx context.Context, path string) error {
	db, conn, err := connect(ctx, path)
	if err != nil {
		return err
	}
	version, err := pragmaInt(ctx, conn, "user_version")
	copied := &Store{path: path, db: db, conn: conn, statements: map[string]*sql.Stmt{}}
	defer func() { _ = copied.Close() }()
	if err != nil {
		return err
	}
	var found []inventory.Finding
	if version == latest(steps) {
		found, err = inventory.New(copied, "", time.Now).Check(ctx)
	} else {
		found, err = copied.verify(ctx)
	}
	if err == nil && len(found) > 0 {
		err = inventory.Fail(inventory.ErrDamaged, "give shimwright shop check; go back to the last good backup", "the copy is not sound: %s %s", found[0].Where, found[0].What)
	}
	return err
}
