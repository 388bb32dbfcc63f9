package shim

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/testdata/effort"
)

// TestShowLimits converts inward: the upper limit is rounded down and the lower
// one up, so that the converted range does not exceed the original one (a Mazda
// service manual, on its units). 1 in = 25.4 mm exactly (NIST SP 811).
func TestShowLimits(t *testing.T) {
	for _, c := range []struct {
		unit         Unit
		tight, loose Length
		most         int
		want         [2]string
	}{
		{IN, 110_000, 190_000, 4, [2]string{"0.0044", "0.0074"}}, // 0.00433 and 0.00748 in
		{IN, 210_000, 300_000, 4, [2]string{"0.0083", "0.0118"}}, // 0.00827 and 0.01181 in
		{IN, 150_000, 200_000, 3, [2]string{"0.006", "0.007"}},   // 0.00591 and 0.00787 in
		{MM, 101_600, 152_400, 3, [2]string{"0.102", "0.152"}},   // 0.004 and 0.006 in
		{MM, 101_600, 152_400, 2, [2]string{"0.11", "0.15"}},
		{MM, 110_000, 190_000, 2, [2]string{"0.11", "0.19"}},     // exact ones stay
		{IN, 101_600, 152_400, 4, [2]string{"0.004", "0.006"}},   // exact ones stay
		{MM, 101_600, 101_900, 3, [2]string{"0.1016", "0.1019"}}, // would cross at three
		{IN, 100_000, 100_000, 4, [2]string{"0.00394", "0.00394"}},
	} {
		tight, loose := c.unit.ShowLimits(Limits{c.tight, c.loose}, 0, c.most)
		assert.Equal(t, c.want, [2]string{tight, loose}, "%d to %d nm in %s, %d decimals", int64(c.tight), int64(c.loose), c.unit, c.most)
	}
}

// TestShowClearanceKeepsTheVerdict reads back what is printed: a clearance
// stands to the printed limits as the true one to the true limits.
func TestShowClearanceKeepsTheVerdict(t *testing.T) {
	random := rand.New(rand.NewPCG(6, 5))
	read := func(u Unit, text string) Length {
		l, err := u.Parse(text)
		require.NoError(t, err)
		return l
	}
	for range effort.Share(50_000) {
		l := Limits{Tight: Length(random.Int64N(300_000))}
		l.Loose = l.Tight + Length(random.Int64N(100_000)) + 600 // finer ones no five decimals of an inch part
		clearance := l.Tight + Length(random.Int64N(2_000)) - 1_000
		if random.IntN(2) == 0 {
			clearance += l.Loose - l.Tight
		}
		u, most := []Unit{MM, IN}[random.IntN(2)], 2+random.IntN(3)
		tight, loose := u.ShowLimits(l, 0, most)
		shown := Limits{read(u, tight), read(u, loose)}
		got := u.ShowClearance(l, clearance, 0, most)
		require.LessOrEqual(t, l.Tight, shown.Tight, "%v in %s to %d: %s", l, u, most, tight)
		require.GreaterOrEqual(t, l.Loose, shown.Loose, "%v in %s to %d: %s", l, u, most, loose)
		require.Equal(t, l.Judge(ReadingOf(clearance)), shown.Judge(ReadingOf(read(u, got))),
			"%d nm within %v, in %s to %d decimals: %s within %s-%s", int64(clearance), l, u, most, got, tight, loose)
	}
}

func TestShowUpAndDown(t *testing.T) {
	for _, c := range []struct {
		unit     Unit
		length   Length
		down, up string
	}{
		{MM, 123_456, "0.123", "0.124"},
		{MM, -123_456, "-0.124", "-0.123"},
		{MM, 123_000, "0.123", "0.123"},
		{IN, 25_400_001, "1", "1.001"},
		{IN, -1, "-0.001", "0"},
	} {
		assert.Equal(t, c.down, c.unit.ShowDown(c.length, 0, 3), "%d nm in %s", int64(c.length), c.unit)
		assert.Equal(t, c.up, c.unit.ShowUp(c.length, 0, 3), "%d nm in %s", int64(c.length), c.unit)
	}
	assert.True(t, IN.Exact(101_600, 3))
	assert.False(t, IN.Exact(101_600, 2))
	assert.False(t, MM.Exact(101_600, 3))
}
