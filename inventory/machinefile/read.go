package machinefile

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"shimwright/inventory"
	"shimwright/shim"
	"shimwright/shim/files"
)

// Read reads a machine's file. An error says in one line where the file, called
// name, is wrong; nothing of it is given then. Fields that are not known are of a
// later release and passed over.
func Read(name string, r io.Reader) (f inventory.MachineFile, err error) {
	text, err := io.ReadAll(files.Bound(name, r, Megabytes))
	if err != nil {
		return f, err
	}
	if !utf8.Valid(text) {
		return f, fault(name, 0, 0, "", "not a machine file: it is not UTF-8 text", "give a file of shimwright machine export")
	}
	text = bytes.TrimPrefix(text, []byte("\xef\xbb\xbf"))
	var form fileForm
	if err := json.Unmarshal(text, &form); err != nil {
		return f, broken(name, text, err)
	}
	switch {
	case form.Format != format:
		return f, fault(name, 0, 0, "format", fmt.Sprintf("not a machine file: it has no format %q", format), "give a file of shimwright machine export")
	case form.Version < 1:
		return f, fault(name, 0, 0, "version", "it has no version", "export the machine again")
	case form.Version > version:
		return f, fault(name, 0, 0, "version", fmt.Sprintf("version %d is newer than this program knows", form.Version), "install the newer release")
	case inventory.TagKey(form.Machine.Tag) == "" || form.Machine.Model == "":
		return f, fault(name, 0, 0, "machine", "it needs a tag and a model", "export the machine again")
	case len(form.Visits) > maxVisits || len(form.Models) > maxModels || len(form.Gauges) > maxGauges:
		return f, fault(name, 0, 0, "", fmt.Sprintf("more than %d visits, %d models or %d gauges", maxVisits, maxModels, maxGauges), "is it the right file?")
	}
	d := reader{name: name}
	f.Machine = inventory.Machine{Tag: form.Machine.Tag, Model: form.Machine.Model, Number: form.Machine.Number, Owner: form.Machine.Owner}
	for i, text := range form.Models {
		if err := d.model(fmt.Sprintf("models[%d]", i), text); err != nil {
			return inventory.MachineFile{}, err
		}
	}
	exported, err := d.time("exported", time.RFC3339, form.Exported, false)
	if err != nil {
		return inventory.MachineFile{}, err
	}
	for i, text := range form.Gauges {
		if err := d.gauge(fmt.Sprintf("gauges[%d]", i), text); err != nil {
			return inventory.MachineFile{}, err
		}
	}
	seen := map[string]bool{}
	for i, text := range form.Visits {
		at := fmt.Sprintf("visits[%d]", i)
		v, err := d.visit(at, text)
		if err == nil && !exported.IsZero() && latest(v).After(exported) {
			err = d.fault(at, "it is of "+latest(v).Format(time.DateOnly)+", later than the export", again)
		}
		if err == nil && seen[v.Imported.ID] {
			err = d.fault(at+".id", "two visits have this id", "export the machine again")
		}
		if err == nil && !inventory.SameModel(v.Engine.Spec.Name, f.Machine.Model) {
			err = d.fault(at+".model", fmt.Sprintf("it is a %s, the machine a %s", v.Engine.Spec.Name, f.Machine.Model), "export the machine again")
		}
		if err != nil {
			return inventory.MachineFile{}, err
		}
		seen[v.Imported.ID] = true
		f.Visits = append(f.Visits, v)
	}
	return f, nil
}

// latest is the latest time of a visit.
func latest(v inventory.Visit) time.Time {
	times := []time.Time{v.Job.Opened, v.Job.Changed, v.Edited, v.Before, v.After}
	if v.Imported != nil {
		times = append(times, v.Imported.Changed)
	}
	for _, c := range v.Certificates {
		times = append(times, c.Issued)
	}
	return slices.MaxFunc(times, time.Time.Compare)
}

func fault(file string, line, column int, subject, message, hint string) error {
	return files.Fault{File: file, Line: line, Column: column, Subject: subject, Hinted: shim.Hinted{Message: message, Hint: hint}}
}

