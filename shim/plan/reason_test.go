package plan_test

import (
	"fmt"
	"math/rand/v2"
	"regexp"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim"
	"shimwright/shim/plan"
	"shimwright/testdata/effort"
)

func TestShortagesSayWhatWouldHelp(t *testing.T) {
	e := inline(1)
	gone := catalogue(t, "2.60")
	gone[0].Limited = true
	// in1 needs 2.605, 2.57 to 2.64.
	for name, c := range map[string]struct {
		q    plan.Request
		says []string
	}{
		"thicker":      {plan.Request{Offers: catalogue(t, "2.50", "2.55")}, []string{"thicker", "2.55"}},
		"thinner":      {plan.Request{Offers: catalogue(t, "2.70", "2.80")}, []string{"thinner", "2.65"}},
		"between":      {plan.Request{Offers: catalogue(t, "2.55", "2.65")}, []string{"between", "2.55", "2.65"}},
		"out of stock": {plan.Request{Offers: gone}, []string{"out of stock", "2.60"}},
		"no buying":    {plan.Request{Offers: catalogue(t, "2.60"), NoBuy: true}, []string{"2.60", "bought"}},
	} {
		reading, needs := "in1 0.38 2.40", []string{"2.605", "2.57", "2.64"}
		if name == "thinner" {
			reading, needs = "in1 0.07 2.65", []string{"2.545", "2.51", "2.58"}
		}
		c.q.Jobs = []plan.JobRequest{{Engine: e, Check: check(t, e, reading)}}
		p := made(t, c.q)
		require.Equal(t, 1, p.Criteria.Unserved, name)
		for _, word := range append(needs, c.says...) {
			assert.Contains(t, said(valve(t, p, "in1")), word, name)
		}
	}
}

// Where nothing is to be bought and the one that would fit went elsewhere, the
// reason says where.
func TestWithoutBuyingTheReasonSaysWhoHasIt(t *testing.T) {
	e := inline(2)
	q := plan.Request{NoBuy: true, Box: box(t, "2.60"), Offers: catalogue(t, "2.60"), Jobs: []plan.JobRequest{{Engine: e, Check: check(t, e, "in1 0.38 2.40", "in2 0.38 2.40")}}}
	p := made(t, q)
	require.Equal(t, 1, p.Criteria.Unserved)
	with, without := valve(t, p, "in1"), valve(t, p, "in2")
	if with.Action != plan.Box {
		with, without = without, with
	}
	require.Equal(t, plan.Box, with.Action)
	assert.Contains(t, said(without), "2.60 at hand would do but goes into "+with.Valve.String())
	assert.NotContains(t, said(without), "nothing at hand fits")
	q.Box = nil
	assert.Contains(t, said(valve(t, made(t, q), "in1")), "nothing at hand fits")
}

// Among several engines, each takes of a lift what it has: a shared camshaft
// opens as one, shims on top valve by valve. What none of them has is refused.
func TestOneLiftForSeveralEngines(t *testing.T) {
	plain, vee, shared, top := inline(2), inline(2), inline(2), inline(2)
	vee.Name, shared.Name, top.Name = "vee", "shared", "top"
	vee.Banks = [][]int{{1}, {2}}
	shared.SharedCams = true
	top.Access = shim.ByValve
	lifted := func(named ...string) ([][]string, error) {
		q := plan.Request{}
		for _, e := range []*shim.Engine{plain, vee, shared, top} {
			q.Jobs = append(q.Jobs, plan.JobRequest{Engine: e, Check: check(t, e), Lift: shim.Lift{Named: named}})
		}
		p, err := plan.Make(t.Context(), q)
		if err != nil {
			return nil, err
		}
		var list [][]string
		for i := range p.Jobs {
			list = append(list, p.Jobs[i].Lifted)
		}
		return list, nil
	}
	for _, c := range []struct {
		named []string
		want  [][]string
	}{
		{[]string{"intake"}, [][]string{{"intake"}, {"intake-1", "intake-2"}, {"shared"}, {"in1", "in2"}}},
		{[]string{"intake-1"}, [][]string{{"intake"}, {"intake-1"}, {"shared"}, {"in1", "in2"}}},
		{[]string{"shared", "exhaust"}, [][]string{{"exhaust"}, {"exhaust-1", "exhaust-2"}, {"shared"}, {"ex1", "ex2"}}},
		{[]string{"shared"}, [][]string{nil, nil, {"shared"}, nil}},
		{[]string{"intake-2", "in1"}, [][]string{nil, {"intake-2"}, nil, {"in1"}}},
	} {
		got, err := lifted(c.named...)
		require.NoError(t, err, "%v", c.named)
		assert.Equal(t, c.want, got, "%v", c.named)
	}
	for _, bad := range [][]string{{"rear"}, {"intake", "rear"}} {
		_, err := lifted(bad...)
		require.ErrorIs(t, err, plan.ErrRequest, "%v", bad)
		assert.ErrorContains(t, err, bad[len(bad)-1])
	}
}

