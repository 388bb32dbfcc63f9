package sqlite

import (
	"context"
	"os"

	"shimwright/inventory"
)

// Info implements [inventory.Store].
func (s *Store) Info(context.Context) (inventory.Info, error) {
	info := inventory.Info{Version: latest(steps)}
	file, err := os.Stat(s.path)
	if err != nil {
		return info, explain(s.path, err)
	}
	info.Bytes = file.Size()
	return info, nil
}
