package sqlite

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"syscall"

	"github.com/gofrs/flock"

	"shimwright/inventory"
	"shimwright/shim"
)

// scratchName begins the names of the folders in which new files are made.
const scratchName = ".shimwright-"

// scratch is a folder for an unfinished file, locked as long as its process
// lives.
type scratch struct {
	folder string
	lock   *flock.Flock
}

// lockName is the file whose lock says that the folder is in use.
const lockName = "lock"

// newScratch makes such a folder in the given one, which is first rid of those
// that killed commands left behind.
func newScratch(dir string) (*scratch, error) {
	sweep(dir)
	for {
		folder, err := os.MkdirTemp(dir, scratchName+"*")
		if err != nil {
			return nil, err
		}
		s := &scratch{folder, flock.New(filepath.Join(folder, lockName))}
		held, err := s.lock.TryLock()
		if err == nil && held {
			if _, err = os.Stat(s.lock.Path()); err == nil {
				return s, nil
			}
		}
		// Another command swept the folder before it was locked.
		if err := errors.Join(s.lock.Close(), os.RemoveAll(folder)); err != nil {
			return nil, err
		}
		if err != nil && !errors.Is(err, fs.ErrNotExist) {
			return nil, err
		}
	}
}

// remove removes the folder, the lock last: until then it says whose the rest is.
func (s *scratch) remove() error {
	entries, err := os.ReadDir(s.folder)
	for _, e := range entries {
		if e.Name() != lockName {
			err = errors.Join(err, os.RemoveAll(filepath.Join(s.folder, e.Name())))
		}
	}
	// Windows removes no open file. Elsewhere the lock is held until its file
	// is gone, so that nobody takes it in between.
	gone := os.Remove(s.lock.Path())
	if err = errors.Join(err, s.lock.Close()); gone != nil {
		err = errors.Join(err, os.Remove(s.lock.Path()))
	}
	if last := os.Remove(s.folder); !errors.Is(last, fs.ErrNotExist) { // another command may sweep what is empty
		err = errors.Join(err, last)
	}
	return err
}

// sweep removes the folders of killed commands. What cannot be removed stays; it
// does no harm.
func sweep(dir string) {
	entries, _ := os.ReadDir(dir)
	for _, e := range entries {
		if !e.IsDir() || !strings.HasPrefix(e.Name(), scratchName) {
			continue
		}
		folder := filepath.Join(dir, e.Name())
		if dead(folder) {
			_ = os.RemoveAll(folder)
		}
	}
}

// dead reports whether no process is at work in the folder. One whose lock it
// takes, it removes itself. The lock's file is made first and removed last: a
// folder without one is empty, or power was lost before the file lasted.
func dead(folder string) bool {
	for range 2 {
		lock := flock.New(filepath.Join(folder, lockName), flock.SetFlag(os.O_RDWR)) // never makes it
		held, err := lock.TryLock()
		if held {
			_ = (&scratch{folder, lock}).remove()
			return false
		}
		_ = lock.Close()
		if !errors.Is(err, fs.ErrNotExist) || os.Remove(folder) == nil {
			return false
		}
	}
	return true
}

// install lets the function make a file under a name of its own in the target's
// folder and gives it its name by put. Nothing is left behind after a failure.
// SQLite has synced what it wrote when make returns; a test that cuts the power
// holds it to that.
func install(target string, make func(temp string) error, put func(temp, target string) error) (err error) {
	s, err := newScratch(filepath.Dir(target))
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, s.remove()) }()
	temp := filepath.Join(s.folder, "shop.db")
	if err := make(temp); err != nil {
		return err
	}
	if err := put(temp, target); err != nil {
		return err
	}
	return syncPath(filepath.Dir(target))
}

// link gives the file its name, which must be free.
func link(temp, target string) error {
	err := os.Link(temp, target)
	switch {
	case err == nil:
		return nil
	case errors.Is(err, fs.ErrExist):
		return exists(target)
	}
	// Some file systems have no links. A rename may overwrite, so look first.
	if _, seen := os.Lstat(target); seen == nil {
		return exists(target)
	}
	return os.Rename(temp, target)
}

// makeFolders makes the folders that are missing. Each is durable before the
// next: its name is in the folder above.
func makeFolders(path string) error {
	var missing []string
	for dir := filepath.Clean(path); ; dir = filepath.Dir(dir) {
		_, err := os.Stat(dir)
		if err == nil || dir == filepath.Dir(dir) {
			break
		}
		if !errors.Is(err, fs.ErrNotExist) {
			return err
		}
		missing = append(missing, dir)
	}
	for _, dir := range slices.Backward(missing) {
		if err := os.Mkdir(dir, 0o755); err != nil && !errors.Is(err, fs.ErrExist) {
			return err
		}
		if err := syncPath(filepath.Dir(dir)); err != nil {
			return err
		}
	}
	return nil
}

// empty makes an empty file with the mode of another, where there is one:
// SQLite writes into it, and a copy is as private as its original.
func empty(path, like string) error {
	mode := os.FileMode(0o644)
	info, err := os.Stat(like)
	if err == nil {
		mode = info.Mode().Perm()
	}
	f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE|os.O_EXCL, mode)
	if err != nil {
		return err
	}
	if info != nil {
		err = f.Chmod(mode) // whatever the umask takes off
	}
	return errors.Join(err, f.Close())
}

func exists(path string) error {
	return shim.Fail(inventory.ErrExists, "give another name, or move that file away first", "%s: the file already exists", path)
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
