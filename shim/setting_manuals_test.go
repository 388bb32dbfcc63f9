package shim

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Worked examples and selection charts of published service manuals. Figures
// are in mm and were seen in open copies unless a line says otherwise.

func TestWorkedExamples(t *testing.T) {
	for _, c := range []struct {
		source                  string
		size, clearance, target string
		ideal, fits             string // fits is empty where no size is named
		tight, loose            string // empty where the example prints none
	}{
		{source: "Toyota Solara 3MZ-FE, intake", size: "2.80", clearance: "0.45", target: "0.20", ideal: "3.05", fits: "3.05", tight: "0.15", loose: "0.25"},
		{source: "Toyota Solara 3MZ-FE, exhaust (ideal recomputed; the manual fits its No. 10)", size: "2.800", clearance: "0.450", target: "0.30", ideal: "2.95", tight: "0.25", loose: "0.35"},
		{source: "Toyota 1CD-FTV, RM1046E p. 14-19, intake", size: "2.80", clearance: "0.45", target: "0.25", ideal: "3.00", fits: "3.00"},
		{source: "Tracker 800SX owner's manual p. 71", size: "2.64", clearance: "0.15", target: "0.18", ideal: "2.61"},
		{source: "Hyosung RT125D p. 90 (target recomputed: the middle)", size: "1.70", clearance: "0.23", target: "0.15", ideal: "1.78", fits: "1.80", tight: "0.10", loose: "0.20"},
		{source: "Kawasaki KLE650 shim chart, exhaust (limits from memory)", size: "2.95", clearance: "0.47", target: "0.265", ideal: "3.155", fits: "3.15", tight: "0.22", loose: "0.31"},
		// A = (B - C) + D with clearance B, specification C, old shim D; the
		// measured figures are made up, the specification is printed.
		{source: "Honda SH300i p. 4-10, intake 0.16 +- 0.03", size: "2.450", clearance: "0.24", target: "0.16", ideal: "2.530", fits: "2.525", tight: "0.13", loose: "0.19"},
		{source: "Honda SH300i p. 4-10, exhaust 0.22 +- 0.03", size: "2.450", clearance: "0.17", target: "0.22", ideal: "2.400", fits: "2.400", tight: "0.19", loose: "0.25"},
		// t = t1 + (C1 - C2); measured figures made up as above.
		{source: "Nissan VQ30DE, intake, target 0.30", size: "2.60", clearance: "0.38", target: "0.30", ideal: "2.68", fits: "2.68", tight: "0.26", loose: "0.34"},
		{source: "Nissan VQ30DE, exhaust, target 0.33", size: "2.60", clearance: "0.28", target: "0.33", ideal: "2.55", fits: "2.55", tight: "0.29", loose: "0.37"},
		{source: "Mitsubishi Lancer 2009, A = B + (C - 0.22) +- 0.04", size: "2.90", clearance: "0.30", target: "0.22", ideal: "2.98", fits: "2.98", tight: "0.18", loose: "0.26"},
		{source: "Mitsubishi Lancer 2009, A = B + (C - 0.30) +- 0.04", size: "2.90", clearance: "0.24", target: "0.30", ideal: "2.84", fits: "2.84", tight: "0.26", loose: "0.34"},
		{source: "Haynes, N = T + (A - V), measured figures made up", size: "2.70", clearance: "0.35", target: "0.20", ideal: "2.85", fits: "2.85"},
	} {
		s := Setting{Aim: mm(c.target), Ratio: Ratio{Times: One}, Clearance: mm(c.clearance), Size: mm(c.size)}
		assert.Equal(t, mm(c.ideal), s.Ideal(), c.source)
		assert.Equal(t, s.Aim, s.Expect(mm(c.ideal)), c.source)
		if c.tight == "" {
			continue
		}
		s.Limits = limits(c.tight, c.loose)
		assert.Equal(t, mm(c.target), s.Limits.Aim(One/2), "%s: the target is the middle of the limits", c.source)
		thin, thick := s.Accepts()
		assert.Equal(t, s.Size+s.Clearance-s.Loose, thin, c.source)
		assert.Equal(t, s.Size+s.Clearance-s.Tight, thick, c.source)
		if c.fits != "" {
			assert.True(t, thin <= mm(c.fits) && mm(c.fits) <= thick, "%s: %s mm is not in %s to %s", c.source, c.fits, thin, thick)
		}
		assert.False(t, thin <= s.Size && s.Size <= thick, "%s: the old shim does not fit", c.source)
	}
}

