package inventory

import (
	"context"
	"fmt"
	"maps"
	"slices"
	"time"

	"shimwright/shim"
)

// A CheckKind says at which stage of a job a check was made.
type CheckKind string

// A Check is one round of measuring: a reading of every valve that was reached.
type Check struct {
	Job      int64
	Number   int // 1, 2, 3, … within the job
	Kind     CheckKind
	Seq      int64 // the ledger's last row when the check was entered
	Time     time.Time
	Who      string
	Note     string
	Readings []shim.Measurement
	// Gauge is the set that it was made with, as it was then; the zero set where nobody
	// said. What is changed of the set later leaves the check as it is.
	Gauge Gauge
	Seal  Hash // the store's; rules see none
}

// The kinds of check.
const (
	CheckBefore  CheckKind = "before"
	CheckRecheck CheckKind = "recheck"
)

// Read enters a check. Before the fit it makes the job measured, and a plan
// made on older readings no longer stands; after it the check is the recheck,
// and the plan that was fitted stands until another shim is changed.
func (s *Shop) Read(ctx context.Context, job int64, readings []shim.Measurement, note string) (check Check, err error) {
	return s.ReadWith(ctx, job, readings, note, 0)
}

// ReadWith is [Shop.Read] of a check that was made with a set of gauges, 0 for
// none that was named.
func (s *Shop) ReadWith(ctx context.Context, job int64, readings []shim.Measurement, note string, set int64) (check Check, err error) {
	_, err = s.update(ctx, func(b *booking) error {
		w, err := load(b, job)
		if err != nil {
			return err
		}
		check = Check{Job: job, Number: w.entered + 1, Seq: b.last.Seq, Time: b.at, Who: s.who, Note: note}
		if check.Gauge, err = gaugeThen(b, set); err != nil {
			return err
		}
		switch w.State {
		case StateOpen, StateMeasured, StatePlanned:
			check.Kind = CheckBefore
			if w.anyFitted() {
				check.Kind = CheckRecheck
			}
			switch stands, err := b.restand(w); {
			case err != nil:
				return err
			case stands:
				w.State = StateRechecked
			default:
				w.State = StateMeasured
			}
		case StateFitted, StateRechecked:
			check.Kind = CheckRecheck
			w.State = StateRechecked
		case StateFitting:
			return w.fail("fit the rest of the plan, or plan again", "cannot take readings until all its shims are fitted")
		default:
			return w.fail("open a new job", "takes no more readings")
		}
		if check.Readings, err = w.readings(check.Gauge.Made(readings)); err != nil {
			return err
		}
		if err := validText("note", note); err != nil {
			return err
		}
		if err := b.AddCheck(check); err != nil {
			return err
		}
		if err := b.PutJob(w.Job); err != nil {
			return err
		}
		return b.settle(job)
	})
	return check, err
}

// fail returns an error about the job's state.
func (w *work) fail(hint, text string) error {
	return shim.Fail(ErrState, hint, "job %d is %s and %s", w.ID, w.State, text)
}

// readings checks that each valve belongs to the engine and appears once.
func (w *work) readings(list []shim.Measurement) ([]shim.Measurement, error) {
	if len(list) == 0 {
		return nil, shim.Fail(ErrInvalid, "give one reading for each valve", "there are no readings")
	}
	list, err := w.reloaded(list)
	if err != nil {
		return nil, err
	}
	seen := map[shim.Valve]bool{}
	empty := w.empty()
	clean := make([]shim.Measurement, 0, len(list))
	for _, m := range list {
		v, err := w.valve(m.Valve)
		if err != nil {
			return nil, err
		}
		if seen[v] {
			return nil, shim.Fail(ErrInvalid, "give one reading for each valve", "duplicate reading for valve %s", v)
		}
		if m.Reading.Kind != shim.Unread && slices.Contains(empty, v) {
			return nil, shim.Fail(ErrInvalid, "fit its shim first", "valve %s has no shim fitted and cannot be measured", v)
		}
		seen[v] = true
		m.Valve, m.With = v, shim.Gauge{}
		m.Reading = w.engine.Spec.Counted(m.Reading)
		if first, second, twice := m.Reading.Loaded().Twice(); twice {
			if _, err := first.And(second); err != nil {
				return nil, shim.Fail(ErrInvalid, "", "valve %s: %w", v, err)
			}
		}
		for _, c := range []shim.Length{m.Reading.Low, m.Reading.High, m.Reading.Second.Low, m.Reading.Second.High} {
			if err := shim.ImplausibleClearance(c, shim.MM); err != nil && !(w.Build && 0 <= c && c <= shim.MaxSetUpGap) {
				return nil, shim.Fail(ErrInvalid, "", "valve %s: %w", v, err)
			}
		}
		seat := w.seat(v, forever)
		if w.Build && !seat.SetUp && other(m.Marks, seat.Marks) {
			// A set-up shim is in again: it must not pass for the valve's own.
			return nil, shim.Fail(ErrInvalid, fmt.Sprintf("put the %s back in, or take the fit back first with box undo; if another shim of the valve's own is in, book it with job correct", shim.MM.FormatAtLeast(seat.Size(), 3)),
				"valve %s: this fresh build has fitted %s mm, the reading names another shim", v, shim.MM.FormatAtLeast(seat.Size(), 3))
		}
		if w.Build && seat.SetUp {
			if err := w.engine.Spec.TrainOf(v).ImplausibleSetUp(m.Reading, m.Size(), w.engine.Spec.Units.Clearance); err != nil {
				return nil, shim.Fail(ErrInvalid, "", "valve %s: %w", v, err)
			}
		}
		for _, size := range []shim.Length{m.Stamp, m.Mic} {
			if err := shim.ImplausibleSize(size, shim.MM); size != 0 && err != nil {
				return nil, shim.Fail(ErrInvalid, "", "valve %s: %w", v, err)
			}
		}
		if err := validText("note", m.Note); err != nil {
			return nil, err
		}
		clean = append(clean, m)
	}
	shim.SortMeasurements(clean)
	return clean, nil
}

