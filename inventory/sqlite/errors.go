package sqlite

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"
	"strings"
	"syscall"

	driver "modernc.org/sqlite"
	code "modernc.org/sqlite/lib"

	"shimwright/inventory"
	"shimwright/shim"
)

// explain turns an error of SQLite or the system into one clear error about the
// shop file. Clear errors pass unchanged.
func explain(path string, err error) error {
	var clear *shim.Hinted
	var lite *driver.Error
	switch {
	case err == nil:
		return nil
	case errors.As(err, &clear):
		if errors.Is(err, inventory.ErrDamaged) && !strings.HasPrefix(clear.Message, path) {
			named := *clear
			named.Message = fmt.Sprintf("%s: the shop file is damaged: %s", path, clear.Message)
			return &named
		}
		return err
	case errors.As(err, &lite):
		return explainCode(path, lite, err)
	case errors.Is(err, fs.ErrPermission):
		return shim.Fail(inventory.ErrRights, "get write permission, or name another file with --shop", "%s: permission denied in the folder %s", path, filepath.Dir(path))
	case errors.Is(err, syscall.EROFS):
		return shim.Fail(inventory.ErrReadOnly, "use a disk that is not write-protected", "%s: the disk is read-only", path)
	case errors.Is(err, syscall.ENOSPC), errors.Is(err, syscall.EDQUOT):
		return full(path)
	case errors.Is(err, syscall.EIO):
		return disk(path, err)
	}
	return err
}

func readOnly(path string) error {
	return shim.Fail(inventory.ErrReadOnly, "make it writable, or work on a writable copy", "%s: the shop file is read-only", path)
}

func full(path string) error {
	return shim.Fail(inventory.ErrFull, "free some space and repeat the command; nothing was changed", "%s: the disk is full", path)
}

func damaged(path, what string) error {
	return shim.Fail(inventory.ErrDamaged, "do not write to it; go back to the last good backup: shimwright shop restore FILE", "%s: the shop file is damaged (%s)", path, what)
}

func foreign(path string) error {
	return shim.Fail(inventory.ErrForeign, "name the shop file with --shop", "%s: not a shop file", path)
}

func explainCode(path string, lite *driver.Error, err error) error {
	switch lite.Code() {
	case code.SQLITE_READONLY_DIRECTORY, code.SQLITE_READONLY_CANTINIT:
		return noJournal(path)
	case code.SQLITE_IOERR_CORRUPTFS:
		return damaged(path, lite.Error())
	}
	switch lite.Code() & 0xff {
	case code.SQLITE_BUSY, code.SQLITE_LOCKED:
		return shim.Fail(inventory.ErrBusy, "try again when the other command has finished", "%s: another command has used the shop file for more than %s", path, patience)
	case code.SQLITE_READONLY:
		return readOnly(path)
	case code.SQLITE_FULL:
		return full(path)
	case code.SQLITE_CORRUPT:
		return damaged(path, lite.Error())
	case code.SQLITE_IOERR:
		return disk(path, lite)
	case code.SQLITE_ERROR, code.SQLITE_SCHEMA, code.SQLITE_MISMATCH, code.SQLITE_CONSTRAINT:
		// A missing table or column, or a row that must not exist.
		return damaged(path, lite.Error())
	case code.SQLITE_NOTADB:
		return foreign(path)
	case code.SQLITE_CANTOPEN, code.SQLITE_PERM, code.SQLITE_AUTH:
		return noJournal(path)
	}
	if errors.Is(err, context.Canceled) || lite.Code() == code.SQLITE_INTERRUPT {
		return err
	}
	return fmt.Errorf("%s: %w", path, err)
}

// disk is the error for a disk error.
func disk(path string, err error) error {
	return shim.Fail(inventory.ErrDisk, "check the disk and its cable, then run shimwright shop check; keep a copy of the file", "%s: disk error: %v", path, err)
}

func noJournal(path string) error {
	return shim.Fail(inventory.ErrRights, "make the shop's folder writable: SQLite writes its journal there", "%s: permission denied to write in the folder %s", path, filepath.Dir(path))
}

// unreadable is the error for a row that cannot be parsed: an unknown word, an
// invalid time, text instead of a number.
func unreadable(err error) error {
	var clear *shim.Hinted
	var lite *driver.Error
	if errors.As(err, &clear) || errors.As(err, &lite) || errors.Is(err, context.Canceled) || errors.Is(err, context.DeadlineExceeded) {
		return err
	}
	return inventory.Damaged("a row", "cannot be read: "+err.Error())
}

// unsure marks a disk's error at the end of a booking: the journal may be gone
// already, and then the booking stands, or stood before the power failed.
func unsure(err error) error {
	if !errors.Is(err, inventory.ErrDisk) {
		return err
	}
	return shim.Fail(inventory.ErrUnsure, "", "%w", err)
}
