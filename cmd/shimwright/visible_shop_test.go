package main

import (
	"context"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/inventory"
	"shimwright/shim"
)

// Rows that were kept before such texts were refused steer nothing: not in any
// form of a listing, nor in what a shell is offered. Programs read them as they are.
func TestOldRowsSteerNothing(t *testing.T) {
	const evil = "A\x1b[2J\u009b2J\u202e\U000e0041\x7f1"
	folder := t.TempDir()
	path := filepath.Join(folder, "shop.db")
	mustShimwright(t, path, "shop", "init")
	mustShimwright(t, path, "job", "open", "--engine", filepath.Join("..", "..", "testdata", "demo", "sandpiper.toml"))
	store, err := openStore(context.Background(), path)
	require.NoError(t, err)
	shop := inventory.New(store, evil, time.Now)
	lot := inventory.Lot{Family: shim.Family{Diameter: 8_900_000}, Marks: shim.Marks{Stamp: 2_400_000}, Bin: evil}
	dash := inventory.Lot{Family: shim.Family{Diameter: 8_900_000}, Marks: shim.Marks{Stamp: 2_450_000}, Bin: "-5"}
	_, err = shop.Receive(t.Context(), []inventory.Item{{Lot: lot, Count: 3, Note: evil}, {Lot: dash, Count: 2, Note: "-7"}})
	require.NoError(t, err)
	_, err = shop.Scrap(t.Context(), []inventory.Item{{Lot: dash, Count: 1, Note: "=1+1"}})
	require.NoError(t, err)
	file, err := shop.Job(t.Context(), 1)
	require.NoError(t, err)
	_, err = shop.OpenJob(t.Context(), inventory.Opening{Spec: file.Engine.Spec, Source: "old", Tag: evil, Note: "-9"})
	require.NoError(t, err)
	require.NoError(t, store.Close())

	said := func(args ...string) string {
		var out, errs strings.Builder
		status := run(args, &app{in: strings.NewReader(""), out: &out, err: &errs})
		require.Zero(t, status, "%v: %s", args, errs.String())
		text := out.String()
		assert.False(t, strings.ContainsFunc(text, func(c rune) bool { return c != '\n' && c != '\t' && shim.Harmful(c) }), "%v: %q", args, text)
		return text
	}
	t.Setenv("SHIMWRIGHT_SHOP", path)
	for _, listing := range [][]string{
		{"box", "list"}, {"box", "list", "2.400"}, {"box", "list", "2.450"}, {"box", "history"}, {"job", "list"}, {"job", "show", "2"},
		{"job", "order"}, {"shop", "info"}, {"shop", "check"},
	} {
		for _, form := range []string{"table", "markdown", "csv", "json"} {
			text := said(append(slices.Clone(listing), "--output", form)...)
			if form == "json" {
				var whole any
				require.NoError(t, json.Unmarshal([]byte(text), &whole), "%v", listing)
				if listing[0] == "box" && len(listing) == 3 && listing[2] == "2.400" || listing[1] == "history" || listing[1] == "show" {
					assert.Contains(t, fmt.Sprint(whole), evil, "%v: a program reads the text as it is", listing)
				}
			}
		}
	}
	rows, err := csv.NewReader(strings.NewReader(said("box", "list", "2.450", "--output", "csv"))).ReadAll()
	require.NoError(t, err)
	assert.Equal(t, "'-5", rows[1][slices.Index(rows[0], "bin")], "a text, not a number")
	rows, err = csv.NewReader(strings.NewReader(said("box", "history", "2.450", "--output", "csv"))).ReadAll()
	require.NoError(t, err)
	notes, counts := []string{}, []string{}
	for _, row := range rows[1:] {
		notes, counts = append(notes, row[slices.Index(rows[0], "note")]), append(counts, row[slices.Index(rows[0], "count")])
	}
	assert.ElementsMatch(t, []string{"'-7", "'=1+1"}, notes)
	assert.ElementsMatch(t, []string{"2", "-1"}, counts, "a number stays one")

	offered := said("__complete", "box", "list", "--bin", "")
	assert.NotContains(t, offered, "A", "what nobody can type is not offered")
	assert.Contains(t, offered, "-5")
	assert.Contains(t, said("__complete", "job", "show", ""), `\x1b[2J`, "described, and seen")
}
