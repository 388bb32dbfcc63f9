package sqlite

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"shimwright/inventory"
	"shimwright/shim"
)

// Open opens the shop file. A file of an older version is brought to the
// latest one, a copy being made first beside it. The error is one of
// [inventory.ErrMissing], [inventory.ErrForeign], [inventory.ErrNewer],
// [inventory.ErrDamaged], [inventory.ErrRights] or [inventory.ErrBusy]; the
// file is unchanged then. A file that cannot be written opens for reading, and
// a change is [inventory.ErrReadOnly].
func Open(ctx context.Context, path string) (*Store, error) {
	return open(ctx, path, steps)
}

func open(ctx context.Context, path string, steps []step) (*Store, error) {
	if err := sniff(path); err != nil {
		return nil, err
	}
	sweep(filepath.Dir(path))
	s, err := attach(ctx, path)
	if err != nil {
		return nil, explain(path, err)
	}
	if err := s.upgrade(ctx, steps); err != nil {
		_ = s.Close()
		return nil, explain(path, err)
	}
	return s, nil
}

// upgrade checks whose file it is and brings it to the latest version.
func (s *Store) upgrade(ctx context.Context, steps []step) error {
	id, err := pragmaInt(ctx, s.conn, "application_id")
	if err != nil {
		return err
	}
	version, err := pragmaInt(ctx, s.conn, "user_version")
	if err != nil {
		return err
	}
	known := latest(steps)
	switch {
	case id != applicationID || version < 1:
		return foreign(s.path)
	case version > known:
		return newer(s.path, version, known)
	case version == known:
		return nil
	}
	keep := fmt.Sprintf("%s.version-%d", s.path, version)
	if _, err := s.copyTo(ctx, keep); err != nil && !errors.Is(err, inventory.ErrExists) {
		return fmt.Errorf("save a copy before the upgrade: %w", err)
	}
	if err := migrate(ctx, s.conn, steps); err != nil {
		return err
	}
	broken, err := s.verify(ctx)
	if err == nil && len(broken) > 0 {
		err = damaged(s.path, broken[0].What+"; a copy from before the upgrade is "+keep)
	}
	return err
}

// The first bytes of a SQLite file (sqlite.org/fileformat.html, section 1.3).
const (
	magic        = "SQLite format 3\x00"
	headerBytes  = 100
	offsetFileID = 68
)

// sniff looks at the file's first bytes, so that a file which is not ours is
// not touched at all.
func sniff(path string) error {
	info, err := os.Stat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist) && !free(path):
		to, _ := os.Readlink(path)
		return shim.Fail(inventory.ErrMissing, "put the file back, mount its disk or remove the link", "%s: the shop file is a link to %s, which does not exist", path, to)
	case errors.Is(err, fs.ErrNotExist):
		return shim.Fail(inventory.ErrMissing, "make one with shimwright shop init, or name another with --shop", "%s: there is no shop file", path)
	case err != nil:
		return explain(path, err)
	case !info.Mode().IsRegular():
		// A pipe would block the command for ever.
		return shim.Fail(inventory.ErrForeign, "name the shop file with --shop", "%s: not a regular file", path)
	}
	f, err := os.Open(path)
	switch {
	case errors.Is(err, fs.ErrPermission):
		return shim.Fail(inventory.ErrRights, "get read permission from its owner, or name another file with --shop", "%s: permission denied to read the shop file", path)
	case err != nil:
		return explain(path, err)
	}
	defer func() { _ = f.Close() }()
	header := make([]byte, headerBytes)
	if _, err := io.ReadFull(f, header); err != nil ||
		!bytes.HasPrefix(header, []byte(magic)) || binary.BigEndian.Uint32(header[offsetFileID:]) != applicationID {
		return foreign(path)
	}
	for at, want := range sane {
		if binary.BigEndian.Uint32(header[at:]) != want {
			return damaged(path, fmt.Sprintf("byte %d of its header", at))
		}
	}
	return nil
}

// sane are header fields that never differ in a shop file and that would let
// SQLite write over pages in use: no pointer map, text as UTF-8, no incremental
// vacuum.
var sane = map[int]uint32{52: 0, 56: 1, 64: 0}
