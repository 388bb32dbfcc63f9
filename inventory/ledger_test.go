package inventory

import (
	"encoding/hex"
	"reflect"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim"
)

func row() Movement {
	return Movement{
		Seq: 12, Batch: 11, Time: time.Date(2026, 3, 2, 8, 30, 0, 0, time.UTC), Kind: KindFitted,
		Lot:   Lot{Family: shim.Family{Diameter: 8_900_000}, Marks: shim.Marks{Stamp: 2_400_000, Mic: 2_391_000}, Used: true, Bin: "B 2"},
		Count: -1, Job: 7, Valve: shim.Valve{Side: shim.Exhaust, Cylinder: 2, Letter: 'b'}, Quote: shim.Quote{Price: 78000, Priced: true},
		Who: "R. Example", Note: "½ turn", Reverses: 3, Prev: Hash{0: 0xAB, 31: 0xCD},
	}
}

// TestDigest holds the hash against one made by another program: Python's
// hashlib over struct.pack(">q", …) and UTF-8 text, as digest describes it.
func TestDigest(t *testing.T) {
	m := row()
	want, err := hex.DecodeString("83a22358a55f680eaf2c869e6b9a91f2c239c918d0096f71fc472e4233d16e7a")
	require.NoError(t, err)
	got := m.digest()
	assert.Equal(t, want, got[:])

	m.Order = &Terms{Supplier: "Alder", Part: "A 230", Quote: shim.Quote{Price: 50000, Priced: true}}
	want, err = hex.DecodeString("5b464205af2108e086e85a4c8d6c6432cec14bc4bb54cceb0df2116febed07ed")
	require.NoError(t, err)
	got = m.digest()
	assert.Equal(t, want, got[:], "what it was bought on follows the rest")

	m.Unordered = true
	want, err = hex.DecodeString("abe2aaa0fdee558ee5e250a01db32f10804d9bfb2ac6f4c2cfc33311a33a9192")
	require.NoError(t, err)
	got = m.digest()
	assert.Equal(t, want, got[:], "that nobody had ordered it follows its terms")

	m.Lot.Kind = "closer"
	want, err = hex.DecodeString("5f75f7caae4385d2eb7e6c0db405437881244dce2ce89c795f72b78be28f5de7")
	require.NoError(t, err)
	got = m.digest()
	assert.Equal(t, want, got[:], "the family of a shim that is no plain disc comes last")
}

// TestDigestCoversEverything changes each field of a row in turn.
func TestDigestCoversEverything(t *testing.T) {
	old := row()
	seen := map[Hash]string{old.digest(): "the row itself"}
	var walk func(v reflect.Value, name string, m *Movement)
	walk = func(v reflect.Value, name string, m *Movement) {
		saved := reflect.New(v.Type()).Elem()
		saved.Set(v)
		switch {
		case name == "Hash":
			return
		case name == "Time":
			m.Time = m.Time.Add(time.Second)
		case v.Kind() == reflect.Struct:
			for i := range v.NumField() {
				walk(v.Field(i), v.Type().Field(i).Name, m)
			}
			return
		case v.Kind() == reflect.Pointer:
			v.Set(reflect.New(v.Type().Elem()))
			walk(v.Elem(), name, m)
		case v.Kind() == reflect.Array:
			v.Index(5).SetUint(9)
		case v.Kind() == reflect.Bool:
			v.SetBool(!v.Bool())
		case v.Kind() == reflect.String:
			v.SetString(v.String() + "x")
		case v.CanInt():
			v.SetInt(v.Int() + 1)
		default: // the side of a valve, its letter
			v.SetUint(v.Uint() ^ 1)
		}
		h := m.digest()
		require.NotContains(t, seen, h, "a change of %s shows like %s", name, seen[h])
		seen[h] = name
		v.Set(saved)
	}
	m := row()
	walk(reflect.ValueOf(&m).Elem(), "Movement", &m)
	assert.Equal(t, old, m)
	assert.Greater(t, len(seen), 20)

	// Text cannot move from one field into its neighbour.
	a, b := row(), row()
	a.Who, a.Note = "ab", "c"
	b.Who, b.Note = "a", "bc"
	assert.NotEqual(t, a.digest(), b.digest())
}

func TestEffective(t *testing.T) {
	reverse := func(seq, of int64) Movement { return Movement{Seq: seq, Reverses: of} }
	for name, c := range map[string]struct {
		rows []Movement
		want []int64
	}{
		"none":            {nil, nil},
		"all":             {[]Movement{{Seq: 1}, {Seq: 2}}, []int64{1, 2}},
		"undone":          {[]Movement{{Seq: 1}, {Seq: 2}, reverse(3, 1)}, []int64{2}},
		"the undo undone": {[]Movement{{Seq: 1}, reverse(2, 1), reverse(3, 2)}, []int64{1}},
		"thrice":          {[]Movement{{Seq: 1}, reverse(2, 1), reverse(3, 2), reverse(4, 3)}, nil},
	} {
		var got []int64
		for _, m := range standingRows(c.rows) {
			got = append(got, m.Seq)
		}
		assert.Equal(t, c.want, got, name)
	}
}
