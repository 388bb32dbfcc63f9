package sqlite_test

import (
	"encoding/json"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/inventory"
	"shimwright/inventory/internal/storetest"
	"shimwright/inventory/sqlite"
	"shimwright/testdata/effort"
)

// examine opens a file and checks it. The text is empty where all is well.
func examine(t *testing.T, path string) string {
	t.Helper()
	store, err := sqlite.Open(ctx, path)
	if err != nil {
		return "open: " + err.Error()
	}
	defer func() { require.NoError(t, store.Close()) }()
	found, err := inventory.New(store, "", storetest.Clock()).Check(ctx)
	if err != nil {
		return "check: " + err.Error()
	}
	var lines []string
	for _, f := range found {
		lines = append(lines, f.Where+": "+f.What)
	}
	return strings.Join(lines, "\n")
}

// content is all that the shop in the file shows.
func content(t *testing.T, path string) string {
	t.Helper()
	store, err := sqlite.Open(ctx, path)
	require.NoError(t, err)
	defer func() { require.NoError(t, store.Close()) }()
	data, err := json.Marshal(storetest.Show(t, inventory.New(store, "", storetest.Clock())))
	require.NoError(t, err)
	return string(data)
}

// TestTamper changes rows past the rules, as somebody with an SQL shell can,
// and puts the triggers back. The check names the first changed row.
func TestTamper(t *testing.T) {
	effort.Long(t)
	const drop = "DROP TRIGGER movements_never_change; DROP TRIGGER movements_never_go;"
	for name, c := range map[string]struct{ sql, want string }{
		"a note":                    {"UPDATE movements SET note = 'x' WHERE seq IN (7, 9)", "movement 7: was changed"},
		"a time":                    {"UPDATE movements SET time = '2020-01-01T00:00:00Z' WHERE seq = 7", "movement 7: was changed"},
		"a count and its sums":      {"UPDATE movements SET count = count + 1 WHERE seq = 7; UPDATE lots SET count = count + 1 WHERE (diameter_nm, stamp_nm, mic_nm, used, bin) = (SELECT diameter_nm, stamp_nm, mic_nm, used, bin FROM movements WHERE seq = 7); UPDATE sizes SET on_hand = on_hand + 1 WHERE size_nm = (SELECT size_nm FROM movements WHERE seq = 7)", "movement 7: was changed"},
		"a hash":                    {"UPDATE movements SET hash = zeroblob(32) WHERE seq = 7", "movement 7: was changed"},
		"a link of the chain":       {"UPDATE movements SET prev = zeroblob(32) WHERE seq = 7", "movement 7: does not carry the hash of movement 6"},
		"a row is gone":             {"DELETE FROM movements WHERE seq = 7", "movement 8: follows movement 6"},
		"the last rows are gone":    {"DELETE FROM movements WHERE seq > (SELECT max(seq) - 3 FROM movements)", "all movements: are 297, there should be 300"},
		"a trigger of another name": {"CREATE TRIGGER sqlitex BEFORE INSERT ON jobs BEGIN SELECT 1; END", "trigger sqlitex: was not made by shimwright"},
		"a revision":                {"UPDATE diameters SET revision = revision + 1", "diameter 8.9: was changed"},
		"a count":                   {"UPDATE counts SET count = count + 1 WHERE what = 'jobs'", "the count of all jobs: was changed"},
		"a recheck is gone":         {"PRAGMA foreign_keys = 0; DELETE FROM readings WHERE job = 1 AND number = 2; DELETE FROM checks WHERE job = 1 AND number = 2", "checks of job 1: are 1, there should be 2"},
		"a job is gone":             {"PRAGMA foreign_keys = 0; DELETE FROM jobs WHERE id = 10", "all jobs: are 9, there should be 10"},
		"a balance":                 {"UPDATE lots SET count = count + 1 WHERE stamp_nm = (SELECT max(stamp_nm) FROM lots)", "the box says"},
		"a lot from nowhere":        {"INSERT INTO lots (family, diameter_nm, size_nm, stamp_nm, mic_nm, used, bin, count, seal) VALUES ('', 8900000, 9000000, 9000000, 0, 0, '', 1, zeroblob(32))", "9.000 mm of diameter 8.9: the box says 1, the ledger 0"},
		"a size":                    {"UPDATE sizes SET on_hand = on_hand + 5", "on hand, the ledger"},
		"a reservation":             {"UPDATE holds SET count = count + 1", "reserved, the jobs"},
		"a reading":                 {"UPDATE readings SET low_nm = low_nm + 1 WHERE job = 2", "job 2, check 1: was changed"},
		"a plan":                    {"UPDATE placements SET size_nm = size_nm + 1 WHERE job = 2", "job 2, plan 1: was changed"},
		"how a shim counts":         {"UPDATE placements SET counted = 3 WHERE job = 2", "job 2, plan 1: was changed"},
		"a temporary shim":          {"UPDATE placements SET temporary_nm = 2300000 WHERE job = 2", "job 2, plan 1: was changed"},
		"a customer's tag":          {"UPDATE jobs SET tag = 'x' WHERE id = 2", "job 2: was changed"},
		"an engine's limits":        {"UPDATE engines SET spec = replace(spec, '0.14', '0.15')", "engine 1: was changed"},
		"a hold of a closed job":    {"UPDATE jobs SET state = 'closed' WHERE id = (SELECT max(job) FROM holds)", "is closed and has 1"},
		"a job that is not there":   {"PRAGMA foreign_keys = 0; UPDATE movements SET job = 999 WHERE job IS NOT NULL", "refers to a missing row of jobs"},
		"a reversal of another row": {"UPDATE movements SET reverses = 3 WHERE seq = 7", "does not match movement 3, which it reverses"},
	} {
		t.Run(name, func(t *testing.T) {
			path := filled(t)
			require.Empty(t, examine(t, path))
			triggers := schemaOf(t, path)
			raw(t, path, drop+c.sql+";"+triggers)
			got := examine(t, path)
			assert.Contains(t, got, c.want)
			if strings.HasPrefix(c.want, "movement") {
				// Foreign keys are checked first; of the ledger the first row is named first.
				ledger := got[strings.Index(got, "movement "):]
				assert.True(t, strings.HasPrefix(ledger, c.want), got)
			}
		})
	}
	path := filled(t)
	raw(t, path, drop)
	for range 8 { // in one order, whatever the order of the maps
		assert.Contains(t, examine(t, path), "trigger movements_never_change: is missing from the file\ntrigger movements_never_go: is missing")
	}
	raw(t, path, "CREATE TABLE extra (a)")
	assert.Contains(t, examine(t, path), "table extra: was not made by shimwright")
}

