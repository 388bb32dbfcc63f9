package machinefile

import (
	"bytes"
	"encoding/json"
	"io"
	"slices"
	"time"

	"shimwright/inventory"
	"shimwright/shim"
	"shimwright/shim/files"
)

// Write writes a machine's file. Shop is what this one calls itself, now the time
// of the export. Prices stay in the shop.
func Write(w io.Writer, f inventory.MachineFile, shop string, now time.Time) error {
	m := f.Machine
	out := fileForm{Format: format, Version: version, Exported: stamp(now), Shop: shop, Machine: machineForm{m.Tag, m.Model, m.Number, m.Owner}}
	for _, list := range []*[]json.RawMessage{&out.Models, &out.Gauges, &out.Visits} {
		*list = []json.RawMessage{}
	}
	for i := range f.Visits {
		v := &f.Visits[i]
		if at := latest(*v); at.After(now) { // of a clock that was ahead
			now, out.Exported = at, stamp(at)
		}
		model, err := modelOf(&v.Engine.Spec)
		if err != nil {
			return err
		}
		form := visitOf(v, shop)
		if form.Model, err = place(&out.Models, model); err != nil {
			return err
		}
		for _, g := range v.Gauges {
			at, err := place(&out.Gauges, gaugeForm{g.Name, g.Number, dayOf(g.Calibrated), dayOf(g.Due), g.Spec.Step, g.Spec.Leaf, g.Spec.Stamp, g.Spec.Used, g.Spec.Mic})
			if err != nil {
				return err
			}
			form.Gauges = append(form.Gauges, at)
		}
		text, err := json.Marshal(form)
		if err != nil {
			return err
		}
		out.Visits = append(out.Visits, text)
	}
	encoder := json.NewEncoder(w)
	encoder.SetEscapeHTML(false)
	encoder.SetIndent("", "  ")
	return encoder.Encode(out)
}

func stamp(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.UTC().Format(time.RFC3339)
}

func dayOf(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.UTC().Format(time.DateOnly)
}

func known(l shim.Length) *shim.Length {
	if l == 0 {
		return nil
	}
	return &l
}

// place is where a value stands in a list, at the end if it is new.
func place(list *[]json.RawMessage, value any) (int, error) {
	text, err := json.Marshal(value)
	if err != nil {
		return 0, err
	}
	at := slices.IndexFunc(*list, func(had json.RawMessage) bool { return bytes.Equal(had, text) })
	if at < 0 {
		at = len(*list)
		*list = append(*list, text)
	}
	return at, nil
}

func modelOf(e *shim.Engine) (modelForm, error) {
	spec := *e
	spec.Catalogue = unpriced(spec.Catalogue)
	for _, t := range []*shim.Train{&spec.Intake, &spec.Exhaust} {
		if t.Closer != nil {
			closer := *t.Closer
			closer.Catalogue = unpriced(closer.Catalogue)
			t.Closer = &closer
		}
	}
	var text bytes.Buffer
	err := files.WriteEngine(&text, &spec)
	return modelForm{spec.Name, text.String()}, err
}

// unpriced is a catalogue without the shop's prices.
func unpriced(list []shim.Range) []shim.Range {
	list = slices.Clone(list)
	for i := range list {
		list[i].Quote = shim.Quote{}
	}
	return list
}

func visitOf(v *inventory.Visit, shop string) visitForm {
	j := v.Job
	form := visitForm{
		ID: v.ID(), Shop: shop, Job: j.ID, State: string(j.State), Tag: j.Tag, Opened: stamp(j.Opened), Meter: j.Meter, Before: j.MeterNew,
		Reset: j.Reset, Build: j.Build, Anyway: j.Anyway, Who: j.Who, Note: j.Note, Gauges: []int{}, FoundAt: stamp(v.Before), LeftAt: stamp(v.After),
		Limits: []limitsForm{}, Found: readings(v.Found), Left: readings(v.Left), Shims: []json.RawMessage{}, Changes: []changeForm{}, Certificates: []json.RawMessage{},
	}
	if from := v.Imported; from != nil {
		form.Shop, form.Job, form.Changed, form.Certificates = from.Shop, from.Job, stamp(from.Changed), append(form.Certificates, from.Certificates...)
	} else { // a new issue of the certificate is a change too: the file knows more than one from before
		times := []time.Time{j.Changed, v.Edited}
		for _, c := range v.Certificates {
			form.Certificates, times = append(form.Certificates, raw(c)), append(times, c.Issued)
		}
		form.Changed = stamp(slices.MaxFunc(times, time.Time.Compare))
	}
	e := &v.Engine.Spec
	for _, valve := range e.Valves() {
		limits := e.TrainOf(valve).Limits
		form.Limits = append(form.Limits, limitsForm{valve.String(), limits.Tight, limits.Loose})
	}
	for _, s := range v.Seats {
		form.Shims = append(form.Shims, raw(shimForm{s.Valve.String(), known(s.Stamp), known(s.Mic), s.Empty, s.SetUp}))
		at := slices.IndexFunc(v.Found, func(m shim.Measurement) bool { return m.Valve == s.Valve })
		if at >= 0 && v.Found[at].Size() != s.Size() {
			form.Changes = append(form.Changes, changeForm{s.Valve.String(), known(v.Found[at].Size()), known(s.Size())})
		}
	}
	return form
}

// raw is a value whose JSON cannot fail.
func raw(value any) json.RawMessage {
	text, err := json.Marshal(value)
	if err != nil {
		panic(err)
	}
	return text
}

func readings(list []shim.Measurement) []json.RawMessage {
	out := []json.RawMessage{}
	for _, m := range list {
		r := m.Reading
		form := readingForm{Valve: m.Valve.String(), Kind: kinds[r.Kind], Shifted: r.Shifted, Open: r.Open, Outside: r.Unconverted, Stamp: known(m.Stamp), Mic: known(m.Mic), Note: m.Note, Celsius: m.Temperature}
		if r.Kind != shim.Unread && r.Kind != shim.Below || r.Low != 0 {
			form.Low = &r.Low
		}
		if r.Kind != shim.Unread && r.Kind != shim.Above || r.High != 0 {
			form.High = &r.High
		}
		if r.Second.Taken {
			form.Second = &secondForm{r.Second.Low, r.Second.High, r.Second.Tighter}
		}
		if r.Unloaded != (shim.Unloaded{}) {
			form.Unloaded = &unloadedForm{r.Unloaded.Low, r.Unloaded.High, r.Unloaded.Twice, r.Unloaded.Most}
		}
		if c, number := r.Estimate(); number {
			form.Clearance = &c
		}
		out = append(out, raw(form))
	}
	return out
}
