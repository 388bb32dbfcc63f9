package work

import (
	"context"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/inventory"
	"shimwright/shim"
)

// toFit is a job with a plan that draws a shim of 2.325 for ex1a.
func toFit(t *testing.T, box ...string) (*inventory.Shop, inventory.File) {
	t.Helper()
	ctx := context.Background()
	shop, job := measured(t, append([]string{"2.325"}, box...), map[string]string{"ex1a": "0.17"})
	planned(t, shop, job, true)
	f, err := shop.Job(ctx, job)
	require.NoError(t, err)
	require.Len(t, f.Left, 1)
	return shop, f
}

func fitted(t *testing.T, shop *inventory.Shop, f inventory.File, fit inventory.Fit) *Fitted {
	t.Helper()
	done, err := Fit(context.Background(), shop, f, fit)
	require.NoError(t, err)
	return done
}

func TestFitAsPlanned(t *testing.T) {
	shop, f := toFit(t)
	require.Equal(t, ToDo, Placements(f)[0].Progress)
	done := fitted(t, shop, f, inventory.Fit{})
	assert.Empty(t, done.Departures())
	assert.Empty(t, done.Outside())
	assert.Empty(t, done.Unreceived())
	require.Len(t, done.Exchanges(), 1)
	changes := done.Exchanges()[0].Changes
	require.Len(t, changes, 2)
	assert.Equal(t, []ExchangeKind{CameOut, FromBox}, []ExchangeKind{changes[0].Kind, changes[1].Kind})
	assert.Equal(t, mm(t, "2.4"), changes[0].Lot.Size())
	assert.Equal(t, mm(t, "2.325"), changes[1].Lot.Size())
	got := Placements(done.After)[0]
	assert.Equal(t, AsPlanned, got.Progress)
	assert.True(t, got.Known)
	assert.Equal(t, mm(t, "2.325"), got.Lot.Size())
}

func TestFitOtherwise(t *testing.T) {
	shop, f := toFit(t, "2.500", "2.300")
	done := fitted(t, shop, f, inventory.Fit{Instead: []inventory.Instead{{Valve: valve(t, "ex1a"), Size: mm(t, "2.5")}, {Valve: valve(t, "ex2a"), Size: mm(t, "2.3")}}})
	assert.Equal(t, []Departure{{valve(t, "ex1a"), mm(t, "2.325")}, {valve(t, "ex2a"), 0}}, done.Departures())
	outside := map[string]shim.Length{}
	for _, x := range done.Outside() {
		outside[x.Valve.String()] = x.Clearance
	}
	// c' = c + s - s' at a ratio of 1: 0.17 + 2.4 - 2.5, and 0.235 + 2.4 - 2.3.
	assert.Equal(t, map[string]shim.Length{"ex1a": mm(t, "0.07"), "ex2a": mm(t, "0.335")}, outside)
	got := Placements(done.After)[0]
	assert.Equal(t, Otherwise, got.Progress)
	assert.Equal(t, mm(t, "2.5"), got.In)
}

func TestFitInInches(t *testing.T) {
	ctx := context.Background()
	shop, f := toFit(t)
	f.Engine.Spec.Units = shim.IN.Both()
	typed, err := shim.IN.Parse(shim.IN.Format(mm(t, "2.325")))
	require.NoError(t, err)
	require.NotEqual(t, mm(t, "2.325"), typed)
	done, err := Fit(ctx, shop, f, inventory.Fit{Instead: []inventory.Instead{{Valve: valve(t, "ex1a"), Size: typed}}})
	require.NoError(t, err)
	assert.Empty(t, done.Departures(), "it is the planned shim")
}

// A shim that goes from valve to valve is told by the valve that it came from.
func TestExchangesFromValve(t *testing.T) {
	lot := func(size string) inventory.Lot {
		return inventory.Lot{Family: shim.Family{Diameter: mm(t, "8.9")}, Marks: shim.Marks{Stamp: mm(t, size)}, Used: true}
	}
	in, ex := valve(t, "in1a"), valve(t, "ex1a")
	list := []inventory.Movement{
		{Kind: inventory.KindPulled, Valve: ex, Lot: lot("2.4"), Count: 1},
		{Kind: inventory.KindPulled, Valve: in, Lot: lot("2.5"), Count: 1},
		{Kind: inventory.KindFitted, Valve: in, Lot: lot("2.4"), Count: -1},
		{Kind: inventory.KindScrapped, Valve: in, Lot: lot("2.5"), Count: -1},
	}
	rows := Exchanges(list, map[shim.Valve]shim.Valve{in: ex})
	require.Len(t, rows, 2)
	assert.Equal(t, []Change{{Kind: CameOut, Lot: lot("2.5"), Passed: true}, {Kind: FromValve, Lot: lot("2.4"), From: ex, Passed: true}, {Kind: Scrapped, Lot: lot("2.5"), Passed: true}}, rows[0].Changes)
	assert.Equal(t, []Change{{Kind: CameOut, Lot: lot("2.4"), Passed: true}}, rows[1].Changes)
	assert.Equal(t, shim.Valve{}, Exchanges(list, nil)[0].Changes[1].From, "nobody tells")
}

func TestContradicted(t *testing.T) {
	marks := func(stamp, mic string) shim.Marks { return shim.Marks{Stamp: mm(t, stamp), Mic: mm(t, mic)} }
	v := valve(t, "in1a")
	for _, c := range []struct {
		name   string
		fitted bool
		was    shim.Marks
		now    shim.Marks
		says   bool
	}{
		{"the same", true, marks("2.4", "0"), marks("2.4", "0"), false},
		{"another stamp", true, marks("2.4", "0"), marks("2.425", "0"), true},
		{"one stamp, worn", true, marks("2.4", "2.399"), marks("2.4", "2.36"), false},
		{"stamp gone, hardly apart", true, marks("2.4", "0"), marks("0", "2.390"), false},
		{"stamp gone, far apart", true, marks("2.4", "0"), marks("0", "2.389"), true},
		{"nothing told", true, marks("2.4", "0"), marks("0", "0"), false},
		{"found there, not fitted", false, marks("2.4", "0"), marks("2.425", "0"), false},
	} {
		known := []inventory.Known{{Seat: inventory.Seat{Valve: v, Marks: c.was}, Fitted: c.fitted}}
		assert.Equal(t, c.says, len(Contradicted(known, v, c.now)) > 0, c.name)
	}
}
