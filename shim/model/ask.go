package model

import (
	"slices"
	"strconv"
	"strings"

	"shimwright/shim"
)

// Layouts are the words of the layouts to begin from. A layout says what the
// next questions offer; nothing of it is taken without being shown.
var Layouts = []string{"single", "line", "v", "closers"}

// A layout is what a generic head has.
type layout struct {
	cylinders string
	banks     bool // more than one
	valves    string
	closers   bool
}

var layouts = map[string]layout{
	"single":  {cylinders: "1", valves: "2"},
	"line":    {cylinders: "4", valves: "2"},
	"v":       {banks: true, valves: "2"},
	"closers": {valves: "1", closers: true},
}

// run asks everything in the order of the trade. A part of it begins when
// everything before has a sound answer.
func (s *script) run() {
	for _, part := range []func(){
		s.head, s.banks, s.firing, s.valves, s.driveEnd, s.intakeSide, s.closers, s.timings, s.rules, s.before,
		func() { s.train(shim.Intake) }, func() { s.train(shim.Exhaust) },
		s.build, s.shims, s.gauge, s.exact, func() { s.readBack(0, Question{Topic: Whole}) },
	} {
		if part(); s.asks != nil {
			return
		}
	}
}

// units are those of clearances.
func (s *script) units() shim.Unit { return s.engine.Units.Clearance }

// sizeUnits are those of shims.
func (s *script) sizeUnits() shim.Unit { return s.engine.Units.Size }

// yesNo are the answers where something is or is not.
var yesNo = []string{"yes", "no"}

// head asks what the head is like.
func (s *script) head() {
	e := s.engine
	s.ask(Question{Topic: Name}, func(text string) error {
		e.Name = strings.Join(strings.Fields(text), " ")
		return s.sound("name")
	})
	s.choose(Question{Topic: Layout, Choices: Layouts}, func(word string) error {
		s.like = layouts[word]
		return nil
	})
	s.ask(Question{Topic: Cylinders, Usual: s.like.cylinders}, func(text string) (err error) {
		if e.Cylinders, err = whole(text); err != nil {
			return err
		}
		return s.sound("cylinders")
	})
}

// valves asks how many there are to adjust.
func (s *script) valves() {
	for _, side := range shim.Sides {
		s.ask(Question{Topic: Valves, Part: Part{Side: side}, Usual: s.like.valves}, func(text string) error {
			n, err := whole(text)
			if err != nil {
				return err
			}
			if n != 0 {
				*s.side(side) = shim.Train{Valves: n, Ratio: shim.Ratio{Times: shim.One}}
			}
			if side == shim.Intake && n == 0 {
				return nil // the exhaust may have some
			}
			return s.sound(shim.Intake.String()+".valves", shim.Exhaust.String()+".valves")
		})
	}
}

func (s *script) intakeSide() {
	s.choose(Question{Topic: IntakeSide, Choices: shim.Placings, Usual: shim.Placings[0]}, func(word string) (err error) {
		s.engine.IntakeSide, err = shim.ParsePlacing(word)
		return err
	})
}

// closers asks which sides have any, where the layout has.
func (s *script) closers() {
	for _, side := range shim.Sides {
		if s.like.closers && s.engine.Train(side).Valves > 0 {
			s.choose(Question{Topic: Closer, Part: Part{Side: side}, Choices: yesNo, Usual: yesNo[0]}, func(word string) error {
				if word == yesNo[0] {
					s.side(side).Closer = &shim.Closer{Ratio: shim.Ratio{Times: shim.One}}
				}
				return nil
			})
		}
	}
}

// side is the train to fill in.
func (s *script) side(side shim.Side) *shim.Train {
	if side == shim.Exhaust {
		return &s.engine.Exhaust
	}
	return &s.engine.Intake
}

// banks asks for the cylinders of each bank.
func (s *script) banks() {
	e := s.engine
	if e.Cylinders < 2 {
		return
	}
	q := Question{Topic: Banks, Optional: !s.like.banks}
	if s.like.banks && e.Cylinders == 2 {
		q.Usual = "1 / 2"
	}
	s.ask(q, func(text string) (err error) {
		if text == "" {
			return nil
		}
		if e.Banks, err = banks(text); err != nil {
			return err
		}
		return s.sound("banks")
	})
}

