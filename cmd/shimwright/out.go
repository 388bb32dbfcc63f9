package main

import (
	"bytes"
	"crypto/rand"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"time"

	"github.com/spf13/cobra"

	"shimwright/shim"
)

// addOut adds the flag for the file to write to.
func addOut(cmd *cobra.Command, out *string) {
	cmd.Flags().StringVarP(out, "out", "o", "", "write to this `FILE` instead of standard output")
	completesFlag(cmd, "out", completeFile)
}

// toScreen refuses to print HTML to a terminal.
func (a *app) toScreen(way string) error {
	if !a.screen {
		return nil
	}
	return wrong("write it to a file: "+way, "HTML output is for a browser, not for the terminal")
}

// writeOut is [app.writeTo] for a page of HTML.
func (a *app) writeOut(file string, print func(w io.Writer) error) error {
	if file == "" {
		if err := a.toScreen("--out page.html"); err != nil {
			return err
		}
	}
	return a.writeTo(file, print)
}

// writeTo writes to the file in one step, or to standard output if no file is
// named.
func (a *app) writeTo(file string, print func(w io.Writer) error) error {
	if file == "" {
		return a.write(print)
	}
	var content bytes.Buffer
	if err := print(&content); err != nil {
		return err
	}
	return save(file, content.Bytes())
}

// save replaces a file's content in one step: whatever happens, the file is the
// complete old one or the complete new one. When save returns nil, the new one is
// on the disk. It follows a link and keeps the file's permissions. It refuses a shop
// file and the files beside one.
func save(name string, content []byte) (err error) {
	if err := notShop(name); err != nil {
		return err
	}
	defer func() {
		if err != nil {
			err = cannotWrite(name, err)
		}
	}()
	target, mode := name, fs.FileMode(0o666)
	if real, err := filepath.EvalSymlinks(name); err == nil {
		target = real
	}
	old, statErr := os.Stat(target)
	if statErr == nil && !old.Mode().IsRegular() {
		return errors.New("it is not a file")
	}
	temp, err := createBeside(target, mode)
	if err != nil {
		return err
	}
	defer func() {
		if err != nil {
			_ = temp.Close()
			_ = os.Remove(temp.Name())
		}
	}()
	if statErr == nil {
		if err := temp.Chmod(old.Mode().Perm()); err != nil {
			return err
		}
	}
	if _, err := temp.Write(content); err != nil {
		return err
	}
	if err := temp.Sync(); err != nil {
		return err
	}
	if err := temp.Close(); err != nil {
		return err
	}
	if err := os.Rename(temp.Name(), target); err != nil {
		return err
	}
	return syncFolder(filepath.Dir(target))
}

// mayCreate looks whether a new file could be written under the name: nothing is
// there, and its folder is one to write in.
func mayCreate(name string) error {
	if name == "" || name == "-" {
		return wrong("give a file's name, like heron.toml", "%q is no name for a file", name)
	}
	if err := notShop(name); err != nil {
		return err
	}
	if _, err := os.Lstat(name); err == nil {
		return existsAlready(name)
	}
	temp, err := createBeside(name, 0o666)
	if err == nil {
		err = temp.Close()
		_ = os.Remove(temp.Name())
	}
	if err != nil {
		return cannotWrite(name, err)
	}
	return nil
}

func existsAlready(name string) error {
	return wrong("choose another name, or move the old file away first", "%s exists already", name)
}

func cannotWrite(name string, err error) error {
	var path *os.PathError
	var link *os.LinkError
	switch {
	case errors.As(err, &path):
		err = path.Err
	case errors.As(err, &link):
		err = link.Err
	}
	return shim.Fail(nil, "nothing was changed; check the folder, its permissions and the disk space", "%s cannot be written: %w", name, err)
}

// create writes a file that must not be there yet. It appears complete or not at
// all.
func create(name string, content []byte) (err error) {
	if err := notShop(name); err != nil {
		return err
	}
	temp, err := createBeside(name, 0o666)
	if err != nil {
		return cannotWrite(name, err)
	}
	defer os.Remove(temp.Name())
	_, err = temp.Write(content)
	if err == nil {
		err = temp.Sync()
	}
	if closing := temp.Close(); err == nil {
		err = closing
	}
	if err == nil {
		err = os.Link(temp.Name(), name) // unlike a rename it replaces nothing
		if err != nil && !errors.Is(err, fs.ErrExist) {
			err = createInPlace(name, content) // on a file system without links
		}
	}
	if errors.Is(err, fs.ErrExist) {
		return existsAlready(name)
	}
	if err != nil {
		return cannotWrite(name, err)
	}
	return syncFolder(filepath.Dir(name))
}

func createInPlace(name string, content []byte) error {
	f, err := os.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666)
	if err != nil {
		return err
	}
	_, err = f.Write(content)
	if err == nil {
		err = f.Sync()
	}
	if closing := f.Close(); err == nil {
		err = closing
	}
	if err != nil {
		_ = os.Remove(name)
	}
	return err
}

// leftover matches the temporary files of a target; only a killed run leaves any.
func leftover(target string) string {
	return filepath.Join(filepath.Dir(target), "."+filepath.Base(target)+".*.part")
}

// createBeside makes a new file next to the target with the umask's permissions,
// which os.CreateTemp does not give.
func createBeside(target string, mode fs.FileMode) (*os.File, error) {
	for try := 0; ; try++ {
		name := fmt.Sprintf(".%s.%s.part", filepath.Base(target), rand.Text())
		f, err := os.OpenFile(filepath.Join(filepath.Dir(target), name), os.O_WRONLY|os.O_CREATE|os.O_EXCL, mode)
		if err == nil || !errors.Is(err, fs.ErrExist) || try == 100 {
			return f, err
		}
	}
}

// syncFolder makes a rename durable. Windows has no such call and needs none.
func syncFolder(name string) error {
	if runtime.GOOS == "windows" {
		return nil
	}
	folder, err := os.Open(name)
	if err != nil {
		return err
	}
	defer folder.Close()
	return folder.Sync()
}

// sweep removes files that killed runs left beside the target.
func sweep(target string, now time.Time) {
	names, _ := filepath.Glob(leftover(target)) // only a malformed name is an error
	for _, name := range names {
		if info, err := os.Stat(name); err == nil && now.Sub(info.ModTime()) > time.Minute {
			_ = os.Remove(name)
		}
	}
}
