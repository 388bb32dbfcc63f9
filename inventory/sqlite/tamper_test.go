package sqlite_test

import (
	"database/sql"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/inventory"
	"shimwright/inventory/internal/storetest"
	"shimwright/inventory/sample"
	"shimwright/inventory/sqlite"
	"shimwright/shim"
	"shimwright/testdata/effort"
)

// rich is the content of a shop file that has rows in every table.
var rich = sync.OnceValues(func() ([]byte, error) {
	dir, err := os.MkdirTemp("", "shimwright-*")
	if err != nil {
		return nil, err
	}
	defer func() { _ = os.RemoveAll(dir) }()
	path := filepath.Join(dir, "shop.db")
	store, err := sqlite.Create(ctx, path)
	if err != nil {
		return nil, err
	}
	shop := inventory.New(store, "R. Example", storetest.Clock())
	err = sample.Build(ctx, shop, sample.Size{Movements: 60, Jobs: 10, Sizes: 15})
	if err == nil {
		err = buying(shop)
	}
	if err := errors.Join(err, store.Close()); err != nil {
		return nil, err
	}
	return os.ReadFile(path)
})

// buying adds a mended job whose plan buys, draws and moves.
func buying(shop *inventory.Shop) error {
	spec := sample.Sandpiper()
	spec.Name = "Plover 500 single"
	job, err := shop.OpenJob(ctx, inventory.Opening{Spec: spec, Source: "plover", Tag: "T-1", Meter: "7 h", Note: "ticks"})
	if err != nil {
		return err
	}
	var readings []shim.Measurement
	for _, valve := range spec.Valves() {
		readings = append(readings, shim.Measurement{Valve: valve, Reading: shim.ReadingOf(100 * shim.Micrometre), Marks: shim.Marks{Stamp: 2400 * shim.Micrometre}})
	}
	if _, err := shop.Read(ctx, job.ID, readings, "cold"); err != nil {
		return err
	}
	for _, name := range []string{"set 1", "set 2"} {
		set, err := shop.PutGauge(ctx, inventory.Gauge{Name: name, Number: "N " + name, Spec: shim.UsualGauge})
		if err != nil {
			return err
		}
		if _, err := shop.ReadWith(ctx, job.ID, readings, "", set.ID); err != nil {
			return err
		}
	}
	basis, err := shop.Basis(ctx, job.ID)
	if err != nil {
		return err
	}
	v := spec.Valves()
	_, err = shop.PlanTogether(ctx, []inventory.Proposal{{Job: job.ID, Revision: basis.Revision, Document: []byte(`{"policy": "thrift"}`), Placements: []inventory.Placement{
		{Valve: v[0], Size: basis.Free[0].Size, Source: inventory.SourceDrawn},
		{Valve: v[1], Size: 2400 * shim.Micrometre, Source: inventory.SourceMoved, From: v[0]},
		{Valve: v[2], Size: 2350 * shim.Micrometre, Source: inventory.SourceBought, Terms: inventory.Terms{Supplier: "North", Part: "N-1", Quote: shim.Quote{Price: 78000, Priced: true}}},
		{Valve: v[3], Size: 2325 * shim.Micrometre, Source: inventory.SourceBought},
	}}})
	if err != nil {
		return err
	}
	session := shop.Session("k1", inventory.Hash{1})
	defer session.Close()
	if _, err := session.EditJob(ctx, job.ID, map[inventory.Field]string{inventory.TagField: "T-2", inventory.NoteField: "ticks when cold"}, nil); err != nil {
		return err
	}
	if _, _, err = session.Commit(ctx, "edited", 0); err != nil {
		return err
	}
	family := shim.Family{Diameter: spec.Diameter}
	if _, err := shop.KeepLevels(ctx, inventory.Levels{Seed: 1, Period: 10, Families: []shim.Family{family}, Levels: []inventory.Level{{Disc: family.Of(2 * shim.Millimetre), Count: 2}}}); err != nil {
		return err
	}
	closed, err := shop.Jobs(ctx, inventory.JobFilter{States: []inventory.State{inventory.StateClosed}})
	if err != nil {
		return err
	}
	_, err = shop.Issue(ctx, closed[0].ID, inventory.Issuing{Unmeasured: true, Page: func(inventory.Certificate) ([]byte, error) { return []byte("<p>"), nil }})
	return err
}

// table is a table of a shop file.
type table struct {
	name    string
	columns []string
	keys    []string // conditions that name each row
}

func tables(t *testing.T, db *sql.DB) (list []table) {
	t.Helper()
	for _, name := range column(t, db, "SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT GLOB 'sqlite_*' ORDER BY name") {
		tab := table{name: name, columns: column(t, db, "SELECT name FROM pragma_table_info('"+name+"') ORDER BY cid")}
		// table_info leaves generated columns out.
		key := column(t, db, "SELECT name FROM pragma_table_info('"+name+"') WHERE pk > 0 ORDER BY pk")
		require.NotEmpty(t, key, name)
		var parts []string
		for _, k := range key {
			parts = append(parts, "'"+k+" = ' || quote("+k+")")
		}
		tab.keys = column(t, db, "SELECT "+strings.Join(parts, " || ' AND ' || ")+" FROM "+name)
		require.NotEmpty(t, tab.keys, "%s has no row: let the test's shop have one", name)
		list = append(list, tab)
	}
	return list
}