// firing asks for the firing order, and for intervals that are not even.
func (s *script) firing() {
	e := s.engine
	if e.Cylinders == 1 {
		e.FiringOrder = []int{1}
		return
	}
	s.ask(Question{Topic: FiringOrder, Optional: true}, func(text string) (err error) {
		if e.FiringOrder, err = order(text); err != nil {
			return err
		}
		return s.sound("firing_order")
	})
	if len(e.FiringOrder) == 0 {
		return
	}
	s.ask(Question{Topic: FiringIntervals, Optional: true}, func(text string) error {
		for _, part := range strings.FieldsFunc(text, between) {
			n, err := degrees(part)
			if err != nil {
				return err
			}
			e.FiringIntervals = append(e.FiringIntervals, n)
		}
		return s.sound("firing_intervals")
	})
}

// driveEnd asks which cylinder stands at the cam drive: banks and letters are
// counted from there.
func (s *script) driveEnd() {
	e := s.engine
	bank := e.BankList()[0]
	if len(bank) < 2 {
		return
	}
	first, last := strconv.Itoa(bank[0]), strconv.Itoa(bank[len(bank)-1])
	s.ask(Question{Topic: DriveEnd, Choices: []string{first, last}, Usual: first}, func(text string) error {
		switch text {
		case first:
		case last:
			banks := e.BankList()
			for _, bank := range banks {
				slices.Reverse(bank)
			}
			e.Banks = banks
		default:
			return shim.Fail(nil, "type "+first+" or "+last+", or back to list the cylinders of the banks in another order", "%q stands at no end of the first bank", text)
		}
		return nil
	})
}

// rules asks how shims are reached, and in which units figures stand.
func (s *script) rules() {
	e := s.engine
	access := []string{"under", "top"}
	s.choose(Question{Topic: Access, Choices: access}, func(word string) error {
		if word == access[1] {
			e.Access = shim.ByValve
		}
		return nil
	})
	if e.Access == shim.ByValve {
		s.ask(Question{Topic: DepressOffset, Optional: true}, func(text string) (err error) {
			if text == "" {
				return nil
			}
			if e.DepressOffset, err = degrees(text); err != nil {
				return err
			}
			return s.sound("depress_offset")
		})
	}
	if e.Intake.Valves > 0 && e.Exhaust.Valves > 0 {
		cams := []string{"per-side", "shared"}
		s.choose(Question{Topic: Camshafts, Choices: cams, Usual: cams[0]}, func(word string) error {
			e.SharedCams = word == cams[1]
			return nil
		})
	}
	s.choose(Question{Topic: Units, Choices: []string{shim.MM.String(), shim.IN.String()}}, func(word string) error {
		u, err := shim.ParseUnit(word)
		e.Units = u.Both()
		return err
	})
	s.choose(Question{Topic: ShimUnits, Choices: []string{shim.MM.String(), shim.IN.String()}, Usual: e.Units.Clearance.String()}, func(word string) (err error) {
		e.Units.Size, err = shim.ParseUnit(word)
		return err
	})
	s.choose(Question{Topic: State, Choices: shim.States, Usual: shim.States[0]}, func(word string) (err error) {
		e.State, err = shim.ParseState(word)
		return err
	})
}

// timings asks when the valves open and close, which bounds where they can be
// measured and pressed.
func (s *script) timings() {
	for _, side := range shim.Sides {
		t := s.side(side)
		if t.Valves == 0 {
			continue
		}
		s.ask(Question{Topic: Timing, Part: Part{Side: side}, Optional: true}, func(text string) (err error) {
			if text == "" {
				return nil
			}
			if t.Timing, err = timing(text); err != nil {
				return err
			}
			return s.sound(side.String() + ".timing")
		})
	}
}

