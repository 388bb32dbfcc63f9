package sqlite_test

import (
	"errors"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/inventory"
	"shimwright/inventory/sqlite"
)

func TestPath(t *testing.T) {
	for name, c := range map[string]struct {
		os, named string
		env       map[string]string
		want      string
	}{
		"named":         {"linux", "my.db", map[string]string{"SHIMWRIGHT_SHOP": "/other.db"}, "my.db"},
		"environment":   {"linux", "", map[string]string{"SHIMWRIGHT_SHOP": "/other.db", "XDG_DATA_HOME": "/data"}, "/other.db"},
		"data home":     {"linux", "", map[string]string{"XDG_DATA_HOME": "/data"}, "/data/shimwright/shop.db"},
		"relative home": {"freebsd", "", map[string]string{"XDG_DATA_HOME": "data"}, "/home/r/.local/share/shimwright/shop.db"},
		"linux":         {"linux", "", nil, "/home/r/.local/share/shimwright/shop.db"},
		"macOS":         {"darwin", "", map[string]string{"XDG_DATA_HOME": "/data"}, "/home/r/Library/Application Support/shimwright/shop.db"},
		"windows":       {"windows", "", map[string]string{"LOCALAPPDATA": "/local"}, "/local/shimwright/shop.db"},
		"bare windows":  {"windows", "", nil, "/home/r/AppData/Local/shimwright/shop.db"},
	} {
		got, err := sqlite.Path(c.named, sqlite.Environment{
			OS: c.os, Getenv: func(key string) string { return c.env[key] }, Home: func() (string, error) { return "/home/r", nil },
		})
		require.NoError(t, err, name)
		assert.Equal(t, filepath.FromSlash(c.want), got, name)
	}
	_, err := sqlite.Path("", sqlite.Environment{OS: "linux", Getenv: func(string) string { return "" }, Home: func() (string, error) { return "", errors.New("no home") }})
	require.ErrorIs(t, err, inventory.ErrMissing)
}
