package shim

import (
	"math/big"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// limits reads a pair of limits printed in mm.
func limits(tight, loose string) Limits { return Limits{Tight: mm(tight), Loose: mm(loose)} }

// factor reads a ratio or an aim.
func factor(text string) Factor {
	f, err := ParseFactor(text)
	if err != nil {
		panic(err)
	}
	return f
}

// ratios are those that the properties below are tried with: a bucket; one
// over a follower's ratio; coarser and mirrored ones.
var ratios = []Ratio{{Times: One}, {Times: factor("1.43")}, {Times: factor("0.7")}, {Times: factor("0.699301")}, {Times: factor("1.6")}, {Times: 3 * One}, {Times: One / 10},
	{Times: 10 * One}, RockerRatio(factor("1.43")), RockerRatio(factor("1.7"))}

// someSetting is a random valve such as the bench may bring.
func someSetting(random *rand.Rand, ratio Ratio) Setting {
	tight := Length(random.Int64N(500_000))
	s := Setting{
		Limits:    Limits{Tight: tight, Loose: tight + 1 + Length(random.Int64N(200_000))},
		Ratio:     ratio,
		Clearance: Length(random.Int64N(900_000)),
		Size:      mm("1") + Length(random.Int64N(3_000_000)),
	}
	if random.IntN(4) == 0 { // limits so close that few sizes, or none, fit
		s.Loose = s.Tight + 1 + Length(random.Int64N(6))
	}
	s.Aim = s.Limits.Aim(Factor(random.Int64N(int64(One) + 1)))
	return s
}

func TestLimits(t *testing.T) {
	l := limits("0.14", "0.21")
	for clearance, inside := range map[string]bool{"0.139999": false, "0.14": true, "0.175": true, "0.21": true, "0.210001": false} {
		assert.Equal(t, inside, l.Contain(mm(clearance)), clearance)
		assert.Equal(t, inside, l.Room(mm(clearance)) >= 0, clearance)
	}
	assert.Equal(t, mm("0.01"), l.Room(mm("0.15")))
	assert.Equal(t, mm("0.01"), l.Room(mm("0.20")))
	assert.Equal(t, mm("-0.04"), l.Room(mm("0.10")))

	assert.Equal(t, l.Tight, l.Aim(0))
	assert.Equal(t, mm("0.175"), l.Aim(One/2))
	assert.Equal(t, mm("0.182"), l.Aim(factor("0.6")))
	assert.Equal(t, l.Loose, l.Aim(One))
	assert.Equal(t, Length(10), Limits{10, 11}.Aim(One/2), "0.5 nm to even")
	assert.Equal(t, Length(12), Limits{10, 13}.Aim(One/2), "1.5 nm to even")
}

// The oracle works with exact fractions: c + k (s - x), the product rounded
// half to even.
func TestExpectAgainstFractions(t *testing.T) {
	random := rand.New(rand.NewPCG(5, 5))
	for range 5000 {
		for _, ratio := range ratios {
			s := someSetting(random, ratio)
			size := s.Size + Length(random.Int64N(2_000_000)-1_000_000)
			product := big.NewRat(int64(ratio.Times), ratio.over())
			product.Mul(product, new(big.Rat).SetInt64(int64(s.Size-size)))
			require.Equal(t, s.Clearance+Length(roundHalfEven(product)), s.Expect(size), "%+v with %d nm", s, size)
		}
	}
}

// Accepts is the set of all sizes that leave the valve inside its limits.
func TestAcceptsIsTheWholeSet(t *testing.T) {
	random := rand.New(rand.NewPCG(6, 6))
	for _, ratio := range ratios {
		empty := 0
		for range 600 {
			s := someSetting(random, ratio)
			thin, thick := s.Accepts()
			if thin > thick {
				empty++
			}
			check := func(size Length) {
				fits, accepted := s.Contain(s.Expect(size)), thin <= size && size <= thick
				if fits != accepted {
					t.Fatalf("%+v accepts %d to %d, yet %d gives %d", s, thin, thick, size, s.Expect(size))
				}
			}
			for step := Length(-3); step <= 3; step++ {
				check(thin + step)
				check(thick + step)
			}
			check(s.Size)
			check(s.Ideal())
			for range 100 {
				check(s.Size + Length(random.Int64N(2_000_000)-1_000_000))
				check(thin + Length(random.Int64N(100)-50))
			}
		}
		if ratio.Times == One && ratio.Over == 0 {
			assert.Zero(t, empty, "ratio %s: every whole nanometre of clearance can be had", ratio)
		}
	}
}

func TestAcceptsNothing(t *testing.T) {
	// Ten nanometres of clearance a nanometre of shim: 101 to 102 cannot be met from 100.
	s := Setting{Limits: Limits{101, 102}, Aim: 101, Ratio: Ratio{Times: 10 * One}, Clearance: 100, Size: mm("2")}
	thin, thick := s.Accepts()
	assert.Greater(t, thin, thick)
}

// Ideal is at least as near to the aim as any other size, and never the
// tighter of two that are equally near.
func TestIdealBeatsItsNeighbours(t *testing.T) {
	random := rand.New(rand.NewPCG(7, 7))
	for _, ratio := range ratios {
		for range 400 {
			s := someSetting(random, ratio)
			ideal := s.Ideal()
			got := s.Expect(ideal)
			for step := Length(-40); step <= 40; step++ {
				other := s.Expect(ideal + step)
				off, least := (other - s.Aim).Abs(), (got - s.Aim).Abs()
				if off < least || off == least && other > got {
					t.Fatalf("%+v: ideal %d gives %d, yet %d gives %d", s, ideal, got, ideal+step, other)
				}
			}
			if ratio.Times == One && ratio.Over == 0 {
				require.Equal(t, s.Aim, got, "%+v: with ratio 1 the aim is met exactly", s)
			}
		}
		onAim := Setting{Limits: limits("0.14", "0.21"), Aim: mm("0.17"), Ratio: ratio, Clearance: mm("0.17"), Size: mm("2.675")}
		assert.Equal(t, mm("2.675"), onAim.Ideal(), "ratio %s: a shim that meets the aim is ideal itself", ratio)
	}
}

func TestStackStaysWhenShimsAreSwapped(t *testing.T) {
	random := rand.New(rand.NewPCG(8, 8))
	for _, ratio := range ratios {
		for range 500 {
			before := someSetting(random, ratio)
			after := before
			after.Size = mm("1") + Length(random.Int64N(3_000_000))
			after.Clearance = before.Expect(after.Size)
			if ratio.Over == 0 && ratio.Times%One == 0 {
				require.Equal(t, before.Stack(), after.Stack(), "%+v, then %+v", before, after)
				require.Equal(t, before.Clearance, after.Expect(before.Size), "%+v: going back restores the clearance", before)
				continue
			}
			// Three roundings of at most half a nanometre each.
			require.LessOrEqual(t, (before.Stack() - after.Stack()).Abs(), Length(1), "%+v, then %+v", before, after)
		}
	}
	s := Setting{Ratio: Ratio{Times: One}, Clearance: mm("0.15"), Size: mm("2.80")}
	assert.Equal(t, mm("2.95"), s.Stack())
}

// In a tie between two sizes ours is the rule that leaves the looser
// clearance, since wear closes the gap (common practice). Makers differ.
func TestTieGoesLooser(t *testing.T) {
	// Tracker 800SX owner's manual p. 71: the ideal is 2.61, sizes lie 0.02
	// apart, the manual takes the thicker 2.62.
	tracker := Setting{Aim: mm("0.18"), Ratio: Ratio{Times: One}, Clearance: mm("0.15"), Size: mm("2.64")}
	assert.Equal(t, mm("2.61"), tracker.Ideal())
	assert.Equal(t, mm("0.17"), tracker.Expect(mm("2.62")), "the manual's pick")
	assert.Equal(t, mm("0.19"), tracker.Expect(mm("2.60")), "ours")
	assert.True(t, tracker.closer(mm("2.60"), mm("2.62")))
	assert.False(t, tracker.closer(mm("2.62"), mm("2.60")))

	// Suzuki K6A p. 45: A = B + (C - 0.20); where A is odd, 0.01 smaller: the
	// thinner of two sizes 0.02 apart, as ours.
	k6a := Setting{Aim: mm("0.20"), Ratio: Ratio{Times: One}, Clearance: mm("0.27"), Size: mm("2.50")}
	assert.Equal(t, mm("2.57"), k6a.Ideal())
	assert.True(t, k6a.closer(mm("2.56"), mm("2.58")))

	// With two nanometres of clearance a nanometre of shim Ideal itself ties.
	assert.Equal(t, Length(-1), Setting{Aim: 1, Ratio: Ratio{Times: 2 * One}}.Ideal())
}
