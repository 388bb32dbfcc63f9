package sqlite

import (
	"io/fs"
	"os"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/inventory"
	"shimwright/shim"
)

// TestExplain: what the system says becomes one line that names the file, with
// the way out.
func TestExplain(t *testing.T) {
	for _, c := range []struct {
		err  error
		kind error
		text string
	}{
		{&fs.PathError{Op: "mkdir", Path: "x", Err: syscall.EROFS}, inventory.ErrReadOnly, "the disk is read-only"},
		{&fs.PathError{Op: "sync", Path: "x", Err: syscall.EIO}, inventory.ErrDisk, "disk error"},
		{&fs.PathError{Op: "write", Path: "x", Err: syscall.ENOSPC}, inventory.ErrFull, "the disk is full"},
		{&fs.PathError{Op: "mkdir", Path: "x", Err: os.ErrPermission}, inventory.ErrRights, "permission denied in the folder"},
		{unreadable(os.ErrInvalid), inventory.ErrDamaged, "the shop file is damaged"},
	} {
		err := explain("shop.db", c.err)
		require.ErrorIs(t, err, c.kind)
		var told *shim.Hinted
		require.ErrorAs(t, err, &told)
		assert.Contains(t, told.Message, "shop.db: ")
		assert.Contains(t, told.Message, c.text)
		assert.NotEmpty(t, told.Hint)
	}
}
