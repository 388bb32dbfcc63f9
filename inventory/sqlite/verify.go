package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"maps"
	"slices"
	"sync"

	driver "modernc.org/sqlite"

	"shimwright/inventory"
)

// Verify implements [inventory.Store]: SQLite's own checks of the file and of
// its foreign keys, which integrity_check leaves out, and whether the tables,
// indices and triggers are those that this version makes.
func (s *Store) Verify(ctx context.Context) ([]inventory.Finding, error) {
	return s.verify(ctx)
}

func (s *Store) verify(ctx context.Context) ([]inventory.Finding, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	var found []inventory.Finding
	for _, part := range []func(context.Context) ([]inventory.Finding, error){s.integrity, s.foreignKeys, s.schema} {
		list, err := part(ctx)
		var lite *driver.Error
		if errors.As(err, &lite) && explainsDamage(lite) {
			list, err = append(list, inventory.Finding{Where: "file", What: err.Error()}), nil
		}
		if err != nil {
			return nil, explain(s.path, err)
		}
		found = append(found, list...)
	}
	return found, nil
}

// explainsDamage reports whether the error is about the file's content.
func explainsDamage(lite *driver.Error) bool {
	err := explainCode("", lite, lite)
	return errors.Is(err, inventory.ErrDamaged) || errors.Is(err, inventory.ErrForeign)
}

func (s *Store) integrity(ctx context.Context) ([]inventory.Finding, error) {
	var found []inventory.Finding
	err := s.rows(ctx, "PRAGMA integrity_check(20)", func(rows *sql.Rows) error {
		var line string
		err := rows.Scan(&line)
		if line != "ok" {
			found = append(found, inventory.Finding{Where: "file", What: line})
		}
		return err
	})
	return found, err
}

func (s *Store) foreignKeys(ctx context.Context) ([]inventory.Finding, error) {
	var found []inventory.Finding
	err := s.rows(ctx, "PRAGMA foreign_key_check", func(rows *sql.Rows) error {
		var table, parent string
		var row sql.NullInt64
		var key int
		err := rows.Scan(&table, &row, &parent, &key)
		if len(found) < 20 {
			found = append(found, inventory.Finding{Where: table, What: fmt.Sprintf("row %d refers to a missing row of %s", row.Int64, parent)})
		}
		return err
	})
	return found, err
}

// schema compares what the file has with what a new file of its version has.
func (s *Store) schema(ctx context.Context) ([]inventory.Finding, error) {
	version, err := pragmaInt(ctx, s.conn, "user_version")
	if err != nil || version != latest(steps) {
		return nil, err
	}
	have, err := s.objects(ctx)
	if err != nil {
		return nil, err
	}
	want, err := fresh()
	if err != nil {
		return nil, err
	}
	var found []inventory.Finding
	for _, name := range slices.Sorted(maps.Keys(want)) {
		switch got, there := have[name]; {
		case !there:
			found = append(found, inventory.Finding{Where: name, What: "is missing from the file"})
		case got != want[name]:
			found = append(found, inventory.Finding{Where: name, What: "differs from what shimwright makes"})
		}
	}
	for _, name := range slices.Sorted(maps.Keys(have)) {
		if _, known := want[name]; !known {
			found = append(found, inventory.Finding{Where: name, What: "was not made by shimwright"})
		}
	}
	return found, nil
}

// fresh lists the schema of a new file.
var fresh = sync.OnceValues(func() (map[string]string, error) {
	ctx := context.Background()
	db, err := sql.Open("sqlite", ":memory:")
	if err != nil {
		return nil, err
	}
	defer func() { _ = db.Close() }()
	conn, err := db.Conn(ctx)
	if err != nil {
		return nil, err
	}
	defer func() { _ = conn.Close() }()
	if err := migrate(ctx, conn, steps); err != nil {
		return nil, err
	}
	return (&Store{conn: conn}).objects(ctx)
})

// objects lists tables, indices and triggers with the text that made them.
func (s *Store) objects(ctx context.Context) (map[string]string, error) {
	list := map[string]string{}
	err := s.rows(ctx, "SELECT type || ' ' || name, COALESCE(sql, '') FROM sqlite_schema WHERE name NOT GLOB 'sqlite_*'", func(rows *sql.Rows) error {
		var name, text string
		err := rows.Scan(&name, &text)
		list[name] = text
		return err
	})
	return list, err
}

func (s *Store) rows(ctx context.Context, query string, each func(*sql.Rows) error) (err error) {
	rows, err := s.conn.QueryContext(ctx, query)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, rows.Close()) }()
	for rows.Next() {
		if err := each(rows); err != nil {
			return err
		}
	}
	return rows.Err()
}