// An aim at a limit may come closest a nanometre outside, and an inch is shown
// to five decimals: the size that is named lies inside the range beside it.
func TestANeededSizeLiesInItsRange(t *testing.T) {
	figures := regexp.MustCompile(`^needs ([\d.]+) \(([\d.]+) to ([\d.]+)\)`)
	for _, ratio := range []shim.Ratio{{Times: shim.One * 1333 / 1000}, shim.RockerRatio(1_430_000), {Times: shim.One}} {
		for _, aim := range []shim.Factor{0, shim.One / 2, shim.One} {
			for _, u := range []shim.Unit{shim.MM, shim.IN} {
				for _, reading := range []string{"in1 0.3811 2.4003", "in1 0.0123 2.6507"} {
					e := inline(1)
					e.Units, e.Intake.AimAt, e.Intake.Ratio = u.Both(), aim, ratio
					p := made(t, plan.Request{Jobs: []plan.JobRequest{{Engine: e, Check: check(t, e, reading)}}, Offers: catalogue(t, "9.9")})
					v := valve(t, p, "in1")
					found := figures.FindStringSubmatch(said(v, u))
					require.NotNil(t, found, said(v, u))
					assert.LessOrEqual(t, found[2], found[1], said(v, u))
					assert.LessOrEqual(t, found[1], found[3], said(v, u))
					for _, figure := range found[1:] {
						size, err := u.Parse(figure)
						require.NoError(t, err)
						set := shim.Setting{Limits: v.Limits, Ratio: ratio, Clearance: v.Clearance, Size: v.Installed}
						assert.True(t, v.Limits.Tight <= set.Expect(size) && set.Expect(size) <= v.Limits.Loose, "%s of %q gives %s", figure, said(v, u), set.Expect(size))
					}
				}
			}
		}
	}
}

// Whatever the ratio, the limits and the unit, both ends of a range that is
// named serve the valve.
func TestANeededRangeIsRoundedInward(t *testing.T) {
	figures := regexp.MustCompile(`needs (?:a shim )?[\d.]+ ?(mm)? ?(thinner|thicker)? ?\(([\d.]+) to ([\d.]+)`)
	r := rand.New(rand.NewPCG(6, 6))
	named, inMM := 0, 0
	for range effort.Share(4000) {
		e := inline(1)
		e.Units = pick(r, shim.MM, shim.IN).Both()
		e.Intake.Ratio = shim.Ratio{Times: shim.Factor(100_000 + r.IntN(9_900_000))}
		e.Intake.Limits.Loose = e.Intake.Limits.Tight + pick(r, 500, um, 2*um, 70*um)
		m := check(t, e)
		m[0].Reading = shim.ReadingOf(10 * um * shim.Length(r.IntN(60)))
		m[0].Stamp = pick(r, 0, um*shim.Length(2000+r.IntN(1000)))
		v := valve(t, made(t, plan.Request{NoBuy: true, Jobs: []plan.JobRequest{{Engine: e, Check: m, Provisional: true}}}), "in1")
		found := figures.FindStringSubmatch(said(v, e.Units.Size))
		if found == nil {
			continue
		}
		named++
		u := e.Units.Size
		if found[1] != "" {
			u = shim.MM
			inMM++
		}
		set := shim.Setting{Limits: v.Limits, Ratio: e.Intake.Ratio, Clearance: v.Clearance, Size: v.Installed}
		for _, figure := range found[3:] {
			size, err := u.Parse(figure)
			require.NoError(t, err)
			if found[2] == "thinner" {
				size = -size
			}
			if found[2] != "" {
				size += v.Installed
			}
			require.True(t, v.Limits.Contain(set.Expect(size)), "%s of %q gives %s", figure, said(v, u), set.Expect(size))
		}
	}
	assert.Greater(t, named, effort.Share(2000))
	assert.Greater(t, inMM, effort.Share(20))
}