const again = "the file is damaged or was changed; have it exported again"

// broken says where a text is no JSON of ours.
func broken(name string, text []byte, err error) error {
	var syntax *json.SyntaxError
	var kind *json.UnmarshalTypeError
	offset, subject, message := int64(-1), "", "not valid JSON: "+err.Error()
	switch {
	case errors.As(err, &syntax):
		offset = syntax.Offset
	case errors.As(err, &kind):
		offset, subject, message = kind.Offset, kind.Field, fmt.Sprintf("a %s does not belong here", kind.Value)
	}
	line, column := 0, 0
	if offset >= 0 {
		before := text[:min(offset, int64(len(text)))]
		line = 1 + bytes.Count(before, []byte("\n"))
		column = max(1, len(before)-1-bytes.LastIndexByte(before, '\n'))
	}
	return fault(name, line, column, subject, message, again)
}

// A reader reads the parts of one file.
type reader struct {
	name   string
	models []inventory.Engine
	gauges []inventory.Gauge
}

func (d *reader) fault(at, message, hint string) error {
	return fault(d.name, 0, 0, at, message, hint)
}

// part reads one part of the file.
func (d *reader) part(at string, text json.RawMessage, into any) error {
	if string(bytes.TrimSpace(text)) == "null" {
		return d.fault(at, "nothing stands here", again)
	}
	err := json.Unmarshal(text, into)
	if err == nil {
		return nil
	}
	var kind *json.UnmarshalTypeError
	if errors.As(err, &kind) {
		if kind.Field != "" {
			at += "." + kind.Field
		}
		return d.fault(at, fmt.Sprintf("a %s does not belong here", kind.Value), again)
	}
	return d.fault(at, err.Error(), again)
}

func (d *reader) model(at string, text json.RawMessage) error {
	var form modelForm
	if err := d.part(at, text, &form); err != nil {
		return err
	}
	spec, _, err := files.ReadEngine(at+".engine_file", strings.NewReader(form.EngineFile))
	if err != nil {
		var faults files.Faults
		if errors.As(err, &faults) && len(faults) > 0 {
			first := faults[0]
			return d.fault(fmt.Sprintf("%s, line %d", first.File, first.Line), strings.TrimPrefix(first.Subject+": "+first.Message, ": "), again)
		}
		return d.fault(at+".engine_file", err.Error(), again)
	}
	d.models = append(d.models, inventory.Engine{Spec: *spec, Source: form.EngineFile})
	return nil
}

func (d *reader) gauge(at string, text json.RawMessage) (err error) {
	var form gaugeForm
	if err := d.part(at, text, &form); err != nil {
		return err
	}
	g := inventory.Gauge{Name: form.Name, Number: form.Number, Spec: shim.Gauge{Step: form.Step, Leaf: form.Leaf, Stamp: form.Stamp, Used: form.Used, Mic: form.Mic}}
	if problems := g.Spec.Validate(); g.Spec != (shim.Gauge{}) && len(problems) > 0 {
		return d.fault(at+"."+problems[0].Key, problems[0].Message, again)
	}
	if g.Calibrated, err = d.time(at+".calibrated", time.DateOnly, form.Calibrated, false); err != nil {
		return err
	}
	if g.Due, err = d.time(at+".due", time.DateOnly, form.Due, false); err != nil {
		return err
	}
	d.gauges = append(d.gauges, g)
	return nil
}

func (d *reader) time(at, layout, text string, needed bool) (time.Time, error) {
	if text == "" && !needed {
		return time.Time{}, nil
	}
	t, err := time.Parse(layout, text)
	if err != nil || t.UTC().Year() < 1900 || t.UTC().Year() > 9999 {
		return time.Time{}, d.fault(at, fmt.Sprintf("%.40q is not a date like %s", text, layout), again)
	}
	return t.UTC(), nil
}