// TestCutOff takes the last rows off with all their sums mended: the file is an
// older one in everything but the counts. A file that is older in everything is
// sound by itself; the hash that was written down elsewhere tells.
func TestCutOff(t *testing.T) {
	older := filled(t)
	newer := filled(t)
	store, err := sqlite.Open(ctx, newer)
	require.NoError(t, err)
	shop := inventory.New(store, "", storetest.Clock())
	r, err := shop.Receive(ctx, storetest.Items(3))
	require.NoError(t, err)
	last := r.Movements[2]
	require.NoError(t, store.Close())

	anchor := func(path string) error {
		store, err := sqlite.Open(ctx, path)
		require.NoError(t, err)
		defer func() { require.NoError(t, store.Close()) }()
		_, err = inventory.New(store, "", storetest.Clock()).Anchor(ctx, last.Hash)
		return err
	}
	require.NoError(t, anchor(newer))
	require.Empty(t, examine(t, older))
	require.ErrorIs(t, anchor(older), inventory.ErrUnknown)

	raw(t, older, "ATTACH '"+newer+"' AS newer; DELETE FROM counts; INSERT INTO counts SELECT * FROM newer.counts")
	got := examine(t, older)
	assert.Contains(t, got, "the ledger: ends with movement 300")
	assert.Contains(t, got, "all movements: are 300, there should be 303")
	// No command works on it either.
	cut, err := sqlite.Open(ctx, older)
	require.NoError(t, err)
	_, err = inventory.New(cut, "", storetest.Clock()).Receive(ctx, storetest.Items(1))
	require.ErrorIs(t, err, inventory.ErrDamaged)
	require.NoError(t, cut.Close())
}

// TestNeverSealedAnew: a changed row stays refused whatever commands come, and
// the rows beside it stay usable.
func TestNeverSealedAnew(t *testing.T) {
	path := filled(t)
	raw(t, path, "UPDATE jobs SET tag = 'x' WHERE id = 10")
	store, err := sqlite.Open(ctx, path)
	require.NoError(t, err)
	defer func() { require.NoError(t, store.Close()) }()
	shop := inventory.New(store, "", storetest.Clock())
	for range 2 {
		_, err = shop.Cancel(ctx, 10, "")
		require.ErrorIs(t, err, inventory.ErrDamaged)
		require.Contains(t, err.Error(), "job 10")
		require.Contains(t, err.Error(), path)
		_, err = shop.EditJob(ctx, 10, map[inventory.Field]string{inventory.TagField: "T-1"}, nil)
		require.ErrorIs(t, err, inventory.ErrDamaged)
		_, err = shop.Job(ctx, 9)
		require.NoError(t, err)
		_, err = shop.Receive(ctx, storetest.Items(1))
		require.NoError(t, err)
	}
	assert.Contains(t, examine(t, path), "job 10: was changed")
}