func TestTrialShimsAreAtHand(t *testing.T) {
	e := inline(2)
	for name, c := range map[string]struct {
		reading string
		box     []shim.BoxRow
		trial   string // of those that surely give a reading, the one closest to the aim of 0.175
	}{
		"no leaf goes":                  {"in1 <0.05 2.60", box(t, "2.45", "2.40", "2.35"), "fit 2.40 from the box"},
		"from another valve":            {"in1 <0.05 3.10", nil, "fit 3.00 borrowed from in2, which gets this one meanwhile,"},
		"every leaf falls through":      {"in1 >0.50 2.60", box(t, "2.85", "2.90", "2.95"), "fit 2.95 from the box"},
		"the box's before a valve's":    {"in1 <0.05 3.10", box(t, "3.00"), "fit 3.00 from the box"},
		"more likely from a valve":      {"in1 <0.05 3.10", box(t, "3.095", "1.75"), "fit 3.00 borrowed from"},
		"never a gap of over 1 mm":      {"in1 <0.05 2.60", box(t, "1.20"), "no available shim will show a gap that can be measured; about 2.40"},
		"nor one that nobody can read":  {"in1 <0.05 3.60", nil, "no available shim will show"},
		"never from loose to held open": {"in1 >0.50 2.60", box(t, "3.15"), "borrowed from"},
	} {
		p := made(t, plan.Request{Jobs: []plan.JobRequest{{Engine: e, Check: check(t, e, c.reading)}}, Box: c.box, NoBuy: true})
		v := valve(t, p, "in1")
		assert.Contains(t, said(v), c.trial, name)
		assert.Equal(t, plan.Leave, v.Action, name)
		assert.Equal(t, 1, p.Criteria.Unserved, name)
	}
}

// No two valves are told to fit one and the same piece, be they of one job or of
// two; of jobs the first by name has the first choice.
func TestATrialShimIsOfferedOnce(t *testing.T) {
	e := inline(3)
	twice := check(t, e, "in1 <0.05 2.60", "in2 <0.05 2.60")
	once := check(t, e, "in1 <0.05 2.60")
	stamped, miked := box(t, "2.40")[0], box(t, "2.40")[0]
	miked.Mic = miked.Stamp
	for name, c := range map[string]struct {
		jobs       []plan.JobRequest
		box        []shim.BoxRow
		confidence float64
		want       []string // by valve that is not measured
	}{
		"two pieces":    {[]plan.JobRequest{{Check: twice}}, box(t, "2.35", "2.40"), 0, []string{"fit 2.40", "fit 2.35"}},
		"two of a size": {[]plan.JobRequest{{Check: twice}}, box(t, "2.40", "2.40"), 0, []string{"fit 2.40", "fit 2.40"}},
		"one of mark, one of micrometer": {
			[]plan.JobRequest{{Check: twice}}, []shim.BoxRow{stamped, miked}, 0.9, []string{"fit 2.40", "fit 2.40"},
		},
		"one piece":         {[]plan.JobRequest{{Check: twice}}, box(t, "2.40"), 0, []string{"fit 2.40 from the box", "no available shim"}},
		"each borrows once": {[]plan.JobRequest{{Check: check(t, e, "in1 <0.05 3.10", "in2 <0.05 3.10")}}, nil, 0, []string{"borrowed from in3", "no available shim"}},
		"two jobs":          {[]plan.JobRequest{{Name: "b", Check: once}, {Name: "a", Check: once}}, box(t, "2.40", "2.35"), 0, []string{"fit 2.35", "fit 2.40"}},
		"one of them is used": {
			// in3 needs 2.405, 2.37 to 2.44.
			[]plan.JobRequest{{Check: check(t, e, "in1 <0.05 2.60", "in2 <0.05 2.60", "in3 0.08 2.50")}},
			[]shim.BoxRow{stamped, miked}, 0.5, []string{"fit 2.40", "fit 2.50 pulled from in3"},
		},
		"a pulled one before": {
			[]plan.JobRequest{{Check: check(t, e, "in1 <0.05 2.60", "in2 <0.05 2.60", "in3 0.38 2.40")}},
			box(t, "2.605"), 0, []string{"fit 2.40 pulled from in3", "no available shim"},
		},
	} {
		for i := range c.jobs {
			c.jobs[i].Engine = e
		}
		p := made(t, plan.Request{Jobs: c.jobs, Box: c.box, NoBuy: true, Confidence: c.confidence})
		var words []string
		for _, j := range p.Jobs {
			for k := range j.Valves {
				if v := &j.Valves[k]; !v.Measured {
					words = append(words, said(v))
				}
			}
		}
		require.Len(t, words, len(c.want), name)
		for i := range words {
			assert.Contains(t, words[i], c.want[i], name)
		}
	}
}