// before asks what the manual wants done before measuring.
func (s *script) before() {
	e := s.engine
	b := func() *shim.Before {
		if e.Before == nil {
			e.Before = &shim.Before{}
		}
		return e.Before
	}
	for i, more := 0, true; more && s.asks == nil; i++ {
		more = false
		s.ask(Question{Topic: BeforeLine, Part: Part{Range: i}, Optional: true}, func(text string) error {
			if text = strings.Join(strings.Fields(text), " "); text == "" {
				return nil
			}
			more = true
			b().Lines = append(b().Lines, text)
			return s.sound("before.lines")
		})
	}
	s.ask(Question{Topic: Turns, Optional: true}, func(text string) (err error) {
		if text == "" || text == "0" {
			return nil
		}
		if b().Turns, err = whole(text); err != nil {
			return err
		}
		return s.sound("before.turns")
	})
	s.ask(Question{Topic: Celsius, Optional: true}, func(text string) (err error) {
		if text == "" {
			return nil
		}
		if b().Temperature, err = celsius(text); err != nil {
			return err
		}
		if err := s.sound("before.temperature"); err != nil {
			return err
		}
		if w := e.Before.Temperature; w.From.Fahrenheit(e.State) {
			return shim.Fail(nil, "type degrees Celsius, like 15-25", "%s is no cold engine: Fahrenheit?", w)
		}
		return nil
	})
}

// build asks for what only a fresh build needs.
func (s *script) build() {
	some := false
	s.choose(Question{Topic: Build, Choices: yesNo, Usual: yesNo[1]}, func(word string) error {
		some = word == yesNo[0]
		return nil
	})
	if !some {
		return
	}
	for _, side := range shim.Sides {
		t := s.side(side)
		if t.Valves == 0 {
			continue
		}
		part := Part{Side: side}
		s.allowance(part, &t.Allowance)
		length := func(topic Topic, key string, to *shim.Length) {
			s.ask(Question{Topic: topic, Part: part, Optional: true}, func(text string) (err error) {
				if text == "" {
					return nil
				}
				if *to, err = figure(text, s.sizeUnits()); err != nil {
					return err
				}
				if topic == StemGrind {
					t.StemGrindMax = to
				}
				return s.sound(part.key() + "." + key)
			})
		}
		length(StemGrind, "stem_grind_max", new(shim.Length))
		length(ShimProud, "shim_proud_min", &t.ShimProudMin)
		if t.Closer != nil {
			part.Closer = true
			s.allowance(part, &t.Closer.Allowance)
		}
	}
}

// allowance asks by how much what is measured in a fresh build changes.
func (s *script) allowance(part Part, to *shim.Allowance) {
	given := false
	length := func(topic Topic, key string, to *shim.Length) {
		s.ask(Question{Topic: topic, Part: part, Optional: true}, func(text string) (err error) {
			if text == "" {
				return nil
			}
			given = true
			if *to, err = figure(text, s.units()); err != nil {
				return err
			}
			return s.sound(part.key() + "." + key)
		})
	}
	length(Allowance, "allowance", &to.By)
	if given {
		length(AllowanceDoubt, "allowance_doubt", &to.Doubt)
	}
}

// exact takes mm as the unit of the file's clearances, or of its sizes, where one
// that was typed in mm has no exact decimals in inches.
func (s *script) exact() {
	e := s.engine
	if s.asks != nil {
		return
	}
	c, z := &e.Units.Clearance, &e.Units.Size
	inMM := func(u *shim.Unit, lengths ...shim.Length) {
		for _, l := range lengths {
			if l%inchExact != 0 {
				*u = shim.MM
			}
		}
	}
	sale := func(d shim.Length, ranges []shim.Range, marks shim.MarkList) {
		inMM(z, d)
		for _, r := range ranges {
			inMM(z, r.From, r.To, r.Step)
		}
		for _, m := range marks {
			inMM(z, m.Size)
		}
	}
	for _, side := range shim.Sides {
		t := s.side(side)
		inMM(c, t.Tight, t.Loose, t.Allowance.By, t.Allowance.Doubt)
		inMM(z, t.ShimProudMin)
		if t.StemGrindMax != nil {
			inMM(z, *t.StemGrindMax)
		}
		if k := t.Closer; k != nil {
			inMM(c, k.Tight, k.Loose, k.Allowance.By, k.Allowance.Doubt)
			sale(k.Diameter, k.Catalogue, k.Marks)
		}
	}
	sale(e.Diameter, e.Catalogue, e.Marks)
	if g := e.Gauge; g != nil {
		inMM(c, g.Step, g.Leaf)
		inMM(z, g.Stamp, g.Mic)
	}
}