func (d *reader) visit(at string, text json.RawMessage) (v inventory.Visit, err error) {
	var form visitForm
	if err := d.part(at, text, &form); err != nil {
		return v, err
	}
	from := &inventory.Imported{ID: form.ID, Shop: form.Shop, Job: form.Job}
	v.Imported = from
	v.Job = inventory.Job{Tag: form.Tag, Meter: form.Meter, Note: form.Note, State: inventory.State(form.State), Who: form.Who, Anyway: form.Anyway,
		MeterNew: form.Before, Reset: form.Reset, Build: form.Build}
	switch {
	case form.ID == "" || len(form.ID) > 64 || strings.ContainsFunc(form.ID, func(c rune) bool { return !strings.ContainsRune("0123456789abcdef", c) }):
		return v, d.fault(at+".id", "it is no id of a visit", again)
	case !slices.Contains(inventory.States, v.Job.State):
		return v, d.fault(at+".state", fmt.Sprintf("%.40q is no state of a job", form.State), again)
	case form.Model < 0 || form.Model >= len(d.models):
		return v, d.fault(at+".model", fmt.Sprintf("there is no models[%d]", form.Model), again)
	}
	for _, t := range []struct {
		key, text string
		into      *time.Time
		needed    bool
	}{{"opened", form.Opened, &v.Job.Opened, true}, {"changed", form.Changed, &from.Changed, true}, {"found_at", form.FoundAt, &v.Before, false}, {"left_at", form.LeftAt, &v.After, false}} {
		if *t.into, err = d.time(at+"."+t.key, time.RFC3339, t.text, t.needed); err != nil {
			return v, err
		}
	}
	if err := inventory.OnTime(v.Job.Opened); err != nil {
		return v, d.fault(at+".opened", err.Error(), again)
	}
	v.Job.Changed = from.Changed
	v.Engine = d.models[form.Model]
	v.Job.Name, v.Job.Diameter = v.Engine.Spec.Name, v.Engine.Spec.Diameter
	for i, number := range form.Gauges {
		if number < 0 || number >= len(d.gauges) {
			return v, d.fault(fmt.Sprintf("%s.gauges[%d]", at, i), fmt.Sprintf("there is no gauges[%d]", number), again)
		}
		v.Gauges = append(v.Gauges, d.gauges[number])
	}
	for _, text := range form.Certificates {
		var plain bytes.Buffer
		_ = json.Compact(&plain, text) // it was read as JSON
		from.Certificates = append(from.Certificates, plain.Bytes())
	}
	valves := map[string]shim.Valve{}
	for _, valve := range v.Engine.Spec.Valves() {
		valves[valve.String()] = valve
	}
	if v.Found, err = d.readings(at+".found", form.Found, valves, form.Build); err != nil {
		return v, err
	}
	if v.Left, err = d.readings(at+".left", form.Left, valves, form.Build); err != nil {
		return v, err
	}
	seen := map[shim.Valve]bool{}
	for i, text := range form.Shims {
		at := fmt.Sprintf("%s.shims[%d]", at, i)
		var form shimForm
		if err := d.part(at, text, &form); err != nil {
			return v, err
		}
		s := inventory.Seat{Empty: form.Empty, SetUp: form.SetUp}
		if s.Valve, err = d.valve(at, form.Valve, valves, seen); err != nil {
			return v, err
		}
		if s.Marks, err = d.marks(at, form.Stamp, form.Mic); err != nil {
			return v, err
		}
		v.Seats = append(v.Seats, s)
	}
	return v, nil
}

func (d *reader) valve(at, name string, valves map[string]shim.Valve, seen map[shim.Valve]bool) (shim.Valve, error) {
	v, known := valves[name]
	switch {
	case !known:
		return v, d.fault(at+".valve", fmt.Sprintf("the model has no valve %.40q", name), again)
	case seen[v]:
		return v, d.fault(at+".valve", "duplicate row for valve "+name, again)
	}
	seen[v] = true
	return v, nil
}

