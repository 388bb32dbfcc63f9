package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"sync"

	"shimwright/inventory"
	"shimwright/shim"
)

// A Store is an open shop file. Its methods may be called by several
// goroutines, which take turns, and the file by several processes.
type Store struct {
	path       string
	folder     string      // of the file that a link leads to: its journal is there
	file       os.FileInfo // that was opened
	mu         sync.Mutex  // the one connection
	db         *sql.DB
	conn       *sql.Conn
	statements map[string]*sql.Stmt
}

// Where is the file's name as it was opened.
func (s *Store) Where() string { return s.path }

// View implements [inventory.Store].
func (s *Store) View(ctx context.Context, f func(inventory.Reader) error) error {
	return s.transact(ctx, "BEGIN DEFERRED", func(t *tx) error { return f(t) })
}

// Update implements [inventory.Store]. It takes the write lock before it reads:
// a lock that is taken later fails where another writer came between.
func (s *Store) Update(ctx context.Context, f func(inventory.Writer) error) error {
	if err := s.transact(ctx, "BEGIN IMMEDIATE", func(t *tx) error { return f(t) }); err != nil {
		return err
	}
	// SQLite syncs the folder as well, and keeps silent where it cannot open it.
	if err := syncPath(s.folder); err != nil && !errors.Is(err, fs.ErrPermission) {
		return unsure(disk(s.path, err))
	}
	return nil
}

// transact runs the function between BEGIN and COMMIT. A context that is done is
// looked at before each statement and never cancels one: a BEGIN that is
// interrupted may have begun all the same, and the one connection would stay
// inside its transaction.
func (s *Store) transact(ctx context.Context, begin string, f func(*tx) error) (err error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if err := ctx.Err(); err != nil {
		return err
	}
	whole := context.WithoutCancel(ctx)
	if _, err := s.conn.ExecContext(whole, begin); err != nil {
		return explain(s.path, err)
	}
	done := false
	defer func() {
		if !done {
			// SQLite may have rolled back by itself; there is nothing more to do.
			_, _ = s.conn.ExecContext(whole, "ROLLBACK")
		}
	}()
	if err := s.present(); err != nil {
		return err
	}
	if err := f(&tx{store: s, ctx: ctx}); err != nil {
		return explain(s.path, err)
	}
	if err := ctx.Err(); err != nil { // what is broken off up to here is not kept
		return err
	}
	if _, err := s.conn.ExecContext(whole, "COMMIT"); err != nil {
		return unsure(explain(s.path, err))
	}
	done = true
	return nil
}

// attach opens a file as it is, of whatever version.
func attach(ctx context.Context, path string) (*Store, error) {
	// Looked at before it is opened: a file that takes its place in between is
	// seen, and refused.
	file, err := os.Stat(path)
	if err != nil {
		return nil, err
	}
	real, err := filepath.EvalSymlinks(path)
	if err != nil {
		real = path
	}
	db, conn, err := connect(ctx, path)
	if err != nil {
		return nil, err
	}
	return &Store{path: path, folder: filepath.Dir(real), file: file, db: db, conn: conn, statements: map[string]*sql.Stmt{}}, nil
}

// present refuses where another file has taken the place of the one that is
// open, as shop restore lets it: what is booked into the old one is lost.
func (s *Store) present() error {
	now, err := os.Stat(s.path)
	if err == nil && os.SameFile(now, s.file) {
		return nil
	}
	return shim.Fail(inventory.ErrBusy, "repeat the command", "%s: the shop file was replaced meanwhile", s.path)
}

// Close lets go of the file.
func (s *Store) Close() error {
	s.mu.Lock()
	defer s.mu.Unlock()
	return errors.Join(append(s.closeStatements(), s.conn.Close(), s.db.Close())...)
}

func (s *Store) closeStatements() (errs []error) {
	for _, st := range s.statements {
		errs = append(errs, st.Close())
	}
	return errs
}

// execute runs one statement.
func (s *Store) execute(ctx context.Context, text string) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	_, err := s.conn.ExecContext(ctx, text)
	return explain(s.path, err)
}

// tx is one transaction. Statements are prepared once a connection.
type tx struct {
	store *Store
	ctx   context.Context
}

// statement is where a transaction of a context that is done ends.
func (t *tx) statement(text string) (*sql.Stmt, error) {
	if err := t.ctx.Err(); err != nil {
		return nil, err
	}
	if st, ready := t.store.statements[text]; ready {
		return st, nil
	}
	st, err := t.store.conn.PrepareContext(context.WithoutCancel(t.ctx), text)
	if err != nil {
		return nil, err
	}
	t.store.statements[text] = st
	return st, nil
}

func (t *tx) exec(text string, args ...any) (sql.Result, error) {
	st, err := t.statement(text)
	if err != nil {
		return nil, err
	}
	return st.ExecContext(context.WithoutCancel(t.ctx), args...)
}

// run is exec where only the error matters.
func (t *tx) run(text string, args ...any) error {
	_, err := t.exec(text, args...)
	return err
}

// insert gives the new row's ID.
func (t *tx) insert(text string, args ...any) (int64, error) {
	result, err := t.exec(text, args...)
	if err != nil {
		return 0, err
	}
	return result.LastInsertId()
}

// query reads all rows.
func query[T any](t *tx, read func(scan) (T, error), text string, args ...any) (list []T, err error) {
	st, err := t.statement(text)
	if err != nil {
		return nil, err
	}
	rows, err := st.QueryContext(context.WithoutCancel(t.ctx), args...)
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, rows.Close()) }()
	for rows.Next() {
		row, err := read(rows.Scan)
		if err != nil {
			return nil, unreadable(err)
		}
		list = append(list, row)
	}
	return list, rows.Err()
}

// one reads the single row, if there is one.
func one[T any](t *tx, read func(scan) (T, error), text string, args ...any) (T, bool, error) {
	list, err := query(t, read, text, args...)
	if err != nil || len(list) == 0 {
		var none T
		return none, false, err
	}
	return list[0], true, nil
}

// scan reads the columns of a row.
type scan func(...any) error