// inchExact is 0.000005 in: what files write of an inch.
const inchExact = 127

// train asks what the maker wants of a side.
func (s *script) train(side shim.Side) {
	t := s.side(side)
	if t.Valves == 0 {
		return
	}
	part := Part{Side: side}
	s.limits(part, &t.Limits, &t.AimAt)
	s.ratio(part, t)
	if t.Closer != nil {
		part.Closer = true
		s.limits(part, &t.Closer.Limits, &t.Closer.AimAt)
	}
}

// key is how engine files call the part.
func (p Part) key() string {
	if p.Closer {
		return p.Side.String() + ".closer"
	}
	return p.Side.String()
}

// limits asks for the maker's limits, and where in them to end.
func (s *script) limits(part Part, to *shim.Limits, aim *shim.Factor) {
	from := len(s.trail)
	s.ask(Question{Topic: Limits, Part: part}, func(text string) (err error) {
		if *to, err = limits(text, s.units()); err != nil {
			return err
		}
		return s.sound(part.key() + ".clearance")
	})
	s.readBack(from, Question{Topic: Limits, Part: part, Doubt: to.Doubtful(s.units())})
	s.ask(Question{Topic: Aim, Part: part, Usual: "0.5"}, func(text string) (err error) {
		if *aim, err = factor(text); err != nil {
			return err
		}
		return s.sound(part.key() + ".aim")
	})
}

// ratio asks for a rocker's ratio, and where the gauge goes if it has one.
func (s *script) ratio(part Part, t *shim.Train) {
	rocker := shim.One
	s.ask(Question{Topic: RockerRatio, Part: part, Usual: "1"}, func(text string) (err error) {
		if rocker, err = factor(text); err != nil {
			return err
		}
		if rocker < shim.One/10 || rocker > 10*shim.One {
			return shim.Fail(nil, "valve lift over cam lift, like 1.4", "a rocker ratio of %s is not possible: 0.1 to 10", rocker)
		}
		return nil
	})
	if rocker == shim.One {
		return
	}
	ends := []string{"cam", "valve"}
	s.choose(Question{Topic: MeasuredAt, Part: part, Choices: ends}, func(word string) error {
		if word == ends[0] {
			t.Ratio = shim.RockerRatio(rocker)
		}
		return nil
	})
}

// shims asks for the diameter of the shims and the sizes on sale.
func (s *script) shims() {
	e := s.engine
	s.diameter(Part{}, "shims", &e.Diameter)
	s.catalogue(Part{}, "shims.catalogue", &e.Catalogue)
	s.markList(Part{}, "shims.marks", e.Catalogue, &e.Marks)
	for _, side := range shim.Sides {
		c := e.Train(side).Closer
		if c == nil {
			continue
		}
		part := Part{Side: side, Closer: true}
		same := false
		if in := e.Intake.Closer; side == shim.Exhaust && in != nil {
			s.choose(Question{Topic: SameShims, Part: part, Choices: yesNo, Usual: yesNo[0]}, func(word string) error {
				same = word == yesNo[0]
				if same {
					c.Family, c.Catalogue, c.Marks = in.Family, in.Catalogue, in.Marks
				}
				return nil
			})
		}
		if !same {
			c.Kind = shim.CloserKind
			s.diameter(part, part.key()+".shims", &c.Diameter)
			s.catalogue(part, part.key()+".shims.catalogue", &c.Catalogue)
			s.markList(part, part.key()+".shims.marks", c.Catalogue, &c.Marks)
		}
	}
}

