package sqlite

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"strings"

	"shimwright/inventory"
	"shimwright/shim"
)

// journal is the file beside a shop file in which SQLite keeps the pages that a
// command is about to change. A command that was cut off leaves it behind, and
// the next one rolls it back: it belongs to that shop file and to no other.
func journal(path string) string { return path + "-journal" }

// notBeside refuses the names that SQLite uses beside a shop file: the next
// command would take the file for a journal and remove it.
func notBeside(path string) error {
	name := strings.ToLower(filepath.Base(path))
	for _, end := range []string{journal(""), "-wal", "-shm"} {
		if strings.HasSuffix(name, end) {
			return shim.Fail(inventory.ErrInvalid, "give another name, like shop-copy.db",
				"%s: a name ending in %s is reserved for the journal of a shop file", path, end)
		}
	}
	return nil
}

// NotShop refuses the name of a file of another kind where a shop file would be
// written over, or what SQLite keeps beside one.
func NotShop(path string) error {
	if real, err := filepath.EvalSymlinks(path); err == nil {
		path = real
	}
	if err := notBeside(path); err != nil {
		return err
	}
	if info, err := os.Stat(path); err != nil || !info.Mode().IsRegular() {
		return nil // nothing is there, or the writing says why it cannot be
	}
	f, err := os.Open(path)
	if err != nil {
		return nil // as above
	}
	defer func() { _ = f.Close() }()
	header := make([]byte, len(magic))
	if _, err := io.ReadFull(f, header); err == nil && string(header) == magic {
		return shim.Fail(inventory.ErrInvalid, "give another name; nothing was changed", "%s is a shop file and would be overwritten", path)
	}
	return nil
}

func strayJournal(path string) error {
	return shim.Fail(inventory.ErrExists, "move it away first, or restore a backup with shimwright shop restore",
		"%s: this journal of an earlier shop file would be rolled into the new one", journal(path))
}

// Restore puts a checked copy of the backup in the place of the shop file, at
// once: whoever looks sees the old one or the new one. The old file and its
// journal are kept beside it under the name that is given back, empty where
// there was none; so is the last movement. Commands that wait for the old file meanwhile are refused.
func Restore(ctx context.Context, backup, path string) (kept string, last inventory.Movement, err error) {
	if err := sniff(backup); errors.Is(err, inventory.ErrMissing) {
		return "", last, shim.Fail(inventory.ErrMissing, "check the name and the folder", "%s: no such backup", backup)
	} else if err != nil {
		return "", last, err
	}
	if twin, err := sameFile(backup, path); err != nil {
		return "", last, explain(path, err)
	} else if twin {
		return "", last, shim.Fail(inventory.ErrInvalid, "give the name of the backup", "%s is the shop file itself", backup)
	}
	if _, err := os.Lstat(path); err == nil {
		// A link stays; what it leads to is replaced. SQLite does the same.
		if real, err := filepath.EvalSymlinks(path); err == nil {
			path = real
		}
		if info, err := os.Stat(path); err != nil || !info.Mode().IsRegular() {
			return "", last, shim.Fail(inventory.ErrForeign, "name the shop file with --shop", "%s: not a regular file", path)
		}
	}
	if err := notBeside(path); err != nil {
		return "", last, err
	}
	if err := makeFolders(filepath.Dir(path)); err != nil {
		return "", last, explain(path, err)
	}
	err = install(path, func(temp string) (err error) {
		last, err = copyOf(ctx, backup, path, temp)
		return err
	}, func(temp, _ string) error {
		kept, err = replace(ctx, temp, path)
		return err
	})
	return kept, last, explain(path, err)
}

func sameFile(a, b string) (bool, error) {
	x, err := os.Stat(a)
	if err != nil {
		return false, err
	}
	y, err := os.Stat(b)
	if errors.Is(err, fs.ErrNotExist) {
		return false, nil
	}
	return err == nil && os.SameFile(x, y), err
}

// copyOf copies the backup and checks the copy. A journal beside the backup is
// rolled back into it first, as by any command. The copy is as private as the
// file that it replaces.
func copyOf(ctx context.Context, backup, path, temp string) (last inventory.Movement, err error) {
	like := path
	if _, err := os.Stat(path); err != nil {
		like = backup
	}
	if err := empty(temp, like); err != nil {
		return last, err
	}
	s, err := attach(ctx, backup)
	if err != nil {
		return last, explain(backup, err)
	}
	version, err := pragmaInt(ctx, s.conn, "user_version")
	if err == nil && version > latest(steps) {
		err = newer(backup, version, latest(steps))
	}
	if err == nil {
		err = s.vacuumInto(ctx, temp)
	}
	if err := errors.Join(err, s.Close()); err != nil {
		return last, explain(backup, err)
	}
	return checkCopy(ctx, temp)
}

// replace gives the file its name while nobody else writes to the one that has
// it. That one gets another name first, so that it is never without any.
func replace(ctx context.Context, temp, path string) (kept string, err error) {
	unlock := func() error { return nil }
	if err := sniff(path); err == nil {
		s, err := attach(ctx, path)
		if err == nil {
			// Rolls a journal back and waits until no other command writes.
			err = s.execute(ctx, "BEGIN EXCLUSIVE")
			unlock = s.Close
		}
		if errors.Is(err, inventory.ErrBusy) || ctx.Err() != nil {
			return "", errors.Join(err, unlock())
		}
		// What cannot be opened is replaced as it is, with its journal.
	}
	if runtime.GOOS == "windows" { // which renames no open file
		err = unlock()
		unlock = func() error { return nil }
	}
	if err == nil {
		kept, err = keep(path)
	}
	if err == nil {
		err = os.Rename(temp, path)
	}
	return kept, errors.Join(err, unlock())
}

// keep gives the file that is to be replaced and its journal a second name.
func keep(path string) (kept string, err error) {
	_, err = os.Lstat(path)
	file := err == nil
	_, err = os.Lstat(journal(path))
	log := err == nil
	if !file && !log {
		return "", nil
	}
	for n := 1; ; n++ {
		kept = fmt.Sprintf("%s.replaced-%d", path, n)
		if free(kept) && free(journal(kept)) {
			break
		}
	}
	if file {
		if err := os.Link(path, kept); err != nil {
			if err := os.Rename(path, kept); err != nil { // no links here
				return "", err
			}
		}
	}
	if log {
		if err := os.Rename(journal(path), journal(kept)); err != nil {
			return "", err
		}
	}
	return kept, syncPath(filepath.Dir(path))
}

func free(path string) bool {
	_, err := os.Lstat(path)
	return errors.Is(err, fs.ErrNotExist)
}