// latest gives, for each valve that was read, its last reading with the shim
// that sat in it then, and the check it comes from.
func (w *work) latest() (map[shim.Valve]shim.Measurement, map[shim.Valve]Check) {
	return w.latestOf(CheckBefore, CheckRecheck)
}

// latestOf is latest among the checks of some kinds.
func (w *work) latestOf(kinds ...CheckKind) (readings map[shim.Valve]shim.Measurement, from map[shim.Valve]Check) {
	readings, from = map[shim.Valve]shim.Measurement{}, map[shim.Valve]Check{}
	for _, c := range w.checks {
		if !slices.Contains(kinds, c.Kind) {
			continue
		}
		for _, m := range c.Readings {
			if m.Reading.Kind == shim.Unread {
				continue
			}
			switch {
			case m.Size() == 0 && w.seat(m.Valve, c.Seq).SetUp: // measured without a shim
			case m.Size() == 0:
				m.Stamp, m.Mic = w.sat(m.Valve, c.Seq)
			default:
				sat := w.seat(m.Valve, c.Seq).told(m.Stamp, m.Mic)
				m.Stamp, m.Mic = sat.Stamp, sat.Mic
			}
			if out, told := w.cameOut(m.Valve, c.Seq); told {
				m.Stamp, m.Mic = out.Stamp, out.Mic
			}
			m, _ = w.engine.Spec.AtLimits(m)
			readings[m.Valve], from[m.Valve] = m, c
		}
	}
	return readings, from
}

// readAs lists the last reading of each valve among the checks of a kind.
func (w *work) readAs(kind CheckKind) []shim.Measurement {
	readings, _ := w.latestOf(kind)
	list := slices.Collect(maps.Values(readings))
	shim.SortMeasurements(list)
	return list
}

// cameOut is what came out of the valve that held one and the same shim since
// the ledger's last row was seq: known in the hand, it is what was measured over.
func (w *work) cameOut(v shim.Valve, seq int64) (Movement, bool) {
	for _, m := range w.moves {
		if m.Valve == v && m.Seq > seq && (m.Kind == KindPulled || m.Kind == KindFitted) {
			return m, m.Kind == KindPulled
		}
	}
	return Movement{}, false
}

// otherwise lists the shims that came out of valves as the plan is fitted and
// are of another size than the readings that it was made on say.
func (w *work) otherwise() (list []Seat) {
	for _, v := range w.engine.Spec.Valves() {
		for _, c := range slices.Backward(w.checks) {
			if c.Seq > w.plan.Seq || !slices.ContainsFunc(c.Readings, func(m shim.Measurement) bool { return m.Valve == v && m.Reading.Kind != shim.Unread }) {
				continue
			}
			sat := w.seat(v, w.plan.Seq)
			if out, told := w.cameOut(v, c.Seq); told && out.Seq > w.plan.Seq && sat.Size() != 0 && out.Size() != sat.Size() {
				list = append(list, Seat{Valve: v, Marks: out.Marks})
			}
			break
		}
	}
	return list
}

// expect is the clearance that a shim leaves in the valve by its last reading,
// false where none tells.
func (w *work) expect(v shim.Valve, size shim.Length) (shim.Length, bool) {
	latest, _ := w.latest()
	setting, known := w.engine.Spec.Setting(latest[v])
	if m, read := latest[v]; w.Build && read {
		setting, known = w.engine.Spec.SettingOf(m)
	}
	if !known || size == 0 {
		return 0, false
	}
	return setting.Expect(size), true
}

// serves reports whether a shim of this size does as well as the planned one:
// inside the limits, or no farther outside them.
func (w *work) serves(p Placement, size shim.Length) bool {
	got, known := w.expect(p.Valve, size)
	want, _ := w.expect(p.Valve, p.Size)
	limits := w.engine.Spec.TrainOf(p.Valve).Limits
	return size == p.Size || known && (limits.Contain(got) || limits.Room(got) >= limits.Room(want))
}

// sat returns the shim in the valve when the ledger's last row was seq.
// Where nobody knew it then it may have been told later: by the row that
// pulled it, or by a check while it was still in.
func (w *work) sat(v shim.Valve, seq int64) (stamp, mic shim.Length) {
	seat := w.seat(v, seq)
	if seat.Empty || seat.Size() != 0 {
		return seat.Stamp, seat.Mic
	}
	for _, m := range w.moves {
		if m.Valve == v && m.Kind == KindPulled && m.Seq > seq {
			return m.Stamp, m.Mic
		}
	}
	seat = w.seat(v, forever)
	return seat.Stamp, seat.Mic
}

// other reports whether what was read of a shim is not the one that is booked.
func other(read, booked shim.Marks) bool {
	switch {
	case read.Size() == 0 || booked.Size() == 0:
		return false
	case read.Stamp != 0 && booked.Stamp != 0:
		return read.Stamp != booked.Stamp
	}
	return (read.Size() - booked.Size()).Abs() >= shim.WornApart
}
