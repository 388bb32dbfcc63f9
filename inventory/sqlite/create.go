package sqlite

import (
	"context"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"syscall"

	"shimwright/inventory"
)

// Create makes a new shop file and opens it. Folders that are missing are made
// as well. It is [inventory.ErrExists] where a file is there: the new one is
// made under another name and linked into place, so that nothing is ever
// overwritten and no half-made file is ever seen.
func Create(ctx context.Context, path string) (*Store, error) {
	if _, err := os.Lstat(path); err == nil {
		return nil, exists(path)
	}
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		return nil, explain(path, err)
	}
	err := install(path, func(temp string) error { return build(ctx, temp) })
	if err != nil {
		return nil, explain(path, err)
	}
	return Open(ctx, path)
}

func exists(path string) error {
	return inventory.Fail(inventory.ErrExists, "name another file, or move that one away first", "%s: a file is there already", path)
}

// build makes an empty shop in an empty file.
func build(ctx context.Context, path string) error {
	f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, 0o644)
	if err != nil {
		return err
	}
	if err := f.Close(); err != nil {
		return err
	}
	db, conn, err := connect(ctx, path)
	if err != nil {
		return err
	}
	return errors.Join(migrate(ctx, conn, steps), conn.Close(), db.Close())
}

// install lets the function make a file under a name of its own in the target's
// folder, syncs it and gives it its name. The target must not be there.
// Nothing is left behind after a failure.
func install(target string, make func(temp string) error) (err error) {
	folder, err := os.MkdirTemp(filepath.Dir(target), ".shimwright-*")
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, os.RemoveAll(folder)) }()
	temp := filepath.Join(folder, "shop.db")
	if err := make(temp); err != nil {
		return err
	}
	if err := syncPath(temp); err != nil {
		return err
	}
	if err := os.Link(temp, target); err != nil {
		if errors.Is(err, fs.ErrExist) {
			return exists(target)
		}
		// Some file systems have no links. A rename may overwrite, so look first.
		if _, seen := os.Lstat(target); seen == nil {
			return exists(target)
		}
		if err := os.Rename(temp, target); err != nil {
			return err
		}
	}
	return syncPath(filepath.Dir(target))
}

// syncPath makes a file or a folder durable. Systems that cannot sync a folder
// say so with EINVAL or a permission error, which is no failure. A file is
// opened for writing: Windows syncs no other.
func syncPath(path string) error {
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		f, err = os.Open(path) // folders cannot be written
	}
	if err != nil {
		return err
	}
	err = f.Sync()
	if info, statErr := f.Stat(); statErr == nil && info.IsDir() && (errors.Is(err, fs.ErrInvalid) || errors.Is(err, fs.ErrPermission) || errors.Is(err, syscall.EINVAL)) {
		err = nil
	}
	return errors.Join(err, f.Close())
}