// TestTheTrialShimIsTheLikeliest tries every gap that the reading leaves open,
// micrometre by micrometre, with every shim to be had: none gives a reading more
// often than the one that is named, and none that is as likely is handier.
func TestTheTrialShimIsTheLikeliest(t *testing.T) {
	named := regexp.MustCompile(`(fit|buy) (\d+\.\d+) (from the box|borrowed|to fit)`)
	r := rand.New(rand.NewPCG(55, 5))
	from, none := map[string]int{}, 0
	rounds := max(60, effort.Of(20_000))
	for i := range rounds {
		e := inline(2)
		e.Intake.Ratio = pick(r, shim.Ratio{Times: shim.One}, shim.Ratio{Times: shim.One}, shim.Ratio{Times: shim.One * 7 / 10})
		size := func() shim.Length { return 25 * um * shim.Length(72+r.IntN(60)) }
		m := check(t, e)
		below := r.IntN(2) == 0
		m[0].Reading, m[0].Stamp = shim.Reading{Kind: shim.Above, Low: pick(r, 300*um, 600*um)}, size()
		if below {
			m[0].Reading = shim.Reading{Kind: shim.Below, High: pick(r, 50*um, 100*um)}
		}
		type have struct {
			size  shim.Length
			where string
		}
		var shims []have
		sure := true
		q := plan.Request{NoBuy: r.IntN(2) == 0, Offers: []shim.Offer{}}
		for range r.IntN(4) {
			q.Box = append(q.Box, shim.BoxRow{Marks: shim.Marks{Stamp: size()}, Count: 1})
			shims = append(shims, have{q.Box[len(q.Box)-1].Stamp, "from the box"})
		}
		for k := 1; k < len(m); k++ {
			m[k].Stamp = size()
			// It lends where it still has a gap with this one's shim: 50 um are more
			// than any doubt here, and below zero there is none.
			gap, _ := m[k].Reading.Estimate()
			gap += product(e.Train(m[k].Valve.Side).Ratio, m[k].Stamp-m[0].Stamp)
			sure = sure && (gap <= 0 || gap > 50*um)
			if gap > 50*um && gap <= shim.Millimetre {
				shims = append(shims, have{m[k].Stamp, "borrowed"})
			}
		}
		for range r.IntN(4) {
			o := shim.Offer{Disc: shim.Disc{Size: size()}, Limited: r.IntN(3) == 0, Stock: r.IntN(2)}
			q.Offers = append(q.Offers, o)
			if !q.NoBuy && (!o.Limited || o.Stock > 0) {
				shims = append(shims, have{o.Size, "to fit"})
			}
		}
		q.Jobs = []plan.JobRequest{{Engine: e, Check: m, Lift: shim.LiftAll}}
		if !sure {
			continue
		}
		v := valve(t, made(t, q), "in1")

		// 0.10 held open, 0.25 beyond the thickest leaf, 1 mm at the most.
		readable := func(size shim.Length) (count int) {
			first, last := -100*um, m[0].Reading.High
			thin, thick := m[0].Reading.High, 2*v.Limits.Loose
			if !below {
				first, last = m[0].Reading.Low, m[0].Reading.Low+250*um
				thin, thick = v.Limits.Tight/2, m[0].Reading.Low
			}
			for gap := first; gap <= last; gap += um {
				after := gap + product(e.Intake.Ratio, m[0].Stamp-size)
				if after > shim.Millimetre || !below && after <= 0 {
					return 0
				}
				if thin < after && after < thick {
					count++
				}
			}
			return count
		}
		rank := map[string]int{"from the box": 1, "borrowed": 2, "to fit": 3}
		found := named.FindStringSubmatch(said(v))
		if found == nil {
			none++
			for _, s := range shims {
				require.LessOrEqual(t, readable(s.size), 1, "job %d: %s for %q", i, s.size, said(v))
			}
			continue
		}
		from[found[3]]++
		got := length(t, found[2])
		require.Contains(t, shims, have{got, found[3]}, "job %d", i)
		require.Positive(t, readable(got), "job %d: %q", i, said(v))
		for _, s := range shims {
			require.LessOrEqual(t, readable(s.size), readable(got)+1, "job %d: %s rather than %q", i, s.size, said(v))
			if s.size == got {
				require.GreaterOrEqual(t, rank[s.where], rank[found[3]], "job %d: %s %s rather than %q", i, s.size, s.where, said(v))
			}
		}
	}
	fmt.Printf("trial shims: %v, none for %d of %d; none less likely to be read than another (bound)\n", from, none, rounds)
	assert.Len(t, from, 3)
	assert.Greater(t, none, 10)
}