// markList asks what is written on shims that do not bear their size.
func (s *script) markList(part Part, key string, sale []shim.Range, to *shim.MarkList) {
	if s.marks == nil {
		return
	}
	s.ask(Question{Topic: Marks, Part: part, Optional: true}, func(text string) (err error) {
		if text == "" {
			return nil
		}
		if *to, err = s.marks(text, s.sizeUnits(), sale); err != nil {
			return err
		}
		return s.sound(key)
	})
}

func (s *script) diameter(part Part, key string, to *shim.Length) {
	s.ask(Question{Topic: Diameter, Part: part}, func(text string) (err error) {
		u := s.sizeUnits()
		if *to, err = figureLike(text, u, u.Example("8.9", ".35")); err != nil {
			return err
		}
		if *to < shim.MinDiameter || *to > shim.MaxDiameter {
			return shim.Fail(nil, "measure a shim; a figure with mm or in behind it is taken too", "%s is not a plausible shim diameter: %s to %s %s", strings.TrimSpace(text), u.ShowUp(shim.MinDiameter, 0, 2), u.ShowDown(shim.MaxDiameter, 0, 2), u)
		}
		return s.sound(key + ".diameter")
	})
}

// catalogue asks for ranges of sizes until there is no further one.
func (s *script) catalogue(part Part, key string, to *[]shim.Range) {
	u := s.sizeUnits()
	for s.asks == nil {
		begun, more := len(s.trail), false
		part.Range = len(*to)
		var r shim.Range
		s.ask(Question{Topic: RangeFrom, Part: part, Optional: true}, func(text string) (err error) {
			if more = text != ""; more {
				r.From, err = size(text, u)
			}
			return err
		})
		if !more {
			return
		}
		s.ask(Question{Topic: RangeTo, Part: part}, func(text string) (err error) {
			if r.To, err = size(text, u); err == nil && r.To < r.From {
				err = shim.Fail(nil, "type the thickest size of the range; back to type the thinnest again", "%s is thinner than %s %s", text, u.Format(r.From), u)
			}
			return err
		})
		add := func() error {
			*to = append(*to, r)
			return s.sound(key)
		}
		if r.From != r.To {
			s.ask(Question{Topic: RangeStep, Part: part}, func(text string) (err error) {
				if r.Step, err = step(text, r, u); err != nil {
					return err
				}
				return add()
			})
		} else if s.asks == nil {
			r.Step, _ = u.Parse(u.Example("0.05", "0.002")) // none shows of a single size
			_ = add()                                       // both ends are plausible
		}
		s.ask(Question{Topic: RangePrice, Part: part, Optional: true}, func(text string) (err error) {
			if text != "" {
				(*to)[part.Range].Quote, err = price(text)
			}
			return err
		})
		s.readBack(begun, Question{Topic: RangeFrom, Part: part})
	}
}

// gauge asks for what the shop measures with.
func (s *script) gauge() {
	stated := false
	g := shim.UsualGauge
	length := func(topic Topic, key string, to *shim.Length, u shim.Unit) {
		q := Question{Topic: topic, Optional: topic == GaugeStep}
		if !q.Optional {
			q.Usual = u.Format(*to)
		}
		s.ask(q, func(text string) (err error) {
			if text == "" {
				return nil
			}
			stated = true
			s.engine.Gauge = &g
			if topic == GaugeStamp {
				g.Used = 0
			}
			if *to, err = figure(text, u); err != nil {
				return err
			}
			if g.Step == 0 {
				return shim.Fail(nil, "type the distance between neighbouring leaves, like "+u.Example("0.03", ".001"), "no set of leaves has steps of 0")
			}
			return s.sound("gauge." + key)
		})
	}
	length(GaugeStep, "step", &g.Step, s.units())
	if !stated {
		return
	}
	length(GaugeLeaf, "leaf", &g.Leaf, s.units())
	length(GaugeStamp, "stamp", &g.Stamp, s.sizeUnits())
	length(GaugeMic, "mic", &g.Mic, s.sizeUnits())
}
