package sqlite

import (
	"context"
	"os"

	"shimwright/inventory"
)

// Info says what a shop file holds.
type Info struct {
	Path      string
	Bytes     int64
	Version   int
	Diameters int64
	Engines   int64
	Jobs      int64
	Movements int64
	Pieces    int64 // on hand
	Reserved  int64
}

// Info counts what the file holds.
func (s *Store) Info(ctx context.Context) (Info, error) {
	info := Info{Path: s.path, Version: latest(steps)}
	file, err := os.Stat(s.path)
	if err != nil {
		return info, explain(s.path, err)
	}
	info.Bytes = file.Size()
	err = s.View(ctx, func(r inventory.Reader) error {
		t := r.(*tx)
		for _, q := range []struct {
			into *int64
			sql  string
		}{
			{&info.Diameters, "SELECT COUNT(*) FROM diameters"},
			{&info.Engines, "SELECT COUNT(*) FROM engines"},
			{&info.Jobs, "SELECT COUNT(*) FROM jobs"},
			// The ledger has no gaps, so its last number is its count.
			{&info.Movements, "SELECT COALESCE(MAX(seq), 0) FROM movements"},
			{&info.Pieces, "SELECT COALESCE(SUM(on_hand), 0) FROM sizes"},
			{&info.Reserved, "SELECT COALESCE(SUM(reserved), 0) FROM sizes"},
		} {
			n, _, err := one(t, readInt, q.sql)
			if err != nil {
				return err
			}
			*q.into = n
		}
		return nil
	})
	return info, err
}
