package sqlite

import (
	"context"
	"errors"
	"os"
	"path/filepath"
)

// Create makes a new shop file and opens it. Folders that are missing are made
// as well. It is [inventory.ErrExists] where a file is there: the new one is
// made under another name and linked into place, so that nothing is ever
// overwritten and no half-made file is ever seen.
func Create(ctx context.Context, path string) (*Store, error) {
	if err := notBeside(path); err != nil {
		return nil, err
	}
	if _, err := os.Lstat(path); err == nil {
		return nil, exists(path)
	}
	if _, err := os.Lstat(journal(path)); err == nil {
		return nil, strayJournal(path)
	}
	if err := makeFolders(filepath.Dir(path)); err != nil {
		return nil, explain(path, err)
	}
	err := install(path, func(temp string) error { return build(ctx, temp) }, link)
	if err != nil {
		return nil, explain(path, err)
	}
	return Open(ctx, path)
}

// build makes an empty shop in a file that is not there yet.
func build(ctx context.Context, path string) error {
	if err := empty(path, ""); err != nil {
		return err
	}
	db, conn, err := connect(ctx, path)
	if err != nil {
		return err
	}
	return errors.Join(migrate(ctx, conn, steps), conn.Close(), db.Close())
}