func column(t *testing.T, db *sql.DB, query string) (list []string) {
	t.Helper()
	rows, err := db.Query(query)
	require.NoError(t, err)
	defer func() { require.NoError(t, rows.Close()) }()
	for rows.Next() {
		var s string
		require.NoError(t, rows.Scan(&s))
		list = append(list, s)
	}
	require.NoError(t, rows.Err())
	return list
}

// forge changes a shop file past the rules and puts the triggers back.
func forge(t *testing.T, path, statement string) (changed bool) {
	t.Helper()
	db, err := sql.Open("sqlite", "file:"+path+"?_pragma=foreign_keys(0)&_pragma=ignore_check_constraints(1)&_pragma=synchronous(0)")
	require.NoError(t, err)
	db.SetMaxOpenConns(1)
	defer func() { require.NoError(t, db.Close()) }()
	triggers := column(t, db, "SELECT sql FROM sqlite_schema WHERE type = 'trigger'")
	for _, name := range column(t, db, "SELECT name FROM sqlite_schema WHERE type = 'trigger'") {
		_, err := db.Exec("DROP TRIGGER " + name)
		require.NoError(t, err)
	}
	result, err := db.Exec(statement)
	if err != nil && (strings.Contains(err.Error(), "UNIQUE") || strings.Contains(err.Error(), "NOT NULL") || strings.Contains(err.Error(), "cannot store")) {
		return false // the file itself refuses that
	}
	require.NoError(t, err, statement)
	n, err := result.RowsAffected()
	require.NoError(t, err)
	require.LessOrEqual(t, n, int64(1), statement)
	for _, text := range triggers {
		_, err := db.Exec(text)
		require.NoError(t, err)
	}
	return n == 1
}

// TestEveryRowAndColumn deletes each row of each table, one at a time, and
// changes each of its columns to another value that could stand there. The
// check finds every one.
func TestEveryRowAndColumn(t *testing.T) {
	effort.Long(t)
	data, err := rich()
	require.NoError(t, err)
	path := filepath.Join(t.TempDir(), "shop.db")
	require.NoError(t, os.WriteFile(path, data, 0o644))
	require.Empty(t, examine(t, path))
	db, err := sql.Open("sqlite", "file:"+path)
	require.NoError(t, err)
	list := tables(t, db)
	require.NoError(t, db.Close())

	var deletions, changes []string
	for _, tab := range list {
		for _, key := range tab.keys {
			deletions = append(deletions, "DELETE FROM "+tab.name+" WHERE "+key)
			for _, c := range tab.columns {
				// What stands in another row, else something else of its type.
				changes = append(changes, fmt.Sprintf(`UPDATE %[1]s SET %[2]s = COALESCE((SELECT %[2]s FROM %[1]s x WHERE x.%[2]s IS NOT (SELECT %[2]s FROM %[1]s WHERE %[3]s) LIMIT 1),
					(SELECT CASE typeof(%[2]s) WHEN 'integer' THEN %[2]s + 1 WHEN 'text' THEN %[2]s || ' ' WHEN 'blob' THEN zeroblob(32) ELSE NULL END FROM %[1]s WHERE %[3]s))
					WHERE %[3]s AND %[2]s IS NOT NULL`, tab.name, c, key))
				changes = append(changes, fmt.Sprintf(`UPDATE %[1]s SET %[2]s = CASE typeof(%[2]s) WHEN 'integer' THEN %[2]s + 1 WHEN 'text' THEN %[2]s || 'x' WHEN 'blob' THEN CASE %[2]s WHEN zeroblob(32) THEN unhex(replace(hex(zeroblob(32)), '00', '01')) ELSE zeroblob(32) END ELSE 0 END WHERE %[3]s`, tab.name, c, key))
			}
		}
	}
	rng := rand.New(rand.NewPCG(7, 8))
	for _, part := range []struct {
		what string
		list []string
	}{{"single-row deletions", deletions}, {"single-column changes", changes}} {
		rng.Shuffle(len(part.list), func(i, j int) { part.list[i], part.list[j] = part.list[j], part.list[i] })
		made, missed := 0, 0
		for _, statement := range part.list[:effort.Of(len(part.list))] {
			require.NoError(t, os.WriteFile(path, data, 0o644))
			if !forge(t, path, statement) {
				continue
			}
			made++
			if examine(t, path) == "" {
				missed++
				t.Errorf("not found: %s", statement)
			}
		}
		t.Logf("%s: %d of %d found, bound 100 %%", part.what, made-missed, made)
		assert.NotZero(t, made)
	}
}
