package sqlite

import (
	"context"
	"database/sql"
	_ "embed" // the schemas
	"errors"
	"fmt"

	"shimwright/inventory"
	"shimwright/shim"
)

// applicationID marks a SQLite file as a shop file: "SHIM" in ASCII.
const applicationID = 0x5348494D

// A step brings a file from the version before to its own.
type step struct {
	version int
	sql     string
	// then does what SQL cannot, in the same transaction: it verifies rows in
	// their old form and seals them. It may be nil.
	then func(*tx) error
}

//go:embed schema/1.sql
var schema1 string

//go:embed schema/2.sql
var schema2 string

//go:embed schema/3.sql
var schema3 string

//go:embed schema/4.sql
var schema4 string

// steps lists every step from an empty file on. A released step never changes;
// a change of the form is a new step, with a file of the version before kept
// in inventory/testdata.
var steps = []step{{1, schema1, nil}, {2, schema2, reseal}, {3, schema3, nil}, {4, schema4, machines}}

func latest(steps []step) int { return steps[len(steps)-1].version }

// pragmaInt reads a whole number from the file's header.
func pragmaInt(ctx context.Context, conn *sql.Conn, name string) (n int, err error) {
	err = conn.QueryRowContext(ctx, "PRAGMA "+name).Scan(&n)
	return n, err
}

// migrate brings the file to the latest version in one transaction. The
// version is read again inside it: another command may have been faster.
func migrate(ctx context.Context, conn *sql.Conn, steps []step) (err error) {
	if _, err := conn.ExecContext(ctx, "BEGIN IMMEDIATE"); err != nil {
		return err
	}
	defer func() {
		if err != nil {
			_, _ = conn.ExecContext(context.WithoutCancel(ctx), "ROLLBACK")
		}
	}()
	version, err := pragmaInt(ctx, conn, "user_version")
	if err != nil {
		return err
	}
	for _, s := range steps {
		if s.version <= version {
			continue
		}
		if _, err := conn.ExecContext(ctx, s.sql); err != nil {
			return fmt.Errorf("step to version %d: %w", s.version, err)
		}
	}
	for _, s := range steps {
		if s.version <= version || s.then == nil {
			continue
		}
		// Rows are read in the latest form, the only one known here. A store of its
		// own: statements of the old form are not used again.
		store := &Store{conn: conn, statements: map[string]*sql.Stmt{}}
		err := s.then(&tx{store: store, ctx: ctx})
		if err := errors.Join(append(store.closeStatements(), err)...); err != nil {
			return fmt.Errorf("step to version %d: %w", s.version, err)
		}
	}
	for name, value := range map[string]int{"application_id": applicationID, "user_version": max(version, latest(steps))} {
		if _, err := conn.ExecContext(ctx, fmt.Sprintf("PRAGMA %s = %d", name, value)); err != nil {
			return err
		}
	}
	_, err = conn.ExecContext(ctx, "COMMIT")
	return err
}

// newer is the error for a file of a later version.
func newer(path string, version, known int) error {
	return shim.Fail(inventory.ErrNewer, "use the newer shimwright that wrote it",
		"%s: the shop file has version %d, but this shimwright only reads versions up to %d", path, version, known)
}
