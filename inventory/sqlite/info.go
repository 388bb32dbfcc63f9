package sqlite

import (
	"context"
	"os"
	"time"

	"shimwright/inventory"
)

// Info says what a shop file holds.
type Info struct {
	Path    string
	Bytes   int64
	Version int
	inventory.Totals
}

// Info counts what the file holds.
func (s *Store) Info(ctx context.Context) (Info, error) {
	info := Info{Path: s.path, Version: latest(steps)}
	file, err := os.Stat(s.path)
	if err != nil {
		return info, explain(s.path, err)
	}
	info.Bytes = file.Size()
	info.Totals, err = inventory.New(s, "", time.Now).Totals(ctx)
	return info, err
}
