package report

import (
	"bytes"
	"encoding/json"
	"math/rand/v2"
	"reflect"
	"testing"

	"github.com/stretchr/testify/require"

	"shimwright/shim"
	"shimwright/shim/plan"
)

// The reference is encoding/json, as lineEncoder uses it.
func TestLinesAreThoseOfEncodingJSON(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	words := []string{"", "7", "row A, <3> & more", `a "quoted" \ word`, "Größe", "two\nlines", "\u2028", "\xff", "\x7f~ "}
	word := func() string { return words[r.IntN(len(words))] }
	length := func() shim.Length {
		return []shim.Length{0, 1, -1, 2_500_000, -20_000, shim.Length(r.IntN(9_000_000))}[r.IntN(6)]
	}
	maybe := func() *shim.Length {
		if l := length(); r.IntN(2) == 0 {
			return &l
		}
		return nil
	}
	valve := func() shim.Valve {
		v := shim.Valve{Side: shim.Sides[r.IntN(len(shim.Sides))], Cylinder: 1 + r.IntN(12)}
		if r.IntN(2) == 0 {
			v.Letter = 'a'
		}
		return v
	}
	require.Equal(t, 20, reflect.TypeFor[valveJSON]().NumField(), "a new field goes into appendTo and in here")
	for range 5000 {
		row := valveJSON{
			Valve: valve(), Tight: length(), Loose: length(), Aim: length(), Clearance: maybe(), Installed: maybe(),
			Verdict: shim.Verdict(r.IntN(4)), Open: r.IntN(2) == 0, Action: plan.Action(r.IntN(5)), Shim: maybe(),
			FromJob: word(), Predicted: maybe(), Near: r.IntN(2) == 0, Change: r.IntN(2) == 0, Undecided: r.IntN(2) == 0, Reason: word(),
		}
		if v := valve(); r.IntN(2) == 0 {
			row.From = &v
		}
		if r.IntN(4) == 0 {
			row.Over, row.OverMiked = maybe(), r.IntN(2) == 0
			row.OverMiked = row.OverMiked && row.Over != nil
		}
		if r.IntN(4) == 0 {
			row.doubtJSON = doubtJSON{Reading: word(), Uncertainty: maybe(), Miked: &row.Open}
		}
		var want bytes.Buffer
		encoder := json.NewEncoder(&want)
		encoder.SetEscapeHTML(false)
		require.NoError(t, encoder.Encode(&row))
		got, err := row.appendTo([]byte("["))
		require.NoError(t, err)
		require.Equal(t, "["+string(bytes.TrimSuffix(want.Bytes(), []byte("\n"))), string(got))
	}
}