// Whatever the job, a size named as a trial is one that the box or an open
// valve of the engine has, and shows a gap even if the clearance is as small
// as the reading allows.
func TestTrialShimsShowAGap(t *testing.T) {
	sizes := regexp.MustCompile(`fit (\d+\.\d+) (?:from the box|(?:pulled|borrowed) from (\w+)) as`)
	named := 0
	each(t, 9, 600, func(_ *rand.Rand, q plan.Request, p *plan.Plan) {
		left := map[piece]int{}
		for what, count := range boxOf(&q) {
			left[piece{diameter: what.diameter, size: what.size}] += count
		}
		for _, lot := range p.Drawn {
			left[piece{diameter: lot.Diameter, size: lot.Size}] -= lot.Count
		}
		lent := map[string]bool{}
		for _, s := range seats(&q) {
			if s.measured || !s.open {
				continue
			}
			v := &p.Jobs[s.job].Valves[slices.IndexFunc(p.Jobs[s.job].Valves, func(v plan.ValvePlan) bool { return v.Valve == s.valve })]
			found := sizes.FindStringSubmatch(said(v))
			if found == nil {
				continue
			}
			named++
			size := length(t, found[1])
			least := *s
			if v.Reading.Kind == shim.Above {
				least.clearance = v.Reading.Low
			}
			require.Positive(t, least.expect(size), "%s: %s", said(v), show(&q))
			what := piece{diameter: s.diameter, size: size}
			if found[2] == "" {
				left[what]--
				require.GreaterOrEqual(t, left[what], 0, "%s: %s", said(v), show(&q))
				continue
			}
			owner := fmt.Sprint(s.job, found[2])
			require.False(t, lent[owner], "%s: %s", said(v), show(&q))
			lent[owner] = true
			require.True(t, slices.ContainsFunc(seats(&q), func(other *seat) bool {
				return other.job == s.job && other.valve != s.valve && other.open && other.own == size && other.valve.String() == found[2]
			}), "%s: %s", said(v), show(&q))
		}
	})
	if !testing.Short() { // a fiftieth of the jobs is too few
		require.GreaterOrEqual(t, named, effort.Share(50))
	}
}
