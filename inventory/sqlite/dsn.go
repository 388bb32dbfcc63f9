package sqlite

import (
	"context"
	"database/sql"
	"fmt"
	"net/url"
	"path/filepath"
	"strconv"
	"strings"
	"time"
)

// patience is how long a command waits for its turn.
const patience = 20 * time.Second

// pragma is a setting and the value that reads back once it holds.
type pragma struct{ name, value, reads string }

// pragmas hold on every connection. SQLite ignores a misspelt one without a
// word, and some are off by default, so each is read back.
var pragmas = []pragma{
	{"busy_timeout", strconv.FormatInt(patience.Milliseconds(), 10), strconv.FormatInt(patience.Milliseconds(), 10)},
	{"foreign_keys", "1", "1"},
	{"journal_mode", "DELETE", "delete"},
	{"synchronous", "EXTRA", "3"}, // the folder is synced as well once the journal is gone
	{"recursive_triggers", "1", "1"},
	{"trusted_schema", "0", "0"},
	{"cell_size_check", "1", "1"},
	{"cache_size", "-65536", "-65536"}, // KiB; a large shop is checked faster
}

// dsn names the file for the driver. The path is escaped: an unescaped ? or #
// would open another file.
func dsn(path string) (string, error) {
	abs, err := filepath.Abs(path)
	if err != nil {
		return "", err
	}
	slashed := filepath.ToSlash(abs)
	if !strings.HasPrefix(slashed, "/") {
		slashed = "/" + slashed // a drive letter
	}
	q := url.Values{"mode": {"rw"}}
	for _, p := range pragmas {
		q.Add("_pragma", p.name+"("+p.value+")")
	}
	return (&url.URL{Scheme: "file", Path: slashed, RawQuery: q.Encode()}).String(), nil
}

// connect opens one connection and reads its settings back.
func connect(ctx context.Context, path string) (*sql.DB, *sql.Conn, error) {
	name, err := dsn(path)
	if err != nil {
		return nil, nil, err
	}
	db, err := sql.Open("sqlite", name)
	if err != nil {
		return nil, nil, err
	}
	conn, err := db.Conn(ctx)
	if err != nil {
		_ = db.Close()
		return nil, nil, err
	}
	for _, p := range pragmas {
		var got string
		if err = conn.QueryRowContext(ctx, "PRAGMA "+p.name).Scan(&got); err == nil && got != p.reads {
			err = fmt.Errorf("%s is %s, not %s", p.name, got, p.reads)
		}
		if err != nil {
			_ = conn.Close()
			_ = db.Close()
			return nil, nil, err
		}
	}
	return db, conn, nil
}