// TestLotInAnotherBin: a lot whose bin was changed in the file is not merely none
// in its own bin.
func TestLotInAnotherBin(t *testing.T) {
	path := filepath.Join(t.TempDir(), "shop.db")
	store, err := sqlite.Create(ctx, path)
	require.NoError(t, err)
	shop := inventory.New(store, "", storetest.Clock())
	item := storetest.Items(1)
	item[0].Bin = "A3"
	_, err = shop.Receive(ctx, item)
	require.NoError(t, err)
	require.NoError(t, store.Close())

	raw(t, path, "UPDATE lots SET bin = 'a3'")
	store, err = sqlite.Open(ctx, path)
	require.NoError(t, err)
	defer func() { require.NoError(t, store.Close()) }()
	shop = inventory.New(store, "", storetest.Clock())
	_, err = shop.Undo(ctx, 1, "")
	require.ErrorIs(t, err, inventory.ErrDamaged)
	_, err = shop.Receive(ctx, item)
	require.ErrorIs(t, err, inventory.ErrDamaged)
}

// schemaOf gives the SQL of the ledger's triggers.
func schemaOf(t *testing.T, path string) string {
	t.Helper()
	store, err := sqlite.Open(ctx, path)
	require.NoError(t, err)
	defer func() { require.NoError(t, store.Close()) }()
	text, err := store.Triggers(ctx)
	require.NoError(t, err)
	return text
}

// TestLedgerRefuses gives the file the statements that would change history.
func TestLedgerRefuses(t *testing.T) {
	path := filled(t)
	store, err := sqlite.Open(ctx, path)
	require.NoError(t, err)
	defer func() { require.NoError(t, store.Close()) }()
	const columns = "seq, batch, time, kind, diameter_nm, stamp_nm, mic_nm, used, bin, count, job, valve, price, who, note, reverses, prev, hash"
	for _, text := range []string{
		"UPDATE movements SET note = 'x' WHERE seq = 1",
		"DELETE FROM movements WHERE seq = 1",
		"DELETE FROM movements",
		"INSERT OR REPLACE INTO movements (" + columns + ") SELECT " + columns + " FROM movements WHERE seq = 1",
		"INSERT INTO movements (" + columns + ") SELECT seq + 100000, " + strings.TrimPrefix(columns, "seq, ") + " FROM movements WHERE seq = 1",
		"UPDATE sizes SET reserved = on_hand + 1",
		"UPDATE lots SET count = -1",
		"UPDATE jobs SET state = 'lost'",
		"UPDATE movements SET count = 'three'",
		"DELETE FROM jobs",
	} {
		assert.Error(t, store.Exec(ctx, text), text)
	}
	assert.Empty(t, examine(t, path))
}

// TestFlippedBits spoils one byte at a time, anywhere in the file. Either it
// is found, or what the shop shows is the same to the last letter.
func TestFlippedBits(t *testing.T) {
	path := filled(t)
	data, err := os.ReadFile(path)
	require.NoError(t, err)
	want := content(t, path)
	rng := rand.New(rand.NewPCG(3, 4))
	spoilt := filepath.Join(t.TempDir(), "spoilt.db")
	flips := effort.Of(2000)
	found := 0
	for range flips {
		at, bit := rng.IntN(len(data)), byte(1)<<rng.IntN(8)
		data[at] ^= bit
		require.NoError(t, os.WriteFile(spoilt, data, 0o644))
		data[at] ^= bit
		_ = os.Remove(spoilt + "-journal")
		if examine(t, spoilt) != "" {
			found++
			continue
		}
		require.True(t, want == content(t, spoilt), "byte %d bit %08b is not found and shows", at, bit)
	}
	t.Logf("%d of %d flipped bits found; the others lay in unused space or changed nothing that is shown", found, flips)
	require.Greater(t, found, flips/4)
}

// TestTruncated cuts the file anywhere.
func TestTruncated(t *testing.T) {
	path := filled(t)
	data, err := os.ReadFile(path)
	require.NoError(t, err)
	rng := rand.New(rand.NewPCG(5, 6))
	cut := filepath.Join(t.TempDir(), "cut.db")
	for range 40 {
		n := rng.IntN(len(data))
		require.NoError(t, os.WriteFile(cut, data[:n], 0o644))
		assert.NotEmpty(t, examine(t, cut), "cut to %d of %d bytes", n, len(data))
	}
}
