package inventory

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"regexp"
	"slices"
	"strings"
	"unicode"

	"shimwright/shim"
)

// An Engine is an engine file as the shop keeps it. A changed file is another
// engine, so a job always shows the limits that it was done to.
type Engine struct {
	ID     int64
	Spec   shim.Engine
	Data   json.RawMessage // Spec as JSON, as it was when the engine was added
	Source string          // the engine file's text
	Seal   Hash            // over Data and Source: what makes it this engine
}

// Read gives Spec as Data has it. A version that knew no error of used shims kept a gauge
// without one; where the file states no stamp it is the usual one, as the file says today.
func (e *Engine) Read() error {
	err := json.Unmarshal(e.Data, &e.Spec)
	if g := e.Spec.Gauge; err == nil && g != nil && g.Used == 0 && g.Stamp == shim.UsualGauge.Stamp && e.Source != "" && !statesStamp.MatchString(e.Source) {
		g.Used = shim.UsualGauge.Used
	}
	return err
}

// statesStamp finds the key stamp in an engine file, outside a comment.
var statesStamp = regexp.MustCompile(`(?m)^[^#\n]*\bstamp["\s]*=`)

// engine finds the engine or adds it.
func (b *booking) engine(o Opening) (int64, error) {
	data, err := json.Marshal(o.Spec)
	if err != nil {
		return 0, err
	}
	e := Engine{Spec: o.Spec, Data: data, Source: o.Source}.sealed()
	known, err := b.FindEngine(e.Seal)
	switch {
	case err == nil:
		return known.ID, nil
	case !errors.Is(err, ErrUnknown):
		return 0, err
	}
	had, err := b.Engines(Page{})
	if err != nil {
		return 0, err
	}
	if known, found := KnownEngine(had, o.Spec, o.Source); found {
		return known.ID, nil
	}
	return b.AddEngine(e)
}

// Engines lists the engines that the shop has had.
func (s *Shop) Engines(ctx context.Context, p Page) (list []Engine, err error) {
	err = s.store.View(ctx, func(r Reader) error {
		list, err = r.Engines(p)
		return err
	})
	return list, err
}

// SameModel reports whether two engine names mean the same model, ignoring case
// and spaces. Engine files of one model are its versions.
func SameModel(x, y string) bool {
	plain := func(s string) string { return strings.Join(strings.Fields(s), " ") }
	return strings.EqualFold(plain(x), plain(y))
}

// Versions picks the versions of a model out of engines, the oldest first.
func Versions(engines []Engine, name string) []Engine {
	return slices.DeleteFunc(slices.Clone(engines), func(e Engine) bool { return !SameModel(e.Spec.Name, name) })
}

func sameValves(x, y *shim.Engine) bool { return slices.Equal(x.Valves(), y.Valves()) }

// SameParts reports whether two engine files have the same valves, with shims of the
// same families: a job can change from one to the other.
func SameParts(x, y *shim.Engine) bool {
	return sameValves(x, y) && !slices.ContainsFunc(x.Valves(), func(v shim.Valve) bool { return x.FamilyOf(v) != y.FamilyOf(v) })
}

// moveEngine lets a job go by another version of its engine file: new limits,
// another catalogue. Its readings stay, and so does what was fitted. A plan was
// made on the old limits and falls. The valves and the disc stay the same, and a
// job at its end always shows what it was done to. It is false where the job goes
// by that version already.
func (b *booking) moveEngine(w *work, o Opening) (bool, error) {
	switch {
	case w.State.Final():
		return false, w.fail("open a new job", "keeps the limits it was done to")
	case !SameParts(&w.engine.Spec, &o.Spec):
		return false, shim.Fail(ErrInvalid, "open a new job for it", "%s has different valves or shims from the machine of job %d", o.Spec.Name, w.ID)
	}
	engine, err := b.engine(o)
	if err != nil || engine == w.Engine {
		return false, err
	}
	w.Job.Engine, w.Job.Name = engine, o.Spec.Name
	if w.State != StateOpen {
		w.State = StateMeasured
	}
	return true, nil
}

// Empty lists the valves with no shim fitted in open jobs.
func (s *Shop) Empty(ctx context.Context, jobs []Job) (empty map[int64][]shim.Valve, err error) {
	err = s.store.View(ctx, func(r Reader) error {
		empty = map[int64][]shim.Valve{}
		for _, j := range jobs {
			if j.State != StateFitting && j.State != StateMeasured {
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

// KnownEngine reports whether the shop has had exactly this engine file.
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

// sameFigures reports whether two engines are one by value: a ratio that an earlier
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

// TagKey is what two tags are compared by: letters in lower case, without
// blanks and dashes. "AB-123", "ab 123" and "AB123" are one machine.
func TagKey(tag string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsSpace(r) || unicode.Is(unicode.Pd, r) {
			return -1
		}
		return unicode.ToLower(r)
	}, tag)
}

// matches reports whether a tag matches the filter.
func (f JobFilter) matches(tag string) bool {
	key := TagKey(tag)
	return (f.Tag == "" || key == TagKey(f.Tag)) && (f.TagPart == "" || strings.Contains(key, TagKey(f.TagPart)))
}

// Tags gives those of the tags that the filter lets through, for a store that
// looks jobs up by their exact tag.
func (f JobFilter) Tags(all []string) []string {
	var list []string
	for _, tag := range all {
		if f.matches(tag) {
			list = append(list, tag)
		}
	}
	return list
}