// Counts of sizes as the manuals print them.
func TestPublishedSizes(t *testing.T) {
	for _, c := range []struct {
		source         string
		from, to, step string
		count          int
	}{
		{"Honda SH300i p. 4-10", "1.200", "2.900", "0.025", 69},
		{"Nissan VQ30DE", "2.32", "2.95", "0.01", 64},
		{"Nissan MR20DE", "3.00", "3.50", "0.02", 26},
		{"Mitsubishi Lancer 2009", "2.70", "3.30", "0.02", 31},
		{"Haynes", "2.500", "3.300", "0.050", 17},
		{"Kawasaki KLE650, sizes listed one by one", "2.50", "3.50", "0.05", 21},
		{"Suzuki AN650 p. 2-9, recomputed: the page prints 25 by mistake", "1.20", "2.20", "0.05", 21},
	} {
		r := Range{From: mm(c.from), To: mm(c.to), Step: mm(c.step)}
		sizes := r.Sizes()
		require.Len(t, sizes, c.count, c.source)
		assert.Equal(t, mm(c.from), sizes[0], c.source)
		assert.Equal(t, mm(c.to), sizes[c.count-1], c.source)
	}
}

// Tomei measures the gap at the cam of a follower whose shim sits at the
// valve, and multiplies the missing clearance by the follower's ratio. Our
// ratio is the change of clearance a change of shim gives: one over theirs.
func TestFollower(t *testing.T) {
	// SR20 manual p. 9: 0.27 - 0.16 = 0.11; 0.11 x 1.43 = 0.1573; from 2.80 on to
	// 2.96 or, for more clearance, to 2.64. Nissan's limits there are 0.14-0.17.
	sr20 := Setting{Limits: limits("0.14", "0.17"), Aim: mm("0.16"), Ratio: RockerRatio(factor("1.43")), Clearance: mm("0.27"), Size: mm("2.80")}
	assert.Equal(t, mm("2.9573"), sr20.Ideal())
	thin, thick := sr20.Accepts()
	assert.True(t, thin <= mm("2.96") && mm("2.96") <= thick, "%s to %s", thin, thick)
	assert.True(t, sr20.closer(mm("2.96"), mm("2.94")) && sr20.closer(mm("2.96"), mm("2.98")), "of sizes 0.02 apart the manual's is nearest")

	wider := sr20
	wider.Clearance = mm("0.05")
	assert.Equal(t, mm("2.6427"), wider.Ideal(), "2.80 - 0.1573")
	assert.True(t, wider.closer(mm("2.64"), mm("2.62")) && wider.closer(mm("2.64"), mm("2.66")))

	// The follower's own ratio in place of its inverse would miss the limits.
	wrong := sr20
	wrong.Ratio = Ratio{Times: factor("1.43")}
	assert.False(t, sr20.Contain(sr20.Expect(wrong.Ideal())), "%s", wrong.Ideal())

	// A forum's reading of the same ratio: 0.001 in of shim changes the gap by
	// 0.00069 in (vadriven.com, post 4679634; digits cut, not rounded).
	change := sr20.Ratio.Of(Inch / 1000)
	assert.Equal(t, "0.0007", IN.Format(change))
	assert.True(t, change >= 69*Inch/100_000 && change < 70*Inch/100_000, "%s in", IN.Format(change))

	// Tomei solid pivots p. 8: ratio 1.7, intake 0.12 +- 0.01, test shim 2.60;
	// the measured gap is made up: 2.60 + 1.7 (0.20 - 0.12) = 2.736.
	pivots := Setting{Limits: limits("0.11", "0.13"), Aim: mm("0.12"), Ratio: RockerRatio(factor("1.7")), Clearance: mm("0.20"), Size: mm("2.60")}
	assert.Equal(t, mm("2.736"), pivots.Ideal())
}

// Opener and closer of a positively closed valve. In both published examples
// a thicker closing shim takes clearance from the closer: the ratio is 1.
func TestPositivelyClosedValve(t *testing.T) {
	// ducatitech.com, 2v, valve adjustment: gap 0.101 unloaded, 0.152 loaded;
	// desired: opener 0.075, closer 0.02. The new shims are thicker by 0.026
	// and 0.031. The installed sizes are made up.
	unloaded, loaded := mm("0.101"), mm("0.152")
	assert.Equal(t, mm("0.051"), loaded-unloaded, "the closer's clearance")
	opener := Setting{Aim: mm("0.075"), Ratio: Ratio{Times: One}, Clearance: unloaded, Size: mm("2.80")}
	assert.Equal(t, mm("0.026"), opener.Ideal()-opener.Size)
	closer := Setting{Aim: mm("0.02"), Ratio: Ratio{Times: One}, Clearance: loaded - unloaded, Size: mm("6.00")}
	assert.Equal(t, mm("0.031"), closer.Ideal()-closer.Size)

	// st3slife.blogspot.com, June 2010, exhaust closer: gap 0.01, shim 2.97,
	// wanted 0.05-0.10, so a shim between 2.88 and 2.93; 2.90 went in.
	thin, thick := Setting{Limits: limits("0.05", "0.10"), Ratio: Ratio{Times: One}, Clearance: mm("0.01"), Size: mm("2.97")}.Accepts()
	assert.Equal(t, mm("2.88"), thin)
	assert.Equal(t, mm("2.93"), thick)
	// The same by micrometer: 2.967 over 0.01, 2.90 gives 0.077.
	assert.Equal(t, mm("0.077"), Setting{Ratio: Ratio{Times: One}, Clearance: mm("0.01"), Size: mm("2.967")}.Expect(mm("2.90")))
}

