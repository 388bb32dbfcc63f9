package sqlite

import (
	"context"
	"os"
	"path/filepath"
	"time"

	"shimwright/inventory"
	"shimwright/shim"
)

// Backup writes a copy of the shop as it is at one moment. The copy is synced,
// checked (integrity, foreign keys, the ledger's chain and sums) and only then
// given its name; the target must not be there. Others may read meanwhile, and
// writers wait until the copy is read. It gives the copy's last movement.
func (s *Store) Backup(ctx context.Context, target string) (last inventory.Movement, err error) {
	if err := notBeside(target); err != nil {
		return last, err
	}
	if _, err := os.Lstat(target); err == nil {
		return last, exists(target)
	}
	last, err = s.copyTo(ctx, target)
	return last, explain(target, err)
}

// copyTo is Backup without explained errors.
func (s *Store) copyTo(ctx context.Context, target string) (last inventory.Movement, err error) {
	if _, err := os.Lstat(journal(target)); err == nil {
		return last, strayJournal(target)
	}
	err = install(target, func(temp string) error {
		if err := empty(temp, s.path); err != nil {
			return err
		}
		if err := s.vacuumInto(ctx, temp); err != nil {
			return explain(s.path, err)
		}
		last, err = checkCopy(ctx, temp)
		return err
	}, link)
	return last, err
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

// checkCopy checks a copy as shop check does and gives its last movement. It
// may be of an older version, whose rows this version cannot read: then only
// the file is checked, and of the movement only the number is given.
func checkCopy(ctx context.Context, path string) (last inventory.Movement, err error) {
	copied, err := attach(ctx, path)
	if err != nil {
		return last, err
	}
	defer func() { _ = copied.Close() }()
	version, err := pragmaInt(ctx, copied.conn, "user_version")
	if err != nil {
		return last, err
	}
	var found []inventory.Finding
	if version == latest(steps) {
		shop := inventory.New(copied, "", time.Now)
		if found, err = shop.Check(ctx); err == nil && len(found) == 0 {
			last, err = shop.Last(ctx)
		}
	} else {
		if found, err = copied.verify(ctx); err == nil && len(found) == 0 {
			err = copied.conn.QueryRowContext(ctx, "SELECT coalesce(max(seq), 0) FROM movements").Scan(&last.Seq)
		}
	}
	if err == nil && len(found) > 0 {
		err = shim.Fail(inventory.ErrDamaged, "run shimwright shop check; go back to the last good backup", "the copy is damaged: %s %s", found[0].Where, found[0].What)
	}
	return last, err
}
