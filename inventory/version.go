package inventory

import (
	"bytes"
	"context"
	"encoding/json"
	"slices"
	"strings"

	"shimwright/shim"
)

// SameModel tells whether two engine names mean one model: upper and lower case
// and blanks make no difference. Engine files of one model are its versions.
func SameModel(x, y string) bool {
	plain := func(s string) string { return strings.Join(strings.Fields(s), " ") }
	return strings.EqualFold(plain(x), plain(y))
}

// Versions picks the versions of a model out of engines, the oldest first.
func Versions(engines []Engine, name string) []Engine {
	return slices.DeleteFunc(slices.Clone(engines), func(e Engine) bool { return !SameModel(e.Spec.Name, name) })
}

func sameValves(x, y *shim.Engine) bool { return slices.Equal(x.Valves(), y.Valves()) }

// moveEngine lets a job go by another version of its engine file: new limits,
// another catalogue. Its readings stay, and so does what was fitted. A plan was
// made on the old limits and falls. The valves and the disc stay the same, and a
// job at its end always shows what it was done to. It is false where the job goes
// by that version already.
func (b *booking) moveEngine(w *work, o Opening) (bool, error) {
	switch {
	case w.State.Final():
		return false, w.fail("open a new job", "keeps the limits that it was done to")
	case !sameValves(&w.engine.Spec, &o.Spec) || w.Diameter != o.Spec.Diameter:
		return false, Fail(ErrInvalid, "open a new job for it", "%s has other valves or other shims than the engine of job %d", o.Spec.Name, w.ID)
	}
	engine, err := b.engine(o)
	if err != nil || engine == w.Engine {
		return false, err
	}
	w.Job.Engine, w.Job.Name = engine, o.Spec.Name
	if w.State != Open {
		w.State = Measured
	}
	return true, nil
}

// Empty lists the valves that stand empty in jobs at work.
func (s *Shop) Empty(ctx context.Context, jobs []Job) (empty map[int64][]shim.Valve, err error) {
	err = s.store.View(ctx, func(r Reader) error {
		empty = map[int64][]shim.Valve{}
		for _, j := range jobs {
			if j.State != Fitting && j.State != Measured {
				continue
			}
			w, err := load(r, j.ID)
			if err != nil {
				return err
			}
			empty[j.ID] = w.empty()
		}
		return nil
	})
	return empty, err
}

// KnownEngine tells whether the shop has had this very engine file.
func KnownEngine(engines []Engine, spec shim.Engine, source string) (Engine, bool) {
	data, err := json.Marshal(spec)
	if err != nil {
		return Engine{}, false
	}
	seal := Engine{Data: data, Source: source}.sealed().Seal
	at := slices.IndexFunc(engines, func(e Engine) bool { return e.Seal == seal })
	if at < 0 {
		at = slices.IndexFunc(engines, func(e Engine) bool { return e.Source == source && sameFigures(e.Spec, spec) })
	}
	if at < 0 {
		return Engine{}, false
	}
	return engines[at], true
}

// sameFigures tells whether two engines are one by value: a ratio that an earlier
// release kept as a decimal, 0.699301, is the fraction 1/1.43 that it was read from.
func sameFigures(x, y shim.Engine) bool {
	for _, e := range []*shim.Engine{&x, &y} {
		for _, t := range []*shim.Train{&e.Intake, &e.Exhaust} {
			t.Ratio = shim.Ratio{Times: shim.Factor(t.Ratio.Of(shim.Length(shim.One)))}
		}
	}
	first, err := json.Marshal(x)
	if err != nil {
		return false
	}
	second, err := json.Marshal(y)
	return err == nil && bytes.Equal(first, second)
}