// Toyota MK4 exhaust chart: rows 0.000-0.020, 0.021-0.040, ... 0.241-0.249
// change the shim, 0.250-0.350 is "no change", limits 0.25-0.35. 17 sizes,
// 2.500 to 3.300 by 0.050. The sizes of the rows are recomputed by the
// manual's rule, new = old + measured - 0.30, to the nearest size made.
func TestToyotaChart(t *testing.T) {
	sizes := Range{From: mm("2.50"), To: mm("3.30"), Step: mm("0.05")}.Sizes()
	for _, installed := range sizes {
		for reading := Length(0); reading <= mm("0.80"); reading += mm("0.001") {
			s := Setting{Limits: limits("0.25", "0.35"), Aim: mm("0.30"), Ratio: Ratio{Times: One}, Clearance: reading, Size: installed}
			thin, thick := s.Accepts()
			noChange := reading >= mm("0.250") && reading <= mm("0.350")
			require.Equal(t, noChange, thin <= installed && installed <= thick, "%s mm with shim %s", reading, installed)

			wanted := installed + reading - mm("0.30")
			require.Equal(t, wanted, s.Ideal(), "%s mm with shim %s", reading, installed)
			if wanted < sizes[0] || wanted > sizes[len(sizes)-1] {
				continue // no row: beyond the sizes made
			}
			nearest := (wanted + mm("0.025")) / mm("0.05") * mm("0.05")
			require.True(t, thin <= nearest && nearest <= thick, "%s mm with shim %s: the chart's %s", reading, installed, nearest)
		}
	}
}

// Hyosung RT125D intake chart, the change of shim by row: 0.00-0.04: -0.10;
// 0.05-0.09: -0.05; 0.10-0.20: none; 0.21-0.25: +0.10; 0.26-0.30: +0.15; then
// +0.05 a row; sizes 1.20 to 2.20 by 0.05, beyond which the chart clamps.
//
// The chart does not take the size nearest to the middle of the limits: a
// reading of 0.05 is taken to 0.10, the tight limit itself. So what is checked
// is that each of its sizes is accepted, and that no row is idle.
func TestHyosungChart(t *testing.T) {
	shift := func(reading Length) Length {
		switch {
		case reading <= mm("0.04"):
			return mm("-0.10")
		case reading <= mm("0.09"):
			return mm("-0.05")
		case reading <= mm("0.20"):
			return 0
		}
		return mm("0.10") + (reading-mm("0.21"))/mm("0.05")*mm("0.05")
	}
	require.Equal(t, mm("0.10"), shift(mm("0.25")))
	require.Equal(t, mm("0.15"), shift(mm("0.26")))

	clamped := 0
	for _, installed := range (Range{From: mm("1.20"), To: mm("2.20"), Step: mm("0.05")}).Sizes() {
		for reading := Length(0); reading <= mm("1.00"); reading += mm("0.01") {
			s := Setting{Limits: limits("0.10", "0.20"), Aim: mm("0.15"), Ratio: Ratio{Times: One}, Clearance: reading, Size: installed}
			thin, thick := s.Accepts()
			accepts := func(size Length) bool { return thin <= size && size <= thick }
			require.Equal(t, shift(reading) == 0, accepts(installed), "%s mm with shim %s", reading, installed)
			chart := installed + shift(reading)
			if chart < mm("1.20") || chart > mm("2.20") {
				clamped++
				continue // the chart's last size: nearer, not always inside
			}
			require.True(t, accepts(chart), "%s mm with shim %s: the chart's %s is not in %s to %s", reading, installed, chart, thin, thick)
		}
	}
	assert.Positive(t, clamped)

	// The worked example on p. 90: 0.23 with 1.70 takes 1.80.
	assert.Equal(t, mm("1.80"), mm("1.70")+shift(mm("0.23")))
}

// The same stamp is two sizes: "218" is 2.175 in Suzuki's M13 range and 2.18
// in its K6A range. The clearance to expect follows the size, not the stamp.
func TestStampIsNotASize(t *testing.T) {
	s := Setting{Aim: mm("0.20"), Ratio: Ratio{Times: One}, Clearance: mm("0.20"), Size: mm("2.18")}
	assert.Equal(t, mm("0.205"), s.Expect(mm("2.175")))
	stamped := Measurement{Reading: ReadingOf(mm("0.20")), Marks: Marks{Stamp: mm("2.18")}}
	assert.Equal(t, mm("2.18"), stamped.Size())
	stamped.Mic = mm("2.175")
	assert.Equal(t, mm("2.175"), stamped.Size())
}

// Volvo Penta AQ131/151: accept 0.30-0.40, set 0.35-0.40. An aim of 0.75 sets
// to the middle of the narrower range.
func TestSettingRangeNarrowerThanCheckingRange(t *testing.T) {
	assert.Equal(t, limits("0.35", "0.40").Aim(One/2), limits("0.30", "0.40").Aim(factor("0.75")))
}