func (d *reader) marks(at string, stamp, mic *shim.Length) (m shim.Marks, err error) {
	for _, l := range []struct {
		key  string
		told *shim.Length
		into *shim.Length
	}{{"stamp_mm", stamp, &m.Stamp}, {"mic_mm", mic, &m.Mic}} {
		if l.told == nil {
			continue
		}
		if err := shim.ImplausibleSize(*l.told, shim.MM); err != nil {
			return m, d.fault(at+"."+l.key, err.Error(), again)
		}
		*l.into = *l.told
	}
	return m, nil
}

func (d *reader) readings(at string, list []json.RawMessage, valves map[string]shim.Valve, build bool) (read []shim.Measurement, err error) {
	seen := map[shim.Valve]bool{}
	for i, text := range list {
		at := fmt.Sprintf("%s[%d]", at, i)
		var form readingForm
		if err := d.part(at, text, &form); err != nil {
			return nil, err
		}
		m := shim.Measurement{Note: form.Note, Temperature: form.Celsius}
		if m.Valve, err = d.valve(at, form.Valve, valves, seen); err != nil {
			return nil, err
		}
		if m.Marks, err = d.marks(at, form.Stamp, form.Mic); err != nil {
			return nil, err
		}
		if m.Reading, err = d.reading(at, &form, build); err != nil {
			return nil, err
		}
		if len(m.Note) > 2000 {
			return nil, d.fault(at+".note", "the note is longer than 2000 bytes", again)
		}
		read = append(read, m)
	}
	return read, nil
}

func (d *reader) reading(at string, form *readingForm, build bool) (r shim.Reading, err error) {
	named := false
	for kind, name := range kinds {
		if name == form.Kind {
			r.Kind, named = kind, true
		}
	}
	if !named {
		return r, d.fault(at+".kind", fmt.Sprintf("%.40q is no kind of reading", form.Kind), again)
	}
	most := shim.MaxClearance
	if build {
		most = max(most, shim.MaxSetUpGap)
	}
	take := func(key string, l *shim.Length, into *shim.Length) {
		if l == nil || err != nil {
			return
		}
		if *l < 0 || *l > most {
			err = d.fault(at+"."+key, fmt.Sprintf("%s mm is not a plausible clearance", l), again)
		}
		*into = *l
	}
	take("low_mm", form.Low, &r.Low)
	take("high_mm", form.High, &r.High)
	ordered := r.Low <= r.High
	switch r.Kind {
	case shim.Unread:
		ordered = form.Low == nil && form.High == nil && form.Second == nil && form.Unloaded == nil
	case shim.Single:
		ordered = form.Low != nil && form.High != nil && r.Low == r.High
	case shim.Bracket:
		ordered = form.Low != nil && form.High != nil && ordered
	case shim.Below:
		ordered = form.High != nil && ordered
	case shim.Above:
		ordered = form.Low != nil
	}
	if err == nil && !ordered {
		err = d.fault(at, fmt.Sprintf("low_mm and high_mm do not make a reading of kind %s", form.Kind), again)
	}
	if s := form.Second; s != nil {
		r.Second = shim.Second{Taken: true, Tighter: s.Tighter}
		take("second.low_mm", &s.Low, &r.Second.Low)
		take("second.high_mm", &s.High, &r.Second.High)
		if err == nil && s.Low > s.High {
			err = d.fault(at+".second", "low_mm is above high_mm", again)
		}
	}
	if u := form.Unloaded; u != nil {
		r.Unloaded.Twice = u.Twice
		take("unloaded.low_mm", &u.Low, &r.Unloaded.Low)
		take("unloaded.high_mm", &u.High, &r.Unloaded.High)
		take("unloaded.below_mm", &u.Most, &r.Unloaded.Most)
	}
	for key, l := range map[string]shim.Length{"shifted_mm": form.Shifted, "open_mm": form.Open} {
		if err == nil && l.Abs() > shim.MaxClearance {
			err = d.fault(at+"."+key, fmt.Sprintf("%s mm is not plausible", l), again)
		}
	}
	r.Shifted, r.Open, r.Unconverted = form.Shifted, form.Open, form.Outside
	return r, err
}
