//go:build unix

package sqlite_test

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/inventory"
	"shimwright/inventory/internal/storetest"
	"shimwright/inventory/sqlite"
	"shimwright/shim"
)

func init() { children["try"] = tryWithoutRights }

// TestRights runs without the rights of root, who may write anywhere.
func TestRights(t *testing.T) {
	base := t.TempDir()
	for dir := base; len(dir) > len(os.TempDir()); dir = filepath.Dir(dir) {
		require.NoError(t, os.Chmod(dir, 0o755))
	}
	source, err := os.ReadFile(filled(t))
	require.NoError(t, err)
	place := func(name string, fileMode, folderMode os.FileMode) string {
		dir := filepath.Join(base, name)
		require.NoError(t, os.Mkdir(dir, 0o755))
		path := filepath.Join(dir, "shop.db")
		require.NoError(t, os.WriteFile(path, source, 0o644))
		require.NoError(t, os.Chmod(path, fileMode))
		require.NoError(t, os.Chmod(dir, folderMode))
		t.Cleanup(func() { _ = os.Chmod(dir, 0o755) })
		return path
	}
	for _, c := range []struct{ what, path, want string }{
		{"write", place("read-only", 0o444, 0o777), "read-only"},
		{"read", place("read-only-2", 0o444, 0o777), "done"},
		{"write", place("locked folder", 0o666, 0o555), "rights"},
		{"read", place("locked folder 2", 0o666, 0o555), "done"},
		{"read", place("unreadable", 0o000, 0o777), "rights"},
		{"create", filepath.Join(filepath.Dir(place("locked folder 3", 0o666, 0o555)), "new.db"), "rights"},
		{"create", filepath.Join(filepath.Dir(place("locked folder 4", 0o666, 0o555)), "deep", "new.db"), "rights"},
		{"backup", place("locked folder 5", 0o666, 0o555), "rights"},
	} {
		dir := filepath.Dir(c.path)
		if filepath.Base(dir) == "deep" {
			dir = filepath.Dir(dir)
		}
		before := folder(t, dir)
		cmd := child("try", c.what, c.path)
		if os.Getuid() == 0 {
			binary := filepath.Join(base, "child")
			data, err := os.ReadFile(os.Args[0])
			require.NoError(t, err)
			require.NoError(t, os.WriteFile(binary, data, 0o755))
			cmd.Path, cmd.Dir = binary, base
			cmd.SysProcAttr = &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: 65534, Gid: 65534}}
		}
		out, err := cmd.Output()
		require.NoError(t, err, "%s %s", c.what, c.path)
		assert.Equal(t, c.want, strings.TrimSpace(string(out)), "%s %s", c.what, c.path)
		assert.Equal(t, before, folder(t, dir), "%s %s: nothing changed", c.what, c.path)
	}
}

// tryWithoutRights is the child of [TestRights]. It prints the kind of error.
func tryWithoutRights(args []string) error {
	what, path := args[0], args[1]
	err := func() error {
		if what == "create" {
			store, err := sqlite.Create(ctx, path)
			if err != nil {
				return err
			}
			return store.Close()
		}
		store, err := sqlite.Open(ctx, path)
		if err != nil {
			return err
		}
		defer func() { _ = store.Close() }()
		shop := inventory.New(store, "", time.Now)
		switch what {
		case "write":
			_, err = shop.Receive(ctx, storetest.Items(1))
		case "backup":
			_, err = store.Backup(ctx, path+".copy")
		default:
			_, err = shop.Stocks(ctx, inventory.StockFilter{})
		}
		return err
	}()
	var told *shim.Hinted
	switch {
	case err == nil:
		fmt.Println("done")
	case !errors.As(err, &told) || told.Hint == "" || strings.Contains(told.Message, "\n"):
		fmt.Println("not clear:", err)
	case errors.Is(err, inventory.ErrReadOnly):
		fmt.Println("read-only")
	case errors.Is(err, inventory.ErrRights):
		fmt.Println("rights")
	default:
		fmt.Println("another error:", err)
	}
	return nil
}
